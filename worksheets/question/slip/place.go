package slip

import (
	"math"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/quantity"
)

// place changes one part of the key.
func (s *search) place(i int) {
	n := &s.p.parts[i]
	isRoot := n.parent < 0
	if !isRoot {
		switch up := &s.p.parts[n.parent]; up.kind {
		case expr.KindSum:
			s.term(i, n)
		case expr.KindProduct:
			s.factor(i, n)
		}
	}
	switch n.kind {
	case expr.KindSum:
		s.sum(i, n)
	case expr.KindProduct:
		s.product(i, n)
	case expr.KindPower:
		s.power(i, n)
	case expr.KindCall:
		s.call(i, n)
	case expr.KindSymbol:
		s.letter(i, n)
	case expr.KindConstant:
		s.note(32, Found{Class: PiPower}, i, each(func(j int) float64 { return 2 * n.v[j] }))
		s.note(32, Found{Class: PiPower}, i, each(func(j int) float64 { return n.v[j] / 2 }))
	}
	if !isRoot && n.kind != expr.KindNumber && n.kind != expr.KindConstant {
		inverted := 34
		if s.p.parts[n.parent].kind == expr.KindProduct && (n.kind == expr.KindSymbol || n.kind == expr.KindPower) {
			inverted = 28
		}
		s.change(inverted, Found{Class: PartInverted}, i, func(x float64) float64 { return 1 / x })
		s.change(35, Found{Class: SquareMissing}, i, func(x float64) float64 { return x * x })
		s.change(35, Found{Class: RootMissing}, i, math.Sqrt)
	}
}

// change puts f of a part in its place.
func (s *search) change(rank int, found Found, i int, f func(x float64) float64) {
	v := &s.p.parts[i].v
	s.note(rank, found, i, each(func(j int) float64 { return f(v[j]) }))
}

// only returns the symbol that stands in part i and nowhere else in the key,
// or else the one symbol of the part, or "".
func (s *search) only(i int) string {
	names := s.p.parts[i].e.Symbols()
	for _, name := range names {
		if s.f.uncertainty(name) {
			return name
		}
	}
	for _, name := range names {
		inside := occurrences(s.p.parts[i].e, name)
		if inside == occurrences(s.f.key, name) {
			return name
		}
	}
	if len(names) == 1 {
		return names[0]
	}
	return ""
}

func occurrences(e expr.Expr, name string) int {
	if e.Kind() == expr.KindSymbol {
		if e.Name() == name {
			return 1
		}
		return 0
	}
	if !e.Has(name) {
		return 0
	}
	n := 0
	for _, a := range e.Args() {
		n += occurrences(a, name)
	}
	return n
}

// term changes one term of a sum.
func (s *search) term(i int, n *part) {
	name := s.only(i)
	missing := Found{Class: TermMissing, A: name}
	rank := 10
	switch {
	case n.kind == expr.KindNumber && math.Abs(n.num) == 1:
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
	if s.p.parts[n.parent].parent < 0 && len(up.args) == 2 && s.f.o.Asked == quantity.Length {
		// A difference of positions of which only one is given.
		s.note(9, Found{Class: Datum}, n.parent, each(func(j int) float64 { return math.Abs(n.v[j]) }))
		return
	}
	if len(up.args) > 2 {
		s.note(36, Found{Class: TermMissing}, n.parent, &n.v)
	}
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
		if s.f.dim(name) == quantity.MomentOfInertia {
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

// factor changes one factor of a product.
func (s *search) factor(i int, n *part) {
	name := s.only(i)
	class, rank := FactorMissing, 26
	switch n.kind {
	case expr.KindNumber:
		s.constant(i, n)
		return
	case expr.KindConstant:
		class, rank = FactorPi, 21
	case expr.KindCall:
		class, rank = FunctionLost, 12
		if n.fn == expr.FnLog || n.fn == expr.FnExp {
			class = LogLost
		}
	case expr.KindPower:
		if s.p.parts[n.args[0]].kind == expr.KindCall {
			class, rank = FunctionLost, 12
		}
	}
	s.change(rank, Found{Class: class, A: name}, i, func(float64) float64 { return 1 })
}

// constant changes a number that multiplies.
func (s *search) constant(i int, n *part) {
	changed := Found{Class: ConstantChanged, A: s.only(n.parent)}
	if s.spread(n.parent) {
		s.change(5, Found{Class: Sensitivity, A: changed.A}, i, func(float64) float64 { return 1 })
		s.change(5, Found{Class: Sensitivity, A: changed.A}, i, math.Sqrt)
	}
	for _, to := range shares {
		s.change(29, changed, i, func(x float64) float64 { return x * to })
		s.change(29, changed, i, func(x float64) float64 { return x / to })
	}
	s.change(24, changed, i, func(float64) float64 { return 1 })
	s.change(24, changed, i, func(x float64) float64 { return 2 * x })
	s.change(24, changed, i, func(x float64) float64 { return x / 2 })
	s.change(28, changed, i, math.Sqrt)
	s.change(28, changed, i, func(x float64) float64 { return x * x })
	inverted := 19
	if up := s.p.parts[n.parent].parent; up >= 0 && s.p.parts[up].kind == expr.KindSum {
		inverted = 30 // m l²/2 for 2 m l² as a term is no fraction turned over
	}
	s.change(inverted, Found{Class: PartInverted}, i, func(x float64) float64 { return 1 / x })
	if c := n.num; c == math.Trunc(c) && c > 1 && c < 7 {
		up := s.p.parts[n.parent].v
		s.note(26, Found{Class: Exponent, A: changed.A}, n.parent, each(func(j int) float64 { return math.Pow(up[j]/c, c) }))
	}
}

// shares are ratios by which a number inside a formula may be off.
var shares = []float64{3, 4, 5, 6, 8, 10, 12, 3. / 2, 4. / 3, 5. / 2, 5. / 3, math.Pi, 2 * math.Pi}

// spread reports whether part i is a square that stands, as a term among
// others, under a root: the law of propagation of uncertainty.
func (s *search) spread(i int) bool {
	sum := s.p.parts[i].parent
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
	s.note(15, Found{Class: SquareMissing}, i, each(roots))
	s.note(15, Found{Class: SquareMissing}, i, each(squares))
	if len(terms) != 2 {
		return
	}
	x, y := terms[0], terms[1]
	s.note(14, Found{Class: SquareOfSum}, i, each(func(j int) float64 {
		d := math.Sqrt(math.Abs(x.v[j])) - math.Sqrt(math.Abs(y.v[j]))
		return d * d
	}))
	if x.kind == expr.KindNumber && math.Abs(x.num) == 1 && hasCosine(y.e) {
		s.note(12, Found{Class: HeightDatum}, i, each(func(j int) float64 { return math.Abs(y.v[j]) }))
	}
	a, b := s.only(n.args[0]), s.only(n.args[1])
	both := func(j int) float64 { return math.Abs(x.v[j]) + math.Abs(y.v[j]) }
	if x.v[0]*y.v[0] < 0 {
		s.note(9, Found{Class: MeanForDifference, A: a, B: b}, i, each(func(j int) float64 { return both(j) / 2 }))
	}
	s.note(22, Found{Class: MeanForDifference, A: a, B: b}, i, each(func(j int) float64 { return (x.v[j] + y.v[j]) / 2 }))
	s.note(7, Found{Class: s.join()}, i, each(func(j int) float64 { return x.v[j] * y.v[j] / (x.v[j] + y.v[j]) }))
}

// hasCosine reports whether e is a cosine, with or without a number.
func hasCosine(e expr.Expr) bool {
	_, rest := e.Coefficient()
	return rest.Function() == expr.FnCos
}

// product changes what belongs to a product as a whole.
func (s *search) product(i int, n *part) {
	s.ratios(i, n)
	if first := &s.p.parts[n.args[0]]; first.kind == expr.KindNumber && n.parent >= 0 {
		c := first.num // the rest upside down: 2 m/k for 2 k/m
		s.change(28, Found{Class: PartInverted}, i, func(x float64) float64 { return c * c / x })
	}
	for _, a := range n.args {
		f := &s.p.parts[a]
		sum, q := f, 1.0
		if f.kind == expr.KindPower && s.p.parts[f.args[1]].kind == expr.KindNumber {
			sum, q = &s.p.parts[f.args[0]], s.p.parts[f.args[1]].num
		}
		if sum.kind != expr.KindSum {
			continue
		}
		for _, t := range sum.args {
			term := &s.p.parts[t]
			if q == 1 || q == -1 {
				// The rest multiplies (or is divided by) one term only.
				s.note(13, Found{Class: BracketLost}, i, each(func(j int) float64 {
					rest := n.v[j] / f.v[j]
					if q < 0 {
						return rest/term.v[j] + sum.v[j] - term.v[j]
					}
					return rest*term.v[j] + sum.v[j] - term.v[j]
				}))
				s.note(13, Found{Class: BracketLost}, i, each(func(j int) float64 {
					rest := n.v[j] / f.v[j]
					if q < 0 {
						return rest / term.v[j]
					}
					return rest*(sum.v[j]-term.v[j]) + term.v[j]
				}))
			}
		}
		if len(sum.args) == 2 {
			s.reduced(i, n, sum, q)
		}
	}
}

// reciprocals reports whether all terms of a sum are reciprocals.
func (s *search) reciprocals(sum *part) bool {
	for _, t := range sum.args {
		n := &s.p.parts[t]
		if n.kind != expr.KindPower || s.p.parts[n.args[1]].num != -1 {
			return false
		}
	}
	return true
}

// join is the class of sums for sums of reciprocals, which has words of its own
// for springs.
func (s *search) join() Class {
	if s.f.o.Asked == quantity.Stiffness {
		return SpringsJoin
	}
	return SeriesParallel
}

// ratios takes a squared ratio, such as (a/l)², to the first power.
func (s *search) ratios(i int, n *part) {
	for _, a := range n.args {
		for _, b := range n.args {
			x, y := &s.p.parts[a], &s.p.parts[b]
			if x.kind != expr.KindPower || y.kind != expr.KindPower {
				continue
			}
			e := s.p.parts[x.args[1]].num
			if e < 2 || s.p.parts[y.args[1]].num != -e {
				continue
			}
			top, bottom := &s.p.parts[x.args[0]], &s.p.parts[y.args[0]]
			s.note(14, Found{Class: SquareMissing}, i, each(func(j int) float64 { return n.v[j] * bottom.v[j] / top.v[j] }))
		}
	}
}

// reduced exchanges x y/(x + y) and x + y inside a product.
func (s *search) reduced(i int, n, sum *part, q float64) {
	x, y := &s.p.parts[sum.args[0]], &s.p.parts[sum.args[1]]
	found := 0
	for _, a := range n.args {
		f := &s.p.parts[a]
		base, e := f, 1.0
		if f.kind == expr.KindPower && s.p.parts[f.args[1]].kind == expr.KindNumber {
			base, e = &s.p.parts[f.args[0]], s.p.parts[f.args[1]].num
		}
		if e == -q && (base.e.Equal(x.e) || base.e.Equal(y.e) || base.e.Equal(expr.Neg(y.e)) || base.e.Equal(expr.Neg(x.e))) {
			found++
		}
	}
	if found != 2 {
		return
	}
	class := TotalForReduced
	if len(n.args) == 3 && i == s.p.root() {
		class = s.join()
	}
	s.note(6, Found{Class: class}, i, each(func(j int) float64 {
		total := x.v[j] + y.v[j]
		mu := math.Abs(x.v[j]*y.v[j]) / total
		return n.v[j] * math.Pow(mu, q) * math.Pow(total, -q)
	}))
	for _, t := range []*part{x, y} {
		s.note(18, Found{Class: TotalForReduced}, i, each(func(j int) float64 {
			mu := x.v[j] * y.v[j] / (x.v[j] + y.v[j])
			return n.v[j] * math.Pow(mu, q) * math.Pow(t.v[j], -q)
		}))
	}
}

// power changes a power.
func (s *search) power(i int, n *part) {
	base, exponent := &s.p.parts[n.args[0]], &s.p.parts[n.args[1]]
	if exponent.kind != expr.KindNumber {
		return
	}
	e := exponent.num
	name := s.only(n.args[0])
	to := func(rank int, class Class, p float64) {
		s.note(rank, Found{Class: class, A: name}, i, each(func(j int) float64 { return power(base.v[j], p) }))
	}
	switch math.Abs(e) {
	case 0.5:
		to(12, RootMissing, 2*e)
		to(22, RootMissing, -2*e)
	case 1:
		to(26, RootMissing, e/2)
		to(26, SquareMissing, 2*e)
	case 2:
		to(12, SquareMissing, e/2)
	}
	if base.kind == expr.KindConstant {
		to(11, PiPower, e-1)
		to(11, PiPower, e+1)
	}
	if e != 1 && e != -1 {
		to(13, PartInverted, -e)
	}
	for _, p := range []float64{e + 1, e - 1} {
		if p != 0 {
			to(24, Exponent, p)
		}
	}
	if base.kind == expr.KindSum {
		class := RootOfSum
		if e == -1 && s.reciprocals(base) {
			class = s.join()
		}
		s.note(13, Found{Class: class}, i, each(func(j int) float64 {
			var v float64
			for _, t := range base.args {
				x := s.p.parts[t].v[j]
				v += math.Copysign(power(math.Abs(x), e), x)
			}
			return v
		}))
		if e == 2 {
			s.note(13, Found{Class: RootOfSum}, i, each(func(j int) float64 {
				var v float64
				for _, t := range base.args {
					v += s.p.parts[t].v[j] * s.p.parts[t].v[j]
				}
				return v
			}))
		}
	}
	if base.kind == expr.KindProduct && math.Abs(e) == 0.5 {
		for _, a := range base.args {
			f := &s.p.parts[a]
			s.note(25, Found{Class: PartialRoot}, i, each(func(j int) float64 { return n.v[j] * power(f.v[j], e) }))
		}
	}
}

// call changes a function.
func (s *search) call(i int, n *part) {
	if len(n.args) != 1 {
		return
	}
	x := &s.p.parts[n.args[0]]
	name := s.only(n.args[0])
	put := func(rank int, class Class, f func(x float64) float64) {
		s.note(rank, Found{Class: class, A: name}, i, each(func(j int) float64 { return f(x.v[j]) }))
	}
	for _, family := range families {
		if !contains(family, n.fn) {
			continue
		}
		for _, other := range family {
			if other != n.fn {
				put(7, FunctionSwap, func(x float64) float64 { return apply(other, x) })
			}
		}
	}
	lost := FunctionLost
	if n.fn == expr.FnLog || n.fn == expr.FnExp {
		lost = LogLost
	}
	put(14, lost, func(x float64) float64 { return x })
	put(14, PartInverted, func(x float64) float64 { return apply(n.fn, 1/x) })
	put(8, Degrees, func(x float64) float64 { return apply(n.fn, x*math.Pi/180) })
	put(8, Degrees, func(x float64) float64 { return apply(n.fn, x*180/math.Pi) })
	put(18, HalfWhole, func(x float64) float64 { return apply(n.fn, 2*x) })
	put(18, HalfWhole, func(x float64) float64 { return apply(n.fn, x/2) })
	put(16, TermSign, func(x float64) float64 { return apply(n.fn, -x) })
	if n.fn == expr.FnLog {
		put(10, LogBase, math.Log10)
		put(26, LogBase, math.Log2)
	}
	if n.fn == expr.FnCos {
		s.change(12, Found{Class: HeightDatum}, i, func(v float64) float64 { return 1 - v })
	}
}

// families are functions that are taken for one another.
var families = [][]expr.Function{
	{expr.FnSin, expr.FnCos, expr.FnTan},
	{expr.FnAsin, expr.FnAcos, expr.FnAtan},
	{expr.FnSinh, expr.FnCosh, expr.FnTanh},
	{expr.FnSin, expr.FnSinh}, {expr.FnCos, expr.FnCosh}, {expr.FnTan, expr.FnTanh, expr.FnAtan},
}

func contains(family []expr.Function, f expr.Function) bool {
	for _, g := range family {
		if g == f {
			return true
		}
	}
	return false
}

// letter puts another symbol in one place only.
func (s *search) letter(i int, n *part) {
	name := n.e.Name()
	for k, other := range s.f.names {
		if other == name || !s.f.sameKind(name, other) {
			continue
		}
		s.note(23, Found{Class: SymbolSwap, A: name, B: other}, i, &s.p.at[k])
	}
	s.change(30, Found{Class: FactorMissing, A: name}, i, func(float64) float64 { return 1 })
	if s.f.round(name) {
		s.change(16, Found{Class: RadiusDiameter, A: name}, i, func(x float64) float64 { return 2 * x })
		s.change(16, Found{Class: RadiusDiameter, A: name}, i, func(x float64) float64 { return x / 2 })
	}
}
