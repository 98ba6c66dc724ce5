package typeset

import (
	"html"
	"strings"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/expr/internal/spelling"
)

// MathML writes e as a complete math element of presentation MathML.
//
// Source: W3C, Mathematical Markup Language (MathML) Version 3.0 (2nd ed.),
// chapter 3.
func MathML(e expr.Expr) string { return MathMLOf([]expr.Expr{e}, nil) }

// MathMLOf writes a statement as a complete math element.
func MathMLOf(sides []expr.Expr, relations []string) string {
	var w mathWriter
	w.WriteString(`<math xmlns="http://www.w3.org/1998/Math/MathML"><mrow>`)
	statement(sides, relations, func(e expr.Expr) { w.box(layout(e)) }, w.op)
	w.WriteString("</mrow></math>")
	return w.String()
}

type mathWriter struct{ strings.Builder }

const (
	invisibleTimes      = "\u2062"
	functionApplication = "\u2061"
)

func (w *mathWriter) element(tag, text string) {
	w.WriteString("<" + tag + ">" + html.EscapeString(text) + "</" + tag + ">")
}

func (w *mathWriter) op(text string) {
	if text == "-" {
		text = "−"
	}
	w.element("mo", text)
}

// row writes one box as one element.
func (w *mathWriter) row(b box) {
	w.WriteString("<mrow>")
	w.box(b)
	w.WriteString("</mrow>")
}

func (w *mathWriter) box(b box) {
	switch b.shape {
	case number:
		w.number(b.text)
	case name:
		w.name(b.text)
	case words:
		w.element("mtext", b.text)
	case sum:
		eachTerm(b.parts, w.op, w.box)
	case negative:
		w.op("-")
		w.box(b.parts[0])
	case product:
		for i, p := range b.parts {
			if i > 0 {
				if startsWithDigit(p) {
					w.op("·")
				} else {
					w.op(invisibleTimes)
				}
			}
			w.box(p)
		}
	case fraction:
		w.pair("mfrac", b.parts[0], b.parts[1])
	case power:
		w.pair("msup", b.parts[0], b.parts[1])
	case root:
		if b.text != "" {
			w.WriteString("<mroot>")
			w.row(b.parts[0])
			w.element("mn", b.text)
			w.WriteString("</mroot>")
			return
		}
		w.WriteString("<msqrt>")
		w.box(b.parts[0])
		w.WriteString("</msqrt>")
	case call:
		w.call(b)
	case raised:
		w.WriteString("<msup>")
		w.element("mi", b.text)
		w.element("mn", b.up)
		w.WriteString("</msup>")
		w.arguments(b.parts)
	case modulus:
		w.fenced("|", b.parts, "|")
	case cases:
		w.cases(b)
	case brackets:
		w.fenced("(", b.parts, ")")
	}
}

func startsWithDigit(b box) bool {
	for len(b.parts) > 0 && (b.shape == power || b.shape == product) {
		b = b.parts[0]
	}
	return b.shape == number
}

func (w *mathWriter) pair(tag string, a, b box) {
	w.WriteString("<" + tag + ">")
	w.row(a)
	w.row(b)
	w.WriteString("</" + tag + ">")
}

func (w *mathWriter) call(b box) {
	if b.text == "exp" {
		w.WriteString("<msup><mi>e</mi>")
		w.row(b.parts[0])
		w.WriteString("</msup>")
		return
	}
	text := functionText(b.text)
	switch b.text {
	case "asin", "acos", "atan":
		text = "arc" + text[1:]
	}
	w.element("mi", text)
	w.arguments(b.parts)
}

func (w *mathWriter) arguments(parts []box) {
	w.op(functionApplication)
	if len(parts) == 1 && parts[0].shape == name {
		w.box(parts[0])
		return
	}
	w.fenced("(", parts, ")")
}

func (w *mathWriter) fenced(open string, parts []box, close string) {
	w.WriteString("<mrow>")
	w.op(open)
	for i, p := range parts {
		if i > 0 {
			w.op(",")
		}
		w.row(p)
	}
	w.op(close)
	w.WriteString("</mrow>")
}

func (w *mathWriter) cases(b box) {
	w.WriteString("<mrow>")
	w.op("{")
	w.WriteString("<mtable><mtr><mtd>")
	w.row(b.parts[2])
	w.WriteString("</mtd><mtd><mrow>")
	w.box(b.parts[0])
	w.op(b.text)
	w.box(b.parts[1])
	w.WriteString("</mrow></mtd></mtr><mtr><mtd>")
	w.row(b.parts[3])
	w.WriteString("</mtd><mtd><mtext>otherwise</mtext></mtd></mtr></mtable></mrow>")
}

func (w *mathWriter) number(text string) {
	mantissa, exponent, ok := strings.Cut(text, "e")
	if !ok {
		w.element("mn", text)
		return
	}
	w.element("mn", mantissa)
	w.op("·")
	w.WriteString("<msup><mn>10</mn><mrow>")
	if e, minus := strings.CutPrefix(exponent, "-"); minus {
		w.op("-")
		exponent = e
	}
	w.element("mn", strings.TrimPrefix(exponent, "+"))
	w.WriteString("</mrow></msup>")
}

// name writes a symbol: primes as dots above, subscripts lowered.
func (w *mathWriter) name(text string) {
	n := spelling.Split(text)
	stem, sub, primes := n.Stem, n.Sub, n.Primes
	if sub != "" {
		w.WriteString("<msub>")
	}
	switch {
	case primes == 0:
		w.element("mi", stem)
	case primes <= 3:
		w.WriteString(`<mover accent="true">`)
		w.element("mi", stem)
		w.op(strings.Repeat("˙", primes))
		w.WriteString("</mover>")
	default:
		w.WriteString("<msup>")
		w.element("mi", stem)
		w.op(strings.Repeat("′", primes))
		w.WriteString("</msup>")
	}
	if sub != "" {
		tag := "mi"
		if strings.Trim(sub, "0123456789") == "" {
			tag = "mn"
		}
		w.element(tag, sub)
		w.WriteString("</msub>")
	}
}
