package parse

import (
	"slices"
	"strings"
	"unicode/utf8"

	"counterpoise/mechanics/expr/internal/spelling"
)

// textCommands set their argument in another type and mean nothing else.
var textCommands = map[string]bool{
	"mathrm": true, "text": true, "textrm": true, "mathit": true, "operatorname": true, "rm": true, "mathsf": true,
	"mathbf": true, "boldsymbol": true, "bm": true, "textit": true, "mbox": true, "mathnormal": true,
}

// ignored commands change only how a formula looks.
var ignored = map[string]bool{
	"displaystyle": true, "textstyle": true, "limits": true, "nolimits": true, "big": true, "Big": true, "bigg": true,
	"Bigg": true, "bigl": true, "bigr": true, "Bigl": true, "Bigr": true, "biggl": true, "biggr": true, "Biggl": true,
	"Biggr": true, "rm": true, "scriptstyle": true, "bigm": true,
}

// spaces are commands for white space that people put between factors.
var spaces = map[string]bool{"quad": true, "qquad": true, "thinspace": true, "enspace": true, "hspace": false}

// signs are commands for operators, brackets and relations.
var signs = map[string]token{
	"cdot": {kind: tokOperator, text: "*"}, "times": {kind: tokOperator, text: "*"}, "ast": {kind: tokOperator, text: "*"},
	"bullet": {kind: tokOperator, text: "*"}, "div": {kind: tokOperator, text: "/"},
	"pm": {kind: tokOperator, text: "±"}, "mp": {kind: tokOperator, text: "∓"},
	"approx": {kind: tokRelation, text: "≈"}, "simeq": {kind: tokRelation, text: "≈"}, "sim": {kind: tokRelation, text: "≈"},
	"cong": {kind: tokRelation, text: "≈"}, "equiv": {kind: tokRelation, text: "="}, "coloneqq": {kind: tokRelation, text: "="},
	"le": {kind: tokRelation, text: "≤"}, "leq": {kind: tokRelation, text: "≤"}, "leqslant": {kind: tokRelation, text: "≤"},
	"ge": {kind: tokRelation, text: "≥"}, "geq": {kind: tokRelation, text: "≥"}, "geqslant": {kind: tokRelation, text: "≥"},
	"lt": {kind: tokRelation, text: "<"}, "gt": {kind: tokRelation, text: ">"},
	"ne": {kind: tokRelation, text: "≠"}, "neq": {kind: tokRelation, text: "≠"},
	"lvert": {kind: tokBar, text: "|", side: -1}, "rvert": {kind: tokBar, text: "|", side: 1}, "vert": {kind: tokBar, text: "|"},
	"lbrack": {kind: tokOpen, text: "["}, "rbrack": {kind: tokClose, text: "]"},
	"langle": {kind: tokOpen, text: "("}, "rangle": {kind: tokClose, text: ")"},
	"degree": {kind: tokDegree, text: "°"}, "prime": {kind: tokPrime, text: "'"},
}

// command reads what begins with a backslash.
func (s *scanner) command() *SyntaxError {
	at := s.i
	to := lettersEnd(s.text[:s.end], at+1)
	word := s.text[at+1 : to]
	if word == "" {
		return s.escaped(at)
	}
	s.i = to
	if t, ok := signs[word]; ok {
		t.at, t.end = at, to
		return s.emit(t)
	}
	switch {
	case ignored[word]:
		return nil
	case spaces[word]:
		s.spaced = true
		return nil
	case textCommands[word]:
		return s.textCommand(at)
	}
	switch word {
	case "frac", "dfrac", "tfrac", "cfrac", "nicefrac", "sfrac":
		return s.fraction(at)
	case "sqrt":
		return s.root(at)
	case "left", "right", "middle":
		return s.sized(word, at)
	case "dot", "ddot", "dddot", "ddddot":
		return s.dotted(strings.Count(word, "d"), at)
	case "partial":
		return s.derivative(at)
	case "infty":
		return s.fail(at, "∞ is no number", "", "write the limit that you mean")
	case "over":
		return s.fail(at, `\over is not read`, "a fraction with its parts in braces", `write \frac{ … }{ … }`)
	case "boxed", "underline", "fbox":
		return s.argument(word, at)
	case "hat", "bar", "vec", "tilde", "overline", "widehat":
		return s.fail(at, `\`+word+" is not read", "a symbol", "write a mark over a letter as a subscript")
	case "begin", "end":
		return s.fail(at, `\`+word+" is not read here", "one formula", "give one line only")
	case "sum":
		if s.lex.open {
			return s.sigma(at)
		}
		return s.strange("∑", at)
	case "int", "prod", "lim", "oint":
		return s.fail(at, `\`+word+" is not read", "", "write the result without it")
	}
	if letter, ok := spelling.Command(word); ok {
		return s.greekName(letter, at)
	}
	if name, ok := functionNamed(word); ok {
		return s.emitPieces([]piece{{at, to, tokFunction, name, false}})
	}
	return s.fail(at, `\`+clip(word)+" is not read", "a name, a function or a fraction", "")
}

// escaped reads a backslash before a sign: \, \; \{ \| and line breaks.
func (s *scanner) escaped(at int) *SyntaxError {
	c, size := s.peek(at + 1)
	s.i = at + 1 + size
	switch c {
	case ",", ";", ":", " ", ">":
		s.spaced = true
		return nil
	case "!", "/":
		return nil
	case "{":
		s.rounds = append(s.rounds, s.last().kind == tokFunction)
		return s.emit(token{kind: tokOpen, at: at, end: s.i, text: "("})
	case "}":
		return s.emit(token{kind: tokClose, at: at, end: s.i, text: ")"})
	case "|":
		return s.emit(token{kind: tokBar, at: at, end: s.i, text: "|"})
	case "\\":
		return s.fail(at, "a second line begins here", "", "give one line only")
	}
	return s.fail(at, "a lone backslash", "a command such as \\frac", "take it out")
}

// argument reads what a command applies to: a group in braces, or one
// character or command, which is put in braces.
func (s *scanner) argument(of string, at int) *SyntaxError {
	for s.i < s.end && s.text[s.i] == ' ' {
		s.i++
	}
	if s.i >= s.end || s.text[s.i] == '}' {
		return s.fail(s.i, `\`+of+" lacks a part", "a part in braces", "")
	}
	if s.text[s.i] == '{' {
		return s.braces()
	}
	if s.depth >= MaxDepth {
		return s.fail(at, "commands are nested too deep", "", "write it in several parts")
	}
	from := s.i
	if err := s.emit(token{kind: tokOpen, at: from, end: from, text: "{"}); err != nil {
		return err
	}
	s.depth++
	single := s.single
	s.single = true
	err := s.next()
	s.single = single
	s.depth--
	if err != nil {
		return err
	}
	return s.emit(token{kind: tokClose, at: s.i, end: s.i, text: "}"})
}

// fraction reads \frac and its two parts, or a derivative written as one.
func (s *scanner) fraction(at int) *SyntaxError {
	if done, err := s.fractionDerivative(at); done {
		return err
	}
	if err := s.emit(token{kind: tokFraction, at: at, end: s.i, text: `\frac`}); err != nil {
		return err
	}
	if err := s.argument("frac", at); err != nil {
		return err
	}
	return s.argument("frac", at)
}

// root reads \sqrt with its index and what stands under it.
func (s *scanner) root(at int) *SyntaxError {
	for s.i < s.end && s.text[s.i] == ' ' {
		s.i++
	}
	if s.i < s.end && s.text[s.i] == '(' { // typed by hand, half plain
		return s.emit(token{kind: tokFunction, at: at, end: s.i, text: "sqrt"})
	}
	t := token{kind: tokRoot, at: at, end: s.i, text: `\sqrt`}
	if s.i >= s.end || s.text[s.i] != '[' {
		if err := s.emit(t); err != nil {
			return err
		}
		return s.argument("sqrt", at)
	}
	close := strings.IndexByte(s.text[s.i:s.end], ']')
	if close < 0 {
		return s.fail(s.i, "this bracket is not closed", "]", "")
	}
	t.base = 1
	if err := s.emit(t); err != nil {
		return err
	}
	if err := s.part(s.i+1, s.i+close); err != nil {
		return err
	}
	s.i++ // the bracket
	return s.argument("sqrt", at)
}

// part reads the text from from to to as a group in braces, and moves to to.
func (s *scanner) part(from, to int) *SyntaxError {
	if s.depth >= MaxDepth {
		return s.fail(from, "this is nested too deep", "", "write it in several parts")
	}
	if err := s.emit(token{kind: tokOpen, at: from, end: from, text: "{"}); err != nil {
		return err
	}
	end := s.end
	s.i, s.end = from, to
	s.depth++
	err := s.scan(false)
	s.depth--
	s.i, s.end = to, end
	if err != nil {
		return err
	}
	s.spaced = false
	return s.emit(token{kind: tokClose, at: to, end: to, text: "}"})
}

// sized reads the bracket after \left or \right.
func (s *scanner) sized(word string, at int) *SyntaxError {
	for s.i < s.end && s.text[s.i] == ' ' {
		s.i++
	}
	if s.i >= s.end {
		return s.fail(at, `\`+word+" lacks its bracket", "a bracket", "")
	}
	side := int8(-1)
	if word == "right" {
		side = 1
	}
	switch c := s.text[s.i]; c {
	case '.': // a bracket on the other side only, or none
		s.i++
		return nil
	case '|':
		s.i++
		return s.emit(token{kind: tokBar, at: at, end: s.i, text: "|", side: side})
	case '(', '[', ')', ']', '\\':
		return s.next()
	}
	return s.fail(s.i, "this is no bracket", "a bracket", "")
}

// textCommand reads a word set upright: a name, a function or a unit.
func (s *scanner) textCommand(at int) *SyntaxError {
	for s.i < s.end && s.text[s.i] == ' ' {
		s.i++
	}
	if s.i >= s.end || s.text[s.i] != '{' {
		return s.argument("mathrm", at)
	}
	open := s.i
	end := matchingBrace(s.text[:s.end], open)
	if end < 0 {
		return s.fail(open, "this brace is not closed", "", "close it with }")
	}
	word := strings.Trim(s.text[open+1:end], " ~,;")
	word = strings.Trim(strings.NewReplacer(`\,`, "", `\ `, "", `\;`, "").Replace(word), " ")
	if word == "" {
		s.i, s.spaced = end+1, true
		return nil
	}
	if name, ok := functionNamed(word); ok && (s.has(at, `\operatorname`) || !s.knownWith(word, end+1)) {
		return s.emitPieces([]piece{{at, end + 1, tokFunction, name, false}})
	}
	if word == "d" {
		if done, err := s.plainDerivative(at, end+1, false); done || err != nil {
			return err
		}
	}
	if n, err := spelling.Read(word); err == nil && n.Primes == 0 && strings.Contains(n.Stem, ".") {
		return s.valueOfToy(n.Stem, at, end, end+1)
	}
	if n, err := spelling.Read(word); err == nil && n.Primes == 0 && (word[0] == '\\' || !strings.Contains(word, " ")) && !strings.Contains(word, "_") {
		if n.Sub == "" {
			return s.greekNameTo(n.Stem, at, end+1)
		}
		return s.withSubscript(n, at, end+1)
	}
	if strings.ContainsAny(word, `\_^{}+-*/=()'`) { // mathematics in another type
		s.i = open
		return s.argument("mathrm", at)
	}
	return s.fail(open+1, "words are not read in a formula", "mathematics", "take them out")
}

// knownWith reports whether a word with what follows it at to is a known name.
func (s *scanner) knownWith(word string, to int) bool {
	return slices.ContainsFunc(s.suffixes(to), func(x suffix) bool { return s.lex.knows(named(word, x, 0)) })
}

// withSubscript adds a name that has its subscript, with the primes that
// follow it at to.
func (s *scanner) withSubscript(n spelling.Name, at, to int) *SyntaxError {
	more, end := s.primes(to)
	n.Primes += more
	name := n.String()
	return s.emitPieces([]piece{{at, end, tokName, name, !s.lex.any() && !s.lex.open && !s.lex.knows(name)}})
}

// greekName reads a name whose first letter was written as a command.
func (s *scanner) greekName(base string, at int) *SyntaxError {
	if s.single {
		return s.letter(base, at, s.i, 0)
	}
	return s.greekNameTo(base, at, s.i)
}

func (s *scanner) greekNameTo(base string, at, to int) *SyntaxError {
	if utf8.RuneCountInString(base) > 1 {
		for _, x := range s.suffixes(to) {
			if name := named(base, x, 0); s.lex.knows(name) {
				return s.emitPieces([]piece{{at, x.end, tokName, name, false}})
			}
		}
		x := s.suffixes(to)[0]
		name := named(base, x, 0)
		return s.emitPieces([]piece{{at, x.end, tokName, name, !s.lex.any() && !s.lex.open || unitLike[name]}})
	}
	return s.letter(base, at, to, 0)
}

// dotted reads \dot and its kind: a symbol under dots, its subscript inside or
// after.
func (s *scanner) dotted(k, at int) *SyntaxError {
	for s.i < s.end && s.text[s.i] == ' ' {
		s.i++
	}
	from := s.i
	var to int
	switch {
	case s.i >= s.end:
		return s.fail(at, "dots over nothing", "a symbol", "")
	case s.text[s.i] == '{':
		end := matchingBrace(s.text[:s.end], s.i)
		if end < 0 {
			return s.fail(s.i, "this brace is not closed", "", "close it with }")
		}
		from, to, s.i = s.i+1, end, end+1
	case s.text[s.i] == '\\':
		to = lettersEnd(s.text[:s.end], s.i+1)
		if textCommands[s.text[s.i+1:to]] && s.has(to, "{") {
			to = max(to, matchingBrace(s.text[:s.end], to)+1)
		}
		s.i = to
	default:
		_, size := s.peek(s.i)
		to = s.i + size
		s.i = to
	}
	n, err := spelling.Read(s.text[from:to])
	word := len(n.Stem) > 1 && isASCIILetter(n.Stem[0]) && s.text[from] != '\\' // several letters in italics are a product
	if n.Primes += k; err != nil || word && !s.knownWith(n.Stem, s.i) && !s.lex.knows(n.String()) {
		return s.fail(from, "dots stand over one symbol only", "a symbol", "write d/dt( … )")
	}
	if n.Primes > MaxOrder {
		return s.fail(at, "this derivative's order is too high", "", "")
	}
	if n.Sub == "" && !strings.Contains(n.Stem, ".") {
		return s.letter(n.Stem, at, s.i, n.Primes)
	}
	return s.withSubscript(n, at, s.i)
}

// clip shortens what is shown in an error.
func clip(text string) string {
	const most = 24
	if r := []rune(text); len(r) > most {
		return string(r[:most]) + "…"
	}
	return text
}
