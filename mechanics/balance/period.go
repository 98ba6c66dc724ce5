package balance

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/spatial/r2"
)

// ErrCorner is returned where a figure rests on a corner, as a block does: the
// smaller its rocking the faster, so it has no small-swing period.
var ErrCorner = errors.New("the figure rests on two points and has no period of small swings: give an amplitude")

// Period returns the time in s of one full small swing about the figure's rest:
// 2π √(I/k), rolling included. For a thread it is the slower of both modes.
//
// Source: for a round foot, check-values R1 (common practice); for a pin,
// the physical pendulum, check-values K1 (Rossi and Zaninetti, CEJP 3 (2005) 636).
func (b *Balance) Period() (float64, error) {
	slow, _, err := b.periods()
	return slow, err
}

// Periods returns both periods in s of a figure on a thread, the slower first;
// for other stands both are the same.
func (b *Balance) Periods() (slow, fast float64, err error) { return b.periods() }

func (b *Balance) periods() (slow, fast float64, err error) {
	e, err := b.Rest()
	if err != nil {
		return 0, 0, err
	}
	switch {
	case math.IsInf(e.Stiffness, 1):
		return 0, 0, ErrCorner
	case e.Stability == Neutral || e.Stiffness == 0:
		return 0, 0, fmt.Errorf("%w: its balance is neutral, so it never swings back", ErrNoRest)
	}
	if b.stand.Kind == String {
		slow, fast = b.hanging()
		return slow, fast, nil
	}
	t := 2 * math.Pi * math.Sqrt(b.InertiaAt(e.Tilt)/e.Stiffness)
	return t, t, nil
}

// hanging solves the thread of length l and the body below it: with the body's
// radius of gyration k about its centre of gravity and its depth d below the knot,
// k² l w² - (l d + d² + k²) g w + d g² = 0 in the squared frequency w.
func (b *Balance) hanging() (slow, fast float64) {
	l, d := b.stand.Length, r2.Norm(r2.Sub(b.centre, b.at))
	k2 := b.inertia / b.rigid.Mass
	g := b.gravity
	p := (l*d + d*d + k2) * g
	root := math.Sqrt(max(0, p*p-4*k2*l*d*g*g))
	w1 := 2 * d * g * g / (p + root)
	w2 := math.Inf(1)
	if k2 > 0 {
		w2 = (p + root) / (2 * k2 * l)
	}
	return 2 * math.Pi / math.Sqrt(w1), 2 * math.Pi / math.Sqrt(w2)
}

// PeriodAt returns the time in s of one full swing that is released from rest
// at an amplitude in rad to the positive side of the figure's rest. The figure
// swings to whatever tilt on the other side has the same energy.
//
// On a pin it is exact (the arithmetic-geometric mean); elsewhere an integral
// over the swing, to about 1e-9. For a thread it is an error: the motion does
// not repeat.
func (b *Balance) PeriodAt(amplitude float64) (float64, error) {
	e, err := b.Rest()
	if err != nil {
		return 0, err
	}
	from, to := b.basinOf(e)
	if !(amplitude > 0) || amplitude >= to-e.Tilt {
		return 0, fmt.Errorf("amplitude %.4g rad is out of range: give one above 0 and below %.4g rad, where the figure tips", amplitude, to-e.Tilt)
	}
	switch b.stand.Kind {
	case Pin, Edge:
		small, err := b.Period()
		return small * LargeSwing(amplitude), err
	case String:
		return 0, errors.New("a figure on a thread has two modes and no period at a large amplitude: use Periods")
	}
	top := e.Tilt + amplitude
	energy := b.PotentialEnergy(top)
	other, err := b.turningPoint(e.Tilt, from, energy)
	if err != nil {
		return 0, err
	}
	return 2 * (b.quarter(e.Tilt, top, energy) + b.quarter(e.Tilt, other, energy)), nil
}

// turningPoint finds the tilt below rest at which the energy is used up.
func (b *Balance) turningPoint(rest, from, energy float64) (float64, error) {
	if b.PotentialEnergy(from) < energy {
		return 0, fmt.Errorf("released there the figure tips over on the other side: give a smaller amplitude")
	}
	low, high := from, rest
	for range 100 {
		middle := (low + high) / 2
		if b.PotentialEnergy(middle) > energy {
			low = middle
		} else {
			high = middle
		}
	}
	return (low + high) / 2, nil
}

// quarter returns the time from the turning point to rest: ∫ √(I/2ΔV) dθ, with
// θ = rest + (turn - rest) sin u, in which the integrand has no singularity. The
// energy that is left is computed from the torque, which loses no figures.
func (b *Balance) quarter(rest, turn, energy float64) float64 {
	span := turn - rest
	f := func(u float64) float64 {
		sin, cos := math.Sincos(u)
		tilt := rest + span*sin
		left := energy - b.PotentialEnergy(tilt)
		half := math.Sin((math.Pi/2 - u) / 2)
		if near := span * 2 * half * half; half < 0.01 { // close to the turning point
			left = quad.Fixed(b.Torque, min(tilt, tilt+near), max(tilt, tilt+near), 5, nil, 0) * -math.Copysign(1, span)
		}
		return math.Sqrt(b.InertiaAt(tilt)/(2*left)) * math.Abs(span) * cos
	}
	return quad.Fixed(f, 0, math.Pi/2, 120, nil, 0)
}

// LargeSwing returns the period of a pendulum of an amplitude in rad, 0 <=
// amplitude < π, over that of its small swings: 1/AGM(1, cos(amplitude/2)). It is
// good to the last bits even near the top, where the elliptic integral of a
// parameter rounded to float64 is not. Beyond π it returns NaN.
//
// Source: DLMF 19.8.5, 22.19(i).
func LargeSwing(amplitude float64) float64 {
	amplitude = math.Abs(amplitude)
	if !(amplitude < math.Pi) {
		return math.NaN()
	}
	a, g := 1.0, math.Cos(amplitude/2)
	for math.Abs(a-g) > 1e-9*a {
		a, g = (a+g)/2, math.Sqrt(a*g)
	}
	return 2 / (a + g)
}
