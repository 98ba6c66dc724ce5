package derivation

import (
	"math/big"
	"slices"
	"sort"
	"strings"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/expr/equal"
)

// A system is a set of equations solved for some of their symbols.
type system struct {
	values    map[string]expr.Expr // each solved symbol in terms of free ones
	conflicts []int                // equations that contradict those before them
	where     []expr.Expr          // conditions, each positive
	positive  []expr.Expr          // solved symbols that should be positive, if there are such states
	errors    map[string]float64   // order of the error of solved symbols that are known less well
	partial   []string             // solved symbols that may have no value
	states    func() *states       // states found by numbers, where there are conflicts
}

// An equation is an expression that vanishes, with its origin.
type equation struct {
	zero  expr.Expr
	lone  []string // symbols that stand alone on one side
	fresh []string // symbols that occur in no equation before
	from  int      // index of the standing that it comes from
	order int      // how often it was differentiated along time
	// private counts the equations in which each symbol occurs.
	private map[string]int
	telling bool // it must say something about a symbol that is no parameter
}

// Limits on solving.
const (
	// maxOrder is how often a statement is differentiated along time.
	maxOrder = 3
	// maxSize bounds a solved symbol's tree; a worksheet's have some hundred
	// nodes.
	maxSize = 6_000
)

// solve solves equations in their order for one symbol each. Ranges say which
// symbols are positive.
//
// With strict, an equation that only restricts parameters is a conflict: so it
// is where something wrong is among the equations.
//
// Where one equation makes another's solution meaningless, as A = B does to
// c = k A/(A - B), the solving begins again with it in front.
func (b *board) solve(list []equation, strict bool) *system {
	const again = 4 // each time another equation comes in front
	front := 0
	for range again {
		s, spoiler := b.solveOnce(list, strict)
		if spoiler <= front {
			return s
		}
		q := list[spoiler]
		list = slices.Insert(slices.Delete(slices.Clone(list), spoiler, spoiler+1), front, q)
		front++
	}
	s, _ := b.solveOnce(list, strict)
	return s
}

// perEquation is what it costs to solve an equation, beside its size.
const perEquation = 500

// solveOnce solves equations in their order. It returns the index of the first
// that makes another's solution meaningless, -1 if none does.
func (b *board) solveOnce(list []equation, strict bool) (*system, int) {
	s := &system{values: map[string]expr.Expr{}, errors: map[string]float64{}}
	count := map[string]int{}
	for _, q := range list {
		for _, name := range q.zero.Symbols() {
			count[name]++
		}
	}
	for i, q := range list {
		q.private = count
		zero := s.resolve(q.zero)
		if !b.work.spend(perEquation + 3*zero.Size()) {
			return s, -1
		}
		if zero.IsZero() || zero.Size() > maxSize {
			continue
		}
		if _, _, number := zero.Number(); number {
			s.conflicts = append(s.conflicts, q.from)
			continue
		}
		if b.vanishes(zero) {
			continue
		}
		zero = b.reduce(zero)
		strict := strict || q.telling
		name, value, partial, ok := b.pivot(q, zero, strict)
		if !ok { // a symbol may be linear only once all is multiplied out
			name, value, partial, ok = b.pivot(q, b.reduce(expand(zero)), strict)
		}
		if !ok || value.Size() > maxSize {
			s.conflicts = append(s.conflicts, q.from)
			continue
		}
		one := map[string]expr.Expr{name: value}
		if b.spoils(s, one) {
			if q.order == 0 {
				return s, i
			}
			s.conflicts = append(s.conflicts, q.from)
			continue
		}
		b.noteError(s, q, name, value)
		for k, v := range s.values {
			if v.Has(name) {
				s.values[k] = v.Subs(one)
				b.work.spend(3 * s.values[k].Size())
			}
		}
		s.values[name] = value
		if partial { // a root or an inverse function: there are states only where it has a value
			s.partial = append(s.partial, name)
		}
	}
	for _, name := range s.partial {
		v := s.values[name]
		s.where = append(s.where, expr.Add(expr.Int(1), expr.Mul(v, v)))
	}
	return s, -1
}

// spoils reports whether values found so far would lose their meaning, or a
// parameter would be zero, once another symbol has its value.
func (b *board) spoils(s *system, one map[string]expr.Expr) bool {
	for name := range one {
		for k, v := range s.values {
			if v.Has(name) && (b.meaningless(v, one) || !b.varies[base(k)] && v.Subs(one).IsZero()) {
				return true
			}
		}
	}
	return false
}

// meaningless reports whether e is divided by something that vanishes once
// symbols have the given values.
func (b *board) meaningless(e expr.Expr, values map[string]expr.Expr) bool {
	if e.Kind() == expr.KindPower {
		args := e.Args()
		if p, _, ok := args[1].Number(); ok && p != nil && p.Sign() < 0 {
			if under := args[0].Subs(values); under.IsZero() || hasSum(under) && b.vanishes(under) {
				return true
			}
		}
	}
	return slices.ContainsFunc(e.Args(), func(a expr.Expr) bool { return b.meaningless(a, values) })
}

// resolve puts e in terms of the free symbols.
func (s *system) resolve(e expr.Expr) expr.Expr {
	if len(s.values) == 0 {
		return e
	}
	return e.Subs(s.values)
}

// vanishes reports whether e is zero everywhere, at a few points.
func (b *board) vanishes(e expr.Expr) bool {
	if !b.work.spend(perLink/2 + perNode/4*e.Size()) {
		return false
	}
	o := b.options(nil)
	o.Points = 3
	return equal.Zero(e, o).Verdict == equal.Same
}

// reduce drops factors that are not zero where all is well: parameters, and
// coordinates and velocities beside something of a higher order.
func (b *board) reduce(zero expr.Expr) expr.Expr {
	rank := func(name string) int {
		if !b.varies[base(name)] {
			return -1
		}
		return primes(name)
	}
	for again := true; again; {
		again = false
		names := zero.Symbols()
		if len(names) == 1 {
			if rest, ok := dividedBy(zero, names[0]); ok && len(rest.Symbols()) == 0 {
				return expr.Sym(names[0]) // -E' = 0
			}
		}
		if len(names) < 2 {
			return zero
		}
		slices.SortStableFunc(names, func(a, c string) int { return rank(a) - rank(c) })
		for _, name := range names {
			if rest, ok := dividedBy(zero, name); ok && len(rest.Symbols()) > 0 {
				zero, again = rest, true
				break
			}
		}
	}
	return zero
}

// dividedBy divides e by a symbol if it is a factor of every term.
func dividedBy(e expr.Expr, name string) (expr.Expr, bool) {
	switch e.Kind() {
	case expr.KindSymbol:
		return expr.Int(1), e.Name() == name
	case expr.KindPower:
		args := e.Args()
		n, whole := args[1].Integer()
		if whole && n > 1 && args[0].Kind() == expr.KindSymbol && args[0].Name() == name {
			return expr.Pow(args[0], expr.Int(n-1)), true
		}
	case expr.KindProduct:
		args := e.Args()
		for i, f := range args {
			if rest, ok := dividedBy(f, name); ok {
				args[i] = rest
				return expr.Mul(args...), true
			}
		}
	case expr.KindSum:
		args := e.Args()
		for i, t := range args {
			rest, ok := dividedBy(t, name)
			if !ok {
				return e, false
			}
			args[i] = rest
		}
		return expr.Add(args...), true
	}
	return e, false
}

// pivot chooses the symbol for which an equation is solved, and reports whether
// its value may not exist (partial): rather one that the
// equation introduces than one that was there, rather a high derivative than a
// coordinate.
func (b *board) pivot(q equation, zero expr.Expr, strict bool) (name string, value expr.Expr, partial, ok bool) {
	type candidate struct {
		name string
		cost int
	}
	var list []candidate
	for _, name := range zero.Symbols() {
		if q.order > 0 && primes(name) == 0 {
			continue
		}
		if c := b.cost(q, name, strict); !strict || c < parameter {
			list = append(list, candidate{name, c})
		}
	}
	sort.SliceStable(list, func(i, j int) bool { return list[i].cost < list[j].cost })
	var reserve *candidate
	var reserveValue expr.Expr
	for i, c := range list {
		v, power, ok := b.solveFor(zero, c.name)
		if !ok || v.IsZero() && (zero.Kind() != expr.KindSymbol || primes(c.name) == 0 && !slices.Contains(q.lone, c.name)) {
			continue
		}
		if _, _, number := v.Number(); number && !v.IsZero() && b.varies[base(c.name)] && !slices.Contains(q.lone, c.name) {
			continue // a coordinate is not one number
		}
		if power && reserve == nil && c.cost >= 20 {
			reserve, reserveValue = &list[i], v
			continue
		}
		return c.name, v, power, true
	}
	if reserve != nil {
		return reserve.name, reserveValue, true, true
	}
	return "", expr.Expr{}, false, false
}

func (b *board) cost(q equation, name string, strict bool) int {
	fresh := slices.Contains(q.fresh, base(name))
	lone := slices.Contains(q.lone, name)
	small := b.c.small[base(name)]
	switch {
	case lone && fresh && !small:
		return 0
	case fresh && !small && strict && b.defined(name) > 0:
		return max(1, 9-b.defined(name))
	case fresh && !small && q.order == 0 && b.defined(name) > 0:
		return 15
	case name == expr.TimeName:
		return parameter - 1
	case fresh && !small && q.order == 0 && q.private[name] == 1:
		return 8
	case fresh && !small && primes(name) == q.order && q.order == 0:
		return 10
	case lone && !small:
		return 20
	case primes(name) > 0:
		return 36 - 4*primes(name)
	case small:
		return parameter + 40
	case b.varies[name]:
		return parameter + 30
	}
	return parameter
}

// defined is the place among what stands, from 1, of the statement with a symbol
// alone on its side; 0 if there is none.
func (b *board) defined(name string) int {
	for i, s := range b.standing {
		if s.relation == "=" && (s.a.Kind() == expr.KindSymbol && s.a.Name() == name || s.b.Kind() == expr.KindSymbol && s.b.Name() == name) {
			return i + 1
		}
	}
	return 0
}

// parameter is the cost of solving for a symbol that is neither new nor a
// derivative nor alone on a side.
const parameter = 50

// solveFor solves zero = 0 for a symbol that occurs linearly, or in one power
// only (power = true).
//
// What the symbol is multiplied with must not vanish, also where that takes an
// identity to see.
func (b *board) solveFor(zero expr.Expr, name string) (value expr.Expr, power, ok bool) {
	place := zero
	exponent := big.NewRat(1, 1)
	if !linear(zero, name) {
		if v, ok := b.throughFunction(zero, name); ok {
			return v, true, true
		}
		var p *big.Rat
		if place, p = onePower(zero, name); p == nil || !linear(place, name) {
			return value, false, false
		}
		exponent = p
	}
	slope := place.Diff(name)
	if slope.IsZero() || hasSum(slope) && b.vanishes(slope) {
		return value, false, false
	}
	value = expr.Neg(expr.Div(place.Subs(map[string]expr.Expr{name: expr.Int(0)}), slope))
	if exponent.Cmp(big.NewRat(1, 1)) != 0 {
		return expr.Pow(value, expr.BigRat(new(big.Rat).Inv(exponent))), !exponent.IsInt() || exponent.Num().Bit(0) == 0, true
	}
	return value, false, true
}

// unwrapped writes a link with one inverse function by the function itself:
// θ = arccos u says cos θ = u, and means the branch on which the angle lies.
func (b *board) unwrapped(l link) (link, bool) {
	direct := map[expr.Function]func(expr.Expr) expr.Expr{expr.FnAsin: expr.Sin, expr.FnAcos: expr.Cos, expr.FnAtan: expr.Tan}
	if !l.equation() {
		return l, false
	}
	const place = "□"
	zero := l.zero()
	for _, k := range kernels(zero) {
		f := direct[k.Function()]
		if f == nil {
			continue
		}
		marked := replace(zero, k, expr.Sym(place))
		if v, _, ok := b.solveFor(marked, place); ok && !v.Has(place) {
			return link{f(v), k.Args()[0], l.relation}, true
		}
	}
	return l, false
}

// maxBreadth bounds the terms of what is multiplied out.
const maxBreadth = 2_000

// expand multiplies out, unless too much would come of it.
func expand(e expr.Expr) expr.Expr {
	if breadth(e) > maxBreadth {
		return e
	}
	return e.Expand()
}

// breadth is how many terms e may have once it is multiplied out.
func breadth(e expr.Expr) float64 {
	n := 1.0
	switch e.Kind() {
	case expr.KindSum:
		n = 0
		for _, a := range e.Args() {
			n += breadth(a)
		}
	case expr.KindProduct:
		for _, a := range e.Args() {
			n *= breadth(a)
		}
	case expr.KindPower:
		args := e.Args()
		k := breadth(args[0])
		p, whole := args[1].Integer()
		if !whole || p < 1 {
			return max(k, breadth(args[1]))
		}
		for i := 1.0; i <= float64(p) && n <= maxBreadth && k > 1; i++ {
			n *= (k - 1 + i) / i
		}
	case expr.KindCall:
		for _, a := range e.Args() {
			n = max(n, breadth(a))
		}
	}
	return n
}

// hasSum reports whether there is a sum in e, so that it may vanish unseen.
func hasSum(e expr.Expr) bool {
	return e.Kind() == expr.KindSum || slices.ContainsFunc(e.Args(), hasSum)
}

// throughFunction solves for a symbol that occurs only as the argument of one
// sine, cosine, tangent, exponential or logarithm, on its principal branch.
func (b *board) throughFunction(zero expr.Expr, name string) (value expr.Expr, ok bool) {
	inverses := map[expr.Function]func(expr.Expr) expr.Expr{
		expr.FnSin: expr.Asin, expr.FnCos: expr.Acos, expr.FnTan: expr.Atan, expr.FnExp: expr.Log, expr.FnLog: expr.Exp,
		expr.FnAsin: expr.Sin, expr.FnAcos: expr.Cos, expr.FnAtan: expr.Tan,
	}
	const place = "□"
	for _, k := range kernels(zero) {
		inverse := inverses[k.Function()]
		if inverse == nil || !k.Has(name) {
			continue
		}
		marked := replace(zero, k, expr.Sym(place))
		if marked.Has(name) || !linear(marked, place) || !linear(k.Args()[0], name) {
			return value, false
		}
		v, _, ok := b.solveFor(marked, place)
		if !ok {
			return value, false
		}
		v, _, ok = b.solveFor(expr.Sub(k.Args()[0], inverse(v)), name)
		return v, ok
	}
	return value, false
}

// linear reports whether a symbol occurs linearly in e. It multiplies out where
// that is needed to see it.
func linear(e expr.Expr, name string) bool {
	switch e.Kind() {
	case expr.KindSymbol, expr.KindNumber, expr.KindConstant:
		return true
	case expr.KindSum:
		for _, t := range e.Args() {
			if !linear(t, name) {
				return false
			}
		}
		return true
	case expr.KindProduct:
		found := false
		for _, f := range e.Args() {
			if !f.Has(name) {
				continue
			}
			if found || !linear(f, name) {
				return false
			}
			found = true
		}
		return true
	}
	return !e.Has(name)
}

// onePower replaces the only power in which a symbol occurs by the symbol
// itself, and returns the exponent, nil if it occurs otherwise too.
func onePower(e expr.Expr, name string) (expr.Expr, *big.Rat) {
	var p *big.Rat
	good := true
	var walk func(e expr.Expr) expr.Expr
	walk = func(e expr.Expr) expr.Expr {
		if !good || !e.Has(name) {
			return e
		}
		meet := func(x *big.Rat) {
			if p == nil {
				p = x
			} else if p.Cmp(x) != 0 {
				good = false
			}
		}
		switch e.Kind() {
		case expr.KindSymbol:
			meet(big.NewRat(1, 1))
			return e
		case expr.KindSum, expr.KindProduct:
			args := e.Args()
			for i, a := range args {
				args[i] = walk(a)
			}
			if e.Kind() == expr.KindSum {
				return expr.Add(args...)
			}
			return expr.Mul(args...)
		case expr.KindPower:
			args := e.Args()
			x, _, ok := args[1].Number()
			if !ok || x == nil {
				good = false
				return e
			}
			if args[0].Kind() == expr.KindSymbol && args[0].Name() == name {
				meet(x)
				return args[0]
			}
			// (a x b)^p with a factor x: split it off
			if rest, factor := splitFactor(args[0], name); factor {
				meet(x)
				return expr.Mul(expr.Sym(name), expr.Pow(rest, args[1]))
			}
			good = false
			return e
		}
		good = false
		return e
	}
	out := walk(e)
	if !good || p == nil {
		return e, nil
	}
	return out, p
}

// splitFactor takes a symbol that is a factor of e out.
func splitFactor(e expr.Expr, name string) (rest expr.Expr, ok bool) {
	if e.Kind() != expr.KindProduct {
		return e, false
	}
	var others []expr.Expr
	for _, f := range e.Args() {
		if f.Kind() == expr.KindSymbol && f.Name() == name {
			ok = true
			continue
		}
		if f.Has(name) {
			return e, false
		}
		others = append(others, f)
	}
	return expr.Mul(others...), ok
}

// equations lists the standing equations with their time derivatives. Those
// that only say what some derivative is that occurs nowhere else, and not among
// wanted, are left out.
func (b *board) equations(list []standing, wanted []string) []equation {
	order := 0
	note := func(name string) { order = max(order, primes(name)) }
	for _, name := range wanted {
		note(name)
	}
	var out []equation
	seen := map[string]bool{}
	for i, s := range list {
		if !s.equation() {
			continue
		}
		q := equation{zero: s.zero(), from: i}
		for _, side := range [2]expr.Expr{s.a, s.b} {
			if side.Kind() == expr.KindSymbol {
				q.lone = append(q.lone, side.Name())
			}
		}
		for _, name := range q.zero.Symbols() {
			note(name)
			if stem := base(name); !seen[stem] {
				q.fresh = append(q.fresh, stem)
			}
		}
		for _, name := range q.zero.Symbols() {
			seen[base(name)] = true
		}
		out = append(out, q)
	}
	names := make([]string, 0, len(b.varies))
	for name := range b.varies {
		names = append(names, name)
	}
	slices.Sort(names)
	for k, from := 1, out; k <= min(order, maxOrder); k++ {
		var next []equation
		for _, q := range from {
			if !b.moving(q.zero) || k == 1 && len(q.lone) == 0 && b.ties(q.zero) {
				continue
			}
			d := equation{zero: q.zero.TimeDiff(names...), fresh: q.fresh, from: q.from, order: k}
			for _, name := range q.lone {
				d.lone = append(d.lone, name+"'")
			}
			if !b.work.spend(10 * d.zero.Size()) {
				break
			}
			if !d.zero.IsZero() && d.zero.Size() < maxSize {
				next = append(next, d)
			}
		}
		out = append(out, next...)
		from = next
	}
	return prune(out, wanted)
}

// ties reports whether an equation between parameters and one coordinate would
// hold that coordinate fast: some of the parameters must change with time then,
// and its time derivative, taken as if they did not, means nothing.
func (b *board) ties(zero expr.Expr) bool {
	coordinates := map[string]bool{}
	for _, name := range zero.Symbols() {
		if primes(name) > 0 || name == expr.TimeName {
			return false
		}
		if b.varies[name] {
			coordinates[name] = true
		}
	}
	return len(coordinates) == 1
}

// prune leaves out differentiated equations with a derivative that occurs in no
// other equation and is not wanted.
func prune(list []equation, wanted []string) []equation {
	keep := map[string]bool{}
	for _, name := range wanted {
		keep[name] = true
	}
	for {
		count := map[string]int{}
		for _, q := range list {
			for _, name := range q.zero.Symbols() {
				count[name]++
			}
		}
		var next []equation
		for _, q := range list {
			private := false
			if q.order > 0 {
				for _, name := range q.zero.Symbols() {
					private = private || strings.HasSuffix(name, "'") && count[name] == 1 && !keep[name]
				}
			}
			if !private {
				next = append(next, q)
			}
		}
		if len(next) == len(list) {
			return list
		}
		list = next
	}
}

// options say at which values statements are compared.
func (b *board) options(s *system) equal.Options {
	o := equal.Options{Ranges: b.ranges(), Seed: b.c.p.Seed}
	if s != nil {
		o.Where = append(slices.Clone(s.where), s.positive...)
	}
	return o
}

// ranges are those of the problem, and both signs for coordinates and
// derivatives without any.
func (b *board) ranges() map[string]equal.Range {
	out := map[string]equal.Range{}
	for name, r := range b.c.p.Ranges {
		out[expr.Canonical(name)] = r
	}
	for name := range b.varies {
		if _, ok := out[name]; !ok {
			out[name] = equal.Range{From: -1.3, To: 1.3}
		}
		for k, d := 1, name+"'"; k <= maxOrder+2; k, d = k+1, d+"'" {
			if _, ok := out[d]; !ok {
				out[d] = equal.Range{From: -2, To: 2}
			}
		}
	}
	return out
}
