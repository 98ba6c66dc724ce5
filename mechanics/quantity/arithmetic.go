package quantity

import (
	"fmt"
	"math"
)

// Times returns q·r in SI units. Figures follow the rule for products: as many as
// the poorer factor has, where exact numbers do not count. Uncertainties are
// taken as independent.
//
// Source: ASME A112.18.1, Annex A.1 (check-values U8).
func (q Quantity) Times(r Quantity) Quantity {
	return Quantity{
		Value:       q.Value * r.Value,
		Uncertainty: math.Hypot(q.Uncertainty*r.Value, r.Uncertainty*q.Value),
		Unit:        SI(q.Dimension().Mul(r.Dimension())),
		Figures:     poorer(q.Figures, r.Figures),
	}
}

// Over returns q/r, with figures and uncertainty as in [Quantity.Times]; an error
// if r is zero.
func (q Quantity) Over(r Quantity) (Quantity, error) {
	if r.Value == 0 {
		return Quantity{}, fmt.Errorf("%v is divided by zero: check the divisor", q)
	}
	return q.Times(Quantity{
		Value: 1 / r.Value, Uncertainty: r.Uncertainty / (r.Value * r.Value), Unit: SI(One.Div(r.Dimension())), Figures: r.Figures,
	}), nil
}

func poorer(a, b int) int {
	if a == 0 || b == 0 {
		return max(a, b)
	}
	return min(a, b)
}

// Plus returns q + r in the unit of q. Figures follow the rule for sums: as many
// decimals, in that unit, as the poorer term has. It is an error to add
// quantities of different dimensions.
func (q Quantity) Plus(r Quantity) (Quantity, error) {
	if q.Dimension() != r.Dimension() {
		return Quantity{}, fmt.Errorf("%v and %v cannot be added: the one is %s, the other %s", q, r, q.Dimension().describe(), r.Dimension().describe())
	}
	sum := Quantity{Value: q.Value + r.Value, Uncertainty: math.Hypot(q.Uncertainty, r.Uncertainty), Unit: q.Unit}
	place, known := q.lastPlace(q.Unit)
	if other, ok := r.lastPlace(q.Unit); ok && (!known || other > place) {
		place, known = other, true
	}
	if known {
		sum.Figures = max(1, firstPlace(sum.Value/q.Unit.Scale())-place+1)
	}
	return sum, nil
}

// Minus returns q - r like [Quantity.Plus].
func (q Quantity) Minus(r Quantity) (Quantity, error) {
	r.Value, r.ratio.p = -r.Value, -r.ratio.p
	return q.Plus(r)
}

// lastPlace returns the power of ten of the last figure, in units of u.
func (q Quantity) lastPlace(u Unit) (place int, known bool) {
	if q.Figures == 0 {
		return 0, false
	}
	if q.Value == 0 {
		return 1 - q.Figures, true
	}
	return firstPlace(q.Value/u.Scale()) - q.Figures + 1, true
}

func firstPlace(x float64) int {
	if x == 0 {
		return 0
	}
	return int(math.Floor(math.Log10(math.Abs(x)) + 1e-12))
}
