package question

import (
	"regexp"
	"strings"
	"testing"
)

var (
	bracketedFunction = regexp.MustCompile(`\b(sin|cos|tan|ln|atan)\(([^()+\-]*)\)`)
	bracketedRoot     = regexp.MustCompile(`sqrt\(([^()+\-]*)\)`)
	bracketedBelow    = regexp.MustCompile(`/\(([^()+\-]*)\)([^^]|$)`)
)

// loose writes a key as people do who leave brackets or signs out.
func loose(key string) map[string]string {
	spaced := func(s string) string { return strings.ReplaceAll(s, "*", " ") }
	bare := func(s string) string { return strings.ReplaceAll(s, "*", "") }
	functions := bracketedFunction.ReplaceAllString(key, "$1 $2")
	below := bracketedBelow.ReplaceAllString(key, "/$1$2")
	return map[string]string{
		"functions": functions, "functions, spaces": spaced(functions),
		"denominators": below, "denominators, spaces": spaced(below), "denominators, together": bare(below),
		"roots": bracketedRoot.ReplaceAllString(key, "√$1"), "roots, spaces": spaced(bracketedRoot.ReplaceAllString(key, "√$1")),
		"roots, words": bracketedRoot.ReplaceAllString(key, "sqrt $1"), "roots, together": bare(bracketedRoot.ReplaceAllString(key, "√$1")),
	}
}

// An answer is never wrong while another customary reading of it is right: the
// keys of the published slips, with brackets and signs left out, are right or
// come back with a question. And = before an answer, or the unit behind it, is
// no mistake of mechanics.
func TestLooselyWrittenKeysAreNotWrong(t *testing.T) {
	for _, e := range slipEntries(t) {
		a := mustCompile(t, e.question(), nil)
		for how, text := range loose(e.Correct) {
			v := a.Check(text)
			if v.Outcome != Right && !(v.Outcome == Unreadable && v.Slip == "ambiguous") {
				t.Errorf("%s, %s: %q gets %v, %q: %s", e.ID, how, text, v.Outcome, v.Slip, v.Say)
			}
		}
		if v := a.Check("= " + e.Correct); v.Outcome != Right {
			t.Errorf("%s: = %s gets %v: %s", e.ID, e.Correct, v.Outcome, v.Say)
		}
		if e.Unit != "1" && !strings.Contains(e.Unit, "/") {
			if v := a.Check("(" + e.Correct + ") " + e.Unit); v.Outcome != Unreadable {
				t.Errorf("%s: with its unit %s it gets %v: %s", e.ID, e.Unit, v.Outcome, v.Say)
			}
		}
	}
}

func TestUnitBehindAFormula(t *testing.T) {
	a := mustCompile(t, Question{Kind: "expression", Key: "(m a + M b)/(m + M)", Symbols: map[string]Symbol{"m": {Unit: "kg"}, "M": {Unit: "kg"}, "a": {Unit: "m"}, "b": {Unit: "m"}}}, nil)
	checkTold(t, a, []told{
		{"(m a + M b)/(m + M) m", Unreadable, "unit", "leave the unit out"},
		{"(m a + M b)/(m + M) cm", Unreadable, "", "not a symbol"},
		{"(m a + M b)/M m", Wrong, "dimension", "unit"},
	})
	b := mustCompile(t, Question{Kind: "expression", Key: "sqrt(k/m)/(2 pi)", Symbols: map[string]Symbol{"k": {Unit: "N/m"}, "m": {Unit: "kg"}}}, nil)
	checkTold(t, b, []told{
		{"sqrt(k/m)/2*pi", Unreadable, "ambiguous", "two ways"}, {"√k/m/2π", Unreadable, "ambiguous", "two ways"}, {"1/2*pi*sqrt(k/m)", Unreadable, "ambiguous", "two ways"},
		{"1/2/pi*sqrt(k/m)", Right, "", ""}, {"sqrt(k/m)*2*pi", Wrong, "factor 2π", ""},
	})
}
