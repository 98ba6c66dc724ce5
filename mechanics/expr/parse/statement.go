package parse

import (
	"slices"
	"strings"

	"counterpoise/mechanics/expr"
)

// bounds finds the formula in a text: without white space, dollar signs and
// the like around it, and without a full stop at the end.
func bounds(text string) (from, to int) {
	from, to = 0, len(text)
	trim := func() {
		for from < to && strings.IndexByte(" \t\r\n", text[from]) >= 0 {
			from++
		}
		for to > from && strings.IndexByte(" \t\r\n", text[to-1]) >= 0 {
			to--
		}
	}
	for {
		trim()
		inner := text[from:to]
		switch {
		case wrapped(inner, "$$", "$$"), wrapped(inner, `\(`, `\)`), wrapped(inner, `\[`, `\]`):
			from, to = from+2, to-2
		case environment(inner) > 0:
			from, to = from+len(`\begin{}`)+environment(inner), to-len(`\end{}`)-environment(inner)
		case wrapped(inner, "$", "$"), wrapped(inner, "`", "`"):
			from, to = from+1, to-1
		case len(inner) > 1 && strings.IndexByte(".,;", inner[len(inner)-1]) >= 0 && !strings.HasSuffix(inner, `\,`) && !strings.HasSuffix(inner, `\;`) && !strings.HasSuffix(inner, `\right.`):
			to--
		case strings.HasSuffix(inner, `\,`), strings.HasSuffix(inner, `\;`):
			to -= 2
		default:
			return from, to
		}
	}
}

// environments of TeX hold one formula.
var environments = []string{"equation", "equation*", "align", "align*", "aligned", "gather", "gather*", "displaymath", "math", "split", "multline", "multline*"}

// environment returns how long the name of the environment is that all of text
// stands in, 0 if it stands in none.
func environment(text string) int {
	for _, name := range environments {
		if wrapped(text, `\begin{`+name+"}", `\end{`+name+"}") {
			return len(name)
		}
	}
	return 0
}

func wrapped(text, before, after string) bool {
	return len(text) >= len(before)+len(after) && strings.HasPrefix(text, before) && strings.HasSuffix(text, after) &&
		!strings.Contains(text[len(before):len(text)-len(after)], before)
}

// statement reads all tokens.
func (p *parser) statement() (Statement, *SyntaxError) {
	var s Statement
	for {
		from := p.peek().at
		side, err := p.sum()
		if err != nil {
			return s, err
		}
		if p.large && powersAdded(side) {
			return s, p.fail(from, "the exponents here are too large together", "", "")
		}
		s.Sides = append(s.Sides, side)
		t := p.peek()
		if t.kind == tokEnd {
			break
		}
		if t.kind != tokRelation {
			return s, p.unexpected(t, "")
		}
		p.next()
		s.Relations = append(s.Relations, t.text)
		if p.peek().kind == tokEnd {
			return s, p.fail(p.end, "nothing stands after "+t.text, "the right side", "")
		}
	}
	for name := range p.fresh {
		s.New = append(s.New, name)
	}
	if first := p.tokens[0]; first.unknown && !p.fresh[first.text] {
		s.New = append(s.New, expr.Canonical(first.text))
	}
	slices.Sort(s.New)
	s.Arguments = p.args
	return s, nil
}
