// Package headless runs a notebook from start to end without Jupyter: it drives
// an evaluator directly and keeps what the cells show as nbformat outputs.
//
// It opens no sockets, and knows Go no more than the server does: everything
// about the language is the evaluator's.
package headless

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"counterpoise/kernel/server"
	"counterpoise/worksheets/notebook"
)

// Options choose how a notebook is run. The zero value runs it to the first
// error, without time limit.
type Options struct {
	KeepGoing bool          // run on after a cell has failed
	CellTime  time.Duration // longest time of one cell; 0: no limit
	// Progress, if not nil, is called before the first cell and after each,
	// with how many of the notebook's code cells are done.
	Progress func(done, total int)
	// Input answers a cell that asks the person at the front end; nil: such a
	// cell gets [ErrNoInput].
	Input func(ctx context.Context, prompt string, password bool) (string, error)
}

// ErrNoInput is what a cell gets that asks for input where nobody can answer.
var ErrNoInput = errors.New("nobody is there to answer: this notebook runs without a front end")

// A Report tells how a run went.
type Report struct {
	Cells    int       // code cells that were run
	Failures []Failure // in order; those that were meant are not among them
	Stopped  bool      // cells after the last failure were not run
	Took     time.Duration
}

// A Failure is a cell that ended with an error.
type Failure struct {
	Cell    int // index into the notebook's cells
	Number  int // execution count
	Name    string
	Message string // one line
	Line    int    // in the cell, 0 if unknown
}

// Error returns the failure in one line.
func (f Failure) Error() string {
	place := fmt.Sprintf("cell %d", f.Number)
	if f.Line > 0 {
		place += fmt.Sprintf(", line %d", f.Line)
	}
	return fmt.Sprintf("%s: %s: %s", place, f.Name, f.Message)
}

// Run runs the code cells of a notebook in order and returns a copy of it, in
// version 4.5, with their outputs; nb stays as it is. A cell that fails, or
// lacks the failure that its tag raises-exception tells of, is in the report.
// The error is that of ctx, if it ended the run; the copy then has the outputs
// so far.
func Run(ctx context.Context, nb *notebook.Notebook, e server.Evaluator, o Options) (*notebook.Notebook, Report, error) {
	begun := time.Now()
	out := nb.Copy()
	out.Upgrade()
	total := 0
	for i := range out.Cells {
		if out.Cells[i].Type == notebook.Code {
			out.Cells[i].Outputs, out.Cells[i].Count = nil, 0
			total++
		}
	}
	r := &runner{evaluator: e, options: o, displays: newDisplays()}
	if o.Progress != nil {
		o.Progress(0, total)
	}
	done := 0
	recorders := map[int]*recorder{}
	for i := range out.Cells {
		c := &out.Cells[i]
		if c.Type != notebook.Code {
			continue
		}
		if ctx.Err() != nil {
			break
		}
		if strings.TrimSpace(c.Source) != "" {
			recorders[i] = r.cell(ctx, i, c)
		}
		done++
		if o.Progress != nil {
			o.Progress(done, total)
		}
		if r.stop {
			r.report.Stopped = done < total
			break
		}
	}
	for i, rec := range recorders {
		out.Cells[i].Outputs = rec.take()
	}
	r.report.Took = time.Since(begun)
	return out, r.report, ctx.Err()
}

// A runner is one run.
type runner struct {
	evaluator server.Evaluator
	options   Options
	displays  *displays
	number    int
	report    Report
	stop      bool
}

// cell runs one cell.
func (r *runner) cell(ctx context.Context, index int, c *notebook.Cell) *recorder {
	r.number++
	r.report.Cells++
	c.Count = r.number
	rec := &recorder{displays: r.displays, input: r.options.Input}
	limited := ctx
	if r.options.CellTime > 0 {
		var cancel context.CancelFunc
		limited, cancel = context.WithTimeout(ctx, r.options.CellTime)
		defer cancel()
	}
	result := r.evaluator.Execute(limited, server.Cell{Code: c.Source, Number: r.number, AllowInput: r.options.Input != nil}, rec)
	if result.Value != nil {
		rec.result(*result.Value, r.number)
	}
	fault := result.Fault
	if fault != nil {
		if limited.Err() == context.DeadlineExceeded && ctx.Err() == nil {
			late := *fault
			late.Value = fmt.Sprintf("stopped after %v: %s", r.options.CellTime, fault.Value)
			fault = &late
		}
		rec.fault(*fault)
	}
	if result.Lost { // whatever follows would run without what came before
		r.stop = true
	}
	meant := c.HasTag("raises-exception") && !result.Lost
	switch {
	case fault != nil && !meant:
		r.report.Failures = append(r.report.Failures, Failure{index, r.number, fault.Name, oneLine(fault.Value), fault.Line})
		r.stop = r.stop || !r.options.KeepGoing
	case fault == nil && meant:
		r.report.Failures = append(r.report.Failures, Failure{index, r.number, "NoError", "the cell is marked as failing and did not fail", 0})
	}
	return rec
}

func oneLine(s string) string {
	first, _, _ := strings.Cut(strings.TrimSpace(s), "\n")
	return first
}
