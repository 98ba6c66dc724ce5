package tex

import "strings"

// alphabets are where Unicode keeps mathematical letters: the first capital,
// small letter, digit, Greek capital and small Greek letter; 0 where there are
// none. Source: The Unicode Standard, block Mathematical Alphanumeric Symbols.
var alphabets = map[string]struct{ capital, small, digit, greekCapital, greekSmall rune }{
	"mathbf":     {0x1D400, 0x1D41A, 0x1D7CE, 0x1D6A8, 0x1D6C2},
	"boldsymbol": {0x1D468, 0x1D482, 0x1D7CE, 0x1D71C, 0x1D736},
	"bm":         {0x1D468, 0x1D482, 0x1D7CE, 0x1D71C, 0x1D736},
	"mathcal":    {0x1D49C, 0, 0, 0, 0},
	"mathscr":    {0x1D49C, 0, 0, 0, 0},
	"mathbb":     {0x1D538, 0x1D552, 0x1D7D8, 0, 0},
	"mathfrak":   {0x1D504, 0x1D51E, 0, 0, 0},
	"mathsf":     {0x1D5A0, 0x1D5BA, 0x1D7E2, 0, 0},
	"mathtt":     {0x1D670, 0x1D68A, 0x1D7F6, 0, 0},
}

// older letters have their places outside that block.
var older = map[rune]rune{
	0x1D49D: 'ℬ', 0x1D4A0: 'ℰ', 0x1D4A1: 'ℱ', 0x1D4A3: 'ℋ', 0x1D4A4: 'ℐ', 0x1D4A7: 'ℒ', 0x1D4A8: 'ℳ', 0x1D4AD: 'ℛ',
	0x1D53A: 'ℂ', 0x1D53F: 'ℍ', 0x1D545: 'ℕ', 0x1D547: 'ℙ', 0x1D548: 'ℚ', 0x1D549: 'ℝ', 0x1D551: 'ℤ',
	0x1D506: 'ℭ', 0x1D50B: 'ℌ', 0x1D50C: 'ℑ', 0x1D515: 'ℜ', 0x1D51D: 'ℨ',
}

// inAlphabet returns a letter or digit in one of the alphabets, or itself.
func inAlphabet(name string, r rune) rune {
	a := alphabets[name]
	got := rune(0)
	switch {
	case r >= 'A' && r <= 'Z' && a.capital != 0:
		got = a.capital + r - 'A'
	case r >= 'a' && r <= 'z' && a.small != 0:
		got = a.small + r - 'a'
	case r >= '0' && r <= '9' && a.digit != 0:
		got = a.digit + r - '0'
	case r >= 'Α' && r <= 'Ω' && a.greekCapital != 0:
		got = a.greekCapital + r - 'Α'
	case r >= 'α' && r <= 'ω' && a.greekSmall != 0:
		got = a.greekSmall + r - 'α'
	default:
		return r
	}
	if o, ok := older[got]; ok {
		return o
	}
	return got
}

// restyle puts the letters and digits of finished MathML into an alphabet,
// leaving tags and entities alone.
func restyle(name, xml string) string {
	var b strings.Builder
	inTag, inEntity := false, false
	for _, r := range xml {
		switch {
		case r == '<':
			inTag = true
		case r == '>':
			inTag = false
		case r == '&' && !inTag:
			inEntity = true
		case r == ';':
			inEntity = false
		case !inTag && !inEntity:
			r = inAlphabet(name, r)
		}
		b.WriteRune(r)
	}
	return strings.ReplaceAll(b.String(), ` mathvariant="normal"`, "")
}
