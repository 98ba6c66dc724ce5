package derivation

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"sync"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/expr/equal"
	"counterpoise/mechanics/expr/parse"
	"counterpoise/mechanics/expr/typeset"
)

// A Status is what a line is found to be.
type Status string

const (
	Follows      Status = "follows"
	Given        Status = "given"
	Defines      Status = "defines"
	Approximates Status = "approximates"
	Not          Status = "does not follow"
	Unreadable   Status = "unreadable"
)

// A Line is the judgement of one line.
type Line struct {
	Text   string // as written
	Status Status
	Say    string // to the student, in plain words
	TeX    string // as read
	Caret  string // Unreadable: the line with a mark under the place
	// At is a state in which everything that stands holds and the line does
	// not, with Left and Right, the values of its sides there.
	At          map[string]float64
	Left, Right float64
	Slip        string // the slip that explains it, if one was found
	// FromSlip says that the line follows only from a line that does not.
	FromSlip bool
	// Leap says that the line is true, but not shown by what stands.
	Leap bool
	// Remark says that the line holds words only.
	Remark bool
	// Doubt says that the line could not be decided. A person has to look: until
	// then it is not called bad, its status is Follows, and it earns nothing.
	Doubt bool
}

// A Report is the judgement of a derivation.
type Report struct {
	Lines      []Line
	FirstBad   int    // index of the first line that does not follow, -1 if none
	Reached    bool   // the target stands as a good line
	Milestones []bool // which of them stand as good lines
	Marks, Of  float64
	// Leap says that the target was reached without any milestone before it.
	Leap bool
	// Equations are those of all readable lines, good or not, each as something
	// that vanishes: as it stands, then with the symbols that the lines defined
	// put in, then with those that are given as well.
	Equations []expr.Expr
}

// Spelt puts what is given of symbols into e: with J = b h³/12 given, b h³/12
// stands in the place of J.
func (c *Checker) Spelt(e expr.Expr) expr.Expr { return c.start.spelt(e, nil) }

// Judge judges a text, one statement a line.
func (c *Checker) Judge(text string) Report {
	return c.JudgeLines(strings.Split(text, "\n"))
}

// JudgeLines judges lines. Empty ones are passed over; remarks are lines of
// their own, which are neither good nor bad.
func (c *Checker) JudgeLines(lines []string) Report {
	j := c.begin()
	r := Report{FirstBad: -1, Milestones: make([]bool, len(c.milestones))}
	for _, text := range lines {
		if isBlank(text) {
			continue
		}
		if len(r.Lines) == MaxLines {
			r.Lines = append(r.Lines, Line{Text: text, Status: Unreadable, Say: fmt.Sprintf("Only the first %d lines are read: leave out what is not needed.", MaxLines)})
			break
		}
		line := j.line(text)
		j.statuses = append(j.statuses, line.Status)
		if line.Status == Not && r.FirstBad < 0 {
			r.FirstBad = len(r.Lines)
		}
		r.Lines = append(r.Lines, line)
	}
	j.mark(&r)
	r.Equations = j.equations()
	return r
}

// equations are those of all lines, in the forms that Report lists.
func (j *judge) equations() (out []expr.Expr) {
	declared := slices.Sorted(maps.Keys(j.c.used))
	for name := range j.c.declared {
		declared = append(declared, name)
	}
	for _, l := range j.all {
		zero := l.zero()
		mine := j.spelt(zero, declared)
		for _, e := range []expr.Expr{zero, mine, j.spelt(mine, nil)} {
			if !slices.ContainsFunc(out, e.Equal) && !e.IsZero() {
				out = append(out, e)
			}
		}
	}
	return out
}

// A judge goes through the lines.
type judge struct {
	c      *Checker
	board  *board // what stands truly
	truth  *board // the same with what the milestones and the target say
	wrong  []standing
	recent []standing // the last lines, good or not
	number int
	// statuses are those of the lines so far.
	statuses []Status
	last     *expr.Expr // right side of the last line, for a line that begins with =
	head     *expr.Expr // left side of the chain that the last line ends
	first    *expr.Expr // left side of the chain that the last line ends, nil if it has a bad step
	good     []standing // links of good lines
	all      []link     // equations of all lines
	cache    map[string]*system
	small    bool // a line with ≈ stands: later ones may use it with =
}

// A trial is a statement judged, with what would stand after it.
type trial struct {
	line          Line
	board, truth  *board
	wrong, recent []standing
	good          []standing
	first, last   expr.Expr
	joined        bool // it goes on from the line before
	anew          bool // it goes on from the beginning of the chain, which had a bad step
	changed       bool // the boards are new
}

func newJudge(c *Checker) *judge {
	j := &judge{c: c, board: newBoard(c), cache: map[string]*system{}}
	for _, l := range c.given {
		if l.relation != "≈" || !c.smallGiven(j.board, l) {
			j.board.stand(l, 0)
		}
	}
	for _, name := range c.arguments {
		j.board.coordinates[name] = true
	}
	j.board.settle()
	j.truth = j.truthOf(j.board)
	return j
}

// begin is a judge before the first line. What the problem alone decides was
// worked out once; systems and boards are not changed once they are made.
func (c *Checker) begin() *judge {
	j := *c.start
	j.cache = maps.Clone(c.start.cache)
	board, truth := *j.board, *j.truth
	board.work = &work{maxWork}
	truth.work = board.work
	j.board, j.truth = &board, &truth
	if c.start.truth == c.start.board {
		j.truth = j.board
	}
	return &j
}

// truthOf is a board with what the milestones and the target say beyond it.
func (j *judge) truthOf(b *board) *board {
	truth := b
	for _, l := range append(slices.Clone(j.c.milestones), optional(j.c.target)...) {
		if !l.equation() {
			continue
		}
		one := *j
		one.board, one.truth, one.cache = b, truth, map[string]*system{}
		if v, _ := one.holds(truth, l); v == yes || v == nearly {
			continue
		}
		more := truth.clone()
		more.stand(l, 0)
		more.settle()
		if len(truth.fresh(l)) > 0 || j.c.tells(more, l) {
			truth = more
		}
	}
	return truth
}

// tells reports whether the last that stands on a board says something about a
// symbol that nothing else determines. What only restricts parameters there
// contradicts what is given, and the states in which both hold are none that
// anybody means.
func (c *Checker) tells(b *board, l link) bool {
	list := b.equations(b.standing, wantedBy(l))
	for i := range list {
		last := &b.standing[list[i].from]
		list[i].telling = last.a.Equal(l.a) && last.b.Equal(l.b) && list[i].order == 0
	}
	s := b.solve(list, false)
	for _, i := range s.conflicts {
		if b.standing[i].a.Equal(l.a) && b.standing[i].b.Equal(l.b) {
			return false
		}
	}
	return true
}

func optional(l *link) []link {
	if l == nil {
		return nil
	}
	return []link{*l}
}

// settle finds out which symbols change with time: one that stands alone beside
// something that does, and, where nothing stands alone, every one that the
// problem does not list.
func (b *board) settle() {
	defer b.rest()
	for again := true; again; {
		again = false
		for _, s := range b.standing {
			if !s.equation() || !b.moving(s.zero()) {
				continue
			}
			names := wantedBy(s.link)
			lone := false
			for _, pair := range [2][2]expr.Expr{{s.a, s.b}, {s.b, s.a}} {
				if pair[0].Kind() == expr.KindSymbol {
					lone = true
					if b.moving(pair[1]) && !b.keeps(s.link, pair[0].Name()) {
						names = append(names[:0:0], pair[0].Name())
					}
				}
			}
			for _, name := range names {
				name = base(name)
				if name != expr.TimeName && !b.varies[name] && (lone && len(names) == 1 || !lone && !b.c.declared[name]) {
					b.varies[name], again = true, true
				}
			}
		}
	}
}

// rest lets stand that what an equation keeps has no derivative.
func (b *board) rest() {
	for _, s := range slices.Clone(b.standing) {
		if s.b.Kind() != expr.KindSymbol || !b.moving(s.a) || !b.keeps(s.link, s.b.Name()) || b.varies[s.b.Name()] {
			continue
		}
		still := link{expr.Sym(s.b.Name() + "'"), expr.Expr{}, "="}
		if !slices.ContainsFunc(b.standing, func(k standing) bool { return k.a.Equal(still.a) && k.b.IsZero() }) {
			b.standing = append(b.standing, standing{still, s.line})
		}
	}
}

type answer uint8

const (
	no answer = iota
	yes
	nearly // to the order allowed
	unsure
)

// system solves what stands on a board, with the derivatives that are wanted.
func (j *judge) system(b *board, list []standing, tag string, wanted []string) *system {
	var key strings.Builder
	key.WriteString(tag)
	for _, name := range wanted {
		if primes(name) > 0 {
			key.WriteString(" " + name)
		}
	}
	if s, ok := j.cache[key.String()]; ok {
		return s
	}
	equations := b.equations(list, wanted)
	s := b.solve(equations, false)
	var conditions []expr.Expr
	for _, k := range list {
		if c, ok := condition(k.link); ok {
			conditions = append(conditions, c)
			s.where = append(s.where, s.resolve(c))
		}
	}
	if len(s.conflicts) > 0 {
		names := append(b.names(), wanted...)
		s.states = sync.OnceValue(func() *states { return b.states(equations, conditions, names) })
	}
	for name, v := range s.values {
		if r, ok := b.c.rangeOf(name); ok && r.From > 0 && !b.varies[base(name)] {
			s.positive = append(s.positive, v)
		}
	}
	slices.SortFunc(s.positive, func(a, b expr.Expr) int { return a.Compare(b) })
	j.cache[key.String()] = s
	return s
}

func (c *Checker) rangeOf(name string) (equal.Range, bool) {
	for n, r := range c.p.Ranges {
		if expr.Canonical(n) == name {
			return r, true
		}
	}
	return equal.Range{}, false
}

// condition is an inequality as something that is positive.
func condition(l link) (expr.Expr, bool) {
	switch l.relation {
	case "<", "≤":
		return expr.Sub(l.b, l.a), true
	case ">", "≥":
		return expr.Sub(l.a, l.b), true
	}
	return expr.Expr{}, false
}

func wantedBy(l link) []string {
	names := append(l.a.Symbols(), l.b.Symbols()...)
	slices.Sort(names)
	return slices.Compact(names)
}

// holds reports whether a link is true wherever all that stands on the board
// is, with a counterexample where it is not.
func (j *judge) holds(b *board, l link) (answer, equal.Result) {
	tag := "board"
	if b == j.truth && b != j.board {
		tag = "truth"
	}
	s := j.system(b, b.standing, tag, wantedBy(l))
	v, r := j.holdsIn(b, s, l)
	if v == no {
		if direct, ok := b.unwrapped(l); ok {
			if v, r := j.holdsIn(b, s, direct); v == yes {
				return v, r
			}
		}
	}
	if (v == no || v == unsure) && s.states != nil {
		switch w, at := s.states().holdsAt(l); w {
		case yes, no:
			return w, at
		}
	}
	return v, r
}

// What it costs to compare two sides at many points.
const (
	perLink = 500
	perNode = 60
)

func (j *judge) holdsIn(b *board, s *system, l link) (answer, equal.Result) {
	x, y := s.resolve(l.a), s.resolve(l.b)
	o := b.options(s)
	if !b.work.spend(perLink + perNode*(x.Size()+y.Size())) {
		return unsure, equal.Result{Reason: "it takes too much work"}
	}
	if len(o.Where) > 0 || !l.equation() { // more points are looked at
		b.work.spend(5 * perLink)
	}
	if !l.equation() {
		return inequality(x, y, l.relation, o)
	}
	r := equal.Compare(x, y, o)
	switch r.Verdict {
	case equal.Same:
		return yes, r
	case equal.Undecided:
		if len(s.positive) > 0 { // there are no such states
			wider := *s
			wider.positive = nil
			return j.holdsIn(b, &wider, l)
		}
		return unsure, r
	}
	if b.agrees(s, x, y, l) || l.relation == "≈" && b.rounded(s, x, y, l) {
		return nearly, r
	}
	return no, r
}

// inequality looks for a point at which an inequality fails.
func inequality(x, y expr.Expr, relation string, o equal.Options) (answer, equal.Result) {
	if relation == "≠" {
		r := equal.Compare(x, y, o)
		if r.Verdict == equal.Different {
			return yes, r
		}
		return no, r
	}
	d := expr.Sub(y, x)
	if relation == ">" || relation == "≥" {
		d = expr.Neg(d)
	}
	// d must be positive: where -d is positive, compare with something that it
	// is not, which gives a point if there is one.
	o.Where = append(slices.Clone(o.Where), expr.Neg(d))
	r := equal.Compare(expr.Int(1), expr.Add(expr.Int(2), expr.Mul(expr.Int(0), d), anySymbol(d)), o)
	if r.Verdict == equal.Different {
		return no, r
	}
	return yes, equal.Result{}
}

// anySymbol keeps the symbols of e in play.
func anySymbol(e expr.Expr) expr.Expr {
	var out []expr.Expr
	for _, name := range e.Symbols() {
		out = append(out, expr.Pow(expr.Sym(name), expr.Int(2)))
	}
	return expr.Add(out...)
}

// line judges one line and lets it stand if it is good.
func (j *judge) line(text string) Line {
	j.number++
	out := Line{Text: strings.TrimSpace(text)}
	if len(text) > MaxLineBytes {
		out.Status, out.Say = Unreadable, "This line is too long: write it on several lines."
		return out
	}
	w := wording{func(word string) bool { return j.board.known[expr.Canonical(word)] }}
	if w.isRemark(out.Text) {
		out.Status, out.Say, out.Remark = Given, "Words are passed over.", true
		return out
	}
	cleaned := clean(text, w.isName)
	if names, ok := saysSmall(cleaned); ok && j.c.allSmall(names) {
		out.Status, out.Say = Given, "That is given."
		return out
	}
	status := Status("")
	count := 0
	for _, statement := range w.statements(steadyText(cleaned, w.isName)) {
		for _, part := range parts(clean(statement, w.isName)) {
			if count++; count > MaxStatements {
				out.Status, out.Say = Unreadable, fmt.Sprintf("This line holds more than %d statements: write them on several lines.", MaxStatements)
				return out
			}
			one := j.part(clean(part, w.isName))
			one.Text = out.Text
			if status == "" || one.worseThan(out) {
				tex := out.TeX
				out, status = one, one.Status
				if tex != "" && one.TeX != "" {
					out.TeX = tex + `,\quad ` + one.TeX
				}
			} else if one.TeX != "" {
				out.TeX += `,\quad ` + one.TeX
			}
		}
	}
	return out
}

// saysSmall reads "small θ" and its like.
func saysSmall(text string) (names []string, ok bool) {
	m := tiny.FindStringSubmatch(text)
	if m == nil {
		return nil, false
	}
	names = strings.FieldsFunc(m[1]+m[2]+m[3]+m[4], func(r rune) bool { return r == ',' || r == ' ' })
	return slices.DeleteFunc(names, func(n string) bool { return n == "and" }), true
}

func (c *Checker) allSmall(names []string) bool {
	return !slices.ContainsFunc(names, func(n string) bool { return !c.small[expr.Canonical(n)] })
}

// worseThan orders judgements: a line says the worst of its links. What could
// not be decided comes before what is wrong.
func (l Line) worseThan(other Line) bool {
	rank := func(l Line) int {
		r := 2 * slices.Index([]Status{Given, Follows, Defines, Approximates, Not, Unreadable}, l.Status)
		if l.Doubt {
			r = 7
		}
		return r
	}
	return rank(l) > rank(other)
}

// good reports whether later lines may build on a line.
func (l Line) good() bool {
	return l.Status != Not && l.Status != Unreadable && !l.FromSlip && !l.Doubt
}

// part judges one statement.
func (j *judge) part(text string) Line {
	joined := continues(text) && j.last != nil
	source := text
	if joined {
		source = "0 " + strings.TrimLeft(strings.TrimSpace(text), "&")
	}
	if j.board.work.out() {
		return tooMuch
	}
	readings, err := j.board.read(source)
	if err != nil {
		return unreadable(text, source, err)
	}
	readings = append(readings[:min(len(readings), MaxReadings):min(len(readings), MaxReadings)], j.anew(source)...)
	var best Line
	var chosen *trial
	for i, s := range readings {
		if joined {
			s.Sides[0] = *j.last
		}
		if len(s.Sides) < 2 {
			if i == 0 {
				best = Line{Status: Unreadable, Say: "A line needs a relation, such as =, between two sides.", TeX: typeset.TeXOf(s.Sides, nil)}
			}
			continue
		}
		if len(s.Sides) > MaxSides {
			return Line{Status: Unreadable, Say: fmt.Sprintf("This chain has more than %d sides: write it on several lines.", MaxSides)}
		}
		t := j.try(s)
		t.joined = joined
		t.line.TeX = typeset.TeXOf(s.Sides, s.Relations)
		if chosen == nil || best.worseThan(t.line) && t.line.Status != Defines {
			best, chosen = t.line, t
		}
		if best.Status != Not && best.Status != Unreadable && !best.Doubt {
			break
		}
	}
	if joined && chosen != nil && best.Status == Not && j.first == nil && j.head != nil {
		// After a bad step the chain is judged from its beginning as well.
		s := readings[0]
		s.Sides = append([]expr.Expr{*j.head}, s.Sides[1:]...)
		if t := j.try(s); t.line.good() {
			t.joined, t.anew = true, true
			t.line.TeX = best.TeX
			best, chosen = t.line, t
		}
	}
	if chosen != nil {
		j.commit(chosen)
	}
	return best
}

// anew reads a line with partial derivatives with what the lines above have
// written anew: once T stands with z' alone, ∂T/∂z' is that of this form as well.
func (j *judge) anew(source string) []parse.Statement {
	if !strings.Contains(source, "∂") && !strings.Contains(source, `\partial`) {
		return nil
	}
	b := *j.board
	b.definitions = maps.Clone(b.definitions)
	changed := false
	for _, s := range j.good {
		if _, ok := b.definitions[s.a.Name()]; ok && s.line > 0 && s.relation == "=" && s.a.Kind() == expr.KindSymbol && !s.b.Has(s.a.Name()) && !s.b.Equal(b.definitions[s.a.Name()]) {
			b.definitions[s.a.Name()], changed = s.b, true
		}
	}
	if !changed {
		return nil
	}
	readings, err := b.read(source)
	if err != nil {
		return nil
	}
	return readings[:min(len(readings), 1)]
}
