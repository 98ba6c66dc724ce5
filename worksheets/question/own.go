package question

import "counterpoise/mechanics/quantity"

// Number returns a number answer as it is read: a value with its unit, a bare
// number in the unit of the key. ok is false for other kinds of question and
// for what cannot be read. Marking carries a student's own value forward with
// it.
func (a *Asked) Number(answer string) (own quantity.Quantity, ok bool) {
	n, ok := a.judge.(*number)
	if !ok || len(answer) > MaxAnswer {
		return own, false
	}
	own, _, ok = n.read(a, answer)
	if !ok {
		return own, false
	}
	if own.Unit == (quantity.Unit{}) && !n.dim.IsOne() {
		figures := own.Figures
		own = quantity.New(own.Value*n.unit.Scale(), n.unit)
		own.Figures = figures
	}
	return own, own.Dimension() == n.dim
}
