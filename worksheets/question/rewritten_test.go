package question

import (
	"regexp"
	"strings"
	"testing"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/expr/parse"
	"counterpoise/mechanics/expr/typeset"
)

var (
	squares = strings.NewReplacer("^2", "²", "^3", "³", "^4", "⁴", "*", "·", "pi", "π", "rho", "ρ", "_1", "₁", "_2", "₂", "_0", "₀")
	roots   = regexp.MustCompile(`\bsqrt\(`)
)

// rewritings write a formula in other ways that mean the same.
func rewritings(text string, e expr.Expr) map[string]string {
	x := e.Symbols()[0]
	return map[string]string{
		"implied products":    strings.ReplaceAll(text, "*", " "),
		"Unicode":             roots.ReplaceAllString(squares.Replace(text), "√("),
		"TeX":                 typeset.TeX(e),
		"TeX in dollars":      "$" + typeset.TeX(e) + "$",
		"as printed":          typeset.Text(e),
		"expanded":            typeset.Text(e.Expand()),
		"expanded TeX":        typeset.TeX(e.Expand()),
		"simplified":          typeset.Text(e.Simplify()),
		"collected":           typeset.Text(e.Collect(x)),
		"** for powers":       strings.ReplaceAll(text, "^", "**"),
		"with a name":         "Q = " + text,
		"fraction enlarged":   "((" + text + ")*(1 + " + x + "^2))/(" + x + "^2 + 1)",
		"a term on both ends": x + "^3 + (" + text + ") - " + x + "^3",
		"inverse of inverse":  "1/(1/(" + text + "))",
		"root of the square":  "(sqrt(" + text + "))^2",
		"minus of minus":      "-(-(" + text + "))",
		"decimal":             "0.5*(" + text + ")/0.5",
		"square brackets":     "[" + text + "]",
		"first power":         "(" + text + ")^1",
	}
}

// Every published key is right in all its rewritten forms.
func TestRewrittenFormsAreRight(t *testing.T) {
	for _, e := range slipEntries(t) {
		a := mustCompile(t, e.question(), nil)
		var names []string
		for _, s := range e.Symbols {
			names = append(names, s.Name)
		}
		tree, err := parse.Parse(e.Correct, parse.Options{Symbols: names})
		if err != nil {
			t.Fatal(err)
		}
		slipped := a.Check(e.Slipped)
		for how, text := range rewritings(e.Correct, tree) {
			v := a.Check(text)
			if v.Outcome != Right {
				t.Errorf("%s, %s: %q gets %v: %s", e.ID, how, text, v.Outcome, v.Say)
			}
			// A slip stays a wrong answer, and the same slip, in any form.
			if w := a.Check(strings.ReplaceAll(text, e.Correct, e.Slipped)); text != e.Correct && strings.Contains(text, e.Correct) && (w.Outcome != Wrong || w.Slip != slipped.Slip) {
				t.Errorf("%s, %s: the slip gets %v, %q and not %q", e.ID, how, w.Outcome, w.Slip, slipped.Slip)
			}
			// What was read reads back as the same.
			if again := a.Check(v.TeX); v.Outcome == Right && again.Outcome != Right {
				t.Errorf("%s, %s: the reading %q gets %v: %s", e.ID, how, v.TeX, again.Outcome, again.Say)
			}
		}
	}
}
