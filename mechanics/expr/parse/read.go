package parse

import (
	"slices"
	"strconv"
	"strings"

	"counterpoise/mechanics/expr"
)

// A Statement is what a line says: one expression, or several with a relation
// between each two.
type Statement struct {
	Sides     []expr.Expr
	Relations []string // "=", "≈", "<", ">", "≤", "≥" or "≠": one fewer than Sides
	// Lower holds the sides with the lower sign of ± and ∓, where Sides has the
	// upper; nil if neither sign occurs.
	Lower []expr.Expr
	// New lists symbols that were not known before, with Options.Open, and the
	// unknown name on the left side of a statement such as T = ….
	New []string
	// Arguments lists symbols of which a left side is said to be a function, as
	// in V(φ) = …, with Options.Open.
	Arguments []string
	// Choices says in words what was ambiguous and where, "column 2: …".
	Choices []string
}

// Parse reads one expression in the usual reading. It takes T = … for …, where
// the left side is one symbol. The error is a [*SyntaxError].
func Parse(text string, o Options) (expr.Expr, error) {
	s, err := ParseStatement(text, o)
	if err != nil {
		return expr.Expr{}, err
	}
	switch {
	case s.Lower != nil:
		return expr.Expr{}, &SyntaxError{Text: text, At: max(0, strings.IndexAny(text, "±∓\\")), Reason: "± gives two expressions", Expected: "one expression", Remedy: "choose the sign"}
	case len(s.Sides) == 1:
		return s.Sides[0], nil
	case len(s.Sides) == 2 && s.Relations[0] == "=" && s.Sides[0].Kind() == expr.KindSymbol:
		return s.Sides[1], nil
	}
	at := strings.IndexAny(text, "=≈<>≤≥≠~")
	return expr.Expr{}, &SyntaxError{Text: text, At: max(at, 0), Reason: "an equation is written where an expression is asked", Expected: "one expression", Remedy: "give one side only"}
}

// ParseStatement reads one statement in the usual reading. The error is a
// [*SyntaxError].
func ParseStatement(text string, o Options) (Statement, error) {
	r := reader{text: text, lex: newLexicon(o)}
	s, _, err := r.read(nil)
	if err == nil {
		return s, nil
	}
	// The usual reading fails: another customary one may not.
	all := r.all()
	if len(all) > 0 {
		return all[0], nil
	}
	return s, err
}

// Readings reads one statement in every customary reading, the usual one
// first, each once. The error is a [*SyntaxError] about the usual reading.
func Readings(text string, o Options) ([]Statement, error) {
	r := reader{text: text, lex: newLexicon(o)}
	s, met, err := r.read(nil)
	if err == nil && len(met) == 0 && !s.hasTarget() {
		return []Statement{s}, nil
	}
	if all := r.all(); len(all) > 0 {
		return all, nil
	}
	return nil, err
}

// hasTarget reports whether a statement may mean its right side only.
func (s Statement) hasTarget() bool {
	return len(s.Sides) == 2 && s.Relations[0] == "=" && s.Sides[0].Kind() == expr.KindSymbol
}

func (s Statement) equal(t Statement) bool {
	if len(s.Sides) != len(t.Sides) || len(s.Lower) != len(t.Lower) {
		return false
	}
	for i := range s.Sides {
		if !s.Sides[i].Equal(t.Sides[i]) || i < len(s.Relations) && s.Relations[i] != t.Relations[i] {
			return false
		}
		if s.Lower != nil && !s.Lower[i].Equal(t.Lower[i]) {
			return false
		}
	}
	return true
}

// A reader reads one text under different choices.
type reader struct {
	text   string
	lex    *lexicon
	tokens int      // read so far, over all tries
	first  *scanner // the text taken apart in the usual way
	met    []metChoice
}

// maxTokensTried bounds the work of looking for other readings of a long text.
const maxTokensTried = 2 * MaxTokens

// read reads the text once, with the choices that are given.
func (r *reader) read(take map[choice]int) (Statement, []metChoice, error) {
	if len(r.text) > MaxBytes {
		return Statement{}, nil, &SyntaxError{Text: r.text, At: MaxBytes, Reason: "this is too long for one formula", Remedy: "write it in several parts"}
	}
	c := &choices{take: take}
	s, scanError := r.scan(c)
	if scanError != nil {
		return Statement{}, c.met, scanError
	}
	r.tokens += len(s.tokens)
	to := s.end
	p := parser{text: r.text, tokens: s.tokens, end: to, lex: r.lex, choices: c, tex: s.tex, fresh: map[string]bool{}, target: true}
	st, err := p.statement()
	if err != nil {
		return st, c.met, err
	}
	if p.signs != 0 {
		q := parser{text: r.text, tokens: s.tokens, end: to, lex: r.lex, choices: c, tex: s.tex, fresh: map[string]bool{}, target: true, lower: true}
		lower, err := q.statement()
		if err != nil {
			return st, c.met, err
		}
		st.Lower = lower.Sides
	}
	for _, m := range c.met {
		e := SyntaxError{Text: r.text, At: m.at, Reason: choiceWords[m.kind]}
		st.Choices = append(st.Choices, e.Error())
	}
	return st, c.met, nil
}

// scan takes the text apart, or gives what it did the first time where the
// choices do not bear on names and numbers.
func (r *reader) scan(c *choices) (*scanner, *SyntaxError) {
	usual := true
	for k := range c.take {
		usual = usual && k.kind != letters && k.kind != scientific
	}
	if usual && r.first != nil {
		c.met = slices.Clone(r.met)
		return r.first, nil
	}
	from, to := bounds(r.text)
	s := &scanner{text: r.text, i: from, end: to, lex: r.lex, choices: c, tex: strings.ContainsAny(r.text[from:to], `\{`)}
	if err := s.scan(false); err != nil {
		r.tokens += len(s.tokens)
		return nil, err
	}
	if usual {
		r.first, r.met = s, slices.Clone(c.met)
	}
	return s, nil
}

// all reads the text under every choice, in the order of how many choices
// differ from the usual ones, until the limits are reached.
func (r *reader) all() []Statement {
	var out []Statement
	add := func(s Statement) {
		for _, o := range out {
			if s.equal(o) {
				return
			}
		}
		if len(out) < MaxReadings {
			out = append(out, s)
		}
	}
	queue := []map[choice]int{nil}
	seen := map[string]bool{}
	for tries := 0; len(queue) > 0 && tries < MaxTries && r.tokens < maxTokensTried; tries++ {
		take := queue[0]
		queue = queue[1:]
		s, met, err := r.read(take)
		if err == nil {
			add(s)
			if s.hasTarget() {
				add(Statement{Sides: s.Sides[1:], Choices: s.Choices})
			}
		}
		if len(queue) > MaxTries {
			continue
		}
		for _, next := range changes(take, met) {
			if k := key(next); !seen[k] {
				seen[k] = true
				queue = append(queue, next)
			}
		}
	}
	return out
}

// changes are the choices that differ from take in one more place, or, where
// nothing differs yet, in all places of one kind.
func changes(take map[choice]int, met []metChoice) (out []map[choice]int) {
	with := func(more ...metChoice) {
		next := make(map[choice]int, len(take)+len(more))
		for c, k := range take {
			next[c] = k
		}
		for _, m := range more {
			next[m.choice] = m.options
		}
		out = append(out, next)
	}
	if len(take) == 0 {
		byKind := map[choiceKind][]metChoice{}
		for _, m := range met {
			byKind[m.kind] = append(byKind[m.kind], metChoice{m.choice, 1})
		}
		for _, m := range met {
			if same := byKind[m.kind]; len(same) > 1 {
				with(same...)
				delete(byKind, m.kind)
			}
		}
	}
	for _, m := range met {
		if _, done := take[m.choice]; done {
			continue
		}
		for k := 1; k < m.options; k++ {
			with(metChoice{m.choice, k})
		}
	}
	return out
}

// key is the same for equal choices.
func key(take map[choice]int) string {
	var list []string
	for c, k := range take {
		list = append(list, strconv.Itoa(c.at)+" "+strconv.Itoa(int(c.kind))+" "+strconv.Itoa(k))
	}
	slices.Sort(list)
	return strings.Join(list, ";")
}
