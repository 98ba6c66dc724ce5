package question

import (
	"maps"
	"strings"
	"testing"

	"counterpoise/mechanics/expr"
)

// A reed on a thread: from its energy to the period of small swings.
func reed() Question {
	return Question{
		Name: "period", Kind: "derivation", Time: []string{"θ"}, Small: []string{"θ"},
		Symbols: map[string]Symbol{"m": {Unit: "kg", From: 0.1, To: 2}, "g": {Unit: "m/s^2", From: 9.7, To: 9.9}, "l": {Unit: "m", From: 0.1, To: 2}},
		Given:   []string{"E = 1/2 m l^2 θ'^2 + m g l (1 - cos θ)", "E = const", "θ'' = -ω^2 θ", "P = 2π/ω"},
		Target:  "P = 2π√(l/g)",
		Milestones: []Milestone{
			{Line: "l θ'' + g sin θ = 0", Marks: 2}, {Line: "P = 2π√(l/g)", Marks: 1},
		},
		Leap: 1, Working: "Differentiate.",
	}
}

const reedRight = `m l^2 θ' θ'' + m g l sin θ θ' = 0
θ'' = -g/l sin θ ≈ -g/l θ
ω = √(l/g)^-1
P = 2π√(l/g)`

func TestDerivation(t *testing.T) {
	a := mustCompile(t, reed(), nil)
	for _, tt := range []struct {
		name, text string
		outcome    Outcome
		marks      float64
		slip, say  string
	}{
		{"right", reedRight, Right, 3, "", "arrived"},
		{"wrong root", "m l^2 θ' θ'' + m g l sin θ θ' = 0\nθ'' = -g/l sin θ ≈ -g/l θ\nω = √(l/g)\nP = 2π√(g/l)", Wrong, 2, "inverse", "Line 3 is the first"},
		{"wrong sign", "m l^2 θ' θ'' = m g l sin θ θ'", Wrong, 0, "sign", "Line 1 is the first"},
		{"wrong in between", "m l^2 θ' θ'' + m g l sin θ θ' = 0\nω = √(l/g)\nω = √(g/l)\nP = 2π√(l/g)", Wrong, 3, "inverse", "The result is reached, but line 2 does not hold."},
		{"half way", "m l^2 θ' θ'' + m g l sin θ θ' = 0", Wrong, 2, "", "go on from the last line"},
		{"leap", "P = 2π√(l/g)", Wrong, 1, "leap", "steps in between"},
		{"unreadable", "m l^2 θ' θ'' + m g l sin θ θ' = 0\nω = √(((", Unreadable, 0, "", "Line 2 could not be read"},
		{"empty", "\n# nothing\n", Unreadable, 0, "", "no line"},
	} {
		v := a.Check(tt.text)
		if v.Outcome != tt.outcome || v.Marks != tt.marks || v.Of != 3 || v.Slip != tt.slip || !strings.Contains(v.Say, tt.say) {
			t.Errorf("%s: %v, %g of %g marks, slip %q: %s; %+v", tt.name, v.Outcome, v.Marks, v.Of, v.Slip, v.Say, v.Lines)
		}
	}
}

// An angle that changes with time and has no range is met to both sides, within a
// quarter turn, also in the state that shows a line wrong.
func TestAnglesAreMetNearRest(t *testing.T) {
	q := reed()
	q.Symbols = maps.Clone(q.Symbols)
	const angle = "θ"
	q.Symbols[angle] = Symbol{Unit: "rad"}
	a := mustCompile(t, q, nil)
	if r := a.problem().Ranges[expr.Canonical(angle)]; r.From != -1.5 || r.To != 1.5 {
		t.Errorf("%s is met from %v to %v", angle, r.From, r.To)
	}
	q.Symbols[angle] = Symbol{Unit: "rad", From: 1, To: 2}
	a = mustCompile(t, q, nil)
	if r := a.problem().Ranges[expr.Canonical(angle)]; r.From != 1 || r.To != 2 {
		t.Errorf("%s is met from %v to %v, though it has a range", angle, r.From, r.To)
	}
}

func TestDerivationKeysAreChecked(t *testing.T) {
	for _, change := range []func(*Question){
		func(q *Question) { q.Given = nil },
		func(q *Question) { q.Target, q.Milestones = "", nil },
		func(q *Question) { q.Marks = 7 },
		func(q *Question) { q.Target = "P = ((" },
		func(q *Question) { q.Milestones[0].Marks = -1 },
	} {
		q := reed()
		change(&q)
		if _, err := Compile(q, nil); err == nil {
			t.Errorf("%+v is accepted", q)
		}
	}
}

func BenchmarkDerivation(b *testing.B) {
	a := mustCompile(b, reed(), nil)
	for b.Loop() {
		a.Check(reedRight + "\n" + reedRight + "\n" + reedRight) // 12 lines
	}
}
