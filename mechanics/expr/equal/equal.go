package equal

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"counterpoise/mechanics/expr"
)

// A Verdict is what a comparison came to.
type Verdict uint8

const (
	Undecided Verdict = iota // Reason says why
	Same
	Different
)

// String returns the verdict in words.
func (v Verdict) String() string {
	return [...]string{"undecided", "same", "different"}[min(v, Different)]
}

// Options say where to compare. The zero value compares on [Default] ranges.
type Options struct {
	Ranges map[string]Range   // by symbol; Default for others
	Fixed  map[string]float64 // symbols with one value
	Seed   uint64             // of the random points; the same seed gives the same points
	// Where holds conditions: only points at which each of them is positive are
	// looked at.
	Where []expr.Expr
	// Points is at how many points both sides must have been seen to agree,
	// 0 for a number that fits the expressions (12 to 64).
	Points int
}

// A Result is a verdict with its grounds.
type Result struct {
	Verdict Verdict
	At      map[string]float64 // Different: a point at which the sides differ
	A, B    float64            // Different: their values there, NaN where there is none
	Reason  string             // in words, for Different and Undecided
	Points  int                // at which both sides were compared
	// Extended reports whether float64 did not suffice at some point. Two points
	// are compared in longer numbers in any case before a verdict of Same.
	Extended bool
}

// Limits on the work of one comparison.
const (
	// maxDraws is how many points are tried in search of some at which both
	// sides have values.
	maxDraws = 600
	// maxSteps bounds what is compared, so that a comparison ends within 50 ms.
	maxSteps = 20_000
	// maxLong is at how many points long numbers may be used.
	maxLong = 8
)

// precisions are the lengths in bits of the numbers tried in turn where float64
// does not tell.
var precisions = [...]uint{128, 384, 1152, 3072}

// Compare compares a and b over the ranges of their symbols.
func Compare(a, b expr.Expr, o Options) Result {
	if a.Equal(b) {
		return Result{Verdict: Same}
	}
	c := comparison{p: compile(append([]expr.Expr{a, b}, o.Where...)...), o: o}
	return c.run()
}

// Zero compares e with 0 over the ranges of its symbols.
func Zero(e expr.Expr, o Options) Result { return Compare(e, expr.Expr{}, o) }

// A comparison is one call of Compare at work.
type comparison struct {
	p       *program
	o       Options
	sampler sampler
	values  []float64
	floats  []approximation
	balls   []ball

	agreed   [][]float64 // points at which the sides agree
	longUsed int
	blunt    int // points at which float64 sees no difference, with a bound too wide to count
	extended bool
	only     [2]int   // inner points at which only this side has a value
	onlyAt   [2]point // the first of them
	doubtful int      // points at which nothing could be told
	none     int      // points at which neither side has a value
}

type point struct {
	values []float64
	a, b   float64
}

func (c *comparison) run() Result {
	if len(c.p.steps) > maxSteps {
		return Result{Reason: fmt.Sprintf("the expressions have more than %d operations", maxSteps)}
	}
	if reason := c.prepare(); reason != "" {
		return Result{Reason: reason}
	}
	need := c.need()
	for tries := 0; tries < maxDraws && len(c.agreed)+c.blunt < need; tries++ {
		inner := false
		if n := len(c.agreed); n > 0 && tries > maxDraws/2 && tries%2 == 0 {
			c.sampler.near(c.values, c.agreed[tries%n], 0.02) // values are rare: look around those found
		} else {
			inner = c.sampler.draw(c.values)
		}
		if r, done := c.at(inner); done {
			return r
		}
		if len(c.p.symbols) == 0 || c.only[0] > 3 || c.only[1] > 3 || c.doubtful > maxLong {
			break
		}
	}
	if r, done := c.oneSided(); done {
		return r
	}
	if len(c.agreed) == 0 {
		return c.nothing()
	}
	if r, done := c.bends(); done {
		return r
	}
	if r, done := c.confirm(); done {
		return r
	}
	if len(c.agreed) < min(3, need) {
		return Result{Reason: "both sides have values at too few points to tell", Points: len(c.agreed), Extended: c.extended}
	}
	return Result{Verdict: Same, Points: len(c.agreed), Extended: c.extended}
}

// prepare sets the ranges up.
func (c *comparison) prepare() (reason string) {
	n := len(c.p.symbols)
	c.values = make([]float64, n)
	c.floats = make([]approximation, len(c.p.steps))
	c.sampler = sampler{ranges: make([]Range, n), random: rand.New(rand.NewPCG(c.o.Seed, 0x2545F4914F6CDD1D))}
	for i, name := range c.p.symbols {
		r, ok := c.o.Ranges[name]
		if !ok {
			r = Default
		}
		if v, ok := c.o.Fixed[name]; ok {
			r = Range{v, v}
		}
		if !(r.From <= r.To) || math.IsInf(r.From, 0) || math.IsInf(r.To, 0) {
			return fmt.Sprintf("the range of %s is empty or infinite: from %g to %g", name, r.From, r.To)
		}
		c.sampler.ranges[i] = r
	}
	return ""
}

// need is at how many points the sides must agree.
func (c *comparison) need() int {
	switch {
	case c.o.Points > 0:
		return c.o.Points
	case len(c.p.symbols) == 0:
		return 1
	case len(c.p.bends) > 0:
		return 64
	case c.p.rooted:
		return 32
	}
	return 12
}

// at compares the sides at the values drawn.
func (c *comparison) at(inner bool) (r Result, done bool) {
	c.p.evalFloat(c.values, c.floats)
	for _, k := range c.p.outputs[2:] {
		if w := c.floats[k]; w.s != fine || w.v <= w.e {
			return r, false
		}
	}
	a, b := c.floats[c.p.outputs[0]], c.floats[c.p.outputs[1]]
	switch {
	case a.s == undefined && b.s == undefined:
		c.none++
		return r, false
	case a.s == fine && b.s == undefined, a.s == undefined && b.s == fine:
		c.lone(a, b, inner)
		return r, false
	case a.s == fine && b.s == fine:
		d := math.Abs(a.v - b.v)
		e := (a.e+b.e)*(1+1e-9) + d*unit
		if d > e {
			return c.different(a.v, b.v), true
		}
		const sharp = 1e-9 // a bound this small beside the values leaves no doubt that long numbers could clear cheaply
		if e <= sharp*(math.Abs(a.v)+math.Abs(b.v)) {
			c.agree()
			return r, false
		}
	}
	if c.longUsed >= maxLong {
		c.blunt++
		return r, false
	}
	c.longUsed++
	c.extended = true
	bound := 0.0
	if a.s == fine && b.s == fine {
		bound = a.e + b.e
	}
	return c.long(inner, newMagnitude(bound))
}

func (c *comparison) agree() { c.agreed = append(c.agreed, slices.Clone(c.values)) }

func (c *comparison) lone(a, b approximation, inner bool) {
	if !inner {
		return // at an end of a range one side may be undefined by chance
	}
	side := 0
	if a.s != fine {
		side = 1
	}
	if c.only[side]++; c.only[side] == 1 {
		p := point{values: slices.Clone(c.values), a: a.v, b: b.v}
		if side == 0 {
			p.b = math.NaN()
		} else {
			p.a = math.NaN()
		}
		c.onlyAt[side] = p
	}
}

func (c *comparison) different(a, b float64) Result {
	at := make(map[string]float64, len(c.p.symbols))
	for i, name := range c.p.symbols {
		at[name] = c.values[i]
	}
	return Result{Verdict: Different, At: at, A: a, B: b, Reason: "the values differ", Points: len(c.agreed) + 1, Extended: c.extended}
}

// long compares the sides in longer and longer numbers. Before is the bound of
// the last comparison, 0 if there is none; where the sides are zero they agree
// if they do so with a much smaller bound.
func (c *comparison) long(inner bool, before magnitude) (r Result, done bool) {
	if c.balls == nil {
		c.balls = make([]ball, len(c.p.steps))
	}
	for _, p := range precisions {
		b := bench{p: p}
		c.p.evalBall(c.values, b, c.balls)
		x, y := c.balls[c.p.outputs[0]], c.balls[c.p.outputs[1]]
		switch {
		case x.s == undefined && y.s == undefined:
			c.none++
			return r, false
		case x.s == fine && y.s == undefined, x.s == undefined && y.s == fine:
			c.lone(x.approximate(), y.approximate(), inner)
			return r, false
		case x.s == unclear || y.s == unclear:
			continue
		}
		d := b.minus(x, y)
		if sign, sure := d.sign(); sure && sign != 0 {
			return c.different(x.approximate().v, y.approximate().v), true
		}
		size := magnitudeOf(x.mid).plus(magnitudeOf(y.mid))
		const sharp = -60 // bits of agreement beyond float64's that settle it
		if d.rad.isZero() || d.rad.less(size.times(power2(sharp))) ||
			!before.isZero() && d.rad.less(before.times(power2(sharp))) {
			c.agree()
			return r, false
		}
		before = d.rad
	}
	c.doubtful++
	return r, false
}

func (x ball) approximate() approximation {
	if x.s != fine {
		return approximation{s: x.s}
	}
	v, _ := x.mid.Float64()
	return approximation{v: v}
}

// confirm compares two points at which float64 found no difference in long
// numbers.
func (c *comparison) confirm() (r Result, done bool) {
	const points = 2
	if c.balls == nil {
		c.balls = make([]ball, len(c.p.steps))
	}
	n := len(c.agreed)
	for k := range min(points, n) {
		copy(c.values, c.agreed[k*(n-1)/max(1, points-1)])
		b := bench{p: precisions[0]}
		c.p.evalBall(c.values, b, c.balls)
		x, y := c.balls[c.p.outputs[0]], c.balls[c.p.outputs[1]]
		if x.s != fine || y.s != fine {
			continue
		}
		if sign, sure := b.minus(x, y).sign(); sure && sign != 0 {
			c.extended = true
			return c.different(x.approximate().v, y.approximate().v), true
		}
	}
	return r, false
}

// oneSided judges points at which only one side has a value.
func (c *comparison) oneSided() (r Result, done bool) {
	for side, n := range c.only {
		if n < 2 && !(n == 1 && len(c.agreed) == 0) {
			continue
		}
		p := c.onlyAt[side]
		copy(c.values, p.values)
		r := c.different(p.a, p.b)
		names := [2]string{"the second side", "the first side"}
		r.Reason = names[side] + " has no value at some points where the other has one"
		if len(c.agreed) == 0 && c.only[1-side] == 0 {
			r.Reason = names[side] + " has no value anywhere in the ranges"
		}
		return r, true
	}
	return r, false
}

// nothing explains why no point could be compared.
func (c *comparison) nothing() Result {
	r := Result{Extended: c.extended}
	switch {
	case c.doubtful > 0:
		r.Reason = fmt.Sprintf("the sides are too close to tell, or at the edge of having a value, even with %d bits", precisions[len(precisions)-1])
	case c.only[0]+c.only[1] > 0:
		r.Reason = "the sides have values at different points"
	default:
		r.Reason = "neither side has a value anywhere in the ranges"
	}
	return r
}
