package journal

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func fill(t interface{ Fatal(...any) }, folder string, from, to int) {
	j, n, err := Open(folder, []byte(`{"job":1}`))
	if err != nil {
		t.Fatal(err)
	}
	if n != from {
		t.Fatal(fmt.Sprintf("%d lines there, want %d", n, from))
	}
	for i := from; i < to; i++ {
		if err := j.Append(fmt.Appendf(nil, `{"n":%d}`, i)); err != nil {
			t.Fatal(err)
		}
	}
	if err := j.Close(); err != nil {
		t.Fatal(err)
	}
}

// A file cut at any byte, as a killed run leaves it, goes on to the same bytes.
func TestARunCutAnywhereEndsTheSame(t *testing.T) {
	whole := t.TempDir()
	fill(t, whole, 0, 50)
	want, err := os.ReadFile(filepath.Join(whole, Lines))
	if err != nil {
		t.Fatal(err)
	}
	base := t.TempDir()
	run := 0
	rapid.Check(t, func(t *rapid.T) {
		run++
		folder := filepath.Join(base, fmt.Sprint(run))
		fill(t, folder, 0, 50)
		cut := rapid.IntRange(0, len(want)).Draw(t, "cut")
		if err := os.Truncate(filepath.Join(folder, Lines), int64(cut)); err != nil {
			t.Fatal(err)
		}
		fill(t, folder, strings.Count(string(want[:cut]), "\n"), 50)
		got, err := os.ReadFile(filepath.Join(folder, Lines))
		if err != nil {
			t.Fatal(err)
		}
		if string(got) != string(want) {
			t.Fatalf("cut at %d, the results differ", cut)
		}
	})
}

func TestForeignFoldersAreRefused(t *testing.T) {
	folder := t.TempDir()
	fill(t, folder, 0, 3)
	if _, _, err := Open(folder, []byte(`{"job":2}`)); err == nil || !strings.Contains(err.Error(), "another job") {
		t.Errorf("another job: %v", err)
	}
	other := t.TempDir()
	if err := os.WriteFile(filepath.Join(other, "thesis.doc"), nil, 0o644); err != nil {
		t.Fatal(err)
	}
	if _, _, err := Open(other, []byte(`{}`)); err == nil || !strings.Contains(err.Error(), "fresh folder") {
		t.Errorf("a folder with other files: %v", err)
	}
}

func TestEachGivesTheLinesInOrder(t *testing.T) {
	folder := t.TempDir()
	fill(t, folder, 0, 20)
	n := 0
	err := Each(folder, func(line []byte) error {
		if want := fmt.Sprintf(`{"n":%d}`, n); string(line) != want {
			t.Errorf("line %d is %s, want %s", n, line, want)
		}
		n++
		return nil
	})
	if err != nil || n != 20 {
		t.Errorf("%d lines, %v; want 20", n, err)
	}
}
