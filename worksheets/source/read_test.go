package source_test

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"counterpoise/worksheets/source"

	"github.com/google/go-cmp/cmp"
)

const heron = `---
title: Where does the heron balance?
level: first-year
minutes: 45
aims:
  - locate a centre of gravity by moments
params:
  m: {value: 18 g, from: 14 g, to: 24 g, step: 1 g, means: mass of one wing weight}
  h: {value: 62.0 mm, from: 50 mm, to: 80 mm, step: 2 mm}
  theta_0: 30 deg
toys:
  heron:
    parts:
      - {shape: sphere, at: [90 mm, -62 mm, 0 mm], mass: m}
    stand: {kind: point, at: [0 mm, 0 mm, 0 mm]}
  other: {parts: [{shape: sphere, mass: m}], stand: {kind: point}}
---

# Start

The drop is {{h}}, in m {{h number in m}}, and $x^2$.

` + "```go fold\nfmt.Println(\"{{h}}\")\n```" + `

## Second

Text.
` + "```text\nplain block\n```" + `

` + "```question" + `
name: cg-height
kind: expression
ask: How far below the pin is the centre of gravity?
symbols: {M: kg}
key: (2 m h + M h/2)/(2 m + M)
marks: 2
slips:
  - {gives: h, say: "That holds for arms without mass."}
hints: [Take moments about the pin.]
working: |
  Taking moments about the pin, $y = 0$.
samples:
  right: ["h(2m + M/2)/(2m + M)"]
  wrong: ["h"]
` + "```" + `

` + "```safety\nWear eye protection.\n```\nEnd.\n"

func TestSheetIsRead(t *testing.T) {
	s, err := source.Read([]byte(heron), "quay/heron/worksheet.md")
	if err != nil {
		t.Fatal(err)
	}
	if s.Name != "heron" || s.Title != "Where does the heron balance?" || s.Minutes != 45 || s.Level != "first-year" || len(s.Aims) != 1 {
		t.Errorf("%+v", s)
	}
	var params []string
	for _, p := range s.Params {
		params = append(params, fmt.Sprintf("%s=%v %v %d", p.Name, p.Value, p.Varies(), p.Line))
	}
	if diff := cmp.Diff([]string{"m=18 g true 8", "h=62.0 mm true 9", "θ_0=30 deg false 10"}, params); diff != "" {
		t.Error(diff)
	}
	var cells []string
	for _, c := range s.Cells {
		text := c.Text
		if c.Question != nil {
			text = c.Question.Key
		}
		cells = append(cells, fmt.Sprintf("%d:%d:%s", c.Kind, c.Line, strings.ReplaceAll(text, "\n", "|")))
	}
	want := []string{
		"0:19:# Start||The drop is {{h}}, in m {{h number in m}}, and $x^2$.",
		`1:24:fmt.Println("{{h}}")`,
		"0:27:## Second||Text.|```text|plain block|```",
		"2:34:(2 m h + M h/2)/(2 m + M)",
		"3:52:Wear eye protection.",
		"0:54:End.",
	}
	if diff := cmp.Diff(want, cells); diff != "" {
		t.Error(diff)
	}
	if c := s.Cells[3]; c.LineOf("key") != 39 || c.LineOf("slips/0/say") != 42 || c.LineOf("within") != 34 || !s.Cells[1].Fold {
		t.Errorf("lines of fields: %d %d %d", c.LineOf("key"), c.LineOf("slips/0/say"), c.LineOf("within"))
	}
	toy := strings.Split(string(s.Toys[0].YAML), "\n")
	if s.Toys[0].Name != "heron" || strings.TrimSpace(toy[12]) != "parts:" || len(s.Toys) != 2 {
		t.Errorf("toys %q", toy)
	}
	if other := strings.Split(string(s.Toys[1].YAML), "\n"); strings.TrimSpace(other[15]) != "{parts: [{shape: sphere, mass: m}], stand: {kind: point}}" {
		t.Errorf("toy on one line: %q", other)
	}
}

func TestWindowsLinesAndByteOrderMark(t *testing.T) {
	s, err := source.Read([]byte("\ufeff"+strings.ReplaceAll(heron, "\n", "\r\n")), "heron.md")
	if err != nil || len(s.Cells) != 6 || s.Name != "heron" {
		t.Errorf("%v %+v", err, s)
	}
}

var marker = regexp.MustCompile(`want( below)? "((?:[^"\\]|\\.)*)"`)

// Each case is a sheet whose lines with a mistake say what is to be told, in
// a comment: # want "…", or <!-- want below "…" --> on the line before.
func TestMistakesAreToldWhereTheyAre(t *testing.T) {
	files, err := filepath.Glob("testdata/faulty/*.md")
	if err != nil || len(files) == 0 {
		t.Fatal("no faulty worksheets", err)
	}
	for _, file := range files {
		t.Run(filepath.Base(file), func(t *testing.T) {
			data, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			_, err = source.Read(data, "worksheet.md")
			var got []string
			if err != nil {
				got = strings.Split(err.Error(), "\n")
			}
			unmet := map[string]bool{}
			for _, g := range got {
				unmet[g] = true
			}
			for i, line := range strings.Split(string(data), "\n") {
				for _, m := range marker.FindAllStringSubmatch(line, -1) {
					i, want := i, m[2]
					if m[1] != "" {
						i++
					}
					found := false
					for _, g := range got {
						if strings.HasPrefix(g, fmt.Sprintf("worksheet.md:%d: ", i+1)) && strings.Contains(g, want) {
							delete(unmet, g)
							found = true
						}
					}
					if !found {
						t.Errorf("line %d: nothing tells %q", i+1, want)
					}
				}
			}
			for g := range unmet {
				t.Errorf("told without cause: %s", g)
			}
		})
	}
}

// What cannot be read is told once: what is named further down is not blamed for
// it.
func TestWhatIsNotReadIsNotMissed(t *testing.T) {
	for _, tt := range []struct{ front, want string }{
		{"title: A\nparams:\n  h: {value: 62 gr}\n", `worksheet.md:4: h/value is "62 gr": unknown unit "gr": write g for grams`},
		{"title: A\nparams:\n\th: 62 mm\n", "worksheet.md:4: a line is indented with a tab: indent with blanks"},
	} {
		_, err := source.Read([]byte("---\n"+tt.front+"---\nThe drop is {{h}}.\n"), "worksheet.md")
		if err == nil || err.Error() != tt.want {
			t.Errorf("%q: %v, want %s", tt.front, err, tt.want)
		}
	}
}

func TestWhatIsNoWorksheet(t *testing.T) {
	for _, tt := range []struct{ name, in, want string }{
		{"empty", "", "a.md:1: no front matter: start the file with a line of ---"},
		{"prose", "# Hello\n", "a.md:1: no front matter"},
		{"unclosed", "---\ntitle: x\n", "a.md:1: no front matter"},
		{"bytes", "---\ntitle: x\n---\nab\xff\n", "a.md:4: not UTF-8 text: save the file as UTF-8"},
		{"zero", "---\ntitle: x\n---\n\x00", "a.md:4: a zero byte"},
		{"UTF-16", "\xff\xfe-\x00", "a.md: this is UTF-16 text"},
		{"huge", strings.Repeat("x", source.MaxBytes+1), "a.md: larger than 2 MiB"},
		{"deep", "---\ntitle: x\ntoys: " + strings.Repeat("[", 5000) + "\n---\n", "more than 40 deep"},
		{"a list", "---\n- a\n---\n", "a.md:2: the front matter is a list: write a mapping"},
		{"tab", "---\ntitle: x\n\taims: []\n---\n", "a.md:3: a line is indented with a tab"},
		{"colon", "---\ntitle: a: b\n---\n", "a.md:2: not YAML"},
		{"twice", "---\ntitle: a\ntitle: b\n---\n", "a.md:3: not YAML: mapping key \"title\" already defined before: remove one"},
		{"anchor", "---\ntitle: &a b\nlevel: *a\n---\n", "a.md:2: & and * (anchors)"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			_, err := source.Read([]byte(tt.in), "a.md")
			if err == nil || !strings.Contains(err.Error(), tt.want) {
				t.Errorf("got %v, want %s", err, tt.want)
			}
		})
	}
}

func FuzzRead(f *testing.F) {
	f.Add([]byte(heron))
	f.Add([]byte("---\ntitle: x\n---\n```question\nname: [\n```\n~~~go\nx"))
	f.Fuzz(func(t *testing.T, data []byte) {
		s, err := source.Read(data, "worksheet.md")
		lines := 1 + strings.Count(strings.ReplaceAll(string(data), "\r\n", "\n"), "\n")
		if problems, ok := err.(source.Problems); ok {
			for _, p := range problems {
				if p.Line < 0 || p.Line > lines {
					t.Fatalf("%v: the file has %d lines", p, lines)
				}
			}
		}
		for _, c := range s.Cells {
			if c.Line < 1 || c.Line > lines {
				t.Fatalf("a cell on line %d of %d", c.Line, lines)
			}
		}
	})
}

func ExampleRead() {
	_, err := source.Read([]byte(`---
title: The heron
params:
  h: {value: 62 mm, from: 70 mm, to: 80 mm, step: 2 mm}
---
The drop is {{H}}, so $\frca{h}{2}$.
`), "worksheet.md")
	fmt.Println(err)
	// Output:
	// worksheet.md:4: value 62 mm of h lies outside 70 mm to 80 mm: widen the range or change the value
	// worksheet.md:6: formula $\frca{h}{2}$: unknown command \frca: did you mean \frac?
	// worksheet.md:6: {{H}} names no parameter and no toy's value: declare it under params
}
