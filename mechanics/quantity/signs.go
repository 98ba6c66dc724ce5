package quantity

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// A sign is one character of a text after its many spellings are made one,
// with the byte at which it stood.
type sign struct {
	r  rune
	at int
}

// fraction stands for TeX's \frac among the signs, pair for a command with the
// number and the unit in two pairs of braces.
const (
	fraction = '\uE000'
	pair     = '\uE001'
)

// texSigns are the TeX commands that occur in quantities, without backslash;
// 0 means that the command is only looks and is left out.
var texSigns = map[string]rune{
	"times": '×', "cdot": '·', "ast": '*', "pm": '±', "mu": 'µ', "micro": 'µ', "Omega": 'Ω', "ohm": 'Ω',
	"circ": '°', "degree": '°', "pi": 'π', "frac": fraction, "dfrac": fraction, "tfrac": fraction,
	"quad": ' ', "qquad": ' ', "percent": '%', "prime": '′', "per": '/',
	"mathrm": 0, "text": 0, "textrm": 0, "textup": 0, "mathup": 0, "rm": 0, "mathsf": 0, "mbox": 0,
	"operatorname": 0, "unit": 0, "si": 0, "left": 0, "right": 0, "displaystyle": 0, "textstyle": 0,
	"SI": pair, "qty": pair, "num": 0, "bigl": 0, "bigr": 0, "big": 0, "Big": 0, "thinspace": ' ', "enspace": ' ', "space": ' ', "mathit": 0,
}

var plainSigns = map[rune]rune{
	'−': '-', '–': '-', '—': '-', '‐': '-', '‑': '-', '﹣': '-', '－': '-',
	'⋅': '·', '∙': '·', '•': '·', '∗': '*', '✕': '×', '⨯': '×', '╳': '×',
	'μ': 'µ', 'Ω': 'Ω', 'º': '°', '˚': '°', '∘': '°', '∕': '/', '⁄': '/', '÷': '/', '＋': '+',
	'~': ' ', '$': ' ', '\u200b': ' ', '\u2060': ' ', '\ufeff': ' ',
}

// signsOf maps spaces, minus signs, dots and TeX commands of a text to one
// spelling each, and keeps their places.
func signsOf(text string) ([]sign, *SyntaxError) {
	var signs []sign
	for at := 0; at < len(text); {
		r, size := utf8.DecodeRuneInString(text[at:])
		if r == utf8.RuneError && size <= 1 {
			return nil, &SyntaxError{text, at, "a byte that is not UTF-8", "save the text as UTF-8"}
		}
		if r == '\\' {
			command := texCommand(text[at+1:])
			to, ok := texSigns[command]
			if !ok {
				switch command {
				case ",", ";", ":", "!", " ", "":
					to = ' '
				case "(", ")", "[", "]", "$": // around mathematics in running text
					to = ' '
				case "%":
					to = '%'
				default:
					if word := texWord(command); word != "" { // \milli\metre
						for _, letter := range word {
							signs = append(signs, sign{letter, at})
						}
						break
					}
					return nil, &SyntaxError{text, at, `unknown TeX command "\` + command + `"`, `use \times, \cdot, \frac, \mathrm, \pm, \mu or \circ`}
				}
			}
			if to != 0 {
				signs = append(signs, sign{to, at})
			}
			at += 1 + len(command)
			if unicode.IsLetter(firstRune(command)) { // TeX drops the spaces behind a word
				at += len(text[at:]) - len(strings.TrimLeft(text[at:], " "))
			}
			continue
		}
		if to, ok := plainSigns[r]; ok {
			r = to
		} else if unicode.IsSpace(r) || unicode.Is(unicode.Zs, r) {
			r = ' '
		}
		signs = append(signs, sign{r, at})
		at += size
	}
	return mergeSigns(signs), nil
}

// texWord returns the letters for a command that names a unit, a prefix or a
// power; a unit ends with a space, so that the next does not run into it.
func texWord(command string) string {
	switch command {
	case "square", "cubic", "squared", "cubed":
		return " " + command + " "
	}
	for _, p := range prefixes {
		if command == p.name {
			return command
		}
	}
	if _, ok := bySymbol()[command]; ok && len(command) > 2 {
		return command + " "
	}
	return ""
}

func firstRune(s string) rune {
	r, _ := utf8.DecodeRuneInString(s)
	return r
}

func texCommand(rest string) string {
	n := strings.IndexFunc(rest, func(r rune) bool { return r > unicode.MaxASCII || !unicode.IsLetter(r) })
	switch {
	case n < 0:
		return rest
	case n == 0:
		_, size := utf8.DecodeRuneInString(rest)
		return rest[:size]
	}
	return rest[:n]
}

// mergeSigns joins "**" to ^, "+-" and "+/-" to ±, and a raised ring to °.
func mergeSigns(in []sign) []sign {
	var out []sign
	next := func(i int, want string) bool {
		for _, r := range want {
			if i >= len(in) || in[i].r != r {
				return false
			}
			i++
		}
		return true
	}
	for i := 0; i < len(in); {
		for _, m := range [...]struct {
			from string
			to   rune
		}{{"^{°}", '°'}, {"^{ °}", '°'}, {"^°", '°'}, {"+/-", '±'}, {"+-", '±'}, {"**", '^'}, {"", 0}} {
			if m.to == 0 {
				out = append(out, in[i])
				i++
			} else if next(i, m.from) {
				out = append(out, sign{m.to, in[i].at})
				i += utf8.RuneCountInString(m.from)
				break
			}
		}
	}
	return out
}

// superscripts maps raised signs to plain ones.
var superscripts = map[rune]rune{
	'⁰': '0', '¹': '1', '²': '2', '³': '3', '⁴': '4', '⁵': '5', '⁶': '6', '⁷': '7', '⁸': '8', '⁹': '9', '⁻': '-', '⁺': '+',
}

// A scanner walks over signs.
type scanner struct {
	text  string
	signs []sign
	i     int
}

func (s *scanner) peek() rune { return s.ahead(0) }

// ahead returns the nth sign from here, or 0 past the end.
func (s *scanner) ahead(n int) rune {
	if s.i+n < len(s.signs) {
		return s.signs[s.i+n].r
	}
	return 0
}

func (s *scanner) accept(r rune) bool {
	if s.peek() != r {
		return false
	}
	s.i++
	return true
}

func (s *scanner) spaces() bool {
	from := s.i
	for s.peek() == ' ' {
		s.i++
	}
	return s.i > from
}

// at returns the byte at which the next sign stands.
func (s *scanner) at() int {
	if s.i < len(s.signs) {
		return s.signs[s.i].at
	}
	return len(s.text)
}

func isDigit(r rune) bool { return '0' <= r && r <= '9' }

func (s *scanner) fail(at int, reason, remedy string) *SyntaxError {
	return &SyntaxError{s.text, at, reason, remedy}
}
