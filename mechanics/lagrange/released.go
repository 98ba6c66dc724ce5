package lagrange

import "counterpoise/mechanics/expr"

// released returns the total forces F + Aᵀλ with the multipliers that hold at
// rest, and the displacements of all coordinates in terms of the free ones:
// column i is nil for a coordinate that follows from others.
func (e *Equations) released(rest map[string]expr.Expr) (total []expr.Expr, free [][]expr.Expr, err error) {
	n, m := len(e.Coordinates), len(e.Rows)
	for k, f := range e.Constraints {
		g := f.Subs(rest)
		if g.Has(expr.TimeName) {
			return nil, nil, wrong("Constraints", "constraint %d depends on time: a driven system does not rest; leave the drive out to linearise", k+1)
		}
		if g, zero := e.vanishes(g); !zero {
			return nil, nil, wrong("Constraints", "constraint %d is %s there, not 0: give a place that meets the constraints", k+1, g)
		}
	}
	a := make([][]expr.Expr, m)
	for k, row := range e.Rows {
		for _, x := range row {
			a[k] = append(a[k], x.Subs(rest).Simplify())
		}
	}
	for _, bound := range choices(n, m) {
		if free, ok := solveDisplacements(a, bound, n); ok {
			total, err = e.withMultipliers(a, bound, rest)
			if err == nil {
				return total, free, nil
			}
		}
	}
	return nil, nil, wrong("Constraints", "they depend on each other there: leave one out, or choose other coordinates")
}

// choices returns all ways to choose m of n, the last ones first, so that the
// first coordinates stay free.
func choices(n, m int) [][]int {
	if m == 0 {
		return [][]int{nil}
	}
	if m > n {
		return nil
	}
	var out [][]int
	for _, c := range choices(n-1, m-1) {
		out = append(out, append(append([]int(nil), c...), n-1))
	}
	return append(out, choices(n-1, m)...)
}

// displacement is the name of a small displacement while it is an unknown.
func displacement(i int) string { return unknownMultiplier(i) + ".displacement" }

// solveDisplacements solves A δ = 0 for the bound coordinates. free[j][i] is
// δ_i per δ_j, for each free j.
func solveDisplacements(a [][]expr.Expr, bound []int, n int) (free [][]expr.Expr, ok bool) {
	var equations []expr.Expr
	var unknowns []string
	for _, row := range a {
		sum := expr.Int(0)
		for i, x := range row {
			sum = sum.Plus(expr.Mul(x, expr.Sym(displacement(i))))
		}
		equations = append(equations, sum)
	}
	isBound := make([]bool, n)
	for _, i := range bound {
		isBound[i] = true
		unknowns = append(unknowns, displacement(i))
	}
	solution, err := expr.Solve(equations, unknowns)
	if err != nil {
		return nil, false
	}
	free = make([][]expr.Expr, n)
	for j := range n {
		if isBound[j] {
			continue
		}
		free[j] = make([]expr.Expr, n)
		free[j][j] = expr.Int(1)
		for k, i := range bound {
			free[j][i] = solution[k].Diff(displacement(j)).Simplify()
		}
	}
	return free, true
}

// withMultipliers returns F + Aᵀλ with the λ that balance the bound
// coordinates at rest.
func (e *Equations) withMultipliers(a [][]expr.Expr, bound []int, rest map[string]expr.Expr) ([]expr.Expr, error) {
	total := e.totalForces()
	if len(bound) == 0 {
		return total, nil
	}
	var balance []expr.Expr
	var unknowns []string
	for k := range a {
		unknowns = append(unknowns, unknownMultiplier(k))
	}
	for _, i := range bound {
		balance = append(balance, total[i].Subs(rest))
	}
	λ, err := expr.Solve(balance, unknowns)
	if err != nil {
		return nil, err
	}
	to := make(map[string]expr.Expr)
	for k, name := range unknowns {
		to[name] = λ[k]
	}
	for i := range total {
		total[i] = total[i].Subs(to)
	}
	return total, nil
}

// onto projects a matrix on the free displacements: zᵀ x z, simplified.
func (e *Equations) onto(full, free [][]expr.Expr) [][]expr.Expr {
	var out [][]expr.Expr
	for _, u := range free {
		if u == nil {
			continue
		}
		var row []expr.Expr
		for _, v := range free {
			if v == nil {
				continue
			}
			sum := expr.Int(0)
			for i := range full {
				for j := range full {
					sum = sum.Plus(expr.Mul(u[i], full[i][j], v[j]))
				}
			}
			row = append(row, sum.Simplify())
		}
		out = append(out, row)
	}
	return out
}
