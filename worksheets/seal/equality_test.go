package seal_test

import (
	"encoding/json"
	"fmt"
	"testing"

	"pgregory.net/rapid"

	"counterpoise/testdata"
	"counterpoise/worksheets/question"
)

// testdata/published/equality-table: 463 pairs, constructed, truth checked with
// mpmath. Sealed and open checks say the same of each.
func TestSealedDecidesTheEqualityTable(t *testing.T) {
	var list []struct {
		ID, A, B string
		Equal    bool
		Ranges   map[string][2]float64
	}
	if err := json.Unmarshal(testdata.Read(t, "equality-table", "pairs.json"), &list); err != nil {
		t.Fatal(err)
	}
	for i, p := range list {
		symbols := map[string]question.Symbol{}
		for name, r := range p.Ranges {
			symbols[name] = question.Symbol{Unit: "1", From: r[0], To: r[1]}
		}
		key, answer := p.A, p.B
		if i%2 > 0 {
			key, answer = answer, key
		}
		v := makePair(t, question.Question{Name: p.ID, Kind: "expression", Key: key, Symbols: symbols}, nil).same(t, answer)
		if want := map[bool]question.Outcome{true: question.Right, false: question.Wrong}[p.Equal]; v.Outcome != want {
			t.Errorf("%s: %s for %s gets %v, want %v: %s", p.ID, answer, key, v.Outcome, want, v.Say)
		}
	}
}

// Right answers whose values lose most of their figures in float64 are right
// in the sealed copy as well, and near ones wrong.
func TestSealedKeepsFigures(t *testing.T) {
	small := question.Symbol{Unit: "1", From: 1e-6, To: 1e-5}
	large := question.Symbol{Unit: "m", From: 1e3, To: 1e4}
	short := question.Symbol{Unit: "m", From: 1e-4, To: 1e-3}
	for _, tt := range []struct {
		key     string
		symbols map[string]question.Symbol
		right   []string
		wrong   []string
	}{
		{"1 - cos(q)", map[string]question.Symbol{"q": small}, []string{"2 sin(q/2)^2", "sin(q)^2/(1 + cos(q))", "sin(q) tan(q/2)"}, []string{"q^2/2", "sin(q)^2/2", "2 sin(q)^2", "1 - sin(q)"}},
		{"2 sin(q/2)^2", map[string]question.Symbol{"q": small}, []string{"1 - cos(q)", "(1 - cos(q)^2)/(1 + cos(q))", "-(cos(q) - 1)"}, []string{"q^2/2", "cos(q) - 1", "1 + cos(q)"}},
		{"sqrt(a^2 + b^2) - a", map[string]question.Symbol{"a": large, "b": short}, []string{"b^2/(sqrt(a^2 + b^2) + a)", "a (sqrt(1 + (b/a)^2) - 1)"}, []string{"b^2/(2 a)", "a - sqrt(a^2 + b^2)", "sqrt(a^2 + b^2)"}},
		{"tan(q) - sin(q)", map[string]question.Symbol{"q": small}, []string{"tan(q) (1 - cos(q))", "2 tan(q) sin(q/2)^2"}, []string{"q^3/2", "sin(q) - tan(q)"}},
		{"exp(q) - 1", map[string]question.Symbol{"q": small}, []string{"2 exp(q/2) sinh(q/2)", "(exp(2q) - 1)/(exp(q) + 1)"}, []string{"q", "q + q^2/2", "1 - exp(q)"}},
		{"a - a^2/(a + b)", map[string]question.Symbol{"a": large, "b": short}, []string{"a b/(a + b)", "1/(1/a + 1/b)"}, []string{"b", "a + b"}},
	} {
		for _, kind := range []string{"expression", "equation"} {
			key, before := tt.key, ""
			symbols := map[string]question.Symbol{"Y": {From: 1e-16, To: 1e-6}}
			for name, s := range tt.symbols {
				symbols[name] = s
			}
			if kind == "equation" {
				before = "Y = "
			}
			p := makePair(t, question.Question{Name: kind + " " + key, Kind: kind, Key: before + key, Symbols: symbols}, nil)
			for _, answer := range append(tt.right, key) {
				if v := p.same(t, before+answer); v.Outcome != question.Right {
					t.Errorf("%s for %s %s gets %v: %s", answer, kind, key, v.Outcome, v.Say)
				}
			}
			for _, answer := range tt.wrong {
				if v := p.same(t, before+answer); v.Outcome != question.Wrong {
					t.Errorf("%s for %s %s gets %v: %s", answer, kind, key, v.Outcome, v.Say)
				}
			}
		}
		// Where the letter asked for stands in a square or under a root.
		p := makePair(t, question.Question{Name: "square of " + tt.key, Kind: "equation", Key: "Y = " + tt.key, Symbols: func() map[string]question.Symbol {
			out := map[string]question.Symbol{"Y": {From: 1e-16, To: 1e-6}}
			for name, s := range tt.symbols {
				out[name] = s
			}
			return out
		}()}, nil)
		for _, answer := range tt.right {
			p.same(t, fmt.Sprintf("Y^2 = (%s)^2", answer))
			p.same(t, fmt.Sprintf("sqrt(Y) = sqrt(%s)", answer))
		}
	}
}

// Differences of nearly equal letters, rewritten: sealed and open come to the
// same. (Which slip is told may differ where the slip's own values have lost
// their figures.)
func TestSealedSaysTheSameWhereFiguresAreLost(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		centre := rapid.Float64Range(0.5, 5).Draw(rt, "centre")
		width := rapid.SampledFrom([]float64{1e-3, 1e-5, 1e-7, 1e-9}).Draw(rt, "width")
		symbols := map[string]question.Symbol{"c": {Unit: "1", From: 0.5, To: 2}}
		symbols["a"] = question.Symbol{Unit: "1", From: centre, To: centre * (1 + width)}
		symbols["b"] = question.Symbol{Unit: "1", From: centre * (1 + 2*width), To: centre * (1 + 3*width)}
		forms := []string{"c (b^2 - a^2)", "c (b - a)(b + a)", "c b^2 - c a^2", "c (b - a)^2 + 2 c a (b - a)"}
		wrong := []string{"c (b^2 - a^2)/2", "c (a^2 - b^2)", "2 c a (b - a)", "c (b - a)^2", "c (b^2 + a^2)", "b^2 - a^2"}
		p := makePair(t, question.Question{Name: "difference", Kind: "expression", Key: rapid.SampledFrom(forms).Draw(rt, "key"), Symbols: symbols}, nil)
		check := func(answer string, want question.Outcome) {
			if open, sealed := p.open.Check(answer).Outcome, p.sealed.Check(answer).Outcome; open != want || sealed != want {
				rt.Fatalf("%s gets %v, sealed %v, want %v", answer, open, sealed, want)
			}
		}
		for _, f := range forms {
			check(f, question.Right)
		}
		for _, f := range wrong {
			check(f, question.Wrong)
		}
	})
}
