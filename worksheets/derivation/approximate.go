package derivation

import (
	"math"
	"math/rand/v2"
	"slices"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/expr/equal"
)

// agrees reports whether two sides, put in terms of the free symbols, agree to
// the order that is allowed in the small quantities.
//
// The small symbols and their time derivatives are scaled down together, and
// the order at which the difference vanishes is measured. It must be beyond the
// allowed order, beyond the order of the leading terms, and beyond the highest
// order that a side written as a polynomial shows.
func (b *board) agrees(s *system, x, y expr.Expr, l link) bool {
	small := b.smallSymbols(s)
	if len(small) == 0 {
		return false
	}
	g := gauge{b: b, small: small, x: x, y: y, left: termsOf(x), right: termsOf(y), where: append(slices.Clone(s.where), s.positive...)}
	g.least = max(b.c.order, shownOrder(x, y, small))
	for _, name := range wantedBy(l) {
		if e, ok := s.errors[name]; ok {
			g.blunt = append(g.blunt, bluntness{s.resolve(l.zero().Diff(name)), e})
		}
	}
	if l.relation == "≈" && (l.a.IsZero() || l.b.IsZero()) && len(g.left) <= 1 && len(g.right) <= 1 {
		g.whole = true // a term of higher order is left out as a whole
	}
	ranges := b.ranges()
	names := append(x.Symbols(), y.Symbols()...)
	for _, t := range append(slices.Clone(g.left), g.right...) {
		names = append(names, t.Symbols()...)
	}
	for _, d := range g.blunt {
		names = append(names, d.slope.Symbols()...)
	}
	for _, c := range g.where {
		names = append(names, c.Symbols()...)
	}
	slices.Sort(names)
	names = slices.Compact(names)
	random := rand.New(rand.NewPCG(b.c.p.Seed, 7))
	const points, need = 200, 3 // there are states at few points where a root decides
	good := 0
	for k := range points {
		if !b.work.spend(20 + (x.Size()+y.Size())/2) {
			return false
		}
		if k == points/2 && good == 0 { // there are no states with all signs as listed
			g.where = nil
		}
		values := draw(names, small, ranges, random)
		verdict, ok := g.at(values)
		if !ok {
			continue
		}
		if !verdict {
			return false
		}
		if good++; good == need {
			return true
		}
	}
	return false
}

// draw draws values, those of small symbols of about 1, to be scaled down.
func draw(names []string, small map[string]bool, ranges map[string]equal.Range, random *rand.Rand) map[string]float64 {
	values := map[string]float64{}
	for _, name := range names {
		r, ok := ranges[name]
		switch {
		case small[base(name)]:
			r.From, r.To = 0.3, 1
		case !ok:
			r = equal.Default
		}
		values[name] = r.From + random.Float64()*(r.To-r.From)
		if small[base(name)] && random.IntN(2) == 0 {
			values[name] = -values[name]
		}
	}
	return values
}

// scaled is a copy of values with the small ones scaled down, in steps.
func scaled(values map[string]float64, small map[string]bool, step int) map[string]float64 {
	here := make(map[string]float64, len(values))
	by := 0.02 * math.Pow(0.5, float64(step))
	for name, v := range values {
		if small[base(name)] {
			v *= by
		}
		here[name] = v
	}
	return here
}

// orderOf is the order in the small symbols at which e vanishes at a point; a
// large number if it is zero, and false where it has no value.
func orderOf(e expr.Expr, values map[string]float64, small map[string]bool) (float64, bool) {
	const never = 99
	p, err := e.Eval(scaled(values, small, 1))
	q, err2 := e.Eval(scaled(values, small, 2))
	if err != nil || err2 != nil {
		return 0, false
	}
	if q == 0 {
		return never, true
	}
	return math.Round(math.Log2(math.Abs(p / q))), true
}

// A bluntness is a symbol that is known only up to some order, as K is from
// ½ K θ² = V - V_0, where V is known to the second order only: how the line
// changes with it, and the order of its error.
type bluntness struct {
	slope expr.Expr
	order float64
}

// noteError notes the order of the error of a symbol that zero was solved for:
// dividing by something small makes it worse.
func (b *board) noteError(s *system, q equation, name string, value expr.Expr) {
	if len(b.c.small) == 0 {
		return
	}
	slope := q.zero.Diff(name)
	touched := false
	for _, n := range q.zero.Symbols() {
		_, known := s.errors[n]
		touched = touched || known
	}
	for n := range b.c.small {
		touched = touched || slope.Has(n)
	}
	if !touched {
		return
	}
	all := append(q.zero.Symbols(), value.Symbols()...)
	for _, v := range s.values {
		all = append(all, v.Symbols()...)
	}
	values := draw(all, b.c.small, b.ranges(), rand.New(rand.NewPCG(b.c.p.Seed, 5)))
	at := map[string]expr.Expr{name: value}
	down, ok := orderOf(s.resolve(slope).Subs(at), values, b.c.small)
	if !ok {
		return
	}
	worst := float64(b.c.order + 1)
	for n, e := range s.errors {
		if !q.zero.Has(n) {
			continue
		}
		if up, ok := orderOf(s.resolve(q.zero.Diff(n)).Subs(at), values, b.c.small); ok {
			worst = min(worst, up+e)
		}
	}
	if e := worst - down; e < float64(b.c.order+1) {
		s.errors[name] = e
	}
}

// smallSymbols are the small quantities by name, with those in terms of which
// one was solved.
func (b *board) smallSymbols(s *system) map[string]bool {
	small := map[string]bool{}
	for name := range b.c.small {
		small[name] = true
		v, ok := s.values[name]
		if !ok {
			continue
		}
		for _, other := range v.Symbols() {
			if b.varies[base(other)] {
				small[base(other)] = true
			}
		}
	}
	return small
}

// A gauge measures the order at which the difference of two sides vanishes.
type gauge struct {
	b           *board
	small       map[string]bool
	x, y        expr.Expr
	left, right []expr.Expr // terms of the sides
	least       int         // the difference must be of a higher order than this
	blunt       []bluntness // symbols of the line that are known only roughly
	where       []expr.Expr // conditions, each positive
	whole       bool        // the line leaves out a term as a whole
}

// at measures at one point. It reports ok = false where the sides have no
// value.
func (g *gauge) at(values map[string]float64) (verdict, ok bool) {
	const steps = 3
	var gap, size [steps]float64
	for i := range steps {
		here := scaled(values, g.small, i)
		for _, c := range g.where {
			if v, err := c.Eval(here); err != nil || v <= 0 {
				return false, false
			}
		}
		p, err := g.x.Eval(here)
		q, err2 := g.y.Eval(here)
		if err != nil || err2 != nil {
			return false, false
		}
		gap[i] = math.Abs(p - q)
		size[i] = max(math.Abs(p), math.Abs(q))
		// Where a side is zero, as in … = 0, the terms say how large things are.
		const none = 1e-9
		left, right := largest(g.left, here), largest(g.right, here)
		if math.Abs(p) <= none*left || math.Abs(q) <= none*right || p == 0 || q == 0 {
			size[i] = max(left, right)
		}
	}
	last, before := steps-1, steps-2
	const noise = 1e-11 // of the terms, in float64
	if gap[last] <= noise*size[last] || size[last] == 0 {
		return true, true
	}
	lead := math.Round(math.Log2(size[before] / size[last]))
	gone := math.Log2(gap[before] / gap[last])
	need := max(float64(g.least), lead)
	switch {
	case lead < 0: // what grows beyond bounds is compared by its leading term
		need = lead
	case g.whole:
		need = float64(g.b.c.order)
	}
	for _, d := range g.blunt {
		if up, ok := orderOf(d.slope, values, g.small); ok && lead >= 0 {
			need = max(lead, min(need, up+d.order-1))
		}
	}
	const blur = 0.35 // the order is seen at finite values
	return gone >= need+1-blur, true
}

// largest is the largest modulus of the terms.
func largest(terms []expr.Expr, at map[string]float64) (m float64) {
	for _, t := range terms {
		if v, err := t.Eval(at); err == nil {
			m = max(m, math.Abs(v))
		}
	}
	return m
}

// termsOf are the terms of a sum, multiplied out once.
func termsOf(e expr.Expr) []expr.Expr {
	if e.Kind() != expr.KindSum {
		const worth = 400 // nodes up to which multiplying out is cheap
		if e.Size() < worth {
			if x := expand(e); x.Kind() == expr.KindSum {
				return x.Args()
			}
		}
		return []expr.Expr{e}
	}
	return e.Args()
}

// shownOrder is the order in the small quantities up to which two sides that
// agree show all terms: the degree of a side that is a polynomial in them, the
// lower one if both are; 0 if neither is one.
func shownOrder(x, y expr.Expr, small map[string]bool) int {
	a, aOK := degree(x, small)
	c, cOK := degree(y, small)
	switch {
	case aOK && cOK:
		return min(a, c)
	case aOK:
		return a
	case cOK:
		return c
	}
	return 0
}

// degree is the degree of e in the small symbols, if e is a polynomial in
// them.
func degree(e expr.Expr, small map[string]bool) (n int, ok bool) {
	switch e.Kind() {
	case expr.KindSymbol:
		if small[base(e.Name())] {
			return 1, true
		}
		return 0, true
	case expr.KindNumber, expr.KindConstant:
		return 0, true
	case expr.KindSum, expr.KindProduct:
		for _, a := range e.Args() {
			d, ok := degree(a, small)
			if !ok {
				return 0, false
			}
			if e.Kind() == expr.KindSum {
				n = max(n, d)
			} else {
				n += d
			}
		}
		return n, true
	case expr.KindPower:
		args := e.Args()
		d, ok := degree(args[0], small)
		x, whole := args[1].Integer()
		if d == 0 && ok {
			return 0, true
		}
		if !ok || !whole || x < 0 || x > 20 {
			return 0, false
		}
		return d * int(x), true
	}
	for _, name := range e.Symbols() {
		if small[base(name)] {
			return 0, false
		}
	}
	return 0, true
}
