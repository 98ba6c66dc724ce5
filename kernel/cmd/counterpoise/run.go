package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"time"

	"counterpoise/kernel/headless"
	"counterpoise/kernel/server"
	"counterpoise/kernel/worker"
	"counterpoise/worksheets/build"
	"counterpoise/worksheets/notebook"
	"counterpoise/worksheets/page"
	"counterpoise/worksheets/proof"
	"counterpoise/worksheets/source"

	"github.com/google/renameio/v2"
	"github.com/spf13/cobra"
)

// A runCall is one call of the run command.
type runCall struct {
	to        string
	samples   bool
	keepGoing bool
	json      bool
	cellTime  time.Duration
}

func newRunCommand() *cobra.Command {
	var r runCall
	c := &cobra.Command{
		Use:   "run SHEET…",
		Short: "Run worksheets or notebooks from start to end, without Jupyter",
		Long: `Run worksheets or notebooks from start to end, without Jupyter.

SHEET is a worksheet's folder, its worksheet.md, or a notebook (.ipynb). For each
sheet the executed notebook NAME.ipynb and NAME.html, one page that needs nothing
else, are written to the folder --to. The input is never changed.

With --with-samples every sample of a worksheet is judged as well, and those that
come out otherwise than the worksheet says are told.

Exit status: 0 all well; 1 a cell failed, or a sample is judged otherwise than the
worksheet says; 2 the call or an input file is wrong.`,
		Example: `  counterpoise run worksheets/library/balance-point
  counterpoise run --with-samples --to out worksheets/library/*`,
		Args: cobra.MinimumNArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
			defer stop()
			return r.run(ctx, args, cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	f := c.Flags()
	f.StringVar(&r.to, "to", ".", "folder for the executed notebooks and pages; it is made if it is not there")
	f.BoolVar(&r.samples, "with-samples", false, "fill the answer cells of a worksheet from its samples, and judge all samples")
	f.BoolVar(&r.keepGoing, "keep-going", false, "run on after a cell has failed")
	f.BoolVar(&r.json, "json", false, "report as JSON, one object a sheet")
	f.DurationVar(&r.cellTime, "cell-time", 5*time.Minute, "longest time of one cell, 0 for no limit")
	return c
}

// A runReport is what --json prints for one sheet.
type runReport struct {
	Sheet    string       `json:"sheet"`
	Notebook string       `json:"notebook"`
	Page     string       `json:"page"`
	Cells    int          `json:"cells"`
	Seconds  float64      `json:"seconds"`
	Failures []runFailure `json:"failures"`
	Stopped  bool         `json:"stopped"`           // cells after the last failure were not run
	Samples  []runSample  `json:"samples,omitempty"` // judged otherwise than the worksheet says
	Doubts   []string     `json:"doubts,omitempty"`
}

type runSample struct {
	Line     int    `json:"line"` // of worksheet.md
	Question string `json:"question"`
	Say      string `json:"say"`
}

type runFailure struct {
	Cell    int    `json:"cell"` // execution count
	Line    int    `json:"line,omitempty"`
	Name    string `json:"name"`
	Message string `json:"message"`
}

// A runJob is one sheet to be run.
type runJob struct {
	input    string // the file that was read
	notebook *notebook.Notebook
	language string
	ipynb    string // outputs
	html     string
	samples  []runSample
	doubts   []string
}

func (r *runCall) run(ctx context.Context, args []string, out, errOut io.Writer) error {
	jobs, err := r.jobs(args)
	if err != nil {
		return sayProblems(errOut, err)
	}
	if err := os.MkdirAll(r.to, 0o755); err != nil {
		return err
	}
	failed := false
	for _, job := range jobs {
		report, err := r.job(ctx, job, errOut)
		if err != nil {
			return err
		}
		failed = failed || len(report.Failures) > 0 || len(report.Samples) > 0
		if err := report.print(out, r.json); err != nil {
			return err
		}
	}
	if failed {
		return errSaid
	}
	return nil
}

// jobs reads all sheets before anything runs, so that a wrong one among them is
// told at once.
func (r *runCall) jobs(args []string) ([]runJob, error) {
	var jobs []runJob
	by := map[string]string{}
	for _, arg := range args {
		job, name, err := r.load(arg)
		if err != nil {
			return nil, err
		}
		if other, taken := by[name]; taken {
			return nil, fmt.Errorf("%s and %s would both be written to %s.ipynb: run them into different folders with --to", other, arg, filepath.Join(r.to, name))
		}
		by[name] = arg
		job.ipynb, job.html = r.outputs(name, job.input)
		jobs = append(jobs, job)
	}
	return jobs, nil
}

// load reads one sheet and returns its short name.
func (r *runCall) load(path string) (runJob, string, error) {
	info, err := os.Stat(path)
	if err != nil {
		return runJob{}, "", fileError(err)
	}
	if !info.IsDir() && !strings.EqualFold(filepath.Ext(path), ".md") {
		if r.samples {
			return runJob{}, "", fmt.Errorf("%s: --with-samples needs the worksheet that the notebook was built from: name its folder or its worksheet.md", path)
		}
		nb, err := notebook.ReadFile(path)
		if err != nil {
			return runJob{}, "", err
		}
		if lang := strings.ToLower(nb.Language()); lang != "" && lang != "go" {
			return runJob{}, "", fmt.Errorf("%s: its cells are %s: Counterpoise runs Go", path, lang)
		}
		return runJob{input: path, notebook: nb, doubts: repeatedAnswers(nb)}, strings.TrimSuffix(filepath.Base(path), filepath.Ext(path)), nil
	}
	s, nb, _, err := buildSheet(path, build.Options{})
	if err != nil {
		return runJob{}, "", err
	}
	job := runJob{input: s.File, notebook: nb, language: s.Language}
	if r.samples {
		job.notebook = build.WithSamples(nb, s)
		if job.samples, err = misjudged(s); err != nil {
			return runJob{}, "", err
		}
	}
	return job, s.Name, nil
}

// misjudged returns the samples that come out otherwise than the sheet says.
func misjudged(s *source.Sheet) ([]runSample, error) {
	found, err := proof.Misjudged(s)
	if err != nil {
		return nil, err
	}
	var samples []runSample
	for _, f := range found {
		samples = append(samples, runSample{f.Line, f.Question, f.Say})
	}
	return samples, nil
}

// outputs names the files to be written; never the input itself.
func (r *runCall) outputs(name, input string) (ipynb, html string) {
	ipynb, html = filepath.Join(r.to, name+".ipynb"), filepath.Join(r.to, name+".html")
	if sameFile(ipynb, input) {
		ipynb, html = filepath.Join(r.to, name+"-run.ipynb"), filepath.Join(r.to, name+"-run.html")
	}
	return ipynb, html
}

func sameFile(a, b string) bool {
	ia, errA := os.Stat(a)
	ib, errB := os.Stat(b)
	return errA == nil && errB == nil && os.SameFile(ia, ib)
}

// job runs one sheet and writes its notebook and page.
func (r *runCall) job(ctx context.Context, job runJob, errOut io.Writer) (runReport, error) {
	evaluator, err := startWorker()
	if err != nil {
		return runReport{}, err
	}
	defer evaluator.Close()
	bar := newProgress(errOut, filepath.Base(strings.TrimSuffix(job.ipynb, ".ipynb")))
	executed, did, err := headless.Run(ctx, job.notebook, evaluator, headless.Options{KeepGoing: r.keepGoing, CellTime: r.cellTime, Progress: bar.set})
	bar.end()
	if err != nil {
		return runReport{}, fmt.Errorf("%s: interrupted, nothing was written", job.input)
	}
	executed.Metadata = withKernel(executed.Metadata)
	html, err := page.HTML(executed, page.Options{Language: job.language})
	if err != nil {
		return runReport{}, err
	}
	if err := notebook.WriteFile(job.ipynb, executed); err != nil {
		return runReport{}, err
	}
	if err := renameio.WriteFile(job.html, html, 0o644); err != nil {
		return runReport{}, err
	}
	report := runReport{Sheet: job.input, Notebook: job.ipynb, Page: job.html, Cells: did.Cells, Seconds: did.Took.Seconds(), Failures: []runFailure{}, Stopped: did.Stopped, Samples: job.samples, Doubts: job.doubts}
	for _, f := range did.Failures {
		report.Failures = append(report.Failures, runFailure{f.Number, f.Line, f.Name, f.Message})
	}
	return report, nil
}

// withKernel says in a notebook's metadata what has run it.
func withKernel(metadata map[string]any) map[string]any {
	m := maps.Clone(metadata)
	m["kernelspec"] = map[string]any{"name": "counterpoise", "display_name": "Counterpoise (Go)", "language": "go"}
	m["language_info"] = map[string]any{"name": "go", "version": strings.TrimPrefix(runtime.Version(), "go"), "file_extension": ".go", "mimetype": "text/x-go"}
	return m
}

// startWorker starts a process that runs the cells, so that one which ends its
// process (endless recursion, all memory taken) is told like any other error.
func startWorker() (server.Evaluator, error) {
	program, err := os.Executable()
	if err != nil {
		return nil, err
	}
	memory := worker.DefaultMemory()
	return worker.Start(worker.Options{
		Command: func() *exec.Cmd {
			return exec.Command(program, "worker", "--memory", strconv.FormatInt(memory>>20, 10))
		},
		Memory: memory,
	}), nil
}

// print tells how a run went.
func (r runReport) print(out io.Writer, asJSON bool) error {
	if asJSON {
		return json.NewEncoder(out).Encode(r)
	}
	ending := "all well"
	if n := len(r.Failures); n > 0 {
		ending = fmt.Sprintf("%d failed", n)
		if r.Stopped {
			ending += ", the rest was not run"
		}
	}
	switch n := len(r.Samples); {
	case n == 0:
	case len(r.Failures) > 0:
		ending += fmt.Sprintf("; %s judged otherwise than said", plural(n, "sample"))
	default:
		ending = fmt.Sprintf("%s judged otherwise than said", plural(n, "sample"))
	}
	var b strings.Builder
	fmt.Fprintf(&b, "%s: %s in %.1f s, %s\n", r.Sheet, plural(r.Cells, "cell"), r.Seconds, ending)
	for _, f := range r.Failures {
		place := fmt.Sprintf("cell %d", f.Cell)
		if f.Line > 0 {
			place += fmt.Sprintf(", line %d", f.Line)
		}
		fmt.Fprintf(&b, "  %s: %s: %s\n", place, f.Name, f.Message)
	}
	for _, one := range r.Samples {
		fmt.Fprintf(&b, "  line %d, %s: %s\n", one.Line, one.Question, one.Say)
	}
	for _, d := range r.Doubts {
		fmt.Fprintf(&b, "  %s\n", d)
	}
	fmt.Fprintf(&b, "  %s\n  %s\n", r.Notebook, r.Page)
	_, err := io.WriteString(out, b.String())
	return err
}

// plural counts things in words.
func plural(n int, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return fmt.Sprintf("%d %ss", n, thing)
}

// repeatedAnswers tells of questions that are answered in more than one cell.
func repeatedAnswers(nb *notebook.Notebook) []string {
	count := map[string]int{}
	var doubts []string
	for i := range nb.Cells {
		c := &nb.Cells[i]
		if c.Type != notebook.Code {
			continue
		}
		first, _, _ := strings.Cut(strings.TrimSpace(c.Source), "\n")
		for _, verb := range []string{"//worksheet:answer ", "//worksheet:derive "} {
			if name, ok := strings.CutPrefix(strings.TrimSpace(first), verb); ok {
				name = strings.TrimSpace(name)
				if count[name]++; count[name] == 2 {
					doubts = append(doubts, fmt.Sprintf("%s is answered in more than one cell: the last one counts", name))
				}
			}
		}
	}
	return doubts
}

// fileError says in plain words that a file cannot be opened.
func fileError(err error) error {
	var p *fs.PathError
	if errors.As(err, &p) && errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("%s: there is no such file or folder", p.Path)
	}
	return err
}

// sayProblems prints the mistakes of a worksheet, one a line, and returns what
// the program's end needs; other errors pass through.
func sayProblems(errOut io.Writer, err error) error {
	var problems source.Problems
	if !errors.As(err, &problems) {
		return err
	}
	fmt.Fprintln(errOut, problems.Error())
	return errSaidWrong
}

// errSaidWrong means that the call or an input file is wrong, and that the
// command has already printed why.
var errSaidWrong error = saidWrong{}

type saidWrong struct{}

func (saidWrong) Error() string { return "the mistakes are printed above" }

// Is makes the program's end print nothing more.
func (saidWrong) Is(target error) bool { return target == errSaid }
