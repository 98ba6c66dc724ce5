package script

import (
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/google/go-cmp/cmp"
)

func TestAnswersInACell(t *testing.T) {
	for _, tt := range []struct {
		name, source string
		want         []Answer
	}{
		{"as built", "//worksheet:answer depth\n46 mm\n", []Answer{{Question: "depth", Text: "46 mm\n"}}},
		{"nothing typed", "//worksheet:answer depth\n", []Answer{{Question: "depth"}}},
		{"blanks before", "\n\n  // worksheet:answer depth  \n46 mm", []Answer{{Question: "depth", Text: "46 mm"}}},
		{"two joined", "//worksheet:answer a\n1\n//worksheet:derive b\n2\n3", []Answer{{Question: "a", Text: "1\n"}, {Question: "b", Text: "2\n3"}}},
		{"a hint ends it", "//worksheet:answer a\n1\n//worksheet:hint a\n", []Answer{{Question: "a", Text: "1\n"}}},
		{"a call", "worksheet.Answer(\"depth\", `46 mm`)", []Answer{{Question: "depth", Text: "46 mm"}}},
		{"a call over lines", "worksheet.Derive(\n\t\"why\",\n\t`a = b\nb = c`,\n)", []Answer{{Question: "why", Text: "a = b\nb = c"}}},
		{"a call that computes", "worksheet.Answer(name, \"46 mm\")", nil},
		{"in a comment", "// worksheet.Answer(\"depth\", \"46 mm\")", nil},
		{"other Go", "worksheet := 3\nfmt.Println(worksheet)", nil},
		{"no name", "//worksheet:answer\n46 mm", nil},
		{"carriage returns", "//worksheet:answer depth\r\n46 mm\r\n", []Answer{{Question: "depth", Text: "46 mm\r\n"}}},
	} {
		if diff := cmp.Diff(tt.want, answersIn(tt.source)); diff != "" {
			t.Errorf("%s: %s", tt.name, diff)
		}
	}
}

const small = `{"nbformat":4,"nbformat_minor":5,"metadata":{"counterpoise":{"sheet":"heron","student":"s1"}},"cells":[
{"cell_type":"code","id":"a","metadata":{},"outputs":[],"execution_count":null,"source":["//worksheet:answer depth\n","46 mm"]},
{"cell_type":"code","id":"b","metadata":{"counterpoise":{"question":"mass"}},"outputs":[],"execution_count":null,"source":"20 g"}]}`

func TestAScriptIsReadAsItIs(t *testing.T) {
	p := Read([]byte(small))
	want := []Answer{{Question: "depth", Text: "46 mm", Cell: 1}, {Question: "mass", Text: "20 g", Cell: 2}}
	if diff := cmp.Diff(want, p.Answers); diff != "" || p.Student != "s1" || p.Sheet != "heron" {
		t.Errorf("%s%+v", diff, p)
	}
	var codes []string
	for _, f := range p.Flags {
		codes = append(codes, f.Code)
	}
	if diff := cmp.Diff([]string{"opening cell", "first line lost"}, codes); diff != "" {
		t.Error(diff)
	}
}

func FuzzRead(f *testing.F) {
	f.Add([]byte(small))
	f.Add([]byte(strings.ReplaceAll(small, "46 mm", "//worksheet:derive x\\n1\\n")))
	f.Fuzz(func(t *testing.T, data []byte) {
		p := Read(data)
		seen := map[string]bool{}
		for _, a := range p.Answers {
			if seen[a.Question] {
				t.Fatalf("two answers to %q", a.Question)
			}
			seen[a.Question] = true
			if a.Text != strings.TrimSpace(a.Text) || a.Cell < 1 {
				t.Fatalf("%+v", a)
			}
		}
		for _, flag := range p.Flags {
			if flag.Code == "" || strings.ContainsAny(flag.Say, "\n") || !utf8.ValidString(flag.Say) {
				t.Fatalf("%+v", flag)
			}
		}
	})
}
