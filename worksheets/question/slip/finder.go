package slip

import (
	"maps"
	"math"
	"slices"
	"sync"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/expr/equal"
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
	Offset  int                // which points are compared, see [Finder.Offset]
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
	derived []expr.Expr        // of the key, by each name; made when first needed
	known   []Known            // every slip, made when first needed
	values  map[string]float64 // of the symbols, for which
	numbers []Known            // these are the slips of the key's number
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
	if o.Offset == 0 && !key.IsZero() {
		f.choose()
	}
	return f
}

// fraction spreads the points of comparison over the ranges: no two symbols
// get the same one at the same point, and none is a simple fraction.
func fraction(symbol, point int) float64 {
	const golden, silver = 0.6180339887498949, 0.4142135623730951
	x := 0.137 + golden*float64(point+1) + silver*float64(symbol+1) + 0.0931*float64(point*symbol)
	return 0.03 + 0.94*(x-math.Floor(x))
}

// spread lays out the points over the symbols' ranges.
func (f *Finder) spread() []vec { return f.spreadFrom(f.o.Offset) }

func (f *Finder) spreadFrom(offset int) []vec {
	at := make([]vec, len(f.names))
	for i, name := range f.names {
		r := f.o.Symbols[name].Range
		if r == (Range{}) {
			r = Range{0.1, 10}
		}
		for j := range points {
			at[i][j] = r.From + (r.To-r.From)*fraction(i, j+points*offset)
		}
	}
	return at
}

// maxOffset bounds the search for points at which the key has values.
const maxOffset = 120

// choose finds the offset of points at which the key has the most values.
func (f *Finder) choose() {
	best := -1
	for offset := range maxOffset {
		n := 0
		for _, v := range f.reckon(f.key, f.spreadFrom(offset)) {
			if v-v == 0 {
				n++
			}
		}
		if n > best {
			best, f.o.Offset = n, offset
		}
		if n == points {
			return
		}
	}
}

// Offset returns which points are compared: the first at which the key has
// values. Whoever computes values for this key elsewhere sets it in Options.
func (f *Finder) Offset() int { return f.o.Offset }

// Find returns the slip that turns the key into the answer, if there is one; has
// tells whether a symbol, or [Decimal], occurs in it as it was written.
func (f *Finder) Find(answer expr.Expr, has func(symbol string) bool) (Found, bool) {
	for _, name := range answer.Symbols() {
		if !slices.Contains(f.names, name) {
			return Found{}, false
		}
	}
	if answer.Size() > maxParts {
		return Found{}, false
	}
	at := f.spread()
	return f.find(at, f.reckon(answer, at), has)
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
	if !usable(answer) {
		return Found{}, false
	}
	var alone, withFactor []Entry
	known := f.All()
	for i := range known {
		e := known[i].Entry
		ratio, ok := constantRatio(&answer, &known[i].at)
		if !ok {
			continue
		}
		if close(ratio, 1) {
			alone = append(alone, e)
		} else if also, simple := simpleFactor(ratio); simple && e.With(also) {
			withFactor = append(withFactor, e)
		}
	}
	for _, fit := range [][]Entry{alone, withFactor} {
		if best, ok := Best(fit, has); ok {
			return best.Found, true
		}
	}
	if own := f.reckon(f.key, at); near(&answer, &own) && has(Decimal) {
		return Found{Class: Rounded}, true
	}
	shape, ok := f.Shape()
	if ratio, same := constantRatio(&answer, &shape.at); ok && same && !close(ratio, 1) {
		return shape.Found, true
	}
	return Found{}, false
}

// near reports whether two lists of values count as the same: an answer that
// is not the key but so near has a number with many figures in it.
func near(a, b *vec) bool {
	ratio, ok := constantRatio(a, b)
	return ok && close(ratio, 1)
}

// Shape returns the slip of an answer that is the key but for a constant factor
// nobody has a name for: its values are the key's own. ok is false where the
// key has no letters.
func (f *Finder) Shape() (k Known, ok bool) {
	return Known{Entry{Found: Found{Class: FactorOther}, Rank: shapeRank}, f.reckon(f.key, f.spread())}, len(f.key.Symbols()) > 0
}

// shapeRank comes after everything else.
const shapeRank = 99

// Values returns the values of an expression at the points at which it is
// compared, NaN where there is none.
func Values(e expr.Expr, o Options) []float64 {
	f := New(expr.Expr{}, o)
	v := f.reckon(e, f.spread())
	return v[:]
}

// reckon computes an expression at the points, in longer numbers where float64
// would lose figures; NaN where it has letters that are not known.
func (f *Finder) reckon(e expr.Expr, at []vec) (v vec) {
	index := make(map[string]int, len(f.names))
	for i, name := range f.names {
		index[name] = i
	}
	r := equal.NewReckoner(e)
	for j := range v {
		v[j] = r.Value(func(name string) float64 {
			if i, known := index[name]; known {
				return at[i][j]
			}
			return math.NaN()
		})
	}
	return v
}

// ValuesOf is Values for what is known by its values only.
func ValuesOf(o Options, value func(at map[string]float64) float64) []float64 {
	f := New(expr.Expr{}, o)
	v := f.valuesOf(f.spread(), value)
	return v[:]
}

// A Known is a slip with the values that the changed key has at the points of
// comparison.
type Known struct {
	Entry
	at vec
}

// Values are the changed key's values at the points of comparison.
func (k Known) Values() []float64 { return k.at[:] }

// All returns every slip that [Finder.Find] knows of this key, the most
// specific first. Those that need the letters of an answer to decide are
// returned beside the others; [Best] decides. The caller must not change it.
func (f *Finder) All() []Known {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.known == nil {
		f.known = f.collect(f.spread(), 0)
	}
	return f.known
}

// AllValues returns every slip that [Finder.FindValue] knows of this key at
// the given values of its symbols. The caller must not change it.
func (f *Finder) AllValues(of map[string]float64) []Known {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.numbers == nil || !maps.Equal(f.values, of) {
		f.values, f.numbers = maps.Clone(of), f.collect(f.fixed(of), rareRank)
	}
	return f.numbers
}

// fixed lays out the points at one set of values.
func (f *Finder) fixed(of map[string]float64) []vec {
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
	return at
}

// FindValue returns the slip that turns the key's value, with the given values
// of its symbols in SI, into the given one, to within a tolerance. Because one
// number can be met by chance, only slips that are common are considered, and
// rarer ones where the tolerance is tight.
func (f *Finder) FindValue(of map[string]float64, value, tolerance float64) (Found, bool) {
	if value == 0 {
		return Found{}, false
	}
	var fit []Entry
	for _, k := range f.AllValues(of) {
		if math.Abs(k.at[0]-value) <= tolerance && !k.Rare(value, tolerance) {
			fit = append(fit, k.Entry)
		}
	}
	best, ok := Best(fit, func(string) bool { return false })
	return best.Found, ok
}
