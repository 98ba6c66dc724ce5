package chaos

import (
	"math"

	"counterpoise/mechanics/motion"
)

// varied is a system together with k small displacements of its state, which
// obey the variational equations δ' = (∂f/∂y) δ: the state is y, δ_1 … δ_k.
type varied struct {
	system   motion.System
	n, k     int
	jacobian func(dst []float64, t float64, y []float64)
	j        []float64
}

func vary(s motion.System, k int) *varied {
	n := s.Dim()
	v := &varied{system: s, n: n, k: k, j: make([]float64, n*n)}
	if exact, ok := s.(motion.Jacobian); ok {
		v.jacobian = exact.Jacobian
	} else {
		v.jacobian = central(s)
	}
	return v
}

// central returns a Jacobian by central differences, good to about 1e-10 of
// its size: enough for exponents, whose standard error is far larger.
func central(s motion.System) func(dst []float64, t float64, y []float64) {
	n := s.Dim()
	up, down, x := make([]float64, n), make([]float64, n), make([]float64, n)
	return func(dst []float64, t float64, y []float64) {
		copy(x, y)
		for j := range n {
			h := 6e-6 * math.Max(1, math.Abs(y[j]))
			x[j] = y[j] + h
			s.Rates(up, t, x)
			x[j] = y[j] - h
			s.Rates(down, t, x)
			x[j] = y[j]
			for i := range n {
				dst[i*n+j] = (up[i] - down[i]) / (2 * h)
			}
		}
	}
}

func (v *varied) Dim() int { return v.n * (1 + v.k) }

func (v *varied) Rates(dst []float64, t float64, y []float64) {
	n := v.n
	v.system.Rates(dst[:n], t, y[:n])
	v.jacobian(v.j, t, y[:n])
	for d := 1; d <= v.k; d++ {
		delta, rate := y[d*n:(d+1)*n], dst[d*n:(d+1)*n]
		for i := range rate {
			sum := 0.0
			for j, a := range v.j[i*n : (i+1)*n] {
				sum += a * delta[j]
			}
			rate[i] = sum
		}
	}
}

// orthonormalise makes k vectors of n components orthonormal, in place, and
// writes the logarithms of their lengths before to logs: Gram and Schmidt's way,
// twice for each vector so that rounding leaves them orthogonal.
func orthonormalise(v []float64, n, k int, logs []float64) {
	for a := range k {
		x := v[a*n : (a+1)*n]
		for range 2 {
			for b := range a {
				y := v[b*n : (b+1)*n]
				dot := 0.0
				for i := range x {
					dot += x[i] * y[i]
				}
				for i := range x {
					x[i] -= dot * y[i]
				}
			}
		}
		length := 0.0
		for _, u := range x {
			length += u * u
		}
		length = math.Sqrt(length)
		logs[a] = math.Log(length)
		for i := range x {
			x[i] /= length
		}
	}
}
