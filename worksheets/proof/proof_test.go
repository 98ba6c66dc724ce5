package proof_test

import (
	"context"
	"errors"
	"fmt"
	"os"
	"strings"
	"testing"

	"counterpoise/mechanics/figure"
	"counterpoise/worksheets/notebook"
	"counterpoise/worksheets/proof"
	"counterpoise/worksheets/source"
)

const balancePoint = "../library/balance-point/worksheet.md"

func prove(t *testing.T, text string) proof.Report {
	t.Helper()
	s, err := source.Read([]byte(text), "sheet/worksheet.md")
	var problems source.Problems
	if err != nil && !errors.As(err, &problems) {
		t.Fatal(err)
	}
	r, err := proof.Prove(context.Background(), s, problems, proof.Options{Variants: 6})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func faults(r proof.Report) string {
	var b strings.Builder
	for _, f := range r.Findings {
		if f.Weight == proof.Fault {
			fmt.Fprintf(&b, "line %d, %s (%s): %s\n", f.Line, f.Question, f.Check, f.Say)
		}
	}
	return b.String()
}

func TestASoundSheetIsNotBlamed(t *testing.T) {
	text, err := os.ReadFile(balancePoint)
	if err != nil {
		t.Fatal(err)
	}
	r := prove(t, string(text))
	if r.Faults() > 0 {
		t.Errorf("%d faults:\n%s", r.Faults(), faults(r))
	}
	if r.Questions < 8 || r.Variants < 10 || r.Samples < 10 || r.Slips < 5 {
		t.Errorf("%+v: too little was tried", r)
	}
}

const small = `---
title: Small
minutes: 10
aims: [find a number]
params:
  a: {value: 5 mm, from: 2 mm, to: 9 mm, step: 1 mm, means: a length}
  b: {value: 12 mm, means: another}
---

Invented.

` + "```question\nname: far\nkind: number\nask: How far?\nkey: %s\nunit: mm\nslips:\n  - {gives: %s, name: one, say: Look again.}\nhints: [%s]\nworking: It follows.\nsamples: {right: [%q]}\n```\n"

func TestRangesAreFollowed(t *testing.T) {
	for _, tt := range []struct{ what, key, slip, hint, right, want string }{
		{"sound", "b - a", "b + a", "Think.", "7 mm", ""},
		{"a key that jumps through infinity", "b^2/(a - 5.5e-3*b/(12e-3*b)*b)", "b", "Think.", "-288 mm", "jumps through infinity"},
		{"a key without a value at one end", "sqrt(b^2 - 2.25*a^2)", "b", "Think.", "9.37 mm", "cannot be computed"},
		{"a slip that meets the key in the range", "b - a", "a + a", "Think.", "7 mm", "cannot be told from the key with a = 4 mm"},
		{"a hint with the number", "b - a", "b + a", "It is 7.0 mm.", "7 mm", "hint 1 holds the key"},
		{"a hint with the formula", "(b - a)*2/2", "b + a", "Use $b-a$.", "7 mm", "hint 1 holds the key"},
	} {
		r := prove(t, fmt.Sprintf(small, tt.key, tt.slip, tt.hint, tt.right))
		switch got := faults(r); {
		case tt.want == "" && got != "":
			t.Errorf("%s: %s", tt.what, got)
		case !strings.Contains(got, tt.want):
			t.Errorf("%s: want %q, got %q", tt.what, tt.want, got)
		}
	}
}

// A right form that loses its digits to a difference is told apart from the key
// in the student's copy, though not in the open: 1 - tanh² is less than the
// rounding of 1 from t = 19 on.
func TestSamplesAreTriedInTheSealedCopy(t *testing.T) {
	for to, want := range map[string]string{"3": "", "18": "wrong in the student's copy"} {
		text := strings.Replace(small, "kind: number", "kind: expression\nsymbols: {t: {unit: \"1\", from: 0.1, to: "+to+"}}", 1)
		text = strings.Replace(text, "unit: mm\n", "", 1)
		got := faults(prove(t, fmt.Sprintf(text, "a/cosh(t)", "a cosh(t)", "Think.", "a sqrt(1 - tanh(t)^2)")))
		if want == "" && got != "" || !strings.Contains(got, want) {
			t.Errorf("t up to %s: want %q, got %q", to, want, got)
		}
	}
}

// A figure whose data cannot be drawn shows why in its place, which students
// should not see.
func TestAFigureWithoutDataIsFound(t *testing.T) {
	text := fmt.Sprintf(small, "a + b", "a", "Add.", "17 mm") + "\n```go\n1\n```\n"
	s, err := source.Read([]byte(text), "sheet/worksheet.md")
	if err != nil {
		t.Fatal(err)
	}
	empty := figure.Plot{Series: []figure.Series{{Label: "empty"}}}
	sound := figure.Plot{Series: []figure.Series{{Label: "full", X: []float64{0, 1}, Y: []float64{0, 1}}}}
	for _, tt := range []struct {
		shown figure.Figure
		found bool
	}{{empty, true}, {sound, false}} {
		r, err := proof.Prove(context.Background(), s, nil, proof.Options{Variants: 2, Kernel: shows{tt.shown}})
		if err != nil {
			t.Fatal(err)
		}
		if got := strings.Contains(faults(r), "no data to draw"); got != tt.found {
			t.Errorf("%s: found is %v:\n%s", tt.shown, got, faults(r))
		}
	}
}

// A shows stands for a kernel in which every Go cell shows the same figure.
type shows struct{ figure.Figure }

func (s shows) Run(_ context.Context, nb *notebook.Notebook) (*notebook.Notebook, []proof.Failure, error) {
	for i := range nb.Cells {
		if c := &nb.Cells[i]; c.Type == notebook.Code {
			c.Outputs = []notebook.Output{{Data: map[string]any{"image/svg+xml": s.SVG()}}}
		}
	}
	return nb, nil, nil
}
