package slip

import (
	"math"
	"slices"
	"strings"
	"sync"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/quantity"
)

// A Range is the values that a symbol takes, in SI.
type Range struct{ From, To float64 }

// A Symbol is what is known of a letter of the key.
type Symbol struct {
	Range     Range
	Dimension quantity.Dimension
	Unit      string // as written: tells Hz from rad/s
	Means     string // in words: tells a radius from a diameter
}

// Options say what the key is about.
type Options struct {
	Symbols map[string]Symbol  // by canonical name
	Asked   quantity.Dimension // of the answer
	Unit    string             // of the answer, as written
}

// A Finder looks for the slip in answers to one key. It may be used by several
// goroutines at once.
type Finder struct {
	key     expr.Expr
	o       Options
	names   []string
	mu      sync.Mutex
	prog    *program
	derived []expr.Expr // of the key, by each name; made when first needed
}

// New returns a finder for a key.
func New(key expr.Expr, o Options) *Finder {
	f := &Finder{key: key, o: o}
	for name := range o.Symbols {
		f.names = append(f.names, name)
	}
	for _, name := range key.Symbols() {
		if _, known := o.Symbols[name]; !known {
			f.names = append(f.names, name)
		}
	}
	slices.Sort(f.names)
	return f
}

// A candidate is one possible slip and how much it explains: less is better.
type candidate struct {
	Found
	rank int
}

// A sink is told of every changed key.
type sink interface {
	// quick is shown the changed key's value at the first two points and says
	// whether it is worth looking on.
	quick(first, second float64) bool
	full(c candidate, values *vec)
}

// search is one walk through all changes of the key.
type search struct {
	f    *Finder
	p    *program
	key  vec // the key's own values
	sink sink
}

// fractions spread the points of comparison over the ranges: no two symbols
// get the same one at the same point, and none is a simple fraction.
func fraction(symbol, point int) float64 {
	const golden, silver = 0.6180339887498949, 0.4142135623730951
	x := 0.137 + golden*float64(point+1) + silver*float64(symbol+1) + 0.0931*float64(point*symbol)
	return 0.03 + 0.94*(x-math.Floor(x))
}

// spread lays out the points over the symbols' ranges.
func (f *Finder) spread() []vec {
	at := make([]vec, len(f.names))
	for i, name := range f.names {
		r := f.o.Symbols[name].Range
		if r == (Range{}) {
			r = Range{0.1, 10}
		}
		for j := range points {
			at[i][j] = r.From + (r.To-r.From)*fraction(i, j)
		}
	}
	return at
}

// Find returns the slip that turns the key into the answer, if there is one.
func (f *Finder) Find(answer expr.Expr) (Found, bool) {
	for _, name := range answer.Symbols() {
		if !slices.Contains(f.names, name) {
			return Found{}, false
		}
	}
	if answer.Size() > maxParts {
		return Found{}, false
	}
	at := f.spread()
	ans := layOut(answer, f.names)
	ans.at = at
	ans.fill()
	return f.find(at, ans.parts[ans.root()].v, answer.Has)
}

// FindValues is Find for an answer that is known by its values only: value
// returns it at given values of the symbols, has whether a symbol occurs in it.
func (f *Finder) FindValues(value func(at map[string]float64) float64, has func(symbol string) bool) (Found, bool) {
	points := f.spread()
	return f.find(points, f.valuesOf(points, value), has)
}

func (f *Finder) valuesOf(at []vec, value func(at map[string]float64) float64) vec {
	of := make(map[string]float64, len(f.names))
	var v vec
	for j := range v {
		for i, name := range f.names {
			of[name] = at[i][j]
		}
		v[j] = value(of)
	}
	return v
}

func (f *Finder) find(at []vec, answer vec, has func(symbol string) bool) (Found, bool) {
	f.mu.Lock()
	defer f.mu.Unlock()
	s := f.search(at)
	m := &matcher{answer: answer, key: s.key, answerLacks: map[string]bool{}}
	for _, name := range f.names {
		m.answerLacks[name] = f.key.Has(name) && !has(name)
	}
	if !usable(m.answer) || !usable(s.key) {
		return Found{}, false
	}
	if ratio, ok := constantRatio(&m.answer, &s.key); ok && close(ratio, 1) {
		return Found{}, false // it is the key
	}
	s.sink = m
	s.run()
	return m.result()
}

// usable reports whether most values are there.
func usable(v vec) bool {
	n := 0
	for _, x := range v {
		if x-x == 0 {
			n++
		}
	}
	return n >= points-2
}

func (f *Finder) search(at []vec) *search {
	if f.prog == nil {
		f.prog = layOut(f.key, f.names)
	}
	s := &search{f: f, p: f.prog}
	s.p.at = at
	s.p.fill()
	s.key = s.p.parts[s.p.root()].v
	return s
}

// matcher keeps the best explanation of an answer.
type matcher struct {
	answer, key vec
	answerLacks map[string]bool // symbols of the key that the answer has not
	best        Entry
	found       bool
}

// quick lets through what has a constant ratio to the answer.
func (m *matcher) quick(r0, r1 float64) bool {
	a0, a1 := m.answer[0], m.answer[1]
	if r0-r0 != 0 || r1-r1 != 0 || a0-a0 != 0 || a1-a1 != 0 {
		return true // let full decide at the other points
	}
	return close(r0*a1, r1*a0)
}

func (m *matcher) full(c candidate, r *vec) {
	ratio, ok := constantRatio(&m.answer, r)
	if !ok {
		return
	}
	e := Entry{Found: c.Found, Rank: c.rank}
	if !close(ratio, 1) {
		also, known := simpleFactor(ratio)
		if !known || !e.With(also) {
			return
		}
	}
	if e.weigh(m.answerLacks) && (!m.found || e.Rank < m.best.Rank) {
		m.best, m.found = e, true
	}
}

// An Entry is a possible slip and how much it leaves unexplained: of several
// that fit, the one of the lowest rank is told.
type Entry struct {
	Found
	Rank int
}

// With puts a factor on top of the slip, and reports false where that explains
// nothing.
func (e *Entry) With(also Class) bool {
	if e.Class.isFactor() {
		return false
	}
	e.Also = also
	e.Rank += 40
	return true
}

// weigh adjusts the rank to the letters that the answer lacks, and reports
// whether the slip can be meant.
func (e *Entry) weigh(lacks map[string]bool) bool {
	switch e.Class {
	case LeftOut:
		if !lacks[e.A] {
			e.Rank += 15 // the letter is still there: not left out as such
		}
	case EqualWeights:
		return lacks[e.A] && lacks[e.B]
	}
	return true
}

// Best returns the entry to tell, of those that fit an answer in which has
// says which letters occur.
func Best(entries []Entry, has func(symbol string) bool) (Found, bool) {
	var best Entry
	found := false
	for _, e := range entries {
		lacks := map[string]bool{e.A: !has(e.A), e.B: !has(e.B)}
		if e.weigh(lacks) && (!found || e.Rank < best.Rank) {
			best, found = e, true
		}
	}
	return best.Found, found
}

// isFactor reports whether the class is itself a factor on the whole, on top
// of which another explains nothing.
func (c Class) isFactor() bool {
	switch c {
	case Sign, Factor2, FactorPi, Factor2Pi, FactorRoot2, FactorG, FactorSmall, Minutes, Prefix, Degrees, LogBase, PiPower,
		OmegaForF, FForOmega, FForT, TForF, OmegaForT, TForOmega, TableInertia, TableCentre, TableBeam, ConstantChanged:
		return true
	}
	return false
}

func (m *matcher) result() (Found, bool) { return m.best.Found, m.found }

// constantRatio returns a/r if it is the same at every point at which both
// have values, and these are most.
func constantRatio(a, r *vec) (float64, bool) {
	ratio, n := 0.0, 0
	for j := range points {
		if a[j]-a[j] != 0 || r[j]-r[j] != 0 {
			if (a[j]-a[j] != 0) != (r[j]-r[j] != 0) {
				return 0, false
			}
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
	return ratio, n >= points-2
}

// A Factor is a constant by which people slip on top of another slip.
type Factor struct {
	Class Class
	Value float64
}

// Factors are the constants that may come on top of another slip.
var Factors = makeFactors()

func makeFactors() []Factor {
	out := []Factor{{Sign, -1}}
	for _, f := range []Factor{
		{Factor2, 2}, {FactorPi, math.Pi}, {Factor2Pi, 2 * math.Pi}, {Factor2Pi, 4 * math.Pi * math.Pi},
		{FactorRoot2, math.Sqrt2}, {Prefix, 10}, {Prefix, 100}, {Prefix, 1000}, {Prefix, 1e6},
	} {
		out = append(out, f, Factor{f.Class, 1 / f.Value})
	}
	return out
}

// simpleFactor names a constant.
func simpleFactor(c float64) (Class, bool) {
	for _, f := range Factors {
		if close(c, f.Value) {
			return f.Class, true
		}
	}
	return None, false
}

// note shows a change of part i to the sink.
func (s *search) note(rank int, found Found, i int, w *vec) {
	r := vec{s.p.with(i, 0, w[0]), s.p.with(i, 1, w[1])}
	if !s.sink.quick(r[0], r[1]) {
		return
	}
	for j := 2; j < points; j++ {
		r[j] = s.p.with(i, j, w[j])
	}
	s.sink.full(candidate{found, rank}, &r)
}

// noteWhole shows other values of the whole.
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

// noteSymbols shows the key with other values of its symbols.
func (s *search) noteSymbols(rank int, found Found, value func(symbol, j int) float64) {
	var r vec
	put := func(j int) { r[j] = s.p.put(j, func(i int) float64 { return value(i, j) }) }
	put(0)
	put(1)
	if !s.sink.quick(r[0], r[1]) {
		return
	}
	for j := 2; j < points; j++ {
		put(j)
	}
	s.sink.full(candidate{found, rank}, &r)
}

// run walks through every change.
func (s *search) run() {
	s.whole()
	s.tables()
	s.series()
	if len(s.p.parts) > maxParts {
		return
	}
	s.eachSymbol()
	for i := range s.p.parts {
		s.place(i)
	}
	s.derivatives()
}

// dim returns the dimension of a symbol and whether it is known.
func (f *Finder) dim(name string) quantity.Dimension { return f.o.Symbols[name].Dimension }

// sameKind reports whether two symbols have the same dimension.
func (f *Finder) sameKind(a, b string) bool { return f.dim(a) == f.dim(b) }

func (f *Finder) isLength(name string) bool { return f.dim(name) == quantity.Length }

// round reports whether a symbol is a radius or a diameter, by its meaning or,
// where none is given, by its letter.
func (f *Finder) round(name string) bool {
	if !f.isLength(name) && f.o.Symbols[name].Unit != "" {
		return false
	}
	if means := strings.ToLower(f.o.Symbols[name].Means); means != "" {
		return strings.Contains(means, "radius") || strings.Contains(means, "diameter") || strings.Contains(means, "curvature")
	}
	letter, _, _ := strings.Cut(name, "_")
	return slices.Contains([]string{"d", "D", "r", "R", "ρ"}, letter)
}

// hasRadius reports whether a radius is among the symbols of the key.
func (f *Finder) hasRadius() bool {
	for _, name := range f.key.Symbols() {
		letter, _, _ := strings.Cut(name, "_")
		means := strings.ToLower(f.o.Symbols[name].Means)
		if f.round(name) && !strings.Contains(means, "diameter") && (strings.Contains(means, "radius") || letter == "r" || letter == "R") {
			return true
		}
	}
	return false
}

// isAngle reports whether a symbol may be an angle: a pure number.
func (f *Finder) isAngle(name string) bool { return f.dim(name).IsOne() }

// uncertainty reports whether a symbol is an uncertainty, by its meaning or
// its letter.
func (f *Finder) uncertainty(name string) bool {
	letter, sub, _ := strings.Cut(name, "_")
	means := strings.ToLower(f.o.Symbols[name].Means)
	return strings.Contains(means, "uncertainty") || strings.Contains(means, "deviation") || means == "" && sub != "" && (letter == "u" || letter == "σ")
}

// cyclic reports whether a symbol is a rate of cycles or of radians.
func (f *Finder) cyclic(name string) bool {
	return f.dim(name) == quantity.Frequency
}

// FindValue returns the slip that turns the key's value, with the given values
// of its symbols in SI, into the given one, to within a tolerance. Because one
// number can be met by chance, only slips that are common are considered, and
// rarer ones where the tolerance is tight.
func (f *Finder) FindValue(of map[string]float64, value, tolerance float64) (Found, bool) {
	f.mu.Lock()
	defer f.mu.Unlock()
	at := make([]vec, len(f.names))
	for i, name := range f.names {
		v, known := of[name]
		if !known {
			v = math.NaN()
		}
		for j := range points {
			at[i][j] = v
		}
	}
	s := f.search(at)
	m := &valueMatcher{value: value, tolerance: tolerance, most: commonRank}
	if tolerance <= tight*math.Abs(value) {
		m.most = rareRank
	}
	if s.key[0]-s.key[0] != 0 || value == 0 {
		return Found{}, false
	}
	s.sink = m
	s.run()
	return m.best.Found, m.found
}

// The ranks up to which a number's slip is told; tight is the relative
// tolerance from which chance is unlikely to meet one of some hundred values.
const (
	commonRank = 23
	rareRank   = 36
	tight      = 2e-3
)

// valueMatcher keeps the best explanation of a number.
type valueMatcher struct {
	value, tolerance float64
	most             int
	best             candidate
	found            bool
}

func (m *valueMatcher) quick(r0, _ float64) bool { return math.Abs(r0-m.value) <= m.tolerance }

func (m *valueMatcher) full(c candidate, r *vec) {
	if c.rank <= m.most && (!m.found || c.rank < m.best.rank) && c.Class != EqualWeights && c.Class != WrongSeries {
		m.best, m.found = c, true
	}
}
