package parse

import (
	"strings"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/expr/internal/spelling"
)

// Options say what is known when a text is read. The zero value knows nothing:
// every name is then a symbol.
type Options struct {
	// Symbols are the names that may occur, in any notation ([expr.Canonical]
	// is applied). If there are any, a run of letters that is not one of them
	// is read as a product of them (mgd), and a name that is none is refused.
	Symbols []string
	// Time names the symbols that are functions of time: they may carry primes
	// or dots, and d/dt acts on them.
	Time []string
	// Open lets names that are not among Symbols stand for new symbols, as in
	// a derivation. The statement lists them in New.
	Open bool
	// Author says that a teacher wrote the text: x^2/3 is then a third of x², and
	// not x^(2/3) as well, as some students mean it. x^1/2 stays in doubt.
	Author bool
	// Definitions give symbols their meaning under a derivative sign: with
	// L = T - V among them, ∂L/∂θ is the derivative of T - V.
	Definitions map[string]expr.Expr
	// Coordinates are symbols on which a definition may depend as a function:
	// with V = m g h cos φ among Definitions and φ here, V''(0) is a value of
	// its second derivative along φ, and so is V'' if nothing depends on time.
	Coordinates []string
}

// A lexicon is Options made ready for looking up.
type lexicon struct {
	known       map[string]bool   // canonical names; nil if every name is a symbol
	list        []string          // the same in the given order
	squeezed    map[string]string // known names by their letters without the underscore: Ic for I_c
	time        map[string]bool
	timeList    []string
	open        bool
	author      bool
	definitions map[string]expr.Expr
	coordinates map[string]bool
}

func newLexicon(o Options) *lexicon {
	l := &lexicon{open: o.Open, author: o.Author, definitions: o.Definitions, time: map[string]bool{}, coordinates: map[string]bool{}}
	for _, name := range o.Coordinates {
		l.coordinates[expr.Canonical(name)] = true
	}
	for _, name := range o.Time {
		name = expr.Canonical(name)
		if !l.time[name] {
			l.time[name] = true
			l.timeList = append(l.timeList, name)
		}
	}
	if len(o.Symbols) == 0 && !o.Open {
		return l
	}
	l.known, l.squeezed = map[string]bool{}, map[string]string{}
	add := func(name string) {
		if name != "" && !l.known[name] {
			l.known[name] = true
			l.list = append(l.list, name)
			if short := strings.Replace(name, "_", "", 1); short != name {
				l.squeezed[short] = name
			}
		}
	}
	for _, name := range o.Symbols {
		add(expr.Canonical(name))
	}
	for _, name := range l.timeList {
		add(name)
	}
	return l
}

// knows reports whether a canonical name may stand for a symbol here.
func (l *lexicon) knows(name string) bool {
	if l.known == nil {
		return false
	}
	if l.known[name] {
		return true
	}
	base := strings.TrimRight(name, "'")
	return base != name && l.known[base] && (l.open || l.time[base])
}

// loosely finds a known name that is written without its underscore (Ic) or
// with dot for a time derivative (thetadot), "" if there is none.
func (l *lexicon) loosely(word string) string {
	if name := l.squeezed[word]; name != "" && !l.known[word] {
		return name
	}
	for _, ending := range []string{"_ddot", "_dot", "ddot", "dot"} {
		stem, ok := strings.CutSuffix(word, ending)
		if !ok || stem == "" {
			continue
		}
		if g, ok := spelling.Greek[stem]; ok {
			stem = g
		}
		if name := l.squeezed[stem]; name != "" {
			stem = name
		}
		if l.time[stem] {
			return stem + strings.Repeat("'", strings.Count(ending, "d"))
		}
	}
	return ""
}

// any reports whether every name is a symbol.
func (l *lexicon) any() bool { return l.known == nil }

// varies reports whether a symbol is a function of time.
func (l *lexicon) varies(name string) bool {
	return l.time[name] || l.time[strings.TrimRight(name, "'")] || strings.HasSuffix(name, "'")
}

// nearest is the known name most like one that is not known, "" if none is.
func (l *lexicon) nearest(name string) string {
	plain := func(s string) string { return strings.ToLower(strings.ReplaceAll(s, "_", "")) }
	best, distance := "", 2
	for _, k := range l.list {
		d := edits(plain(k), plain(name))
		if strings.EqualFold(k, name) || plain(k) == plain(name) {
			d = 0
		}
		if len([]rune(k)) == 1 && d > 0 || d > 0 && []rune(k)[0] != []rune(name)[0] {
			continue // any two letters are one edit apart, and so are I_c and m_c
		}
		if d < distance {
			best, distance = k, d
		}
	}
	return best
}

// unknownLetter is the place of the one letter in a product such as mgz or
// mgzsin that is no known symbol, -1 if the word is no such product.
func (l *lexicon) unknownLetter(word string) int {
	least, most := 2, 5 // letters of a product; a longer run is rather a word
	for k := 1; k < len(word); k++ {
		if _, ok := functionNamed(word[k:]); ok {
			word, least = word[:k], 1
		}
	}
	found := -1
	for i := range len(word) {
		switch {
		case !isASCIILetter(word[i]) || len(word) < least || len(word) > most || word[i] == 'e' || found >= 0 && !l.known[word[i:i+1]]:
			return -1
		case !l.known[word[i:i+1]]:
			found = i
		}
	}
	return found
}

// edits is the number of letters to insert, drop or change between two names.
func edits(a, b string) int {
	x, y := []rune(a), []rune(b)
	row := make([]int, len(y)+1)
	for j := range row {
		row[j] = j
	}
	for i := range x {
		last := row[0]
		row[0] = i + 1
		for j := range y {
			cost := last
			if x[i] != y[j] {
				cost = 1 + min(last, row[j], row[j+1])
			}
			last, row[j+1] = row[j+1], cost
		}
	}
	return row[len(y)]
}
