package elastic

import (
	"fmt"
	"math"
)

// A Tip is what sits at the free end of a clamped rod.
type Tip struct {
	Mass    float64 // kg
	Inertia float64 // about its own centre of gravity, across the plane of swing, kg m²
	Offset  float64 // of its centre of gravity beyond the rod's end, m
}

// maxMode bounds the number of a mode: cosh of its root must stay exact enough.
const maxMode = 9

// Root returns βL of a uniform rod's nth mode, n = 1 to 9, for the ways of
// holding of [Ends]; [FreeFree] has the same as ClampedClamped. It is good to
// about the last two bits.
//
// Source: the frequency equations of Blevins, Formulas for Natural Frequency and
// Mode Shape, Table 8-1 (check-values E2, memory).
func Root(e Ends, n int) (float64, error) {
	if n < 1 || n > maxMode {
		return 0, fmt.Errorf("mode %d is out of range: give one from 1 to %d", n, maxMode)
	}
	m := float64(n)
	switch e {
	case ClampedFree:
		return RootWithTip(0, n)
	case Supported:
		return m * math.Pi, nil
	case ClampedClamped:
		return bisect(func(b float64) float64 { return math.Cos(b) - 1/math.Cosh(b) }, (m+0.5)*math.Pi-0.1, (m+0.5)*math.Pi+0.1), nil
	case ClampedPinned:
		return bisect(func(b float64) float64 { return math.Sin(b) - math.Cos(b)*math.Tanh(b) }, (m+0.25)*math.Pi-0.1, (m+0.25)*math.Pi+0.1), nil
	}
	return 0, fmt.Errorf("unknown way of holding the rod (%d): use ClampedFree, Supported, ClampedClamped or ClampedPinned", e)
}

// FreeFree names the ends of a rod that floats, for [Root]; a rigid motion is not
// counted as a mode.
const FreeFree = ClampedClamped

// RootWithTip returns βL of the nth mode, n = 1 to 9, of a clamped rod with a point
// mass at its end, where ratio is that mass over the rod's.
//
// Source: 1 + cos b cosh b + ratio b (cos b sinh b - sin b cosh b) = 0; Math. Probl.
// Eng. 2017, 1568019 (check-values E3, seen).
func RootWithTip(ratio float64, n int) (float64, error) {
	if !(ratio >= 0) || math.IsInf(ratio, 0) {
		return 0, fmt.Errorf("ratio of the masses is %v: give one that is not negative", ratio)
	}
	if n < 1 || n > maxMode {
		return 0, fmt.Errorf("mode %d is out of range: give one from 1 to %d", n, maxMode)
	}
	f := func(b float64) float64 { // the equation over cosh b
		sin, cos := math.Sincos(b)
		return 1/math.Cosh(b) + cos + ratio*b*(cos*math.Tanh(b)-sin)
	}
	low, high := (float64(n)-1)*math.Pi, (float64(n)-0.5)*math.Pi+0.02
	if n == 1 {
		high = 1.9
	}
	return bisect(f, low, high), nil
}

// bisect closes in on a change of sign to the last bit.
func bisect(f func(float64) float64, low, high float64) float64 {
	sign := f(low)
	for {
		middle := low + (high-low)/2
		if middle <= low || middle >= high {
			break
		}
		if v := f(middle); v == 0 {
			return middle
		} else if v*sign > 0 {
			low = middle
		} else {
			high = middle
		}
	}
	if math.Abs(f(low)) < math.Abs(f(high)) {
		return low
	}
	return high
}

// Frequency returns the frequency in Hz of the nth mode, n = 1 to 9, of the rod
// clamped at one end with a body at the other, swinging in the rod's easy
// direction. A point mass is exact to rounding; for a body with a size the first
// modes are exact, and shear and the rod's own rotary inertia are left out.
func (r Rod) Frequency(t Tip, n int) (float64, error) {
	if err := r.Check(); err != nil {
		return 0, err
	}
	for name, v := range map[string]float64{"mass of the tip": t.Mass, "inertia of the tip": t.Inertia, "offset of the tip": t.Offset} {
		if !(v >= 0) || math.IsInf(v, 0) {
			return 0, fmt.Errorf("%s is %v: give a number that is not negative", name, v)
		}
	}
	var b float64
	var err error
	if t.Inertia == 0 && t.Offset == 0 {
		b, err = RootWithTip(t.Mass/r.Mass(), n)
	} else {
		b, err = r.rootWithBody(t, n)
	}
	return b * b * r.scale() / (2 * math.Pi), err
}

// rootWithBody looks for the nth root of the equation of a clamped rod with a
// rigid body. With w = A (cosh - cos) + B (sinh - sin) along the rod, bending
// moment and shear at the end drive the body.
func (r Rod) rootWithBody(t Tip, n int) (float64, error) {
	if n < 1 || n > maxMode {
		return 0, fmt.Errorf("mode %d is out of range: give one from 1 to %d", n, maxMode)
	}
	mu := t.Mass / r.Mass()
	e := t.Offset / r.Length
	j := t.Inertia/(r.Mass()*r.Length*r.Length) + mu*e*e // about the end
	f := func(b float64) float64 {
		sin, cos := math.Sincos(b)
		sh, ch := math.Tanh(b), 1.0 // all over cosh b
		sin, cos = sin/math.Cosh(b), cos/math.Cosh(b)
		// displacement, slope, bending and shear at the end, for A and for B
		wA, wB := ch-cos, sh-sin
		sA, sB := b*(sh+sin), b*(ch-cos)
		mA, mB := b*b*(ch+cos), b*b*(sh+sin)
		qA, qB := b*b*b*(sh-sin), b*b*b*(ch+cos)
		w2 := b * b * b * b
		// E I w'' = ω² (J w' + m e w),  E I w''' = -ω² m (w + e w')
		momentA, momentB := mA-w2*(j*sA+mu*e*wA), mB-w2*(j*sB+mu*e*wB)
		shearA, shearB := qA+w2*mu*(wA+e*sA), qB+w2*mu*(wB+e*sB)
		return (momentA*shearB - momentB*shearA) / math.Pow(b, 5)
	}
	const step = 0.005
	found, last := 0, f(step)
	for b := 2 * step; b < (maxMode+2)*math.Pi; b += step {
		next := f(b)
		if last*next < 0 || next == 0 {
			if found++; found == n {
				return bisect(f, b-step, b), nil
			}
		}
		last = next
	}
	return 0, fmt.Errorf("mode %d was not found: the body at the end is too heavy or too large beside the rod", n)
}
