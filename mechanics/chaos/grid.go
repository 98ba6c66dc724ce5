package chaos

import (
	"errors"
	"fmt"
	"math"

	"counterpoise/mechanics/halt"
	"counterpoise/mechanics/motion"
)

// Over computes a value for every point of a grid of starts or parameters, on
// all cores. make is called once for each core and returns the function of a
// point, so that each core may have a system of its own; the function may
// return NaN for a point that has no value. It stops on halt.Request, and when
// the function of a point returns an error.
func Over(a, b Axis, make func() func(a, b float64) (float64, error)) (*Map, error) {
	if make == nil {
		return nil, errors.New("chaos: give a function that makes the function of a point")
	}
	if err := errors.Join(a.check("A"), b.check("B")); err != nil {
		return nil, err
	}
	m := &Map{A: a, B: b, Value: newValues(a.N * b.N)}
	err := onAllCores(len(m.Value), func() func(i int) error {
		f := make()
		return func(i int) error {
			if err := halt.Err(); err != nil {
				return err
			}
			x, y := a.At(i/b.N), b.At(i%b.N)
			v, err := f(x, y)
			if err != nil {
				return fmt.Errorf("chaos: point (%g, %g): %w", x, y, err)
			}
			m.Value[i] = v
			return nil
		}
	})
	return m, err
}

// Periods maps over a grid of two parameters after how many periods of the
// drive a settled motion repeats itself: 1 for a swing a push, 2 and 4 after
// doublings, NaN where no period up to half of o.Points shows, as in chaos. The
// motions start from y at t = 0; values closer than within count as equal.
func Periods(system func(a, b float64) (motion.System, error), period float64, y []float64, a, b Axis, within float64, o SectionOptions) (*Map, error) {
	if system == nil {
		return nil, errors.New("chaos: give a function that makes the system of two parameters")
	}
	if !(within > 0) {
		return nil, fmt.Errorf("chaos: values within %g count as equal: give a small positive number", within)
	}
	if o.Points == 0 {
		o.Points = 32
	}
	return Over(a, b, func() func(a, b float64) (float64, error) {
		return func(a, b float64) (float64, error) {
			s, err := system(a, b)
			if err != nil {
				return 0, err
			}
			points, err := Strobe(s, y, period, o)
			if err != nil {
				return 0, err
			}
			return repeats(points, o.Angles, within), nil
		}
	})
}

// repeats returns the smallest shift that maps a sequence of states to itself,
// up to half its length; NaN if there is none.
func repeats(points [][]float64, angles []int, within float64) float64 {
	isAngle := map[int]bool{}
	for _, a := range angles {
		isAngle[a] = true
	}
shift:
	for k := 1; k <= len(points)/2; k++ {
		for i := k; i < len(points); i++ {
			for c, v := range points[i] {
				d := v - points[i-k][c]
				if isAngle[c] {
					d = math.Remainder(d, 2*math.Pi)
				}
				if !(math.Abs(d) <= within) {
					continue shift
				}
			}
		}
		return float64(k)
	}
	return math.NaN()
}
