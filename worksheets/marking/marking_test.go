package marking_test

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"counterpoise/worksheets/build"
	"counterpoise/worksheets/marking"
	"counterpoise/worksheets/marking/journal"
)

const pi = math.Pi

func sqrt(x float64) float64 { return math.Sqrt(x) }

// round4 rounds as a student does who writes four figures.
func round4(x float64) float64 {
	r, err := strconv.ParseFloat(strconv.FormatFloat(x, 'g', 4, 64), 64)
	if err != nil {
		panic(err)
	}
	return r
}

// sscan reads one number.
func sscan(text string, x *float64) (int, error) { return fmt.Sscan(text, x) }

func studentToken(s build.KeyStudent) string { return s.ID }

func results(t testing.TB, folder string) []marking.Result {
	t.Helper()
	f, err := os.Open(filepath.Join(folder, journal.Lines))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	var all []marking.Result
	scan := bufio.NewScanner(f)
	scan.Buffer(nil, journal.MaxLine)
	for scan.Scan() {
		var r marking.Result
		if err := json.Unmarshal(scan.Bytes(), &r); err != nil {
			t.Fatal(err)
		}
		all = append(all, r)
	}
	if err := scan.Err(); err != nil {
		t.Fatal(err)
	}
	return all
}

func mark(t testing.TB, m *maker, scripts, to string) marking.Summary {
	t.Helper()
	if err := marking.Run(context.Background(), marking.Job{Folder: scripts, Key: m.key, Policy: marking.DefaultPolicy(), To: to}); err != nil {
		t.Fatal(err)
	}
	s, err := marking.Finish(to, m.key)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// A sheet of ten questions, two of which carry earlier answers.
func TestEveryMarkOfAShortSheetEqualsTheTruth(t *testing.T) {
	n := scripts(t, 60)
	m := newMaker(t, n)
	folder, to := t.TempDir(), filepath.Join(t.TempDir(), "marked")
	truths := m.class(t, folder, n)
	s := mark(t, m, folder, to)
	if s.Scripts != n || s.Marked != n || s.Missing != 0 {
		t.Errorf("%+v: want %d scripts, all marked", s, n)
	}
	for _, r := range results(t, to) {
		data, err := os.ReadFile(filepath.Join(to, marking.Feedback, r.Student+".html"))
		if err != nil {
			t.Fatal(err)
		}
		own, _ := m.key.Student(r.Student)
		if want := "a weight of " + own.Values["m"] + " on each side"; !strings.Contains(strings.ReplaceAll(string(data), "\u00a0", " "), want) {
			t.Errorf("feedback of %s lacks %q", r.Student, want)
		}
		want := truths[r.Student]
		marks, verdicts := map[string]float64{}, map[string]string{}
		for _, q := range r.Marks {
			marks[q.Question], verdicts[q.Question] = q.Marks, q.Verdict
		}
		if diff := cmp.Diff(want.verdict, verdicts); diff != "" {
			t.Errorf("%s: %s\n%+v", r.Script, diff, r.Marks)
		}
		if diff := cmp.Diff(want.marks, marks); diff != "" {
			t.Errorf("%s: %s\n%+v", r.Script, diff, r.Marks)
		}
		if t.Failed() {
			return
		}
		if r.Total != math.Floor(want.total/0.5+0.5)*0.5 {
			t.Errorf("%s: total %g, want %g", r.Script, r.Total, want.total)
		}
	}
}
