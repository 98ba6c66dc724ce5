package question

import (
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/expr/typeset"
)

// formulas draws a formula of the letters a, b, c that has positive values
// where they do.
func formulas() *rapid.Generator[expr.Expr] {
	var formula func(depth int) *rapid.Generator[expr.Expr]
	formula = func(depth int) *rapid.Generator[expr.Expr] {
		leaf := rapid.Custom(func(t *rapid.T) expr.Expr {
			if rapid.IntRange(0, 4).Draw(t, "leaf") == 0 {
				return expr.Rat(int64(rapid.IntRange(1, 12).Draw(t, "p")), int64(rapid.IntRange(1, 5).Draw(t, "q")))
			}
			return expr.Sym(rapid.SampledFrom([]string{"a", "b", "c"}).Draw(t, "letter"))
		})
		if depth == 0 {
			return leaf
		}
		return rapid.Custom(func(t *rapid.T) expr.Expr {
			part := func() expr.Expr { return formula(depth-1).Draw(t, "part") }
			switch rapid.IntRange(0, 6).Draw(t, "how") {
			case 0:
				return part().Plus(part())
			case 1:
				return part().Times(part())
			case 2:
				return part().Over(part())
			case 3:
				return expr.Sqrt(part())
			case 4:
				return part().Power(expr.Int(2))
			case 5:
				return expr.Cos(expr.Sym("a")).Plus(expr.Int(2)).Times(part())
			}
			return leaf.Draw(t, "leaf")
		})
	}
	return formula(3)
}

// Whatever the key and the answer, the answer gets a verdict with its reading,
// the key itself is right, and what is said of a wrong answer holds neither the
// key nor its value.
func TestFeedbackNeverHoldsTheKey(t *testing.T) {
	symbols := map[string]Symbol{"a": {Unit: "1", From: 0.2, To: 1.2}, "b": {Unit: "1", From: 1, To: 3}, "c": {Unit: "1", From: 0.5, To: 2, Means: "a count"}}
	rapid.Check(t, func(t *rapid.T) {
		key, other := formulas().Draw(t, "key"), formulas().Draw(t, "answer")
		text := typeset.Text(key)
		a, err := Compile(Question{Kind: "expression", Key: text, Symbols: symbols}, nil)
		if err != nil {
			t.Fatalf("%s: %v", text, err)
		}
		if v := a.Check(text); v.Outcome != Right {
			t.Fatalf("key %s gets %v: %s", text, v.Outcome, v.Say)
		}
		for _, answer := range []expr.Expr{other, key.Times(expr.Int(2)), expr.Neg(key), expr.Div(expr.Int(1), key), key.Subs(map[string]expr.Expr{"a": expr.Sym("b")}), key.Subs(map[string]expr.Expr{"c": expr.Int(0)})} {
			v := a.Check(typeset.Text(answer))
			if v.Outcome != Wrong {
				continue
			}
			if v.Say == "" || v.TeX == "" {
				t.Fatalf("nothing is said of %s", typeset.Text(answer))
			}
			bare := strings.ReplaceAll(v.Say, " ", "")
			if k := strings.ReplaceAll(text, " ", ""); len([]rune(k)) > 3 && strings.Contains(bare, k) {
				t.Fatalf("key %s is in %q", text, v.Say)
			}
			if _, value, ok := key.Number(); ok && strings.Contains(v.Say, fmt.Sprint(value)) {
				t.Fatalf("key %v is in %q", value, v.Say)
			}
		}
	})
}

// A number is right inside the tolerance and wrong outside, in whatever unit.
func TestToleranceIsWhatItSays(t *testing.T) {
	units := []struct {
		name  string
		scale float64
	}{{"m", 1}, {"mm", 1e-3}, {"cm", 1e-2}, {"km", 1e3}}
	rapid.Check(t, func(t *rapid.T) {
		key := rapid.Float64Range(0.001, 1000).Draw(t, "key")
		percent := rapid.Float64Range(0.1, 10).Draw(t, "percent")
		off := rapid.Float64Range(-0.3, 0.3).Draw(t, "off")
		u := rapid.SampledFrom(units).Draw(t, "unit")
		a, err := Compile(Question{Kind: "number", Key: fmt.Sprintf("%.17g m", key), Within: fmt.Sprintf("%.17g %%", percent)}, nil)
		if err != nil {
			t.Fatal(err)
		}
		if d := math.Abs(off) - percent/100; math.Abs(d) < 1e-9 {
			return // on the border
		}
		v := a.Check(fmt.Sprintf("%.15g %s", key*(1+off)/u.scale, u.name))
		if want := math.Abs(off) < percent/100; (v.Outcome == Right) != want {
			t.Fatalf("%g m within %g %%: %g off gets %v", key, percent, off, v.Outcome)
		}
	})
}

// hostile are answers that somebody may send to do harm.
func hostile() map[string]string {
	var many strings.Builder
	for i := range 10_000 {
		fmt.Fprintf(&many, "x_%d+", i)
	}
	return map[string]string{
		"brackets":      strings.Repeat("(", 50_000),
		"nested":        strings.Repeat("(", 5_000) + "m" + strings.Repeat(")", 5_000),
		"tower":         "9^9^9^9^9",
		"tower of m":    "m^m^m^m^m^m^m^m^m^m^m^m^m",
		"large power":   "(m + g + h)^999999999",
		"expand":        strings.Repeat("(m+g)*", 400) + "h",
		"symbols":       many.String() + "1",
		"TeX":           strings.Repeat(`\frac{m}{`, 100_000),
		"megabyte":      strings.Repeat(`\sqrt{m g h} + `, 70_000) + "1",
		"digits":        strings.Repeat("9", 90_000),
		"exponent":      "1e999999999",
		"minus signs":   strings.Repeat("-", 9_000) + "m",
		"factorial":     strings.Repeat("sin ", 3_000) + "m",
		"divide":        "m" + strings.Repeat("/0", 2_000),
		"zero bytes":    "m\x00g\x00h",
		"not UTF-8":     "m\xff\xfe g",
		"right to left": "\u202em g h\u202c",
		"letters":       strings.Repeat("mgh", 1_500),
		"relations":     strings.Repeat("m=", 3_000) + "m",
		"plus minus":    strings.Repeat("±m", 1_000),
		"lines":         strings.Repeat("m = m\n", 15_000),
		"commas":        strings.Repeat("m,", 40_000),
		"primes":        "m" + strings.Repeat("'", 5_000),
		"roots":         strings.Repeat("√", 8_000) + "m",
		"abs":           strings.Repeat("|", 5_001) + "m",
	}
}

// Hostile answers are refused clearly and soon, by every kind of question. The
// bound is far above what they take here, so that a busy machine passes.
func TestHostileAnswersAreRefusedSoon(t *testing.T) {
	mgh := map[string]Symbol{"m": {Unit: "kg"}, "g": {Unit: "m/s^2"}, "h": {Unit: "m"}}
	for _, q := range []Question{
		{Kind: "expression", Key: "m g h", Symbols: mgh},
		{Kind: "equation", Key: "m g h = 1", Symbols: map[string]Symbol{"m": {}, "g": {}, "h": {}}},
		{Kind: "number", Key: "2 kg"},
		{Kind: "vector", Key: "(m, g)", Symbols: mgh},
		{Kind: "matrix", Key: "((m, g), (h, h))", Symbols: mgh},
		{Kind: "choice", Options: []Option{{Text: "stable", Right: true}, {Text: "unstable"}}},
		{Kind: "derivation", Given: []string{"m = g h"}, Target: "h = m/g", Symbols: mgh},
		{Kind: "prose"},
	} {
		a := mustCompile(t, q, nil)
		for name, answer := range hostile() {
			start := time.Now()
			v := a.Check(answer)
			if v.Outcome == Right {
				t.Errorf("%s: %s is right", q.Kind, name)
			}
			if v.Say == "" {
				t.Errorf("%s: nothing is said of %s", q.Kind, name)
			}
			if took := time.Since(start); took > 10*time.Second {
				t.Errorf("%s: %s took %v", q.Kind, name, took)
			} else if testing.Verbose() && took > 20*time.Millisecond {
				t.Logf("%s: %s took %v, %v: %.80s", q.Kind, name, took, v.Outcome, v.Say)
			}
		}
	}
}

func FuzzCheck(f *testing.F) {
	mgh := map[string]Symbol{"m": {Unit: "kg"}, "g": {Unit: "m/s^2"}, "h": {Unit: "m"}, "θ": {Unit: "1"}}
	var asked []*Asked
	for _, q := range []Question{
		{Kind: "expression", Key: "m g h cos(θ)", Symbols: mgh, Time: []string{"θ"}},
		{Kind: "equation", Key: "m h^2 θ'' = -m g h sin(θ)", Symbols: mgh, Time: []string{"θ"}},
		{Kind: "number", Key: "2.5 kg", Figures: Figures{2, 3}},
		{Kind: "number", Key: "0.3 rad", Unit: "°", Uncertainty: "asked"},
		{Kind: "vector", Key: "(m, g)", Symbols: mgh, Frame: []string{"x", "y"}},
		{Kind: "matrix", Key: "((m, g), (h, h))", Symbols: mgh},
		{Kind: "choice", Many: true, Options: []Option{{Text: "m", Right: true}, {Text: "two words", Right: true}, {Text: "g"}}},
		{Kind: "derivation", Given: []string{"m = g h"}, Target: "h = m/g", Symbols: mgh},
	} {
		asked = append(asked, mustCompile(f, q, nil))
	}
	for _, answer := range []string{"m g h cos θ", "mh²θ'' + mgh sin θ = 0", "2.5 kg", "17.2° ± 0.3°", "(m, g)", "((m,g),(h,h))", "a and b", "h = m/g\n", `\frac{m}{2} \ddot\theta`, "1/2m", "x = m, y = g", "m e_x + g e_y", "2,5 kg", "[[m, g], [h, h]]"} {
		f.Add(answer)
	}
	f.Fuzz(func(t *testing.T, answer string) {
		for _, a := range asked {
			v := a.Check(answer)
			if v.Outcome == Right && v.Marks != v.Of || v.Outcome != Right && v.Outcome != Wrong && v.Outcome != ForHuman && v.Outcome != Unreadable {
				t.Fatalf("%s: %q gets %+v", a.Question.Kind, answer, v)
			}
			if v.Say == "" {
				t.Fatalf("%s: nothing is said of %q", a.Question.Kind, answer)
			}
			if again := a.Check(answer); again.Outcome != v.Outcome || again.Slip != v.Slip || again.Say != v.Say {
				t.Fatalf("%s: %q gets %+v and then %+v", a.Question.Kind, answer, v, again)
			}
			if _, err := json.Marshal(v); err != nil {
				t.Fatal(err)
			}
		}
	})
}

func FuzzQuestion(f *testing.F) {
	f.Add([]byte(`{"name":"x","kind":"number","key":"2 pi sqrt(l/g)","params":{"l":"310 mm"},"figures":"2..4"}`))
	f.Add([]byte(`{"kind":"matrix","key":[["a",1],[2,"b"]],"symbols":{"a":"kg","b":{"unit":"kg","from":1,"to":2}}}`))
	f.Add([]byte(`{"kind":"choice","options":["a",{"text":"b","right":true}],"slips":[{"gives":"a","say":"no"}]}`))
	f.Add([]byte(`{"kind":"derivation","given":["a = b"],"milestones":["b = a",{"line":"a = b","marks":2}],"time":"a"}`))
	f.Fuzz(func(t *testing.T, text []byte) {
		var q Question
		if err := json.Unmarshal(text, &q); err != nil {
			return
		}
		b, err := json.Marshal(q)
		if err != nil {
			t.Fatal(err)
		}
		var again Question
		if err := json.Unmarshal(b, &again); err != nil {
			t.Fatalf("%s does not read back: %v", b, err)
		}
		if a, err := Compile(q, nil); err == nil {
			a.Check(q.Key)
		}
	})
}

func BenchmarkCheck(b *testing.B) {
	for _, e := range slipEntries(b) {
		if e.ID != "compound-as-simple" {
			continue
		}
		a := mustCompile(b, e.question(), nil)
		for name, answer := range map[string]string{"right": e.Correct, "TeX": `2\pi\sqrt{\frac{I_c + m d^2}{m g d}}`, "slip": e.Slipped, "wrong": e.Correct + "+ d/7"} {
			b.Run(name, func(b *testing.B) {
				for b.Loop() {
					a.Check(answer)
				}
			})
		}
		b.Run("compile", func(b *testing.B) {
			q := e.question()
			for b.Loop() {
				mustCompile(b, q, nil).Check(e.Slipped)
			}
		})
	}
	n := mustCompile(b, Question{Kind: "number", Key: "2 pi sqrt(l/g)", Unit: "s"}, values("l", "310 mm"))
	b.Run("number", func(b *testing.B) {
		for b.Loop() {
			n.Check("1.12 s")
		}
	})
}
