package motion

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// A radauTable is what depends on the number of stages alone.
type radauTable struct {
	s     int
	c     []float64
	gamma float64        // the real eigenvalue of a⁻¹
	mu    []complex128   // one of each pair of complex eigenvalues
	t0    []float64      // z_i = t0_i w0 + 2 Re Σ_p tc_ip w_p
	tc    [][]complex128 // [stage][pair]
	i0    []float64      // w0 = Σ i0_j z_j
	ic    [][]complex128 // [pair][stage]
	d     []float64      // the error estimate is h f0/γ + Σ d_j z_j
	v     [][]float64    // polynomial: coefficient of θ^(k+1) is Σ v_kj z_j
}

var radauTables = map[int]*radauTable{3: newRadauTable(3), 5: newRadauTable(5), 7: newRadauTable(7)}

func newRadauTable(s int) *radauTable {
	m := radauCollocation(s)
	r := &radauTable{s: s, c: m.c}
	a := mat.NewDense(s, s, nil)
	vander := mat.NewDense(s, s, nil)  // c_j^k, k = 0..s-1
	shifted := mat.NewDense(s, s, nil) // c_j^(k+1)
	for i := range s {
		a.SetRow(i, m.a[i])
		power := 1.0
		for k := range s {
			vander.Set(i, k, power)
			power *= m.c[i]
			shifted.Set(i, k, power)
		}
	}
	var inverse, poly mat.Dense
	must(inverse.Inverse(a))
	must(poly.Inverse(shifted))
	for k := range s {
		r.v = append(r.v, mat.Row(nil, k, &poly))
	}

	var eigen mat.Eigen
	if !eigen.Factorize(&inverse, mat.EigenRight) {
		panic("motion: the Radau matrix has no eigenvalues")
	}
	var vectors mat.CDense
	eigen.VectorsTo(&vectors)
	t := newComplexLU(s) // of the matrix of eigenvectors, to invert it
	for i := range s {
		for k := range s {
			t.a[i*s+k] = vectors.At(i, k)
		}
	}
	t.factor()
	inverted := make([][]complex128, s)
	for k := range s {
		column := make([]complex128, s)
		column[k] = 1
		t.solve(column)
		inverted[k] = column // column k of the inverse
	}
	r.t0, r.i0, r.tc = make([]float64, s), make([]float64, s), make([][]complex128, s)
	for k, lambda := range eigen.Values(nil) {
		switch {
		case math.Abs(imag(lambda)) < 1e-8:
			r.gamma = real(lambda)
			for i := range s {
				r.t0[i], r.i0[i] = real(vectors.At(i, k)), real(inverted[i][k])
			}
		case imag(lambda) > 0:
			r.mu = append(r.mu, lambda)
			row := make([]complex128, s)
			for i := range s {
				r.tc[i] = append(r.tc[i], vectors.At(i, k))
				row[i] = inverted[i][k]
			}
			r.ic = append(r.ic, row)
		}
	}

	// weights of order s with the additional node 0 of weight 1/γ, less b:
	// Σ_j e_j c_j^k = -δ_k0/γ; then in terms of the increments, z = h a f
	var e mat.VecDense
	right := mat.NewVecDense(s, nil)
	right.SetVec(0, -1/r.gamma)
	must(e.SolveVec(vander.T(), right))
	var d mat.VecDense
	d.MulVec(inverse.T(), &e)
	for j := range s {
		r.d = append(r.d, d.AtVec(j))
	}
	return r
}

func must(err error) {
	if err != nil {
		panic("motion: a coefficient matrix is singular: " + err.Error())
	}
}
