package marking_test

import (
	"fmt"
	"maps"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"sync"
	"testing"

	"github.com/google/go-cmp/cmp"

	"counterpoise/worksheets/marking/practice"
	"counterpoise/worksheets/source"
)

// scripts is how many scripts a test is to make: COUNTERPOISE_SCRIPTS, or the
// number of an ordinary run.
func scripts(t testing.TB, ordinary int) int {
	t.Helper()
	text := os.Getenv("COUNTERPOISE_SCRIPTS")
	if text == "" {
		return ordinary
	}
	n, err := strconv.Atoi(text)
	if err != nil {
		t.Fatal(err)
	}
	return n
}

// handedIn is a class whose scripts lie in a folder, with what each must get.
type handedIn struct {
	class   *practice.Class
	folder  string
	truth   map[string]practice.Truth // by label
	missing int
	odd     map[string]int // how often each oddity was made
}

// handIn writes the scripts of a class: some as they were handed out, some odd,
// some in a zip file, some twice, some not at all.
func handIn(t testing.TB, c *practice.Class, shift int) handedIn {
	t.Helper()
	h := handedIn{class: c, folder: t.TempDir(), truth: map[string]practice.Truth{}, odd: map[string]int{}}
	write := func(name string, s practice.Script) {
		path := filepath.Join(h.folder, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, s.Data, 0o644); err != nil {
			t.Fatal(err)
		}
		h.truth[name] = s.Truth
	}
	ways := practice.Oddities()
	var packed []practice.Script
	for i := range c.Key.Students {
		s, err := c.Plain(i)
		if err != nil {
			t.Fatal(err)
		}
		way := ""
		if i%3 == 0 {
			k := (i/3 + shift) % len(ways)
			o, ok, err := c.Odd(i, k)
			if err != nil {
				t.Fatal(err)
			}
			if ok {
				s, way = o, ways[k]
				h.odd[way]++
			}
		}
		if s.Truth.Student == "" {
			h.missing++ // nobody can know that it came
		}
		switch i % 11 {
		case 4:
			packed = append(packed, s)
		case 5:
			if way == "" {
				h.missing++
				continue
			}
			fallthrough
		default:
			write(fmt.Sprintf("%d/%d/%s", i%2, i, s.File), s)
		case 7:
			write(fmt.Sprintf("%d/%s", i, s.File), s)
			again := s
			if way == "" {
				again.Truth.Flags = append(slices.Clone(s.Truth.Flags), "renamed")
				write(fmt.Sprintf("%d/again.ipynb", i), again)
			}
		}
	}
	data, err := practice.Zip(packed)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(h.folder, "platform.zip"), data, 0o644); err != nil {
		t.Fatal(err)
	}
	for i, s := range packed {
		h.truth[fmt.Sprintf("platform.zip: group %d/%03d/%s", i%3, i, s.File)] = s.Truth
	}
	return h
}

// agree holds the results of a run against the truth.
func (h handedIn) agree(t *testing.T, to string) {
	t.Helper()
	seen := 0
	for _, r := range results(t, to) {
		want, ok := h.truth[r.Script]
		if !ok {
			t.Errorf("a script %s that nobody handed in", r.Script)
			continue
		}
		seen++
		marks, verdicts, slips := map[string]float64{}, map[string]string{}, map[string]string{}
		for i := range r.Marks {
			m := &r.Marks[i]
			marks[m.Question], verdicts[m.Question] = m.Marks, m.Verdict
			if _, ok := want.Slip[m.Question]; ok {
				slips[m.Question] = m.Slip
			}
		}
		codes := map[string]bool{}
		for _, f := range r.Flags {
			codes[f.Code] = true
		}
		faults := ""
		compare := func(what, diff string) {
			if diff != "" {
				faults += what + ": " + diff
			}
		}
		compare("student", cmp.Diff(want.Student, r.Student))
		compare("marked", cmp.Diff(want.Marked, r.Marked()))
		compare("flags", cmp.Diff(slices.Compact(slices.Sorted(slices.Values(want.Flags))), slices.Sorted(maps.Keys(codes))))
		if want.Marked {
			compare("verdicts", cmp.Diff(want.Verdict, verdicts))
			compare("marks", cmp.Diff(want.Marks, marks))
			compare("slips", cmp.Diff(want.Slip, slips))
			compare("total", cmp.Diff(math.Floor(want.Total()/0.5+0.5)*0.5, r.Total))
		}
		if faults != "" {
			t.Errorf("%s %s\n%s%v\n%+v", h.class.Key.Sheet, r.Script, faults, r.Flags, r.Marks)
			return
		}
	}
	if seen != len(h.truth) {
		t.Errorf("%s: %d of %d scripts have a result", h.class.Key.Sheet, seen, len(h.truth))
	}
}

// Every mark equals the truth in classes of all twelve worksheets, odd scripts
// among them, and every oddity has its flag. COUNTERPOISE_SCRIPTS=3000 makes it
// as large as a real year.
func TestEveryMarkEqualsTheTruth(t *testing.T) {
	n := scripts(t, 132)
	classes, err := practice.Library((n+11)/12, 7)
	if err != nil {
		t.Fatal(err)
	}
	if len(classes) != 12 {
		t.Fatalf("%d worksheets, want 12", len(classes))
	}
	odd := map[string]int{}
	made, questions := 0, 0
	for i, c := range classes {
		h := handIn(t, c, 4*i)
		to := filepath.Join(t.TempDir(), "marked")
		s := mark(t, &maker{key: c.Key}, h.folder, to)
		h.agree(t, to)
		if t.Failed() {
			return
		}
		if s.Scripts != len(h.truth) || s.Missing != h.missing {
			t.Errorf("%s: %+v, want %d scripts and %d missing", c.Key.Sheet, s, len(h.truth), h.missing)
		}
		made += len(h.truth)
		questions += len(h.truth) * len(c.Key.Questions)
		for way, times := range h.odd {
			odd[way] += times
		}
	}
	for _, way := range practice.Oddities() {
		if odd[way] == 0 {
			t.Errorf("no script came with: %s", way)
		}
	}
	t.Logf("%d scripts, %d answers; odd ones: %v", made, questions, odd)
}

// shortClass is a class of the short sheet, each with a copy of their own.
var shortClass = sync.OnceValues(func() (*practice.Class, error) {
	sheet, err := source.ReadFile("testdata/worksheet.md")
	if err != nil {
		return nil, err
	}
	return practice.New(sheet, 12, 3)
})

func TestPracticeIsTheSameAgain(t *testing.T) {
	c, err := shortClass()
	if err != nil {
		t.Fatal(err)
	}
	for i := range 3 {
		a, err := c.Plain(i)
		if err != nil {
			t.Fatal(err)
		}
		b, err := c.Plain(i)
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(a, b); diff != "" {
			t.Error(diff)
		}
	}
}
