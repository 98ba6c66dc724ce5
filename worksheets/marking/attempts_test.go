package marking_test

import (
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"counterpoise/worksheets/marking"
	"counterpoise/worksheets/marking/tabular"
	"counterpoise/worksheets/notebook"
	"counterpoise/worksheets/question"
	"counterpoise/worksheets/worksheet"
)

// record is what an output keeps of attempts at these minutes after opening.
func record(t *testing.T, student, question string, minutes []int, verdicts string) map[string]any {
	t.Helper()
	opened := time.Date(2026, 5, 4, 9, 0, 0, 0, time.UTC)
	r := worksheet.AttemptRecord{Sheet: "testdata", Student: student, Question: question, Opened: opened}
	for i, v := range strings.Fields(verdicts) {
		r.Attempts = append(r.Attempts, worksheet.Attempt{At: opened.Add(time.Duration(minutes[i]) * time.Minute), Verdict: v})
	}
	data, err := json.Marshal(worksheet.Answered{Record: r}.MIMEBundle())
	if err != nil {
		t.Fatal(err)
	}
	var bundle map[string]any
	if err := json.Unmarshal(data, &bundle); err != nil {
		t.Fatal(err)
	}
	bundle["text/plain"] = "feedback"
	return bundle
}

// tried writes a script of the short sheet whose answers to depth and mass are
// right and whose output for depth holds that bundle.
func tried(t *testing.T, m *maker, bundle map[string]any) []byte {
	t.Helper()
	nb := m.nb.Copy()
	nb.Metadata["counterpoise"] = map[string]any{"sheet": m.key.Sheet, "student": "s00001"}
	nb.Cells[0].Source = "// opened elsewhere"
	v := m.values(m.key.Students[0])
	for i := range nb.Cells {
		c := &nb.Cells[i]
		switch {
		case strings.HasPrefix(c.Source, "//worksheet:answer depth"):
			depth := (2*v["m"]*v["h"] + v["M"]*v["h"]/2) / (2*v["m"] + v["M"])
			c.Source += tabular.Number(depth*1000) + " mm"
			c.Outputs = []notebook.Output{{Type: notebook.Result, Data: bundle, Metadata: map[string]any{}}}
		case strings.HasPrefix(c.Source, "//worksheet:answer mass"):
			c.Source += tabular.Number(1000*(2*v["m"]+v["M"])) + " g"
		}
	}
	data, err := notebook.Write(nb)
	if err != nil {
		t.Fatal(err)
	}
	return data
}

func codes(r marking.Result) []string {
	var all []string
	for _, f := range r.Flags {
		all = append(all, f.Code)
	}
	return all
}

func TestAttemptsAreReadAndCostWhatThePolicySays(t *testing.T) {
	m := newMaker(t, 2)
	sheet := m.key.Sheet
	own := record(t, "s00001", "depth", []int{3, 5, 9, 12}, "wrong wrong wrong right")
	own[worksheet.AttemptsMIME].(map[string]any)["sheet"] = sheet
	costly := marking.DefaultPolicy()
	costly.Attempts.Free, costly.Attempts.Cost = 1, 0.25
	never := costly
	never.Attempts.Count = false
	other := record(t, "s00002", "depth", []int{1}, "right")
	other[worksheet.AttemptsMIME].(map[string]any)["sheet"] = sheet
	broken := record(t, "s00001", "depth", []int{9, 3}, "wrong right")
	for _, tt := range []struct {
		name   string
		bundle map[string]any
		policy marking.Policy
		marks  float64
		tried  int
		flags  []string
	}{
		{"nothing by default", own, marking.DefaultPolicy(), 2, 4, []string{"opening cell"}},
		{"by the policy", own, costly, 1.5, 4, []string{"opening cell", "attempts cost", "no attempts"}},
		{"counted no more", own, never, 2, 4, []string{"opening cell"}},
		{"another's output", other, costly, 2, 0, []string{"opening cell", "another's output", "no attempts", "no attempts"}},
		{"a record changed by hand", broken, marking.DefaultPolicy(), 2, 0, []string{"opening cell", "attempts"}},
	} {
		marker, err := marking.NewMarker(m.key, tt.policy)
		if err != nil {
			t.Fatal(err)
		}
		r := marker.Mark("s00001.ipynb", tried(t, m, tt.bundle))
		if r.Marks[1].Marks != tt.marks || len(r.Marks[1].Attempts) != tt.tried {
			t.Errorf("%s: %+v, want %g marks and %d attempts", tt.name, r.Marks[1], tt.marks, tt.tried)
		}
		if diff := cmp.Diff(tt.flags, codes(r)); diff != "" {
			t.Errorf("%s: flags %s", tt.name, diff)
		}
	}

	// A question's own rule comes before the policy's.
	key := *m.key
	key.Questions = append(key.Questions[:0:0], key.Questions...)
	key.Questions[1].Attempts = question.Attempts{Free: 2, Cost: 1}
	marker, err := marking.NewMarker(key.With(key.Questions), marking.DefaultPolicy())
	if err != nil {
		t.Fatal(err)
	}
	if r := marker.Mark("s00001.ipynb", tried(t, m, own)); r.Marks[1].Marks != 1 || r.Marks[1].Penalty != "1 for 3 wrong attempts" {
		t.Errorf("%+v, want 1 mark off", r.Marks[1])
	}
}

func TestTheTimeCurveIsInTheReport(t *testing.T) {
	m := newMaker(t, 2)
	own := record(t, "s00001", "depth", []int{3, 12}, "wrong right")
	own[worksheet.AttemptsMIME].(map[string]any)["sheet"] = m.key.Sheet
	folder, to := t.TempDir(), filepath.Join(t.TempDir(), "marked")
	if err := os.WriteFile(filepath.Join(folder, "one.ipynb"), tried(t, m, own), 0o644); err != nil {
		t.Fatal(err)
	}
	mark(t, m, folder, to)
	rows := table(t, filepath.Join(to, marking.ItemsFile))
	column := map[string]string{}
	for i, name := range rows[0].Cells {
		column[name] = rows[2].Cells[i]
	}
	if column["question"] != "depth" || column["attempts"] != "2" || column["right at first"] != "0" || column["minutes to right"] != "12" {
		t.Errorf("%v", column)
	}
	report, err := os.ReadFile(filepath.Join(to, marking.Report))
	if err != nil || !strings.Contains(string(report), "Answers over time") {
		t.Errorf("the report has no time curve: %v", err)
	}
}

func table(t *testing.T, path string) []tabular.Row {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := tabular.Read(f)
	if err != nil {
		t.Fatal(err)
	}
	return rows
}

// A policy file keeps the defaults of what it leaves out, also inside a field.
func TestAPolicyKeepsItsDefaults(t *testing.T) {
	path := filepath.Join(t.TempDir(), "policy.yaml")
	if err := os.WriteFile(path, []byte("attempts: {cost: 0.5}\nlate: 2\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	want := marking.DefaultPolicy()
	want.Attempts.Cost, want.Late = 0.5, 2
	got, err := marking.ReadPolicy(path)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
	text, err := got.YAML()
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, text, 0o644); err != nil {
		t.Fatal(err)
	}
	if again, err := marking.ReadPolicy(path); err != nil || again != got {
		t.Errorf("%s reads as %+v, %v", text, again, err)
	}
}

// Slips without a name are counted apart, and so are wrong answers in which no
// slip is known.
func TestUnnamedSlipsAreCountedApart(t *testing.T) {
	m := newMaker(t, 5)
	key := *m.key
	key.Questions = append(key.Questions[:0:0], key.Questions...)
	key.Questions[4].Slips = []question.Slip{{Gives: "h", Say: "No arms?"}, {Gives: "h/2", Say: "No weights?"}, {Gives: "2 h", Name: "doubled", Say: "Twice?"}}
	own := key.With(key.Questions)
	folder, to := t.TempDir(), filepath.Join(t.TempDir(), "marked")
	for i, answer := range []string{"h", "h/2", "2 h", "h^3/(m - M)^2 + 17 h", "h ("} {
		nb := m.nb.Copy()
		nb.Metadata["counterpoise"] = map[string]any{"sheet": m.key.Sheet, "student": m.key.Students[i].ID}
		for k := range nb.Cells {
			if strings.HasPrefix(nb.Cells[k].Source, "//worksheet:answer formula") {
				nb.Cells[k].Source += answer
			}
		}
		if err := notebook.WriteFile(filepath.Join(folder, m.key.Students[i].ID+".ipynb"), nb); err != nil {
			t.Fatal(err)
		}
	}
	if err := marking.Run(context.Background(), marking.Job{Folder: folder, Key: own, Policy: marking.DefaultPolicy(), To: to}); err != nil {
		t.Fatal(err)
	}
	if _, err := marking.Finish(to, own); err != nil {
		t.Fatal(err)
	}
	row := table(t, filepath.Join(to, marking.ItemsFile))[5].Cells
	if got := strings.Join(row, ","); !strings.Contains(got, "doubled (1); foreseen: h (1); foreseen: h/2 (1),0,1,") {
		t.Errorf("%s", got)
	}
}
