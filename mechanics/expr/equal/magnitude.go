package equal

import (
	"math"
	"math/big"
)

// A magnitude is an upper bound, m·2^x with 1/2 <= m < 1, or zero. Its
// arithmetic rounds up. It reaches far beyond a float64's smallest numbers,
// where the errors of long numbers lie.
type magnitude struct {
	m float64
	x int
}

const up = 1 + 1.0/(1<<40) // more than the rounding of a few float64 operations

func newMagnitude(v float64) magnitude {
	if v == 0 {
		return magnitude{}
	}
	m, x := math.Frexp(math.Abs(v) * up)
	return magnitude{m, x}
}

// power2 is 2^x.
func power2(x int) magnitude { return magnitude{0.5, x + 1} }

func magnitudeOf(v *big.Float) magnitude {
	if v.Sign() == 0 {
		return magnitude{}
	}
	var mant big.Float
	x := v.MantExp(&mant)
	f, _ := mant.Float64()
	m := newMagnitude(f)
	m.x += x
	return m
}

func (a magnitude) isZero() bool { return a.m == 0 }

func (a magnitude) plus(b magnitude) magnitude {
	if a.m == 0 {
		return b
	}
	if b.m == 0 {
		return a
	}
	if a.x < b.x {
		a, b = b, a
	}
	s := newMagnitude(a.m + math.Ldexp(b.m, max(b.x-a.x, -60)))
	s.x += a.x
	return s
}

func (a magnitude) times(b magnitude) magnitude {
	if a.m == 0 || b.m == 0 {
		return magnitude{}
	}
	r := newMagnitude(a.m * b.m)
	r.x += a.x + b.x
	return r
}

func (a magnitude) over(b magnitude) magnitude {
	if a.m == 0 {
		return a
	}
	r := newMagnitude(a.m / b.m)
	r.x += a.x - b.x
	return r
}

func (a magnitude) root() magnitude {
	if a.m == 0 {
		return a
	}
	if a.x%2 != 0 {
		a.m, a.x = a.m*2, a.x-1
	}
	r := newMagnitude(math.Sqrt(a.m))
	r.x += a.x / 2
	return r
}

// minus is a lower bound of a - b, zero if that is not positive. It takes off
// what the rounding of a may have added.
func (a magnitude) minus(b magnitude) magnitude {
	if a.m == 0 {
		return a
	}
	d := a.m*(2-up)*(2-up)*(2-up) - math.Ldexp(b.m, min(max(b.x-a.x, -200), 60))*up
	if b.m == 0 {
		d = a.m * (2 - up) * (2 - up) * (2 - up)
	}
	if d <= 0 {
		return magnitude{}
	}
	m, x := math.Frexp(d * (2 - up))
	return magnitude{m, x + a.x}
}

// less reports whether a < b.
func (a magnitude) less(b magnitude) bool {
	switch {
	case b.m == 0:
		return false
	case a.m == 0:
		return true
	case a.x != b.x:
		return a.x < b.x
	}
	return a.m < b.m
}

// float is a as a float64, infinite or zero where it does not fit.
func (a magnitude) float() float64 { return math.Ldexp(a.m, a.x) }
