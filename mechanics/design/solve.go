package design

import (
	"errors"
	"fmt"
	"math"
)

// A Measure is a property of a toy as it depends on one dimension x. An error means
// that the toy has no such property there, as a toy that falls has no period.
type Measure func(x float64) (float64, error)

// ErrNoSolution is returned where no dimension in the range meets the target.
var ErrNoSolution = errors.New("no dimension in the range meets the target")

const (
	// searchSteps divides the range in the search: two solutions closer than this
	// may be overlooked.
	searchSteps = 200
	// jump is the share of the measure's range over which a change of sign counts as
	// a jump and not as a solution.
	jump = 1e-3
)

// Solve returns the dimension nearest to the middle of the range from..to at which
// the measure has the wanted value, to rounding. It scans the range and closes in
// on every crossing; see [All] for the rest. If there is none, the error is
// [ErrNoSolution] with the values that the measure takes in the range.
func Solve(m Measure, want, from, to float64) (float64, error) {
	all, err := All(m, want, from, to)
	if err != nil {
		return math.NaN(), err
	}
	best := all[0]
	for _, x := range all {
		if math.Abs(x-(from+to)/2) < math.Abs(best-(from+to)/2) {
			best = x
		}
	}
	return best, nil
}

// All returns every dimension in the range at which the measure has the wanted
// value, in ascending order.
func All(m Measure, want, from, to float64) ([]float64, error) {
	if err := checkRange(want, from, to); err != nil {
		return nil, err
	}
	f := func(x float64) float64 {
		v, err := m(x)
		if err != nil || math.IsInf(v, 0) {
			return math.NaN()
		}
		return v - want
	}
	var found []float64
	low, high := math.Inf(1), math.Inf(-1)
	lastX, last := from, f(from)
	var firstErr error
	for i := 0; i <= searchSteps; i++ {
		x := from + (to-from)*float64(i)/searchSteps
		v := f(x)
		if math.IsNaN(v) {
			if _, err := m(x); err != nil && firstErr == nil {
				firstErr = err
			}
		} else {
			low, high = min(low, v+want), max(high, v+want)
		}
		switch {
		case v == 0:
			found = append(found, x)
		case i > 0 && last*v < 0:
			if root, ok := crossing(f, lastX, x, math.Abs(last)+math.Abs(v)); ok {
				found = append(found, root)
			}
		}
		lastX, last = x, v
	}
	if len(found) == 0 {
		return nil, noSolution(want, from, to, low, high, firstErr)
	}
	return found, nil
}

func checkRange(want, from, to float64) error {
	for name, v := range map[string]float64{"target": want, "lower end of the range": from, "upper end of the range": to} {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return fmt.Errorf("%s is %v: give a finite number", name, v)
		}
	}
	if from >= to {
		return fmt.Errorf("the range from %v to %v is empty: give a smaller number first", from, to)
	}
	return nil
}

// crossing closes in on a change of sign by bisection, and tells a crossing from a
// jump.
func crossing(f func(float64) float64, low, high, size float64) (float64, bool) {
	sign := f(low)
	for range 200 {
		middle := low + (high-low)/2
		if middle <= low || middle >= high {
			break
		}
		v := f(middle)
		if math.IsNaN(v) {
			return 0, false
		}
		if v == 0 {
			return middle, true
		}
		if v*sign > 0 {
			low = middle
		} else {
			high = middle
		}
	}
	a, b := math.Abs(f(low)), math.Abs(f(high))
	if max(a, b) > jump*size {
		return 0, false
	}
	if a < b {
		return low, true
	}
	return high, true
}

func noSolution(want, from, to, low, high float64, err error) error {
	switch {
	case low > high && err != nil:
		return fmt.Errorf("%w: nowhere from %.4g to %.4g does the toy have what is asked for (%v); widen the range or change another dimension", ErrNoSolution, from, to, err)
	case low > high:
		return fmt.Errorf("%w: nowhere from %.4g to %.4g is the measure a number; change the range", ErrNoSolution, from, to)
	}
	return fmt.Errorf("%w: %.4g is asked for, from %.4g to %.4g the toy reaches %.4g to %.4g; widen the range or change another dimension", ErrNoSolution, want, from, to, low, high)
}

// Elasticity returns by how many per cent the measure changes when the dimension
// grows by one per cent: -1/2 for the frequency of a rod against the mass at its
// end, -3/2 against its length.
//
// Source: df/f = -(1/2) dm/m and -(3/2) dL/L (common
// practice, no source).
func Elasticity(m Measure, x float64) (float64, error) {
	if x == 0 || math.IsNaN(x) || math.IsInf(x, 0) {
		return 0, fmt.Errorf("the dimension is %v: give a finite number that is not zero", x)
	}
	const h = 1e-4
	var y [4]float64
	for i, f := range [4]float64{1 - 2*h, 1 - h, 1 + h, 1 + 2*h} {
		v, err := m(x * f)
		if err != nil {
			return 0, err
		}
		y[i] = math.Log(math.Abs(v))
	}
	return (8*(y[2]-y[1]) - (y[3] - y[0])) / (12 * h), nil
}
