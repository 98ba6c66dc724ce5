package parse

import (
	"math/big"
	"strings"
	"unicode"
	"unicode/utf8"

	"counterpoise/mechanics/expr/internal/spelling"
)

// A scanner turns text into tokens.
type scanner struct {
	text    string
	i, end  int // the part of text still to be read
	lex     *lexicon
	choices *choices
	tokens  []token
	spaced  bool           // white space was passed since the last token
	tex     bool           // the text is TeX: white space and letter runs mean nothing
	depth   int            // of braces
	rounds  []bool         // for each open round bracket: is it a function's
	raised  map[int][2]int // where a name ends after its subscript: the exponent before that
	single  bool           // an argument without braces: one character only
}

func (s *scanner) fail(at int, reason, expected, remedy string) *SyntaxError {
	return &SyntaxError{Text: s.text, At: at, Reason: reason, Expected: expected, Remedy: remedy}
}

func (s *scanner) emit(t token) *SyntaxError {
	if len(s.tokens) >= MaxTokens {
		return s.fail(t.at, "this is too long for one formula", "", "write it in several parts")
	}
	t.spaced, s.spaced = s.spaced, false
	s.tokens = append(s.tokens, t)
	return nil
}

// peek returns the next character in its usual form, and its size in bytes.
func (s *scanner) peek(at int) (string, int) {
	if at >= s.end {
		return "", 0
	}
	if b := s.text[at]; b < utf8.RuneSelf {
		return s.text[at : at+1], 1
	}
	r, size := utf8.DecodeRuneInString(s.text[at:s.end])
	return fold(r), size
}

func (s *scanner) has(at int, prefix string) bool {
	return strings.HasPrefix(s.text[at:s.end], prefix)
}

func (s *scanner) last() token {
	if len(s.tokens) == 0 {
		return token{}
	}
	return s.tokens[len(s.tokens)-1]
}

// scan reads up to the end of the text, or to the brace that closes a group.
func (s *scanner) scan(group bool) *SyntaxError {
	for s.i < s.end {
		if group && s.text[s.i] == '}' {
			return nil
		}
		if err := s.next(); err != nil {
			return err
		}
	}
	return nil
}

// next reads one token, or white space.
func (s *scanner) next() *SyntaxError {
	at := s.i
	b := s.text[at]
	switch {
	case b == ' ' || b == '\t' || b == '\n' || b == '\r':
		s.i++
		s.spaced = s.spaced || !s.tex
		return nil
	case isDigit(b) || b == '.' && at+1 < s.end && isDigit(s.text[at+1]):
		return s.number()
	case isASCIILetter(b):
		return s.letters()
	case b == '\\':
		return s.command()
	case b == '{':
		if inner := strings.TrimLeft(s.text[at+1:s.end], " "); strings.HasPrefix(inner, "}") && s.last().kind != tokPower {
			s.i = s.end - len(inner) + 1 // {} only keeps letters apart
			return nil
		}
		return s.braces()
	case b == '}':
		return s.fail(at, "this brace closes nothing", "", "take it out, or open it with { before")
	}
	c, size := s.peek(at)
	r, _ := utf8.DecodeRuneInString(s.text[at:s.end])
	if r == utf8.RuneError && size <= 1 {
		return s.fail(at, "this is not text in UTF-8", "", "type the formula again")
	}
	if _, ok := superscripts[r]; ok {
		return s.superscript()
	}
	if v, ok := vulgar[r]; ok {
		s.i += size
		part := big.NewRat(v[0], v[1])
		if n := len(s.tokens); n > 0 && s.tokens[n-1].kind == tokNumber && s.tokens[n-1].end == at && s.tokens[n-1].value.IsInt() {
			mixed := &s.tokens[n-1] // 2½
			mixed.value, mixed.end, mixed.vulgar = part.Add(part, mixed.value), s.i, true
			return nil
		}
		return s.emit(token{kind: tokNumber, at: at, end: s.i, value: part, vulgar: true})
	}
	if c0, _ := utf8.DecodeRuneInString(c); spelling.Letter(c0) {
		return s.letters()
	}
	return s.sign(c, size)
}

// sign reads an operator, bracket, relation or other mark.
func (s *scanner) sign(c string, size int) *SyntaxError {
	at := s.i
	s.i += size
	tok := token{at: at, end: s.i, text: c}
	switch c {
	case " ":
		s.spaced = s.spaced || !s.tex
		return nil
	case "+", "/":
		tok.kind = tokOperator
	case "-":
		tok.kind = tokOperator
		if s.has(s.i, ">") {
			return s.fail(at, "an arrow is no part of a formula", "", "write = between equal sides")
		}
	case "*":
		tok.kind = tokOperator
		if s.has(s.i, "*") {
			s.i++
			tok.kind, tok.text = tokPower, "^"
		}
	case "±", "∓":
		tok.kind = tokOperator
	case "^":
		if done, err := s.raisedMark(at); done {
			return err
		}
		tok.kind = tokPower
	case "√", "∛", "∜":
		return s.rootSign(c, at)
	case "(", "[":
		s.rounds = append(s.rounds, s.last().kind == tokFunction)
		tok.kind = tokOpen
	case ")", "]":
		if n := len(s.rounds); n > 0 {
			s.rounds = s.rounds[:n-1]
		}
		tok.kind = tokClose
	case "|":
		tok.kind, tok.text = tokBar, "|"
	case ",":
		if k := s.last(); k.kind == tokNumber && k.end == at && s.i < s.end && isDigit(s.text[s.i]) && !s.inCall() {
			return s.fail(at, "a comma between digits", "a decimal point", "write "+s.text[k.at:k.end]+"."+s.digitsAt(s.i))
		}
		tok.kind = tokComma
	case ";":
		tok.kind = tokSemicolon
	case "'", "''", "'''", "''''":
		tok.kind = tokPrime
	case "\"":
		tok.kind, tok.text = tokPrime, "''"
	case "°", "º", "˚":
		tok.kind = tokDegree
	case "∂":
		return s.derivative(at)
	case "∑":
		if s.lex.open {
			return s.sigma(at)
		}
		return s.strange(c, at)
	case "~":
		if s.tex {
			s.spaced = true
			return nil
		}
		tok.kind, tok.text = tokRelation, "≈"
	case "=", "≈", "<", ">", "≤", "≥", "≠", ":", "!":
		return s.relation(c, at)
	case "&":
		if s.tex {
			return nil
		}
		return s.fail(at, "& is not read", "an operator or a name", "")
	default:
		return s.strange(c, at)
	}
	return s.emit(tok)
}

func (s *scanner) inCall() bool {
	return len(s.rounds) > 0 && s.rounds[len(s.rounds)-1]
}

func (s *scanner) digitsAt(at int) string {
	to := at
	for to < s.end && isDigit(s.text[to]) && to < at+12 {
		to++
	}
	return s.text[at:to]
}

// relation reads =, ==, :=, =>, <=, >=, != and their one-character forms.
func (s *scanner) relation(c string, at int) *SyntaxError {
	text := c
	two := func(next, both string) bool {
		if s.has(s.i, next) {
			s.i++
			text = both
			return true
		}
		return false
	}
	switch c {
	case "=":
		if s.has(s.i, ">") {
			return s.fail(at, "an arrow is no part of a formula", "", "start a new line after it")
		}
		if !two("=", "=") {
			two("<", "≤")
		}
	case "<":
		two("=", "≤")
	case ">":
		two("=", "≥")
	case ":":
		if !two("=", "=") {
			return s.fail(at, ": is not read", "an operator", "write / for a division, = for a definition")
		}
	case "!":
		if !two("=", "≠") {
			return s.fail(at, "factorials are not read", "an operator", "write the product out")
		}
	}
	return s.emit(token{kind: tokRelation, at: at, end: s.i, text: text})
}

// strange explains a character that has no meaning here.
func (s *scanner) strange(c string, at int) *SyntaxError {
	r, _ := utf8.DecodeRuneInString(c)
	switch {
	case c == "$":
		return s.fail(at, "a second formula begins here", "", "give one formula only")
	case c == "∞":
		return s.fail(at, "∞ is no number", "", "write the limit that you mean")
	case c == "%":
		return s.fail(at, "% is not read in a formula", "", "write the fraction, such as 0.02 for 2 %")
	case c == "∫" || c == "∑" || c == "∏":
		return s.fail(at, c+" is not read", "", "write the result without it")
	case c == "∝":
		return s.fail(at, "∝ says too little to be checked", "=", "write the factor, with =")
	case c == "…" || c == ".":
		return s.fail(at, "a dot that is no decimal point", "an operator or a name", "write * for a product")
	case c == "_":
		return s.fail(at, "this subscript is not read", "a name before _ and letters or digits after it", "write several in braces, as in I_{cm}")
	case c == "€" || c == "£" || c == "#" || c == "@" || c == "?" || c == "`":
		return s.fail(at, c+" is not read here", "an operator or a name", "")
	case combining(r):
		return s.fail(at, "a mark over a letter that is not read", "", "dots stand for time derivatives; write other marks as a subscript")
	case unicode.IsLetter(r):
		return s.fail(at, "the letter "+c+" is not read", "a Latin or Greek letter", "")
	}
	return s.fail(at, "the character "+c+" is not read", "an operator or a name", "")
}

// number reads digits with a decimal point and a power of ten.
func (s *scanner) number() *SyntaxError {
	at, i := s.i, s.i
	mantissa := s.text[i : i+1]
	if s.single {
		i++
	} else {
		mantissa, i = s.digits(i, false)
		if i < s.end && s.text[i] == '.' && !(i+1 < s.end && s.text[i+1] == '.') {
			var places string
			places, i = s.digits(i+1, true)
			mantissa += "." + places
		}
	}
	if len(mantissa) > MaxDigits {
		return s.fail(at, "this number has too many digits", "", "round it")
	}
	if i < s.end && s.text[i] == '.' {
		return s.fail(i, "a second decimal point", "one decimal point", "")
	}
	if s.has(i, "{,}") {
		return s.fail(i, "a comma between digits", "a decimal point", "write "+mantissa+"."+s.digitsAt(i+3))
	}
	exponent, to, err := s.tenTo(at, i)
	if err != nil {
		return err
	}
	value, ok := new(big.Rat).SetString(strings.TrimSuffix(mantissa, ".") + exponent)
	if !ok {
		return s.fail(at, "this is no number", "a number such as 1.5 or 1.5e-3", "")
	}
	s.i = to
	return s.emit(token{kind: tokNumber, at: at, end: to, value: value, text: s.text[at:to]})
}

// digits reads the digits at i, which may stand in groups of three with one
// space between: 12 500 and 0.002 125.
//
// Source: ISO 80000-1 (2009), Quantities and units, 7.3.1.
func (s *scanner) digits(i int, places bool) (digits string, end int) {
	from := i
	for i < s.end && isDigit(s.text[i]) {
		i++
	}
	digits = s.text[from:i]
	if n := len(digits); places && n != 3 || !places && (n == 0 || n > 3 || digits[0] == '0') {
		return digits, i
	}
	for {
		c, size := s.peek(i)
		if s.has(i, `\,`) || s.has(i, `\ `) {
			c, size = " ", 2
		}
		to := i + size + 3
		if c != " " || to > s.end || to < s.end && isDigit(s.text[to]) || strings.Trim(s.text[i+size:to], "0123456789") != "" {
			return digits, i
		}
		digits, i = digits+s.text[i+size:to], to
	}
}

// tenTo reads an exponent such as e-3 at i, for the number that began at start.
func (s *scanner) tenTo(start, i int) (exponent string, to int, err *SyntaxError) {
	if s.single || i >= s.end || s.text[i] != 'e' && s.text[i] != 'E' {
		return "", i, nil
	}
	j := i + 1
	if j < s.end && (s.text[j] == '+' || s.text[j] == '-') {
		j++
	} else if c, size := s.peek(j); c == "-" {
		j += size
	}
	first := j
	for j < s.end && isDigit(s.text[j]) {
		j++
	}
	if j == first || s.lex.knows(s.text[i:i+1]) && s.choices.choose(scientific, i, 2) == 1 {
		return "", i, nil
	}
	if j-first > 4 {
		return "", i, s.fail(i, "this power of ten is too large", "", "")
	}
	sign, n := "", 0
	if first > i+1 && s.text[i+1] != '+' {
		sign = "-"
	}
	for _, d := range s.text[first:j] {
		n = 10*n + int(d-'0')
	}
	if n > MaxExponent {
		return "", i, s.fail(i, "this power of ten is too large", "at most 1200", "")
	}
	return "e" + sign + s.text[first:j], j, nil
}

// superscript reads a run of superscript characters as an exponent in braces.
func (s *scanner) superscript() *SyntaxError {
	at := s.i
	if err := s.emit(token{kind: tokPower, at: at, end: at, text: "^"}); err != nil {
		return err
	}
	var plain strings.Builder
	for s.i < s.end {
		r, size := utf8.DecodeRuneInString(s.text[s.i:s.end])
		p, ok := superscripts[r]
		if !ok {
			break
		}
		plain.WriteRune(p)
		s.i += size
	}
	if plain.Len() > MaxDigits {
		return s.fail(at, "this exponent is too long", "", "write ^( … )")
	}
	inner := scanner{text: plain.String(), end: plain.Len(), lex: s.lex, choices: &choices{}}
	if err := inner.scan(false); err != nil {
		return s.fail(at, "this exponent is not read", "a number or a name", "write ^( … )")
	}
	if err := s.emit(token{kind: tokOpen, at: at, end: at, text: "{"}); err != nil {
		return err
	}
	for _, t := range inner.tokens {
		t.at, t.end = at, s.i
		if err := s.emit(t); err != nil {
			return err
		}
	}
	return s.emit(token{kind: tokClose, at: s.i, end: s.i, text: "}"})
}

// rootSign reads √, ∛ or ∜.
func (s *scanner) rootSign(c string, at int) *SyntaxError {
	switch c {
	case "∛":
		return s.emit(token{kind: tokFunction, at: at, end: s.i, text: "cbrt"})
	case "∜":
		return s.emit(token{kind: tokFunction, at: at, end: s.i, text: "∜"})
	}
	return s.emit(token{kind: tokFunction, at: at, end: s.i, text: "sqrt"})
}

// braces reads a group in braces, which also serves as a bracket.
func (s *scanner) braces() *SyntaxError {
	at := s.i
	if s.depth >= MaxDepth {
		return s.fail(at, "braces are nested too deep", "", "write it in several parts")
	}
	if err := s.emit(token{kind: tokOpen, at: at, end: at + 1, text: "{"}); err != nil {
		return err
	}
	single := s.single
	s.single = false
	s.i++
	s.depth++
	if err := s.scan(true); err != nil {
		return err
	}
	s.depth--
	s.single = single
	if s.i >= s.end {
		return s.fail(at, "this brace is not closed", "", "close it with }")
	}
	s.i++
	s.spaced = false
	return s.emit(token{kind: tokClose, at: s.i - 1, end: s.i, text: "}"})
}

// raisedMark reads what TeX writes as an exponent but is none: degrees and
// primes. It reports done = false for an ordinary exponent.
func (s *scanner) raisedMark(at int) (done bool, err *SyntaxError) {
	rest := s.text[s.i:s.end]
	trimmed := strings.TrimLeft(rest, " {")
	switch {
	case strings.HasPrefix(trimmed, `\circ`):
		s.i = s.end - len(strings.TrimLeft(trimmed[len(`\circ`):], " }"))
		if strings.HasPrefix(strings.TrimLeft(rest, " "), "{") != strings.Contains(s.text[at:s.i], "}") {
			s.i = s.end - len(trimmed[len(`\circ`):])
		}
		return true, s.emit(token{kind: tokDegree, at: at, end: s.i, text: "°"})
	case strings.HasPrefix(trimmed, `\prime`):
		n, to := s.primes(at)
		s.i = to
		return true, s.emit(token{kind: tokPrime, at: at, end: to, text: strings.Repeat("'", n)})
	}
	return false, nil
}
