package motion

import "math"

// A realLU is a square matrix and its factors with partial pivoting.
type realLU struct {
	n     int
	a     []float64
	pivot []int
}

func newRealLU(n int) realLU { return realLU{n: n, a: make([]float64, n*n), pivot: make([]int, n)} }

// factor replaces a by its factors, the diagonal inverted, and reports whether
// it is regular.
func (l *realLU) factor() bool {
	n, a := l.n, l.a
	for k := range n {
		best := k
		for i := k + 1; i < n; i++ {
			if math.Abs(a[i*n+k]) > math.Abs(a[best*n+k]) {
				best = i
			}
		}
		l.pivot[k] = best
		if !(math.Abs(a[best*n+k]) > 0) {
			return false
		}
		if best != k {
			for j := range n {
				a[k*n+j], a[best*n+j] = a[best*n+j], a[k*n+j]
			}
		}
		a[k*n+k] = 1 / a[k*n+k]
		for i := k + 1; i < n; i++ {
			q := a[i*n+k] * a[k*n+k]
			a[i*n+k] = q
			for j := k + 1; j < n; j++ {
				a[i*n+j] -= q * a[k*n+j]
			}
		}
	}
	return true
}

func (l *realLU) solve(x []float64) {
	n, a := l.n, l.a
	for k, p := range l.pivot {
		x[k], x[p] = x[p], x[k]
	}
	for i := 1; i < n; i++ {
		for j := range i {
			x[i] -= a[i*n+j] * x[j]
		}
	}
	for i := n - 1; i >= 0; i-- {
		for j := i + 1; j < n; j++ {
			x[i] -= a[i*n+j] * x[j]
		}
		x[i] *= a[i*n+i]
	}
}

// A complexLU is the same for complex matrices.
type complexLU struct {
	n     int
	a     []complex128
	pivot []int
}

func newComplexLU(n int) complexLU {
	return complexLU{n: n, a: make([]complex128, n*n), pivot: make([]int, n)}
}

func (l *complexLU) factor() bool {
	n, a := l.n, l.a
	for k := range n {
		best := k
		for i := k + 1; i < n; i++ {
			if size(a[i*n+k]) > size(a[best*n+k]) {
				best = i
			}
		}
		l.pivot[k] = best
		if !(size(a[best*n+k]) > 0) {
			return false
		}
		if best != k {
			for j := range n {
				a[k*n+j], a[best*n+j] = a[best*n+j], a[k*n+j]
			}
		}
		a[k*n+k] = 1 / a[k*n+k]
		for i := k + 1; i < n; i++ {
			q := a[i*n+k] * a[k*n+k]
			a[i*n+k] = q
			for j := k + 1; j < n; j++ {
				a[i*n+j] -= q * a[k*n+j]
			}
		}
	}
	return true
}

// size is a norm of z that costs no square root.
func size(z complex128) float64 { return math.Abs(real(z)) + math.Abs(imag(z)) }

func (l *complexLU) solve(x []complex128) {
	n, a := l.n, l.a
	for k, p := range l.pivot {
		x[k], x[p] = x[p], x[k]
	}
	for i := 1; i < n; i++ {
		for j := range i {
			x[i] -= a[i*n+j] * x[j]
		}
	}
	for i := n - 1; i >= 0; i-- {
		for j := i + 1; j < n; j++ {
			x[i] -= a[i*n+j] * x[j]
		}
		x[i] *= a[i*n+i]
	}
}
