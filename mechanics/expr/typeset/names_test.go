package typeset_test

import (
	"strings"
	"testing"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/expr/parse"
	"counterpoise/mechanics/expr/typeset"

	"pgregory.net/rapid"
)

// A symbol with any name that CheckName accepts is written so that it reads
// back, alone and beside, over, under and above others.
func TestNamesReadBack(t *testing.T) {
	piece := rapid.SampledFrom([]string{"x", "m", "d", "dt", "e", "E", "sin", "max", "log", "theta", `\theta`, "θ", "ϑ", "1", "12", "2E3", "_", "_", "{1a}", "'", "′",
		"₁", "ₐ", "cm", "ℓ", "pi", "phi", "Δ", "δ", "Σ", "ħ", ".", ".y", "π", "A", "i", "dot", "g"})
	rapid.Check(t, func(t *rapid.T) {
		var symbols []expr.Expr
		for len(symbols) < 3 {
			name := strings.Join(rapid.SliceOfN(piece, 1, 5).Draw(t, "pieces"), "")
			if expr.CheckName(name) != nil {
				name = "x" + string(rune('a'+len(symbols)))
			}
			if s := expr.Sym(name); strings.Count(s.Name(), "'") <= parse.MaxOrder && s.Kind() == expr.KindSymbol && s.Name() != "t" {
				symbols = append(symbols, s)
			}
		}
		a, b, c := symbols[0], symbols[1], symbols[2]
		two := expr.Int(2)
		for _, e := range []expr.Expr{
			a, a.Times(b), a.Over(b), c.Times(a).Over(b), a.Power(b), expr.Sin(a), expr.Sin(a).Power(two), a.Power(two).Over(b.Power(two)),
			expr.Exp(a).Times(b), a.Times(b.Plus(c)), a.Plus(b.Over(c)), expr.Abs(a.Minus(b)), expr.Sqrt(a.Over(b)), two.Times(a), a.Over(two.Times(b)),
		} {
			readsBack(t, e)
		}
	})
}

func readsBack(t rapid.TB, e expr.Expr) {
	t.Helper()
	var time []string
	for _, name := range e.Symbols() {
		if base := strings.TrimRight(name, "'"); base != name {
			time = append(time, base)
		}
	}
	for _, written := range []string{typeset.Text(e), typeset.TeX(e)} {
		again, err := parse.Parse(written, parse.Options{Symbols: e.Symbols(), Time: time})
		if err != nil || !again.Equal(e) {
			t.Fatalf("%v is written %q, which reads back as %v (%v)", e, written, again, err)
		}
	}
}
