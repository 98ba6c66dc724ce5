package slip

import (
	"math"
	"slices"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/quantity"
)

// eachSymbol changes a symbol wherever it stands.
func (s *search) eachSymbol() {
	for i, name := range s.f.names {
		if !s.f.key.Has(name) {
			continue
		}
		s.scaled(i, name)
		to := func(rank int, found Found, f func(x float64) float64) {
			found.A = name
			s.noteSymbols(rank, found, func(k, j int) float64 {
				if k == i {
					return f(s.p.at[k][j])
				}
				return s.p.at[k][j]
			})
		}
		left := LeftOut
		if s.onlyInside(name, expr.FnSin, expr.FnCos, expr.FnTan) {
			left = FunctionLost
		}
		gone := 6
		if name == "g" {
			gone = 7 // another letter that is gone with it says more
		}
		to(gone, Found{Class: left}, func(float64) float64 { return 0 })
		to(26, Found{Class: FactorMissing}, func(float64) float64 { return 1 })
		to(15, Found{Class: TermSign}, func(x float64) float64 { return -x })
		if s.f.count(name) {
			to(25, Found{Class: OffByOne}, func(x float64) float64 { return x - 1 })
			to(25, Found{Class: OffByOne}, func(x float64) float64 { return x + 1 })
		}
		to(31, Found{Class: Exponent}, func(x float64) float64 { return x * x })
		to(31, Found{Class: Exponent}, math.Sqrt)
		to(33, Found{Class: PartInverted}, func(x float64) float64 { return 1 / x })
		if s.f.isAngle(name) {
			to(16, Found{Class: Complement}, func(x float64) float64 { return math.Pi/2 - x })
			to(8, Found{Class: Degrees}, func(x float64) float64 { return x * math.Pi / 180 })
			to(8, Found{Class: Degrees}, func(x float64) float64 { return x * 180 / math.Pi })
		}
		s.replaced(i, name)
	}
}

// onlyInside reports whether a symbol stands nowhere but as what one of these
// functions is taken of, alone or with a number.
func (s *search) onlyInside(name string, fns ...expr.Function) bool {
	if !s.f.dim(name).IsOne() {
		return false
	}
	inside := 0
	for i := range s.p.parts {
		n := &s.p.parts[i]
		if n.kind != expr.KindCall || !slices.Contains(fns, n.fn) {
			continue
		}
		if _, rest := n.e.Args()[0].Coefficient(); rest.Kind() == expr.KindSymbol && rest.Name() == name {
			inside++
		}
	}
	return inside > 0 && inside == occurrences(s.f.key, name)
}

// alike gives all symbols of one kind the same value: a plain average of three
// or more.
func (s *search) alike() {
	f := s.f
	for i, name := range f.names {
		if !f.key.Has(name) {
			continue
		}
		var kin []int
		for k, other := range f.names {
			if f.key.Has(other) && f.sameKind(name, other) {
				kin = append(kin, k)
			}
		}
		if len(kin) < 3 || kin[0] != i {
			continue
		}
		if !s.weightless(kin) {
			continue
		}
		found := Found{Class: EqualWeights, A: f.names[kin[0]], B: f.names[kin[1]]}
		s.noteSymbols(5, found, func(n, j int) float64 {
			if f.sameKind(name, f.names[n]) {
				n = i
			}
			return s.p.at[n][j]
		})
	}
}

// scaled takes a symbol too large or too small throughout.
func (s *search) scaled(i int, name string) {
	f := s.f
	by := func(rank int, class Class, c float64) {
		s.noteSymbols(rank, Found{Class: class, A: name}, func(k, j int) float64 {
			if k == i {
				return c * s.p.at[k][j]
			}
			return s.p.at[k][j]
		})
	}
	half, class := 25, HalfWhole
	if f.round(name) {
		half, class = 6, RadiusDiameter
		if s.homogeneous(i, 0.5) || s.homogeneous(i, -0.5) {
			half = 22 // after √2 for the whole
		}
	}
	by(half, class, 0.5) // before 2: one of two pieces counted
	by(half+1, class, 2)
	if f.cyclic(name) {
		by(7, SymbolCycles, 2*math.Pi)
		by(7, SymbolCycles, 1/(2*math.Pi))
	}
	prefix := 27
	if !f.dim(name).IsOne() {
		prefix = 17
	}
	for _, c := range []float64{10, 100, 1000, 1e6} {
		if c == 10 && name == "g" {
			continue // no unit makes g ten times as large
		}
		by(prefix, Prefix, c)
		by(prefix, Prefix, 1/c)
	}
	by(28, Minutes, 60)
	by(28, Minutes, 1.0/60)
}

// homogeneous reports whether the key goes with this power of a symbol.
func (s *search) homogeneous(i int, power float64) bool {
	var r vec
	for j := range r {
		r[j] = s.p.put(j, func(k int) float64 {
			if k == i {
				return 2 * s.p.at[k][j]
			}
			return s.p.at[k][j]
		})
	}
	ratio, ok := constantRatio(&r, &s.key)
	return ok && close(ratio, math.Pow(2, power))
}

// degree returns the power with which the key goes with a symbol, NaN where it
// is no power.
func (s *search) degree(i int) float64 {
	if s.degrees == nil {
		s.degrees = make([]float64, len(s.f.names))
		for n := range s.degrees {
			var r vec
			for j := range r {
				r[j] = s.p.put(j, func(k int) float64 {
					if k == n {
						return 2 * s.p.at[k][j]
					}
					return s.p.at[k][j]
				})
			}
			s.degrees[n] = math.NaN()
			if ratio, ok := constantRatio(&r, &s.key); ok && ratio > 0 && !close(ratio, 1) {
				if d := math.Round(12*math.Log2(ratio)) / 12; close(math.Pow(2, d), ratio) {
					s.degrees[n] = d
				}
			}
		}
	}
	return s.degrees[i]
}

// manySymbols is up to how many symbols those of different kinds are exchanged.
const manySymbols = 6

// weighted reports whether two symbols are added up in a denominator, as the
// weights of a mean are.
func (s *search) weighted(a, b string) bool {
	for i := range s.p.parts {
		if base, e, ok := s.exponentOf(&s.p.parts[i]); ok && e < 0 && base.kind == expr.KindSum && base.e.Has(a) && base.e.Has(b) {
			return true
		}
	}
	return false
}

// weighs reports whether a symbol is a term, as it is, of a sum that is divided
// by.
func (s *search) weighs(name string) bool {
	for i := range s.p.parts {
		base, e, ok := s.exponentOf(&s.p.parts[i])
		if !ok || e >= 0 || base.kind != expr.KindSum {
			continue
		}
		for _, t := range base.args {
			if n := &s.p.parts[t]; n.kind == expr.KindSymbol && n.e.Name() == name {
				return true
			}
		}
	}
	return false
}

// weightless reports whether symbols that all have one value drop out, as the
// weights of a plain average do. In a formula its letters tell that.
func (s *search) weightless(of []int) bool {
	if s.most == 0 {
		return true
	}
	for _, name := range of { // each weight counts once, and nothing else is added
		if !s.weighs(s.f.names[name]) {
			return false
		}
	}
	equal := func(c float64) (r vec) {
		for j := range r {
			r[j] = s.p.put(j, func(n int) float64 {
				if slices.Contains(of, n) {
					return c * s.p.at[of[0]][j]
				}
				return s.p.at[n][j]
			})
		}
		return r
	}
	once, twice := equal(1), equal(2)
	ratio, ok := constantRatio(&once, &twice)
	return ok && close(ratio, 1)
}

// replaced puts other symbols in a symbol's place.
func (s *search) replaced(i int, name string) {
	f := s.f
	for k, other := range f.names {
		if k == i {
			continue
		}
		like := f.sameKind(name, other)
		rank := 16
		if !like {
			rank = 37
		}
		put := func(rank int, class Class, value func(x, y float64) float64) {
			s.noteSymbols(rank, Found{Class: class, A: name, B: other}, func(n, j int) float64 {
				if n == i {
					return value(s.p.at[i][j], s.p.at[k][j])
				}
				return s.p.at[n][j]
			})
		}
		exchanged := func(n, j int) float64 {
			switch n {
			case i:
				n = k
			case k:
				n = i
			}
			return s.p.at[n][j]
		}
		swap := SymbolSwap
		if like && f.dim(name) == quantity.Pressure {
			swap = ModulusSwap
		}
		if like && s.degree(i)+s.degree(k) == 0 {
			swap = FactorMissing // the ratio of the two
		}
		put(rank, swap, func(_, y float64) float64 { return y })
		if !like && k > i && f.key.Has(other) && len(f.names) <= manySymbols {
			s.noteSymbols(37, Found{Class: SymbolsSwapped, A: name, B: other}, exchanged)
		}
		if !like && !(f.uncertainty(name) && f.uncertainty(other)) {
			continue
		}
		if f.key.Has(other) && like {
			weights, rank := EqualWeights, 5
			if !s.weighted(name, other) {
				weights, rank = FactorMissing, 26 // the ratio of the two
			}
			if weights != EqualWeights || s.weightless([]int{i, k}) {
				put(rank, weights, func(_, y float64) float64 { return y })
			}
		}
		if like {
			put(29, SymbolSum, func(x, y float64) float64 { return x + y })
			put(29, SymbolSum, func(x, y float64) float64 { return x - y })
			put(29, Datum, func(x, y float64) float64 { return y - x })
			put(32, swap, func(_, y float64) float64 { return y / 2 }) // L/2 for x
		}
		if k > i && f.key.Has(other) {
			s.noteSymbols(23, Found{Class: SymbolsSwapped, A: name, B: other}, exchanged)
		}
	}
}
