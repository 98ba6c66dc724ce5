package tabular

import (
	"bytes"
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// The starts of a formula are those that the Open Worldwide Application
// Security Project names in its page "CSV Injection": = + - @, tab and carriage
// return. From memory, unchecked.
func TestNoCellStartsAFormula(t *testing.T) {
	for _, text := range []string{"=cmd()", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", "  =1", "＝1", "'=1", "\"=1"} {
		if got := Safe(text); !strings.HasPrefix(got, "'") && !strings.HasPrefix(got, "\uFFFD") {
			t.Errorf("Safe(%q) = %q", text, got)
		}
	}
	for _, text := range []string{"", "anna", "3.5 m", "a=b"} {
		if got := Safe(text); got != text {
			t.Errorf("Safe(%q) = %q, want it unchanged", text, got)
		}
	}
}

func TestWhatIsWrittenReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		want := rapid.SliceOfN(rapid.StringMatching(`[ -~äöü\n=+@']{0,12}`), 2, 5).Draw(t, "cells")
		var b bytes.Buffer
		w, err := NewWriter(&b)
		if err != nil {
			t.Fatal(err)
		}
		row := make([]any, len(want))
		for i, c := range want {
			row[i] = c
		}
		for _, r := range [][]any{{"a", "b"}, row} {
			if err := w.Row(r...); err != nil {
				t.Fatal(err)
			}
		}
		if err := w.Flush(); err != nil {
			t.Fatal(err)
		}
		rows, err := Read(&b)
		if err != nil {
			t.Fatal(err)
		}
		if len(rows) != 2 {
			t.Fatalf("%d rows, want 2", len(rows))
		}
		if diff := cmp.Diff(want, rows[1].Cells); diff != "" {
			t.Fatal(diff)
		}
	})
}

func TestNumbersStayNumbers(t *testing.T) {
	for _, tt := range []struct {
		x    float64
		want string
	}{{0, "0"}, {-1e-9, "0"}, {2.5, "2.5"}, {1.0 / 3, "0.3333"}, {math.NaN(), ""}, {100, "100"}} {
		if got := Number(tt.x); got != tt.want {
			t.Errorf("Number(%g) = %q, want %q", tt.x, got, tt.want)
		}
	}
}

func TestSemicolonsOfASpreadsheetAreRead(t *testing.T) {
	rows, err := Read(strings.NewReader("\uFEFFid;marks\r\ns1;2,5\r\n"))
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff([]Row{{1, []string{"id", "marks"}}, {2, []string{"s1", "2,5"}}}, rows); diff != "" {
		t.Error(diff)
	}
}

func FuzzRead(f *testing.F) {
	f.Add("a,b\n1,2\n")
	f.Add("\uFEFFa;b\r\n\"x\ny\";'=1\r\n")
	f.Fuzz(func(t *testing.T, text string) {
		rows, err := Read(strings.NewReader(text))
		if err != nil {
			return
		}
		for i := 1; i < len(rows); i++ {
			if rows[i].Line <= rows[i-1].Line {
				t.Fatalf("row %d is on line %d, after line %d", i, rows[i].Line, rows[i-1].Line)
			}
		}
	})
}
