package compiled_test

import (
	"context"
	"os"
	"strings"
	"testing"

	"counterpoise/kernel/compiled"
	"counterpoise/worksheets/notebook"
	"counterpoise/worksheets/proof"
)

func find(t *testing.T) *compiled.Runner {
	t.Helper()
	r, err := compiled.Find(".")
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func run(t *testing.T, cells ...string) []proof.Failure {
	t.Helper()
	nb := &notebook.Notebook{Cells: []notebook.Cell{{Type: notebook.Markdown, Source: "The quay fair."}}}
	for _, text := range cells {
		c := notebook.Cell{Type: notebook.Code, Source: text}
		if strings.HasPrefix(text, "// meant") {
			c.Metadata = map[string]any{"tags": []any{"raises-exception"}}
		}
		nb.Cells = append(nb.Cells, c)
	}
	done, failures, err := find(t).Run(context.Background(), nb)
	if err != nil {
		t.Fatal(err)
	}
	if len(done.Cells) != len(nb.Cells) {
		t.Fatalf("%d cells came back of %d", len(done.Cells), len(nb.Cells))
	}
	return failures
}

// What cells may do and a file of Go may not: each cell checks what the cells
// before it left, and panics where it is wrong. The meaning is that of the Go
// specification, blocks and scope.
func TestSoundCells(t *testing.T) {
	failures := run(t,
		"//worksheet:open\nno Go",
		"// meant to fail\nnothing here",
		// Imports not used here, unused variables, a last expression, predeclared names.
		"import (\n\t\"fmt\"\n\t\"math\"\n\t\"time\"\n)\nx, unused := 2, 3\nDisplay(HTML(\"<b>x</b>\"))\nx + 1",
		// The same import again, x declared anew from the old one, a label.
		"import \"math\"\nx := math.Sqrt(float64(x * 8))\nreeds:\nfor i := 0; i < 3; i++ {\n\tif i == 1 {\n\t\tcontinue reeds\n\t}\n}\ntime.Duration(x)",
		// Functions that need each other and a variable below them.
		"func even(n int) bool { return n == 0 || odd(n-1) }\nfunc odd(n int) bool { return n != 0 && even(n-1) }\nfunc lanterns() int { return hung }\nhung := 7\nreeds:\nfor {\n\tbreak reeds\n}\nif !even(4) || odd(4) || lanterns() != 7 || x != 4 {\n\tpanic(fmt.Sprint(\"wrong\", x))\n}\nmin(1, 2)",
		// What Go takes only outside functions.
		"const gap = 1.5\ntype heron struct{ legs []leg }\ntype leg float64\nfunc (h heron) long() (sum leg) {\n\tfor _, l := range h.legs {\n\t\tsum += l + gap\n\t}\n\treturn\n}\nfunc first[T any](list []T) T { return list[0] }\nif l := first([]heron{{legs: []leg{1, 2}}}).long(); l != 6 {\n\tpanic(l)\n}\nmath.Frexp(8)",
		// A redeclared function and type.
		"type record struct{ a int }\nfunc even(r record) int { return r.a }\nvar h Handle = Display(3)\nif even(record{5}) != 5 {\n\tpanic(5)\n}",
		// A method that uses a variable and what that needs.
		"import \"errors\"\nvar errLate = errors.New(text)\nconst text = \"late\"\ntype crew []string\nfunc (c crew) sail() error { return errLate }\nif crew(nil).sail() != errLate {\n\tpanic(errLate)\n}",
		"package main\n\nfunc main() {\n\tif part != 6 {\n\t\tpanic(part)\n\t}\n}\n\nvar part = twice(3)\n\nfunc twice(n int) int { return 2 * n }",
		"[]float64{x}",
	)
	for _, f := range failures {
		t.Errorf("cell %d, line %d: %s", f.Cell, f.Line, f.Say)
	}
}

// What the toolchain refuses and what ends the program is told with its place.
// The messages are the Go toolchain's own.
func TestFailuresHaveTheirPlace(t *testing.T) {
	const good = "import \"fmt\"\na := []int{1, 2}\nfmt.Println(a)"
	for _, tt := range []struct {
		name, cell string
		line       int
		say        string
	}{
		{"not declared", "b := 1\n\nb + nothing", 3, "undefined: nothing"},
		{"in a function", "func f() int {\n\tc := 1\n\treturn 2\n}\nf()", 2, "declared and not used: c"},
		{"two lines of message", "func f(n int) {}\n\nf(\"one\", 2)", 3, "too many arguments in call to f have (string, number) want (int)"},
		{"not Go", "for i := range 3 {\n\ta[i := 1\n}", 2, "expected"},
		{"declared twice", "func g[T any](x T) {}\nfunc g[T any](x T) {}", 2, "g redeclared in this block cell2.go:1: other declaration of g"},
		{"brace too many", "a[0] = 1\n}", 2, "found '}'"},
		{"no such package", "import (\n\t\"counterpoise/mechanics/carousel\"\n)\ncarousel.Turn()", 2, "carousel"},
		{"panic", "c := 5\nfmt.Println(a[:1])\na[c] = 1", 3, "index out of range [5] with length 2"},
		{"exit", "import \"os\"\nos.Exit(0)", 0, "ends in this cell"},
		{"exit status", "import \"log\"\nlog.Fatal(\"no lantern\")", 0, "no lantern"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			got := run(t, good, tt.cell, "fmt.Println(len(a))")
			if len(got) == 0 {
				t.Fatal("no failure")
			}
			if f := got[0]; f.Cell != 2 || f.Line != tt.line || !strings.Contains(f.Say, tt.say) {
				t.Errorf("cell %d, line %d: %q; want cell 2, line %d: %q", f.Cell, f.Line, f.Say, tt.line, tt.say)
			}
		})
	}
}

// The source of the module is left as it was.
func TestNothingIsWrittenIntoTheModule(t *testing.T) {
	run(t, "1 + 1")
	if _, err := os.Stat("../../compiled-cells"); !os.IsNotExist(err) {
		t.Errorf("the program's folder stands in the module: %v", err)
	}
}

func TestFindTellsWhatIsMissing(t *testing.T) {
	if _, err := compiled.Find(t.TempDir()); err == nil || !strings.Contains(err.Error(), "source of counterpoise") {
		t.Errorf("outside the module: %v", err)
	}
	t.Setenv("PATH", t.TempDir())
	if _, err := compiled.Find("."); err == nil || !strings.Contains(err.Error(), "no Go toolchain") {
		t.Errorf("without a toolchain: %v", err)
	}
}
