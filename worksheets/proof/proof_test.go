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

// What a guessed sample should have been is told; the points of prose must come to
// its marks.
func TestNumbersOfTheSheetAreTold(t *testing.T) {
	sound := fmt.Sprintf(small, "b - a", "b + a", "Think.", "7 mm")
	for _, tt := range []struct{ text, want string }{
		{strings.Replace(sound, `right: ["7 mm"]`, `right: ["8 mm"]`, 1), "(the key comes to 7.000 mm)"},
		{sound + "```question\nname: own\nkind: prose\nask: And yours?\nmarks: 4\npoints: [{text: a period, marks: 2}, {text: a cause, marks: 1}]\n```\n",
			"the points come to 3, the question is worth 4"},
		{sound + "```question\nname: own\nkind: prose\nask: And yours?\npoints: [{text: a period, marks: 2}, {text: a cause, marks: 1}]\n```\n", ""},
	} {
		if got := faults(prove(t, tt.text)); !strings.Contains(got, tt.want) || tt.want == "" && got != "" {
			t.Errorf("want %q, got %q", tt.want, got)
		}
	}
}

// A right form that loses its digits to a difference is right in the student's
// copy as well as in the open: 1 - tanh² is less than the rounding of 1 from
// t = 19 on.
func TestSamplesAreTriedInTheSealedCopy(t *testing.T) {
	for _, to := range []string{"3", "18"} {
		text := strings.Replace(small, "kind: number", "kind: expression\nsymbols: {t: {unit: \"1\", from: 0.1, to: "+to+"}}", 1)
		text = strings.Replace(text, "unit: mm\n", "", 1)
		if got := faults(prove(t, fmt.Sprintf(text, "a/cosh(t)", "a cosh(t)", "Think.", "a sqrt(1 - tanh(t)^2)"))); got != "" {
			t.Errorf("t up to %s: %s", to, got)
		}
	}
}

// Misjudged tells the samples that come out otherwise than said, and nothing of
// what else is wrong with a sheet.
func TestMisjudgedTellsSamplesOnly(t *testing.T) {
	text := strings.Replace(small, `samples: {right: [%q]}`, `samples: {right: [%q, "17 mm"], wrong: ["0.7 cm", "8 mm"]}`, 1)
	s, err := source.Read([]byte(fmt.Sprintf(text, "b - a", "a + a", "It is 7.0 mm.", "7 mm")), "sheet/worksheet.md")
	if err != nil {
		t.Fatal(err)
	}
	found, err := proof.Misjudged(s)
	if err != nil {
		t.Fatal(err)
	}
	if len(found) != 2 || !strings.Contains(found[0].Say, `"17 mm" should be right and is wrong`) || !strings.Contains(found[1].Say, `"0.7 cm" should be wrong and is right`) {
		t.Errorf("got %+v", found)
	}
}

// A noter is a runner that notes what it was given, and fails the second cell.
type noter struct{ runs int }

func (n *noter) Run(_ context.Context, nb *notebook.Notebook) (*notebook.Notebook, []proof.Failure, error) {
	n.runs++
	return nb.Copy(), []proof.Failure{{Cell: len(nb.Cells) - 1, Line: 1, Say: "no"}}, nil
}

// Cells run in the kernel and as a compiled program; each is a step of its own
// for the progress bar, and is left out without its runner.
func TestBothRunnersRunAllCells(t *testing.T) {
	s, err := source.Read([]byte(fmt.Sprintf(small, "a + b", "a", "Add.", "17 mm")+"\n```go\n1\n```\n\n```go\n2\n```\n"), "sheet/worksheet.md")
	if err != nil {
		t.Fatal(err)
	}
	kernel, compiled := &noter{}, &noter{}
	for _, tt := range []struct {
		options                 proof.Options
		cells, compiled, faults int
	}{
		{proof.Options{Kernel: kernel, Compiled: compiled}, 2, 2, 2},
		{proof.Options{Kernel: kernel}, 2, 0, 1},
		{proof.Options{Compiled: compiled}, 0, 2, 1},
		{proof.Options{}, 0, 0, 0},
	} {
		var last, of int
		tt.options.Variants = 4
		tt.options.Progress = func(done, total int) {
			if done < last || of > 0 && total != of {
				t.Errorf("progress goes from %d of %d to %d of %d", last, of, done, total)
			}
			last, of = done, total
		}
		r, err := proof.Prove(context.Background(), s, nil, tt.options)
		if err != nil {
			t.Fatal(err)
		}
		if r.Cells != tt.cells || r.Compiled != tt.compiled || r.Faults() != tt.faults || last != of {
			t.Errorf("%d cells, %d compiled, %d of %d steps, %s", r.Cells, r.Compiled, last, of, faults(r))
		}
	}
	if kernel.runs != 2 || compiled.runs != 2 {
		t.Errorf("%d and %d runs", kernel.runs, compiled.runs)
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
