package headless_test

import (
	"bytes"
	"context"
	"encoding/base64"
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"counterpoise/kernel/headless"
	"counterpoise/kernel/server"
	"counterpoise/worksheets/notebook"

	"github.com/google/go-cmp/cmp"
	"github.com/santhosh-tekuri/jsonschema/v6"
)

// A scripted evaluator does what the words of a cell say.
type scripted struct {
	server.Evaluator
	late chan func()
}

func (s *scripted) Execute(ctx context.Context, cell server.Cell, out server.Output) server.Result {
	var r server.Result
	for _, line := range strings.Split(cell.Code, "\n") {
		verb, rest, _ := strings.Cut(line, " ")
		switch verb {
		case "print":
			out.Stream("stdout", rest+"\n")
		case "warn":
			out.Stream("stderr", rest)
		case "show":
			out.Display(server.Bundle{Data: map[string]any{"text/plain": rest, "image/png": []byte(rest)}}, "", false)
		case "named":
			out.Display(server.Bundle{Data: map[string]any{"text/plain": rest}}, "id", false)
		case "update":
			out.Display(server.Bundle{Data: map[string]any{"text/plain": rest}}, "id", true)
		case "clear":
			out.ClearOutput(rest == "later")
		case "late":
			s.late <- func() { out.Stream("stdout", rest) }
		case "now":
			(<-s.late)()
		case "ask":
			answer, err := out.Input(ctx, rest, false)
			out.Stream("stdout", fmt.Sprint(answer, err))
		case "value":
			r.Value = &server.Bundle{Data: map[string]any{"text/plain": rest}}
		case "fail":
			r.Fault = &server.Fault{Name: "Panic", Value: rest + "\nmore", Traceback: []string{"cell"}, Line: 2}
			return r
		case "die":
			r.Fault, r.Lost = &server.Fault{Name: "Died", Value: "out of memory"}, true
			return r
		case "sleep":
			<-ctx.Done()
			r.Fault = &server.Fault{Name: "Interrupt", Value: "interrupted"}
			return r
		case "flood":
			for range 5 << 10 {
				out.Stream("stdout", strings.Repeat("x", 1<<10))
			}
		}
	}
	return r
}

func code(source string, tags ...any) notebook.Cell {
	c := notebook.Cell{Type: notebook.Code, Source: source, Metadata: map[string]any{}}
	if tags != nil {
		c.Metadata["tags"] = tags
	}
	return c
}

func run(t *testing.T, o headless.Options, cells ...notebook.Cell) (*notebook.Notebook, headless.Report) {
	t.Helper()
	nb := &notebook.Notebook{Major: 4, Minor: 2, Cells: cells}
	out, report, err := headless.Run(t.Context(), nb, &scripted{late: make(chan func(), 1)}, o)
	if err != nil {
		t.Fatal(err)
	}
	if err := notebook.Validate(out); err != nil {
		t.Error(err)
	}
	data, err := notebook.Write(out)
	if err != nil {
		t.Fatal(err)
	}
	// nbformat 4.5, published with the Python package nbformat 5.11.1.
	schema, err := jsonschema.NewCompiler().Compile("../../testdata/published/nbformat/nbformat.v4.5.schema.json")
	if err != nil {
		t.Fatal(err)
	}
	v, err := jsonschema.UnmarshalJSON(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	if err := schema.Validate(v); err != nil {
		t.Error(err)
	}
	return out, report
}

func TestOutputsAreKeptInOrder(t *testing.T) {
	var steps []int
	out, report := run(t, headless.Options{Progress: func(done, total int) { steps = append(steps, done*10+total) }},
		notebook.Cell{Type: notebook.Markdown, Source: "prose"},
		code("print a\nprint b\nwarn c\nshow d\nprint e\nvalue 3"),
		code("  "),
		code("value 4"))
	want := []notebook.Output{
		{Type: notebook.Stream, Name: "stdout", Text: "a\nb\n"},
		{Type: notebook.Stream, Name: "stderr", Text: "c"},
		{Type: notebook.Display, Data: map[string]any{"text/plain": "d", "image/png": base64.StdEncoding.EncodeToString([]byte("d"))}, Metadata: map[string]any{}},
		{Type: notebook.Stream, Name: "stdout", Text: "e\n"},
		{Type: notebook.Result, Data: map[string]any{"text/plain": "3"}, Metadata: map[string]any{}, Count: 1},
	}
	if diff := cmp.Diff(want, out.Cells[1].Outputs); diff != "" {
		t.Error(diff)
	}
	if out.Cells[2].Count != 0 || out.Cells[3].Count != 2 || report.Cells != 2 || len(report.Failures) != 0 {
		t.Errorf("counts %d, %d; report %+v", out.Cells[2].Count, out.Cells[3].Count, report)
	}
	if diff := cmp.Diff([]int{3, 13, 23, 33}, steps); diff != "" {
		t.Error(diff)
	}
}

func TestFailureStopsTheRunUnlessToldOtherwise(t *testing.T) {
	cells := []notebook.Cell{code("fail meant", "raises-exception"), code("print x\nfail here"), code("print after")}
	out, report := run(t, headless.Options{}, cells...)
	if !report.Stopped || report.Cells != 2 || len(report.Failures) != 1 || out.Cells[2].Outputs != nil {
		t.Errorf("%+v", report)
	}
	if got := report.Failures[0].Error(); got != "cell 2, line 2: Panic: here" {
		t.Error(got)
	}
	if o := out.Cells[1].Outputs; len(o) != 2 || o[1].Type != notebook.Error || o[1].ErrorValue != "here\nmore" {
		t.Errorf("%+v", o)
	}
	out, report = run(t, headless.Options{KeepGoing: true}, cells...)
	if report.Stopped || report.Cells != 3 || len(out.Cells[2].Outputs) != 1 {
		t.Errorf("%+v", report)
	}
	if _, report = run(t, headless.Options{}, code("print fine", "raises-exception")); len(report.Failures) != 1 {
		t.Error("a failure that was meant and did not come is not told")
	}
}

func TestLostStateEndsTheRun(t *testing.T) {
	_, report := run(t, headless.Options{KeepGoing: true}, code("die", "raises-exception"), code("print never"))
	if !report.Stopped || report.Cells != 1 || len(report.Failures) != 1 {
		t.Errorf("%+v", report)
	}
}

func TestUpdatesReachEarlierCells(t *testing.T) {
	out, _ := run(t, headless.Options{}, code("named one"), code("update two\nlate tail"), code("now\nprint x\nclear later\nprint y"), code("print z\nclear now"))
	if got := out.Cells[0].Outputs[0].Data["text/plain"]; got != "two" {
		t.Error(got)
	}
	if got := out.Cells[1].Outputs; len(got) != 1 || got[0].Text != "tail" {
		t.Errorf("late output: %+v", got)
	}
	if got := out.Cells[2].Outputs; len(got) != 1 || got[0].Text != "y\n" {
		t.Errorf("cleared: %+v", got)
	}
	if got := out.Cells[3].Outputs; len(got) != 0 {
		t.Errorf("cleared: %+v", got)
	}
}

func TestNobodyAnswers(t *testing.T) {
	out, _ := run(t, headless.Options{}, code("ask name?"))
	if got := out.Cells[0].Outputs[0].Text; !strings.Contains(got, headless.ErrNoInput.Error()) {
		t.Error(got)
	}
}

func TestTimeAndRoomAreBounded(t *testing.T) {
	_, report := run(t, headless.Options{CellTime: time.Millisecond}, code("sleep"))
	if len(report.Failures) != 1 || !strings.Contains(report.Failures[0].Message, "stopped after 1ms") {
		t.Errorf("%+v", report)
	}
	out, _ := run(t, headless.Options{}, code("flood\nprint end"))
	if o := out.Cells[0].Outputs; len(o) != 2 || len(o[0].Text) > 5<<20 || !strings.Contains(o[1].Text, "the rest is left out") {
		t.Errorf("%d outputs", len(o))
	}
}

func TestCancelEndsTheRun(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	nb := &notebook.Notebook{Major: 4, Minor: 5, Cells: []notebook.Cell{code("print a"), code("print b")}}
	out, _, err := headless.Run(ctx, nb, &scripted{}, headless.Options{Progress: func(done, total int) {
		if done == 1 {
			cancel()
		}
	}})
	if !errors.Is(err, context.Canceled) || len(out.Cells[0].Outputs) != 1 || len(out.Cells[1].Outputs) != 0 {
		t.Errorf("%v %+v", err, out.Cells)
	}
}
