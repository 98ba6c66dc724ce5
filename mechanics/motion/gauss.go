package motion

import "math"

// gauss is the collocation method of Gauss with s stages and order 2s,
// symplectic for every Hamiltonian system. The stages are found by fixed-point
// iteration, down to rounding.
//
// Source: Hairer, Lubich and Wanner, Geometric Numerical Integration (2nd
// ed.), sections II.1.3 and VIII.6.
type gauss struct {
	uniform
	m collocation
	z [][]float64 // stage increments
	k [][]float64 // stage rates
}

func newGauss(s System, stages int) *gauss {
	g := &gauss{uniform: newUniform(s, 2*stages), m: gaussCollocation(stages)}
	for range stages {
		g.z = append(g.z, make([]float64, g.n))
		g.k = append(g.k, make([]float64, g.n))
	}
	return g
}

func (g *gauss) begin(t float64, y []float64) {
	g.uniform.begin(t, y)
	g.system.Rates(g.k1, t, y)
	g.evaluations++
	for i := range g.k {
		copy(g.k[i], g.k1)
	}
}

// maxGaussIterations bounds the fixed-point iteration: where it does not
// converge in so many, the step is too large for the problem.
const maxGaussIterations = 100

func (g *gauss) attempt(h float64) float64 {
	last := math.Inf(1)
	for iteration := 0; ; iteration++ {
		change := 0.0
		for i, z := range g.z {
			for c := range z {
				sum := 0.0
				for j, a := range g.m.a[i] {
					sum += a * g.k[j][c]
				}
				v := h * sum
				change = math.Max(change, math.Abs(v-z[c])/(1e-300+math.Abs(g.y[c])+math.Abs(v)))
				z[c] = v
			}
		}
		for i, z := range g.z {
			for c := range z {
				g.w[c] = g.y[c] + z[c]
			}
			g.system.Rates(g.k[i], g.t+g.m.c[i]*h, g.w)
			g.evaluations++
		}
		if math.IsNaN(change) {
			return math.NaN()
		}
		// stop when rounding alone is left: the changes no longer fall
		if iteration > 0 && (change == 0 || (change >= last && change < 1e-12)) {
			break
		}
		if last = change; iteration == maxGaussIterations {
			return math.Inf(1)
		}
	}
	for c := range g.y {
		sum := 0.0
		for j, b := range g.m.b {
			sum += b * g.k[j][c]
		}
		g.after[c], g.left[c] = add(g.y[c], h*sum+g.carry[c])
	}
	return finite(g.after)
}
