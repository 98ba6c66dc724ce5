package parse_test

import (
	"strings"
	"testing"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/expr/parse"
	"counterpoise/mechanics/expr/typeset"
)

// What was read, written by typeset as text or as TeX, reads back as the same
// expression.
func FuzzReadings(f *testing.F) {
	for _, text := range []string{
		"1/2m", "mgd sin θ", `\frac12 m l^2\dot\theta^2`, "T = 2π√(l/g)", "sin² θ/2", "d/dt(m l² θ')", "a ± b", "x^1/2",
		`\frac{\partial}{\partial q}\left(q^2\right)`, "|a-b|", "atan2(a, b)", "1.5×10⁻³", "e^{-ct}", "log_{10} x", "2^x 3^y",
		"max(a,b)*min(a,b)", "ifless(a,b,0,1)", "m_{12}'", `\sqrt[3]{x}`, "30°", "a<b≤c", "9^9^9^9", "((((", "1,5", "heron.cg.y", "(θ')²", "Δx", "A.A_", "ΔaA", "727^21", "0^A0000A00/2", `\frac11AAee`, "cos (a-b)t/2", "thetadot Ic", "ΔAA\"", "V(φ) = φ^2", "Σ m_i x_i^2", "d0(10/dθ)", "d0(1/dδ)", "A.A_hA._h",
		"m_{1EEEEEE2}", "d^l² θ/d'd(mT^ l² θ')", "23^2Nz^x3", "6^1666x^1/66x^1662", `ω^2_0`, "x^x_1", "ΔΔΔxΔ", "cot0", "1e1111", ".444^447", "9W^9W^999999", "9^W^9W^999999", "(θN')''''''", "sinΠnΠe", "a^aa^aa^aa", "έ'",
		"a0666666666666666666666666666666666666666666666666666666666666666666666666", `\text{aλ}`, `\dot{\mathrm{sin}}_{1}`,
	} {
		f.Add(text)
	}
	options := []parse.Options{
		{},
		{Symbols: strings.Fields("m g d l x y a b c t k m_1 I_cm"), Time: []string{"θ", "q"}},
		{Symbols: strings.Fields("m g e"), Time: []string{"θ"}, Open: true},
	}
	f.Fuzz(func(t *testing.T, text string) {
		for _, o := range options {
			readings, err := parse.Readings(text, o)
			if err != nil {
				continue
			}
			if len(readings) == 0 || len(readings) > parse.MaxReadings {
				t.Fatalf("%q has %d readings", text, len(readings))
			}
			for _, s := range readings {
				for _, e := range s.Sides {
					readsBack(t, text, e)
				}
			}
		}
	})
}

func readsBack(t *testing.T, text string, e expr.Expr) {
	t.Helper()
	if e.Size() > 3000 {
		return // writing a tree of shared parts out takes long
	}
	for _, written := range []string{typeset.Text(e), typeset.TeX(e)} {
		if len(written) > parse.MaxBytes || e.Size() > 500 || strings.Contains(written, "cases") {
			return // what was read may be longer in full; cases in TeX are not read
		}
		var time []string
		for _, name := range e.Symbols() {
			if base := strings.TrimRight(name, "'"); base != name {
				time = append(time, base)
			}
		}
		again, err := parse.Parse(written, parse.Options{Symbols: e.Symbols(), Time: time})
		if err != nil && strings.Contains(err.Error(), "too many digits") {
			return // a decimal at the limit has more digits as a fraction
		}
		if err != nil || !again.Equal(e) {
			t.Fatalf("%q reads as %v, is written %q and reads back as %v (%v)", text, e, written, again, err)
		}
	}
}
