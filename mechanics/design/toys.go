package design

import (
	"errors"
	"fmt"
	"maps"

	"counterpoise/mechanics/balance"
	"counterpoise/mechanics/body"
	"counterpoise/mechanics/quantity"
	"counterpoise/mechanics/toy"
)

// Toys builds a toy with one dimension of value x in SI units.
type Toys func(x float64) (toy.Toy, error)

// Vary returns the toys of a description in which one parameter takes other values.
// The parameter's unit is kept.
func Vary(d *toy.Description, params toy.Params, name string) (Toys, error) {
	q, ok := params[name]
	if !ok {
		return nil, fmt.Errorf("%q is no parameter: give it a value first", name)
	}
	changed := maps.Clone(params)
	return func(x float64) (toy.Toy, error) {
		changed[name] = quantity.New(x, q.Unit)
		return d.Build(changed)
	}, nil
}

// measure makes a measure of a property of a toy on its stand.
func (t Toys) measure(f func(toy.Toy, *balance.Balance) (float64, error)) Measure {
	return func(x float64) (float64, error) {
		made, err := t(x)
		if err != nil {
			return 0, err
		}
		b, err := made.Balance()
		if err != nil {
			return 0, err
		}
		return f(made, b)
	}
}

// Period measures the period of small swings in the picture, s.
func (t Toys) Period() Measure {
	return t.measure(func(_ toy.Toy, b *balance.Balance) (float64, error) { return b.Period() })
}

// Depth measures how far the centre of gravity lies below the stand's pivot, m:
// the margin by which a toy on a pin is stable. It is negative above the pivot.
func (t Toys) Depth() Measure {
	return t.measure(func(made toy.Toy, b *balance.Balance) (float64, error) {
		return made.Stand.Pivot().Y - b.Rigid().CentreOfGravity.Y, nil
	})
}

// Margin measures how far the centre of gravity lies below the place where the toy
// would lose its balance, m: the pivot of a pin, edge or thread, the centre of
// curvature of a round foot on a flat floor.
func (t Toys) Margin() Measure {
	return t.measure(func(made toy.Toy, b *balance.Balance) (float64, error) {
		up := made.Stand.Pivot().Y - b.Rigid().CentreOfGravity.Y
		switch s := made.Stand; s.Kind {
		case balance.Base:
			return 0, errors.New("a toy on two feet has no such margin: use TippingAngle")
		case balance.Board:
			return up + s.Dome, nil
		case balance.Foot:
			if s.Dome != 0 {
				return up + s.Radius*s.Dome/(s.Radius+s.Dome), nil // check-values R1
			}
			return up + s.Radius, nil
		}
		return up, nil
	})
}

// TippingAngle measures how far the toy may lean from rest, rad.
func (t Toys) TippingAngle() Measure {
	return t.measure(func(_ toy.Toy, b *balance.Balance) (float64, error) { return b.TippingAngle() })
}

// Lean measures the tilt at rest, rad.
func (t Toys) Lean() Measure {
	return t.measure(func(_ toy.Toy, b *balance.Balance) (float64, error) {
		e, err := b.Rest()
		return e.Tilt, err
	})
}

// SidewaysRatio measures the period of swings in the picture over that of swings
// fore and aft, for a toy on a pin: 2 makes a pair of modes at two to one.
func (t Toys) SidewaysRatio() Measure {
	return func(x float64) (float64, error) {
		made, err := t(x)
		if err != nil {
			return 0, err
		}
		if made.Stand.Kind != balance.Pin {
			return 0, fmt.Errorf("a toy on a stand of kind %q swings in the picture only: put it on a point", made.Stand.Kind)
		}
		across, err := made.Balance()
		if err != nil {
			return 0, err
		}
		fore, err := made.BalanceAbout(body.V(1, 0, 0))
		if err != nil {
			return 0, err
		}
		a, err := across.Period()
		if err != nil {
			return 0, err
		}
		b, err := fore.Period()
		return a / b, err
	}
}

// Ratio measures a over b: two frequencies that are to match, or to be as two to
// one.
func Ratio(a, b Measure) Measure {
	return func(x float64) (float64, error) {
		u, err := a(x)
		if err != nil {
			return 0, err
		}
		v, err := b(x)
		if err == nil && v == 0 {
			err = errors.New("the lower measure of the ratio is zero: change the range")
		}
		return u / v, err
	}
}
