package expr

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"
)

// greek gives the letter for its name in TeX or in plain text.
var greek = map[string]string{
	"alpha": "α", "beta": "β", "gamma": "γ", "delta": "δ", "epsilon": "ε", "varepsilon": "ε", "zeta": "ζ",
	"eta": "η", "theta": "θ", "vartheta": "θ", "iota": "ι", "kappa": "κ", "lambda": "λ", "mu": "μ", "nu": "ν",
	"xi": "ξ", "omicron": "ο", "pi": "π", "varpi": "π", "rho": "ρ", "varrho": "ρ", "sigma": "σ", "varsigma": "σ",
	"tau": "τ", "upsilon": "υ", "phi": "φ", "varphi": "φ", "chi": "χ", "psi": "ψ", "omega": "ω",
	"Gamma": "Γ", "Delta": "Δ", "Theta": "Θ", "Lambda": "Λ", "Xi": "Ξ", "Pi": "Π", "Sigma": "Σ",
	"Upsilon": "Υ", "Phi": "Φ", "Psi": "Ψ", "Omega": "Ω", "ell": "l",
}

// variant gives the usual form of a letter for its look-alikes.
var variant = map[rune]string{
	'ϵ': "ε", 'ϑ': "θ", 'ϰ': "κ", 'ϖ': "π", 'ϱ': "ρ", 'ς': "σ", 'ϕ': "φ", 'µ': "μ", 'Ω': "Ω", 'ℓ': "l", '∆': "Δ",
	'′': "'", '’': "'", 'ʹ': "'", '″': "''", '‴': "'''", '"': "''", '”': "''",
}

// subscript gives the plain character for a Unicode subscript.
var subscript = map[rune]rune{
	'₀': '0', '₁': '1', '₂': '2', '₃': '3', '₄': '4', '₅': '5', '₆': '6', '₇': '7', '₈': '8', '₉': '9',
	'ₐ': 'a', 'ₑ': 'e', 'ₕ': 'h', 'ᵢ': 'i', 'ⱼ': 'j', 'ₖ': 'k', 'ₗ': 'l', 'ₘ': 'm', 'ₙ': 'n', 'ₒ': 'o',
	'ₚ': 'p', 'ᵣ': 'r', 'ₛ': 's', 'ₜ': 't', 'ᵤ': 'u', 'ᵥ': 'v', 'ₓ': 'x',
}

// Canonical returns the one spelling of a symbol's name under which it is kept:
//
//   - Greek letters in Unicode: theta, \theta and ϑ become θ;
//   - a subscript after an underscore: m1, m₁ and m_{1} become m_1;
//   - time derivatives as primes at the end: \dot{\theta}, θ̇ and θ′ become θ';
//   - the letter ℓ becomes l, the micro sign μ.
//
// Names of a toy's values, such as heron.cg.y, stay as they are. Canonical of
// a canonical name is that name.
func Canonical(name string) string {
	const most = 10 // steps: names take one, nonsense a few until nothing is left to respell
	for range most {
		if plain(name) {
			break
		}
		next := respell(name)
		if next == name {
			break
		}
		name = next
	}
	return name
}

// respell does for one layer of notation what Canonical does.
func respell(name string) string {
	body, primes := dots(strings.TrimSpace(name))
	stem, sub := parts(body)
	if strings.Contains(stem, ".") {
		return strings.TrimSpace(name)
	}
	stem, sub = letters(stem), letters(sub)
	if sub == "" { // digits at the end of letters are a subscript
		cut := len(strings.TrimRight(stem, "0123456789"))
		if cut > 0 && cut < len(stem) {
			stem, sub = stem[:cut], stem[cut:]
		}
	}
	if sub != "" {
		stem += "_" + sub
	}
	return stem + strings.Repeat("'", primes)
}

// plain reports whether a name needs no work: one ASCII or Greek letter, or
// letters that spell no Greek one, with a subscript of plain characters and
// primes.
func plain(name string) bool {
	if len(name) == 0 {
		return true
	}
	r, size := utf8.DecodeRuneInString(name)
	if !(r < utf8.RuneSelf && unicode.IsLetter(r)) && !('α' <= r && r <= 'ω' && r != 'ς') {
		return false
	}
	rest := strings.TrimRight(name[size:], "'")
	if rest == "" {
		return true
	}
	if rest[0] != '_' || len(rest) == 1 {
		return false
	}
	for i := 1; i < len(rest); i++ {
		if rest[i] < '0' || rest[i] > '9' {
			return len(rest) == 2 && unicode.IsLetter(rune(rest[1])) && rest[1] < utf8.RuneSelf
		}
	}
	return true
}

// dots takes time derivatives off a name and counts them.
func dots(name string) (rest string, primes int) {
	for n, macro := range map[int]string{1: `\dot`, 2: `\ddot`, 3: `\dddot`} {
		after, ok := strings.CutPrefix(name, macro)
		if !ok || after != "" && unicode.IsLetter(rune(after[0])) {
			continue
		}
		after = strings.TrimSpace(after)
		if strings.HasPrefix(after, "{") {
			if end := strings.IndexByte(after, '}'); end > 0 {
				after = after[1:end] + after[end+1:]
			}
		}
		rest, more := dots(strings.TrimSpace(after))
		return rest, n + more
	}
	var b strings.Builder
	for _, r := range norm.NFD.String(name) {
		switch r {
		case '\u0307': // combining dot above
			primes++
		case '\u0308':
			primes += 2
		case '\u20DB':
			primes += 3
		default:
			if v, ok := variant[r]; ok && v[0] == '\'' {
				primes += len(v)
			} else if r == '\'' {
				primes++
			} else {
				b.WriteRune(r)
			}
		}
	}
	return norm.NFC.String(b.String()), primes
}

// parts splits a name into letters and subscript.
func parts(name string) (stem, sub string) {
	var b strings.Builder
	inSub := false
	for _, r := range name {
		if s, ok := subscript[r]; ok {
			if !inSub {
				b.WriteByte('_')
				inSub = true
			}
			b.WriteRune(s)
			continue
		}
		inSub = false
		b.WriteRune(r)
	}
	stem, sub, _ = strings.Cut(b.String(), "_")
	sub = strings.TrimSpace(sub)
	for _, macro := range []string{`\mathrm`, `\text`, `\mathit`, `\rm`} {
		sub = strings.ReplaceAll(sub, macro, "")
	}
	return unbraced.Replace(stem), strings.ReplaceAll(unbraced.Replace(sub), "_", "")
}

// unbraced takes out what only groups.
var unbraced = strings.NewReplacer("{", "", "}", "", " ", "")

// letters spells the Greek in a name.
func letters(name string) string {
	var b strings.Builder
	for _, r := range strings.TrimLeft(name, `\`) {
		if v, ok := variant[r]; ok {
			b.WriteString(v)
		} else {
			b.WriteRune(r)
		}
	}
	name = b.String()
	if g, ok := greek[name]; ok {
		return g
	}
	// theta1: the letter, then digits
	if cut := len(strings.TrimRight(name, "0123456789")); cut < len(name) {
		if g, ok := greek[name[:cut]]; ok {
			return g + name[cut:]
		}
	}
	return name
}
