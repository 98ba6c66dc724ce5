package motion

import "math"

// A mesh is a sequence of n steps.
type mesh struct {
	from float64
	n    int
	end  func(i int) float64 // of step i, counted from 0
}

// uniformMesh has equal steps, not longer than step, that fill the interval.
func uniformMesh(from, to, step float64) mesh {
	n := max(1, int(math.Ceil(math.Abs(to-from)/step-1e-9)))
	return mesh{from, n, func(i int) float64 {
		if i == n-1 {
			return to
		}
		return from + (to-from)*(float64(i+1)/float64(n))
	}}
}

// similar returns a mesh of n steps whose lengths are distributed like those
// between the given times: the errors of a method of order p on the two go as
// the p-th power of the numbers of steps.
func similar(times []float64, n int) mesh {
	last := len(times) - 1
	return mesh{times[0], n, func(i int) float64 {
		if i == n-1 {
			return times[last]
		}
		x := float64(i+1) * float64(last) / float64(n)
		k := min(int(x), last-1)
		return times[k] + (x-float64(k))*(times[k+1]-times[k])
	}}
}
