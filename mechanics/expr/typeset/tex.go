package typeset

import (
	"slices"
	"strings"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/expr/internal/spelling"
)

// TeX writes e in TeX's mathematics, without dollar signs.
func TeX(e expr.Expr) string {
	isE := func(name string) bool { return strings.TrimRight(name, "'") == "e" }
	w := texWriter{exp: slices.ContainsFunc(e.Symbols(), isE)}
	w.box(layout(e))
	return w.String()
}

// TeXOf writes a statement in TeX: sides with a relation between each two.
func TeXOf(sides []expr.Expr, relations []string) string {
	signs := map[string]string{"≈": `\approx`, "≤": `\le`, "≥": `\ge`, "≠": `\ne`}
	var b strings.Builder
	statement(sides, relations, func(e expr.Expr) { b.WriteString(TeX(e)) }, func(r string) {
		if sign, ok := signs[r]; ok {
			r = sign
		}
		b.WriteString(" " + r + " ")
	})
	return b.String()
}

type texWriter struct {
	strings.Builder
	exp      bool // a symbol is called e, so that the exponential function is written exp
	brackets bool // a factor follows that would look like part of a function's argument
}

var texFunctions = map[string]string{
	"sin": `\sin`, "cos": `\cos`, "tan": `\tan`, "asin": `\arcsin`, "acos": `\arccos`, "atan": `\arctan`,
	"atan2": `\operatorname{atan2}`, "sinh": `\sinh`, "cosh": `\cosh`, "tanh": `\tanh`, "log": `\ln`,
	"sign": `\operatorname{sgn}`, "min": `\min`, "max": `\max`, "exp": `\exp`,
}

// space ends a command before a letter.
func (w *texWriter) space(next string) {
	s := w.String()
	if s == "" || next == "" {
		return
	}
	i := len(s)
	for i > 0 && (s[i-1] >= 'a' && s[i-1] <= 'z' || s[i-1] >= 'A' && s[i-1] <= 'Z') {
		i--
	}
	c := next[0]
	if i < len(s) && i > 0 && s[i-1] == '\\' && (c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z') {
		w.WriteString(" ")
	}
}

func (w *texWriter) put(text string) {
	w.space(text)
	w.WriteString(text)
}

func (w *texWriter) box(b box) {
	switch b.shape {
	case number:
		w.put(texNumber(b.text))
	case name:
		w.put(texName(b.text))
	case words:
		w.put(`\text{` + b.text + "}")
	case sum:
		eachTerm(b.parts, func(sign string) { w.WriteString(" " + sign + " ") }, w.box)
	case negative:
		w.WriteString("-")
		w.box(b.parts[0])
	case product:
		for i, p := range b.parts {
			followed := i+1 < len(b.parts) && !(b.parts[i+1].shape == raised || b.parts[i+1].shape == call && b.parts[i+1].text != "exp")
			w.factor(p, i > 0, followed)
		}
	case fraction:
		w.fraction(b.parts[0], b.parts[1])
	case power:
		w.box(b.parts[0])
		w.WriteString("^{")
		w.box(b.parts[1])
		w.WriteString("}")
	case root:
		w.put(`\sqrt`)
		if b.text != "" {
			w.WriteString("[" + b.text + "]")
		}
		w.group(b.parts[0])
	case call:
		w.call(b)
	case raised:
		w.put(texFunctions[b.text] + "^{" + b.up + "}")
		w.arguments(b.parts)
	case modulus:
		w.bracketed(`|`, b.parts, `|`)
	case cases:
		w.put(`\begin{cases}`)
		w.box(b.parts[2])
		w.WriteString(` & `)
		w.box(b.parts[0])
		w.WriteString(map[string]string{"<": " < ", "≤": ` \le `}[b.text])
		w.box(b.parts[1])
		w.WriteString(` \\ `)
		w.box(b.parts[3])
		w.WriteString(` & \text{otherwise} \end{cases}`)
	case brackets:
		w.bracketed("(", b.parts, ")")
	}
}

func (w *texWriter) group(b box) {
	w.WriteString("{")
	w.box(b)
	w.WriteString("}")
}

// fraction writes a half and other simple fractions before the factors, other
// quotients with everything above the line.
func (w *texWriter) fraction(above, below box) {
	if below.shape == number && above.shape == product {
		first, rest := box{shape: number, text: "1"}, above.parts
		if rest[0].shape == number {
			first, rest = rest[0], rest[1:]
		}
		plain := true
		for _, p := range rest {
			plain = plain && p.shape != brackets && p.shape != fraction
		}
		if plain && len(rest) > 1 && !startsWithDigit(rest[0]) {
			w.put(`\frac`)
			w.group(first)
			w.group(below)
			w.WriteString(" ")
			w.box(box{shape: product, parts: rest})
			return
		}
	}
	w.put(`\frac`)
	w.group(above)
	w.group(below)
}

func (w *texWriter) factor(b box, more, followed bool) {
	one := texWriter{exp: w.exp, brackets: followed}
	one.box(b)
	text := one.String()
	if more {
		change := strings.HasSuffix(w.String(), `\Delta`) || strings.HasSuffix(w.String(), `\delta`)
		switch {
		case text[0] >= '0' && text[0] <= '9', change: // \Delta x is one symbol
			w.WriteString(` \cdot `)
		default:
			w.WriteString(" ")
		}
	}
	w.WriteString(text)
}

func (w *texWriter) call(b box) {
	if b.text == "exp" && !w.exp {
		w.put("e^")
		w.group(b.parts[0])
		return
	}
	f, ok := texFunctions[b.text]
	if !ok {
		f = `\operatorname{` + b.text + `}`
	}
	w.put(f)
	w.arguments(b.parts)
}

// arguments writes a lone symbol without brackets.
func (w *texWriter) arguments(parts []box) {
	if len(parts) == 1 && parts[0].shape == name && !w.brackets {
		if s := texName(parts[0].text); s[0] != '\\' {
			w.WriteString(" ")
		}
		w.box(parts[0])
		return
	}
	w.bracketed("(", parts, ")")
}

// bracketed writes brackets as tall as what is in them.
func (w *texWriter) bracketed(open string, parts []box, close string) {
	tall := false
	for _, p := range parts {
		tall = tall || p.has(fraction) || p.has(cases) || p.has(root)
	}
	if tall || open == "|" {
		open, close = `\left`+open, `\right`+close
	}
	w.put(open)
	for i, p := range parts {
		if i > 0 {
			w.WriteString(", ")
		}
		w.box(p)
	}
	w.WriteString(close)
}

func texNumber(text string) string {
	if mantissa, exponent, ok := strings.Cut(text, "e"); ok {
		exponent = strings.TrimPrefix(exponent, "+")
		if mantissa == "1" {
			return "10^{" + exponent + "}"
		}
		return mantissa + ` \cdot 10^{` + exponent + "}"
	}
	return text
}

// texGreek gives the command for a Greek letter.
var texGreek = map[rune]string{
	'α': `\alpha`, 'β': `\beta`, 'γ': `\gamma`, 'δ': `\delta`, 'ε': `\varepsilon`, 'ζ': `\zeta`, 'η': `\eta`, 'θ': `\theta`,
	'ι': `\iota`, 'κ': `\kappa`, 'λ': `\lambda`, 'μ': `\mu`, 'ν': `\nu`, 'ξ': `\xi`, 'π': `\pi`, 'ρ': `\rho`, 'σ': `\sigma`,
	'τ': `\tau`, 'υ': `\upsilon`, 'φ': `\varphi`, 'χ': `\chi`, 'ψ': `\psi`, 'ω': `\omega`, 'Γ': `\Gamma`, 'Δ': `\Delta`,
	'Θ': `\Theta`, 'Λ': `\Lambda`, 'Ξ': `\Xi`, 'Π': `\Pi`, 'Σ': `\Sigma`, 'Υ': `\Upsilon`, 'Φ': `\Phi`, 'Ψ': `\Psi`,
	'Ω': `\Omega`, 'ħ': `\hbar`, 'ℓ': `\ell`,
}

// texName writes a symbol: Greek as commands, primes as dots, subscripts
// lowered, words upright.
func texName(text string) string {
	n := spelling.Split(text)
	out := texLetters(n.Stem)
	switch n.Primes {
	case 0:
	case 1, 2, 3:
		out = `\` + strings.Repeat("d", n.Primes) + "ot{" + out + "}"
	}
	if n.Sub != "" {
		out += "_{" + texLetters(n.Sub) + "}"
	}
	if n.Primes > 3 {
		out += "^{" + strings.Repeat(`\prime`, n.Primes) + "}"
	}
	return out
}

// texLetters writes letters: one alone in italics, a word upright.
func texLetters(text string) string {
	runes := []rune(text)
	if len(runes) == 1 {
		if g, ok := texGreek[runes[0]]; ok {
			return g
		}
		return text
	}
	if len(runes) == 2 && (runes[0] == 'Δ' || runes[0] == 'δ') {
		return texLetters(string(runes[0])) + " " + texLetters(string(runes[1]))
	}
	digits := true
	for _, r := range runes {
		digits = digits && r >= '0' && r <= '9'
	}
	if digits {
		return text
	}
	var b strings.Builder
	for _, r := range runes {
		switch g, ok := texGreek[r]; {
		case ok:
			b.WriteString(g + " ")
		case strings.ContainsRune(`\{}$&#^_%~`, r):
			b.WriteString(`\` + string(r))
		default:
			b.WriteRune(r)
		}
	}
	return `\mathrm{` + strings.TrimSpace(b.String()) + "}"
}
