package question

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"counterpoise/mechanics/expr/parse"
	"counterpoise/mechanics/expr/typeset"
	"counterpoise/mechanics/quantity"
)

// read reads an answer in every customary way and starts the verdict with how
// it was read.
func (a *Asked) read(answer string) ([]parse.Statement, Verdict, bool) {
	readings, err := parse.Readings(tidied(answer), a.options())
	if err != nil {
		return nil, a.notRead(answer, err), false
	}
	v := a.verdict(Wrong)
	v.TeX = typeset.TeXOf(readings[0].Sides, readings[0].Relations)
	v.Text = typeset.TextOf(readings[0].Sides, readings[0].Relations)
	return readings, v, true
}

// fractionPower finds a power followed by a division, as in x^2/2.
var fractionPower = regexp.MustCompile(`\^ ?(\d{1,2}) ?/ ?(\d{1,2})\b`)

// oneExponent puts brackets around the exponent of x^2/2: nobody means x^(2/2).
// (x^1/2 may be meant for a root and is left as it is.)
func oneExponent(text string) string {
	if !strings.Contains(text, "^") || len(text) > parse.MaxBytes {
		return text
	}
	return fractionPower.ReplaceAllStringFunc(text, func(found string) string {
		m := fractionPower.FindStringSubmatch(found)
		p, _ := strconv.Atoi(m[1])
		q, _ := strconv.Atoi(m[2])
		if q == 0 || p%q != 0 {
			return found
		}
		return "^(" + m[1] + ")/" + m[2]
	})
}

// ambiguous asks for brackets: another customary reading would be right.
func (a *Asked) ambiguous(v Verdict, usual, other parse.Statement) Verdict {
	v.Outcome, v.Slip = Unreadable, "ambiguous"
	v.Say = fmt.Sprintf("This can be read in two ways, as %s or as %s. Put brackets (and * signs) so that only one is left.",
		typeset.TextOf(usual.Sides, usual.Relations), typeset.TextOf(other.Sides, other.Relations))
	return v
}

// tidied leaves out what stands around a formula: spaces, and a sign of equality
// before it.
func tidied(answer string) string {
	text := strings.TrimSpace(answer)
	if rest, found := strings.CutPrefix(text, "="); found {
		text = strings.TrimSpace(rest)
	}
	return oneExponent(text)
}

// An otherReading is what an answer would be if it were written with more
// brackets, or without a unit at its end.
type otherReading struct {
	parse.Statement
	unit bool // the unit was left out
}

const (
	// A factor as it stands in a product: a number or name, with a power and what
	// a function is taken of.
	factor         = `[\pL\pN_.\\]+(?:\([^()]*\))?(?:\^\{?[\pL\pN_.]+\}?|[²³⁴])?`
	functionBefore = `(√|\b(?:sqrt|sin|cos|tan|ln|exp) )`
)

var (
	// underStroke finds a product with signs behind a stroke, k/2*pi*f, and
	// twoUnder its first two factors.
	underStroke = regexp.MustCompile(`/ ?(` + factor + `(?: ?[*·×] ?` + factor + `)+)`)
	twoUnder    = regexp.MustCompile(`/ ?(` + factor + ` ?[*·×] ?` + factor + `)`)
	// unbracketed finds a function of a product or quotient with signs, and
	// ofProduct one of a product.
	unbracketed = regexp.MustCompile(functionBefore + `(` + factor + `(?: ?[*·×/] ?` + factor + `)+)`)
	ofProduct   = regexp.MustCompile(functionBefore + `(` + factor + `(?: ?[*·×] ?` + factor + `)+)`)
)

// otherwise returns the readings of an answer in which a stroke divides by all
// that follows, or a function is taken of all that follows, although the
// product there is written with signs; and that without a unit at its end, of
// the dimension asked.
// Source: ISO 80000-2:2019 asks for brackets where a stroke is followed by a
// sign of multiplication, because practice differs. From memory, unchecked.
func (a *Asked) otherwise(answer string, asked ...quantity.Dimension) (out []otherReading) {
	text := tidied(answer)
	if len(text) > parse.MaxBytes {
		return nil
	}
	read := func(changed string, unit bool) {
		if changed == text {
			return
		}
		const most = 3 // readings of one text
		if readings, err := parse.Readings(changed, a.options()); err == nil {
			for _, r := range readings[:min(most, len(readings))] {
				out = append(out, otherReading{r, unit})
			}
		}
	}
	read(underStroke.ReplaceAllString(text, "/($1)"), false)
	read(twoUnder.ReplaceAllString(text, "/($1)"), false)
	read(unbracketed.ReplaceAllString(text, "$1($2)"), false)
	read(ofProduct.ReplaceAllString(text, "$1($2)"), false)
	if i := strings.LastIndexByte(text, ' '); i > 0 {
		u, err := quantity.ParseUnit(text[i+1:])
		if err == nil && slices.Contains(asked, u.Dimension()) && !strings.ContainsAny(text[i+1:], "()0123456789+*/") {
			read(text[:i], true)
		}
	}
	return out
}

// mend asks for what would make an answer right: brackets, or to leave the unit
// out.
func (a *Asked) mend(v Verdict, usual parse.Statement, o otherReading) Verdict {
	if !o.unit {
		return a.ambiguous(v, usual, o.Statement)
	}
	v.Outcome, v.Slip = Unreadable, "unit"
	v.Say = "The unit at the end is read as a letter. A formula is asked: leave the unit out."
	return v
}
