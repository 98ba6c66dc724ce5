package parse

import (
	"strings"

	"counterpoise/mechanics/expr"
)

// SumTerms is how many terms a sum Σ m_i x_i stands for. A statement about any
// number of masses holds for three, and one that does not hold in general
// hardly holds for three.
const SumTerms = 3

// sigma reads Σ with its limits, which are passed over: every sum runs over
// all.
func (s *scanner) sigma(at int) *SyntaxError {
	for s.i < s.end && s.text[s.i] == ' ' {
		s.i++
	}
	for range 2 {
		if s.i >= s.end || s.text[s.i] != '_' && s.text[s.i] != '^' {
			break
		}
		from := s.i + 1
		switch {
		case from < s.end && s.text[from] == '{':
			to := matchingBrace(s.text[:s.end], from)
			if to < 0 {
				return s.fail(from, "this brace is not closed", "", "close it with }")
			}
			s.i = to + 1
		case from < s.end:
			_, size := s.peek(from)
			s.i = from + size
		default:
			s.i = from
		}
		for s.i < s.end && s.text[s.i] == ' ' {
			s.i++
		}
	}
	return s.emit(token{kind: tokSum, at: at, end: s.i, text: "Σ"})
}

// sigma reads what is added up: factors up to the next + or -. Symbols with
// the index i, j, k or n as their subscript run over the terms.
func (p *parser) sigma(list []factor) ([]factor, *SyntaxError) {
	t := p.next()
	if err := p.enter(t.at); err != nil {
		return nil, err
	}
	defer p.leave()
	e, err := p.term()
	if err != nil {
		return nil, err
	}
	index := ""
	for _, name := range e.Symbols() {
		if i := indexOf(name); i != "" && (index == "" || i < index) {
			index = i
		}
	}
	if index == "" {
		return nil, p.fail(t.at, "nothing here has an index to add up over", "symbols such as m_i", "")
	}
	terms := make([]expr.Expr, SumTerms)
	for k := range terms {
		values := map[string]expr.Expr{}
		for _, name := range e.Symbols() {
			if indexOf(name) != index {
				continue
			}
			stem := strings.TrimRight(name, "'")
			one := strings.TrimSuffix(stem, index) + string(rune('1'+k)) + name[len(stem):]
			values[name] = expr.Sym(one)
			if p.fresh[stem] {
				p.fresh[strings.TrimRight(one, "'")] = true
			}
		}
		terms[k] = e.Subs(values)
	}
	for name := range p.fresh {
		if indexOf(name) == index {
			delete(p.fresh, name)
		}
	}
	return append(list, factor{e: expr.Add(terms...), at: t.at, spaced: t.spaced, form: formBracket}), nil
}

// indexOf is the running index of a symbol such as m_i, "" if it has none.
func indexOf(name string) string {
	_, sub, _ := strings.Cut(strings.TrimRight(name, "'"), "_")
	switch sub {
	case "i", "j", "k", "n":
		return sub
	}
	return ""
}
