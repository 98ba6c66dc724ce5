package figure

import (
	"errors"
	"fmt"
	"math"
)

// What a figure takes. Beyond these a picture shows nothing, or takes a
// computer's whole time or memory.
const (
	narrowest = 120.0  // CSS pixels of width or height
	widest    = 4000.0 // CSS pixels of width or height
	tiniest   = 1e-60  // of a value in the unit of its axis: below it is zero
	hugest    = 1e60   // of a value in the unit of its axis
	mostNotes = 200    // guides and marks of a plot, lengths beside a toy
)

// checkSize reports a width or height that cannot be drawn; zero is the default.
func checkSize(sizes ...float64) error {
	for _, v := range sizes {
		if v != 0 && !(v >= narrowest && v <= widest) {
			return fmt.Errorf("the figure is %g CSS pixels wide or high: give %g to %g, or 0 for the usual size", v, narrowest, widest)
		}
	}
	return nil
}

// check reports what keeps an axis from being drawn.
func (a Axis) check() error {
	if _, err := scaleOf(a.Unit); err != nil {
		return fmt.Errorf("unit: %w", err)
	}
	if a.From == 0 && a.To == 0 {
		return nil
	}
	if !(a.From < a.To) || math.IsInf(a.To-a.From, 0) {
		return fmt.Errorf("it runs from %g to %g: From must be less than To", a.From, a.To)
	}
	return errors.Join(a.takes(a.From), a.takes(a.To))
}

// takes reports why the axis cannot show a value, SI.
func (a Axis) takes(v float64) error {
	scale, err := scaleOf(a.Unit)
	switch size := math.Abs(v / scale); {
	case err != nil:
		return err
	case !(size <= hugest):
		return fmt.Errorf("no axis reaches %g", v)
	case a.Log && !(v > 0 && size >= tiniest):
		return errors.New("a logarithmic axis takes positive values only")
	}
	return nil
}

// checkNotes reports a guide or a mark that the plot cannot show.
func (p Plot) checkNotes() error {
	if n := len(p.Guides) + len(p.Marks); n > mostNotes {
		return fmt.Errorf("the plot has %d guides and marks, more than the %d that can be told apart", n, mostNotes)
	}
	for _, g := range p.Guides {
		axis := p.Y
		if g.Upright {
			axis = p.X
		}
		if err := axis.takes(g.Level); err != nil {
			return fmt.Errorf("guide %q at %g: %w", g.Label, g.Level, err)
		}
	}
	for _, m := range p.Marks {
		if err := errors.Join(p.X.takes(m.X), p.Y.takes(m.Y)); err != nil {
			return fmt.Errorf("mark %q at (%g, %g): %w", m.Label, m.X, m.Y, err)
		}
	}
	return nil
}
