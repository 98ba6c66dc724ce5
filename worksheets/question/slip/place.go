package slip

import (
	"math"

	"counterpoise/mechanics/expr"
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
		switch term := s.p.parts[n.parent].kind == expr.KindSum; {
		case s.squared(n) && term:
			s.change(15, Found{Class: SquareMissing, A: s.only(i)}, i, func(x float64) float64 { return math.Copysign(math.Sqrt(math.Abs(x)), x) })
		case s.squared(n):
			s.change(34, Found{Class: SquareMissing}, i, math.Sqrt)
		default:
			s.change(35, Found{Class: RootMissing}, i, math.Sqrt)
		}
	}
}

// squared reports whether a part is an even power, or a product with one.
func (s *search) squared(n *part) bool {
	if _, e, ok := s.exponentOf(n); ok {
		return math.Mod(e, 2) == 0
	}
	if n.kind == expr.KindProduct {
		for _, a := range n.args {
			if s.squared(&s.p.parts[a]) {
				return true
			}
		}
	}
	return false
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
	own := ""
	for _, name := range names {
		if own == "" || own == "g" { // of several, g says least
			if occurrences(s.p.parts[i].e, name) == occurrences(s.f.key, name) {
				own = name
			}
		}
	}
	if own != "" {
		return own
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

// letter puts another symbol in one place only.
func (s *search) letter(i int, n *part) {
	name := n.e.Name()
	for k, other := range s.f.names {
		if other == name || !s.f.sameKind(name, other) {
			continue
		}
		s.note(23, Found{Class: SymbolSwap, A: name, B: other}, i, &s.p.at[k])
		if occurrences(s.f.key, name) > 1 { // or else it is the same as everywhere
			s.note(29, Found{Class: SymbolSum, A: name, B: other}, i, each(func(j int) float64 { return n.v[j] + s.p.at[k][j] }))
			s.note(29, Found{Class: SymbolSum, A: name, B: other}, i, each(func(j int) float64 { return n.v[j] - s.p.at[k][j] }))
		}
	}
	s.change(30, Found{Class: FactorMissing, A: name}, i, func(float64) float64 { return 1 })
	bare := n.parent < 0 || s.p.parts[n.parent].coefficient == 1 // or else its number may be what makes a radius of it
	if s.f.round(name) && !(bare && occurrences(s.f.key, name) == 1 && math.Abs(s.degree(n.symbol)) == 0.5) {
		rank := 16
		if n.parent == s.p.root() && occurrences(s.f.key, name) > 1 {
			rank = 22 // after a factor 2 of the whole
		}
		s.change(rank, Found{Class: RadiusDiameter, A: name}, i, func(x float64) float64 { return 2 * x })
		s.change(rank, Found{Class: RadiusDiameter, A: name}, i, func(x float64) float64 { return x / 2 })
	}
}
