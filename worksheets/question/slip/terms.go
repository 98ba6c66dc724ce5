package slip

import (
	"math"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/quantity"
)

// term changes one term of a sum.
func (s *search) term(i int, n *part) {
	name := s.only(i)
	missing := Found{Class: TermMissing, A: name}
	rank := 10
	switch {
	case n.kind == expr.KindNumber && math.Abs(n.num) == 1 && s.counts(n.parent):
		missing, rank = Found{Class: OffByOne}, 4
	case s.inertia(n.e):
		missing, rank = s.inertiaTerm(i, n), 4
	}
	s.change(rank, missing, i, func(float64) float64 { return 0 })
	s.change(11, Found{Class: TermSign, A: name}, i, func(x float64) float64 { return -x })
	doubled, halved, shift := TermDoubled, TermHalved, 0
	if _, rest := n.e.Coefficient(); rest.Kind() == expr.KindSymbol {
		doubled, halved, shift = HalfWhole, HalfWhole, 1 // t/2 in R - t/2
	}
	s.change(13+shift, Found{Class: doubled, A: name}, i, func(x float64) float64 { return 2 * x })
	s.change(13+shift, Found{Class: halved, A: name}, i, func(x float64) float64 { return x / 2 })
	up := &s.p.parts[n.parent]
	if len(up.args) > 2 {
		s.note(36, Found{Class: TermMissing}, n.parent, &n.v)
		return
	}
	if x, y := s.p.parts[up.args[0]].v[0], s.p.parts[up.args[1]].v[0]; x*y < 0 {
		// A difference of which only one is given.
		alone, rank := Found{Class: TermMissing, A: s.only(up.args[0] + up.args[1] - i)}, 12
		if up.parent < 0 && s.f.o.Asked == quantity.Length {
			alone, rank = Found{Class: Datum}, 9
		}
		s.note(rank, alone, n.parent, each(func(j int) float64 { return math.Abs(n.v[j]) }))
	}
}

// counts reports whether a sum is that of a letter without a unit and a
// number, as n - 1.
func (s *search) counts(sum int) bool {
	args := s.p.parts[sum].args
	if len(args) != 2 {
		return false
	}
	for _, a := range args {
		if _, rest := s.p.parts[a].e.Coefficient(); rest.Kind() == expr.KindSymbol && s.f.dim(rest.Name()).IsOne() {
			return true
		}
	}
	return false
}

// inertia reports whether a part is a moment of inertia.
func (s *search) inertia(e expr.Expr) bool {
	d, ok := s.f.dimension(e)
	return ok && d == quantity.MomentOfInertia
}

// inertiaTerm says which part of I + m d² is missing: the body's own, or the
// one for the distance of the axes.
func (s *search) inertiaTerm(i int, n *part) Found {
	for _, name := range n.e.Symbols() {
		if s.f.dim(name) == quantity.MomentOfInertia && occurrences(n.e, name) == occurrences(s.f.key, name) {
			return Found{Class: PointMass, A: name}
		}
	}
	for _, other := range s.p.parts[n.parent].args {
		if other == i {
			continue
		}
		for _, name := range s.p.parts[other].e.Symbols() {
			if s.f.dim(name) == quantity.MomentOfInertia {
				return Found{Class: ParallelAxis}
			}
		}
	}
	return Found{Class: TermMissing, A: s.only(i)}
}

// spread reports whether a part, so many levels above part i, is a sum under a
// root whose terms all have uncertainties: the law of their propagation.
func (s *search) spread(i, above int) bool {
	sum := i
	for range above {
		if sum = s.p.parts[sum].parent; sum < 0 {
			return false
		}
	}
	if sum < 0 || s.p.parts[sum].kind != expr.KindSum || s.p.parts[sum].parent < 0 {
		return false
	}
	root := &s.p.parts[s.p.parts[sum].parent]
	return root.kind == expr.KindPower && s.p.parts[root.args[1]].num == 0.5 && s.uncertainties(s.p.parts[sum].e)
}

// uncertainties reports whether every term has a symbol for an uncertainty.
func (s *search) uncertainties(sum expr.Expr) bool {
	for _, t := range sum.Args() {
		found := false
		for _, name := range t.Symbols() {
			found = found || s.f.uncertainty(name)
		}
		if !found {
			return false
		}
	}
	return true
}

// sum changes the way in which terms are added.
func (s *search) sum(i int, n *part) {
	terms := make([]*part, len(n.args))
	for k, a := range n.args {
		terms[k] = &s.p.parts[a]
	}
	fold := func(each2 func(t *part, j int) float64) func(j int) float64 {
		return func(j int) float64 {
			var v float64
			for _, t := range terms {
				v += each2(t, j)
			}
			return v
		}
	}
	roots := fold(func(t *part, j int) float64 { return math.Sqrt(t.v[j]) })
	squares := fold(func(t *part, j int) float64 { return t.v[j] * t.v[j] })
	s.note(8, Found{Class: SquareOfSum}, i, each(func(j int) float64 { return roots(j) * roots(j) }))
	signed := fold(func(t *part, j int) float64 { return math.Copysign(math.Sqrt(math.Abs(t.v[j])), t.v[j]) })
	s.note(8, Found{Class: SquareOfSum}, i, each(func(j int) float64 { return signed(j) * signed(j) }))
	s.note(14, Found{Class: SquareOfSum}, i, each(func(j int) float64 { return math.Sqrt(squares(j)) }))
	s.note(15, Found{Class: SquareMissing}, i, each(fold(func(t *part, j int) float64 {
		return math.Copysign(math.Sqrt(math.Abs(t.v[j])), t.v[j])
	})))
	s.note(15, Found{Class: SquareMissing}, i, each(squares))
	s.note(31, Found{Class: PartInverted}, i, each(fold(func(t *part, j int) float64 { return t.coefficient * t.coefficient / t.v[j] })))
	for _, t := range terms { // m (L + d)²/12 for m L²/12 + m d²
		if t.coefficient != 1 {
			c := t.coefficient
			s.note(20, Found{Class: SquareOfSum}, i, each(func(j int) float64 {
				bare := fold(func(t *part, j int) float64 { return math.Sqrt(t.v[j] / t.coefficient) })(j)
				return c * bare * bare
			}))
		}
	}
	for _, e := range []float64{3, 4} { // (D - d)⁴ for D⁴ - d⁴
		if s.powers(n, e) {
			s.note(8, Found{Class: SquareOfSum}, i, each(func(j int) float64 {
				return math.Pow(fold(func(t *part, j int) float64 {
					return t.coefficient * math.Pow(t.v[j]/t.coefficient, 1/e)
				})(j), e)
			}))
		}
	}
	s.brackets(i, n)
	s.products(i, n)
	s.coefficients(i, n)
	s.relative(i, n)
	s.pairs(i, n)
	if len(terms) != 2 {
		return
	}
	x, y := terms[0], terms[1]
	s.note(14, Found{Class: SquareOfSum}, i, each(func(j int) float64 {
		d := math.Sqrt(math.Abs(x.v[j])) - math.Sqrt(math.Abs(y.v[j]))
		return d * d
	}))
	if x.kind == expr.KindNumber && math.Abs(x.num) == 1 && y.e.Symbols() != nil {
		if _, rest := y.e.Coefficient(); rest.Function() == expr.FnExp {
			s.note(12, Found{Class: Remainder}, i, each(func(j int) float64 { return math.Abs(y.v[j]) }))
		}
	}
	if x.kind == expr.KindNumber && math.Abs(x.num) == 1 && hasCosine(y.e) {
		s.note(12, Found{Class: HeightDatum}, i, each(func(j int) float64 { return math.Abs(y.v[j]) }))
		if s.f.o.Asked == quantity.Length && math.Abs(y.coefficient) == 1 { // sin q for 1 - cos q
			s.note(13, Found{Class: FunctionSwap, A: s.only(n.args[1])}, i, each(func(j int) float64 { return math.Sqrt(1 - y.v[j]*y.v[j]) }))
		}
	}
	a, b := s.only(n.args[0]), s.only(n.args[1])
	both := func(j int) float64 { return math.Abs(x.v[j]) + math.Abs(y.v[j]) }
	if x.v[0]*y.v[0] < 0 {
		s.note(9, Found{Class: MeanForDifference, A: a, B: b}, i, each(func(j int) float64 { return both(j) / 2 }))
	}
	s.note(22, Found{Class: MeanForDifference, A: a, B: b}, i, each(func(j int) float64 { return (x.v[j] + y.v[j]) / 2 }))
	s.note(7, Found{Class: s.join()}, i, each(func(j int) float64 { return x.v[j] * y.v[j] / (x.v[j] + y.v[j]) }))
}

// powers reports whether every term of a sum is a power with this exponent, or
// its negative.
func (s *search) powers(sum *part, exponent float64) bool {
	for _, a := range sum.args {
		t := &s.p.parts[a]
		if t.kind == expr.KindProduct && len(t.args) == 2 && math.Abs(t.coefficient) == 1 {
			t = &s.p.parts[t.args[1]]
		}
		if _, e, ok := s.exponentOf(t); !ok || e != exponent {
			return false
		}
	}
	return true
}

// hasCosine reports whether e is a cosine, with or without a number.
func hasCosine(e expr.Expr) bool {
	_, rest := e.Coefficient()
	return rest.Function() == expr.FnCos
}

// join is the class of sums for sums of reciprocals, which has words of its own
// for springs.
func (s *search) join() Class {
	if s.f.o.Asked == quantity.Stiffness {
		return SpringsJoin
	}
	return SeriesParallel
}

// brackets applies what one term is multiplied or divided by to all of them:
// (a + b)/2 for a + b/2.
func (s *search) brackets(i int, n *part) {
	for _, a := range n.args {
		t := &s.p.parts[a]
		if t.kind != expr.KindProduct {
			continue
		}
		for _, b := range t.args {
			f := &s.p.parts[b]
			if _, e, ok := s.exponentOf(f); f.kind != expr.KindNumber && !(ok && e < 0) || f.kind == expr.KindNumber && f.num < 0 {
				continue
			}
			s.note(16, Found{Class: BracketLost}, i, each(func(j int) float64 { return f.v[j]*(n.v[j]-t.v[j]) + t.v[j] }))
		}
	}
}

// products takes a sum of products for a product of sums: what belongs to
// each piece is added up first, (m + M)(a + b)² for m a² + M b².
func (s *search) products(i int, n *part) {
	weights := make([]*part, len(n.args)) // the symbol of each term that is like the others'
	for k, a := range n.args {
		t := &s.p.parts[a]
		if t.kind != expr.KindProduct {
			return
		}
		for _, b := range t.args {
			f := &s.p.parts[b]
			if f.kind == expr.KindSymbol && (k == 0 && weights[0] == nil || k > 0 && s.f.sameKind(f.e.Name(), weights[0].e.Name())) {
				weights[k] = f
			}
		}
		if weights[k] == nil || k > 0 && weights[k].e.Equal(weights[0].e) {
			return
		}
	}
	note := func(class Class, rest func(t, w *part, j int) float64, whole func(sum float64) float64) {
		s.note(18, Found{Class: class}, i, each(func(j int) float64 {
			var total, others float64
			for k, a := range n.args {
				total += weights[k].v[j]
				others += rest(&s.p.parts[a], weights[k], j)
			}
			return total * whole(others)
		}))
	}
	note(SumOfProducts, func(t, w *part, j int) float64 { return t.v[j] / w.v[j] }, func(x float64) float64 { return x })
	note(SquareOfSum, func(t, w *part, j int) float64 { return math.Sqrt(t.v[j] / w.v[j]) }, func(x float64) float64 { return x * x })
}

// coefficients exchanges the numbers of two terms.
func (s *search) coefficients(i int, n *part) {
	class, rank := ConstantChanged, 24
	if s.spread(i, 0) {
		class, rank = Sensitivity, 17
	}
	for k, a := range n.args {
		for _, b := range n.args[:k] {
			x, y := &s.p.parts[a], &s.p.parts[b]
			if x.coefficient == y.coefficient || x.coefficient*y.coefficient < 0 {
				continue
			}
			s.note(rank, Found{Class: class}, i, each(func(j int) float64 {
				c := x.coefficient / y.coefficient
				return n.v[j] - x.v[j] - y.v[j] + x.v[j]/c + y.v[j]*c
			}))
		}
	}
}

// relative takes the uncertainties themselves where those divided, or
// multiplied, by other quantities belong.
func (s *search) relative(i int, n *part) {
	if !s.spread(i, 0) {
		return
	}
	inside := map[int]bool{}
	var mark func(i int)
	mark = func(i int) {
		inside[i] = true
		for _, a := range s.p.parts[i].args {
			mark(a)
		}
	}
	mark(i)
	of := make(map[*part]bool, len(inside))
	for k := range inside {
		of[&s.p.parts[k]] = true
	}
	for _, f := range []func(c float64) float64{func(float64) float64 { return 1 }, math.Sqrt} {
		s.note(6, Found{Class: Sensitivity}, i, each(func(j int) float64 {
			var v float64
			for _, a := range n.args {
				t := &s.p.parts[a]
				v += t.v[j] / t.coefficient * f(t.coefficient)
			}
			return v
		}))
	}
	s.noteParts(14, Found{Class: Relative}, func(p *part, _ int, _ func(int) float64) (float64, bool) {
		return 1, of[p] && p.kind == expr.KindSymbol && !s.f.uncertainty(p.e.Name())
	})
}

// networks tries the other ways to join two or three springs.
func (s *search) networks() {
	var k []int
	for i, name := range s.f.names {
		if s.f.key.Has(name) {
			if s.f.dim(name) != quantity.Stiffness {
				return
			}
			k = append(k, i)
		}
	}
	if s.f.o.Asked != quantity.Stiffness || len(k) != 3 {
		return
	}
	row := func(x, y float64) float64 { return x * y / (x + y) }
	side := func(x, y float64) float64 { return x + y }
	for _, outer := range []func(x, y float64) float64{row, side} {
		for _, inner := range []func(x, y float64) float64{row, side} {
			for n := range k {
				a, b, c := s.p.at[k[n]], s.p.at[k[(n+1)%3]], s.p.at[k[(n+2)%3]]
				s.noteWhole(19, Found{Class: SpringsJoin}, func(j int) float64 { return outer(a[j], inner(b[j], c[j])) })
			}
		}
	}
}

// pairs joins two of three or more terms as if their reciprocals added:
// k/(m + M) for k/m + k/M.
func (s *search) pairs(i int, n *part) {
	if len(n.args) < 3 || len(n.args) > 5 {
		return
	}
	for k, a := range n.args {
		for _, b := range n.args[:k] {
			x, y := &s.p.parts[a], &s.p.parts[b]
			s.note(12, Found{Class: RootOfSum}, i, each(func(j int) float64 {
				return n.v[j] - x.v[j] - y.v[j] + x.v[j]*y.v[j]/(x.v[j]+y.v[j])
			}))
		}
	}
}
