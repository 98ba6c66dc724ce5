package motion

import (
	"gonum.org/v1/gonum/mat"
)

// A collocation is the Runge-Kutta method of the polynomial that satisfies the
// differential equation at the nodes c: a_ij = ∫_0^{c_i} l_j, b_j = ∫_0^1 l_j
// with Lagrange's polynomials l_j.
//
// Source: Hairer, Nørsett and Wanner I, theorem II.7.7; the nodes are those of
// Gauss (zeros of the shifted Legendre polynomial, order 2s) or Radau (zeros of
// P_s - P_{s-1}, the last at 1, order 2s-1): Hairer and Wanner II, section IV.5.
type collocation struct {
	c []float64
	a [][]float64
	b []float64
}

// legendre returns P_n at x in [-1, 1].
func legendre(n int, x float64) float64 {
	before, p := 1.0, x
	if n == 0 {
		return 1
	}
	for k := 1; k < n; k++ {
		before, p = p, (float64(2*k+1)*x*p-float64(k)*before)/float64(k+1)
	}
	return p
}

// zeros returns the n zeros of f inside (-1, 1), which it must have simple and
// well apart.
func zeros(f func(float64) float64, n int) []float64 {
	var at []float64
	const cuts = 400
	for k := 0; k < cuts && len(at) < n; k++ {
		a, b := -1+2*(float64(k)+0.49)/cuts, -1+2*(float64(k)+1.49)/cuts
		if k == 0 {
			a = -1 + 1e-9
		}
		if fa, fb := f(a), f(b); fa*fb < 0 {
			at = append(at, locate(f, mark{theta: a, g: fa}, mark{theta: b, g: fb}))
		}
	}
	return at
}

func gaussCollocation(s int) collocation {
	var c []float64
	for _, x := range zeros(func(x float64) float64 { return legendre(s, x) }, s) {
		c = append(c, (1+x)/2)
	}
	return collocate(c)
}

func radauCollocation(s int) collocation {
	var c []float64
	for _, x := range zeros(func(x float64) float64 { return legendre(s, x) - legendre(s-1, x) }, s-1) {
		c = append(c, (1+x)/2)
	}
	return collocate(append(c, 1))
}

// collocate computes the method of the nodes c.
func collocate(c []float64) collocation {
	s := len(c)
	m := collocation{c: c, b: make([]float64, s)}
	// a·V = W with V_jk = c_j^k and W_ik = c_i^{k+1}/(k+1)
	v, w := mat.NewDense(s, s, nil), mat.NewDense(s+1, s, nil)
	for j := range c {
		power := 1.0
		for k := range s {
			v.Set(j, k, power)
			power *= c[j]
			w.Set(j, k, power/float64(k+1))
			w.Set(s, k, 1/float64(k+1))
		}
	}
	var x mat.Dense
	if err := x.Solve(v.T(), w.T()); err != nil {
		panic("motion: collocation nodes coincide: " + err.Error())
	}
	for i := range s {
		m.a = append(m.a, mat.Col(nil, i, &x))
	}
	m.b = mat.Col(nil, s, &x)
	return m
}
