package typeset

import (
	"strings"

	"counterpoise/mechanics/expr"
)

// Text writes e on one line of plain text, as in m v²/2 - m g l cos(θ). Package
// parse reads it back as the same expression, where it knows the symbols of e.
func Text(e expr.Expr) string {
	var w textWriter
	w.box(layout(e))
	return w.String()
}

// TextOf writes a statement: sides with a relation between each two.
func TextOf(sides []expr.Expr, relations []string) string {
	var b strings.Builder
	statement(sides, relations, func(e expr.Expr) { b.WriteString(Text(e)) }, func(r string) { b.WriteString(" " + r + " ") })
	return b.String()
}

type textWriter struct{ strings.Builder }

// plainFunctions are functions whose usual name in text is not the tree's.
var plainFunctions = map[string]string{"log": "ln", "sign": "sgn"}

func functionText(name string) string {
	if s, ok := plainFunctions[name]; ok {
		return s
	}
	return name
}

func (w *textWriter) box(b box) {
	switch b.shape {
	case number, name, words:
		w.WriteString(b.text)
	case sum:
		eachTerm(b.parts, func(sign string) { w.WriteString(" " + sign + " ") }, w.box)
	case negative:
		w.WriteString("-")
		w.box(b.parts[0])
	case product:
		for i, p := range b.parts {
			w.factor(p, i > 0)
		}
	case fraction:
		w.box(tight(b.parts[0]))
		w.WriteString("/")
		w.below(b.parts[1])
	case power:
		w.power(b)
	case root:
		if b.text == "3" {
			w.WriteString("∛")
		} else {
			w.WriteString("√")
		}
		w.list("(", b.parts, ")")
	case call:
		w.WriteString(functionText(b.text))
		w.list("(", b.parts, ")")
	case raised:
		w.WriteString(b.text + superscript(b.up))
		w.list("(", b.parts, ")")
	case modulus:
		if b.parts[0].has(modulus) {
			w.list("abs(", b.parts, ")")
		} else {
			w.list("|", b.parts, "|")
		}
	case cases:
		w.WriteString(map[string]string{"<": "ifless", "≤": "ifleq"}[b.text])
		w.list("(", b.parts, ")")
	case brackets:
		w.list("(", b.parts, ")")
	}
}

func (w *textWriter) list(before string, parts []box, after string) {
	w.WriteString(before)
	for i, p := range parts {
		if i > 0 {
			w.WriteString(", ")
		}
		w.box(p)
	}
	w.WriteString(after)
}

// factor writes one of several factors; a number after another factor needs a
// sign of multiplication.
func (w *textWriter) factor(b box, more bool) {
	if b.shape == fraction {
		b = enclosed(b)
	}
	var one textWriter
	one.box(b)
	text := one.String()
	if more {
		if text[0] >= '0' && text[0] <= '9' {
			w.WriteString("·")
		} else {
			w.WriteString(" ")
		}
	}
	w.WriteString(text)
}

// below writes what stands after a stroke.
func (w *textWriter) below(b box) {
	switch b.shape {
	case sum, negative, product, fraction:
		b = enclosed(b)
	}
	w.box(b)
}

func (w *textWriter) power(b box) {
	w.box(b.parts[0])
	x := b.parts[1]
	if x.shape == number && superscript(x.text) != "" {
		w.WriteString(superscript(x.text))
		return
	}
	w.WriteString("^")
	if x.shape == name {
		w.box(x)
		return
	}
	w.list("(", []box{x}, ")")
}

// superscript writes a whole number as an exponent, "" if text is none.
func superscript(text string) string {
	var b strings.Builder
	for _, r := range text {
		if r < '0' || r > '9' {
			return ""
		}
		b.WriteRune([]rune("⁰¹²³⁴⁵⁶⁷⁸⁹")[r-'0'])
	}
	return b.String()
}
