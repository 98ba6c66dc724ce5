// Package spelling says what a symbol may be called, in one place for the tree,
// the reader and the typesetter: which letters there are, how a name is spelt
// and how other spellings of it are understood.
//
// A canonical name is one of
//
//	[Δ|δ] stem [_ subscript] [primes]      m, θ_1', Δx, I_cm, v_1max
//	word.word… [primes]                    heron.cg.y
//
// The stem is one or more Latin letters, or one other letter; a subscript is
// made of letters and digits; each prime is a derivative along time. What a
// toy computes has words of Latin letters, digits and _ with dots between.
package spelling

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"
)

// Most is how many characters a stem, a subscript or a name with dots may
// have: more than any name in the worksheets, and short enough to print.
const Most = 64

// A Name is a canonical name in its parts.
type Name struct {
	Stem   string // with Δ or δ before it; of a name with dots, all of it
	Sub    string // "" if there is no subscript
	Primes int
}

// String returns the canonical spelling.
func (n Name) String() string {
	text := n.Stem
	if n.Sub != "" {
		text += "_" + n.Sub
	}
	return text + strings.Repeat("'", n.Primes)
}

// Split takes a canonical name apart.
func Split(canonical string) Name {
	stem := strings.TrimRight(canonical, "'")
	n := Name{Primes: len(canonical) - len(stem)}
	if strings.Contains(stem, ".") {
		n.Stem = stem
		return n
	}
	n.Stem, n.Sub, _ = strings.Cut(stem, "_")
	return n
}

// Read understands a name in any spelling: theta_1, \dot{\theta}_{1}, m₁,
// I_\mathrm{cm}. The error says what is no name and what to write instead.
func Read(text string) (Name, error) {
	text = strings.TrimSpace(text)
	if strings.Contains(text, ".") {
		if n := Split(strings.ReplaceAll(bare(text), `\_`, "_")); dotted(n.Stem) {
			return n, nil
		}
	}
	r := reader{text: text}
	if err := r.read(norm.NFD.String(text), 0); err != nil {
		return Name{}, err
	}
	return r.name()
}

// bare takes a command for another type off a name: \mathrm{heron.cg.y}.
func bare(text string) string {
	for command := range upright {
		if inner, ok := strings.CutPrefix(text, `\`+command+"{"); ok && Closing(text[len(text)-len(inner)-1:]) == len(inner) {
			return strings.TrimSpace(inner[:len(inner)-1])
		}
	}
	return text
}

// dotted reports whether text is words with dots between.
func dotted(text string) bool {
	if len(text) > Most || strings.Contains(text, "__") {
		return false
	}
	for word := range strings.SplitSeq(text, ".") {
		if word == "" || !Latin(rune(word[0])) || word[len(word)-1] == '_' {
			return false
		}
		for _, r := range word {
			if !Latin(r) && !digit(r) && r != '_' {
				return false
			}
		}
	}
	return true
}

// A reader collects the parts of a name.
type reader struct {
	text   string
	stem   strings.Builder
	sub    strings.Builder
	inSub  bool
	primes int
	last   bool // the last character was letter or digit, so that a dot can stand over it
}

func (r *reader) fail(format string, args ...any) error {
	return fmt.Errorf("%q is no name of a symbol: %s", clip(r.text), fmt.Sprintf(format, args...))
}

// clip shortens what is shown in an error.
func clip(text string) string {
	const most = 40
	if runes := []rune(text); len(runes) > most {
		return string(runes[:most]) + "…"
	}
	return text
}

// read goes through a text, or what stands in braces at a depth.
func (r *reader) read(text string, depth int) error {
	const deep = 8 // braces around parts of a name; more have no use
	if depth > deep {
		return r.fail("its braces are nested too deep: leave them out")
	}
	for text != "" {
		c, size := utf8.DecodeRuneInString(text)
		rest := text[size:]
		switch {
		case c == utf8.RuneError && size <= 1:
			return r.fail("it is not text in UTF-8: type it again")
		case c == '\\':
			var err error
			if rest, err = r.command(rest); err != nil {
				return err
			}
		case c == '{':
			end := Closing(text)
			if end < 0 {
				return r.fail("a brace is not closed: write }")
			}
			if err := r.read(text[1:end], depth+1); err != nil {
				return err
			}
			rest = text[end+1:]
		case c == '_':
			if r.stem.Len() == 0 || strings.Trim(rest, "_ '{}") == "" {
				return r.fail("_ stands between letters and their subscript: write a letter before it and after it")
			}
			r.inSub = true
		case c == '^':
			if after := strings.TrimLeft(rest, " {"); !strings.HasPrefix(after, `\prime`) && !strings.HasPrefix(after, "'") {
				return r.fail("a name has no exponent: leave it out")
			}
		case Dots(c) > 0 && r.last:
			r.primes += Dots(c)
		case unicode.IsSpace(c):
		default:
			if err := r.character(c); err != nil {
				return err
			}
		}
		text = rest
	}
	return nil
}

// character adds a letter, a digit or a prime.
func (r *reader) character(c rune) error {
	if s, ok := Lowered[c]; ok {
		if r.stem.Len() == 0 {
			return r.fail("it begins with a subscript: write a letter first")
		}
		r.inSub = true
		r.add(s)
		return nil
	}
	usual := string(c)
	if s, ok := Usual[c]; ok {
		usual = s
	}
	if usual[0] == '\'' {
		if r.stem.Len() == 0 {
			return r.fail("it begins with a prime: write a letter first")
		}
		r.primes += len(usual)
		return nil
	}
	c, _ = utf8.DecodeRuneInString(usual)
	switch {
	case Letter(c), digit(c) && r.stem.Len() > 0:
		r.add(c)
		return nil
	case digit(c):
		return r.fail("it begins with a digit: write a letter first")
	}
	return r.fail("%s cannot stand in it: use Latin and Greek letters, digits and _, as in l_1 or arm_length", string(c))
}

func (r *reader) add(c rune) {
	r.last = true
	if digit(c) && !r.inSub {
		r.inSub = true // m1 is m_1
	}
	if r.inSub {
		r.sub.WriteRune(c)
	} else {
		r.stem.WriteRune(c)
	}
}

// upright are commands that set what follows in another type.
var upright = map[string]bool{
	"mathrm": true, "text": true, "textrm": true, "mathit": true, "rm": true, "operatorname": true, "mathsf": true,
	"mathbf": true, "boldsymbol": true, "bm": true, "textit": true, "mbox": true, "mathnormal": true,
}

// command reads what follows a backslash.
func (r *reader) command(text string) (rest string, err error) {
	to := 0
	for to < len(text) && Latin(rune(text[to])) {
		to++
	}
	word := text[:to]
	switch rest = text[to:]; {
	case word == "" && rest != "" && strings.IndexByte(",;!: _", rest[0]) >= 0:
		if rest[0] == '_' {
			return rest, nil
		}
		return rest[1:], nil
	case upright[word]:
		return rest, nil
	case word == "dot" || word == "ddot" || word == "dddot" || word == "ddddot":
		r.primes += strings.Count(word, "d")
		return rest, nil
	case word == "prime" && r.stem.Len() > 0:
		r.primes++
		return rest, nil
	}
	if g, ok := Command(word); ok {
		c, _ := utf8.DecodeRuneInString(g)
		r.add(c)
		return rest, nil
	}
	return rest, r.fail(`\%s cannot stand in it: use letters, digits and _`, clip(word))
}

// Closing is the place of the brace that closes the one at the start of text, -1 if
// none does.
func Closing(text string) int {
	depth := 0
	for i := range len(text) {
		switch text[i] {
		case '{':
			depth++
		case '}':
			if depth--; depth == 0 {
				return i
			}
		}
	}
	return -1
}

// name puts the parts together.
func (r *reader) name() (Name, error) {
	n := Name{Stem: spell(r.stem.String()), Sub: spell(r.sub.String()), Primes: r.primes}
	switch {
	case n.Stem == "":
		return n, r.fail("it is empty: write a letter")
	case utf8.RuneCountInString(n.Stem) > Most || utf8.RuneCountInString(n.Sub) > Most:
		return n, r.fail("it is longer than %d characters: shorten it", Most)
	}
	inner := n.Stem
	for _, d := range []string{"Δ", "δ"} {
		if after, ok := strings.CutPrefix(n.Stem, d); ok && after != "" {
			if inner = spell(after); inner == "Δ" || inner == "δ" {
				return n, r.fail("Δ and δ stand before another letter: write one of them")
			}
			n.Stem = d + inner
		}
	}
	if utf8.RuneCountInString(inner) > 1 && strings.ContainsFunc(inner, func(c rune) bool { return !Latin(c) }) {
		return n, r.fail("it has Greek letters beside others: write all but the first after _, as in a_θ")
	}
	return n, nil
}

// spell puts a Greek letter for its name, with digits after it or not.
func spell(letters string) string {
	stem := strings.TrimRight(letters, "0123456789")
	if g, ok := Greek[stem]; ok {
		return g + letters[len(stem):]
	}
	if stem == "ell" {
		return "l" + letters[len(stem):]
	}
	return letters
}

// Plain reports at little cost that a name is canonical; false says nothing.
func Plain(text string) bool {
	if len(text) == 0 {
		return true
	}
	r, size := utf8.DecodeRuneInString(text)
	if !Latin(r) && !('α' <= r && r <= 'ω' && r != 'ς') {
		return false
	}
	rest := strings.TrimRight(text[size:], "'")
	if rest == "" {
		return true
	}
	if rest[0] != '_' || len(rest) == 1 || len(rest) > Most {
		return false
	}
	for i := 1; i < len(rest); i++ {
		if !digit(rune(rest[i])) {
			return len(rest) == 2 && Latin(rune(rest[1]))
		}
	}
	return true
}
