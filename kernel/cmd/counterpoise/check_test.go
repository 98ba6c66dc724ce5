package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"
	"testing"
)

// Verdicts come in the order of the lines, whatever each takes.
func TestCheckKeepsTheOrder(t *testing.T) {
	const n = 500
	var in strings.Builder
	for i := range n {
		key := []string{`"number","key":"2 kg"`, `"expression","key":"a*b","symbols":{"a":"1","b":"1"}`, `"nonsense"`}[i%3]
		fmt.Fprintf(&in, `{"id":%d,"question":{"kind":%s},"answer":"%d kg"}`+"\n", i, key, i%4)
	}
	var out bytes.Buffer
	err := checkLines(&out, strings.NewReader(in.String()), "here")
	if err == nil || !strings.HasPrefix(err.Error(), "here:3: ") || errors.Is(err, errFallsShort) {
		t.Errorf("the faulty lines give %v", err)
	}
	lines := strings.Split(strings.TrimSpace(out.String()), "\n")
	if len(lines) != n {
		t.Fatalf("%d verdicts for %d lines", len(lines), n)
	}
	for i, line := range lines {
		var v struct {
			ID      int
			Verdict string
			Line    int
		}
		if err := json.Unmarshal([]byte(line), &v); err != nil || v.ID != i || (v.Verdict == "") != (i%3 == 2) || v.Line != 0 && v.Line != i+1 {
			t.Fatalf("line %d is %s (%v)", i, line, err)
		}
	}
}

// A line too long is told with its number, and the next one is read.
func TestCheckRefusesALongLine(t *testing.T) {
	in := io.MultiReader(
		strings.NewReader(`{"id":1,"answer":"`), strings.NewReader(strings.Repeat("a", maxCheckLine)), strings.NewReader("\"}\n"),
		strings.NewReader(`{"id":2,"question":{"kind":"prose"},"answer":"b"}`),
	)
	var out bytes.Buffer
	err := checkLines(&out, in, "here")
	if err == nil || !strings.Contains(err.Error(), "here:1: the line is longer than 4 MiB") {
		t.Errorf("gives %v", err)
	}
	if !strings.Contains(out.String(), `{"id":2,"verdict":"human"`) {
		t.Errorf("the second line is lost: %s", out.String())
	}
}

// errWriter fails at once.
type errWriter struct{}

func (errWriter) Write([]byte) (int, error) { return 0, errors.New("the pipe is closed") }

func TestCheckEndsWhenNobodyListens(t *testing.T) {
	line := `{"question":{"kind":"prose"},"answer":"b"}` + "\n"
	if err := checkLines(errWriter{}, strings.NewReader(strings.Repeat(line, 3000)), "here"); err == nil {
		t.Error("no error")
	}
}

func FuzzCheckLines(f *testing.F) {
	f.Add([]byte(`{"id":1,"question":{"kind":"number","key":"2 kg"},"answer":"2 kg"}` + "\n\n{}\n" + `{"id":{"a":[1]},"question":{"kind":"choice","options":["a",{"text":"b","right":true}]},"answer":["b"]}`))
	f.Fuzz(func(t *testing.T, in []byte) {
		want := 0
		for line := range bytes.SplitSeq(in, []byte("\n")) {
			if len(bytes.TrimSpace(line)) > 0 {
				want++
			}
		}
		var out bytes.Buffer
		checkLines(&out, bytes.NewReader(in), "here") // a faulty line has a line of output too
		got := bytes.Count(out.Bytes(), []byte("\n"))
		if got != want {
			t.Fatalf("%d lines of output for %d of input: %s", got, want, out.Bytes())
		}
		for line := range bytes.Lines(out.Bytes()) {
			if !json.Valid(line) {
				t.Fatalf("no JSON: %s", line)
			}
		}
	})
}
