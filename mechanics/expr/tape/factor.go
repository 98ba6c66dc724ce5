package tape

// solveFactored returns the solution x of m x = f, where m = L D Lᵀ.
func solveFactored(g *graph, l [][]ref, d, f []ref) []ref {
	n := len(f)
	x := append([]ref(nil), f...)
	for i := range n { // L y = f
		for k := range i {
			x[i] = g.sub(x[i], g.mul(l[i][k], x[k]))
		}
	}
	for i := range n {
		x[i] = g.div(x[i], d[i])
	}
	for i := n - 1; i >= 0; i-- { // Lᵀ x = D⁻¹ y
		for k := i + 1; k < n; k++ {
			x[i] = g.sub(x[i], g.mul(l[k][i], x[k]))
		}
	}
	return x
}

// factorLDL returns the unit lower triangle L and the diagonal D of a symmetric
// positive definite m = L D Lᵀ, unrolled: only the lower triangle of m is
// used. The cost is n³/6 multiplications and n²/2 divisions; zeros cost
// nothing. Where m is singular at run time a D is 0.
//
// Source: Golub and Van Loan, Matrix Computations (4th ed.), Algorithm 4.1.2.
func factorLDL(g *graph, m [][]ref) (l [][]ref, d []ref) {
	n := len(m)
	l, d = make([][]ref, n), make([]ref, n)
	for i := range n {
		l[i] = make([]ref, i)
		ld := make([]ref, i)
		for j := range i {
			ld[j] = m[i][j]
			for k := range j {
				ld[j] = g.sub(ld[j], g.mul(ld[k], l[j][k]))
			}
			l[i][j] = g.div(ld[j], d[j])
		}
		d[i] = m[i][i]
		for k := range i {
			d[i] = g.sub(d[i], g.mul(ld[k], l[i][k]))
		}
	}
	return l, d
}
