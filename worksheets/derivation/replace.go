package derivation

import (
	"slices"

	"counterpoise/mechanics/expr"
)

// byReplacing reports whether a link follows once parts of it are replaced as
// lines that do not hold say: from the line √(1 + 2κ) ≈ 1 + 2κ, every √(1 + 2κ)
// is 1 + 2κ.
func (j *judge) byReplacing(one *judge, t *trial, l link, wrong []standing) bool {
	if j.replaced(one, t, one.system(t.board, t.board.standing, "board", wantedBy(l)), l, wrong) {
		return true
	}
	lines := append(j.lately(t), j.definitions(t.board)...)
	return j.replaced(one, t, t.board.solve(t.board.equations(lines, wantedBy(l)), true), l, wrong)
}

// replaced is byReplacing with the symbols solved in one way.
func (j *judge) replaced(one *judge, t *trial, s *system, l link, wrong []standing) bool {
	x, y := s.resolve(l.a), s.resolve(l.b)
	changed := false
	for _, w := range wrong {
		if !w.equation() {
			continue
		}
		zero := s.resolve(w.zero())
		const most = 4 // parts tried
		for i, part := range kernels(zero) {
			if i == most {
				break
			}
			const place = "□"
			marked := replace(zero, part, expr.Sym(place))
			value, _, ok := t.board.solveFor(marked, place)
			if !ok || value.Has(place) {
				continue
			}
			x2, y2 := replace(x, part, value), replace(y, part, value)
			if x2.Equal(x) && y2.Equal(y) {
				continue
			}
			x, y, changed = x2, y2, true
			break
		}
	}
	if !changed {
		return false
	}
	v, _ := one.holdsIn(t.board, &system{where: s.where}, link{x, y, l.relation})
	return v == yes || v == nearly
}

// kernels are the function values and roots in e, the largest first.
func kernels(e expr.Expr) (out []expr.Expr) {
	var walk func(e expr.Expr)
	walk = func(e expr.Expr) {
		root := false
		if e.Kind() == expr.KindPower {
			_, whole := e.Args()[1].Integer()
			root = !whole
		}
		if (e.Kind() == expr.KindCall || root) && len(e.Symbols()) > 0 && !slices.ContainsFunc(out, e.Equal) {
			out = append(out, e)
		}
		for _, a := range e.Args() {
			walk(a)
		}
	}
	walk(e)
	slices.SortStableFunc(out, func(a, b expr.Expr) int { return b.Size() - a.Size() })
	return out
}

// replace puts to in the place of every part of e that equals from.
func replace(e, from, to expr.Expr) expr.Expr {
	if e.Equal(from) {
		return to
	}
	args := e.Args()
	if len(args) == 0 || e.Size() < from.Size() {
		return e
	}
	for i, a := range args {
		args[i] = replace(a, from, to)
	}
	switch e.Kind() {
	case expr.KindSum:
		return expr.Add(args...)
	case expr.KindProduct:
		return expr.Mul(args...)
	case expr.KindPower:
		return expr.Pow(args[0], args[1])
	}
	out, err := expr.Call(e.Function(), args...)
	if err != nil {
		return e // the number of arguments is as it was
	}
	return out
}
