package derivation

import (
	"regexp"
	"slices"
	"strings"
	"unicode"

	"counterpoise/mechanics/expr"
)

// Words that people put between formulas. A word of three letters or fewer is
// one only if it is listed, since it may be a product as well; one of the
// calculus and of functions is none.
var (
	shortWords = strings.Fields("so as is we at of to in it by or if on be no an " +
		"the for are and has but now let put set use get not can all its one two via due law was see yet say that")
	mathWords = strings.Fields("sin cos tan cot sec csc sinh cosh tanh coth sech csch asin acos atan acot atan2 asinh acosh atanh " +
		"arcsin arccos arctan arccot arsinh arcosh artanh exp ln log lg sqrt cbrt abs sgn sign min max pow hypot ifless ifleq " +
		"const constant sum frac int")
	texWords  = regexp.MustCompile(`(^|[^_^\\])\\(?:text|mbox|textrm|textit|intertext)\{([^{}]*)\}`)
	tags      = regexp.MustCompile(`(?:\s{2,}|\t\s*|\\q?quad\s*)(?:\(\s*(?:\d{1,2}|\*{1,3}|[ivx]{1,4})\s*\)|\[\d{1,2}\])\s*$|\\tag\*?\{[^{}]*\}\s*$`)
	arrows    = regexp.MustCompile(`⇒|⟹|∴|⇔|⟺|={1,2}>|<=>|\\(?:implies|Rightarrow|Longrightarrow|therefore|iff|Leftrightarrow)\b`)
	relations = regexp.MustCompile(`[=≈<>≤≥≠≃≅]|\\(?:approx|simeq|le|leq|ge|geq|ne|neq|lt|gt)\b`)
)

// A reader of words knows which are names.
type wording struct{ isName func(string) bool }

// isWord reports whether a token is a word and no formula; long, whether it is
// so without its neighbours.
func (w wording) isWord(token string) (word, long bool) {
	token = strings.Trim(token, ".,;:!?\"“”")
	token = strings.TrimSuffix(strings.TrimSuffix(token, "'s"), "’s")
	if inner := strings.FieldsFunc(token, func(r rune) bool { return r == '-' || r == '’' }); len(inner) > 1 {
		for _, t := range inner {
			if word, long := w.isWord(t); !word || !long {
				return false, false
			}
		}
		return true, true
	}
	const most = 24
	if token == "" || len(token) > most {
		return false, false
	}
	for i, r := range token {
		if r > unicode.MaxASCII || !unicode.IsLetter(r) || i > 0 && unicode.IsUpper(r) && !unicode.IsUpper(rune(token[0])) {
			return false, false
		}
	}
	if w.isName(token) || slices.Contains(mathWords, token) || expr.Canonical(token) != token {
		return false, false
	}
	low := strings.ToLower(token)
	if slices.Contains(shortWords, low) {
		return true, !w.isProduct(token)
	}
	if len(token) < 4 || !strings.ContainsAny(low, "aeiouy") || w.isProduct(token) {
		return false, false
	}
	if token[0] == 'd' && expr.Canonical(token[1:]) != token[1:] { // dtheta
		return false, false
	}
	return true, true
}

// isProduct reports whether letters can be split into names and functions.
func (w wording) isProduct(token string) bool {
	reach := make([]bool, len(token)+1)
	reach[0] = true
	for i := range token {
		if !reach[i] {
			continue
		}
		for k := i + 1; k <= len(token); k++ {
			piece := token[i:k]
			if w.isName(piece) || slices.Contains(mathWords, piece) || len(piece) > 1 && expr.Canonical(piece) != piece {
				reach[k] = true
			}
		}
	}
	return reach[len(token)]
}

// hasWord reports whether there is a word in a text that is one by itself.
func (w wording) hasWord(text string) bool {
	for _, token := range strings.FieldsFunc(text, func(r rune) bool { return unicode.IsSpace(r) || strings.ContainsRune("(),;:[]", r) }) {
		if _, long := w.isWord(token); long {
			return true
		}
	}
	return false
}

// statements takes the words out of a line and lists the statements between
// them, in order. A line that holds no words is one statement.
func (w wording) statements(text string) []string {
	text = texWords.ReplaceAllStringFunc(text, func(s string) string {
		m := texWords.FindStringSubmatch(s)
		if w.hasWord(m[2]) || strings.TrimSpace(m[2]) == "" {
			return m[1] + " " + m[2] + " "
		}
		return s
	})
	text = tags.ReplaceAllString(text, "")
	text = w.withoutBrackets(text)
	var out []string
	for _, piece := range w.pieces(text) {
		for _, s := range w.between(piece) {
			if s = strings.TrimSpace(s); s != "" {
				out = append(out, s)
			}
		}
	}
	if len(out) == 0 {
		return []string{strings.TrimSpace(text)}
	}
	return out
}

// withoutBrackets leaves out brackets that hold words.
func (w wording) withoutBrackets(text string) string {
	for from := 0; from < len(text); {
		open := strings.IndexAny(text[from:], "([")
		if open < 0 {
			return text
		}
		open += from
		depth, end := 0, -1
		for i := open; i < len(text) && end < 0; i++ {
			switch text[i] {
			case '(', '[':
				depth++
			case ')', ']':
				if depth--; depth == 0 {
					end = i + 1
				}
			}
		}
		if end < 0 {
			return text
		}
		spaced := open == 0 || text[open-1] == ' ' || text[open-1] == '\t'
		if spaced && w.hasWord(text[open:end]) {
			text = text[:open] + " " + text[end:]
			from = open
			continue
		}
		from = open + 1
	}
	return text
}

// pieces splits a line at arrows between statements and at colons after words.
func (w wording) pieces(text string) []string {
	var out []string
	cut := func(at, size int) {
		out = append(out, text[:at])
		text = text[at+size:]
	}
	for from := 0; ; {
		m := arrows.FindStringIndex(text[from:])
		if m == nil {
			break
		}
		at, end := from+m[0], from+m[1]
		if before := strings.TrimSpace(text[:at]); before == "" || relations.MatchString(before) && relations.MatchString(text[end:]) || w.hasWord(before) {
			cut(at, end-at)
			from = 0
			continue
		}
		from = end
	}
	for from := 0; ; {
		i := strings.IndexByte(text[from:], ':')
		if i < 0 {
			break
		}
		at := from + i
		if w.hasWord(text[:at]) && !strings.HasPrefix(text[at:], ":=") {
			cut(at, 1)
			from = 0
			continue
		}
		from = at + 1
	}
	return append(out, text)
}

// between lists what stands between the words of a piece, as far as it states
// something. Words that stand for a side, as in T = kinetic energy = ½ m v², are
// left out with their relation.
func (w wording) between(piece string) []string {
	tokens := strings.Fields(piece)
	isWord := make([]bool, len(tokens))
	for i, t := range tokens {
		_, isWord[i] = w.isWord(t)
	}
	if len(tokens) > 1 && isWord[0] && beginsOpen(tokens[1]) {
		isWord[0] = false // a name that is defined here: speed = …
	}
	if !slices.Contains(isWord, true) {
		return []string{piece}
	}
	for i, t := range tokens { // short ones beside a word
		if word, _ := w.isWord(t); word && (i > 0 && isWord[i-1] || i+1 < len(tokens) && isWord[i+1]) {
			isWord[i] = true
		}
	}
	var out []string
	for i := 0; i < len(tokens); {
		from := i
		for i < len(tokens) && !isWord[i] {
			i++
		}
		c := strings.Trim(strings.Join(tokens[from:i], " "), " ,;.")
		for i < len(tokens) && isWord[i] {
			i++
		}
		if from > 0 && beginsOpen(c) { // words were its left side
			c = strings.TrimSpace(c[relations.FindStringIndex(c)[1]:])
			if n := len(out); n > 0 && endsOpen(out[n-1]) {
				out[n-1] += " " + c
				continue
			}
		}
		if relations.MatchString(c) {
			out = append(out, c)
		}
	}
	return slices.DeleteFunc(out, endsOpen)
}

// beginsOpen reports whether a text begins with a relation.
func beginsOpen(text string) bool {
	m := relations.FindStringIndex(text)
	return m != nil && m[0] == 0
}

// endsOpen reports whether a text ends with a relation.
func endsOpen(text string) bool {
	m := relations.FindAllStringIndex(text, -1)
	return len(m) > 0 && m[len(m)-1][1] == len(strings.TrimRight(text, " "))
}
