package slip

import (
	"math"
	"strings"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/quantity"
)

// together changes several places of the key in one way at once: who takes a
// formula for another of its kind does so throughout.
func (s *search) together() {
	s.powersTogether()
	s.rootsTogether()
	s.sumsTogether()
	s.callsTogether()
	s.symbolsTogether()
}

// noteParts keeps the key with some of its parts changed: change returns what
// a part is worth at point j instead, given what its arguments are worth there.
func (s *search) noteParts(rank int, found Found, change func(n *part, j int, arg func(i int) float64) (float64, bool)) {
	if s.most > 0 && rank > s.most {
		return
	}
	var r vec
	for j := range r {
		r[j] = s.p.over(j, func(n *part, arg func(int) float64) (float64, bool) { return change(n, j, arg) })
	}
	s.keep(rank, found, r)
}

// exponentOf returns the base of a power with a number as exponent, and that.
func (s *search) exponentOf(n *part) (base *part, exponent float64, ok bool) {
	if n.kind != expr.KindPower || s.p.parts[n.args[1]].kind != expr.KindNumber {
		return nil, 0, false
	}
	return &s.p.parts[n.args[0]], s.p.parts[n.args[1]].num, true
}

// powersTogether takes the squares of all symbols of one kind, or all squares,
// for first powers or cubes.
func (s *search) powersTogether() {
	type group struct {
		of     func(base *part) bool
		symbol string
	}
	groups := []group{{of: func(base *part) bool { return base.kind == expr.KindSymbol }}}
	groups = append(groups, group{of: func(base *part) bool { return base.kind == expr.KindSymbol || base.kind == expr.KindCall }})
	for i, name := range s.f.names {
		first := true
		for _, earlier := range s.f.names[:i] {
			first = first && !s.f.sameKind(earlier, name)
		}
		if first {
			groups = append(groups, group{of: func(base *part) bool {
				return base.kind == expr.KindSymbol && s.f.sameKind(base.e.Name(), name)
			}})
		}
	}
	for i := range s.p.parts { // all places of one symbol or function
		if base, e, ok := s.exponentOf(&s.p.parts[i]); ok && math.Abs(e) == 2 && base.kind != expr.KindSum && base.kind != expr.KindNumber {
			groups = append(groups, group{of: func(other *part) bool { return other.e.Equal(base.e) }, symbol: s.only(s.p.parts[i].args[0])})
		}
	}
	for _, g := range groups {
		for _, c := range []struct {
			from, to float64
			rank     int
			class    Class
		}{{2, 1, 7, SquareMissing}, {2, 3, 24, Exponent}, {3, 2, 24, Exponent}} {
			places := 0
			for i := range s.p.parts {
				if base, e, ok := s.exponentOf(&s.p.parts[i]); ok && math.Abs(e) == c.from && g.of(base) {
					places++
				}
			}
			if places < 2 {
				continue
			}
			s.noteParts(c.rank, Found{Class: c.class, A: g.symbol}, func(n *part, j int, arg func(int) float64) (float64, bool) {
				base, e, ok := s.exponentOf(n)
				if !ok || math.Abs(e) != c.from || !g.of(base) {
					return 0, false
				}
				return power(arg(n.args[0]), math.Copysign(c.to, e)), true
			})
		}
	}
}

// rootsTogether leaves out every square root.
func (s *search) rootsTogether() {
	root := func(n *part) bool {
		_, e, ok := s.exponentOf(n)
		return ok && math.Abs(e) == 0.5
	}
	places := 0
	for i := range s.p.parts {
		if root(&s.p.parts[i]) {
			places++
		}
	}
	if places < 2 {
		return
	}
	s.noteParts(12, Found{Class: RootMissing}, func(n *part, _ int, arg func(int) float64) (float64, bool) {
		if !root(n) {
			return 0, false
		}
		v := arg(n.args[0])
		return power(v, 2*s.p.parts[n.args[1]].num), true
	})
}

// sumsTogether takes every sum of squares for the square of a sum.
func (s *search) sumsTogether() {
	square := func(i int) bool { // a square, or a square with its number
		n := &s.p.parts[i]
		if n.kind == expr.KindProduct && len(n.args) == 2 && s.p.parts[n.args[0]].kind == expr.KindNumber {
			n = &s.p.parts[n.args[1]]
		}
		_, e, ok := s.exponentOf(n)
		return ok && e == 2
	}
	of := func(n *part) bool {
		if n.kind != expr.KindSum {
			return false
		}
		for _, t := range n.args {
			if !square(t) {
				return false
			}
		}
		return true
	}
	sums := 0
	for i := range s.p.parts {
		if of(&s.p.parts[i]) {
			sums++
		}
	}
	if sums < 2 {
		return
	}
	s.noteParts(9, Found{Class: SquareOfSum}, func(n *part, _ int, arg func(int) float64) (float64, bool) {
		if !of(n) {
			return 0, false
		}
		var v float64
		for _, t := range n.args {
			x := arg(t)
			v += math.Copysign(math.Sqrt(math.Abs(x)), x)
		}
		return v * v, true
	})
}

// callsTogether exchanges sines and cosines throughout.
func (s *search) callsTogether() {
	calls := 0
	for i := range s.p.parts {
		if fn := s.p.parts[i].fn; fn == expr.FnSin || fn == expr.FnCos {
			calls++
		}
	}
	if calls < 2 {
		return
	}
	swapped := func(n *part, arg func(int) float64) (float64, bool) {
		switch n.fn {
		case expr.FnSin:
			return apply(expr.FnCos, arg(n.args[0])), true
		case expr.FnCos:
			return apply(expr.FnSin, arg(n.args[0])), true
		}
		return 0, false
	}
	// The same with the difference turned round: sin a - sin q for cos q - cos a.
	s.noteParts(10, Found{Class: FunctionSwap}, func(n *part, _ int, arg func(int) float64) (float64, bool) {
		if v, ok := swapped(n, arg); ok {
			return v, true
		}
		if n.kind != expr.KindSum {
			return 0, false
		}
		var v float64
		for _, a := range n.args {
			if _, rest := s.p.parts[a].e.Coefficient(); rest.Kind() != expr.KindCall {
				return 0, false
			}
			v -= arg(a)
		}
		return v, true
	})
	for _, to := range []struct {
		rank     int
		sin, cos expr.Function
	}{{7, expr.FnCos, expr.FnSin}, {9, expr.FnSin, expr.FnSin}, {9, expr.FnCos, expr.FnCos}} {
		s.noteParts(to.rank, Found{Class: FunctionSwap}, func(n *part, _ int, arg func(int) float64) (float64, bool) {
			switch n.fn {
			case expr.FnSin:
				return apply(to.sin, arg(n.args[0])), true
			case expr.FnCos:
				return apply(to.cos, arg(n.args[0])), true
			}
			return 0, false
		})
	}
}

// symbolsTogether takes all radii for diameters, or the reverse, and all
// symbols of one kind in another unit.
func (s *search) symbolsTogether() {
	round := s.those(s.f.round)
	for _, c := range []float64{2, 0.5} {
		s.scale(7, Found{Class: RadiusDiameter}, round, c)
	}
	s.readings()
	for _, d := range []quantity.Dimension{quantity.Length, quantity.Mass} {
		kin := s.those(func(name string) bool { return s.f.dim(name) == d })
		for _, c := range []float64{100, 1000, 0.01, 0.001} {
			s.scale(17, Found{Class: Prefix}, kin, c)
		}
	}
}

// readings leaves out all symbols that have one index: l₂/T₂² for
// (l₂ - l₁)/(T₂² - T₁²).
func (s *search) readings() {
	done := map[string]bool{}
	for i, name := range s.f.names {
		_, index, has := strings.Cut(name, "_")
		if !has || done[index] {
			continue
		}
		done[index] = true
		of := s.those(func(name string) bool { _, other, _ := strings.Cut(name, "_"); return other == index })
		if of[i] {
			s.scale(9, Found{Class: LeftOut, A: name}, of, 0)
		}
	}
}

// those returns which symbols of the key are of a kind.
func (s *search) those(are func(name string) bool) []bool {
	out := make([]bool, len(s.f.names))
	for i, name := range s.f.names {
		out[i] = s.f.key.Has(name) && are(name)
	}
	return out
}

// scale takes several symbols too large or too small throughout.
func (s *search) scale(rank int, found Found, those []bool, c float64) {
	n := 0
	for _, is := range those {
		if is {
			n++
		}
	}
	if n < 2 {
		return
	}
	s.noteSymbols(rank, found, func(k, j int) float64 {
		if those[k] {
			return c * s.p.at[k][j]
		}
		return s.p.at[k][j]
	})
}
