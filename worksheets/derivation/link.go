package derivation

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/expr/equal"
	"counterpoise/mechanics/expr/parse"
	"counterpoise/mechanics/quantity"
)

// try judges a statement link by link. Nothing stands before it is committed.
func (j *judge) try(s parse.Statement) *trial {
	t := &trial{board: j.board, truth: j.truth, first: s.Sides[0], last: s.Sides[len(s.Sides)-1]}
	links := j.c.overAll(j.board, linksOf(s))
	for i, l := range links {
		one := j.link(t, l)
		if len(s.Sides) > 2 && one.Status == Not {
			one.Say = fmt.Sprintf("In the step from side %d to side %d: %s", i+1, i+2, one.Say)
		}
		if t.line.Status == "" || one.worseThan(t.line) {
			t.line = one
		}
		here := standing{l, j.number}
		t.recent = append(t.recent, here)
		if one.Status == Not || one.FromSlip {
			t.wrong = append(t.wrong, here)
		} else if !one.Doubt && one.Status != Unreadable {
			if one.Status == Given { // counts for a milestone only as it stands
				here.line = 0
			}
			t.good = append(t.good, here)
		}
	}
	for _, name := range s.Arguments {
		if !t.board.coordinates[name] {
			t.board, t.changed = t.board.clone(), true
			t.board.coordinates[name] = true
		}
	}
	// A longer chain says that each two sides are equal.
	if t.line.good() && s.Lower == nil {
		for i := range s.Sides {
			for k := i + 2; k < len(s.Sides); k++ {
				if !slices.ContainsFunc(s.Relations[i:k], func(r string) bool { return r != "=" && r != "≈" }) {
					t.good = append(t.good, standing{link{s.Sides[i], s.Sides[k], "="}, j.number})
				}
			}
		}
	}
	return t
}

// commit lets a trial's statement stand.
func (j *judge) commit(t *trial) {
	if t.changed {
		clear(j.cache)
	}
	j.board, j.truth = t.board, t.truth
	j.small = j.small || t.line.Status == Approximates
	j.wrong = append(j.wrong, t.wrong...)
	j.good = append(j.good, t.good...)
	const lately = 6 // links from which the next line may go on after a slip
	j.recent = append(j.recent, t.recent...)
	if n := len(j.recent); n > lately {
		j.recent = j.recent[n-lately:]
	}
	for _, s := range append(t.recent[:len(t.recent):len(t.recent)], t.good...) {
		if s.equation() && s.line == j.number {
			j.all = append(j.all, s.link)
		}
	}
	good := t.line.good()
	if !t.joined {
		j.head = &t.first
	}
	switch {
	case !good:
		j.first = nil
	case !t.joined:
		j.first = &t.first
	case t.anew:
		j.first = j.head
	case j.first != nil: // a chain over several lines says that its ends are equal
		ends := link{*j.first, t.last, "="}
		j.good = append(j.good, standing{ends, j.number})
		j.all = append(j.all, ends)
	}
	j.last = &t.last
}

// link judges one link against what stands in the trial.
func (j *judge) link(t *trial, l link) (line Line) {
	// Boards of a trial that differ from the judge's are not in the cache.
	cache := j.cache
	if t.changed {
		j.cache = map[string]*system{}
	}
	defer func() { j.cache = cache }()
	one := *j
	one.board, one.truth = t.board, t.truth

	if j.board.work.out() {
		return tooMuch
	}
	defer func() {
		if j.board.work.out() && (line.Status == Not || line.Doubt) { // it was not looked at to the end
			line = tooMuch
		}
	}()
	fresh := t.board.fresh(l)
	if len(t.board.known)+len(fresh) > MaxSymbols && len(fresh) > 0 {
		return Line{Status: Unreadable, Say: fmt.Sprintf("This makes more than the %d letters that are read: use fewer.", MaxSymbols)}
	}
	v, r := one.holds(t.board, l)
	switch v {
	case yes:
		if j.isGiven(l) {
			return Line{Status: Given, Say: "That is given."}
		}
		return Line{Status: Follows}
	case nearly:
		if j.mayApproximate(l) {
			return j.approximation(l)
		}
	case unsure:
		if len(fresh) == 0 {
			return Line{Status: Follows, Doubt: true, Say: "This could not be decided (" + r.Reason + "): a person will look at it."}
		}
	}
	if free := j.undeclared(t.truth.fresh(l), l); len(free) > 0 && l.equation() && t.board.definable(l, free) {
		if len(t.board.standing)-len(j.c.given) >= MaxNew {
			return Line{Status: Unreadable, Say: fmt.Sprintf("This is more than the %d new symbols that are read: use fewer.", MaxNew)}
		}
		j.stand(t, l)
		return Line{Status: Defines, Say: defined(free)}
	}
	if t.truth != t.board {
		switch v, _ := one.holds(t.truth, l); v {
		case yes:
			j.stand(t, l)
			if len(fresh) > 0 && t.board.definable(l, fresh) {
				return Line{Status: Defines, Say: defined(fresh)}
			}
			return Line{Status: Follows, Leap: true, Say: "This is true, but what stands above does not show it."}
		case nearly:
			if j.mayApproximate(l) {
				line = j.approximation(l)
				line.Leap = true
				return line
			}
		}
		if names := standAlone(l, fresh); len(names) > 0 && l.equation() && j.fits(&one, t, l) {
			j.stand(t, l)
			return Line{Status: Defines, Say: defined(names)}
		}
	}
	if j.fromWrong(&one, t, l) {
		return Line{Status: Follows, FromSlip: true, Say: "This follows from a line above that does not hold; the step itself is right."}
	}
	line = j.wrongLine(&one, t, l, r)
	if v == nearly {
		line.Say = "As it stands this does not hold. It agrees for small values: if that is meant, write ≈."
	}
	return line
}

// tooMuch is the judgement of a line for which there is no work left.
var tooMuch = Line{Status: Unreadable, Say: "This derivation is too involved to be checked as a whole: write it with fewer or shorter lines."}

func defined(names []string) string {
	is := " is."
	if len(names) > 1 {
		is = " are."
	}
	return "This says what " + strings.Join(names, " and ") + is
}

// mayApproximate reports whether a link may hold for small values only: with ≈
// any may; with = one that looks linearised, or that is about small quantities
// alone, as in sin θ = θ. One that still has sines in it claims to be exact.
func (j *judge) mayApproximate(l link) bool {
	if l.relation == "≈" {
		return true
	}
	alone := true
	for _, name := range wantedBy(l) {
		alone = alone && j.c.small[base(name)]
	}
	_, a := degree(l.a, j.c.small)
	_, b := degree(l.b, j.c.small)
	return a && b || alone
}

func (j *judge) approximation(l link) Line {
	if j.small && l.relation == "=" {
		return Line{Status: Follows, Say: "This holds for small values, as above."}
	}
	if l.relation == "≈" && len(j.c.small) == 0 {
		return Line{Status: Approximates, Say: "This agrees to the figures written."}
	}
	if l.relation == "≈" {
		return Line{Status: Approximates, Say: "This agrees for small values, to the order asked."}
	}
	return Line{Status: Approximates, Say: "This agrees for small values only: write ≈."}
}

// stand lets a link that says something new stand in the trial.
func (j *judge) stand(t *trial, l link) {
	t.board.work.spend(perLink * len(t.board.standing))
	t.board = t.board.clone()
	t.board.stand(l, j.number)
	t.board.settle()
	t.truth = j.truthOf(t.board)
	t.changed = true
}

// fits reports whether no milestone contradicts a definition: those that can be
// told once it stands must hold.
func (j *judge) fits(one *judge, t *trial, l link) bool {
	b := t.board.clone()
	b.stand(l, j.number)
	b.settle()
	two := *one
	two.board, two.truth, two.cache = b, b, map[string]*system{}
	for _, m := range append(slices.Clone(j.c.milestones), optional(j.c.target)...) {
		if len(b.fresh(m)) > 0 || !m.equation() {
			continue
		}
		if v, _ := two.holds(b, m); v == no {
			return false
		}
	}
	return true
}

// standAlone lists those names that stand alone, perhaps in a power, on a side
// of l.
func standAlone(l link, names []string) (out []string) {
	for _, name := range names {
		if alone(l.a, name) || alone(l.b, name) {
			out = append(out, name)
		}
	}
	return out
}

// isGiven reports whether a link restates a given one.
func (j *judge) isGiven(l link) bool {
	o := j.board.options(nil)
	o.Points = 4
	for _, g := range j.c.given {
		j.board.work.spend(perLink + perNode/4*(l.a.Size()+l.b.Size()+g.a.Size()+g.b.Size()))
		if !g.equation() || !l.equation() {
			if g.relation == l.relation && g.a.Equal(l.a) && g.b.Equal(l.b) {
				return true
			}
			continue
		}
		if g.a.Equal(l.a) && g.b.Equal(l.b) || g.a.Equal(l.b) && g.b.Equal(l.a) {
			return true
		}
		if equal.Compare(g.zero(), l.zero(), o).Verdict == equal.Same || equal.Compare(g.zero(), expr.Neg(l.zero()), o).Verdict == equal.Same {
			// What takes an identity to see, such as a sum of cosines turned
			// into a product, is a step and not given.
			zero := expand(l.zero())
			return !zero.IsZero() && (zero.Equal(expand(g.zero())) || zero.Equal(expand(expr.Neg(g.zero()))))
		}
	}
	return false
}

// undeclared leaves out names that have a meaning already: those that the
// problem declares, unless it never uses them and they, or a power of them,
// stand alone on one side, or are in a solution that is tried.
func (j *judge) undeclared(names []string, l link) (out []string) {
	for _, name := range names {
		if !j.c.declared[name] || !j.c.used[name] && (alone(l.a, name) || alone(l.b, name) || j.isTrial(l)) {
			out = append(out, name)
		}
	}
	return out
}

// isTrial reports whether a link tries a solution: a function of time alone on a
// side, beside one in which the time stands.
func (j *judge) isTrial(l link) bool {
	return l.a.Kind() == expr.KindSymbol && j.board.varies[l.a.Name()] && l.b.Has(expr.TimeName) && !l.b.Has(l.a.Name())
}

// alone reports whether e is a symbol or a power of it.
func alone(e expr.Expr, name string) bool {
	if e.Kind() == expr.KindPower {
		e = e.Args()[0]
	}
	return e.Kind() == expr.KindSymbol && base(e.Name()) == name
}

// definable reports whether a link can be solved for one of the symbols.
func (b *board) definable(l link, names []string) bool {
	for _, side := range [2]expr.Expr{l.a, l.b} {
		if side.Kind() == expr.KindSymbol && slices.Contains(names, base(side.Name())) {
			return true
		}
	}
	zero := l.zero()
	for _, name := range zero.Symbols() {
		if !slices.Contains(names, base(name)) {
			continue
		}
		if v, _, ok := b.solveFor(zero, name); ok && !v.IsZero() {
			return true
		}
	}
	return false
}

// fromWrong reports whether a link follows from the lines that do not hold:
// from them with all that stands and does not contradict them, or from the last
// lines with the definitions.
func (j *judge) fromWrong(one *judge, t *trial, l link) bool {
	wrong := append(slices.Clone(j.wrong), t.wrong...)
	if len(wrong) == 0 {
		return false
	}
	if n := len(wrong); n > MaxWrong {
		wrong = wrong[n-MaxWrong:]
	}
	b := t.board.clone()
	var list []standing
	for i := len(wrong) - 1; i >= 0; i-- {
		list = append(list, wrong[i])
	}
	for _, s := range list {
		b.stand(s.link, s.line)
	}
	b.settle()
	for _, lines := range [][]standing{
		append(slices.Clone(list), t.board.standing...),
		append(append(slices.Clone(list), j.lately(t)...), j.definitions(t.board)...),
		append(slices.Clone(list[len(list)-1:]), t.board.standing...),
	} {
		if b.work.out() {
			return false
		}
		s := b.solve(b.equations(lines, wantedBy(l)), true)
		for _, k := range lines {
			if c, ok := condition(k.link); ok {
				s.where = append(s.where, s.resolve(c))
			}
		}
		if v, _ := one.holdsIn(b, s, l); v == yes || v == nearly {
			return true
		}
	}
	return j.byReplacing(one, t, l, list)
}

// lately are the last exact links, the latest first.
func (j *judge) lately(t *trial) []standing {
	out := exact(append(slices.Clone(j.recent), t.recent...))
	slices.Reverse(out)
	return out
}

// exact leaves out approximations.
func exact(list []standing) (out []standing) {
	for _, s := range list {
		if s.relation != "≈" {
			out = append(out, s)
		}
	}
	return out
}

// definitions are the standing links with a symbol alone on one side.
func (j *judge) definitions(b *board) (out []standing) {
	for _, s := range b.standing {
		if s.relation == "=" && (s.a.Kind() == expr.KindSymbol || s.b.Kind() == expr.KindSymbol) {
			out = append(out, s)
		}
	}
	return out
}

// wrongLine explains a link that does not follow.
func (j *judge) wrongLine(one *judge, t *trial, l link, r equal.Result) Line {
	line := Line{Status: Not, At: r.At, Left: r.A, Right: r.B}
	if free := t.board.fresh(l); len(free) > 0 && t.truth == t.board {
		line.Say = "Nothing that stands above says what " + strings.Join(free, " and ") + " is."
		return line
	}
	s := one.system(t.board, t.board.standing, "board", wantedBy(l))
	if j.c.p.Slip != nil && l.equation() {
		for _, pair := range [2][2]expr.Expr{{l.a, l.b}, {l.b, l.a}} {
			right, wrong := s.resolve(pair[0]), s.resolve(pair[1])
			if j.mayApproximate(l) {
				right, wrong = j.c.linearised(right), j.c.linearised(wrong)
			}
			if name := j.c.p.Slip(right, wrong); name != "" {
				line.Slip = name
				break
			}
		}
	}
	line.Say = "This does not follow from what stands above."
	if l.equation() && len(r.At) > 0 && r.A == r.A && r.B == r.B {
		line.Say = fmt.Sprintf("This does not follow: with %s the left side is %s and the right side %s.", stateText(r.At), round(r.A), round(r.B))
	} else if !l.equation() && len(r.At) > 0 {
		line.Say = fmt.Sprintf("This does not follow: it fails with %s.", stateText(r.At))
	}
	return line
}

// linearised puts u for sin u and tan u, and 1 for cos u, where u is small: a line
// for small values is not told that it lacks a sine.
func (c *Checker) linearised(e expr.Expr) expr.Expr {
	for _, k := range kernels(e) {
		if k.Kind() != expr.KindCall || !slices.ContainsFunc(k.Symbols(), func(n string) bool { return c.small[base(n)] }) {
			continue
		}
		switch k.Function() {
		case expr.FnSin, expr.FnTan:
			e = replace(e, k, k.Args()[0])
		case expr.FnCos:
			e = replace(e, k, expr.Int(1))
		}
	}
	return e
}

func round(x float64) string { return quantity.Round(x, 3) }

// stateText lists the values of a state.
func stateText(at map[string]float64) string {
	names := make([]string, 0, len(at))
	for name := range at {
		names = append(names, name)
	}
	slices.Sort(names)
	const most = 8
	var out []string
	for i, name := range names {
		if i == most {
			out = append(out, "…")
			break
		}
		out = append(out, name+" = "+round(at[name]))
	}
	return strings.Join(out, ", ")
}

// steadyText writes … = const, and … is constant, as a derivative along time
// that is zero.
func steadyText(text string, isName func(string) bool) string {
	if place := steady.FindStringIndex(text); place != nil {
		left := strings.TrimSpace(text[:place[0]])
		if i := strings.LastIndex(left, "="); i >= 0 {
			left = left[i+1:]
		}
		return "d/dt(" + strings.TrimSpace(left) + ") = 0"
	}
	m := lasting.FindStringSubmatch(text)
	if m == nil || relations.MatchString(m[1]) {
		return text
	}
	fields := strings.Fields(m[1]) // the total energy E, T + V
	from := len(fields)
	for from > 0 {
		if word, _ := (wording{isName}).isWord(fields[from-1]); word {
			break
		}
		from--
	}
	if from < len(fields) {
		return "d/dt(" + strings.Join(fields[from:], " ") + ") = 0"
	}
	if strings.Contains(strings.ToLower(m[1]), "energy") && isName("E") {
		return "d/dt(E) = 0"
	}
	return text
}

func unreadable(text, source string, err error) Line {
	line := Line{Status: Unreadable, Say: "This line cannot be read."}
	var syntax *parse.SyntaxError
	if errors.As(err, &syntax) {
		line.Say = "This line cannot be read: " + syntax.Error() + "."
		line.Caret = syntax.Caret()
	}
	return line
}
