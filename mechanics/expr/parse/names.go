package parse

import (
	"slices"
	"strings"
	"unicode/utf8"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/expr/internal/spelling"
)

// A suffix is what may follow the letters of a name.
type suffix struct {
	sub    string // subscript
	primes int    // time derivatives
	end    int    // byte after it
}

// primes counts time derivatives written after a name: θ', θ″, θ^\prime.
func (s *scanner) primes(at int) (n, end int) {
	end = at
	for end < s.end {
		c, size := s.peek(end)
		switch {
		case strings.Trim(c, "'") == "" && c != "":
			n += len(c)
		case c == "\"":
			n += 2
		case c == "^":
			k, to := s.raisedPrimes(end + size)
			if k == 0 {
				return n, end
			}
			n, size = n+k, to-end
		default:
			return n, end
		}
		end += size
	}
	return n, end
}

// raisedPrimes reads \prime or {\prime\prime} after a ^.
func (s *scanner) raisedPrimes(at int) (n, end int) {
	text := s.text[at:s.end]
	rest := strings.TrimLeft(text, " ")
	inBraces := strings.HasPrefix(rest, "{")
	rest = strings.TrimPrefix(rest, "{")
	for {
		rest = strings.TrimLeft(rest, " ")
		after, ok := strings.CutPrefix(rest, `\prime`)
		if !ok {
			after, ok = strings.CutPrefix(rest, "'")
			ok = ok && inBraces
		}
		if !ok {
			break
		}
		n, rest = n+1, after
		if !inBraces {
			break
		}
	}
	if inBraces {
		if !strings.HasPrefix(rest, "}") {
			return 0, at
		}
		rest = rest[1:]
	}
	return n, s.end - len(rest)
}

// marks counts the dots drawn over the letter before at.
func (s *scanner) marks(at int) (n, end int) {
	for at < s.end {
		r, size := utf8.DecodeRuneInString(s.text[at:s.end])
		if spelling.Dots(r) == 0 {
			break
		}
		n += spelling.Dots(r)
		at += size
	}
	return n, at
}

// suffixes lists what can follow letters that end at j, the likeliest first:
// primes and a subscript in either order, a shorter subscript, primes alone.
func (s *scanner) suffixes(j int) []suffix {
	if s.single {
		return []suffix{{end: j}}
	}
	before, k := s.primes(j)
	var out []suffix
	add := func(sub string, end int) {
		after, to := s.primes(end)
		out = append(out, suffix{sub, before + after, to})
	}
	for _, sub := range s.subscripts(k, before == 0) {
		add(sub.sub, sub.end)
	}
	return append(out, suffix{"", before, k})
}

// subscripts lists the subscripts that may be read at k, the likeliest first.
func (s *scanner) subscripts(k int, digits bool) []suffix {
	if k >= s.end {
		return nil
	}
	if isDigit(s.text[k]) && digits && !s.tex {
		return s.prefixes(k, true)
	}
	if r, _ := utf8.DecodeRuneInString(s.text[k:s.end]); spelling.Lowered[r] != 0 {
		var b strings.Builder
		for k < s.end {
			r, size := utf8.DecodeRuneInString(s.text[k:s.end])
			p, ok := spelling.Lowered[r]
			if !ok {
				break
			}
			b.WriteRune(p)
			k += size
		}
		return []suffix{{sub: b.String(), end: k}}
	}
	at := k
	for s.tex && at < s.end && s.text[at] == ' ' {
		at++
	}
	power := at
	if at = s.exponentEnd(at); at >= s.end || s.text[at] != '_' {
		return nil
	}
	under := at
	at++
	for at < s.end && s.text[at] == ' ' {
		at++
	}
	list := s.afterUnderscore(at)
	for _, x := range list {
		if under > power {
			if s.raised == nil {
				s.raised = map[int][2]int{}
			}
			s.raised[x.end] = [2]int{power, under}
		}
	}
	return list
}

// exponentEnd is the end of an exponent that begins at at, as in ω^2_0 where it
// comes before the subscript; at if there is none.
func (s *scanner) exponentEnd(at int) int {
	if at+1 >= s.end || s.text[at] != '^' {
		return at
	}
	switch b := s.text[at+1]; {
	case b == '{':
		return max(at, matchingBrace(s.text[:s.end], at+1)+1)
	case s.tex && (isASCIILetter(b) || isDigit(b)):
		return at + 2
	}
	return at + 1 + len(s.digitsAt(at+1))
}

func (s *scanner) afterUnderscore(at int) []suffix {
	if at >= s.end {
		return nil
	}
	open := at
	if s.text[at] == '\\' {
		open = lettersEnd(s.text[:s.end], at+1)
		word := s.text[at+1 : open]
		if letter, ok := spelling.Command(word); ok {
			return []suffix{{sub: letter, end: open}}
		}
		for open < s.end && s.text[open] == ' ' {
			open++
		}
		if !textCommands[word] || open == s.end || s.text[open] != '{' {
			return nil
		}
	}
	if s.text[open] != '{' {
		return s.prefixes(at, false)
	}
	to := matchingBrace(s.text[:s.end], open)
	if to < 0 {
		return nil
	}
	if sub, ok := plainSubscript(s.text[open+1 : to]); ok {
		return []suffix{{sub: sub, end: to + 1}}
	}
	return nil
}

// prefixes lists the beginnings of the letters and digits at at that may be a
// subscript, digits never cut. In TeX a subscript without braces is as short as
// it can be. In plain text it is as long as it can be, but directly after the
// letters, and where new symbols may come up, the likeliest is one number, one
// word, or one Greek letter.
func (s *scanner) prefixes(at int, direct bool) []suffix {
	var out []suffix
	likely := -1
	var before rune
	var sub strings.Builder
	to := at
	for n := 0; to < s.end && n < spelling.Most; n++ {
		c, size := s.peek(to)
		r, width := utf8.DecodeRuneInString(c)
		if width != len(c) || !spelling.Letter(r) && !(size == 1 && isDigit(c[0])) {
			break
		}
		number := r < utf8.RuneSelf && isDigit(byte(r))
		switch {
		case before == 0:
		case number && isDigit(byte(before)): // the digits go on
			out = out[:len(out)-1]
		case likely < 0 && (!spelling.Latin(before) || !number && !spelling.Latin(r)):
			likely = len(out) - 1
		}
		sub.WriteString(c)
		to += size
		out = append(out, suffix{sub: sub.String(), end: to})
		before = r
	}
	if s.tex || len(out) < 2 {
		return out
	}
	var first []suffix
	if likely >= 0 && (s.lex.any() || s.lex.open || direct) {
		first = []suffix{out[likely]}
		out = slices.Delete(out, likely, likely+1)
	}
	slices.Reverse(out)
	return append(first, out...)
}

func lettersEnd(text string, at int) int {
	for at < len(text) && isASCIILetter(text[at]) {
		at++
	}
	return at
}

func matchingBrace(text string, open int) int {
	at := spelling.Closing(text[open:min(len(text), open+MaxGroup)])
	if at < 0 {
		return -1
	}
	return open + at
}

// plainSubscript takes what TeX puts around a subscript off it. A subscript
// holds letters and digits only.
func plainSubscript(text string) (string, bool) {
	var b strings.Builder
	for i := 0; i < len(text); {
		if text[i] == '\\' {
			to := lettersEnd(text, i+1)
			word := text[i+1 : to]
			letter, ok := spelling.Command(word)
			if !ok && !textCommands[word] && word != "" {
				return "", false
			}
			b.WriteString(letter)
			i = max(to, i+2)
			continue
		}
		r, size := utf8.DecodeRuneInString(text[i:])
		i += size
		if p, ok := spelling.Lowered[r]; ok {
			r = p
		} else if c := []rune(fold(r)); len(c) == 1 {
			r = c[0]
		}
		switch {
		case r == ' ' || r == '{' || r == '}' || r == ',':
		case spelling.Letter(r) || r >= '0' && r <= '9':
			b.WriteRune(r)
		default:
			return "", false
		}
	}
	return b.String(), b.Len() > 0 && utf8.RuneCountInString(b.String()) <= spelling.Most
}

// named is the canonical name of letters with a suffix and more derivatives.
func named(base string, x suffix, more int) string {
	if g, ok := spelling.Greek[base]; ok {
		base = g
	}
	if x.sub != "" {
		base += "_" + x.sub
	}
	if n := x.primes + more; n > 0 {
		base += strings.Repeat("'", n)
	}
	return expr.Canonical(base)
}

// A piece is one name in a run of letters.
type piece struct {
	from, to int
	kind     tokenKind
	name     string
	unknown  bool
}

// letters reads a run of letters: a name, a function, or several of them
// written without a space.
func (s *scanner) letters() *SyntaxError {
	at := s.i
	if (s.text[at] == 'd') && !s.single {
		if done, err := s.plainDerivative(at, at+1, false); done || err != nil {
			return err
		}
	}
	c, size := s.peek(at)
	r, n := utf8.DecodeRuneInString(c)
	if r == 'Σ' && s.lex.open && !s.lex.knows("Σ") {
		s.i += size
		return s.sigma(at)
	}
	if r >= utf8.RuneSelf {
		return s.letter(c[:n], at, at+size, 0)
	}
	if !isASCIILetter(s.text[at]) || s.single { // a letter with dots in one character, or one letter only
		k := 0
		for _, m := range c[n:] {
			k += spelling.Dots(m)
		}
		return s.letter(c[:n], at, at+size, k)
	}
	end := lettersEnd(s.text[:s.end], at)
	if k, _ := s.marks(end); k > 0 {
		if end--; end == at {
			return s.letter(c, at, at+1, 0)
		}
	}
	if end-at > MaxLetters {
		return s.fail(at, "these are too many letters in a row", "", "put spaces or * between symbols")
	}
	if done, err := s.dottedName(at); done {
		return err
	}
	if done, err := s.numberedFunction(at, end); done {
		return err
	}
	return s.run(at, end)
}

// letter reads a name that begins with one letter at at and goes on at j; it
// has k derivatives already.
func (s *scanner) letter(base string, at, j, k int) *SyntaxError {
	more, j := s.marks(j)
	k += more
	if (base == "Δ" || base == "δ") && k == 0 && !s.single {
		if done, err := s.change(base, at, j); done {
			return err
		}
	}
	if k > MaxOrder {
		return s.fail(at, "this derivative's order is too high", "", "")
	}
	list := s.suffixes(j)
	for _, x := range list {
		if name := named(base, x, k); s.lex.knows(name) && !s.dropsSubscript(list, x) {
			return s.emitPieces([]piece{{at, x.end, tokName, name, false}})
		}
	}
	if name := s.lex.loosely(base + loose(list)); name != "" {
		return s.emitPieces([]piece{{at, list[0].end, tokName, name, false}})
	}
	if value := constants[base]; !value.IsZero() && k == 0 {
		return s.emitPieces([]piece{{at, j, tokName, base, false}})
	}
	x := list[0]
	p := piece{at, x.end, tokName, named(base, x, k), !s.lex.any() && !s.lex.open}
	return s.emitPieces([]piece{p})
}

// dropsSubscript reports whether x leaves out a subscript that is written as
// one, after an underscore or below the line; digits may be something else.
func (s *scanner) dropsSubscript(list []suffix, x suffix) bool {
	if x.sub != "" || len(list) < 2 || x.end >= s.end {
		return false
	}
	r, _ := utf8.DecodeRuneInString(s.text[x.end:s.end])
	return r == '_' || spelling.Lowered[r] != 0
}

// change reads Δx as one name where it is known or any name is.
func (s *scanner) change(base string, at, j int) (done bool, err *SyntaxError) {
	for s.tex && j < s.end && s.text[j] == ' ' {
		j++
	}
	letters, end := "", j
	if c, size := s.peek(j); size > 0 {
		switch r, _ := utf8.DecodeRuneInString(c); {
		case isASCIILetter(c[0]) && len(c) == 1:
			end = lettersEnd(s.text[:s.end], j)
			letters = s.text[j:end]
			if s.tex {
				letters, end = letters[:1], j+1
			}
		case spelling.Letter(r):
			letters, end = c, j+size
		case c == `\`:
			to := lettersEnd(s.text[:s.end], j+1)
			letters, _ = spelling.Command(s.text[j+1 : to])
			end = to
		}
	}
	if letters == "" || letters == "Δ" || letters == "δ" {
		return false, nil
	}
	for _, x := range s.suffixes(end) {
		if g, ok := spelling.Greek[letters]; ok {
			letters = g
		}
		name := named(base+letters, x, 0)
		if s.lex.knows(name) || !s.lex.knows(base) && (s.lex.any() || s.lex.open) {
			return true, s.emitPieces([]piece{{at, x.end, tokName, name, false}})
		}
	}
	return false, nil
}

// dottedName reads a toy's value, such as heron.cg.y or reed_2.mass.
func (s *scanner) dottedName(at int) (done bool, err *SyntaxError) {
	letterAt := func(i int) bool { return i < s.end && isASCIILetter(s.text[i]) }
	dot, to := -1, at
	for ; to < s.end; to++ {
		switch b := s.text[to]; {
		case isASCIILetter(b) || isDigit(b):
			continue
		case b == '_' && to+1 < s.end && (letterAt(to+1) || isDigit(s.text[to+1])):
			continue
		case b == '.' && letterAt(to+1):
			if dot < 0 {
				dot = to
			}
			continue
		}
		break
	}
	if word := s.text[at:to]; dot > 0 && (!s.tex || s.lex.known[word]) {
		return true, s.valueOfToy(word, at, dot, to)
	}
	return false, nil
}

// valueOfToy adds a name with dots, whose first word ends at dot, with the
// primes that follow it at to.
func (s *scanner) valueOfToy(word string, at, dot, to int) *SyntaxError {
	if len(word) > spelling.Most {
		return s.fail(at, "this name is too long", "", "")
	}
	first, last := s.text[at:dot], strings.LastIndexByte(word, '.')
	if name, ok := functionNamed(word[last+1:]); ok && s.bracketAt(to) && !s.lex.known[word] {
		if libraries[word[:last]] && !s.lex.knows(word[:last]) { // math.sqrt(2)
			return s.emitPieces([]piece{{at, to, tokFunction, name, false}})
		}
		return s.noPoint(at + last) // r.sin(a)
	}
	if libraries[first] && word[dot-at:] == ".pi" && !s.lex.known[word] { // math.pi
		return s.emitPieces([]piece{{at, to, tokName, "π", false}})
	}
	if first == "pi" && !s.lex.known[word] { // pi.l
		return s.noPoint(dot)
	}
	n, to := s.primes(to)
	unknown := !s.lex.any() && !s.lex.known[word]
	if unknown && s.lex.knows(expr.Canonical(first)) {
		return s.noPoint(dot)
	}
	return s.emitPieces([]piece{{at, to, tokName, word + strings.Repeat("'", n), unknown}})
}

// noPoint refuses a dot between two factors.
func (s *scanner) noPoint(at int) *SyntaxError {
	return s.fail(at, "a dot that is no decimal point", "an operator", "write * for a product")
}

// libraries are the names before a function's, as programs are written; before
// any other name the dot is one between factors.
var libraries = map[string]bool{"math": true, "Math": true, "cmath": true, "np": true}

// numberedFunction reads functions with digits in their names: atan2, log10.
func (s *scanner) numberedFunction(at, end int) (done bool, err *SyntaxError) {
	d := s.digitsAt(end)
	if d == "" {
		return false, nil
	}
	word := s.text[at:end]
	if name, ok := functionNamed(word + d); ok {
		return true, s.emitPieces([]piece{{at, end + len(d), tokFunction, name, false}})
	}
	if word != "log" || d != "10" && d != "2" {
		return false, nil
	}
	if next := strings.TrimLeft(s.text[end+len(d):s.end], " "); !strings.HasPrefix(next, "(") {
		return false, nil
	}
	s.i = end + len(d)
	base := int64(10)
	if d == "2" {
		base = 2
	}
	return true, s.emit(token{kind: tokFunction, at: at, end: s.i, text: "log", base: base})
}

// emitPieces adds names to the tokens and moves on behind them.
func (s *scanner) emitPieces(list []piece) *SyntaxError {
	for _, p := range list {
		if base := strings.TrimRight(p.name, "'"); base != p.name && !s.lex.knows(p.name) && !constants[base].IsZero() {
			return s.fail(p.from, base+" is a number and does not change", "a symbol", "")
		}
		if strings.Count(p.name, "'") > MaxOrder {
			return s.fail(p.from, "this derivative's order is too high", "", "")
		}
		if p.kind == tokName && expr.CheckName(p.name) != nil {
			return s.fail(p.from, "this name is not read", "letters, and a subscript of letters and digits", "shorten it")
		}
		if err := s.emit(token{kind: p.kind, at: p.from, end: p.to, text: p.name, unknown: p.unknown}); err != nil {
			return err
		}
		if power, ok := s.raised[p.to]; ok { // ω^2_0
			end := s.end
			s.i, s.end = power[0], power[1]
			err := s.scan(false)
			if s.end = end; err != nil {
				return err
			}
		}
		s.i = p.to
	}
	if len(list) == 0 || list[len(list)-1].kind != tokFunction {
		return nil
	}
	return s.logBase()
}

// logBase reads the base of a logarithm: log_10, \log_{2}.
func (s *scanner) logBase() *SyntaxError {
	f := &s.tokens[len(s.tokens)-1]
	if f.text != "log" {
		return nil
	}
	list := s.subscripts(s.i, false)
	if len(list) == 0 {
		return nil
	}
	switch list[0].sub {
	case "10":
		f.base = 10
	case "2":
		f.base = 2
	case "e":
		f.text = "ln"
	default:
		return s.fail(s.i, "this base of a logarithm is not read", "10, 2 or e", "write ln(x)/ln(b)")
	}
	s.i = list[0].end
	return nil
}
