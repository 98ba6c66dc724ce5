package script

import (
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"counterpoise/worksheets/build"
	"counterpoise/worksheets/notebook"
)

var built = []build.KeyCell{
	{ID: "open", Type: notebook.Code}, {ID: "title", Type: notebook.Markdown, Prints: []string{"| $m$ | mass | {{m}} |"}},
	{ID: "ask-a", Type: notebook.Markdown}, {ID: "answer-a", Type: notebook.Code},
	{ID: "go", Type: notebook.Code}, {ID: "ask-b", Type: notebook.Markdown}, {ID: "answer-b", Type: notebook.Code},
}

func cellOf(id string, kind notebook.CellType, source, prepared string) notebook.Cell {
	c := notebook.Cell{ID: id, Type: kind, Source: source, Metadata: map[string]any{}}
	if prepared != "" {
		c.Metadata["counterpoise"] = map[string]any{"question": prepared}
	}
	return c
}

// whole is the notebook as it was built, with answers.
func whole() []notebook.Cell {
	return []notebook.Cell{
		cellOf("open", notebook.Code, "// gone", ""), cellOf("title", notebook.Markdown, "| $m$ | mass | 18 g |", ""),
		cellOf("ask-a", notebook.Markdown, "A?", ""), cellOf("answer-a", notebook.Code, "//worksheet:answer a\n1 m", "a"),
		cellOf("go", notebook.Code, "import \"fmt\"\nfmt.Println(1)", ""),
		cellOf("ask-b", notebook.Markdown, "B?", ""), cellOf("answer-b", notebook.Code, "//worksheet:derive b\nx = y\ny = z", "b"),
	}
}

func TestWhatBecameOfTheCells(t *testing.T) {
	insert := func(cells []notebook.Cell, at int, c ...notebook.Cell) []notebook.Cell {
		return append(append(append([]notebook.Cell(nil), cells[:at]...), c...), cells[at:]...)
	}
	for _, tt := range []struct {
		name   string
		change func(c []notebook.Cell) []notebook.Cell
		want   string // codes
		b      string // the answer to b
	}{
		{"as built", func(c []notebook.Cell) []notebook.Cell { return c }, "", "x = y\ny = z"},
		{"moved", func(c []notebook.Cell) []notebook.Cell { c[3], c[6] = c[6], c[3]; return c }, "cells moved", "x = y\ny = z"},
		{"a built cell deleted", func(c []notebook.Cell) []notebook.Cell { return append(c[:4], c[5:]...) }, "cells deleted", "x = y\ny = z"},
		{"an answer cell deleted", func(c []notebook.Cell) []notebook.Cell { return c[:6] }, "cells deleted", ""},
		{"a built cell retyped", func(c []notebook.Cell) []notebook.Cell { c[2].Type = notebook.Raw; return c }, "cell retyped", "x = y\ny = z"},
		{"typed again in a cell of one's own", func(c []notebook.Cell) []notebook.Cell {
			return append(c[:6], cellOf("mine", notebook.Code, "//worksheet:derive b\nx = z", ""))
		}, "", "x = z"},
		{"split, metadata in both parts", func(c []notebook.Cell) []notebook.Cell {
			c[6] = cellOf("one", notebook.Code, "//worksheet:derive b\nx = y", "b")
			return append(c, cellOf("two", notebook.Code, "y = z", "b"))
		}, "cell split", "x = y\ny = z"},
		{"split, metadata in the lower part", func(c []notebook.Cell) []notebook.Cell {
			c[6].Source = "y = z"
			return insert(c, 6, cellOf("one", notebook.Code, "//worksheet:derive b\nx = y", ""))
		}, "cell split", "x = y\ny = z"},
		{"split, metadata in the upper part", func(c []notebook.Cell) []notebook.Cell {
			c[6].Source = "//worksheet:derive b\nx = y"
			return append(c, cellOf("two", notebook.Code, "y = z² m", ""))
		}, "cell split?", "x = y"},
		{"split inside a line", func(c []notebook.Cell) []notebook.Cell {
			c[6] = cellOf("one", notebook.Code, "//worksheet:derive b\nx", "b")
			return append(c, cellOf("two", notebook.Code, "= y\ny = z", "b"))
		}, "cell split", "x = y\ny = z"},
		{"scratch work behind an answer", func(c []notebook.Cell) []notebook.Cell {
			return append(c, cellOf("mine", notebook.Code, "z := 3\nfmt.Println(z)", ""), cellOf("more", notebook.Markdown, "≠ Go", ""))
		}, "", "x = y\ny = z"},
		{"copied with its id", func(c []notebook.Cell) []notebook.Cell { return append(c, c[3]) }, "cell copied", "x = y\ny = z"},
		{"copied with another id", func(c []notebook.Cell) []notebook.Cell {
			return append(c, cellOf("new", notebook.Code, c[3].Source, "a"))
		}, "cell copied", "x = y\ny = z"},
		{"answered twice", func(c []notebook.Cell) []notebook.Cell {
			return append(c, cellOf("new", notebook.Code, "//worksheet:derive b\nlater = line", "b"))
		}, "answered twice", "later = line"},
		{"a second, empty answer cell", func(c []notebook.Cell) []notebook.Cell {
			return append(c, cellOf("new", notebook.Code, "//worksheet:derive b\n", "b"))
		}, "answered twice", "x = y\ny = z"},
		{"a number changed", func(c []notebook.Cell) []notebook.Cell { c[1].Source = "| $m$ |  mass | 30 g |"; return c }, "parameters edited", "x = y\ny = z"},
		{"a number's line gone", func(c []notebook.Cell) []notebook.Cell { c[1].Source = "my notes"; return c }, "", "x = y\ny = z"},
		{"a number's line in another cell", func(c []notebook.Cell) []notebook.Cell {
			c[1].Source, c[2].Source = "", "A?\n| $m$ | mass | 18 g |"
			return c
		}, "", "x = y\ny = z"},
	} {
		data, err := notebook.Write(&notebook.Notebook{Major: 4, Minor: 5, Metadata: map[string]any{}, Cells: tt.change(whole())})
		if err != nil {
			t.Fatal(err)
		}
		p := Read(data)
		p.Against(built, []string{"a", "b"})
		p.Printed([]build.Print{{Line: "| $m$ | mass | 18 g |", Pieces: []string{"| $m$ | mass | ", " |"}}})
		var codes []string
		for _, f := range p.Flags {
			if f.Code != "opening cell" && !slices.Contains(codes, f.Code) { // there is none in these notebooks
				codes = append(codes, f.Code)
			}
		}
		if got := strings.Join(codes, "; "); got != tt.want {
			t.Errorf("%s: flags %q, want %q", tt.name, got, tt.want)
		}
		b := ""
		for _, a := range p.Answers {
			if a.Question == "b" {
				b = a.Text
			}
		}
		if diff := cmp.Diff(tt.b, b); diff != "" {
			t.Errorf("%s: %s", tt.name, diff)
		}
	}
}

// Without ids the order of the answers still tells.
func TestScriptsWithoutIds(t *testing.T) {
	cells := whole()
	cells[3], cells[6] = cells[6], cells[3]
	for i := range cells {
		cells[i].ID = ""
	}
	for n, want := range map[int]string{7: "cells moved", 6: "cells deleted"} {
		data, err := notebook.Write(&notebook.Notebook{Major: 4, Minor: 2, Metadata: map[string]any{}, Cells: cells[:n]})
		if err != nil {
			t.Fatal(err)
		}
		p := Read(data)
		p.Against(built, []string{"a", "b"})
		if last := p.Flags[len(p.Flags)-1].Code; last != want || p.Flags[0].Code != "format" {
			t.Errorf("%+v, want %s", p.Flags, want)
		}
	}
}
