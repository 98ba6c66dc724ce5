package derivation

import (
	"regexp"
	"strings"
	"unicode"
)

// A cleaned line is mathematics only.
var (
	leading = regexp.MustCompile(`^(?:(?:⇒|⟹|→|⟶|∴|•|·\s|\*\s|={1,2}>|-{1,2}>|\\implies|\\Rightarrow|\\Longrightarrow|\\therefore|\\to)\s*)+`)
	numbers = regexp.MustCompile(`^(?:[([](?:\d{1,2}|[a-z]|[ivx]{1,4})[)\]]|(?:\d{1,2}|[a-h]|[ivx]{1,4})[.)]|(?i:step|line|eq|eqn|equation|L)\.?\s*\(?\d{1,2}\)?\s*[.:)])\s+`)
	words   = regexp.MustCompile(`^(?i:so|hence|thus|then|therefore|and|since|with|where|let|now|from|because|but|also|put|set|as|for small angles|for small θ|i\.e\.|we have|we get|this gives|gives|it follows that|so that|which gives)\b[,:]?\s+`)
	comment = regexp.MustCompile(`\s+(?:#|//|--|%).*$`)
	both    = regexp.MustCompile(`\s+(?:and)\s+`)
	tiny    = regexp.MustCompile(`^(?:(?i:for|with|if|when|as|assume|assuming|where)\s+)?(?:(?i:small)\s+(\S+(?:(?:\s*,\s*|\s+and\s+)\S+)*)|(\S+(?:(?:\s*,\s*|\s+and\s+)\S+)*)\s+(?:(?i:is|are)\s+)?(?i:(?:very )?small)|\|?([^|\s]+)\|?\s*(?:≪|<<|\\ll)\s*1|(\S+)\s+(?i:is a small angle))$`)
	frames  = regexp.MustCompile("^(?:\\\\(?:begin|end)\\{(?:align|aligned|equation|gather|split|eqnarray)\\*?\\}|\\\\[\\[\\]()]|\\$\\$|```\\w*)?$")
	lasting = regexp.MustCompile(`^(.*?)\s*(?i:\b(?:is|remains|stays|be|are)\s+(?:a\s+)?(?:constant|const\.?|conserved|kept|steady)|\b(?:constant|const\.?|conserved))(?:\s+(?i:in|over|with)\s+(?i:time))?$`)
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
		text = comment.ReplaceAllString(text, "")
		text = strings.TrimSuffix(strings.TrimSpace(text), `\\`)
		text = strings.TrimSpace(strings.Trim(text, "$"))
		text = strings.TrimSpace(strings.TrimRight(strings.TrimSpace(text), ".,;"))
		if text == before {
			break
		}
	}
	return text
}

// isBlank reports whether there is nothing on a line but what typesetting needs.
func isBlank(text string) bool {
	return frames.MatchString(strings.TrimSpace(text))
}

// isRemark reports whether a line holds no statement: a comment, or words
// without any relation.
func (w wording) isRemark(text string) bool {
	if strings.HasPrefix(text, "#") || strings.HasPrefix(text, "//") || strings.HasPrefix(text, "%") {
		return true
	}
	return !relations.MatchString(text) && w.hasWord(text)
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
