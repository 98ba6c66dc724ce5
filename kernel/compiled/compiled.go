// Package compiled runs the Go cells of a notebook as one program, built by the
// Go toolchain: a second opinion on what the embedded kernel makes of them.
//
// Each cell is a function literal nested in the one of the cell before, so that
// what a cell declares anew shadows. Functions are closures; what Go takes only
// outside functions (methods and their types, type parameters) stands outside
// main, with what it mentions. Of variables it can use those that var declares
// and not those of :=, and it can be declared only once in a notebook. Variables
// are declared from top to bottom, also in a cell of declarations only. Cells
// that begin with a //worksheet: directive and cells that are meant to fail are
// left out. The values of last expressions are computed and not
// shown.
//
// The source of this module must be at hand, since cells import its packages;
// nothing is written into it.
package compiled

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"strconv"
	"strings"
	"time"

	"counterpoise/worksheets/notebook"
	"counterpoise/worksheets/proof"
)

// The limits. Building includes the packages that cells import, compiled for the
// first time; running is what a student would wait for, and more.
const (
	buildLimit = 5 * time.Minute
	runLimit   = time.Minute
	maxOutput  = 1 << 20 // bytes of messages that are kept
)

// ended is what a program notes when all its cells are done.
const ended = "end"

// A Runner builds and runs notebooks. The zero value is of no use: see [Find].
type Runner struct {
	toolchain string // the go command
	module    string // the folder of this module's source
}

// Find looks for the Go toolchain in PATH, and for the source of this module in
// a folder and those above it.
func Find(folder string) (*Runner, error) {
	toolchain, err := exec.LookPath("go")
	if err != nil {
		return nil, errors.New("there is no Go toolchain in PATH")
	}
	folder, err = filepath.Abs(folder)
	if err != nil {
		return nil, err
	}
	for dir := folder; ; dir = filepath.Dir(dir) {
		text, err := os.ReadFile(filepath.Join(dir, "go.mod"))
		if err == nil && ours.Match(text) {
			return &Runner{toolchain, dir}, nil
		}
		if dir == filepath.Dir(dir) {
			return nil, errors.New("the source of counterpoise is not in this folder or one above it")
		}
	}
}

var ours = regexp.MustCompile(`(?m)^module\s+"?counterpoise"?\s*(//.*)?$`)

// Run builds and runs the cells. The notebook comes back as it was: a program
// has no outputs by cell.
func (r *Runner) Run(ctx context.Context, nb *notebook.Notebook) (*notebook.Notebook, []proof.Failure, error) {
	var cells []*cell
	var failures []proof.Failure
	for i := range nb.Cells {
		c := &nb.Cells[i]
		if c.Type != notebook.Code || c.HasTag("raises-exception") || strings.HasPrefix(strings.TrimSpace(c.Source), "//worksheet:") {
			continue
		}
		one, failure := read(i, c.Source)
		if failure != nil {
			failures = append(failures, *failure)
			continue
		}
		cells = append(cells, one)
	}
	if len(failures) > 0 || len(cells) == 0 {
		return nb.Copy(), failures, nil
	}
	folder, err := os.MkdirTemp("", "counterpoise-compiled-")
	if err != nil {
		return nil, nil, err
	}
	defer os.RemoveAll(folder)
	failures, err = r.build(ctx, folder, cells)
	if err == nil && len(failures) == 0 {
		failures, err = run(ctx, folder, cells)
	}
	return nb.Copy(), failures, err
}

// build compiles the program. Whether a last expression that looks like a call
// is a conversion, whose value must be used, only the compiler knows: such cells
// are written differently the second time.
func (r *Runner) build(ctx context.Context, folder string, cells []*cell) ([]proof.Failure, error) {
	values := map[int]bool{}
	failures, err := r.compile(ctx, folder, cells, values)
	if err != nil {
		return nil, err
	}
	for _, f := range failures {
		for _, c := range cells {
			if c.index == f.Cell && c.shown && strings.HasSuffix(f.Say, "is not used") && f.Line >= c.statements[len(c.statements)-1].line {
				values[c.index] = true
			}
		}
	}
	if len(values) == 0 {
		return failures, nil
	}
	return r.compile(ctx, folder, cells, values)
}

// compile hands the program to the toolchain as an overlay: a folder of the
// module that does not exist, whose one file is in the temporary folder.
func (r *Runner) compile(ctx context.Context, folder string, cells []*cell, values map[int]bool) ([]proof.Failure, error) {
	const pkg = "compiled-cells"
	source, overlay := filepath.Join(folder, "main.txt"), filepath.Join(folder, "overlay.json")
	text := program(cells, filepath.Join(folder, "step"), values)
	list, err := json.Marshal(map[string]any{"Replace": map[string]string{filepath.Join(r.module, pkg, "main.go"): source}})
	if err != nil {
		return nil, err
	}
	if err := errors.Join(os.WriteFile(source, []byte(text), 0o600), os.WriteFile(overlay, list, 0o600)); err != nil {
		return nil, err
	}
	ctx, stop := context.WithTimeout(ctx, buildLimit)
	defer stop()
	cmd := exec.CommandContext(ctx, r.toolchain, "build", "-overlay", overlay, "-gcflags=-e", "-o", binary(folder), "./"+pkg)
	cmd.Dir = r.module
	cmd.Env = append(os.Environ(), "GOWORK=off")
	said := &keeper{}
	cmd.Stdout, cmd.Stderr, cmd.WaitDelay = said, said, time.Second
	err = cmd.Run()
	var exit *exec.ExitError
	switch {
	case err == nil:
		return nil, nil
	case ctx.Err() != nil:
		return nil, fmt.Errorf("building the cells as one program: %w", ctx.Err())
	case !errors.As(err, &exit):
		return nil, err
	}
	if failures := located(said.String()); len(failures) > 0 {
		return failures, nil
	}
	return nil, fmt.Errorf("the cells cannot be built as one program: %s", strings.Join(strings.Fields(said.String()), " "))
}

func binary(folder string) string {
	name := filepath.Join(folder, "cells")
	if runtime.GOOS == "windows" {
		name += ".exe"
	}
	return name
}

// place is a place in a cell in what the compiler or a dying program says.
var place = regexp.MustCompile(`(?:^|[\s/\\])cell(\d+)\.go:(\d+)(?::\d+)?`)

// written is a place in the program itself, which nobody will see.
var written = regexp.MustCompile(`\[[^][]*main\.txt:\d+:\d+\]`)

// located reads the compiler's messages.
func located(said string) []proof.Failure {
	said = written.ReplaceAllString(said, "")
	var list []proof.Failure
	for line := range strings.Lines(said) {
		line = strings.TrimRight(line, "\r\n")
		at := place.FindStringSubmatchIndex(line)
		if strings.HasPrefix(line, "\t") && len(list) > 0 { // more of the message before
			list[len(list)-1].Say += " " + strings.TrimSpace(line)
			continue
		}
		if at == nil {
			continue
		}
		f := failureAt(line, at)
		f.Say = strings.TrimPrefix(line[at[1]:], ": ")
		list = append(list, f)
	}
	return list
}

func failureAt(text string, at []int) proof.Failure {
	index, _ := strconv.Atoi(text[at[2]:at[3]])
	line, _ := strconv.Atoi(text[at[4]:at[5]])
	return proof.Failure{Cell: index, Line: line}
}

// run runs the program in the temporary folder, and tells where it fails.
func run(ctx context.Context, folder string, cells []*cell) ([]proof.Failure, error) {
	limited, stop := context.WithTimeout(ctx, runLimit)
	defer stop()
	cmd := exec.CommandContext(limited, binary(folder))
	cmd.Dir = folder
	said := &keeper{}
	cmd.Stderr, cmd.WaitDelay = said, time.Second
	err := cmd.Run()
	if ctx.Err() != nil {
		return nil, ctx.Err()
	}
	step, _ := os.ReadFile(filepath.Join(folder, "step"))
	if err == nil && string(step) == ended {
		return nil, nil
	}
	f := proof.Failure{Cell: cells[0].index}
	if n, err := strconv.Atoi(string(step)); err == nil {
		f.Cell = n
	}
	message := said.String()
	switch first := strings.LastIndex(message, "panic: "); {
	case limited.Err() != nil:
		f.Say = fmt.Sprintf("the compiled program is not done after %v", runLimit)
	case err == nil:
		f.Say = "the compiled program ends in this cell: return and os.Exit end it"
	case first >= 0 || strings.Contains(message, "fatal error: "):
		message = message[max(first, 0):]
		f.Say, _, _ = strings.Cut(message, "\n")
		if at := place.FindStringSubmatchIndex(message); at != nil {
			say := f.Say
			f = failureAt(message, at)
			f.Say = say
		}
	default:
		f.Say = strings.TrimSpace(err.Error() + " " + message)
	}
	return []proof.Failure{f}, nil
}

// A keeper keeps the beginning of what is written to it.
type keeper struct{ bytes.Buffer }

func (k *keeper) Write(p []byte) (int, error) {
	if room := maxOutput - k.Len(); room > 0 {
		k.Buffer.Write(p[:min(room, len(p))])
	}
	return len(p), nil
}
