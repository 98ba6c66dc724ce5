package slip

import (
	"math"

	"counterpoise/mechanics/expr"
)

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
	case 1. / 3:
		to(12, RootMissing, math.Copysign(0.5, e))
		to(13, RootMissing, 3*e)
	case 0.5:
		if base.kind == expr.KindSum && len(base.args) == 2 {
			x, y := &s.p.parts[base.args[0]], &s.p.parts[base.args[1]]
			s.note(14, Found{Class: SquareOfSum}, i, each(func(j int) float64 { return power(math.Sqrt(x.v[j])-math.Sqrt(y.v[j]), 2*e) }))
		}
		to(12, RootMissing, 2*e)
		to(22, RootMissing, -2*e)
	case 1:
		to(26, RootMissing, e/2)
		to(26, SquareMissing, 2*e)
	case 2, 4:
		to(12, SquareMissing, e/2)
	}
	if base.kind == expr.KindConstant {
		for _, p := range []float64{e - 1, e + 1} {
			if p == 0 {
				to(21, FactorPi, p)
			} else {
				to(11, PiPower, p)
			}
		}
	}
	if e != 1 && e != -1 {
		to(13, PartInverted, -e)
	}
	for _, p := range []float64{e + 1, e - 1} {
		switch {
		case p == 0:
		case base.kind == expr.KindNumber: // 3 √3 for √3
			changed := Found{Class: ConstantChanged}
			if n.parent >= 0 {
				changed.A = s.only(n.parent)
			}
			s.note(24, changed, i, each(func(j int) float64 { return power(base.v[j], p) }))
		default:
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
				rank := 7
				if other == expr.FnTan || n.fn == expr.FnAtan && other == expr.FnAcos || n.fn == expr.FnAcos && other == expr.FnAtan {
					rank = 15 // less likely than that a fraction is upside down
				}
				put(rank, FunctionSwap, func(x float64) float64 { return apply(other, x) })
				put(20, FunctionSwap, func(x float64) float64 { return apply(other, 1/x) })
			}
		}
	}
	lost := FunctionLost
	if n.fn == expr.FnLog || n.fn == expr.FnExp {
		lost = LogLost
	}
	put(14, lost, func(x float64) float64 { return x })
	put(14, PartInverted, func(x float64) float64 { return apply(n.fn, 1/x) })
	put(15, PartInverted, func(x float64) float64 {
		c := s.p.parts[n.args[0]].coefficient // the rest upside down
		return apply(n.fn, c*c/x)
	})
	degrees := 8
	for _, name := range x.e.Symbols() {
		if occurrences(x.e, name) != occurrences(s.f.key, name) {
			degrees = 24 // an angle is seldom in degrees here and in radians there
		}
	}
	put(degrees, Degrees, func(x float64) float64 { return apply(n.fn, x*math.Pi/180) })
	put(degrees, Degrees, func(x float64) float64 { return apply(n.fn, x*180/math.Pi) })
	put(18, HalfWhole, func(x float64) float64 { return apply(n.fn, 2*x) })
	put(18, HalfWhole, func(x float64) float64 { return apply(n.fn, x/2) })
	put(16, TermSign, func(x float64) float64 { return apply(n.fn, -x) })
	if n.fn == expr.FnLog {
		put(10, LogBase, math.Log10)
		put(26, LogBase, math.Log2)
	}
	switch n.fn { // the first terms of the series in its place
	case expr.FnExp:
		put(16, LogLost, func(x float64) float64 { return 1 + x })
	case expr.FnCos:
		put(16, FunctionLost, func(x float64) float64 { return 1 - x*x/2 })
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
