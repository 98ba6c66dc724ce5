// Package tex turns the TeX mathematics of worksheets and notebooks into
// presentation MathML, which browsers typeset without any script.
//
// It covers what mechanics writes: fractions, roots, Greek, indices and powers,
// dots and other accents, sums and integrals, brackets that grow, matrices,
// cases, aligned lines, text and named functions. What it does not know is an
// error with its place, never left out silently. Text of strangers may be given
// to it: everything in its result is escaped, and nothing in it can be active.
//
// Source: MathML Core, W3C; the commands are those of The TeXbook, chapters 16
// to 18, and of the amsmath user's guide.
package tex

import (
	"fmt"
	"strings"
	"unicode/utf8"
)

// Limits on one formula.
const (
	// MaxBytes is the length of one formula; a page of derivation in one
	// aligned block is about 3,000.
	MaxBytes = 20_000
	// MaxDepth is how deep groups, fractions and brackets may lie in each
	// other; readable formulas stay under 10.
	MaxDepth = 60
)

// A SyntaxError tells where in a formula something cannot be read.
type SyntaxError struct {
	Text   string // the formula
	At     int    // byte offset in Text
	Reason string
	Remedy string
}

// Error returns the reason, the place and the remedy in one line.
func (e *SyntaxError) Error() string {
	s := fmt.Sprintf("column %d of the formula: %s", 1+utf8.RuneCountInString(e.Text[:min(e.At, len(e.Text))]), e.Reason)
	if e.Remedy != "" {
		s += ": " + e.Remedy
	}
	return s
}

// Errors are all the mistakes of one formula, in order of place.
type Errors []*SyntaxError

// Error returns the mistakes, one a line.
func (e Errors) Error() string {
	lines := make([]string, len(e))
	for i := range e {
		lines[i] = e[i].Error()
	}
	return strings.Join(lines, "\n")
}

// MathML returns a formula, written in TeX without dollar signs, as a complete
// math element, on its own line with display, else inside a line of text. If
// the error is not nil it is an [Errors], and the element is empty.
func MathML(formula string, display bool) (string, error) {
	if len(formula) > MaxBytes {
		return "", Errors{{formula, MaxBytes, fmt.Sprintf("longer than %d bytes", MaxBytes), "split the formula"}}
	}
	if !utf8.ValidString(formula) {
		return "", Errors{{formula, 0, "this is not UTF-8 text", ""}}
	}
	p := &parser{src: formula, display: display}
	body := p.row(nil)
	for p.pos < len(p.src) && len(p.errs) < 20 {
		p.stray()
		body = append(body, p.row(nil)...)
	}
	if len(p.errs) > 0 {
		return "", p.errs
	}
	var b strings.Builder
	b.WriteString(`<math xmlns="http://www.w3.org/1998/Math/MathML"`)
	if display {
		b.WriteString(` display="block"`)
	}
	b.WriteString(` alttext="` + escape(strings.TrimSpace(formula)) + `">`)
	b.WriteString(join(body))
	b.WriteString("</math>")
	return b.String(), nil
}

// escape makes text safe between tags and between quotation marks, and
// replaces what XML does not allow at all.
func escape(s string) string {
	return escaper.Replace(strings.Map(func(r rune) rune {
		switch {
		case r == '\n' || r == '\r' || r == '\t':
			return ' '
		case r < ' ' || r == 0xFFFE || r == 0xFFFF:
			return utf8.RuneError
		}
		return r
	}, s))
}

var escaper = strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;", `"`, "&quot;")
