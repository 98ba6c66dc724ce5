package derivation

import (
	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/expr/equal"
	"slices"
	"strings"
)

// mark finds the milestones and the target among the good lines.
func (j *judge) mark(r *Report) {
	support := false
	for i, m := range j.c.milestones {
		r.Of += j.c.p.Milestones[i].Marks
		if !j.stands(m) {
			continue
		}
		r.Milestones[i] = true
		r.Marks += j.c.p.Milestones[i].Marks
		if j.c.target == nil || !j.means(m, *j.c.target, false) && j.beside(m) {
			support = true
		}
	}
	if j.c.target == nil {
		return
	}
	r.Reached = j.stands(*j.c.target)
	if !r.Reached || support || len(j.c.milestones) == 0 && j.c.p.Leap == 0 || len(j.c.milestones) > 0 && j.onlyTarget() {
		return
	}
	const way = 2 // lines that lead to the target, at least
	r.Leap = j.steps() < way
	leap := j.c.p.Leap
	if r.Of > 0 {
		leap = min(leap, r.Of)
	}
	if r.Leap || r.Marks < leap {
		r.Marks = leap
	}
}

// beside reports whether a milestone stands in a line that is not the target, or
// in one before it that is written otherwise: a + s = 4 s before s = a/3.
func (j *judge) beside(m link) bool {
	var last *standing // that is the target
	for _, s := range slices.Backward(j.good) {
		if s.line > 0 && j.means(s.link, *j.c.target, false) {
			last = &s
			break
		}
	}
	for _, s := range j.good {
		if j.means(s.link, m, s.line > 0) && (!j.means(s.link, *j.c.target, false) || last != nil && s.line < last.line && !j.sameShape(s.link, last.link)) {
			return true
		}
	}
	return j.small && j.standsForSmall(m) && j.steps() > 0
}

// steps counts the good lines that are neither given nor the target nor what a
// symbol is.
func (j *judge) steps() int {
	lines := map[int]bool{}
	for _, s := range j.good {
		if s.line == 0 || s.line > len(j.statuses) {
			continue
		}
		if st := j.statuses[s.line-1]; (st == Follows || st == Approximates) && !j.means(s.link, *j.c.target, false) {
			lines[s.line] = true
		}
	}
	return len(lines)
}

// onlyTarget reports whether the target is the only milestone.
func (j *judge) onlyTarget() bool {
	for _, m := range j.c.milestones {
		if !j.means(m, *j.c.target, false) {
			return false
		}
	}
	return true
}

func (j *judge) stands(m link) bool {
	for _, s := range j.good {
		if j.means(s.link, m, s.line > 0) {
			return true
		}
	}
	return j.small && j.standsForSmall(m)
}

// standsForSmall reports whether a line of a derivation that has gone over to
// small values says the same as m to the leading order: who takes small values
// in the energy has the equation of motion only for small values, who does so
// later has it whole. What is given does not count.
func (j *judge) standsForSmall(m link) bool {
	inM, ok := j.leading(m)
	if !ok {
		return false
	}
	for _, s := range j.good {
		if s.line == 0 {
			continue
		}
		if inL, ok := j.leading(s.link); ok && j.sameZero(inL, inM) {
			return true
		}
	}
	return false
}

// leading is what of an equation's difference is left when the small symbols
// and their rates shrink together: its lowest order, 1 or 2. False where the
// difference does not vanish with them, or is not smooth there.
func (j *judge) leading(l link) (expr.Expr, bool) {
	if !l.equation() || l.zero().Size() > maxSize {
		return expr.Expr{}, false
	}
	const shrink = "ε_small"
	by, values := expr.Sym(shrink), map[string]expr.Expr{}
	for _, name := range l.zero().Symbols() {
		if j.c.small[base(name)] {
			values[name] = expr.Mul(by, expr.Sym(name))
		}
	}
	if len(values) == 0 {
		return expr.Expr{}, false
	}
	none := map[string]expr.Expr{shrink: expr.Int(0)}
	e := l.zero().Subs(values)
	if !j.board.vanishes(e.Subs(none)) {
		return expr.Expr{}, false
	}
	for range 2 {
		e = e.Diff(shrink)
		if at := e.Subs(none); !j.board.vanishes(at) {
			return at.Simplify(), true
		}
	}
	return expr.Expr{}, false
}

// means reports whether two links say the same, up to a factor that is not zero
// and, if spell, the definitions of symbols that only one of them uses. A symbol
// that stands alone in m must occur in l.
func (j *judge) means(l, m link, spell bool) bool {
	if !j.board.work.spend(perLink + perNode/4*(l.a.Size()+l.b.Size())) {
		return false
	}
	if !m.equation() || !l.equation() {
		return !m.equation() && !l.equation() && j.sameCondition(l, m)
	}
	if l.a.Equal(m.a) && l.b.Equal(m.b) || l.a.Equal(m.b) && l.b.Equal(m.a) {
		return true
	}
	if j.board.vanishes(m.zero()) { // a derivative worked out, for one
		return j.board.vanishes(l.zero()) && (j.sameValue(l.a, m.a) || j.sameValue(l.b, m.b))
	}
	if j.sameZero(l.zero(), m.zero()) {
		return true
	}
	if !spell {
		return false
	}
	if own := j.own(l.zero(), m.zero().Symbols()); !own.Equal(l.zero()) && j.sameZero(own, m.zero()) {
		return true
	}
	if j.unnamed(l, m) {
		return true
	}
	inL := j.spelt(l.zero(), m.zero().Symbols())
	if j.sameZero(inL, m.zero()) {
		return true
	}
	for _, side := range [2]expr.Expr{m.a, m.b} {
		if names := side.Symbols(); len(names) == 1 && alone(side, base(names[0])) && !inL.Has(names[0]) {
			return false
		}
	}
	// What is an identity once its own symbols are put in says nothing then.
	inM := j.spelt(m.zero(), inL.Symbols())
	return !j.board.vanishes(j.spelt(inM, nil)) && j.sameZero(inL, inM) || j.throughGiven(l, m)
}

// own replaces the symbols of e that are not among names by what the lines say
// that they are, each by the first line that names it.
func (j *judge) own(e expr.Expr, names []string) expr.Expr {
	for i, s := range slices.Backward(j.board.standing) {
		if s.line == 0 || !s.equation() || e.Size() > maxSize {
			continue
		}
		zero := s.zero()
		for _, name := range zero.Symbols() {
			older := slices.ContainsFunc(j.board.standing[:i], func(o standing) bool { return o.zero().Has(name) })
			if older || base(name) != name || j.c.declared[name] || slices.Contains(names, name) {
				continue
			}
			v, _, ok := j.board.solveFor(zero, name)
			if !ok || v.Has(name) {
				continue
			}
			values := map[string]expr.Expr{name: v}
			for k, rate := 1, v; k <= maxOrder; k++ {
				rate = rate.TimeDiff(j.board.moves()...)
				values[name+strings.Repeat("'", k)] = rate
			}
			e = e.Subs(values)
			break
		}
	}
	return e
}

// unnamed reports whether l says what m says of a symbol alone on a side, with
// its definition written in its place: with x = A cos u + A cos v, a line
// A cos u + A cos v = … says it of x. A sum may be written with a factor, as
// cos u + cos v = … .
func (j *judge) unnamed(l, m link) bool {
	for _, side := range [2]expr.Expr{m.a, m.b} {
		if side.Kind() != expr.KindSymbol {
			continue
		}
		name := side.Name()
		d, ok := j.board.definitions[base(name)]
		if !ok || l.zero().Has(name) {
			continue
		}
		for range primes(name) {
			d = d.TimeDiff(j.board.moves()...)
		}
		spelt := map[string]expr.Expr{name: d}
		in := link{m.a.Subs(spelt), m.b.Subs(spelt), m.relation}
		if j.board.vanishes(in.zero()) { // a derivative worked out, for one
			return j.board.vanishes(l.zero()) && (j.sameValue(l.a, in.a) && j.sameValue(l.b, in.b) || j.sameValue(l.a, in.b) && j.sameValue(l.b, in.a)) && j.sameShape(l, in)
		}
		if (j.multiple(l.a, d) || j.multiple(l.b, d)) && j.sameZero(l.zero(), in.zero()) {
			return true
		}
	}
	return false
}

// sameShape reports whether an identity writes the same two sides: once all is
// multiplied out, where that tells them apart.
func (j *judge) sameShape(l, m link) bool {
	a, b, c, d := expand(l.a), expand(l.b), expand(m.a), expand(m.b)
	return a.Equal(c) && b.Equal(d) || a.Equal(d) && b.Equal(c)
}

// multiple reports whether e is d, or, where d is a sum, d times a factor that is
// not zero.
func (j *judge) multiple(e, d expr.Expr) bool {
	if e.IsZero() || len(e.Symbols()) == 0 || !j.board.work.spend(perLink) {
		return false
	}
	if j.sameValue(e, d) {
		return true
	}
	d = j.board.reduce(expand(d))
	return d.Kind() == expr.KindSum && j.sameZero(e, d) && j.sameZero(d, e)
}

// throughGiven reports whether l and m say the same once one given equation,
// which has no symbol alone on a side, is put into m for a symbol that l does not
// have, and brings no new symbol in: with k s = m g, g/s = … says what k/m = …
// does. More than that is a step that has still to be done.
func (j *judge) throughGiven(l, m link) bool {
	for _, g := range j.c.given {
		if !g.equation() || g.a.Kind() == expr.KindSymbol || g.b.Kind() == expr.KindSymbol || j.means(l, g, false) || j.means(m, g, false) {
			continue
		}
		zero := g.zero()
		for _, name := range zero.Symbols() {
			if l.zero().Has(name) || !m.zero().Has(name) || primes(name) > 0 {
				continue
			}
			v, _, ok := j.board.solveFor(zero, name)
			brings := func(n string) bool { return !m.zero().Has(n) }
			if !ok || v.Has(name) || v.Size() > maxSize || slices.ContainsFunc(v.Symbols(), brings) {
				continue
			}
			at := map[string]expr.Expr{name: v}
			if j.sameZero(l.zero(), m.zero().Subs(at)) {
				return true
			}
		}
	}
	return false
}

func (j *judge) sameValue(x, y expr.Expr) bool {
	return equal.Compare(x, y, j.board.options(nil)).Verdict == equal.Same
}

// spelt replaces the symbols of e that are not among names by their
// definitions.
func (j *judge) spelt(e expr.Expr, names []string) expr.Expr {
	const deep = 8
	for range deep {
		values := map[string]expr.Expr{}
		for _, name := range e.Symbols() {
			if slices.Contains(names, name) {
				continue
			}
			d, ok := j.board.definitions[base(name)]
			if !ok {
				continue
			}
			for range primes(name) {
				d = d.TimeDiff(j.board.moves()...)
			}
			values[name] = d
		}
		if len(values) == 0 || e.Size() > maxSize {
			break
		}
		e = e.Subs(values)
	}
	return e
}

// sameZero reports whether x and y vanish together: y is solved for a symbol,
// and x has a simple zero there.
func (j *judge) sameZero(x, y expr.Expr) bool {
	if x.IsZero() || y.IsZero() || x.Size() > maxSize || y.Size() > maxSize {
		return false
	}
	b := j.board
	if b.vanishes(x) || b.vanishes(y) {
		return false
	}
	x, y = b.reduce(x), b.reduce(y)
	q := equation{zero: y}
	names := y.Symbols()
	slices.SortStableFunc(names, func(a, c string) int { return b.cost(q, a, false) - b.cost(q, c, false) })
	tried := 0
	for _, name := range names {
		v, _, ok := b.solveFor(y, name)
		if !ok {
			continue
		}
		if tried++; tried > 2 {
			break
		}
		if !x.Has(name) {
			return false
		}
		at := map[string]expr.Expr{name: v}
		if !b.vanishes(x.Subs(at)) {
			continue
		}
		if !b.vanishes(x.Diff(name).Subs(at)) {
			return true
		}
	}
	if tried == 0 { // no symbol to solve for: the same up to a number
		o := b.options(nil)
		return equal.Compare(x, y, o).Verdict == equal.Same || equal.Compare(x, expr.Neg(y), o).Verdict == equal.Same || b.sameRoots(x, y)
	}
	return false
}

// sameRoots reports whether x and y, which cannot be solved for a symbol, are the
// same up to a factor that is a product of powers of symbols: then both have the
// same logarithmic derivative less one that such a factor has.
func (b *board) sameRoots(x, y expr.Expr) bool {
	const most = 300 // nodes; a result has some fifty
	if x.Size() > most || y.Size() > most || !b.work.spend(perLink) {
		return false
	}
	ratio := expr.Div(x, y)
	for _, name := range ratio.Symbols() {
		// d ln(x/y)/d ln s is a number for each symbol s of such a factor.
		rate := expr.Mul(expr.Sym(name), expr.Sub(expr.Div(x.Diff(name), x), expr.Div(y.Diff(name), y)))
		whole := false
		for n := int64(-4); n <= 4 && !whole; n++ {
			whole = b.vanishes(expr.Sub(rate, expr.Int(n)))
		}
		if !whole {
			return false
		}
	}
	return true
}

// sameCondition reports whether two inequalities hold at the same points.
func (j *judge) sameCondition(l, m link) bool {
	x, ok := condition(l)
	y, ok2 := condition(m)
	if !ok || !ok2 {
		return false
	}
	o := j.board.options(nil)
	implies := func(a, b expr.Expr) bool {
		o := o
		o.Where = []expr.Expr{a}
		v, _ := inequality(b, expr.Expr{}, ">", o)
		return v == yes
	}
	return implies(x, y) && implies(y, x) && implies(expr.Neg(x), expr.Neg(y))
}

func (b *board) moves() []string {
	var out []string
	for name := range b.varies {
		out = append(out, name)
	}
	slices.Sort(out)
	return out
}
