package slip

import (
	"math"
	"slices"

	"counterpoise/mechanics/expr"
)

// search is one walk through all changes of the key.
type search struct {
	f    *Finder
	p    *program
	key  vec // the key's own values
	most int // the rank up to which slips are kept, 0 for any
	// degrees are the powers with which the key goes with each symbol, when needed.
	degrees []float64
	found   []Known
}

// collect walks through all changes of the key with the symbols at these
// values, and returns those that make a difference.
func (f *Finder) collect(at []vec, most int) []Known {
	if f.prog == nil {
		f.prog = layOut(f.key, f.names)
	}
	s := &search{f: f, p: f.prog, most: most, found: []Known{}}
	s.p.at = at
	s.p.fill()
	s.key = f.reckon(f.key, at)
	s.p.parts[s.p.root()].v = s.key
	if usable(s.key) {
		s.run()
	}
	return s.sorted()
}

// run walks through every change.
func (s *search) run() {
	s.whole()
	s.tables()
	s.series()
	s.networks()
	if len(s.p.parts) > maxParts {
		return
	}
	s.rounded()
	s.eachSymbol()
	s.alike()
	s.together()
	for i := range s.p.parts {
		s.place(i)
	}
	s.derivatives()
}

// note keeps a change of part i.
func (s *search) note(rank int, found Found, i int, w *vec) {
	if s.most > 0 && rank > s.most {
		return
	}
	var r vec
	for j := range r {
		r[j] = s.p.with(i, j, w[j])
	}
	s.keep(rank, found, r)
}

// noteWhole keeps other values of the whole.
func (s *search) noteWhole(rank int, found Found, value func(j int) float64) {
	s.note(rank, found, s.p.root(), each(value))
}

func each(value func(j int) float64) *vec {
	var w vec
	for j := range w {
		w[j] = value(j)
	}
	return &w
}

// noteSymbols keeps the key with other values of its symbols.
func (s *search) noteSymbols(rank int, found Found, value func(symbol, j int) float64) {
	if s.most > 0 && rank > s.most {
		return
	}
	var r vec
	for j := range r {
		r[j] = s.p.put(j, func(i int) float64 { return value(i, j) })
	}
	s.keep(rank, found, r)
}

// keep keeps a changed key unless it is the key itself, is zero, or has hardly
// any values. A class that needs an answer's letters is not for numbers.
func (s *search) keep(rank int, found Found, r vec) {
	if s.most > 0 && found.Class == WrongSeries || !usable(r) || r == (vec{}) {
		return
	}
	if ratio, ok := constantRatio(&r, &s.key); ok && close(ratio, 1) {
		return
	}
	s.found = append(s.found, Known{Entry{Found: found, Rank: rank}, r})
}

// sorted returns what was found, the most specific first, without those that a
// better one of the same values hides.
func (s *search) sorted() []Known {
	slices.SortStableFunc(s.found, func(a, b Known) int { return a.order(b.Entry) })
	settled := map[[points]int64]bool{}
	out := s.found[:0]
	for _, k := range s.found {
		var id [points]int64
		for j, v := range k.at {
			id[j] = int64(math.Float64bits(v)+1<<19) >> 20 // about nine figures
		}
		if settled[id] {
			continue
		}
		out = append(out, k)
		if s.most > 0 && s.plain(&k) {
			out[len(out)-1].Rank /= 10
		}
		settled[id] = k.Class != LeftOut && k.Class != EqualWeights && k.Class != Rounded // those depend on the answer's letters
	}
	return out
}

// plainFactors are those that are thought of first where a number is off.
var plainFactors = []float64{1, 2, math.Pi, 2 * math.Pi, 4 * math.Pi * math.Pi, math.Sqrt2, 10, 100, 1000, 1e4, 1e6}

// plain reports whether a changed key is the key but for a plain factor or for
// the acceleration of free fall. Of a number's slips these go before all that
// give nearly the same by chance.
func (s *search) plain(k *Known) bool {
	if k.Class == FactorG {
		return true
	}
	if k.Class != Sign && s.p.parts[s.p.root()].kind == expr.KindCall {
		return false // an angle off by a factor is seldom what was meant
	}
	ratio, ok := constantRatio(&k.at, &s.key)
	ratio = math.Abs(ratio)
	return ok && slices.ContainsFunc(plainFactors, func(c float64) bool { return close(ratio, c) || close(ratio, 1/c) })
}

// usable reports whether most values are there.
func usable(v vec) bool {
	n := 0
	for _, x := range v {
		if x-x == 0 {
			n++
		}
	}
	return n >= points/2
}

// constantRatio returns a/r if it is the same at every point at which both
// have values, and these are most.
func constantRatio(a, r *vec) (float64, bool) {
	ratio, n, zeros := 0.0, 0, 0
	for j := range points {
		if a[j]-a[j] != 0 || r[j]-r[j] != 0 {
			if (a[j]-a[j] != 0) != (r[j]-r[j] != 0) {
				return 0, false
			}
			continue
		}
		if a[j] == 0 && r[j] == 0 {
			zeros++
			continue
		}
		q := a[j] / r[j]
		if q-q != 0 || q == 0 {
			return 0, false
		}
		if n > 0 && !close(q, ratio) {
			return 0, false
		}
		if n == 0 {
			ratio = q
		}
		n++
	}
	return ratio, n > 0 && n+zeros >= points/2
}
