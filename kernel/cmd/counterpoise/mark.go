package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"path/filepath"
	"runtime/debug"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"counterpoise/kernel/markpage"
	"counterpoise/worksheets/build"
	"counterpoise/worksheets/marking"
)

// A markCall is one call of the mark command.
type markCall struct {
	key, to, policy string
	shard           string
	merge           bool
	decisions, by   string
	compare, page   bool
	notebooks       bool
	seeds           string
	asJSON          bool
}

// markMemory is the memory that the collector keeps a run of mark to, in
// bytes: far more than a run needs, so that it costs no time.
const markMemory = 200 << 20

func newMarkCommand() *cobra.Command {
	var m markCall
	c := &cobra.Command{
		Use:   "mark FOLDER --key KEYFILE --to FOLDER",
		Short: "Mark a folder of handed-in notebooks: markbook, feedback pages, item figures",
		Long: `Mark a folder of handed-in notebooks.

Scripts may lie in nested folders and in zip files. Nothing in them is run, and
nothing is written but in the folder given by --to, which must be fresh or of a
former run of the same job: a run that was stopped goes on where it was. It gets

  markbook.csv    a row a script, marks by question
  items.csv       facility, discrimination and commonest slips by question
  queue.csv       what a human must read: fill in the column "marks"
  report.html     the class at a glance
  feedback/       a page for every student
  results.jsonl   everything, a line a script
  drift.csv       with --seeds: marks given beside the agreed ones

A filled-in queue joins the marks with --decisions. Two markers' copies of a
queue are held against each other with --compare. On several machines each marks
a share with --shard, and --merge joins their folders.`,
		Example: `  counterpoise mark handed-in --key heron.key.json --to marked
  counterpoise mark --decisions queue.csv --by AB --key heron.key.json --to marked
  counterpoise mark --compare queue-AB.csv queue-CD.csv
  counterpoise mark handed-in --shard 1/4 --key heron.key.json --to part1
  counterpoise mark --merge part1 part2 part3 part4 --key heron.key.json --to marked`,
		RunE: func(cmd *cobra.Command, args []string) error {
			return m.run(cmd, args)
		},
	}
	f := c.Flags()
	f.StringVar(&m.key, "key", "", "the tutor's key file that build or hand-out wrote")
	f.StringVar(&m.to, "to", "", "folder for the results")
	f.StringVar(&m.policy, "policy", "", "policy file in YAML; the one used is printed to policy.yaml")
	f.StringVar(&m.shard, "shard", "", "mark a share only, such as 2/4")
	f.BoolVar(&m.merge, "merge", false, "join the folders of all shards")
	f.StringVar(&m.decisions, "decisions", "", "a queue file that a marker filled in")
	f.StringVar(&m.by, "by", "", "who marks, for the log: with --decisions or --page")
	f.BoolVar(&m.compare, "compare", false, "hold two markers' copies of a queue against each other")
	f.BoolVar(&m.notebooks, "notebooks", false, "also write each student's own notebook with feedback behind every answer")
	f.StringVar(&m.seeds, "seeds", "", "answers of agreed marks (columns question, answer, marks) to stand among the others in the queue")
	f.BoolVar(&m.page, "page", false, "open the page on which a human marks what waits in --to: on this machine only, until interrupted")
	f.BoolVar(&m.asJSON, "json", false, "print the summary as JSON")
	return c
}

func (m *markCall) run(cmd *cobra.Command, args []string) error {
	if m.compare {
		return m.hold(cmd.OutOrStdout(), args)
	}
	if m.key == "" || m.to == "" {
		return errors.New("mark needs --key KEYFILE and --to FOLDER: see counterpoise mark --help")
	}
	key, err := build.ReadKeyFile(m.key)
	if err != nil {
		return fileError(err)
	}
	switch {
	case m.page:
		if len(args) > 0 {
			return errors.New("--page works on the results in --to: leave the folder of scripts out")
		}
		ctx, stop := signal.NotifyContext(cmd.Context(), os.Interrupt)
		defer stop() // not before the markbook is written: a second interrupt does not cut that short
		err = m.serve(ctx, cmd, key)
	case m.decisions != "":
		if len(args) > 0 {
			return errors.New("--decisions works on the results in --to: leave the folder of scripts out")
		}
		err = m.decide()
	case m.merge:
		err = marking.Merge(m.to, args)
	case len(args) != 1:
		return fmt.Errorf("mark takes one folder of scripts, not %d", len(args))
	default:
		err = m.scripts(cmd, args[0], key)
	}
	if err != nil {
		return fileError(err)
	}
	if m.shard != "" {
		fmt.Fprintf(cmd.OutOrStdout(), "shard %s is done: join all of them with --merge\n", m.shard)
		return nil
	}
	if m.seeds != "" {
		if err := m.sow(key); err != nil {
			return err
		}
	}
	s, err := marking.Finish(m.to, key)
	if err != nil {
		return fileError(err)
	}
	if m.notebooks {
		if len(args) != 1 || m.merge {
			return errors.New("--notebooks needs the folder of the scripts: mark them, or name them once more")
		}
		if err := marking.WriteNotebooks(m.to, args[0], key); err != nil {
			return fileError(err)
		}
	}
	return m.tell(cmd.OutOrStdout(), s)
}

// scripts marks a folder, with a bar on a terminal.
func (m *markCall) scripts(cmd *cobra.Command, folder string, key *build.KeyFile) error {
	job := marking.Job{Folder: folder, Key: key, Policy: marking.DefaultPolicy(), To: m.to}
	if m.policy != "" {
		p, err := marking.ReadPolicy(m.policy)
		if err != nil {
			return err
		}
		job.Policy = p
	}
	if m.shard != "" {
		if _, err := fmt.Sscanf(m.shard, "%d/%d", &job.Shard.Part, &job.Shard.Of); err != nil {
			return fmt.Errorf("--shard %s: write i/n, such as 2/4", m.shard)
		}
	}
	if inside(m.to, folder) {
		return fmt.Errorf("the results would go into the folder of the scripts (%s): give another folder with --to", folder)
	}
	debug.SetMemoryLimit(markMemory)
	ctx, stop := signal.NotifyContext(cmd.Context(), os.Interrupt)
	defer stop()
	bar := newProgress(cmd.ErrOrStderr(), "marking")
	defer bar.end()
	job.Progress = bar.set
	err := marking.Run(ctx, job)
	if ctx.Err() != nil {
		return errors.New("stopped: what is marked is kept, and the same call goes on from there")
	}
	return err
}

// serve shows the page for humans until it is interrupted.
func (m *markCall) serve(ctx context.Context, cmd *cobra.Command, key *build.KeyFile) error {
	board, err := marking.OpenBoard(m.to, key)
	if err != nil {
		return err
	}
	s, err := markpage.Listen(board, key.Title)
	if err != nil {
		return err
	}
	s.By = m.by
	fmt.Fprintf(cmd.OutOrStdout(), "Open %s in a browser on this machine. Ctrl-C ends it and writes the markbook.\n", s.Address())
	err = s.Serve(ctx)
	fmt.Fprintln(cmd.ErrOrStderr(), "Every mark is kept. Writing the markbook and the pages.")
	return err
}

// sow puts seeds into the queue.
func (m *markCall) sow(key *build.KeyFile) error {
	marker, err := marking.NewMarker(key, marking.DefaultPolicy())
	if err != nil {
		return err
	}
	f, err := os.Open(m.seeds)
	if err != nil {
		return fileError(err)
	}
	defer f.Close()
	seeds, err := marker.ReadSeeds(f)
	if err != nil {
		return fmt.Errorf("%s: %w", m.seeds, err)
	}
	return marker.Sow(m.to, seeds)
}

// inside reports whether a path is a folder or lies in it.
func inside(path, folder string) bool {
	p, err1 := filepath.Abs(path)
	f, err2 := filepath.Abs(folder)
	if err1 != nil || err2 != nil {
		return false
	}
	rel, err := filepath.Rel(f, p)
	return err == nil && rel != ".." && !strings.HasPrefix(rel, ".."+string(filepath.Separator))
}

func (m *markCall) decide() error {
	if m.by == "" {
		return errors.New("--decisions needs --by NAME: the log says who decided")
	}
	all, err := readQueue(m.decisions, m.by)
	if err != nil {
		return err
	}
	return marking.Decide(m.to, all)
}

func readQueue(path, by string) ([]marking.Decision, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, fileError(err)
	}
	defer f.Close()
	all, err := marking.ReadQueue(f, by, time.Now().UTC().Truncate(time.Second))
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	return all, nil
}

// hold compares two markers' copies of a queue.
func (m *markCall) hold(out io.Writer, args []string) error {
	if len(args) != 2 {
		return errors.New("--compare takes two filled-in copies of a queue")
	}
	first, err := readQueue(args[0], "first")
	if err != nil {
		return err
	}
	second, err := readQueue(args[1], "second")
	if err != nil {
		return err
	}
	differ, figure, err := marking.Compare(first, second)
	if err != nil {
		return err
	}
	for i, d := range differ {
		if i == 0 {
			fmt.Fprintf(out, "row               question: marks in %s, in %s\n", filepath.Base(args[0]), filepath.Base(args[1]))
		}
		fmt.Fprintf(out, "%-16s  %s: %g, %g\n", d.Row, d.Question, d.First, d.Second)
	}
	fmt.Fprintln(out, figure)
	return nil
}

func exists(path string) bool {
	_, err := os.Stat(path)
	return err == nil
}

// counted is a number with the words that go with it.
func counted(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

func (m *markCall) tell(out io.Writer, s marking.Summary) error {
	if m.asJSON {
		return json.NewEncoder(out).Encode(s)
	}
	if s.Unmarked > 0 {
		defer fmt.Fprintf(out, "  %s: ask for a whole notebook again (see the flags in the markbook)\n",
			counted(s.Unmarked, "student whose script could not be marked", "students whose scripts could not be marked"))
	}
	fmt.Fprintf(out, "%s, %d marked, %d with something odd, %s without a script, %s for a human\n",
		counted(s.Scripts, "script", "scripts"), s.Marked, s.Flagged, counted(s.Missing, "student", "students"), counted(s.Waiting, "answer waits", "answers wait"))
	fmt.Fprintf(out, "  %s for the class\n  %s and %s for you\n  %s for each student\n",
		filepath.Join(m.to, marking.Report), filepath.Join(m.to, marking.Markbook), filepath.Join(m.to, marking.QueueFile), filepath.Join(m.to, marking.Feedback))
	if drift := filepath.Join(m.to, marking.DriftFile); exists(drift) {
		fmt.Fprintf(out, "  %s: marks given to the seeds beside the agreed ones\n", drift)
	}
	return nil
}
