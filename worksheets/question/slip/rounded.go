package slip

import (
	"math"

	"counterpoise/mechanics/expr"
)

// rounded takes rounded numbers for the constants of a formula: 0.289 for
// 1/√12, 3.14 for π, 9.81 for g.
func (s *search) rounded() {
	if s.most > 0 {
		return // a number is rounded as it is
	}
	for i := range s.p.parts {
		n := &s.p.parts[i]
		var c float64
		switch n.kind {
		case expr.KindProduct, expr.KindPower, expr.KindNumber:
			if up := n.parent; up >= 0 && n.kind == expr.KindNumber && s.p.parts[up].kind == expr.KindPower {
				continue // an exponent, or the number under a root: the power is tried
			}
			c = s.constantIn(i)
		}
		if n.kind == expr.KindProduct {
			s.roundPart(i, s.constants(n))
		}
		s.roundPart(i, c)
	}
	for _, to := range roundings(math.Pi) { // wherever it stands
		s.noteParts(to.rank, Found{Class: Rounded}, func(n *part, _ int, _ func(int) float64) (float64, bool) {
			return to.value, n.kind == expr.KindConstant
		})
	}
	if g, ok := s.symbol("g"); ok && s.f.key.Has("g") {
		for _, value := range []float64{9.81, 9.8, 9.80665, 9.807, 10} {
			s.noteSymbols(1, Found{Class: NumberForLetter, A: "g"}, func(k, j int) float64 {
				if k == g {
					return value
				}
				return s.p.at[k][j]
			})
		}
		s.roundedWithG(g)
	}
}

// roundedWithG takes one rounded number for all constants and g together:
// 2.01 √l for 2π √(l/g).
func (s *search) roundedWithG(g int) {
	root := s.p.root()
	c := s.constantIn(root)
	for _, power := range []float64{0.5, -0.5, 1, -1} {
		if !s.homogeneous(g, power) {
			continue
		}
		for _, value := range []float64{9.81, 9.8} {
			for _, to := range roundings(c * math.Pow(value, power)) {
				s.note(1, Found{Class: NumberForLetter, A: "g"}, root, each(func(j int) float64 {
					return s.key[j] / math.Pow(s.p.at[g][j], power) * to.value / c
				}))
			}
		}
	}
}

// constantIn returns what the constants inside a part multiply it by: 2π and
// √(2/3) in 2π √(2 l/(3 g)).
func (s *search) constantIn(i int) float64 {
	n := &s.p.parts[i]
	switch n.kind {
	case expr.KindNumber, expr.KindConstant:
		return n.num
	case expr.KindProduct:
		c := 1.0
		for _, a := range n.args {
			c *= s.constantIn(a)
		}
		return c
	case expr.KindPower:
		if _, e, ok := s.exponentOf(n); ok {
			return math.Pow(s.constantIn(n.args[0]), e)
		}
	case expr.KindCall:
		if len(n.e.Symbols()) == 0 {
			return n.v[0]
		}
	}
	return 1
}

// roundPart takes a rounded number for the constant c of a part, or for its
// inverse.
func (s *search) roundPart(i int, c float64) {
	if c == 0 || c == 1 || c == -1 || c-c != 0 {
		return
	}
	for _, to := range roundings(c) {
		s.change(to.rank, Found{Class: Rounded}, i, func(x float64) float64 { return x * to.value / c })
	}
	if 1/c == math.Trunc(1/c) {
		return
	}
	for _, to := range roundings(1 / c) {
		s.change(to.rank, Found{Class: Rounded}, i, func(x float64) float64 { return x / (to.value * c) })
	}
}

// A rounding is a rounded number, and the rank of taking it for an exact one:
// of more than one figure it is seldom anything else.
type rounding struct {
	value float64
	rank  int
}

// roundings rounds a number to one figure and more, and cuts it off behind the
// second and the third.
func roundings(c float64) []rounding {
	const mostFigures = 8
	var out []rounding
	size := math.Pow(10, math.Floor(math.Log10(math.Abs(c))))
	for figures := 1; figures <= mostFigures; figures++ {
		last := math.Pow(10, float64(figures-1)) / size
		rank := 2
		if figures == 1 {
			rank = 46
		}
		if v := math.Round(c*last) / last; v != c && v != 0 {
			out = append(out, rounding{v, rank})
		} else if v == c {
			break
		}
		if cut := math.Trunc(c*last) / last; cut != math.Round(c*last)/last && (figures == 2 || figures == 3) {
			out = append(out, rounding{cut, rank})
		}
	}
	return out
}
