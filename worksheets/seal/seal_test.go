package seal_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"counterpoise/mechanics/expr/parse"
	"counterpoise/mechanics/expr/typeset"
	"counterpoise/mechanics/quantity"
	"counterpoise/worksheets/question"
	"counterpoise/worksheets/seal"
)

// A pair is a question in the open and sealed.
type pair struct {
	open   *question.Asked
	sealed *seal.Sealed
	text   []byte
}

func makePair(t testing.TB, q question.Question, v question.Values) pair {
	t.Helper()
	return makeCostly(t, q, v, cheap)
}

// cheap makes guesses cost little, so that tests are quick.
const cheap = 64

func makeCostly(t testing.TB, q question.Question, v question.Values, memory uint32) pair {
	t.Helper()
	a, err := question.Compile(q, v)
	if err != nil {
		t.Fatal(err)
	}
	text, err := seal.Seal(a, seal.Options{Memory: memory})
	if err != nil {
		t.Fatalf("%s: %v", q.Name, err)
	}
	s, err := seal.Open(text)
	if err != nil {
		t.Fatalf("%s: %v", q.Name, err)
	}
	return pair{a, s, text}
}

var counterexample = regexp.MustCompile(`: with .* the right side [^ ]*`)

// same asks both for their verdict on an answer and wants them equal.
func (p pair) same(t testing.TB, answer string) question.Verdict {
	t.Helper()
	want, got := p.open.Check(answer), p.sealed.Check(answer)
	for _, v := range []*question.Verdict{&want, &got} { // which numbers show that a line fails is left to chance
		v.Say = counterexample.ReplaceAllString(v.Say, "")
		for i := range v.Lines {
			v.Lines[i].Say = counterexample.ReplaceAllString(v.Lines[i].Say, "")
		}
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("%s: %q sealed differs from open:\n%s", p.open.Question.Name, answer, diff)
	}
	return got
}

func values(pairs ...string) question.Values {
	v := question.Values{}
	for i := 0; i < len(pairs); i += 2 {
		v[pairs[i]] = quantity.MustParse(pairs[i+1])
	}
	return v
}

// An entry of testdata/published/student-slips.
type entry struct {
	ID, Asks, Unit, Correct, Slipped string
	Symbols                          []struct {
		Name, Meaning, Unit string
		Range               [2]float64
	}
}

func entries(t testing.TB) []entry {
	b, err := os.ReadFile("../../testdata/published/student-slips/slips.json")
	if err != nil {
		t.Fatal(err)
	}
	var es []entry
	if err := json.Unmarshal(b, &es); err != nil {
		t.Fatal(err)
	}
	return es
}

func (e entry) question() question.Question {
	q := question.Question{Name: e.ID, Kind: "expression", Ask: e.Asks, Unit: e.Unit, Key: e.Correct, Working: "As in the book.", Symbols: map[string]question.Symbol{}}
	for _, s := range e.Symbols {
		q.Symbols[s.Name] = question.Symbol{Unit: s.Unit, From: s.Range[0], To: s.Range[1], Means: s.Meaning}
	}
	return q
}

// forms writes the right answer in other ways.
func (e entry) forms(t testing.TB) []string {
	var names []string
	for _, s := range e.Symbols {
		names = append(names, s.Name)
	}
	x, err := parse.Parse(e.Correct, parse.Options{Symbols: names})
	if err != nil {
		t.Fatal(err)
	}
	first := x.Symbols()[0]
	return []string{
		typeset.TeX(x), typeset.Text(x.Expand()), typeset.TeX(x.Simplify()), "Q = " + typeset.Text(x.Collect(first)),
		"((" + e.Correct + ")*(1 + " + first + "^2))/(" + first + "^2 + 1)", first + "^3 + (" + e.Correct + ") - " + first + "^3",
	}
}

// Sealed and open checks give the same verdict on every published slip, the
// slip's name and words included.
func TestSealedSaysTheSameOfPublishedSlips(t *testing.T) {
	longest := 0
	for _, e := range entries(t) {
		p := makePair(t, e.question(), nil)
		longest = max(longest, len(p.text))
		if v := p.same(t, e.Correct); v.Outcome != question.Right {
			t.Errorf("%s: the key gets %v", e.ID, v.Outcome)
		}
		if v := p.same(t, e.Slipped); v.Outcome != question.Wrong || v.Slip == "" {
			t.Errorf("%s: the slip gets %v, %q", e.ID, v.Outcome, v.Slip)
		}
		for _, form := range e.forms(t) {
			if v := p.same(t, form); v.Outcome != question.Right {
				t.Errorf("%s: %s gets %v: %s", e.ID, form, v.Outcome, v.Say)
			}
		}
		p.same(t, "2("+e.Slipped+")")
		p.same(t, "-("+e.Correct+")")
		p.same(t, "("+e.Correct+")/7")
		if bytes.Contains(p.text, []byte(e.Correct)) || bytes.Contains(p.text, []byte("As in the book")) {
			t.Errorf("%s: the key or the working stands in clear", e.ID)
		}
	}
	const limit = 30_000 // bytes: thirty questions stay below a megabyte
	if longest > limit {
		t.Errorf("the longest sealed question has %d bytes, more than %d", longest, limit)
	}
}

func TestSealedNumber(t *testing.T) {
	q := question.Question{Name: "period", Kind: "number", Key: "2 pi sqrt(l/g)", Unit: "s", Figures: question.Figures{Least: 2, Most: 4},
		Slips: []question.Slip{{Gives: "2 pi sqrt(2 l/g)", Say: "Measure to the middle.", Name: "middle"}}}
	p := makePair(t, q, values("l", "310 mm"))
	for _, answer := range []string{
		"1.12 s", "1117 ms", "1.11690 s", "1.12", "1,12 s", "1.12 m", "0.178 s", "0.558 s", "-1.12 s", "0.895 s", "0.7 s", "1.58 s", "1.6 s",
		"1 s", "0 s", "0.83 s", "1.13922 s", "1.13926 s", "1.1394 s", "1.095 s", "1.0945 s", "1e300 s", "2π√(0.31/9.81) s", "1.1 ± 0.2 s", "1.15 ± 0.05 s", "",
	} {
		p.same(t, answer)
	}
	// Over the borders of the tolerance in small steps.
	for i := range 200 {
		p.same(t, fmt.Sprintf("%.6f s", 1.0945+float64(i)*0.000005))
		p.same(t, fmt.Sprintf("%.6f s", 1.1390+float64(i)*0.000005))
	}
}

func TestSealedKinds(t *testing.T) {
	for _, tt := range []struct {
		q       question.Question
		v       question.Values
		answers []string
	}{
		{question.Question{Kind: "number", Key: "a - b", Within: "0.5 mm"}, values("a", "3 mm", "b", "3 mm"), []string{"0 mm", "0.4 mm", "-0.5 mm", "0.50 mm", "0.51 mm", "0.6 mm", "6 mm"}},
		{question.Question{Kind: "number", Key: "-a", Unit: "mm"}, values("a", "3 mm"), []string{"-3.0 mm", "3.0 mm", "-6.0 mm", "-3.05 mm", "-3.07 mm", "0 mm"}},
		{question.Question{Kind: "number", Key: "atan(b/h)", Unit: "°"}, values("b", "30 mm", "h", "52 mm"), []string{"30°", "30", "0.523", "0.523 rad", "60°"}},
		{question.Question{Kind: "number", Key: "9.81 m/s^2", Uncertainty: "asked", Within: "1 %"}, nil, []string{"9.81 m/s^2", "9.84 ± 0.03 m/s^2", "9.95 ± 0.10 m/s^2", "9.95 ± 0.02 m/s^2", "12 ± 3 m/s^2", "10.2 ± 0.05 m/s^2"}},
		{question.Question{Kind: "number", Key: "sqrt(k/m)/(2 pi)", Unit: "Hz"}, values("k", "20 N/m", "m", "50 g"), []string{"3.18 Hz", "20.0 rad/s", "20.0 Hz", "191 rpm", "0.314 Hz"}},
		{question.Question{Kind: "choice", Options: []question.Option{{Text: "stable", Right: true}, {Text: "unstable", Say: "Tilt it."}, {Text: "neutral"}}}, nil, []string{"a", "b", "c", "stable", "d", "a, b"}},
		{question.Question{Kind: "choice", Many: true, Slips: []question.Slip{{Gives: "A C", Say: "No.", Name: "pin"}}, Options: []question.Option{{Text: "one", Right: true}, {Text: "two", Right: true}, {Text: "three"}, {Text: "four", Say: "Four?"}}}, nil,
			[]string{"a b", "ba", "a", "b", "c", "d", "a c", "a d", "a b c", "c d", "b c"}},
		{question.Question{Kind: "equation", Key: "(I + m l^2) θ'' + m g l sin(θ) = 0", Solve: "θ''", Time: []string{"θ"}, Symbols: map[string]question.Symbol{"m": {Unit: "kg"}, "g": {Unit: "m/s^2"}, "l": {Unit: "m"}, "I": {Unit: "kg m^2"}, "θ": {Unit: "1", From: -1.5, To: 1.5}},
			Slips: []question.Slip{{Gives: "m l^2 θ'' + m g l sin(θ) = 0", Say: "A bob without size.", Name: "bob"}}}, nil,
			[]string{"(I + ml²)θ'' = -mgl sin θ", `\ddot{\theta} = -\frac{m g l \sin\theta}{I + m l^2}`, "(I + ml²)θ'' = mgl sin θ", "I θ'' = -mgl sin θ", "θ'' = -g/l sin θ", "θ = 0", "m g l", "(I + ml²)θ' = -mgl sin θ", "(I + ml²)θ'' = -3mgl sin θ"}},
		{question.Question{Kind: "equation", Key: "T = 2 pi sqrt(l/g)", Symbols: map[string]question.Symbol{"T": {Unit: "s"}, "l": {Unit: "m"}, "g": {Unit: "m/s^2"}}}, nil,
			[]string{"T = 2π√(l/g)", "T^2 = 4 π^2 l/g", "g = 4π²l/T²", "1/T = sqrt(g/l)/(2π)", "ln T = ln(2π) + ln(l/g)/2", "T = 2π√(g/l)", "g = 2π l/T²"}},
		{question.Question{Kind: "vector", Key: "(a, -2 a)", Unit: "mm", Frame: []string{"x", "y"}, Slips: []question.Slip{{Gives: "(a, a)", Say: "Which way is down?", Name: "down"}}}, values("a", "30 mm"),
			[]string{"(30 mm, -60 mm)", "(30, -60) mm", "(30 mm, 60 mm)", "(-60 mm, 30 mm)", "(30 mm, 30 mm)", "(3 mm, -60 mm)", "(30, -60)"}},
		{question.Question{Kind: "matrix", Key: "((k_1 + k_2, -k_2), (-k_1, k_2))", Symbols: map[string]question.Symbol{"k_1": {Unit: "N/m"}, "k_2": {Unit: "N/m"}}}, nil,
			[]string{"((k1 + k2, -k2), (-k1, k2))", "((k1 + k2, -k1), (-k2, k2))", "((k1 + k2, k2), (-k1, k2))", "((k1, 0), (0, k2))"}},
		{question.Question{Kind: "expression", Key: "m g h/2", Symbols: map[string]question.Symbol{"m": {Unit: "kg"}, "g": {Unit: "m/s^2"}, "h": {Unit: "m"}},
			Slips: []question.Slip{{Gives: "m g h/3", Say: "A third is for a cone.", Name: "cone"}}}, nil,
			[]string{"mgh/2", "1/2mgh", "1/(2m)gh", "mgh/3", "mgh", "m h/2", "h g m 0.5", "W = mgh/2", "((((", "x", "mgh²/2"}},
		{question.Question{Kind: "prose"}, nil, []string{"It rights itself.", ""}},
	} {
		tt.q.Name, tt.q.Marks = tt.q.Kind+" "+tt.q.Key, 2
		p := makePair(t, tt.q, tt.v)
		for _, answer := range tt.answers {
			p.same(t, answer)
		}
	}
}

// What toys are computed to must not stand in clear: it may be the key itself.
func TestComputedValuesAreHidden(t *testing.T) {
	v := values("m", "18 g", "heron.cg.y", "-41.37 mm")
	p := makePair(t, question.Question{Name: "cg", Kind: "number", Key: "heron.cg.y", Unit: "mm"}, v)
	if strings.Contains(string(p.text), "heron") || strings.Contains(string(p.text), "4137") {
		t.Errorf("the toy's value stands in clear: %s", p.text)
	}
	p.same(t, "-41.4 mm")
	p.same(t, "41.4 mm")
}

func TestClosedQuestionHasNoBoxes(t *testing.T) {
	a, err := question.Compile(question.Question{Name: "c", Kind: "expression", Key: "m g", Open: "closed", Symbols: map[string]question.Symbol{"m": {Unit: "kg"}}}, nil)
	if err != nil {
		t.Fatal(err)
	}
	text, err := seal.Seal(a, seal.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if bytes.Contains(text, []byte("boxes")) {
		t.Errorf("boxes in a closed question: %s", text)
	}
	s, err := seal.Open(text)
	if err != nil {
		t.Fatal(err)
	}
	for answer, want := range map[string]question.Outcome{"m g": question.ForHuman, "2 m g": question.ForHuman, "m": question.Wrong, "((": question.Unreadable} {
		if v := s.Check(answer); v.Outcome != want {
			t.Errorf("%q gets %v (%s), want %v", answer, v.Outcome, v.Say, want)
		}
	}
}

// A box that was changed anywhere opens for nobody.
func TestTamperedBoxDoesNotOpen(t *testing.T) {
	p := makePair(t, question.Question{Name: "W", Kind: "expression", Key: "m g", Symbols: map[string]question.Symbol{"m": {Unit: "kg"}}}, nil)
	for _, change := range [][2]string{{`"name":"W"`, `"name":"V"`}, {`"from":9.7`, `"from":9.8`}, {`"version":1`, `"version":2`}, {`"memory":64`, `"memory":4294967295`}, {`"name":"argon2id"`, `"name":"md5"`}} {
		text := strings.Replace(string(p.text), change[0], change[1], 1)
		if text == string(p.text) {
			t.Fatalf("%s does not occur in %s", change[0], text)
		}
		s, err := seal.Open([]byte(text))
		if err == nil && s.Check("m g").Outcome == question.Right {
			t.Errorf("opened after %s became %s", change[0], change[1])
		}
	}
}

// Copies of one question for a class may share a salt and the work of sealing;
// each opens for its own numbers only, and no two have a box in common.
func TestClassSharesItsWork(t *testing.T) {
	salt, memo := []byte("one question's 16"[:16]), &seal.Memo{}
	texts := map[string]bool{}
	for _, l := range []string{"310 mm", "320 mm", "330 mm", "310 mm"} {
		a, err := question.Compile(question.Question{Name: "T", Kind: "number", Key: "2 pi sqrt(l/g)", Unit: "s", Within: "0.5 %"}, values("l", l))
		if err != nil {
			t.Fatal(err)
		}
		text, err := seal.Seal(a, seal.Options{Memory: cheap, Salt: salt, Memo: memo})
		if err != nil {
			t.Fatal(err)
		}
		s, err := seal.Open(text)
		if err != nil {
			t.Fatal(err)
		}
		p := pair{a, s, text}
		for _, answer := range []string{"1.117 s", "1.135 s", "1.152 s", "0.559 s"} {
			p.same(t, answer)
		}
		var b struct {
			Boxes struct{ Key, Keys, Slips string }
		}
		if err := json.Unmarshal(text, &b); err != nil {
			t.Fatal(err)
		}
		for _, part := range []string{b.Boxes.Key, b.Boxes.Keys, b.Boxes.Slips} {
			if texts[part] {
				t.Error("two copies have a box in common")
			}
			texts[part] = true
		}
	}
	a, err := question.Compile(question.Question{Name: "T", Kind: "number", Key: "1 s"}, nil)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := seal.Seal(a, seal.Options{Memory: cheap, Salt: []byte("another 16 bytes"), Memo: memo}); err == nil {
		t.Error("a memo is used for two salts")
	}
}

// At the cost that worksheets have, as the cheap one of the other tests.
func TestSealedAtFullCost(t *testing.T) {
	p := makeCostly(t, question.Question{Name: "W", Kind: "expression", Key: "m g h", Symbols: map[string]question.Symbol{"m": {Unit: "kg"}, "g": {Unit: "m/s^2"}, "h": {Unit: "m"}}}, nil, 0)
	for _, answer := range []string{"h g m", "2 m g h", "m g", "-2 m g h", "m + g"} {
		p.same(t, answer)
	}
}

func FuzzOpen(f *testing.F) {
	a, err := question.Compile(question.Question{Name: "W", Kind: "number", Key: "2 kg"}, nil)
	if err != nil {
		f.Fatal(err)
	}
	text, err := seal.Seal(a, seal.Options{})
	if err != nil {
		f.Fatal(err)
	}
	f.Add(text, "2 kg")
	f.Add([]byte(`{"version":1,"kdf":{"name":"argon2id","memory":8,"passes":1,"salt":"AAAAAAAAAAAAAAAA"},"public":{"question":{"kind":"vector"},"parts":[{"question":{"kind":"number"}}],"rows":1},"boxes":{"slips":"AA=="}}`), "(1)")
	f.Fuzz(func(t *testing.T, text []byte, answer string) {
		s, err := seal.Open(text)
		if err != nil {
			return
		}
		if v := s.Check(answer); v.Outcome == question.Right && v.Marks != v.Of {
			t.Fatalf("right with %v of %v marks", v.Marks, v.Of)
		}
	})
}

// The cost of one guess, as the threat model says it.
func BenchmarkGuess(b *testing.B) {
	p := makeCostly(b, question.Question{Name: "m", Kind: "number", Key: "2 kg", Within: "0.01 %"}, nil, 0)
	n := 0
	for b.Loop() { // each with a print of its own
		n++
		p.sealed.Check(fmt.Sprintf("%d.%03d kg", 1+n%9, n/9%1000))
	}
}

func BenchmarkSealedCheck(b *testing.B) {
	for _, e := range entries(b) {
		if e.ID != "compound-as-simple" {
			continue
		}
		p := makeCostly(b, e.question(), nil, 0)
		for name, answer := range map[string]string{"right": e.Correct, "slip": e.Slipped, "wrong": "(" + e.Correct + ")/7"} {
			b.Run(name, func(b *testing.B) {
				for b.Loop() {
					b.StopTimer()
					s, err := seal.Open(p.text)
					if err != nil {
						b.Fatal(err)
					}
					b.StartTimer()
					s.Check(answer)
				}
			})
		}
	}
}

// A derivation's box is opened by any of its milestones, and then judged as in
// the open; before the first milestone the lines are judged by what is given.
func TestSealedDerivation(t *testing.T) {
	p := makePair(t, question.Question{
		Name: "period", Kind: "derivation", Time: []string{"θ"}, Small: []string{"θ"},
		Symbols:    map[string]question.Symbol{"m": {Unit: "kg", From: 0.1, To: 2}, "g": {Unit: "m/s^2", From: 9.7, To: 9.9}, "l": {Unit: "m", From: 0.1, To: 2}},
		Given:      []string{"E = 1/2 m l^2 θ'^2 + m g l (1 - cos θ)", "E = const", "θ'' = -ω^2 θ", "P = 2π/ω"},
		Target:     "P = 2π√(l/g)",
		Milestones: []question.Milestone{{Line: "l θ'' + g sin θ = 0", Marks: 2}, {Line: "P = 2π√(l/g)", Marks: 1}},
	}, nil)
	if strings.Contains(string(p.text), "√(l/g)") {
		t.Errorf("the target stands in clear: %s", p.text)
	}
	for _, text := range []string{
		"m l^2 θ' θ'' + m g l sin θ θ' = 0\nθ'' = -g/l sin θ ≈ -g/l θ\nω = √(g/l)\nP = 2π√(l/g)",
		"m l^2 θ' θ'' + m g l sin θ θ' = 0\nθ'' = -g/l sin θ ≈ -g/l θ\nω = √(l/g)\nP = 2π√(g/l)",
		"m l^2 θ' θ'' + m g l sin θ θ' = 0", "P = 2π√(l/g)", "l θ'' = g sin θ", "θ'' = -ω^2 θ", "P ω = 2π", "ω = √(((", "",
		"θ'' = -g/l sin θ\nP² = 4π² l/g",
	} {
		p.same(t, text)
	}
}

// A target that no letter enters to the first power alone is found as well.
func TestSealedDerivationOfSquares(t *testing.T) {
	p := makePair(t, question.Question{
		Name: "line", Kind: "derivation",
		Symbols:    map[string]question.Symbol{"T": {Unit: "s", From: 1, To: 2}, "d": {Unit: "m", From: 0.05, To: 0.35}, "k": {Unit: "m", From: 0.1, To: 0.3}, "g": {Unit: "m/s^2", From: 9.7, To: 9.9}, "I": {Unit: "kg m^2"}, "M": {Unit: "kg"}},
		Given:      []string{"T = 2π √(I/(M g d))", "I = M (k^2 + d^2)"},
		Target:     "d T^2 = (4π^2/g)(k^2 + d^2)",
		Milestones: []question.Milestone{{Line: "T^2 = 4π^2 (k^2 + d^2)/(g d)", Marks: 2}, {Line: "d T^2 = (4π^2/g)(k^2 + d^2)", Marks: 1}},
	}, nil)
	const right = "T^2 = 4π^2 I/(M g d)\nT^2 = 4π^2 (k^2 + d^2)/(g d)\nd T^2 = (4π^2/g)(k^2 + d^2)"
	if v := p.same(t, right); v.Outcome != question.Right {
		t.Errorf("%v: %s", v.Outcome, v.Say)
	}
	for _, text := range []string{
		"T = 2π √((k^2 + d^2)/(g d))\ng d T^2 = 4π^2 k^2 + 4π^2 d^2", "d T^2 = (2π^2/g)(k^2 + d^2)", "",
	} {
		p.same(t, text)
	}
}

// Sealed and open checks agree on random formulas and numbers, right and wrong.
func TestSealedSaysTheSameOfRandomFormulas(t *testing.T) {
	symbols := map[string]question.Symbol{"a": {Unit: "m", From: 0.2, To: 1.2}, "b": {Unit: "m", From: 1, To: 3}, "c": {Unit: "s"}, "q": {Unit: "1", From: 0.1, To: 1}}
	parts := []string{"a", "b", "c", "q", "2", "3/7", "cos(q)", "(a + b)", "sqrt(a/b)", "(b - a)^2", "(1 + q^2/16)", "pi"}
	rapid.Check(t, func(rt *rapid.T) {
		product := func(label string) string {
			out := rapid.SampledFrom(parts).Draw(rt, label)
			for range rapid.IntRange(1, 4).Draw(rt, label+" length") {
				out += rapid.SampledFrom([]string{"*", "/", "*"}).Draw(rt, label) + rapid.SampledFrom(parts).Draw(rt, label)
			}
			return out
		}
		key := product("key")
		q := question.Question{Name: key, Kind: "expression", Key: key, Symbols: symbols}
		if rapid.Bool().Draw(rt, "foreseen") {
			q.Slips = []question.Slip{{Gives: key + "*5", Say: "Five?", Name: "five"}}
		}
		p := makePair(t, q, nil)
		for _, answer := range []string{key, "(" + key + ")*1.000001", "-(" + key + ")", "2*" + key, key + "*5", "1/(" + key + ")", product("answer"), "a + " + key, strings.Replace(key, "a", "b", 1), strings.Replace(key, "cos", "sin", 1)} {
			p.same(t, answer)
		}
		v := values("a", "0.52 m", "b", "1.73 m", "c", "2.5 s", "q", "0.3")
		q = question.Question{Name: key, Kind: "number", Key: key, Within: rapid.SampledFrom([]string{"", "0.5 %", "10 %"}).Draw(rt, "within")}
		n := makePair(t, q, v)
		value, _ := n.open.Value()
		for _, f := range []float64{1, 0.9, 1.1, 1.02, 0.98, 1.005, 1.0049, 0.995, 2, -1, 0.5, 6.2832, 10, rapid.Float64Range(0.1, 10).Draw(rt, "factor")} {
			u := value.Unit.String()
			n.same(t, fmt.Sprintf("%.4g %s", value.Value/value.Unit.Scale()*f, u))
		}
	})
}
