package marking_test

import (
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"counterpoise/worksheets/marking"
	"counterpoise/worksheets/marking/tabular"
)

// fill gives marks to every row of a queue, as a marker does in a spreadsheet.
func fill(t *testing.T, queue string, give func(answer string) string) string {
	t.Helper()
	rows := table(t, queue)
	path := filepath.Join(t.TempDir(), "filled.csv")
	out, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	defer out.Close()
	w, err := tabular.NewWriter(out)
	if err != nil {
		t.Fatal(err)
	}
	for i, r := range rows {
		cells := make([]any, len(r.Cells))
		for k, c := range r.Cells {
			cells[k] = c
		}
		if i > 0 {
			cells[6], cells[7] = give(r.Cells[2]), "read by hand"
		}
		if err := w.Row(cells...); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Flush(); err != nil {
		t.Fatal(err)
	}
	return path
}

func decisions(t *testing.T, path, by string) []marking.Decision {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	all, err := marking.ReadQueue(f, by, time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC))
	if err != nil {
		t.Fatal(err)
	}
	return all
}

func TestAHumansMarksJoinTheRest(t *testing.T) {
	m := newMaker(t, 12)
	scripts, to := t.TempDir(), filepath.Join(t.TempDir(), "marked")
	m.class(t, scripts, 12)
	first := mark(t, m, scripts, to)
	if first.Waiting != 12 {
		t.Fatalf("%d answers wait, want 12", first.Waiting)
	}
	queue := filepath.Join(to, marking.QueueFile)
	filled := fill(t, queue, func(answer string) string {
		if strings.HasPrefix(answer, "A tilt") {
			return "1,5"
		}
		return "2"
	})
	all := decisions(t, filled, "AB")
	if len(all) != 2 {
		t.Fatalf("%d decisions, want 2: equal answers stand in one row", len(all))
	}
	before := map[string]float64{}
	for _, r := range results(t, to) {
		before[r.Student] = r.Total
	}
	if err := marking.Decide(to, all); err != nil {
		t.Fatal(err)
	}
	s, err := marking.Finish(to, m.key)
	if err != nil || s.Waiting != 0 {
		t.Fatalf("%+v, %v: want nothing to wait", s, err)
	}
	f, err := os.Open(filepath.Join(to, marking.Markbook))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := tabular.Read(f)
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range rows[1:] {
		total, gain := number(t, r.Cells[5]), number(t, r.Cells[17])
		if math.Abs(total-before[r.Cells[0]]-gain) > 1e-9 || gain != 2 && gain != 1.5 {
			t.Errorf("%s: total %g after %g and %g for the prose", r.Cells[0], total, before[r.Cells[0]], gain)
		}
	}
}

func TestTwoMarkersAreCompared(t *testing.T) {
	m := newMaker(t, 12)
	scripts, to := t.TempDir(), filepath.Join(t.TempDir(), "marked")
	m.class(t, scripts, 12)
	mark(t, m, scripts, to)
	queue := filepath.Join(to, marking.QueueFile)
	a := decisions(t, fill(t, queue, func(string) string { return "1" }), "AB")
	b := decisions(t, fill(t, queue, func(answer string) string {
		if strings.HasPrefix(answer, "A tilt") {
			return "2"
		}
		return "1"
	}), "CD")
	differ, figure, err := marking.Compare(a, b)
	if err != nil {
		t.Fatal(err)
	}
	if len(differ) != 1 || differ[0].First != 1 || differ[0].Second != 2 || figure.Same != 1 || figure.Answers != 2 {
		t.Errorf("%+v, %+v", differ, figure)
	}
}

func TestMistakesInAQueueAreAllTold(t *testing.T) {
	_, err := marking.ReadQueue(strings.NewReader("row,question,answer,times,look for,of,marks,comment\nx,why,a,1,,2,3,\ny,why,b,1,,2,two,\n,why,c,1,,2,1,\n"), "AB", time.Time{})
	for _, want := range []string{"line 2: 3 marks, where 0 to 2 can be given", `line 3: marks "two" is no number`, "line 4: the row has lost its name"} {
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v lacks %q", err, want)
		}
	}
}

func number(t *testing.T, text string) float64 {
	t.Helper()
	var x float64
	if _, err := sscan(text, &x); err != nil {
		t.Fatalf("%q: %v", text, err)
	}
	return x
}
