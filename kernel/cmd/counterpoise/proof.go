package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"text/tabwriter"

	"github.com/google/renameio/v2"
	"github.com/spf13/cobra"

	toolchain "counterpoise/kernel/compiled"
	"counterpoise/kernel/headless"
	"counterpoise/worksheets/notebook"
	"counterpoise/worksheets/proof"
	"counterpoise/worksheets/source"
)

// A proofCall is one call of the proof command.
type proofCall struct {
	html    string
	asJSON  bool
	noCells bool

	compiled   bool
	noCompiled bool
	runner     *toolchain.Runner // nil: cells are not compiled
}

func newProofCommand() *cobra.Command {
	var p proofCall
	c := &cobra.Command{
		Use:   "proof SHEET…",
		Short: "Prove that worksheets are right: keys, slips, hints, units, variants, cells",
		Long: `Prove that worksheets are right before a student sees them.

SHEET is a worksheet's folder or file; FOLDER/... means every worksheet below it.
Keys are computed over the parameters' ranges, samples must come out as the sheet
says, every foreseen slip must get its own feedback, hints must not hold the key,
and all Go cells are run: in the kernel, and as one program built by the Go
toolchain. Where there is no toolchain, or the source of counterpoise is not at
hand, the second is left out and a line says so; with --compiled that is an error.
A fault gives exit status 1; a remark does not.`,
		Example: `  counterpoise proof worksheets/library/...
  counterpoise proof my-sheet --html proofs`,
		RunE: func(cmd *cobra.Command, args []string) error { return p.run(cmd, args) },
	}
	f := c.Flags()
	f.StringVar(&p.html, "html", "", "folder for a proof sheet of each worksheet that a colleague can read")
	f.BoolVar(&p.asJSON, "json", false, "print the reports as JSON, one a line")
	f.BoolVar(&p.noCells, "no-cells", false, "do not run the Go cells in the kernel")
	f.BoolVar(&p.compiled, "compiled", false, "insist that the Go cells are also run as a compiled program")
	f.BoolVar(&p.noCompiled, "no-compiled", false, "do not build and run the Go cells as a compiled program")
	c.MarkFlagsMutuallyExclusive("compiled", "no-compiled")
	return c
}

func (p *proofCall) run(cmd *cobra.Command, args []string) error {
	sheets, err := sheetsOf(args)
	if err != nil {
		return err
	}
	if err := p.findToolchain(cmd.ErrOrStderr(), sheets); err != nil {
		return err
	}
	var reports []proof.Report
	for _, path := range sheets {
		r, err := p.prove(cmd, path)
		if err != nil {
			return err
		}
		reports = append(reports, r)
		if p.html != "" {
			if err := writeProof(p.html, r); err != nil {
				return err
			}
		}
	}
	faults := 0
	for _, r := range reports {
		faults += r.Faults()
	}
	if p.asJSON {
		enc := json.NewEncoder(cmd.OutOrStdout())
		for _, r := range reports {
			if err := enc.Encode(r); err != nil {
				return err
			}
		}
	} else if err := p.tell(cmd.OutOrStdout(), reports); err != nil {
		return err
	}
	if faults > 0 {
		return errSaid
	}
	return nil
}

// findToolchain looks for what compiles cells: for the source of this module
// above this folder, or above the first worksheet.
func (p *proofCall) findToolchain(errOut io.Writer, sheets []string) error {
	if p.noCompiled || p.noCells && !p.compiled {
		return nil
	}
	runner, err := toolchain.Find(".")
	if err != nil && len(sheets) > 0 {
		if there, again := toolchain.Find(filepath.Dir(sheets[0])); again == nil {
			runner, err = there, nil
		}
	}
	switch {
	case err == nil:
		p.runner = runner
	case p.compiled:
		return fmt.Errorf("--compiled: %w", err)
	default:
		fmt.Fprintf(errOut, "the Go cells are not run as a compiled program: %v (--no-compiled leaves it out without this line)\n", err)
	}
	return nil
}

func (p *proofCall) prove(cmd *cobra.Command, path string) (proof.Report, error) {
	s, err := source.ReadFile(path)
	var problems source.Problems
	if err != nil && !errors.As(err, &problems) {
		return proof.Report{}, fileError(err)
	}
	bar := newProgress(cmd.ErrOrStderr(), s.Name)
	defer bar.end()
	o := proof.Options{Progress: bar.set}
	if !p.noCells {
		o.Kernel = kernelRunner{}
	}
	if p.runner != nil {
		o.Compiled = p.runner
	}
	return proof.Prove(cmd.Context(), s, problems, o)
}

// kernelRunner runs cells in the embedded kernel.
type kernelRunner struct{}

func (kernelRunner) Run(ctx context.Context, nb *notebook.Notebook) (*notebook.Notebook, []proof.Failure, error) {
	e, err := newEvaluator(0)
	if err != nil {
		return nil, nil, err
	}
	defer e.Close()
	done, report, err := headless.Run(ctx, nb, e, headless.Options{KeepGoing: true})
	if err != nil {
		return nil, nil, err
	}
	var failures []proof.Failure
	for _, f := range report.Failures {
		failures = append(failures, proof.Failure{Cell: f.Cell, Line: f.Line, Say: f.Name + ": " + f.Message})
	}
	return done, failures, nil
}

// sheetsOf resolves the arguments: worksheets, and folders with /... for all
// below them.
func sheetsOf(args []string) ([]string, error) {
	if len(args) == 0 {
		return nil, errors.New("proof needs a worksheet: name its folder, or worksheets/library/... for all")
	}
	var all []string
	for _, arg := range args {
		root, every := strings.CutSuffix(filepath.ToSlash(arg), "/...")
		if !every {
			all = append(all, arg)
			continue
		}
		before := len(all)
		err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
			if err == nil && !d.IsDir() && d.Name() == source.FileName {
				all = append(all, path)
			}
			return err
		})
		if err != nil {
			return nil, fileError(err)
		}
		if len(all) == before {
			return nil, fmt.Errorf("%s: there is no %s below it", root, source.FileName)
		}
	}
	return slices.Compact(all), nil
}

// tell prints every finding with its place, and a table of all sheets.
func (p *proofCall) tell(out io.Writer, reports []proof.Report) error {
	for _, r := range reports {
		for _, f := range r.Findings {
			what := string(f.Weight)
			if f.Question != "" {
				what += ", " + f.Question
			}
			fmt.Fprintf(out, "%s:%d: %s (%s): %s\n", r.File, f.Line, what, f.Check, f.Say)
		}
	}
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "worksheet\tquestions\tmarks\tvalues\tsamples\tslips\tcells\tcompiled\tpictures\treading\tfaults\tremarks")
	compiled := func(r proof.Report) string {
		if p.runner == nil {
			return "-"
		}
		return fmt.Sprint(r.Compiled)
	}
	for _, r := range reports {
		fmt.Fprintf(w, "%s\t%d\t%g\t%d\t%d\t%d\t%d\t%s\t%d\t%.0f of %d min\t%d\t%d\n", r.Sheet, r.Questions, r.Marks, r.Variants, r.Samples, r.Slips, r.Cells, compiled(r), r.Pictures,
			r.Reading, r.Minutes, r.Faults(), len(r.Findings)-r.Faults())
	}
	return w.Flush()
}

func writeProof(folder string, r proof.Report) error {
	html, err := r.HTML()
	if err != nil {
		return err
	}
	if err := os.MkdirAll(folder, 0o755); err != nil {
		return err
	}
	return renameio.WriteFile(filepath.Join(folder, r.Sheet+".proof.html"), html, 0o644)
}
