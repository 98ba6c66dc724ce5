package marking_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"counterpoise/worksheets/marking"
	"counterpoise/worksheets/notebook"
)

func TestNotebooksGetTheirFeedback(t *testing.T) {
	m := newMaker(t, 4)
	scripts, to := t.TempDir(), filepath.Join(t.TempDir(), "marked")
	m.class(t, scripts, 4)
	before := tree(t, scripts)
	mark(t, m, scripts, to)
	if err := marking.WriteNotebooks(to, scripts, m.key); err != nil {
		t.Fatal(err)
	}
	for path, print := range tree(t, scripts) {
		if before[path] != print {
			t.Errorf("the script %s was written to", path)
		}
	}
	files, err := filepath.Glob(filepath.Join(to, marking.Notebooks, "*.ipynb"))
	if err != nil || len(files) != 4 {
		t.Fatalf("%d notebooks, %v; want 4", len(files), err)
	}
	marks := map[string][]marking.Mark{}
	for _, r := range results(t, to) {
		marks[r.Student] = r.Marks
	}
	for _, file := range files {
		nb, err := notebook.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if err := notebook.Validate(nb); err != nil {
			t.Errorf("%s: %v", file, err)
		}
		seen := 0
		for i := range nb.Cells {
			name, ok := strings.CutPrefix(nb.Cells[i].ID, "feedback-")
			if !ok {
				continue
			}
			seen++
			if !strings.HasPrefix(nb.Cells[i-1].Source, "//worksheet:answer "+name) || !strings.HasPrefix(nb.Cells[i].Source, "**") {
				t.Errorf("%s: the feedback to %s stands behind %q", file, name, nb.Cells[i-1].Source)
			}
		}
		if want := len(marks[strings.TrimSuffix(filepath.Base(file), ".ipynb")]); seen != want {
			t.Errorf("%s: %d cells of feedback, want %d", file, seen, want)
		}
	}
	if err := os.WriteFile(filepath.Join(scripts, "0", "s00001.ipynb"), []byte("{}"), 0o644); err != nil {
		t.Fatal(err)
	}
	if err := marking.WriteNotebooks(to, scripts, m.key); err == nil || !strings.Contains(err.Error(), "1 script changed") {
		t.Errorf("%v: want the changed script told", err)
	}
}
