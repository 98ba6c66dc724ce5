// Package proof shows that a worksheet is right before a student sees it.
//
// Every key is computed for the printed values, for the corners of the
// parameters' ranges, along each range and at random inside them; samples must
// come out as the sheet says; each foreseen slip must differ from the key
// everywhere and get its own feedback; figures must suffice to tell right from
// slipped; hints must not hold the key; mathematics and links must resolve; Go
// cells must run and every picture must have a text.
//
// A finding is a fault, which the author must mend, or a remark. The package
// runs no code itself: cells are run by a [Runner] that the caller brings.
package proof

import (
	"cmp"
	"context"
	"fmt"
	"slices"

	"counterpoise/worksheets/build"
	"counterpoise/worksheets/notebook"
	"counterpoise/worksheets/source"
)

// A Runner runs the cells of a notebook from start to end and returns a copy
// with their outputs, and what failed.
type Runner interface {
	Run(ctx context.Context, nb *notebook.Notebook) (*notebook.Notebook, []Failure, error)
}

// A Failure is a cell that ended with an error that was not meant.
type Failure struct {
	Cell int // index into the notebook's cells
	Line int // in the cell, 0 if not known
	Say  string
}

// Options choose how thoroughly a sheet is proved. The zero value proves
// everything but the cells.
type Options struct {
	Kernel   Runner             // runs the cells as a student's kernel does; nil: they are not run
	Compiled Runner             // runs the cells as one compiled program; nil: they are not
	Progress func(done, of int) // may be nil
	Variants int                // random sets of values beside corners and ranges; 0 means 40
}

// A Weight says how much a finding matters.
type Weight string

// The weights.
const (
	Fault  Weight = "fault"  // must be mended
	Remark Weight = "remark" // worth a look
)

// A Finding is something that is wrong with a sheet or worth a look.
type Finding struct {
	Line     int    `json:"line"` // of worksheet.md
	Question string `json:"question,omitempty"`
	Check    string `json:"check"` // which of the checks found it
	Weight   Weight `json:"weight"`
	Say      string `json:"say"`
}

// A Report is the outcome of a proof.
type Report struct {
	Sheet     string    `json:"sheet"`
	File      string    `json:"file"`
	Title     string    `json:"title"`
	Findings  []Finding `json:"findings"`
	Questions int       `json:"questions"`
	Marks     float64   `json:"marks"`
	Minutes   int       `json:"minutes"`  // as the sheet says
	Reading   float64   `json:"reading"`  // minutes to read it
	Variants  int       `json:"variants"` // sets of values tried
	Samples   int       `json:"samples"`  // answers tried
	Slips     int       `json:"slips"`
	Cells     int       `json:"cells"`    // Go cells that were run in the kernel
	Compiled  int       `json:"compiled"` // Go cells that were run as one compiled program
	Pictures  int       `json:"pictures"` // that they showed
	Listing   []Entry   `json:"-"`        // the questions, for the proof sheet
}

// Faults counts the findings that must be mended.
func (r Report) Faults() int {
	n := 0
	for _, f := range r.Findings {
		if f.Weight == Fault {
			n++
		}
	}
	return n
}

// Prove proves a sheet. problems are the mistakes that reading it told, if any:
// they are faults, and what depends on them is not proved.
func Prove(ctx context.Context, s *source.Sheet, problems source.Problems, o Options) (Report, error) {
	p := &prover{sheet: s, options: o, report: Report{Sheet: s.Name, File: s.File, Title: s.Title, Minutes: s.Minutes}}
	p.source(problems)
	key, err := build.Key(s)
	if err == nil {
		p.key = key
		err = p.steps(ctx)
	} else {
		err = nil // told by source
		p.prose()
	}
	slices.SortStableFunc(p.report.Findings, func(a, b Finding) int { return cmp.Compare(a.Line, b.Line) })
	return p.report, err
}

// A prover proves one sheet.
type prover struct {
	sheet   *source.Sheet
	options Options
	key     *build.KeyFile
	wide    *wide
	spans   map[int]span // of the number keys, by question
	report  Report
}

func (p *prover) steps(ctx context.Context) error {
	steps := []func(context.Context) error{
		plain(p.count), plain(p.listing), plain(p.samples), plain(p.slips), p.variants, plain(p.between), plain(p.hints), plain(p.prose),
	}
	if p.options.Kernel != nil {
		steps = append(steps, p.cells)
	}
	if p.options.Compiled != nil {
		steps = append(steps, p.compiled)
	}
	for i, step := range steps {
		if p.options.Progress != nil {
			p.options.Progress(i, len(steps))
		}
		if err := ctx.Err(); err != nil {
			return err
		}
		if err := step(ctx); err != nil {
			return err
		}
	}
	if p.options.Progress != nil {
		p.options.Progress(len(steps), len(steps))
	}
	return nil
}

func plain(f func()) func(context.Context) error {
	return func(context.Context) error { f(); return nil }
}

// source takes over what reading and building tell.
func (p *prover) source(problems source.Problems) {
	all := append(slices.Clone(problems), build.Check(p.sheet)...)
	for _, one := range all.Sorted() {
		say := one.Reason
		if one.Remedy != "" {
			say += ": " + one.Remedy
		}
		p.found(one.Line, "", "source", Fault, "%s", say)
	}
}

func (p *prover) count() {
	for _, q := range p.sheet.Questions() {
		p.report.Questions++
		p.report.Marks += q.Worth()
	}
}

// found keeps a finding, once.
func (p *prover) found(line int, question, check string, w Weight, format string, args ...any) {
	f := Finding{line, question, check, w, fmt.Sprintf(format, args...)}
	if !slices.Contains(p.report.Findings, f) {
		p.report.Findings = append(p.report.Findings, f)
	}
}

// cell returns the cell of the i-th question of the key file.
func (p *prover) cell(i int) *source.Cell {
	for k := range p.sheet.Cells {
		c := &p.sheet.Cells[k]
		if c.Kind == source.Question && !c.Broken {
			if i == 0 {
				return c
			}
			i--
		}
	}
	return nil
}
