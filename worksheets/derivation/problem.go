package derivation

import (
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strings"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/expr/equal"
	"counterpoise/mechanics/expr/parse"
	"counterpoise/mechanics/expr/typeset"
)

// A Problem is what a derivation starts from and where it leads. The zero
// value of each field but Given means that there is none.
type Problem struct {
	Symbols    []string               // names that have a meaning before the first line
	Time       []string               // those among them that are functions of time
	Ranges     map[string]equal.Range // values at which statements are compared, in SI
	Given      []string               // definitions, laws and constraints that hold
	Small      []string               // quantities that are small, with their time derivatives
	Order      int                    // of the small quantities up to which ≈ must agree; 0 means 1
	Target     string                 // the statement to arrive at
	Milestones []Milestone            // statements that must appear, in any form
	Leap       float64                // marks for reaching the target without any milestone before it
	// Slip, if not nil, names the slip that turns right into wrong, "" if it
	// recognises none.
	Slip func(right, wrong expr.Expr) string
	// Seed of the random points.
	Seed uint64
}

// A Milestone is a statement that must appear in a derivation, up to a factor
// that is not zero.
type Milestone struct {
	Line  string
	Marks float64
}

// Limits on a derivation, so that it is judged within 50 ms or refused.
const (
	// MaxLines is the longest derivation that is read; worksheets ask for 6 to 15.
	MaxLines = 40
	// MaxLineBytes is the longest line; a long one in TeX has 300.
	MaxLineBytes = 1_000
	// MaxReadings is how many readings of an ambiguous line are judged.
	MaxReadings = 6
	// MaxNew is how many new symbols a derivation may bring.
	MaxNew = 20
	// MaxWrong is how many of the last links that do not hold a later line may
	// follow from.
	MaxWrong = 4
	// MaxStatements is how many statements one line may hold.
	MaxStatements = 8
	// MaxSymbols is how many symbols may be known at once; worksheets need up
	// to 30.
	MaxSymbols = 80
	// MaxSides is the longest chain on one line.
	MaxSides = 8
)

// A Checker is a Problem made ready. It may be used from several goroutines at
// once.
type Checker struct {
	p          Problem
	given      []link
	milestones []link
	target     *link
	declared   map[string]bool // names that the problem lists
	used       map[string]bool // names that its statements use
	small      map[string]bool
	order      int
	arguments  []string // symbols of which given ones are functions
	start      *judge   // before the first line
}

// A link is one relation between two sides: an equation where relation is "="
// or "≈".
type link struct {
	a, b     expr.Expr
	relation string
}

// zero is the link as an expression that is to vanish.
func (l link) zero() expr.Expr { return expr.Sub(l.a, l.b) }

func (l link) equation() bool { return l.relation == "=" || l.relation == "≈" }

// New reads a problem. The error names the statement that cannot be read.
func New(p Problem) (*Checker, error) {
	c := &Checker{p: p, order: max(p.Order, 1), small: map[string]bool{}, declared: map[string]bool{}, used: map[string]bool{}}
	for _, name := range append(slices.Clone(p.Symbols), p.Time...) {
		c.declared[expr.Canonical(name)] = true
	}
	for _, name := range p.Small {
		c.small[expr.Canonical(name)] = true
	}
	b := newBoard(c)
	for _, text := range p.Given {
		w := wording{func(word string) bool { return b.known[expr.Canonical(word)] }}
		text = clean(text, w.isName)
		if names, ok := saysSmall(text); ok {
			for _, name := range names {
				if word, _ := w.isWord(name); word {
					continue // small angles
				}
				c.small[expr.Canonical(name)] = true
				b.known[expr.Canonical(name)] = true
			}
			continue
		}
		text = steadyText(text, w.isName)
		if w.isRemark(text) {
			continue
		}
		var links []link
		for _, statement := range w.statements(text) {
			for _, part := range parts(clean(statement, w.isName)) {
				more, err := c.readTeacher(b, "given", clean(part, w.isName))
				if err != nil {
					return nil, err
				}
				links = append(links, more...)
			}
		}
		for _, l := range links {
			c.given = append(c.given, l)
			if l.relation != "≈" || !c.smallGiven(b, l) {
				b.stand(l, 0)
			}
		}
	}
	c.given = c.overAll(b, c.given)
	for _, m := range p.Milestones {
		links, err := c.readTeacher(b, "milestone", m.Line)
		if err != nil {
			return nil, err
		}
		c.milestones = append(c.milestones, links[0])
	}
	if p.Target != "" {
		links, err := c.readTeacher(b, "target", p.Target)
		if err != nil {
			return nil, err
		}
		c.target = &links[len(links)-1]
	}
	for _, l := range append(append(slices.Clone(c.given), c.milestones...), optional(c.target)...) {
		for _, name := range wantedBy(l) {
			c.used[base(name)] = true
		}
	}
	c.start = newJudge(c)
	return c, nil
}

// smallGiven reports whether a given approximation says only how known things
// behave for small values, as sin θ ≈ θ does: then it does not stand as an
// equation. If the problem names no small quantities, those of the first such
// line are taken to be small.
func (c *Checker) smallGiven(b *board, l link) bool {
	j := &judge{c: c, board: b, truth: b, cache: map[string]*system{}}
	if len(c.small) == 0 {
		for _, name := range wantedBy(l) {
			if b.varies[base(name)] {
				c.small[base(name)] = true
			}
		}
		if len(c.small) == 0 && len(wantedBy(l)) == 1 {
			c.small[wantedBy(l)[0]] = true
		}
		if v, _ := j.holds(b, l); v != nearly {
			clear(c.small)
			return v == yes
		}
		return true
	}
	v, _ := j.holds(b, l)
	return v == yes || v == nearly
}

func (c *Checker) readTeacher(b *board, field, text string) ([]link, error) {
	readings, err := b.read(text)
	if err != nil {
		return nil, fmt.Errorf("%s %q: %w", field, text, err)
	}
	for _, name := range readings[0].Arguments {
		b.coordinates[name] = true
		c.arguments = append(c.arguments, name)
	}
	links := linksOf(readings[0])
	if len(links) == 0 {
		return nil, fmt.Errorf("%s %q: a statement needs a relation such as =", field, text)
	}
	return links, nil
}

// overAll writes what is said of any one of several things, as r_i² = x_i² + y_i²
// beside sums over i, for each of those that a sum adds up.
func (c *Checker) overAll(b *board, list []link) (out []link) {
	for _, l := range list {
		of := map[string]string{}   // name to the name without its index
		pieces := map[string]bool{} // those that each piece of a body has
		some := false
		for _, name := range wantedBy(l) {
			if slices.Contains(coordinates, base(name)) && b.known[base(pieceOf(name, 1))] {
				pieces[name], some = true, true
				continue
			}
			stem, index, ok := strings.Cut(base(name), "_")
			if !ok || index != "i" && index != "j" && index != "k" {
				continue
			}
			of[name] = stem
			some = some || b.known[stem+"_1"] && b.known[stem+"_2"]
		}
		if !some {
			out = append(out, l)
			continue
		}
		for k := 1; k <= parse.SumTerms; k++ {
			values := map[string]expr.Expr{}
			for name, stem := range of {
				values[name] = expr.Sym(fmt.Sprintf("%s_%d%s", stem, k, strings.Repeat("'", primes(name))))
			}
			for name := range pieces {
				values[name] = expr.Sym(pieceOf(name, k))
			}
			out = append(out, link{l.a.Subs(values), l.b.Subs(values), l.relation})
		}
	}
	return out
}

// linksOf takes a chain apart.
func linksOf(s parse.Statement) []link {
	var out []link
	for i, r := range s.Relations {
		l := link{s.Sides[i], s.Sides[i+1], r}
		if s.Lower != nil && (r == "=" || r == "≈") && !s.Lower[i+1].Equal(s.Sides[i+1]) {
			// a = ±b means (a - b)(a + b) = 0
			l = link{expr.Mul(l.zero(), expr.Sub(s.Lower[i], s.Lower[i+1])), expr.Expr{}, r}
			if s.Sides[i].Equal(s.Lower[i]) && s.Sides[i+1].Equal(expr.Neg(s.Lower[i+1])) {
				two := expr.Int(2)
				l = link{expr.Pow(s.Sides[i], two), expr.Pow(s.Sides[i+1], two), r}
			}
		}
		out = append(out, l)
	}
	return out
}

// A board holds what stands at one line of a derivation.
type board struct {
	c           *Checker
	standing    []standing
	known       map[string]bool
	varies      map[string]bool      // functions of time
	definitions map[string]expr.Expr // symbols that were given a meaning by = alone
	coordinates map[string]bool      // symbols of which others are functions
	work        *work                // shared by the boards of one derivation
}

// A standing is a link that stands, and the line that it came from, 0 if it is
// given.
type standing struct {
	link
	line int
}

// timed reports whether a problem lists a symbol among what changes with time.
func (c *Checker) timed(name string) bool {
	return slices.ContainsFunc(c.p.Time, func(n string) bool { return expr.Canonical(n) == name })
}

func newBoard(c *Checker) *board {
	b := &board{c: c, known: map[string]bool{}, varies: map[string]bool{}, definitions: map[string]expr.Expr{}, coordinates: map[string]bool{}, work: &work{maxWork}}
	for _, name := range c.p.Symbols {
		b.known[expr.Canonical(name)] = true
	}
	for _, name := range c.p.Time {
		b.known[expr.Canonical(name)] = true
		b.varies[expr.Canonical(name)] = true
		b.coordinates[expr.Canonical(name)] = true
	}
	for name := range c.small {
		b.known[name] = true
		b.coordinates[name] = true
	}
	return b
}

func (b *board) clone() *board {
	return &board{b.c, slices.Clone(b.standing), maps.Clone(b.known), maps.Clone(b.varies), maps.Clone(b.definitions), maps.Clone(b.coordinates), b.work}
}

func (b *board) names() []string { return slices.Sorted(maps.Keys(b.known)) }

func (b *board) read(text string) ([]parse.Statement, error) {
	if lastIntegral(text) >= 0 {
		text = b.withoutIntegrals(text)
	}
	readings, err := parse.Readings(b.withValues(b.withoutLimits(text)), b.parsing())
	const once, more = 40, 100 // for each byte, the latter for each further reading, with those that were tried for it
	b.work.spend(len(text) * (once + more*max(0, len(readings)-1)))
	return readings, err
}

// value is a function with a symbol in brackets: w(L), w'(L).
var value = regexp.MustCompile(`(^|[^\pL\\_])(\pL+(?:_\w+|_\{\w+\})?)('*)\((\pL(?:_\w+|_\{\w+\})?)\)`)

// withValues puts the value of a defined function at a known symbol in its place:
// with w(x) = k x², w(L) is k L².
func (b *board) withValues(text string) string {
	if !strings.Contains(text, "(") {
		return text
	}
	return value.ReplaceAllStringFunc(text, func(whole string) string {
		m := value.FindStringSubmatch(whole)
		name, at := expr.Canonical(m[2]), expr.Canonical(m[4])
		e, ok := b.definitions[name]
		if !ok || !b.known[at] || b.coordinates[at] {
			return whole
		}
		of := ""
		for _, n := range e.Symbols() {
			if b.coordinates[n] && of != "" {
				return whole
			}
			if b.coordinates[n] {
				of = n
			}
		}
		if of == "" || !slices.Contains(b.c.arguments, of) && b.varies[of] {
			return whole
		}
		for range m[3] {
			e = e.Diff(of)
		}
		return m[1] + "(" + typeset.Text(e.Subs(map[string]expr.Expr{of: expr.Sym(at)})) + ")"
	})
}

func (b *board) parsing() parse.Options {
	return parse.Options{
		Symbols:     b.names(),
		Time:        slices.Sorted(maps.Keys(b.varies)),
		Open:        true,
		Definitions: b.definitions,
		Coordinates: slices.Sorted(maps.Keys(b.coordinates)),
	}
}

// stand adds a link to what stands.
func (b *board) stand(l link, line int) {
	fresh := b.fresh(l)
	for _, name := range append(l.a.Symbols(), l.b.Symbols()...) {
		stem := base(name)
		if stem != name {
			b.varies[stem] = true
		}
		b.known[stem] = true
	}
	b.standing = append(b.standing, standing{l, line})
	if l.relation != "=" {
		return
	}
	for _, pair := range [2][2]expr.Expr{{l.a, l.b}, {l.b, l.a}} {
		symbol, value := pair[0], pair[1]
		if symbol.Kind() != expr.KindSymbol || value.Has(symbol.Name()) {
			continue
		}
		name := symbol.Name()
		if b.moving(value) && slices.Contains(fresh, name) && !b.keeps(l, name) {
			b.varies[name] = true
		}
		if _, ok := b.definitions[name]; !ok && base(name) == name && !value.Has(name+"'") && (slices.Contains(fresh, name) || line == 0) {
			b.definitions[name] = value
		}
		break
	}
}

// keeps reports whether a given equation says that something stays what it is:
// T + V = E, where the problem lists E and not among what changes with time.
// E = T + V says what E is.
func (b *board) keeps(l link, name string) bool {
	return b.c.declared[name] && !b.c.timed(name) && l.b.Kind() == expr.KindSymbol && l.b.Name() == name && l.a.Kind() != expr.KindSymbol
}

// moving reports whether an expression changes with time.
func (b *board) moving(e expr.Expr) bool {
	for _, name := range e.Symbols() {
		if b.varies[base(name)] || name == expr.TimeName {
			return true
		}
	}
	return false
}

// fresh lists symbols of l about which nothing stands yet.
func (b *board) fresh(l link) (out []string) {
	used := map[string]bool{}
	for _, s := range b.standing {
		for _, e := range [2]expr.Expr{s.a, s.b} {
			for _, name := range e.Symbols() {
				used[base(name)] = true
			}
		}
	}
	for _, e := range [2]expr.Expr{l.a, l.b} {
		for _, name := range e.Symbols() {
			if stem := base(name); stem != expr.TimeName && !used[stem] && !slices.Contains(out, stem) {
				out = append(out, stem)
			}
		}
	}
	return out
}

// base is a name without its time derivatives.
func base(name string) string { return strings.TrimRight(name, "'") }

func primes(name string) int { return len(name) - len(base(name)) }
