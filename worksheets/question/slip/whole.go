package slip

import (
	"math"
	"strings"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/quantity"
)

// whole compares the answer with the key as a whole: a factor, the inverse,
// the square, one half of the fraction.
func (s *search) whole() {
	k := s.key
	at := func(f func(k float64) float64) func(j int) float64 {
		return func(j int) float64 { return f(k[j]) }
	}
	s.cycles(at)
	s.noteWhole(3, Found{Class: Sign}, at(func(k float64) float64 { return -k }))
	two := Factor2
	if s.beats() {
		two = HalfOfGap
	}
	for _, c := range []float64{2, 0.5} {
		s.noteWhole(20, Found{Class: two}, at(func(k float64) float64 { return c * k }))
	}
	number := s.most > 0 // then only what the key has can be wrong with it: chance offers too much
	root, square, log, angle := s.ingredients()
	for _, f := range wholeFactors {
		if number && f.class == FactorRoot2 && !root {
			continue
		}
		for _, c := range f.values {
			class := f.class
			if c == 100 && s.f.o.Asked.IsOne() && !s.angular() {
				class = PerCent
			}
			s.noteWhole(f.rank, Found{Class: class}, at(func(k float64) float64 { return c * k }))
			s.noteWhole(f.rank, Found{Class: class}, at(func(k float64) float64 { return k / c }))
		}
	}
	if p := piPower(s.f.key); p > 1 || p < -1 {
		s.noteWhole(16, Found{Class: PiPower}, at(func(k float64) float64 { return k * math.Pow(2*math.Pi, -p/2) }))
	}
	if g, ok := s.symbol("g"); ok && s.f.o.Asked != quantity.Acceleration {
		has := s.f.key.Has("g") // then it is left out; or else it is too many
		if !has || s.homogeneous(g, -1) {
			s.noteWhole(17, Found{Class: FactorG}, func(j int) float64 { return k[j] * s.p.at[g][j] })
		}
		if !has || s.homogeneous(g, 1) {
			s.noteWhole(17, Found{Class: FactorG}, func(j int) float64 { return k[j] / s.p.at[g][j] })
		}
	}
	s.noteWhole(22, Found{Class: Inverse}, at(func(k float64) float64 { return 1 / k }))
	if !number || root {
		s.noteWhole(23, Found{Class: RootMissing}, at(func(k float64) float64 { return k * k }))
	}
	if !number || square {
		s.noteWhole(23, Found{Class: SquareMissing}, at(math.Sqrt))
	}
	if s.f.o.Asked.IsOne() && len(s.f.key.Symbols()) > 0 {
		if !number || log {
			for _, f := range []func(float64) float64{math.Exp, func(k float64) float64 { return math.Exp(-k) }, math.Log} {
				s.noteWhole(31, Found{Class: LogLost}, at(f))
			}
		}
		if !number || angle {
			for _, f := range []func(float64) float64{math.Sin, math.Tan, math.Asin, math.Atan} {
				s.noteWhole(31, Found{Class: FunctionLost}, at(f))
			}
		}
	}
	s.fraction()
	for i, name := range s.f.names {
		at := s.p.at[i]
		if s.f.key.Has(name) && len(s.f.key.Symbols()) > 1 {
			s.noteWhole(29, Found{Class: PartInverted}, func(j int) float64 { return at[j] * at[j] / k[j] })
		}
		if s.f.isAngle(name) && s.f.o.Symbols[name].Unit != "" && !s.f.key.Has(name) {
			for _, f := range []func(float64) float64{math.Sin, math.Cos, math.Tan} {
				s.noteWhole(31, Found{Class: FunctionLost, A: name}, func(j int) float64 { return k[j] * f(at[j]) })
				s.noteWhole(31, Found{Class: FunctionLost, A: name}, func(j int) float64 { return k[j] / f(at[j]) })
			}
		}
		if !s.f.key.Has(name) && s.f.o.Symbols[name].Unit == "" {
			continue
		}
		for _, p := range []float64{1, -1, 2, -2, 3, -3, 0.5, -0.5} {
			class := Exponent
			if !s.f.key.Has(name) {
				class = FactorMissing
			}
			s.noteWhole(30, Found{Class: class, A: name}, func(j int) float64 { return k[j] * math.Pow(s.p.at[i][j], p) })
		}
	}
}

// ingredients reports what the key has: roots, squares, logarithms or
// exponentials, other functions.
func (s *search) ingredients() (root, square, log, angle bool) {
	for i := range s.p.parts {
		n := &s.p.parts[i]
		_, e, power := s.exponentOf(n)
		root = root || power && e != math.Trunc(e)
		square = square || power && math.Mod(e, 2) == 0
		switch {
		case n.kind != expr.KindCall:
		case n.fn == expr.FnLog || n.fn == expr.FnExp:
			log = true
		default:
			angle = true
		}
	}
	return root, square, log, angle
}

// beats reports whether the key has a difference of two frequencies.
func (s *search) beats() bool {
	for i := range s.p.parts {
		n := &s.p.parts[i]
		if n.kind != expr.KindSum || len(n.args) != 2 {
			continue
		}
		x, y := &s.p.parts[n.args[0]], &s.p.parts[n.args[1]]
		dx, okx := s.f.dimension(x.e)
		dy, oky := s.f.dimension(y.e)
		if okx && oky && dx == quantity.Frequency && dy == quantity.Frequency && x.v[0]*y.v[0] < 0 {
			return true
		}
	}
	return false
}

// wholeFactors are constants by which a whole result is off.
var wholeFactors = []struct {
	class  Class
	rank   int
	values []float64
}{
	{FactorPi, 21, []float64{math.Pi}},
	{Factor2Pi, 21, []float64{2 * math.Pi, 4 * math.Pi * math.Pi, math.Sqrt(2 * math.Pi)}},
	{FactorRoot2, 21, []float64{math.Sqrt2}},
	{Degrees, 18, []float64{180 / math.Pi}},
	{LogBase, 18, []float64{math.Ln10}},
	{FactorSmall, 45, []float64{3, 4, 5, 6, 8, 12, 16, 1.5}},
	{Minutes, 18, []float64{60, 3600, 3.6}},
	{Prefix, 18, []float64{10, 100, 1000, 1e4, 1e6, 1e9, 1e12}},
}

// angular reports whether the answer is an angle, by its unit.
func (s *search) angular() bool {
	return strings.Contains(s.f.o.Unit, "rad") || strings.ContainsAny(s.f.o.Unit, "°") || strings.Contains(s.f.o.Unit, "deg")
}

func (s *search) symbol(name string) (int, bool) {
	for i, n := range s.f.names {
		if n == name {
			return i, true
		}
	}
	return 0, false
}

// cycles are the slips between period, frequency and angular frequency, told
// by the unit that was asked.
func (s *search) cycles(at func(func(float64) float64) func(int) float64) {
	const turn = 2 * math.Pi
	asked := s.f.o.Asked
	radians := strings.Contains(s.f.o.Unit, "rad")
	note := func(class Class, f func(k float64) float64) { s.noteWhole(2, Found{Class: class}, at(f)) }
	switch {
	case asked == quantity.Time && !s.swings():
		return
	case asked == quantity.Time:
		note(FForT, func(k float64) float64 { return 1 / k })
		note(OmegaForT, func(k float64) float64 { return turn / k })
	case asked == quantity.Frequency && radians:
		note(FForOmega, func(k float64) float64 { return k / turn })
		note(TForOmega, func(k float64) float64 { return turn / k })
	case asked == quantity.Frequency && strings.Contains(s.f.o.Unit, "Hz"):
		note(OmegaForF, func(k float64) float64 { return k * turn })
		note(TForF, func(k float64) float64 { return 1 / k })
		note(OmegaForF, func(k float64) float64 { return turn * turn * k })
	}
}

// piPower returns the exponent of π among the key's factors.
func piPower(key expr.Expr) float64 { return math.Log(piIn(key)) / math.Log(math.Pi) }

// swings reports whether a time is likely that of a swing: it has a root or π,
// or is made of other times, frequencies and counts.
func (s *search) swings() bool {
	for i := range s.p.parts {
		n := &s.p.parts[i]
		if n.kind == expr.KindConstant || n.kind == expr.KindPower && math.Abs(s.p.parts[n.args[1]].num) == 0.5 {
			return true
		}
	}
	for _, name := range s.f.key.Symbols() {
		if d := s.f.dim(name); d != quantity.Time && d != quantity.Frequency && !d.IsOne() {
			return false
		}
	}
	return true
}

// fraction tries the key's numerator and denominator alone.
func (s *search) fraction() {
	root := &s.p.parts[s.p.root()]
	if root.kind != expr.KindProduct {
		return
	}
	upper, lower := vec{}, vec{}
	for j := range points {
		upper[j], lower[j] = 1, 1
	}
	hasLower, terms := false, 0.0
	for _, i := range root.args {
		a := &s.p.parts[i]
		below := false
		if a.kind == expr.KindPower {
			_, e, ok := a.e.Args()[1].Number()
			below = ok && e < 0
		}
		for j := range points {
			if below {
				lower[j] /= a.v[j]
			} else {
				upper[j] *= a.v[j]
			}
		}
		if below && s.p.parts[a.args[0]].kind == expr.KindSum {
			hasLower, terms = true, float64(len(s.p.parts[a.args[0]].args))
		}
	}
	if hasLower {
		s.note(12, Found{Class: NumeratorOnly}, s.p.root(), &upper)
		s.note(24, Found{Class: NotAveraged}, s.p.root(), each(func(j int) float64 { return upper[j] / terms })) // by how many there are
		s.note(24, Found{Class: DenominatorOnly}, s.p.root(), &lower)
		s.note(25, Found{Class: DenominatorOnly}, s.p.root(), each(func(j int) float64 { return 1 / lower[j] }))
	}
}
