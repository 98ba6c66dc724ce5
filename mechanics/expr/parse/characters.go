package parse

import (
	"unicode"

	"counterpoise/mechanics/expr/internal/spelling"

	"golang.org/x/text/unicode/norm"
)

// fold gives the usual form of a character that has several: mathematical
// alphabets and full-width forms, look-alikes of Greek letters, minus signs,
// times signs, primes and spaces. A letter with dots above comes as the letter
// followed by combining dots.
func fold(r rune) string {
	if r < 0x80 {
		return string(r)
	}
	if s, ok := spelling.Usual[r]; ok {
		return s
	}
	if s, ok := folded[r]; ok {
		return s
	}
	switch {
	case r >= 0x1D400 && r <= 0x1D7FF, r >= 0xFF01 && r <= 0xFF5E: // mathematical alphabets, full width
		inner := []rune(norm.NFKC.String(string(r)))
		if len(inner) == 1 && inner[0] != r {
			return fold(inner[0])
		}
	case unicode.Is(unicode.Zs, r):
		return " "
	case r >= 0xC0 && r < 0x250, r >= 0x1E00 && r < 0x1F00: // Latin letters with marks
		if d := []rune(norm.NFD.String(string(r))); len(d) == 2 && (d[1] == '\u0307' || d[1] == '\u0308') {
			return string(d)
		}
	}
	return string(r)
}

var folded = map[rune]string{
	'−': "-", '–': "-", '—': "-", '‐': "-", '‑': "-", '﹣': "-",
	'×': "*", '·': "*", '∙': "*", '⋅': "*", '•': "*", '∗': "*", '✕': "*", '⨯': "*",
	'÷': "/", '∕': "/", '⁄': "/", '∶': "/",
	'≃': "≈", '≅': "≈", '∼': "≈", '≐': "≈", '≡': "=", '≔': "=", '⩽': "≤", '⩾': "≥",
	'∣': "|", '❘': "|", '﹦': "=",
	'\u200b': " ", '\u2060': " ", '\ufeff': " ", '\u2061': " ", '\u2062': "*", '\u200d': " ", '\u200c': " ",
	'⟨': "(", '⟩': ")",
}

// combining reports whether r is drawn over the character before it.
func combining(r rune) bool { return unicode.Is(unicode.Mn, r) }

var superscripts = map[rune]rune{
	'⁰': '0', '¹': '1', '²': '2', '³': '3', '⁴': '4', '⁵': '5', '⁶': '6', '⁷': '7', '⁸': '8', '⁹': '9',
	'⁺': '+', '⁻': '-', '⁽': '(', '⁾': ')', 'ⁿ': 'n', 'ⁱ': 'i', '\u1d4f': 'k', '\u1d50': 'm', '\u1d57': 't', 'ˣ': 'x',
}

var vulgar = map[rune][2]int64{
	'½': {1, 2}, '⅓': {1, 3}, '⅔': {2, 3}, '¼': {1, 4}, '¾': {3, 4}, '⅕': {1, 5}, '⅖': {2, 5}, '⅗': {3, 5}, '⅘': {4, 5},
	'⅙': {1, 6}, '⅚': {5, 6}, '⅐': {1, 7}, '⅛': {1, 8}, '⅜': {3, 8}, '⅝': {5, 8}, '⅞': {7, 8}, '⅑': {1, 9}, '⅒': {1, 10},
}

func isASCIILetter(b byte) bool { return b >= 'a' && b <= 'z' || b >= 'A' && b <= 'Z' }

func isDigit(b byte) bool { return b >= '0' && b <= '9' }
