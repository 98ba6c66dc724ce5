package quantity

import (
	"fmt"
	"math"
)

// A Quantity is a number with a unit, as measured, typed or computed.
type Quantity struct {
	Value       float64 // in SI base units
	Uncertainty float64 // standard uncertainty in SI base units; 0 = none given
	Unit        Unit    // as written; the zero value is a pure number

	Figures            int // significant figures as written; 0 = exact or computed
	UncertaintyFigures int // the same of the uncertainty

	zeros int8  // of the figures, zeros at the end of a whole number
	ratio ratio // if it was written as a fraction
}

// A ratio is p/q, times π if pi is set. The zero value means none.
type ratio struct {
	p, q int64
	pi   bool
}

// New returns the quantity of value si in SI base units, to be printed in u.
func New(si float64, u Unit) Quantity { return Quantity{Value: si, Unit: u} }

// Of returns the quantity of a number of units: Of(12.5, MustUnit("cm")).
func Of(value float64, u Unit) Quantity { return New(value*u.Scale(), u) }

// Dimension returns the dimension of the quantity's unit.
func (q Quantity) Dimension() Dimension { return q.Unit.Dimension() }

// Equal reports whether q and r are the same in every respect, as with ==.
func (q Quantity) Equal(r Quantity) bool { return q == r }

// In returns the value in units of u, or an error where u has another dimension.
func (q Quantity) In(u Unit) (float64, error) {
	if u.dim != q.Unit.dim {
		return math.NaN(), fmt.Errorf("%v is %s and cannot be given in %v, the unit of %s: use a unit such as %s",
			q, q.Unit.dim.describe(), unitName(u), u.dim.describe(), Example(q.Unit.dim))
	}
	return q.Value / u.Scale(), nil
}

func unitName(u Unit) string {
	if u.text == "" {
		return "no unit"
	}
	return u.text
}

// To returns the same quantity to be printed in u, with as many figures.
func (q Quantity) To(u Unit) (Quantity, error) {
	if _, err := q.In(u); err != nil {
		return q, err
	}
	q.Unit, q.zeros, q.ratio = u, 0, ratio{}
	return q, nil
}

// FiguresRange returns the least and the most significant figures that the
// number as written may stand for: "840 ms" has two or three. Both are 0 for
// exact and computed numbers.
func (q Quantity) FiguresRange() (least, most int) {
	return q.Figures - int(q.zeros), q.Figures
}

// MarshalText returns the quantity as [Quantity.String] prints it.
func (q Quantity) MarshalText() ([]byte, error) { return []byte(q.String()), nil }

// UnmarshalText reads a quantity like [Parse].
func (q *Quantity) UnmarshalText(text []byte) error {
	r, err := Parse(string(text))
	if err == nil {
		*q = r
	}
	return err
}
