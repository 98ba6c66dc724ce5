package modes

import (
	"fmt"
	"math"
)

// MovingMean returns the mean of values over a span of width seconds around
// each time, by the trapezoidal rule; times must rise. At the ends the span is
// cut. It smooths an energy over one swing, so that its slow passage from one
// part to another shows.
func MovingMean(times, values []float64, width float64) ([]float64, error) {
	n := len(times)
	if len(values) != n || n < 2 {
		return nil, fmt.Errorf("modes: %d times, %d values: %w", n, len(values), ErrDimension)
	}
	if !(width > 0) {
		return nil, fmt.Errorf("modes: a width of %g s: give a positive time, such as one swing", width)
	}
	area := make([]float64, n) // up to each time
	for i := 1; i < n; i++ {
		if !(times[i] > times[i-1]) {
			return nil, fmt.Errorf("modes: time %d is %g s after %g s: give times that rise", i, times[i], times[i-1])
		}
		area[i] = area[i-1] + (values[i]+values[i-1])/2*(times[i]-times[i-1])
	}
	// the integral up to any time inside
	upTo := func(t float64, i int) float64 {
		for i > 0 && times[i] > t {
			i--
		}
		for i < n-2 && times[i+1] <= t {
			i++
		}
		h := t - times[i]
		slope := (values[i+1] - values[i]) / (times[i+1] - times[i])
		return area[i] + h*(values[i]+slope*h/2)
	}
	mean := make([]float64, n)
	for i, t := range times {
		a, b := math.Max(times[0], t-width/2), math.Min(times[n-1], t+width/2)
		mean[i] = (upTo(b, min(i, n-2)) - upTo(a, min(i, n-2))) / (b - a)
	}
	return mean, nil
}

// Crests returns the times in s at which values, taken at rising times, are
// highest in their surroundings of width seconds to both sides, each improved
// by the parabola through three values. Values without a time are left out.
func Crests(times, values []float64, width float64) []float64 {
	var at []float64
	n := min(len(times), len(values))
	times, values = times[:n], values[:n]
	for i := 1; i+1 < len(values); i++ {
		highest := true
		for k := i; k >= 0 && times[k] >= times[i]-width && highest; k-- {
			highest = values[k] <= values[i]
		}
		for k := i + 1; k < len(values) && times[k] <= times[i]+width && highest; k++ {
			highest = values[k] < values[i]
		}
		if !highest || times[i]-times[0] < width || times[len(times)-1]-times[i] < width {
			continue
		}
		a, b, c := values[i-1], values[i], values[i+1]
		t := times[i]
		if bend := a - 2*b + c; bend < 0 {
			t += (times[i+1] - times[i-1]) / 2 * (a - c) / (2 * bend)
		}
		at = append(at, t)
	}
	return at
}
