package slip

import (
	"math"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/quantity"
)

// factor changes one factor of a product.
func (s *search) factor(i int, n *part) {
	name := s.only(i)
	class, rank := FactorMissing, 26
	switch n.kind {
	case expr.KindSymbol:
		if s.fall(n.e) {
			class = FactorG
		}
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
		switch base := &s.p.parts[n.args[0]]; {
		case base.kind == expr.KindCall:
			class, rank = FunctionLost, 12
		case s.fall(base.e):
			class = FactorG
		}
	}
	s.change(rank, Found{Class: class, A: name}, i, func(float64) float64 { return 1 })
}

// fall reports whether e is the acceleration of free fall, in a result that is
// no acceleration itself.
func (s *search) fall(e expr.Expr) bool {
	return e.Kind() == expr.KindSymbol && e.Name() == "g" && s.f.dim("g") == quantity.Acceleration && s.f.o.Asked != quantity.Acceleration
}

// constant changes a number that multiplies.
func (s *search) constant(i int, n *part) {
	changed := Found{Class: ConstantChanged, A: s.only(n.parent)}
	if s.spread(n.parent, 1) {
		s.change(5, Found{Class: Sensitivity, A: changed.A}, i, func(float64) float64 { return 1 })
		s.change(5, Found{Class: Sensitivity, A: changed.A}, i, math.Sqrt)
		if e := math.Sqrt(n.num); e == math.Trunc(e) { // (2 u)² for (3 u)²
			for _, other := range []float64{e - 1, e + 1} {
				s.change(12, Found{Class: Sensitivity, A: changed.A}, i, func(float64) float64 { return other * other })
			}
		}
	}
	for _, to := range ratios {
		s.change(29, changed, i, func(x float64) float64 { return x * to })
		s.change(29, changed, i, func(x float64) float64 { return x / to })
	}
	if up := s.p.parts[n.parent].parent; up >= 0 && s.p.parts[up].kind == expr.KindSum && n.num != math.Trunc(n.num) && math.Abs(n.num) > 1 {
		for _, to := range []float64{3. / 2, 2, 5. / 2, 3} { // 5/2 for 27/10
			s.change(29, changed, i, func(x float64) float64 { return math.Copysign(to, x) })
		}
	}
	s.change(23, changed, i, func(float64) float64 { return 1 })
	s.change(24, changed, i, func(x float64) float64 { return 2 * x })
	s.change(24, changed, i, func(x float64) float64 { return x / 2 })
	s.change(28, changed, i, math.Sqrt)
	s.change(28, changed, i, func(x float64) float64 { return x * x })
	inverted := 19
	if up := s.p.parts[n.parent].parent; up >= 0 && s.p.parts[up].kind == expr.KindSum || piIn(s.p.parts[n.parent].e) != 1 {
		inverted = 30 // m l²/2 for 2 m l² as a term is no fraction turned over, nor is 2 for 1/2 beside π
	} else if n.parent != s.p.root() {
		inverted = 22 // after a factor 2 of the whole
	}
	s.change(inverted, Found{Class: PartInverted}, i, func(x float64) float64 { return 1 / x })
	if c := n.num; c == math.Trunc(c) && c > 1 && c < 7 {
		up := &s.p.parts[n.parent]
		s.note(26, Found{Class: Exponent, A: changed.A}, n.parent, each(func(j int) float64 { return math.Pow(up.v[j]/c, c) }))
		for _, a := range up.args { // (u/T)² for 2 u/T
			u := &s.p.parts[a]
			for _, b := range up.args {
				below, e, ok := s.exponentOf(&s.p.parts[b])
				if u.kind != expr.KindSymbol || !ok || e != -1 || below.kind != expr.KindSymbol || !s.f.sameKind(u.e.Name(), below.e.Name()) {
					continue
				}
				s.note(20, Found{Class: Exponent, A: u.e.Name()}, n.parent, each(func(j int) float64 {
					ratio := u.v[j] / below.v[j]
					return up.v[j] / c / ratio * math.Pow(ratio, c)
				}))
			}
		}
	}
}

// ratios are those by which a number inside a formula may be off.
var ratios = []float64{3, 4, 5, 6, 8, 10, 12, 3. / 2, 4. / 3, 5. / 2, 5. / 3, math.Pi, 2 * math.Pi}

// product changes what belongs to a product as a whole.
func (s *search) product(i int, n *part) {
	s.ratios(i, n)
	if c := s.constants(n); c != 1 { // the rest upside down: 2 m/k for 2 k/m
		rank, class := 28, PartInverted
		if n.parent < 0 {
			rank, class = 22, Inverse
		}
		s.change(rank, Found{Class: class}, i, func(x float64) float64 { return c * c / x })
		if kept := c / n.coefficient; kept != 1 { // π or a logarithm, but not the number
			s.change(rank+1, Found{Class: class}, i, func(x float64) float64 { return kept * kept / x })
		}
	}
	if p := piPower(n.e); n.parent >= 0 && (p > 1 || p < -1) {
		s.change(16, Found{Class: PiPower}, i, func(x float64) float64 { return x * math.Pow(2*math.Pi, -p/2) })
	}
	if c := s.constants(n); n.parent >= 0 && s.p.parts[n.parent].kind == expr.KindSum && c != n.coefficient {
		s.change(24, Found{Class: ConstantChanged, A: s.only(i)}, i, func(x float64) float64 { return x / c })
	}
	s.squaresWithPi(i, n)
	s.added(i, n)
	s.turned(i, n)
	s.halved(i, n)
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
				if q < 0 {
					continue
				}
				for _, b := range n.args { // one of several factors
					if g := &s.p.parts[b]; b != a && len(n.args) > 2 && g.kind != expr.KindNumber {
						s.note(19, Found{Class: BracketLost}, i, each(func(j int) float64 {
							return n.v[j] / f.v[j] / g.v[j] * (g.v[j]*term.v[j] + sum.v[j] - term.v[j])
						}))
					}
				}
				s.note(13, Found{Class: BracketLost}, i, each(func(j int) float64 {
					rest := n.v[j] / f.v[j]
					return rest*(sum.v[j]-term.v[j]) + term.v[j]
				}))
			}
		}
		if len(sum.args) == 2 {
			s.reduced(i, n, sum, q)
		}
	}
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
	switch d, ok := s.f.dimension(x.e); {
	case ok && d == quantity.Stiffness:
		class = SpringsJoin
	case len(n.args) == 3 && i == s.p.root() && !(ok && d == quantity.Mass):
		class = SeriesParallel
	}
	s.note(6, Found{Class: class}, i, each(func(j int) float64 {
		total := x.v[j] + y.v[j]
		mu := math.Abs(x.v[j]*y.v[j]) / total
		return n.v[j] * math.Pow(mu, q) * math.Pow(total, -q)
	}))
	for k, t := range []*part{x, y} {
		if other := s.p.parts[sum.args[1-k]].e; other.Kind() == expr.KindSymbol {
			s.note(9, Found{Class: LeftOut, A: other.Name()}, i, each(func(j int) float64 {
				mu := x.v[j] * y.v[j] / (x.v[j] + y.v[j])
				return n.v[j] * math.Pow(mu, q) * math.Pow(t.v[j], -q)
			}))
		}
		s.note(18, Found{Class: TotalForReduced}, i, each(func(j int) float64 {
			mu := x.v[j] * y.v[j] / (x.v[j] + y.v[j])
			return n.v[j] * math.Pow(mu, q) * math.Pow(t.v[j], -q)
		}))
	}
}

// turned turns over one fraction of a product of several: k g/(m l) for
// k l/(m g), or takes the root or the square of it.
func (s *search) turned(i int, n *part) {
	const most = 7 // factors
	if len(n.args) > most {
		return
	}
	var inside []*part // sums and functions, with their powers
	for _, a := range n.args {
		f := &s.p.parts[a]
		base := f
		if b, _, ok := s.exponentOf(f); ok {
			base = b
		}
		if base.kind == expr.KindSum || base.kind == expr.KindCall {
			inside = append(inside, f)
		}
	}
	if len(inside) == 2 && len(n.args) > 2 { // m g (R - h)/√(…) for m g √(…)/(R - h)
		x, y := inside[0], inside[1]
		s.note(31, Found{Class: PartInverted}, i, each(func(j int) float64 {
			both := x.v[j] * y.v[j]
			return n.v[j] / both / both
		}))
	}
	for _, a := range n.args {
		for _, b := range n.args {
			top, bottom := &s.p.parts[a], &s.p.parts[b]
			_, below, ok := s.exponentOf(bottom)
			above := 1.0
			if _, e, isPower := s.exponentOf(top); isPower {
				above = e
			}
			if !ok || above <= 0 || below != -above || top.kind == expr.KindNumber || top.kind == expr.KindConstant {
				continue
			}
			s.note(31, Found{Class: PartInverted}, i, each(func(j int) float64 {
				ratio := top.v[j] * bottom.v[j]
				return n.v[j] / ratio / ratio
			}))
			s.note(33, Found{Class: RootMissing}, i, each(func(j int) float64 { return n.v[j] / math.Sqrt(top.v[j]*bottom.v[j]) }))
			s.note(33, Found{Class: SquareMissing}, i, each(func(j int) float64 { return n.v[j] * top.v[j] * bottom.v[j] }))
		}
	}
}

// halved takes the root of a fraction whose other factors stay as they are:
// g c/√(R² + c²) for g c²/(R² + c²). A factor that goes with it is left out:
// x² and (a + b)⁻¹ become x and (a + b)^(-1/2).
func (s *search) halved(i int, n *part) {
	for _, a := range n.args {
		for _, b := range n.args {
			square, sum := &s.p.parts[a], &s.p.parts[b]
			_, e, ok := s.exponentOf(square)
			base, q, isPower := s.exponentOf(sum)
			if !ok || !isPower || math.Abs(e) != 2 || e*q != -2 || base.kind != expr.KindSum {
				continue
			}
			s.note(20, Found{Class: RootMissing}, i, each(func(j int) float64 { return n.v[j] / math.Sqrt(square.v[j]*sum.v[j]) }))
		}
		// A letter, or what stands for its square root of the sum: 1/√(R² + c²) for
		// R/(R² + c²).
		base, q, ok := s.exponentOf(&s.p.parts[a])
		if !ok || q != -1 || base.kind != expr.KindSum {
			continue
		}
		for _, b := range n.args {
			if x := &s.p.parts[b]; x.kind == expr.KindSymbol && base.e.Has(x.e.Name()) {
				s.note(33, Found{Class: RootMissing}, i, each(func(j int) float64 { return n.v[j] / x.v[j] * math.Sqrt(base.v[j]) }))
			}
		}
	}
	for _, a := range n.args {
		f := &s.p.parts[a]
		if base, e, ok := s.exponentOf(f); ok && e == 0.5 && base.kind == expr.KindSum && s.uncertainties(base.e) {
			s.note(12, Found{Class: Relative}, i, &f.v)
		}
		if f.fn == expr.FnExp {
			s.note(16, Found{Class: Remainder}, i, each(func(j int) float64 { return n.v[j] / f.v[j] * (1 - f.v[j]) }))
		}
	}
}

// constants returns the product of the factors that have no letters.
func (s *search) constants(n *part) float64 {
	c := 1.0
	for _, a := range n.args {
		if f := &s.p.parts[a]; len(f.e.Symbols()) == 0 {
			c *= f.v[0]
		}
	}
	return c
}

// simpleRoot reports whether a number is the square of a small fraction.
func simpleRoot(c float64) bool {
	for q := 1.0; q <= 6; q++ {
		if r := math.Sqrt(c) * q; close(r, math.Round(r)) {
			return true
		}
	}
	return false
}

// squaresWithPi takes the square off a number, such as 2π, and a letter that
// belongs to it: g T/(2π) for g T²/(4π²), m b/2 for m b²/4.
func (s *search) squaresWithPi(i int, n *part) {
	c := s.constants(n)
	if p := math.Abs(piPower(n.e)); c <= 0 || p != 2 && !(p == 0 && c != 1 && simpleRoot(c)) {
		return
	}
	for _, a := range n.args {
		f := &s.p.parts[a]
		if base, e, ok := s.exponentOf(f); !ok || math.Abs(e) != 2 || base.kind != expr.KindSymbol {
			continue
		}
		s.note(13, Found{Class: SquareMissing, A: s.only(a)}, i, each(func(j int) float64 { return n.v[j] / math.Sqrt(c*f.v[j]) }))
	}
}

// added adds two factors of one kind that belong multiplied.
func (s *search) added(i int, n *part) {
	for k, a := range n.args {
		for _, b := range n.args[:k] {
			x, y := &s.p.parts[a], &s.p.parts[b]
			switch {
			case x.kind == expr.KindSymbol && y.kind == expr.KindSymbol && s.f.sameKind(x.e.Name(), y.e.Name()):
			case x.kind == expr.KindCall && y.kind == expr.KindCall && x.fn == y.fn:
			default:
				continue
			}
			s.note(33, Found{Class: SumForProduct}, i, each(func(j int) float64 { return n.v[j] / x.v[j] / y.v[j] * (x.v[j] + y.v[j]) }))
		}
	}
}
