package question

import (
	"fmt"
	"maps"
	"math"
	"slices"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/expr/equal"
	"counterpoise/mechanics/expr/parse"
	"counterpoise/worksheets/question/slip"
)

// equation is a statement with =, right in any form that holds for the same
// values of its letters: rearranged, multiplied by what is not zero, solved
// for another letter.
type equation struct {
	key    expr.Expr // left side less right side
	about  string    // the letter for which slips are looked for
	solved expr.Expr // the key solved for it
	finder *slip.Finder
	slips  []foreseen // gives: left side less right side
	secret secret
	locked bool // the key is sealed: lock opens it, or nothing if nil
	lock   Lock
}

func compileEquation(a *Asked) (judge, error) {
	zero, err := a.equationKey("key", a.Question.Key)
	if err != nil {
		return nil, err
	}
	if _, _, err := a.dimension(zero); err != nil {
		return nil, a.fault("key", err.Error(), "")
	}
	x := &equation{key: a.withoutFactors(zero, func(name string) bool { return name != expr.Canonical(a.Question.Solve) })}
	zero = x.key
	if a.Question.Solve != "" {
		x.about = expr.Canonical(a.Question.Solve)
		if !zero.Has(x.about) {
			return nil, a.fault("solve", fmt.Sprintf("%s does not occur in the key", x.about), "name a letter of the key")
		}
		if !linear(zero, x.about) {
			_, x.solved = a.unwrapped(zero, []string{x.about})
		}
		if !linear(zero, x.about) && x.solved.IsZero() {
			return nil, a.fault("solve", fmt.Sprintf("the key cannot be solved for %s, which does not occur to the first power", x.about), "name another letter, or rearrange the key")
		}
	} else if x.about = linearIn(zero, a.preferred(zero)); x.about == "" {
		if x.about, x.solved = a.unwrapped(zero, a.preferred(zero)); x.about == "" {
			return nil, a.fault("key", "no letter occurs in it to the first power", "rearrange the key so that one does")
		}
	}
	if linear(zero, x.about) {
		x.solved = solve(zero, x.about)
	}
	d := a.dims[x.about]
	x.finder, x.secret = a.finder(x.solved, d, a.symbols[x.about].Unit), secretOf(a.Question.Key, x.solved)
	x.secret.symbol = "" // the letters of an equation are no secret
	for i, s := range a.Question.Slips {
		gives, err := a.equationKey(fmt.Sprintf("slips/%d/gives", i), s.Gives)
		if err != nil {
			return nil, err
		}
		if x.same(a, gives) == equal.Same {
			return nil, a.fault(fmt.Sprintf("slips/%d/gives", i), fmt.Sprintf("%q is the right answer", s.Gives), "change the slip or the key")
		}
		x.slips = append(x.slips, foreseen{s, gives})
	}
	return x, nil
}

// equationKey reads an equation of the teacher's as one side less the other.
func (a *Asked) equationKey(field, text string) (expr.Expr, error) {
	s, err := a.readKey(field, text)
	if err != nil {
		return expr.Expr{}, err
	}
	if len(s.Sides) != 2 || s.Relations[0] != "=" {
		return expr.Expr{}, a.fault(field, "is no equation", "write left side = right side")
	}
	return s.Sides[0].Minus(s.Sides[1]), nil
}

// preferred lists the letters of an equation in the order in which it is
// natural to solve for them: highest time derivatives first, then the others.
func (a *Asked) preferred(e expr.Expr) []string {
	names := e.Symbols()
	primes := func(s string) int {
		n := 0
		for ; n < len(s) && s[len(s)-1-n] == '\''; n++ {
		}
		return n
	}
	slices.SortStableFunc(names, func(x, y string) int { return primes(y) - primes(x) })
	return names
}

// linear reports whether e contains the letter to the first power only.
func linear(e expr.Expr, name string) bool {
	slope := e.Diff(name)
	return !slope.IsZero() && !slope.Has(name)
}

// linearIn returns the first of the letters that e contains to the first power
// only, or "".
func linearIn(e expr.Expr, names []string) string {
	for _, name := range names {
		if linear(e, name) {
			return name
		}
	}
	return ""
}

// solve solves e = 0 for a letter in which e is linear.
func solve(e expr.Expr, name string) expr.Expr {
	return expr.Div(expr.Neg(e.Subs(map[string]expr.Expr{name: {}})), e.Diff(name))
}

func (x *equation) check(a *Asked, answer string) Verdict {
	readings, v, ok := a.read(answer)
	if !ok {
		return v
	}
	if len(readings[0].Sides) < 2 {
		v.Outcome, v.Slip = Unreadable, "no equation"
		v.Say = "An equation is asked: write both sides, with = between them."
		return v
	}
	if !slices.Contains(readings[0].Relations, "=") || slices.ContainsFunc(readings[0].Relations, func(r string) bool { return r != "=" }) {
		v.Outcome = Unreadable
		v.Say = "An equation is asked: write = between the sides."
		return v
	}
	if x.locked {
		if x.lock == nil {
			return a.kept(v)
		}
		for _, o := range a.otherwise(answer) {
			readings = append(readings, o.Statement)
		}
		for _, r := range readings {
			if len(r.Sides) < 2 {
				continue
			}
			if full, ok := x.lock.Key(x.prints(a, zeroOf(r), printEdge)); ok {
				return full.Check(answer)
			}
		}
	} else if v, done := x.decided(a, v, answer, readings); done {
		return v
	}
	v.Outcome = Wrong
	for i, r := range readings[:min(len(readings), explained)] {
		if len(r.Sides) > 1 && x.explain(a, &v, zeroOf(r), hasIn(answer, zeroOf(r)), i == 0) {
			break
		}
	}
	return v
}

// decided judges the readings by the key.
func (x *equation) decided(a *Asked, v Verdict, answer string, readings []parse.Statement) (Verdict, bool) {
	undecided := false
	for i, r := range readings {
		switch x.compare(a, r) {
		case equal.Same:
			if i == 0 {
				return a.right(v), true
			}
			return a.ambiguous(v, readings[0], r), true
		case equal.Undecided:
			undecided = true
		}
	}
	for _, o := range a.otherwise(answer) {
		if x.compare(a, o.Statement) == equal.Same {
			return a.mend(v, readings[0], o), true
		}
	}
	if undecided {
		return a.undecided(v), true
	}
	return v, false
}

// undecided leaves an answer to a human.
func (a *Asked) undecided(v Verdict) Verdict {
	v.Outcome = ForHuman
	v.Say = "This could not be decided by comparing numbers: your tutor will look at it."
	return v
}

// zeroOf returns the first side of a statement less its last.
func zeroOf(s parse.Statement) expr.Expr {
	return s.Sides[0].Minus(s.Sides[len(s.Sides)-1])
}

// compare judges a statement; of a chain a = b = c the ends must be the key,
// and every link must hold where the key holds.
func (x *equation) compare(a *Asked, s parse.Statement) equal.Verdict {
	if len(s.Sides) < 2 {
		return equal.Different
	}
	if s.Lower != nil {
		return equal.Different // ± is two statements
	}
	out := x.same(a, zeroOf(s))
	for i := 1; i < len(s.Sides) && len(s.Sides) > 2 && out == equal.Same; i++ {
		link := s.Sides[i-1].Minus(s.Sides[i])
		out = equal.Zero(x.onKey(link), a.compare).Verdict
	}
	return out
}

// onKey returns e where the key holds.
func (x *equation) onKey(e expr.Expr) expr.Expr {
	return e.Subs(map[string]expr.Expr{x.about: x.solved})
}

// same reports whether zero = 0 holds exactly where the key holds, within the
// ranges of the letters.
func (x *equation) same(a *Asked, zero expr.Expr) equal.Verdict {
	zero = a.withoutFactors(zero, func(name string) bool { return !x.key.Has(name) })
	if zero.Equal(x.key) || zero.Equal(expr.Neg(x.key)) {
		return equal.Same
	}
	// A letter in which both are linear settles it at once.
	for _, name := range zero.Symbols() {
		if linear(x.key, name) && linear(zero, name) {
			return equal.Compare(solve(zero, name), solve(x.key, name), a.compare).Verdict
		}
	}
	// The answer must hold where the key does …
	if v := equal.Zero(x.onKey(zero), a.compare).Verdict; v != equal.Same {
		return v
	}
	if equal.Zero(zero, a.compare).Verdict == equal.Same {
		return equal.Different // it holds everywhere and so says nothing
	}
	// … and nowhere else.
	if name := linearIn(zero, a.preferred(zero)); name != "" {
		back := x.key.Subs(map[string]expr.Expr{name: solve(zero, name)})
		if v := equal.Zero(back, a.compare).Verdict; v != equal.Undecided {
			return v
		}
	}
	return x.scan(a, zero)
}

// scan looks along the letter that the key is solved for, at many places, for
// a point where the answer holds and the key does not.
func (x *equation) scan(a *Asked, zero expr.Expr) equal.Verdict {
	const lines, steps = 8, 64
	at := map[string]float64{}
	seen := 0
	for line := range lines {
		for i, name := range a.names {
			s := a.symbols[name]
			f := math.Mod(0.137+0.618033988749895*float64(line+1)+0.414213562373095*float64(i+1), 1)
			at[name] = s.from + (s.to-s.from)*(0.05+0.9*f)
		}
		root, err := x.solved.Eval(at)
		if err != nil {
			continue
		}
		s := a.symbols[x.about]
		from, to := s.from, s.to
		if s.Symbol.From == 0 && s.Symbol.To == 0 { // nobody said where the letter ends
			from, to = min(from, root/4, root*4), max(to, root/4, root*4)
		}
		value := func(v float64) float64 {
			at[x.about] = v
			y, err := zero.Eval(at)
			if err != nil {
				return math.NaN()
			}
			return y
		}
		last, lastAt := value(from), from
		for k := 1; k <= steps; k++ {
			v := from + (to-from)*float64(k)/steps
			y := value(v)
			if last*y < 0 && !(lastAt <= root && root <= v) && !pole(value, lastAt, v) {
				return equal.Different
			}
			last, lastAt = y, v
		}
		seen++
	}
	if seen < lines/2 {
		return equal.Undecided
	}
	return equal.Same
}

// alongLetter is the value of an expression along one letter, at given values
// of the others.
func alongLetter(e expr.Expr, name string, at map[string]float64) func(float64) float64 {
	at = maps.Clone(at)
	return func(v float64) float64 {
		at[name] = v
		y, err := e.Eval(at)
		if err != nil {
			return math.NaN()
		}
		return y
	}
}

// root returns where the sign of value changes: near a guess with the guess's
// sign, or for a guess of 0 at either sign; NaN where there is no root within a
// factor of 10⁹ of it.
func root(value func(float64) float64, guess float64) float64 {
	if guess == 0 {
		if r := along(value, 1); r-r == 0 {
			return r
		}
		return along(value, -1)
	}
	return along(value, guess)
}

// along looks for a root within a factor of 10⁴ of the guess, and if there is
// none within 10⁹.
func along(value func(float64) float64, guess float64) float64 {
	for _, decades := range []float64{4, 9} {
		if r := within(value, guess, decades); r-r == 0 {
			return r
		}
	}
	return math.NaN()
}

// within looks for a root within so many decades of the guess.
func within(value func(float64) float64, guess, decades float64) float64 {
	const perDecade = 16
	lastAt := guess * math.Pow(10, -decades)
	last := value(lastAt)
	for k := 1; k <= int(2*decades*perDecade); k++ {
		v := guess * math.Pow(10, float64(k)/perDecade-decades)
		y := value(v)
		if y == 0 {
			return v
		}
		if last*y < 0 && !pole(value, lastAt, v) {
			return bisect(value, lastAt, v)
		}
		last, lastAt = y, v
	}
	return math.NaN()
}

// bisect returns a root of f between a and b, where f changes its sign, to the
// last bits.
func bisect(f func(float64) float64, a, b float64) float64 {
	fa := f(a)
	for range 100 {
		m := a + (b-a)/2
		if m == a || m == b {
			break
		}
		fm := f(m)
		if fm == 0 {
			return m
		}
		if fa*fm > 0 {
			a, fa = m, fm
		} else {
			b = m
		}
	}
	return a + (b-a)/2
}

// pole reports whether a change of sign between a and b is a jump and no root.
func pole(f func(float64) float64, a, b float64) bool {
	fa, edge := f(a), math.Max(math.Abs(f(a)), math.Abs(f(b)))
	for range 60 {
		m := a + (b-a)/2
		if fm := f(m); fa*fm > 0 {
			a, fa = m, fm
		} else {
			b = m
		}
	}
	return !(math.Abs(f(a)) <= edge)
}

// explain looks for what went wrong in zero = 0.
func (x *equation) explain(a *Asked, v *Verdict, zero expr.Expr, has func(string) bool, usual bool) bool {
	if s, ok := x.foreseenSlip(a, zero); ok {
		v.Slip, v.Say, v.Prose = slipName(s), s.Say, true
		return true
	}
	var about string
	if _, known, err := a.dimension(zero); usual && known && err != nil {
		about = a.unitsSay(err)
		v.Slip, v.Say = "dimension", about
	}
	name, say, ok := x.find(a, zero, has)
	if !ok {
		return false
	}
	v.tell(name, say, about, has)
	return true
}

// foreseenSlip returns the teacher's slip that zero = 0 is.
func (x *equation) foreseenSlip(a *Asked, zero expr.Expr) (Slip, bool) {
	if x.locked {
		return foreseenSealed(x.lock, x.prints(a, zero, printEdge))
	}
	for _, s := range x.slips {
		y := equation{key: s.gives}
		if y.about = linearIn(s.gives, a.preferred(s.gives)); y.about != "" {
			y.solved = solve(s.gives, y.about)
		} else if y.about, y.solved = a.unwrapped(s.gives, a.preferred(s.gives)); y.about == "" {
			continue
		}
		if y.same(a, zero) == equal.Same {
			return s.Slip, true
		}
	}
	return Slip{}, false
}

// find looks for a slip that nobody foresaw, in the equation solved for the
// letter that the key is about.
func (x *equation) find(a *Asked, zero expr.Expr, has func(string) bool) (name, say string, ok bool) {
	var found slip.Found
	switch {
	case !zero.Has(x.about):
		return "", "", false
	case x.locked:
		return findSealed(a, x.lock, x.pointValues(a, zero), has, linear(zero, x.about))
	case linear(zero, x.about):
		found, ok = x.finder.Find(solve(zero, x.about), has)
	default:
		found, ok = x.finder.FindValues(func(at map[string]float64) float64 {
			own, err := x.solved.Eval(at)
			if err != nil || own == 0 {
				return math.NaN()
			}
			return root(alongLetter(zero, x.about, at), own)
		}, has)
		ok = ok && found.Class != slip.FactorOther // one of several roots may be any multiple of the key
	}
	return x.secret.told(a, found, ok)
}

// pointValues are the values of the letter that the key is about, where
// zero = 0 holds, at the points of comparison.
func (x *equation) pointValues(a *Asked, zero expr.Expr) []float64 {
	if linear(zero, x.about) {
		return a.pointValues(solve(zero, x.about))
	}
	s := a.symbols[x.about]
	guess := math.Sqrt(math.Abs(s.from * s.to))
	if s.from*s.to <= 0 {
		guess = 0
	}
	r := equal.NewReckoner(zero)
	return slip.ValuesOf(a.slipOptions(a.dims[x.about], ""), func(at map[string]float64) float64 {
		v, ok := polished(r, x.about, at, root(alongLetter(zero, x.about, at), guess))
		if !ok { // float64 lost too much to come near
			v = root(reckoned(r, x.about, at), guess)
		}
		return v
	})
}

// reckoned is the value of an expression along one letter, as exact as need be.
func reckoned(r *equal.Reckoner, about string, at map[string]float64) func(float64) float64 {
	return func(v float64) float64 {
		return r.Value(func(name string) float64 {
			if name == about {
				return v
			}
			return at[name]
		})
	}
}

// polished takes a root found in float64 a few steps of Newton's method nearer
// to the true one, with as many digits as that takes. ok is false if it is too
// far away.
func polished(r *equal.Reckoner, about string, at map[string]float64, root float64) (better float64, ok bool) {
	const (
		apart    = 1e-6  // the slope is taken over this part of the root
		accurate = 1e-12 // of the root
	)
	value := reckoned(r, about, at)
	for range 4 {
		here, there := value(root), value(root*(1+apart))
		step := here * root * apart / (there - here)
		if !(math.Abs(step) < 0.1*math.Abs(root)) { // NaN as well
			return root, math.IsNaN(root)
		}
		if root -= step; math.Abs(step) < accurate*math.Abs(root) {
			break
		}
	}
	return root, true
}

func (x *equation) prints(a *Asked, zero expr.Expr, edge float64) [][]byte {
	return printsOf(formulaPrint, x.pointValues(a, zero), edge)
}

func (x *equation) publish(_ *Asked, p *Public) error {
	p.About, p.Offset = x.about, x.finder.Offset()
	return nil
}

func shellEquation(a *Asked, p Public, l Lock) (judge, error) {
	if _, ok := a.symbols[p.About]; !ok {
		return nil, a.fault("about", p.About+" is no letter of the question", "")
	}
	return &equation{about: p.About, locked: true, lock: l}, nil
}

func (x *equation) secrets(_, shell *Asked) Secrets {
	out := Secrets{Key: x.prints(shell, x.key, 0)}
	for _, s := range x.slips {
		out.Foreseen = append(out.Foreseen, ForeseenSecret{ForeseenSlip{Slip: s.Slip}, x.prints(shell, s.gives, 0)})
	}
	s := shell.symbols[x.about]
	out.Slips = slipSecrets(shell, x.secret, slip.New(x.solved, shell.slipOptions(s.dimension, s.Unit)))
	return out
}
