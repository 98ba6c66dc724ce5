package question

import (
	"encoding/json"
	"strings"
	"testing"

	"github.com/goccy/go-yaml"
	"github.com/google/go-cmp/cmp"
)

// The question of the design's example, as its block stands in a worksheet.
const cgBlock = `
name: cg-height
kind: expression
ask: How far below the pin is the centre of gravity?
symbols: {m: kg, h: {unit: mm, from: 50, to: 80, means: drop of a wing weight}, n: 1}
key: (2 m h + M h/2)/(2 m + M)
marks: 2
figures: 2..4
slips:
  - {gives: h, say: "That holds for arms without mass."}
hints: [Take moments about the pin.]
time: θ
within: 0.02
params: {M: {value: 21 g, means: the arms}, k: 3}
samples:
  right: ["h(2m + M/2)/(2m + M)", 7]
  wrong: ["h"]
`

func TestReadsYAMLAndJSONAlike(t *testing.T) {
	want := Question{
		Name: "cg-height", Kind: "expression", Ask: "How far below the pin is the centre of gravity?",
		Symbols: map[string]Symbol{"m": {Unit: "kg"}, "h": {Unit: "mm", From: 50, To: 80, Means: "drop of a wing weight"}, "n": {Unit: "1"}},
		Key:     "(2 m h + M h/2)/(2 m + M)", Marks: 2, Figures: Figures{2, 4},
		Slips: []Slip{{Gives: "h", Say: "That holds for arms without mass."}},
		Hints: []string{"Take moments about the pin."}, Time: []string{"θ"}, Within: "0.02",
		Params:  map[string]string{"M": "21 g", "k": "3"},
		Samples: Samples{Right: []string{"h(2m + M/2)/(2m + M)", "7"}, Wrong: []string{"h"}},
	}
	var q Question
	if err := yaml.Unmarshal([]byte(cgBlock), &q); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(want, q); diff != "" {
		t.Error(diff)
	}
	b, err := json.Marshal(q)
	if err != nil {
		t.Fatal(err)
	}
	var again Question
	if err := json.Unmarshal(b, &again); err != nil {
		t.Fatalf("%v in %s", err, b)
	}
	if diff := cmp.Diff(want, again); diff != "" {
		t.Error(diff)
	}
}

func TestMatrixMayBeWrittenInRows(t *testing.T) {
	var q Question
	if err := yaml.Unmarshal([]byte("kind: matrix\nkey: [[a, 0], [0, 2 b]]\n"), &q); err != nil {
		t.Fatal(err)
	}
	if want := "((a, 0), (0, 2 b))"; q.Key != want {
		t.Errorf("key reads %q, want %q", q.Key, want)
	}
}

func TestErrorsNameFieldAndRemedy(t *testing.T) {
	for _, tt := range []struct{ block, want string }{
		{"kind: number\nmark: 2\n", "mark: no such field: did you mean marks?"},
		{"kind: number\nmarks: two\n", "marks: expected a number, found string"},
		{"kind: number\nfigures: many\n", `figures "many": write a number of figures such as 3, or a range such as 2..4`},
		{"kind: choice\noptions: [{text: a, rigth: true}]\n", "rigth: no such field: did you mean right?"},
	} {
		var q Question
		err := yaml.Unmarshal([]byte(tt.block), &q)
		if err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%q: %v, want %q", tt.block, err, tt.want)
		}
	}
}
