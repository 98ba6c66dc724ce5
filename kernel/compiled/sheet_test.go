package compiled_test

import (
	"context"
	"fmt"
	"strings"
	"testing"

	"counterpoise/worksheets/proof"
	"counterpoise/worksheets/source"
)

// sheet is a worksheet with two cells, of which the second is to be filled in.
const sheet = `---
title: Reeds
minutes: 5
aims: [find a length]
params:
  a: {value: 5 mm, from: 2 mm, to: 9 mm, step: 1 mm, means: a length}
---

Invented.

` + "```go\nimport \"counterpoise/mechanics/body\"\n\na := {{a number in m}}\nat := body.V(a, 0, 0)\n```" + `

` + "```question" + `
name: far
kind: number
ask: How far?
key: 2 a
unit: mm
hints: ["There are two."]
working: Twice.
samples: {right: ["1.0 cm"]}
` + "```\n\n```go\n%s\n```\n"

// A worksheet whose cells the toolchain takes has no fault; one whose cell it
// refuses is told with the line of worksheet.md.
func TestWorksheetsAreProvedCompiled(t *testing.T) {
	for _, tt := range []struct {
		cell string
		at   string // the text on the line that is told; "": no fault
		say  string
	}{
		{"double := func(x float64) float64 { return 2 * x }\ndouble(at.X)", "", ""},
		{"double := func(x float64) float64 {\n\ty := 2 * x\n\treturn x\n}\ndouble(at.X)", "y := 2", "a cell fails: declared and not used: y"},
		{"// the place\n\nat.Away()", "at.Away", "a cell fails: at.Away undefined"},
	} {
		text := fmt.Sprintf(sheet, tt.cell)
		s, err := source.Read([]byte(text), "reeds/worksheet.md")
		if err != nil {
			t.Fatal(err)
		}
		r, err := proof.Prove(context.Background(), s, nil, proof.Options{Compiled: find(t), Variants: 1})
		if err != nil {
			t.Fatal(err)
		}
		if tt.at == "" {
			if r.Faults() > 0 {
				t.Errorf("a sound sheet is blamed: %+v", r.Findings)
			}
			continue
		}
		if r.Faults() != 1 {
			t.Errorf("%d faults, want one: %+v", r.Faults(), r.Findings)
			continue
		}
		f := r.Findings[0]
		line := 1 + strings.Count(text[:strings.Index(text, tt.at)], "\n")
		if f.Check != "compiled" || f.Line != line || !strings.HasPrefix(f.Say, tt.say) {
			t.Errorf("%s, line %d: %s; want line %d: %s", f.Check, f.Line, f.Say, line, tt.say)
		}
	}
}
