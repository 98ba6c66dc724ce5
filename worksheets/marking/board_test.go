package marking_test

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"counterpoise/worksheets/marking"
)

func TestABoardKeepsEachDecision(t *testing.T) {
	m := newMaker(t, 12)
	scripts, to := t.TempDir(), filepath.Join(t.TempDir(), "marked")
	m.class(t, scripts, 12)
	mark(t, m, scripts, to)
	b, err := marking.OpenBoard(to, m.key)
	if err != nil {
		t.Fatal(err)
	}
	q := b.Questions()
	if len(q) != 1 || q[0].Name != "why" || len(q[0].Groups) != 2 || q[0].Groups[0].Times+q[0].Groups[1].Times != 12 {
		t.Fatalf("%+v: want one question with two groups of 12 answers", q)
	}
	row := q[0].Groups[0].Row
	at := time.Date(2026, 11, 25, 10, 0, 0, 0, time.UTC)
	if err := b.Decide(marking.Decision{Row: row, Marks: 1, By: "AB", At: at}); err != nil {
		t.Fatal(err)
	}
	if err := b.Decide(marking.Decision{Row: row, Marks: 2, By: "AB", At: at}); !errors.Is(err, marking.ErrReason) {
		t.Errorf("%v, want ErrReason", err)
	}
	if err := b.Decide(marking.Decision{Row: row, Marks: 2, By: "AB", Why: "second point found", At: at}); err != nil {
		t.Error(err)
	}
	for _, bad := range []marking.Decision{{Row: row, Marks: 3, By: "AB"}, {Row: row, Marks: -1, By: "AB"}, {Row: "x", Marks: 1, By: "AB"}, {Row: row, Marks: 2}} {
		if b.Decide(bad) == nil {
			t.Errorf("%+v was accepted", bad)
		}
	}
	log, err := os.ReadFile(filepath.Join(to, "decisions.jsonl"))
	if err != nil || strings.Count(string(log), "\n") != 2 || !strings.Contains(string(log), "second point found") {
		t.Errorf("log %s, %v: want both decisions and the reason", log, err)
	}
	again, err := marking.OpenBoard(to, m.key)
	if err != nil {
		t.Fatal(err)
	}
	if g := again.Questions()[0].Groups[0]; !g.Decided || g.Marks != 2 {
		t.Errorf("%+v: want the decision kept", g)
	}
}

func TestSeedsShowAMarkersDrift(t *testing.T) {
	m := newMaker(t, 4)
	scripts, to := t.TempDir(), filepath.Join(t.TempDir(), "marked")
	m.class(t, scripts, 4)
	first := mark(t, m, scripts, to)
	marker, err := marking.NewMarker(m.key, marking.DefaultPolicy())
	if err != nil {
		t.Fatal(err)
	}
	if _, err := marker.ReadSeeds(strings.NewReader("question,answer,marks\nnone,x,1\nwhy,x,9\n")); err == nil || !strings.Contains(err.Error(), "line 2") || !strings.Contains(err.Error(), "line 3") {
		t.Errorf("%v: want both lines told", err)
	}
	seeds, err := marker.ReadSeeds(strings.NewReader("question,answer,marks\nwhy,It is heavy.,0\n"))
	if err != nil {
		t.Fatal(err)
	}
	if err := marker.Sow(to, seeds); err != nil {
		t.Fatal(err)
	}
	s, err := marking.Finish(to, m.key)
	if err != nil || s != first {
		t.Fatalf("%+v, %v: seeds must not change the summary %+v", s, err, first)
	}
	all := decisions(t, fill(t, filepath.Join(to, marking.QueueFile), func(string) string { return "1" }), "AB")
	if err := marking.Decide(to, all); err != nil {
		t.Fatal(err)
	}
	if _, err := marking.Finish(to, m.key); err != nil {
		t.Fatal(err)
	}
	drift, err := os.ReadFile(filepath.Join(to, marking.DriftFile))
	if err != nil || !strings.Contains(string(drift), "AB,2026-11-25 09:00:00,why,It is heavy.,0,1,1") {
		t.Errorf("%s, %v", drift, err)
	}
}
