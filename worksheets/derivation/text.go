package derivation

import (
	"regexp"
	"strings"
	"unicode"
)

// A cleaned line is mathematics only.
var (
	leading = regexp.MustCompile(`^(?:(?:⇒|⟹|→|⟶|∴|•|=>|->|\\implies|\\Rightarrow|\\Longrightarrow|\\therefore|\\to)\s*)+`)
	numbers = regexp.MustCompile(`^(?:\(\d{1,2}\)|\d{1,2}[.)])\s+`)
	words   = regexp.MustCompile(`^(?i:so|hence|thus|then|therefore|and|since|with|where|let|now|from|because|but|also|put|set|as|for small angles|for small θ|i\.e\.|we have|we get|this gives|gives|it follows that|so that|which gives)\b[,:]?\s+`)
	heading = regexp.MustCompile(`^[A-Za-z][A-Za-z' -]{2,40}:\s*`)
	comment = regexp.MustCompile(`\s+(?:#|//|--|%).*$`)
	remark  = regexp.MustCompile(`\s*\((?:[A-Za-z][A-Za-z' -]*\s)?(?i:small|since|because|by|from|as|using|with|energy|definition|given|conservation|law|axis|theorem|approximation|Newton|Hooke)[A-Za-z' -]*[^()]*\)\s*$`)
	trailer = regexp.MustCompile(`,?\s+(?i:since|because|by|from|as|using|for small|where)\s+[A-Za-zθφα ]{3,}[^=]*$`)
	both    = regexp.MustCompile(`\s+(?:and)\s+`)
	tiny    = regexp.MustCompile(`^(?:(?i:small)\s+(\S+)|(\S+)\s+(?:(?i:is)\s+)?(?i:small)|\|?([^|\s]+)\|?\s*(?:≪|<<|\\ll)\s*1)$`)
	steady  = regexp.MustCompile(`=\s*(?i:const(?:ant|\.)?|\\text\{\s*const(?:ant|\.)?\s*\}|\\mathrm\{\s*const(?:ant|\.)?\s*\})\s*$`)
)

// clean takes words, numbers and comments off a line. isName says which words
// are symbols.
func clean(text string, isName func(string) bool) string {
	text = strings.TrimSpace(text)
	text = strings.TrimSpace(strings.Trim(text, "$"))
	for range 4 {
		before := text
		text = leading.ReplaceAllString(text, "")
		text = numbers.ReplaceAllString(text, "")
		if w := words.FindString(text); w != "" && !isName(strings.TrimRight(w, " ,:")) && strings.ContainsAny(text[len(w):], "=≈<>≤≥") {
			text = text[len(w):]
		}
		if h := heading.FindString(text); h != "" && !isName(strings.TrimRight(h, " :")) && !strings.HasPrefix(text[len(h)-1:], "=") && !strings.HasPrefix(text[len(h):], "=") {
			text = text[len(h):]
		}
		text = comment.ReplaceAllString(text, "")
		text = remark.ReplaceAllString(text, "")
		text = withoutRemark(text, isName)
		text = trailer.ReplaceAllString(text, "")
		text = strings.TrimSpace(strings.TrimRight(strings.TrimSpace(text), ".,;"))
		if text == before {
			break
		}
	}
	return text
}

// isProse reports whether a line that cannot be read is words.
func isProse(text string) bool {
	if strings.ContainsAny(text, "=≈<>≤≥^\\") {
		return false
	}
	long := 0
	for _, word := range strings.Fields(text) {
		if len(strings.Trim(word, ".,:;()")) >= 4 {
			long++
		}
	}
	return long >= 2
}

// withoutRemark takes a bracket of words off the end of a line.
func withoutRemark(text string, isName func(string) bool) string {
	open := strings.LastIndexByte(text, '(')
	if open < 1 || !strings.HasSuffix(text, ")") {
		return text
	}
	inner := text[open+1 : len(text)-1]
	for _, r := range inner {
		if !unicode.IsLetter(r) && !strings.ContainsRune(" ,'-.", r) {
			return text
		}
	}
	for _, word := range strings.FieldsFunc(inner, func(r rune) bool { return !unicode.IsLetter(r) && r != '\'' }) {
		const wordLength = 4 // letters in a row that are hardly a product
		if len([]rune(word)) >= wordLength && !isName(word) {
			return strings.TrimRight(text[:open], " ,;")
		}
	}
	return text
}

// isComment reports whether a line holds no statement by its look.
func isComment(text string) bool {
	text = strings.TrimSpace(text)
	return text == "" || strings.HasPrefix(text, "#") || strings.HasPrefix(text, "//")
}

// parts splits a line that holds several statements, at commas and semicolons
// outside brackets, if each part has a relation.
func parts(text string) []string {
	text = both.ReplaceAllString(text, ",")
	var out []string
	depth, from := 0, 0
	for i, r := range text {
		switch r {
		case '(', '[', '{':
			depth++
		case ')', ']', '}':
			depth--
		case ',', ';':
			if depth == 0 && !strings.HasSuffix(text[:i], `\`) {
				out = append(out, text[from:i])
				from = i + 1
			}
		}
	}
	out = append(out, text[from:])
	for _, p := range out {
		if !strings.ContainsAny(p, "=≈<>≤≥") && !strings.Contains(p, `\approx`) || continues(p) {
			return []string{text}
		}
	}
	return out
}

// continues reports whether a line goes on from the one before: = ….
func continues(text string) bool {
	text = strings.TrimLeftFunc(text, unicode.IsSpace)
	for _, r := range []string{"=", "≈", `\approx`, "&=", "≃"} {
		if strings.HasPrefix(text, r) && !strings.HasPrefix(text, "=>") {
			return true
		}
	}
	return false
}
