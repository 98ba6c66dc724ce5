package maths_test

import (
	"fmt"
	"testing"

	"counterpoise/worksheets/page/maths"

	"github.com/google/go-cmp/cmp"
	"github.com/yuin/goldmark"
	"github.com/yuin/goldmark/ast"
	"github.com/yuin/goldmark/text"
)

func find(t *testing.T, source string) []string {
	t.Helper()
	md := goldmark.New(goldmark.WithExtensions(maths.Extension))
	var found []string
	check := func(kind, tex string, at int) {
		if len(tex) > 0 && source[at:at+1] != tex[:1] {
			t.Errorf("%q: %q is said to stand at byte %d", source, tex, at)
		}
		found = append(found, fmt.Sprintf("%s %s", kind, tex))
	}
	err := ast.Walk(md.Parser().Parse(text.NewReader([]byte(source))), func(n ast.Node, in bool) (ast.WalkStatus, error) {
		if in {
			switch n := n.(type) {
			case *maths.Formula:
				kind := "line"
				if n.Display {
					kind = "own"
				}
				check(kind, n.TeX, n.At)
			case *maths.Block:
				check("block", n.TeX, n.At)
			}
		}
		return ast.WalkContinue, nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return found
}

// The rules for dollar signs are those of the Markdown reader of pandoc, User's
// Guide, section "Extension: tex_math_dollars". From memory, unchecked.
func TestFormulasAreFound(t *testing.T) {
	for _, tt := range []struct {
		source string
		want   []string
	}{
		{"a $x_1$ and $y_2$.", []string{"line x_1", "line y_2"}},
		{"costs $5 and $6", nil},
		{`costs \$5 and $x$`, []string{"line x"}},
		{`a $5\$ + x$ b`, []string{`line 5\$ + x`}},
		{"`$x$`", nil},
		{"*a $b*c$ d*", []string{"line b*c"}},
		{"a $x\n= y$ b", []string{"line x\n= y"}},
		{"$$E$$", []string{"block E"}},
		{"$$\na\n- b\n+ c\n= d\n$$\n\nafter $z$", []string{"block \na\n- b\n+ c\n= d\n", "line z"}},
		{"text\n$$\na\n$$\nmore", []string{"block \na\n"}},
		{"so $$a$$ then", []string{"own a"}},
		{"$$a$$ then", []string{"own a"}},
		{"- item $$a$$\n- $b$", []string{"own a", "line b"}},
		{"no end $x", nil},
		{"$ x$", nil},
		{"empty $$$$", nil},
		{"    $x$ in code", nil},
		{"θ then $é$", []string{"line é"}},
	} {
		if diff := cmp.Diff(tt.want, find(t, tt.source)); diff != "" {
			t.Errorf("%q\n%s", tt.source, diff)
		}
	}
}
