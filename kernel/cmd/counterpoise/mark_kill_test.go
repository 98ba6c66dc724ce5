//go:build unix

package main

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"flag"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"counterpoise/worksheets/build"
	"counterpoise/worksheets/marking/practice"
	"counterpoise/worksheets/notebook"
	"counterpoise/worksheets/source"
	"counterpoise/worksheets/worksheet"
)

var (
	kills   = flag.Int("kills", 6, "how often a run of mark is killed in TestKilledRunsEndTheSame")
	scripts = flag.Int("scripts", 100, "scripts that are marked in TestKilledRunsEndTheSame and TestMarkingAtScale")
)

// A classroom is a folder with scripts of ten questions each, a key file, and
// room for results.
type classroom struct {
	folder string
	key    *build.KeyFile
}

func (c classroom) path(name string) string { return filepath.Join(c.folder, name) }

// copies is how many copies of the sheet are built; the students beyond share
// their numbers and answers, not their tokens.
const copies = 200

// newClassroom hands the short sheet out to n students and in again.
func newClassroom(t testing.TB, n int) classroom {
	t.Helper()
	c := classroom{folder: t.TempDir()}
	sheet, err := source.ReadFile("../../../worksheets/marking/testdata/worksheet.md")
	if err != nil {
		t.Fatal(err)
	}
	class, err := practice.New(sheet, min(n, copies), 5)
	if err != nil {
		t.Fatal(err)
	}
	c.key = class.Key
	for i := range min(n, copies) {
		s, err := class.Plain(i)
		if err != nil {
			t.Fatal(err)
		}
		own := c.key.Students[i]
		data := anonymous(t, s.Data)
		for k := i; k < n; k += copies {
			student := own
			if k >= copies {
				student.ID, student.Token = fmt.Sprintf("s%05d", k+1), fmt.Sprintf("%0*d", len(own.Token), k)
				student.File = student.ID + ".ipynb"
				c.key.Students = append(c.key.Students, student)
			}
			part := "rest"
			if k < n/10 {
				part = "tenth"
			}
			path := c.path(fmt.Sprintf("handed-in/%s/%03d/%s", part, k%97, student.File))
			if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(path, bytes.ReplaceAll(data, []byte(own.Token), []byte(student.Token)), 0o644); err != nil {
				t.Fatal(err)
			}
		}
	}
	data, err := c.key.Write()
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(c.path("key.json"), data, 0o644); err != nil {
		t.Fatal(err)
	}
	return c
}

// anonymous leaves the student's token to the notebook's metadata: among the
// sealed keys it could not be replaced.
func anonymous(t testing.TB, data []byte) []byte {
	t.Helper()
	nb, err := notebook.Read(data)
	if err != nil {
		t.Fatal(err)
	}
	const head = "//worksheet:open\n"
	e, err := worksheet.Unpack(strings.TrimPrefix(nb.Cells[0].Source, head))
	if err != nil {
		t.Fatal(err)
	}
	e.Student = ""
	text, err := e.Pack()
	if err != nil {
		t.Fatal(err)
	}
	nb.Cells[0].Source = head + text
	out, err := notebook.Write(nb)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// mark is a process that marks the classroom into the folder of that name.
func (c classroom) mark(to string, more ...string) *exec.Cmd {
	return c.markFolder("handed-in", to, more...)
}

func (c classroom) markFolder(from, to string, more ...string) *exec.Cmd {
	args := append([]string{"mark", c.path(from), "--key", c.path("key.json"), "--to", c.path(to)}, more...)
	return exec.Command("counterpoise", args...)
}

func runs(t testing.TB, c *exec.Cmd) {
	t.Helper()
	if text, err := c.CombinedOutput(); err != nil {
		t.Fatalf("%v: %v\n%s", c.Args[1:], err, text)
	}
}

// tree is the fingerprint of every file under a folder.
func tree(t testing.TB, folder string) map[string]string {
	t.Helper()
	all := map[string]string{}
	err := filepath.WalkDir(folder, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		data, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		rel, err := filepath.Rel(folder, path)
		all[rel] = fmt.Sprintf("%x", sha256.Sum256(data))
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return all
}

// A run that is killed at any instant and started again leaves the same folder
// as one that was not: while scripts are marked, and while pages are written.
//
//	go test ./kernel/cmd/counterpoise -run Killed -v -timeout 1h -kills 50 -scripts 1000
func TestKilledRunsEndTheSame(t *testing.T) {
	c := newClassroom(t, *scripts)
	marking, finishing := c.phases(t, "whole")
	want := tree(t, c.path("whole"))
	rng := rand.New(rand.NewPCG(11, 12))
	during := map[string]int{}
	for kill := range *kills {
		to := fmt.Sprintf("killed-%d", kill)
		for range 1 + kill%3 { // some more than once
			p := c.mark(to)
			if err := p.Start(); err != nil {
				t.Fatal(err)
			}
			ended := make(chan struct{})
			killed := make(chan struct{})
			instant := 2 * rng.Float64() // one half of the kills fall into each phase
			go func() {
				defer close(killed)
				wait := time.Duration(instant * float64(marking))
				if instant >= 1 {
					c.awaitResults(to, *scripts, ended)
					wait = time.Duration(0.7 * (instant - 1) * float64(finishing))
				}
				select {
				case <-time.After(wait):
				case <-ended:
				}
				p.Process.Kill() // told below if it had ended
			}()
			err := p.Wait()
			close(ended)
			<-killed
			var exit *exec.ExitError
			switch {
			case err == nil:
				during["after its end"]++
			case !errors.As(err, &exit) || exit.Sys().(syscall.WaitStatus).Signal() != syscall.SIGKILL:
				t.Fatalf("%v, want it killed", err)
			default:
				during[phase(c.path(to), *scripts)]++
			}
		}
		runs(t, c.mark(to))
		if diff := cmp.Diff(want, tree(t, c.path(to))); diff != "" {
			t.Fatalf("killed %v: %s", during, diff)
		}
		if err := os.RemoveAll(c.path(to)); err != nil {
			t.Fatal(err)
		}
	}
	t.Logf("%d scripts, killed %v", *scripts, during)
}

// phases marks the classroom and tells how long scripts are marked, and how
// long pages are written.
func (c classroom) phases(t testing.TB, to string) (marking, finishing time.Duration) {
	t.Helper()
	p := c.mark(to)
	start := time.Now()
	if err := p.Start(); err != nil {
		t.Fatal(err)
	}
	c.awaitResults(to, *scripts, nil)
	marking = time.Since(start)
	if err := p.Wait(); err != nil {
		t.Fatal(err)
	}
	return marking, time.Since(start) - marking
}

// awaitResults returns when the folder holds n results, or on ended.
func (c classroom) awaitResults(to string, n int, ended <-chan struct{}) {
	tick := time.NewTicker(20 * time.Millisecond)
	defer tick.Stop()
	for {
		if phase(c.path(to), n) == "while finishing" {
			return
		}
		select {
		case <-tick.C:
		case <-ended:
			return
		}
	}
}

// phase tells in which phase a run was killed, by what it left.
func phase(folder string, n int) string {
	data, err := os.ReadFile(filepath.Join(folder, "results.jsonl"))
	lines := 0
	for _, b := range data {
		if b == '\n' {
			lines++
		}
	}
	switch {
	case err != nil:
		return "at the start"
	case lines < n:
		return "while marking"
	}
	return "while finishing"
}
