package equal

import (
	"math"
	"math/rand/v2"
)

// A Range holds the values that a symbol may take.
type Range struct{ From, To float64 }

// Default is the range of a symbol for which none is given.
var Default = Range{0.1, 10}

// A sampler draws points inside the ranges.
type sampler struct {
	ranges []Range
	random *rand.Rand
	drawn  int
}

// draw fills dst with the next point and reports whether it is an inner one,
// with no symbol at an end of its range.
func (s *sampler) draw(dst []float64) (inner bool) {
	s.drawn++
	inner = true
	// Two points in five have some symbols at the ends of their ranges.
	ends := s.drawn%5 >= 3
	for i, r := range s.ranges {
		x := s.random.Float64()
		if ends && r.From != r.To {
			switch k := s.random.IntN(6); k {
			case 0:
				dst[i], inner = r.From, false
				continue
			case 1:
				dst[i], inner = r.To, false
				continue
			}
		}
		dst[i] = r.at(x, s.drawn%2 == 0)
	}
	return inner
}

// at maps x in [0, 1) to the range, by steps of equal ratio where that is asked
// and the range is wide and of one sign, and denser near zero where it is of
// both.
func (r Range) at(x float64, ratio bool) float64 {
	const wide = 8
	v := r.From + x*(r.To-r.From)
	switch {
	case !ratio:
	case r.From > 0 && r.To > wide*r.From:
		v = r.From * math.Pow(r.To/r.From, x)
	case r.To < 0 && r.From < wide*r.To:
		v = r.To * math.Pow(r.From/r.To, x)
	case r.From < 0 && r.To > 0:
		v = r.From
		if x >= 0.5 {
			v = r.To
		}
		u := math.Mod(2*x, 1)
		v *= u * u
	}
	return min(max(v, r.From), r.To)
}

// near moves a point by a little, within the ranges.
func (s *sampler) near(dst, from []float64, step float64) {
	for i, r := range s.ranges {
		d := (2*s.random.Float64() - 1) * step * (r.To - r.From)
		dst[i] = min(max(from[i]+d, r.From), r.To)
	}
}
