package session

import (
	"context"
	"strings"
	"testing"
)

// The samples are what Jupyter's published kernel tests ask of any language,
// in Go.
func TestIsComplete(t *testing.T) {
	nb := open(t)
	nb.run("var kept = 12321")
	for want, cells := range map[string][]string{
		"complete": {
			"1", "x := 3", "func f(x int) int {\n\treturn 2*x\n}", "for i := range 3 {\n\tfmt.Println(i)\n}", "import \"fmt\"\nfmt.Println(1)",
			"", "// only a comment", "type T struct{ X int }", "//worksheet:answer mass\n3 kg {", "if kept > 3 {\n}", "x := []int{\n1,\n}", "s := `raw\n`",
		},
		"incomplete": {
			"func f(x int) int {", "fmt.Println(", "x := []int{\n1,", "s := `raw", "if kept > 3 {", "x := 1 +", "/* open", "switch {\ncase true:",
			"type T struct {\n\tX int", "x := map[string]int{", "go func() {", "a := b[", "var (", "import (", "kept.",
		},
		"invalid": {
			"func 3() {}", "x := )", "var = 7q", "x := 1 ]", "if { }}", "for i = range {", "foo(]", "x ++ y",
		},
	} {
		for _, cell := range cells {
			if got := nb.IsComplete(cell); got.Status != want {
				t.Errorf("%q is %s, want %s", cell, got.Status, want)
			}
		}
	}
	if got := nb.IsComplete("for i := range 3 {\n\tif i > 1 {").Indent; got != "\t\t" {
		t.Errorf("indent %q", got)
	}
}

func TestComplete(t *testing.T) {
	nb := open(t)
	nb.plain("import \"fmt\"\nimport \"strings\"\ntype Heron struct {\n\tMass float64\n\tname string\n}\nfunc (h *Heron) Lift(by float64) {}\nfunc (h Heron) Weight() float64 { return 9.81 * h.Mass }\nheron := Heron{}\nflock := []Heron{{}}\nvar sb strings.Builder")
	for _, tt := range []struct{ code, want, kind string }{
		{"fmt.Printl", "Println", "function"},
		{"math.Cosh", "Cosh", "function"},
		{"fal", "false", "constant"},
		{"her", "heron", "variable"},
		{"heron.", "Lift Mass Weight name", ""},
		{"heron.We", "Weight", "method"},
		{"flock[0].Ma", "Mass", "field"},
		{"sb.WriteS", "WriteString", "method"},
		{"s := \"𝐚\"; fmt.Printl", "Println", "function"},
		{"for i, h := range flock {\n\tfmt.Println(i, h.Ma", "Mass", "field"},
		{"func g(angle float64) float64 {\n\treturn ang", "angle", "variable"},
		{"retu", "return", "keyword"},
		{"import \"gonum.org/v1/gonum/ma", "gonum.org/v1/gonum/mat gonum.org/v1/gonum/mathext", "package"},
		{"strings.NewReader(\"x\").Rea", "Read ReadAt ReadByte ReadRune", "method"},
		{"Disp", "Display", "function"},
		{"heron.nothingLikeThis", "", ""},
		{"// heron.", "", ""},
		{"\"heron.", "", ""},
		{"mat.NewDen", "NewDense", "function"},
	} {
		c := nb.Complete(context.Background(), tt.code, len(tt.code))
		var got []string
		for _, it := range c.Items {
			got = append(got, it.Text)
			if tt.kind != "" && it.Kind != tt.kind {
				t.Errorf("%q: %s is a %s", tt.code, it.Text, it.Kind)
			}
		}
		if strings.Join(got, " ") != tt.want {
			t.Errorf("%q completes to %q, want %q", tt.code, got, tt.want)
		}
		if c.End != len(tt.code) {
			t.Errorf("%q: end %d", tt.code, c.End)
		}
	}
}

func TestInspect(t *testing.T) {
	nb := open(t)
	nb.plain("import \"fmt\"\n// A Heron stands on a pin.\ntype Heron struct {\n\tMass float64 // kg\n}\n// Weight returns the weight in N.\nfunc (h Heron) Weight() float64 { return 9.81 * h.Mass }\n// double doubles.\nfunc double(x int) int { return 2 * x }\nheron := Heron{}\nkept := 12321")
	for _, tt := range []struct {
		code string
		want []string
	}{
		{"fmt.Println", []string{"func fmt.Println(a ...any) (n int, err error)", "Println formats using the default formats"}},
		{"fmt.Println(", []string{"Println formats"}},
		{"math.Cosh", []string{"func math.Cosh(x float64) float64", "hyperbolic cosine"}},
		{"kept", []string{"var kept int = 12321"}},
		{"double", []string{"func double(x int) int", "double doubles."}},
		{"heron.Weight", []string{"func (Heron).Weight() float64", "weight in N"}},
		{"Heron", []string{"type Heron struct", "stands on a pin"}},
		{"heron.Mass", []string{"field Mass float64", "kg"}},
		{"len", []string{"func len"}},
		{"fmt", []string{"package fmt", "formatted I/O"}},
		{"Display", []string{"func Display(v any) Handle", "by the methods that v has"}},
	} {
		in := nb.Inspect(context.Background(), tt.code, len(tt.code), 0)
		text, _ := in.Data["text/plain"].(string)
		if !in.Found {
			t.Errorf("%q: not found", tt.code)
			continue
		}
		for _, w := range tt.want {
			if !strings.Contains(text, w) {
				t.Errorf("%q: %q is not in\n%s", tt.code, w, text)
			}
		}
	}
	if in := nb.Inspect(context.Background(), "nowhere", 7, 0); in.Found || in.Data == nil {
		t.Errorf("nowhere is found: %v", in)
	}
	if in := nb.Inspect(context.Background(), "double", 3, 1); !strings.Contains(in.Data["text/plain"].(string), "return 2 * x") {
		t.Errorf("level 1 has no source: %v", in.Data["text/plain"])
	}
}
