package balance

import (
	"fmt"
	"math"
)

// A Pendulum is a rigid body that swings about a fixed horizontal axis.
type Pendulum struct {
	Mass    float64 // kg
	Drop    float64 // distance of the centre of gravity below the axis, m
	Inertia float64 // about the axis, not about the centre of gravity, kg m²
}

// Simple returns a point mass on a light thread or rod of a length in m.
func Simple(mass, length float64) Pendulum {
	return Pendulum{Mass: mass, Drop: length, Inertia: mass * length * length}
}

// Period returns the time in s of one full swing released from rest at the given
// amplitude in rad, 0 <= amplitude < π, where gravity is g in m/s². It is exact
// for a rigid body without damping.
//
// Period returns [ErrNoRest] if the centre of gravity is not below the axis, and
// an error naming the amplitude, or another argument, if that is out of range.
//
// Source: Landau and Lifshitz, Mechanics (3rd ed.), §11 Problem 1, with
// Inertia/(Mass·Drop) in place of the length of a simple pendulum.
func (p Pendulum) Period(amplitude, g float64) (float64, error) {
	switch {
	case !(p.Mass > 0) || math.IsInf(p.Mass, 0):
		return 0, fmt.Errorf("mass of the pendulum is %v kg: give a positive mass", p.Mass)
	case !(p.Inertia > 0) || math.IsInf(p.Inertia, 0):
		return 0, fmt.Errorf("inertia of the pendulum is %v kg m²: give a positive moment about the axis", p.Inertia)
	case !(g > 0) || math.IsInf(g, 0):
		return 0, fmt.Errorf("gravity is %v m/s²: give a positive number", g)
	case math.IsNaN(p.Drop) || math.IsInf(p.Drop, 0):
		return 0, fmt.Errorf("drop of the pendulum is %v m: give a finite length", p.Drop)
	case p.Drop <= 0:
		return 0, fmt.Errorf("%w: its centre of gravity is %.3g mm above the axis", ErrNoRest, -p.Drop*1e3)
	case !(amplitude >= 0 && amplitude < math.Pi):
		return 0, fmt.Errorf("amplitude %v rad is out of range: give one from 0 to below π (180°)", amplitude)
	}
	return 2 * math.Pi * math.Sqrt(p.Inertia/(p.Mass*g*p.Drop)) * LargeSwing(amplitude), nil
}

// EquivalentLength returns the length in m of the simple pendulum of the same
// period. Source: check-values K1 (Rossi and Zaninetti, CEJP 3 (2005) 636, Eq. 2).
func (p Pendulum) EquivalentLength() float64 { return p.Inertia / (p.Mass * p.Drop) }

// ReversibleGravity returns g in m/s² from the periods in s of a reversible
// pendulum about two axes, whose distances from the centre of gravity are h1 and
// h2 in m, on opposite sides of it. It needs different distances.
//
// Source: Bessel's formula; Poynting and Thompson, Properties of Matter (1907),
// p. 15, as quoted for Kater's pendulum (check-values K2).
func ReversibleGravity(period1, period2, h1, h2 float64) (float64, error) {
	if !(period1 > 0 && period2 > 0 && h1 > 0 && h2 > 0) {
		return 0, fmt.Errorf("periods %v, %v s and distances %v, %v m: all four must be positive", period1, period2, h1, h2)
	}
	if h1 == h2 {
		return 0, fmt.Errorf("both axes are %v m from the centre of gravity: choose unequal distances", h1)
	}
	t1, t2 := period1*period1, period2*period2
	square := (t1+t2)/2 + (t1-t2)/2*(h1+h2)/(h1-h2)
	if square <= 0 {
		return 0, fmt.Errorf("periods %v and %v s contradict the distances %v and %v m: check which is which", period1, period2, h1, h2)
	}
	return 4 * math.Pi * math.Pi * (h1 + h2) / square, nil
}

// TwoThreads returns the period in s of small twisting swings of a body on two
// parallel threads of a length, their distance apart, both in m, placed evenly
// about the centre of gravity: mass in kg, inertia about the vertical through the
// centre of gravity in kg m².
//
// Source: check-values S1 (hand-out on the bifilar suspension, 2005).
func TwoThreads(mass, inertia, length, apart, g float64) (float64, error) {
	if err := allPositive("mass", mass, "inertia", inertia, "length", length, "distance of the threads", apart, "gravity", g); err != nil {
		return 0, err
	}
	return 4 * math.Pi / apart * math.Sqrt(inertia*length/(mass*g)), nil
}

// ThreeThreads is TwoThreads for three threads at a radius in m from the vertical
// through the centre of gravity.
//
// Source: check-values S2 (formula as quoted in a student's thread).
func ThreeThreads(mass, inertia, length, radius, g float64) (float64, error) {
	if err := allPositive("mass", mass, "inertia", inertia, "length", length, "radius of the threads", radius, "gravity", g); err != nil {
		return 0, err
	}
	return 2 * math.Pi / radius * math.Sqrt(inertia*length/(mass*g)), nil
}

func allPositive(pairs ...any) error {
	for i := 0; i < len(pairs); i += 2 {
		if v := pairs[i+1].(float64); !(v > 0) || math.IsInf(v, 0) {
			return fmt.Errorf("%s is %v: give a positive number", pairs[i], v)
		}
	}
	return nil
}
