package parse

import (
	"slices"
	"strings"
	"unicode/utf8"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/expr/internal/spelling"
)

// A differentialSign is a d or ∂ as it may be written.
type differentialSign struct {
	text    string
	partial bool
}

var differentialSigns = []differentialSign{
	{`\mathrm{d}`, false}, {`\mathrm d`, false}, {`\text{d}`, false}, {`{\rm d}`, false}, {`\rm d`, false},
	{`\partial`, true}, {"∂", true}, {"d", false},
}

// differentialOf takes a d or ∂ off a text.
func differentialOf(text string) (rest string, partial, ok bool) {
	text = strings.TrimLeft(text, " ")
	for _, d := range differentialSigns {
		if rest, ok := strings.CutPrefix(text, d.text); ok {
			return rest, d.partial, true
		}
	}
	return text, false, false
}

// orderAfter reads the order of a derivative, 1 if none is written.
func orderAfter(text string) (n int, rest string) {
	text = strings.TrimLeft(text, " ")
	for n := 2; n <= 4; n++ {
		d := string(rune('0' + n))
		for _, written := range []string{"^{" + d + "}", "^" + d, string([]rune("²³⁴")[n-2])} {
			if rest, ok := strings.CutPrefix(text, written); ok {
				return n, rest
			}
		}
	}
	return 1, text
}

// variable reads the name along which is differentiated at the start of text.
func (s *scanner) variable(text string) (name, rest string, ok bool) {
	text = strings.TrimLeft(text, " ")
	if strings.HasPrefix(text, "{") {
		end := matchingBrace(text, 0)
		if end < 0 {
			return "", "", false
		}
		name, inner, ok := s.variable(text[1:end])
		return name, text[end+1:], ok && strings.TrimSpace(inner) == ""
	}
	r, _ := utf8.DecodeRuneInString(text)
	if !spelling.Letter(r) && r != '\\' && fold(r) == string(r) {
		return "", "", false
	}
	in := scanner{text: text, end: len(text), lex: s.lex, choices: &choices{}, tex: s.tex}
	if isASCIILetter(text[0]) {
		if end := lettersEnd(text, 0); spelling.Greek[text[:end]] == "" && !s.lex.knows(text[:end]) {
			in.single = true
		}
		// One letter, but with its subscript and primes.
		c := text[:1]
		if in.single {
			in.single = false
			if err := in.letter(c, 0, 1, 0); err != nil {
				return "", "", false
			}
			return in.tokens[0].text, text[in.i:], in.i >= len(text) || !isASCIILetter(text[in.i]) || in.i > 1
		}
	}
	if err := in.next(); err != nil || len(in.tokens) != 1 || in.tokens[0].kind != tokName {
		return "", "", false
	}
	return in.tokens[0].text, text[in.i:], true
}

// below reads what stands under the line of a derivative, such as dt² or ∂x∂y.
// Where d and dt are symbols both, it reads none.
func (s *scanner) below(text string, partial bool) (variables []string, rest string, ok bool) {
	for len(variables) <= MaxOrder {
		after, p, found := differentialOf(text)
		if !found || p != partial {
			break
		}
		name, after, found := s.variable(after)
		if !found || len(after) > 1 && after[0] == '.' && isASCIILetter(after[1]) || s.lex.knows("d") && s.lex.knows(expr.Canonical(text[:len(text)-len(after)])) {
			break
		}
		n, after := orderAfter(after)
		for range n {
			variables = append(variables, name)
		}
		text = after
	}
	return variables, text, len(variables) > 0 && len(variables) <= MaxOrder
}

// fractionDerivative reads \frac{d …}{dt} after \frac. It reports done = false
// where the fraction is an ordinary one.
func (s *scanner) fractionDerivative(at int) (done bool, err *SyntaxError) {
	i := s.i
	for i < s.end && s.text[i] == ' ' {
		i++
	}
	if i >= s.end || s.text[i] != '{' {
		return false, nil
	}
	close := matchingBrace(s.text[:s.end], i)
	if close < 0 {
		return false, nil
	}
	open := close + 1
	for open < s.end && s.text[open] == ' ' {
		open++
	}
	if open >= s.end || s.text[open] != '{' {
		return false, nil
	}
	end := matchingBrace(s.text[:s.end], open)
	if end < 0 {
		return false, nil
	}
	above, partial, ok := differentialOf(s.text[i+1 : close])
	if !ok {
		return false, nil
	}
	n, above := orderAfter(above)
	if above = strings.TrimLeft(above, " "); strings.HasPrefix(above, "_") || strings.HasPrefix(above, "^") { // d_0 is a name, d^x a power
		return false, nil
	}
	variables, rest, ok := s.below(s.text[open+1:end], partial)
	if !ok || strings.TrimSpace(rest) != "" || len(variables) != n {
		return false, nil
	}
	return true, s.emitDerivative(at, variables, partial, close-len(above), close, end+1)
}

// emitDerivative adds a derivative whose differentiated part stands from from
// to to, if any does, and moves on to end.
func (s *scanner) emitDerivative(at int, variables []string, partial bool, from, to, end int) *SyntaxError {
	d := &derivation{variables: variables, partial: partial, inner: strings.TrimSpace(s.text[from:to]) != ""}
	if err := s.emit(token{kind: tokDerivative, at: at, end: end, text: "d", d: d}); err != nil {
		return err
	}
	if d.inner {
		if err := s.part(from, to); err != nil {
			return err
		}
	}
	s.i = end
	return nil
}

// derivative reads what begins with ∂, which has no other meaning.
func (s *scanner) derivative(at int) *SyntaxError {
	after := s.i
	done, err := s.plainDerivative(at, after, true)
	if done || err != nil {
		return err
	}
	return s.fail(at, "this derivative is not read", "∂ above and below a line", "write ∂/∂q( … )")
}

// plainDerivative reads d/dt, dθ/dt, d²x/dt² and d( … )/dt, where the d ends
// at after. It reports done = false for a d that is a name.
func (s *scanner) plainDerivative(at, after int, partial bool) (done bool, err *SyntaxError) {
	text := s.text[:s.end]
	if end := lettersEnd(text, at); end > at+1 && s.knownWith(text[at:end], end) {
		return false, nil // a symbol such as dA
	}
	n, rest := orderAfter(text[after:])
	from := len(text) - len(rest)
	to := from
	switch {
	case strings.HasPrefix(rest, "("), strings.HasPrefix(rest, "["):
		if to = matchingRound(text, from); to < 0 {
			return false, nil
		}
		to++
	case rest != "" && (isDigit(rest[0]) || rest[0] == '_' || rest[0] == '\'' || rest[0] == '}'):
		return false, nil
	default:
		for to < len(text) && to-from < 40 && nameByte(text[to]) {
			to++
		}
	}
	rest = strings.TrimLeft(text[to:], " ")
	rest, ok := strings.CutPrefix(rest, "/")
	if !ok {
		return false, nil
	}
	rest = strings.TrimLeft(rest, " ")
	inBrackets := strings.HasPrefix(rest, "(")
	variables, rest, ok := s.below(strings.TrimPrefix(rest, "("), partial)
	if !ok || len(variables) != n {
		return false, nil
	}
	if inBrackets {
		if rest, ok = strings.CutPrefix(rest, ")"); !ok {
			return false, nil
		}
	}
	return true, s.emitDerivative(at, variables, partial, from, to, len(text)-len(rest))
}

// nameByte reports whether a byte may belong to a name.
func nameByte(b byte) bool {
	return isASCIILetter(b) || isDigit(b) || b >= utf8.RuneSelf || strings.IndexByte(`_'{}\`, b) >= 0
}

// matchingRound is the place of the bracket that closes the one at open.
func matchingRound(text string, open int) int {
	depth := 0
	for i := open; i < min(len(text), open+MaxGroup); i++ {
		switch text[i] {
		case '(', '[', '{':
			depth++
		case ')', ']', '}':
			if depth--; depth == 0 {
				return i
			}
		}
	}
	return -1
}

// differentiate applies a derivative.
func (p *parser) differentiate(t token, e expr.Expr) (expr.Expr, *SyntaxError) {
	for _, along := range t.d.variables {
		var err *SyntaxError
		if along == expr.TimeName && !t.d.partial {
			e, err = p.timeDerivative(t, e)
		} else {
			e, err = p.partialDerivative(t, e, along)
		}
		if err != nil {
			return e, err
		}
		if e.Size() > maxDerivativeSize {
			return e, p.fail(t.at, "this derivative is too long", "", "write it in several parts")
		}
		if slices.ContainsFunc(e.Symbols(), func(name string) bool { return strings.Count(name, "'") > MaxOrder }) {
			return e, p.fail(t.at, "this derivative's order is too high", "", "")
		}
	}
	return e, nil
}

// maxDerivativeSize bounds the tree of a derivative, so that repeated ones do
// not grow without limit.
const maxDerivativeSize = 200_000

func (p *parser) timeDerivative(t token, e expr.Expr) (expr.Expr, *SyntaxError) {
	if e.Kind() == expr.KindSymbol && (p.lex.varies(e.Name()) || p.lex.any() || p.lex.open) && e.Name() != expr.TimeName {
		return expr.Sym(e.Name() + "'"), nil
	}
	e = p.defined(e, "")
	var varying []string
	for _, name := range e.Symbols() {
		if p.lex.varies(name) || p.fresh[name] {
			varying = append(varying, strings.TrimRight(name, "'"))
		}
	}
	if len(varying) == 0 && !e.Has(expr.TimeName) && len(e.Symbols()) > 0 {
		return e, p.fail(t.at, "nothing here is known to change with time", "", "write the derivative out with primes or dots")
	}
	return e.TimeDiff(append(varying, p.lex.timeList...)...), nil
}

func (p *parser) partialDerivative(t token, e expr.Expr, along string) (expr.Expr, *SyntaxError) {
	if p.lex.known != nil && !p.lex.open && !p.lex.knows(along) {
		return e, p.fail(t.at, along+" is not a symbol here", "", "")
	}
	e = p.defined(e, along)
	if e.Kind() == expr.KindSymbol && e.Name() != along {
		return e, p.fail(t.at, "how "+e.Name()+" depends on "+along+" is not known", "", "write "+e.Name()+" out")
	}
	return e.Diff(along), nil
}

// defined replaces symbols and their time derivatives by their definitions,
// and those in turn, except for the symbol along which is differentiated.
func (p *parser) defined(e expr.Expr, except string) expr.Expr {
	const deep = 12 // definitions in a row; a circle ends here
	for range deep {
		values := map[string]expr.Expr{}
		for _, name := range e.Symbols() {
			base := strings.TrimRight(name, "'")
			d, ok := p.lex.definitions[base]
			if !ok || name == except || d.Has(except) && base == strings.TrimRight(except, "'") {
				continue
			}
			for range len(name) - len(base) {
				d = d.TimeDiff(p.lex.timeList...)
			}
			values[name] = d
		}
		if len(values) == 0 || e.Size() > maxDerivativeSize {
			break
		}
		e = e.Subs(values)
	}
	return e
}
