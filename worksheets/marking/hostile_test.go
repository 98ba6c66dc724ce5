package marking_test

import (
	"archive/zip"
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"counterpoise/worksheets/marking"
	"counterpoise/worksheets/marking/journal"
	"counterpoise/worksheets/notebook"
)

// tree is the fingerprint of every file under a folder.
func tree(t *testing.T, folder string) map[string]string {
	t.Helper()
	all := map[string]string{}
	err := filepath.WalkDir(folder, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		rel, err := filepath.Rel(folder, path)
		if err != nil {
			return err
		}
		if d.Type()&fs.ModeSymlink != 0 {
			all[rel] = "link"
			return nil
		}
		data, err := os.ReadFile(path)
		all[rel] = fmt.Sprintf("%x", sha256.Sum256(data))
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return all
}

// hostile is the corpus: the name of each file, what is in it, and the flag that
// it must get; an empty flag means that only an answer is hostile: the script is
// marked like any other, and the answer is wrong, unreadable or a human's.
func (m *maker) hostile(t *testing.T) map[string]struct {
	data []byte
	flag string
} {
	t.Helper()
	type file = struct {
		data []byte
		flag string
	}
	all := map[string]file{}
	nb, _ := m.script(0)
	good, err := notebook.Write(nb)
	if err != nil {
		t.Fatal(err)
	}
	with := func(change func(nb *notebook.Notebook)) []byte {
		c, _ := m.script(0)
		change(c)
		data, err := notebook.Write(c)
		if err != nil {
			t.Fatal(err)
		}
		return data
	}
	about := func(nb *notebook.Notebook) map[string]any { return nb.Metadata["counterpoise"].(map[string]any) }
	answer := func(nb *notebook.Notebook, text string) {
		for i := range nb.Cells {
			if strings.HasPrefix(nb.Cells[i].Source, "//worksheet:answer formula") {
				nb.Cells[i].Source = "//worksheet:answer formula\n" + text
			}
		}
	}

	for i, cut := range []int{0, 1, 10, len(good) / 3, len(good) / 2, len(good) - 2} {
		all[fmt.Sprintf("cut-%d.ipynb", i)] = file{good[:cut], "unreadable"}
	}
	for i, text := range []string{"null", "[]", "{}", "7", `"text"`, "{\"cells\":[]}", `{"nbformat":4}`, `{"nbformat":99,"nbformat_minor":0,"metadata":{},"cells":[]}`, "not json", "\xff\xfe\x00", "<html><script>alert(1)</script></html>", "%PDF-1.4"} {
		all[fmt.Sprintf("foreign-%02d.ipynb", i)] = file{[]byte(text), "unreadable"}
	}
	for i, depth := range []int{101, 10_000, 1_000_000} {
		all[fmt.Sprintf("deep-%d.ipynb", i)] = file{[]byte(strings.Repeat(`{"cells":[`, depth)), "unreadable"}
		all[fmt.Sprintf("deep-closed-%d.ipynb", i)] = file{[]byte(`{"nbformat":4,"nbformat_minor":5,"cells":[],"metadata":{"x":` + strings.Repeat("[", depth) + strings.Repeat("]", depth) + `}}`), "unreadable"}
	}
	all["giant.ipynb"] = file{bytes.Repeat([]byte(" "), 17<<20), "unreadable"}
	all["many-cells.ipynb"] = file{[]byte(`{"nbformat":4,"nbformat_minor":5,"metadata":{},"cells":[` + strings.TrimSuffix(strings.Repeat(`{"cell_type":"raw","id":"a","metadata":{},"source":""},`, 250_000), ",") + `]}`), "unreadable"}
	all["many-answers.ipynb"] = file{with(func(nb *notebook.Notebook) {
		var b strings.Builder
		for i := range 5000 {
			fmt.Fprintf(&b, "//worksheet:answer x%d\n1\n", i)
		}
		nb.Cells = append(nb.Cells, notebook.Cell{ID: "flood", Type: notebook.Code, Source: b.String()})
	}), "no such question"}
	for i, text := range []string{
		strings.Repeat("(", 100_000), "9^9^9^9^9^9", strings.Repeat("x+", 50_000) + "x", strings.Repeat(`\frac{1}{`, 20_000), strings.Repeat("sin ", 20_000) + "m",
		`<script>alert("x")</script>`, `"><img src=x onerror=alert(1)>`, "</style><script>alert(1)</script>", "\x1b[2J\x00\x07", "\u202e\u2066 gnitirw", "=cmd|'/c calc'!A0", "@SUM(1)", "+1", "-1", "$$\\href{javascript:alert(1)}{x}$$", "![x](javascript:alert(1))",
	} {
		all[fmt.Sprintf("answer-%02d.ipynb", i)] = file{with(func(nb *notebook.Notebook) { answer(nb, text) }), ""}
	}
	for i, who := range []string{"../../x", "=cmd()", "s99999", "<b>s00001</b>", strings.Repeat("s", 100_000), "s00001\n", "CON", "\x00"} {
		all[fmt.Sprintf("student-%02d.ipynb", i)] = file{with(func(nb *notebook.Notebook) { about(nb)["student"] = who }), "unknown student"}
	}
	all["student-number.ipynb"] = file{with(func(nb *notebook.Notebook) { about(nb)["student"] = 7 }), "no student"}
	all["sheet-other.ipynb"] = file{with(func(nb *notebook.Notebook) { about(nb)["sheet"] = "another" }), "two sheets"}
	all["metadata-gone.ipynb"] = file{with(func(nb *notebook.Notebook) { nb.Metadata = map[string]any{} }), "no student"}
	all["opening-gone.ipynb"] = file{with(func(nb *notebook.Notebook) { nb.Cells = nb.Cells[1:] }), "opening cell"}
	all["opening-changed.ipynb"] = file{with(func(nb *notebook.Notebook) { nb.Cells[0].Source = "//worksheet:open\nAAAA" }), "opening cell"}
	all["empty.ipynb"] = file{with(func(nb *notebook.Notebook) { nb.Cells, nb.Metadata = nil, map[string]any{} }), "another notebook"}
	all["copied.ipynb"] = file{with(func(nb *notebook.Notebook) { nb.Cells = append(nb.Cells, nb.Cells...) }), "cell copied"}
	all["retyped.ipynb"] = file{with(func(nb *notebook.Notebook) {
		for i := range nb.Cells {
			if strings.HasPrefix(nb.Cells[i].Source, "//worksheet:answer") {
				nb.Cells[i].Type = notebook.Markdown
			}
		}
	}), "cell retyped"}
	all["first-line-lost.ipynb"] = file{with(func(nb *notebook.Notebook) {
		for i := range nb.Cells {
			if first, rest, ok := strings.Cut(nb.Cells[i].Source, "\n"); ok && strings.HasPrefix(first, "//worksheet:answer") {
				nb.Cells[i].Source = rest
			}
		}
	}), "first line lost"}
	all["joined.ipynb"] = file{with(func(nb *notebook.Notebook) {
		var b strings.Builder
		for i := range nb.Cells {
			if strings.HasPrefix(nb.Cells[i].Source, "//worksheet:answer") {
				b.WriteString(nb.Cells[i].Source + "\n")
				nb.Cells[i].Source = ""
			}
		}
		nb.Cells = append(nb.Cells, notebook.Cell{ID: "all", Type: notebook.Code, Source: b.String()})
	}), "cells joined"}
	all["joined-same.ipynb"] = file{with(func(nb *notebook.Notebook) { answer(nb, "h\r\n//worksheet:answer formula\r\nh") }), "cells joined"}
	all["twice.ipynb"] = file{with(func(nb *notebook.Notebook) {
		nb.Cells = append(nb.Cells, notebook.Cell{ID: "again", Type: notebook.Code, Source: "//worksheet:answer formula\nh + 0.25 h"})
	}), "answered twice"}
	return all
}

func TestHostileScripts(t *testing.T) {
	m := newMaker(t, 3)
	base := t.TempDir()
	scripts, to := filepath.Join(base, "handed-in"), filepath.Join(base, "marked")
	corpus := m.hostile(t)
	if len(corpus) < 60 {
		t.Fatalf("%d hostile files, want at least 60", len(corpus))
	}
	if err := os.MkdirAll(scripts, 0o755); err != nil {
		t.Fatal(err)
	}
	var archive bytes.Buffer
	w := zip.NewWriter(&archive)
	for name, file := range corpus {
		if err := os.WriteFile(filepath.Join(scripts, name), file.data, 0o644); err != nil {
			t.Fatal(err)
		}
		f, err := w.Create("../../../" + name)
		if err != nil {
			t.Fatal(err)
		}
		if len(file.data) < 1<<20 {
			if _, err := f.Write(file.data); err != nil {
				t.Fatal(err)
			}
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(scripts, "all.zip"), archive.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink("/etc/passwd", filepath.Join(scripts, "passwd.ipynb")); err != nil {
		t.Fatal(err)
	}
	before := tree(t, base)
	mark(t, m, scripts, to)
	after := tree(t, base)
	for path, print := range after {
		if !strings.HasPrefix(path, "marked/") && before[path] != print {
			t.Errorf("%s was written", path)
		}
	}
	seen := 0
	for _, r := range results(t, to) {
		file, ok := corpus[r.Script]
		if !ok {
			continue
		}
		seen++
		var codes []string
		for _, f := range r.Flags {
			codes = append(codes, f.Code)
			if strings.ContainsAny(f.Say, "\n\x00\x1b") {
				t.Errorf("%s: flag %q", r.Script, f.Say)
			}
		}
		switch all := strings.Join(codes, "; "); {
		case file.flag == "" && (all != "" || !r.Marked()):
			t.Errorf("%s: flags %q, marked %v: want it marked and no flag", r.Script, all, r.Marked())
		case file.flag == "" && (r.Marks[4].Verdict == "right" || r.Marks[4].Verdict == "blank"):
			t.Errorf("%s: the hostile answer is %s", r.Script, r.Marks[4].Verdict)
		case !strings.Contains(all, file.flag):
			t.Errorf("%s: flags %q, want %q", r.Script, all, file.flag)
		}
	}
	if seen != len(corpus) {
		t.Errorf("%d of %d files have a result", seen, len(corpus))
	}
	pages(t, to)
	for path := range after {
		if path := filepath.ToSlash(path); strings.HasPrefix(path, "marked/") && (strings.Contains(path, "..") || strings.Contains(path, "=")) {
			t.Errorf("a file is called %s", path)
		}
	}
	book, err := os.ReadFile(filepath.Join(to, marking.Markbook))
	if err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(string(book)) {
		for cell := range strings.SplitSeq(strings.TrimRight(line, "\r\n"), ",") {
			if strings.HasPrefix(cell, "=") || strings.HasPrefix(cell, "@") || strings.HasPrefix(cell, "+") {
				t.Errorf("the markbook has the cell %s", cell)
			}
		}
	}
}

// pages checks that no page made from scripts has a script, a handler or a link
// that runs anything, and that each forbids them.
func pages(t *testing.T, to string) {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(to, marking.Feedback, "*.html"))
	if err != nil || len(files) == 0 {
		t.Fatalf("no feedback pages: %v", err)
	}
	for _, path := range append(files, filepath.Join(to, marking.Report)) {
		data, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		low := strings.ToLower(string(data))
		for _, bad := range []string{"<script", "<img src=x", "href=\"javascript", "src=\"javascript", "<iframe", "\x00", "\x1b"} {
			if strings.Contains(low, bad) {
				t.Errorf("%s holds %q", filepath.Base(path), bad)
			}
		}
		if !strings.Contains(low, "content-security-policy") || !strings.Contains(low, "default-src &#39;none&#39;") && !strings.Contains(low, "default-src 'none'") {
			t.Errorf("%s has no policy that forbids scripts", filepath.Base(path))
		}
	}
}

// A run that is stopped after any number of results goes on to the same bytes;
// so do shards that are merged.
func TestStoppedRunsAndShardsEndTheSame(t *testing.T) {
	m := newMaker(t, 40)
	base := t.TempDir()
	scripts := filepath.Join(base, "handed-in")
	m.class(t, scripts, 40)
	whole := filepath.Join(base, "whole")
	mark(t, m, scripts, whole)
	want := tree(t, whole)

	rng := rand.New(rand.NewPCG(3, 4))
	for try := range 5 {
		to := filepath.Join(base, fmt.Sprint("stopped-", try))
		ctx, stop := context.WithCancel(context.Background())
		after := rng.IntN(40)
		job := marking.Job{Folder: scripts, Key: m.key, Policy: marking.DefaultPolicy(), To: to, Progress: func(done, _ int) {
			if done > after {
				stop()
			}
		}}
		if err := marking.Run(ctx, job); err == nil && after < 30 {
			t.Log("the run ended before it could be stopped")
		}
		stop()
		// a killed process leaves half a line
		f, err := os.OpenFile(filepath.Join(to, journal.Lines), os.O_APPEND|os.O_WRONLY, 0)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := f.WriteString(`{"n":17,"scr`); err != nil {
			t.Fatal(err)
		}
		f.Close()
		mark(t, m, scripts, to)
		if diff := cmp.Diff(want, tree(t, to)); diff != "" {
			t.Errorf("stopped after %d: %s", after, diff)
		}
	}

	var parts []string
	for i := range 4 {
		to := filepath.Join(base, fmt.Sprint("part-", i))
		parts = append(parts, to)
		if err := marking.Run(context.Background(), marking.Job{Folder: scripts, Key: m.key, Policy: marking.DefaultPolicy(), To: to, Shard: marking.Shard{Part: i + 1, Of: 4}}); err != nil {
			t.Fatal(err)
		}
	}
	merged := filepath.Join(base, "merged")
	if err := marking.Merge(merged, parts); err != nil {
		t.Fatal(err)
	}
	if _, err := marking.Finish(merged, m.key); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(want, tree(t, merged)); diff != "" {
		t.Error(diff)
	}
	if err := marking.Merge(filepath.Join(base, "lacking"), parts[:3]); err == nil {
		t.Error("three of four shards were merged")
	}
}

func TestAnotherJobIsRefused(t *testing.T) {
	m := newMaker(t, 3)
	scripts, to := t.TempDir(), filepath.Join(t.TempDir(), "marked")
	m.class(t, scripts, 3)
	mark(t, m, scripts, to)
	p := marking.DefaultPolicy()
	p.FollowThrough = false
	err := marking.Run(context.Background(), marking.Job{Folder: scripts, Key: m.key, Policy: p, To: to})
	if err == nil || !strings.Contains(err.Error(), "another job") {
		t.Errorf("%v, want a refusal", err)
	}
}

func TestResultsHoldOneLineAScript(t *testing.T) {
	m := newMaker(t, 5)
	scripts, to := t.TempDir(), filepath.Join(t.TempDir(), "marked")
	m.class(t, scripts, 5)
	mark(t, m, scripts, to)
	n := 0
	err := journal.Each(to, func(line []byte) error { n++; return json.Unmarshal(line, &marking.Result{}) })
	if err != nil || n != 5 {
		t.Errorf("%d lines, %v", n, err)
	}
}
