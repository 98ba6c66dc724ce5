package parse

import (
	"slices"
	"strings"
	"unicode/utf8"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/expr/internal/spelling"
)

// run reads ASCII letters from at to end: one symbol or function, or several
// without a space (mgd, 2sinθ). Where more than one reading is customary it is
// a choice.
func (s *scanner) run(at, end int) *SyntaxError {
	if s.dotAfter(s.text[at:end], end) {
		return nil
	}
	if t, ok := s.spelt(at, end); ok {
		s.i = end
		return s.emit(t)
	}
	list := s.suffixes(end)
	readings := s.wholes(at, end, list)
	word := len(readings) > 0
	readings = append(readings, s.splits(at, end, list)...)
	if len(readings) == 0 || s.lex.open && !word {
		readings = append(readings, s.newNames(at, end, list)...)
	}
	if len(readings) == 0 {
		x := list[0]
		name := named(s.text[at:end], x, 0)
		readings = [][]piece{{{at, x.end, tokName, name, !s.lex.any()}}}
	}
	const most = 4 // readings of one run worth trying
	if len(readings) > most {
		readings = readings[:most]
	}
	return s.emitPieces(readings[s.choices.choose(letters, at, len(readings))])
}

// dotAfter reads the dot of theta dot.
func (s *scanner) dotAfter(word string, end int) bool {
	if word != "dot" && word != "ddot" || s.lex.knows(word) || s.last().kind != tokName || !s.lex.time[s.last().text] {
		return false
	}
	before := &s.tokens[len(s.tokens)-1]
	before.text += strings.Repeat("'", strings.Count(word, "d"))
	before.end, s.i = end, end
	return true
}

// spelt reads words that stand for a sign: 30 deg, dot(θ), ddot(θ) and the x in
// 1.5x10^3.
func (s *scanner) spelt(at, end int) (token, bool) {
	word := s.text[at:end]
	if word == "x" || word == "X" {
		ten, ok := strings.CutPrefix(strings.TrimLeft(s.text[end:s.end], " "), "10")
		return token{kind: tokOperator, at: at, end: end, text: "*"}, ok && s.last().kind == tokNumber && s.raisedAt(s.end-len(ten))
	}
	if s.lex.knows(word) {
		return token{}, false
	}
	switch word {
	case "deg", "degree", "degrees":
		return token{kind: tokDegree, at: at, end: end, text: "°"}, s.last().kind == tokNumber
	case "dot", "ddot":
		d := &derivation{variables: []string{expr.TimeName, expr.TimeName}[:strings.Count(word, "d")]}
		return token{kind: tokDerivative, at: at, end: end, text: word, d: d}, s.bracketAt(end)
	}
	return token{}, false
}

// wholes are the readings of a run as one word.
func (s *scanner) wholes(at, end int, list []suffix) (out [][]piece) {
	word := s.text[at:end]
	for _, x := range list {
		if name := named(word, x, 0); s.lex.knows(name) && !s.dropsSubscript(list, x) {
			out = append(out, []piece{{at, x.end, tokName, name, false}})
			break
		}
	}
	if name, ok := functionNamed(word); ok {
		out = append(out, []piece{{at, end, tokFunction, name, false}})
		if len(out) == 2 && s.bracketAt(end) { // a symbol called max, and max(a, b)
			slices.Reverse(out)
		}
	}
	if len(out) > 0 {
		return out
	}
	if name := s.lex.loosely(word + loose(list)); name != "" {
		x := list[0]
		if strings.HasSuffix(name, "'") && x.sub == "" {
			x.primes = 0
		}
		return [][]piece{{{at, x.end, tokName, name + strings.Repeat("'", x.primes), false}}}
	}
	if g := spelling.Greek[word]; g == "π" || word == "PI" || word == "Pi" && !s.lex.any() {
		return [][]piece{{{at, end, tokName, "π", false}}}
	}
	if word == "e" && (len(list) == 1 || list[0].sub == "") && list[0].primes == 0 {
		return [][]piece{{{at, end, tokName, "e", false}}}
	}
	return nil
}

// bracketAt reports whether a bracket begins at at, or at once after an
// exponent above the line.
func (s *scanner) bracketAt(at int) bool {
	for at < s.end {
		r, size := utf8.DecodeRuneInString(s.text[at:s.end])
		if superscripts[r] == 0 {
			return r == '(' || r == '['
		}
		at += size
	}
	return false
}

// loose is the likeliest subscript with its underscore.
func loose(list []suffix) string {
	if list[0].sub == "" {
		return ""
	}
	return "_" + list[0].sub
}

// splits are the readings of a run as several known names and functions, the
// fewest first.
func (s *scanner) splits(at, end int, list []suffix) [][]piece {
	if s.lex.any() {
		return s.gluedFunction(at, end, list)
	}
	f := finder{s: s, at: at, end: end, list: list, dead: make([]bool, end-at+1)}
	f.search(at, nil)
	slices.SortStableFunc(f.found, func(a, b []piece) int { return len(a) - len(b) })
	return f.found
}

// A finder looks for ways to split a run of letters into known names.
type finder struct {
	s       *scanner
	at, end int
	list    []suffix
	dead    []bool // from here no way leads to the end
	found   [][]piece
}

func (f *finder) search(from int, before []piece) bool {
	const enough = 24 // ways to split; the fewest names are usually among the first
	if from == f.end {
		if len(before) > 1 {
			f.found = append(f.found, slices.Clone(before))
		}
		return true
	}
	if f.dead[from-f.at] || len(f.found) >= enough {
		return false
	}
	led := false
	for to := f.end; to > from; to-- {
		if from == f.at && to == f.end {
			continue // the whole
		}
		for _, p := range f.pieces(from, to) {
			if to == f.end {
				if len(before) > 0 {
					f.found = append(f.found, append(slices.Clone(before), p))
				}
				led = true
				continue
			}
			led = f.search(to, append(before, p)) || led
		}
	}
	if !led {
		f.dead[from-f.at] = true
	}
	return led
}

// pieces are the known meanings of the letters from from to to.
func (f *finder) pieces(from, to int) (out []piece) {
	s, word := f.s, f.s.text[from:to]
	list := []suffix{{end: to}}
	if to == f.end {
		list = f.list
	}
	for _, x := range list {
		if name := named(word, x, 0); s.lex.knows(name) && !s.dropsSubscript(list, x) {
			out = append(out, piece{from, x.end, tokName, name, false})
			break
		}
	}
	if len(out) > 0 {
		return out
	}
	if name, ok := functionNamed(word); ok {
		return []piece{{from, to, tokFunction, name, false}}
	}
	if word == "pi" || word == "Pi" {
		return []piece{{from, to, tokName, "π", false}}
	}
	if name := s.lex.squeezed[word]; name != "" {
		return []piece{{from, to, tokName, name, false}}
	}
	if word == "e" && to == f.end && s.raisedAt(to) {
		return []piece{{from, to, tokName, "e", false}}
	}
	return nil
}

// raisedAt reports whether an exponent begins at at.
func (s *scanner) raisedAt(at int) bool {
	if at >= s.end {
		return false
	}
	if s.text[at] == '^' || s.has(at, "**") {
		return true
	}
	for _, r := range s.text[at:s.end] {
		_, ok := superscripts[r]
		return ok
	}
	return false
}

// gluedFunction reads sinx and lcos(θ), where any name is a symbol, as a
// function beside a name if that name is short; letters in TeX are a product.
func (s *scanner) gluedFunction(at, end int, list []suffix) (out [][]piece) {
	word := s.text[at:end]
	if _, ok := spelling.Greek[word]; ok {
		return nil
	}
	if _, ok := functionNamed(word); ok || word == "e" {
		return nil
	}
	const short = 2 // letters beside a function's name; three and more are rather a word
	for k := len(word) - 1; k > 1; k-- {
		if name, ok := functionNamed(word[:k]); ok && len(word)-k <= short {
			x := list[0]
			out = append(out, []piece{{at, at + k, tokFunction, name, false}, {at + k, x.end, tokName, named(word[k:], x, 0), false}})
			break
		}
	}
	for k := 1; k < len(word)-1 && k <= short && len(out) == 0; k++ {
		if name, ok := functionNamed(word[k:]); ok {
			out = append(out, []piece{{at, at + k, tokName, named(word[:k], suffix{end: at + k}, 0), false}, {at + k, end, tokFunction, name, false}})
		}
	}
	if s.tex && len(word) > 1 && len(out) == 0 {
		out = append(out, s.singly(at, end, list))
	}
	if !s.tex || len(out) == 0 {
		x := list[0]
		whole := []piece{{at, x.end, tokName, named(word, x, 0), false}}
		out = append(out, whole)
	}
	return out
}

// singly reads each letter as a name.
func (s *scanner) singly(at, end int, list []suffix) (out []piece) {
	for i := at; i < end; i++ {
		x := suffix{end: i + 1}
		if i == end-1 {
			x = list[0]
			for _, y := range list {
				if s.lex.knows(named(s.text[i:end], y, 0)) {
					x = y
					break
				}
			}
		}
		name := named(s.text[i:i+1], x, 0)
		if name == "e" && !s.lex.knows("e") {
			x.end = i + 1
		}
		out = append(out, piece{i, x.end, tokName, name, false})
	}
	return out
}

// newNames are the readings of a run in which new symbols are allowed.
func (s *scanner) newNames(at, end int, list []suffix) (out [][]piece) {
	if !s.lex.open {
		return nil
	}
	word, x := s.text[at:end], list[0]
	whole := []piece{{at, x.end, tokName, named(word, x, 0), false}}
	if _, ok := spelling.Greek[word]; ok || len(word) == 1 {
		return [][]piece{whole}
	}
	apart := s.singly(at, end, list)
	known := 0
	for _, p := range apart {
		if s.lex.knows(p.name) {
			known++
		}
	}
	alone := (len(s.tokens) == 0 || s.last().kind == tokRelation) && s.relationAt(x.end)
	if s.tex && !alone {
		return [][]piece{apart, whole}
	}
	if known == 0 || alone || known < len(apart)-2 {
		return [][]piece{whole}
	}
	return [][]piece{apart, whole}
}

// relationAt reports whether a relation or the end of the text comes next.
func (s *scanner) relationAt(at int) bool {
	for at < s.end {
		c, size := s.peek(at)
		switch c {
		case " ":
			at += size
			continue
		case "=", "≈", "<", ">", "≤", "≥", ":":
			return true
		}
		return s.has(at, `\approx`) || s.has(at, `\equiv`) || s.has(at, `\simeq`)
	}
	return true
}
