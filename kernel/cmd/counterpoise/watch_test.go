package main

import (
	"bufio"
	"context"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// A saved worksheet is built again; a mistake is told and waited out.
func TestWatchBuildsAgain(t *testing.T) {
	folder := t.TempDir()
	sheet := filepath.Join(folder, "heron", "worksheet.md")
	save := func(text string) {
		t.Helper()
		if err := os.MkdirAll(filepath.Dir(sheet), 0o755); err != nil {
			t.Fatal(err)
		}
		// As many editors do it: a new file in the old one's place.
		if err := os.WriteFile(sheet+"~", []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		if err := os.Rename(sheet+"~", sheet); err != nil {
			t.Fatal(err)
		}
	}
	save("---\ntitle: One\n---\nfirst\n")
	ctx, cancel := context.WithCancel(t.Context())
	out, in := io.Pipe()
	ended := make(chan error, 1)
	b := buildCall{to: filepath.Join(folder, "out")}
	go func() {
		err := b.watchSheets(ctx, []string{filepath.Dir(sheet)}, in, in)
		in.Close()
		ended <- err
	}()
	lines := bufio.NewScanner(out)
	until := func(want string) {
		t.Helper()
		for lines.Scan() {
			if strings.Contains(lines.Text(), want) {
				return
			}
		}
		t.Fatalf("it ended before it said %q", want)
	}
	notebook := func() string {
		data, err := os.ReadFile(filepath.Join(b.to, "heron.ipynb"))
		if err != nil {
			t.Fatal(err)
		}
		return string(data)
	}
	until("waiting for a change")
	if !strings.Contains(notebook(), "first") {
		t.Error("the first build is missing")
	}
	save("---\ntitle: One\n---\n{{nothing}}\n")
	until("names no parameter")
	until("waiting for a change")
	save("---\ntitle: One\n---\nsecond\n")
	until("waiting for a change")
	if !strings.Contains(notebook(), "second") {
		t.Error("the change was not built")
	}
	cancel()
	go io.Copy(io.Discard, out)
	if err := <-ended; err != nil {
		t.Error(err)
	}
}
