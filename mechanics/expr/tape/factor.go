package tape

// solveFactored returns the solution x of m x = f, where m = L D Lᵀ.
func solveFactored(g *graph, l [][]ref, d []divider, f []ref) []ref {
	n := len(f)
	x := append([]ref(nil), f...)
	for i := range n { // L y = f
		for k := range i {
			x[i] = g.sub(x[i], g.mul(l[i][k], x[k]))
		}
	}
	for i := range n {
		x[i] = d[i].under(g, x[i])
	}
	for i := n - 1; i >= 0; i-- { // Lᵀ x = D⁻¹ y
		for k := i + 1; k < n; k++ {
			x[i] = g.sub(x[i], g.mul(l[k][i], x[k]))
		}
	}
	return x
}

// A divider divides by one value, through its reciprocal if that is done often.
type divider struct {
	value ref
	often bool
}

func (d divider) under(g *graph, a ref) ref {
	if d.often {
		return g.mul(a, g.div(g.constant(1), d.value))
	}
	return g.div(a, d.value)
}

// factorLDL returns the unit lower triangle L and the diagonal D of a symmetric
// positive definite m = L D Lᵀ, unrolled: only the lower triangle of m is
// used. The cost is n³/6 multiplications and n²/2 divisions; zeros cost
// nothing. Where m is singular at run time a D is 0.
//
// Source: Golub and Van Loan, Matrix Computations, section 4.1 (from memory,
// unchecked; the tests solve with it).
//
// Where three or more quotients have one D below them, its reciprocal is taken
// once: see divider.
func factorLDL(g *graph, m [][]ref) (l [][]ref, d []divider) {
	n := len(m)
	l, d = make([][]ref, n), make([]divider, n)
	for i := range n {
		l[i] = make([]ref, i)
		ld := make([]ref, i)
		for j := range i {
			ld[j] = m[i][j]
			for k := range j {
				ld[j] = g.sub(ld[j], g.mul(ld[k], l[j][k]))
			}
			l[i][j] = d[j].under(g, ld[j])
		}
		a := m[i][i]
		for k := range i {
			a = g.sub(a, g.mul(ld[k], l[i][k]))
		}
		d[i] = divider{value: a, often: n-i >= 3} // n-i-1 rows of L and the solution
	}
	return l, d
}
