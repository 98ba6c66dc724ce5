package session

import (
	"strings"
	"testing"
)

func TestSplit(t *testing.T) {
	for _, tt := range []struct {
		cell  string
		kinds string // i import, d declaration, s statement, p package
	}{
		{"x := 1; y := 2", "ss"},
		{"import \"fmt\"\nfmt.Println(1)", "is"},
		{"func f() {}\nfunc() {}()\nfunc (t T) m() {}\nfunc (a int) {}(3)", "dsds"},
		{"type T struct {\n\tA int\n}\nconst c = 1\nvar v = 2", "dds"},
		{"package main\nfunc main() {}", "pd"},
		{"s := `raw; func f() {\n`\nx", "ss"},
		{"// only a comment", ""},
		{"func f[T any](x T) {}; type A int; f(1)", "dds"},
	} {
		got := ""
		for _, p := range split(tt.cell) {
			got += map[kind]string{importing: "i", declaration: "d", statement: "s", packaging: "p"}[p.kind]
		}
		if got != tt.kinds {
			t.Errorf("%q splits into %s, want %s", tt.cell, got, tt.kinds)
		}
	}
}

// FuzzSplit checks that pieces follow one another without overlapping, that what
// lies between them is blank or comment, and that blanking keeps every place.
func FuzzSplit(f *testing.F) {
	for _, tt := range faulty {
		f.Add(strings.Replace(tt.cell, "¦", "", 1))
	}
	f.Add(usualCell)
	f.Fuzz(func(t *testing.T, code string) {
		pieces := split(code)
		end := 0
		for _, p := range pieces {
			if p.start < end || p.end < p.start || p.end > len(code) {
				t.Fatalf("%q: piece %v after %d", code, p, end)
			}
			between := code[end:p.start]
			if !strings.Contains(between, "/") && strings.Trim(between, " \t\r\n;\ufeff") != "" {
				t.Fatalf("%q: %q lies between pieces", code, between)
			}
			end = p.end
		}
		for _, want := range []kind{importing, declaration, statement} {
			text := only(code, pieces, func(k kind) bool { return k == want })
			if len(text) != len(code) || strings.Count(text, "\n") != strings.Count(code, "\n") {
				t.Fatalf("%q: blanking gives %q", code, text)
			}
		}
	})
}
