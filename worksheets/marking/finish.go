package marking

import (
	"bufio"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"counterpoise/worksheets/build"
	"counterpoise/worksheets/marking/journal"
	"counterpoise/worksheets/marking/pile"
	"counterpoise/worksheets/marking/tabular"
)

// Files of a finished run, beside those of the journal.
const (
	Markbook  = "markbook.csv"
	ItemsFile = "items.csv"
	QueueFile = "queue.csv"
	PolicyOut = "policy.yaml"
	Report    = "report.html"
	Feedback  = "feedback"
)

// A Summary is what a finished run comes to.
type Summary struct {
	Scripts int `json:"scripts"`
	Marked  int `json:"marked"`
	Flagged int `json:"flagged"` // at which somebody should look
	Missing int `json:"missing"` // students of the key file without a script
	Waiting int `json:"waiting"` // answers that wait for a human
	// Unmarked are the students none of whose scripts could be marked.
	Unmarked int `json:"unmarked"`
}

// Finish writes everything that follows from the results in folder: markbook,
// item figures, the queue for humans, the class report and a feedback page a
// student. It applies the decisions of humans that the folder holds. The same
// results and decisions give the same bytes.
func Finish(folder string, key *build.KeyFile) (Summary, error) {
	f, err := openFinisher(folder, key)
	if err != nil {
		return Summary{}, err
	}
	if err := f.gather(); err != nil {
		return Summary{}, err
	}
	f.choose()
	s := f.summary()
	f.sow()
	if err := f.tidy(); err != nil {
		return s, err
	}
	return s, errors.Join(f.markbook(), f.items(), f.queue(), f.policyFile(), f.report(), f.feedback(), f.drift())
}

// openFinisher reads what a folder of results holds beside the results.
func openFinisher(folder string, key *build.KeyFile) (*finisher, error) {
	d, err := readDescription(folder)
	if err != nil {
		return nil, err
	}
	marker, err := NewMarker(key, d.Policy)
	if err != nil {
		return nil, err
	}
	decided, err := readDecisions(folder)
	if err != nil {
		return nil, err
	}
	f := &finisher{folder: folder, marker: marker, policy: d.Policy, description: d, decided: decided, class: newClass(key), best: map[string]int{}, waiting: map[string]*waiting{}}
	return f, f.readSeeds()
}

// A finisher holds what is kept of every result: little, so that a class of
// tens of thousands fits.
type finisher struct {
	folder      string
	marker      *Marker
	policy      Policy
	description description
	decided     decisions
	rows        []row
	best        map[string]int  // student: index of the row that counts
	handedIn    map[string]bool // students with any script; made when first needed
	class       *class
	waiting     map[string]*waiting
	figured     []Item
	seeds       []Seed
	keepDecided bool // decided answers stay among those that wait
}

// A row is one script in the markbook.
type row struct {
	number  int
	script  string
	print   string
	student string
	changed time.Time
	late    bool
	marked  bool
	counts  bool
	total   float64
	of      float64
	marks   []float32 // of each question, or unanswered, or waits
	waiting int
	flags   string
	odd     bool // somebody should look at it
}

// What a row holds in place of marks.
const (
	unanswered = -1
	waits      = -2
)

// each calls f with every result, with the decisions of humans applied.
func (f *finisher) each(do func(r *Result) error) error {
	return f.eachAt(func(r *Result, _ int64, _ int) error { return do(r) })
}

// eachAt is each with the place and size of the result's line.
func (f *finisher) eachAt(do func(r *Result, at int64, size int) error) error {
	next := int64(0)
	return journal.Each(f.folder, func(line []byte) error {
		at := next
		next += int64(len(line)) + 1
		var r Result
		if err := json.Unmarshal(line, &r); err != nil {
			return fmt.Errorf("%s: a line is damaged: %w", filepath.Join(f.folder, journal.Lines), err)
		}
		f.apply(&r)
		return do(&r, at, len(line))
	})
}

// apply puts the decisions of humans into a result.
func (f *finisher) apply(r *Result) {
	changed := false
	for i := range r.Marks {
		m := &r.Marks[i]
		d, ok := f.decided.latest[decisionID(m.Question, m.Answer)]
		if !ok || m.Verdict == blank {
			continue
		}
		m.Marks, m.Say, m.By = min(max(d.Marks, 0), m.Of), d.Comment, d.By
		if m.Say == "" {
			m.Say = "Marked by hand."
		}
		changed = true
	}
	if changed {
		f.marker.sum(r)
	}
}

func (f *finisher) gather() error {
	return f.eachAt(func(r *Result, at int64, size int) error {
		w := row{number: r.Number, script: r.Script, print: r.Print, student: r.Student, changed: r.Changed, late: r.Late, marked: r.Marked(), total: r.Total, of: r.Of}
		for _, flag := range r.Flags {
			w.flags = also(w.flags, flag.Code)
			w.odd = w.odd || !flag.Quiet()
		}
		for i := range r.Marks {
			m := &r.Marks[i]
			x := float32(m.Marks)
			switch {
			case m.Verdict == blank:
				x = unanswered
			case m.Verdict == human && m.By == "":
				x = waits
				w.waiting++
				f.wait(m, at, size)
			}
			if m.Verdict == human && m.By != "" && f.keepDecided {
				f.wait(m, at, size)
			}
			w.marks = append(w.marks, x)
		}
		f.rows = append(f.rows, w)
		return nil
	})
}

// choose decides which of several scripts of one student counts.
func (f *finisher) choose() {
	for i := range f.rows {
		w := &f.rows[i]
		if !w.marked {
			continue
		}
		who := w.student
		if who == "" { // nobody knows whose it is: it stands alone
			w.counts = true
			continue
		}
		at, again := f.best[who]
		if !again {
			f.best[who] = i
			w.counts = true
			continue
		}
		old := &f.rows[at]
		w.flags, old.flags = also(w.flags, "several scripts"), also(old.flags, "several scripts")
		w.odd, old.odd = true, true
		if f.policy.Duplicates == "best" && w.total > old.total || f.policy.Duplicates == "latest" && w.changed.After(old.changed) {
			f.best[who] = i
			w.counts, old.counts = true, false
		}
	}
}

func also(flags, flag string) string {
	if flags == "" {
		return flag
	}
	if slices.Contains(strings.Split(flags, "; "), flag) {
		return flags
	}
	return flags + "; " + flag
}

func (f *finisher) summary() Summary {
	s := Summary{Scripts: len(f.rows)}
	for i := range f.rows {
		w := &f.rows[i]
		if w.marked {
			s.Marked++
		}
		if w.odd {
			s.Flagged++
		}
		s.Waiting += w.waiting
	}
	for _, student := range f.marker.key.Students {
		switch f.came(student.ID) {
		case nothing:
			s.Missing++
		case unmarked:
			s.Unmarked++
		}
	}
	return s
}

// What came of a student.
const (
	nothing = iota
	unmarked
	marked
)

func (f *finisher) came(student string) int {
	if _, ok := f.best[student]; ok {
		return marked
	}
	if f.handedIn == nil {
		f.handedIn = map[string]bool{}
		for i := range f.rows {
			f.handedIn[f.rows[i].student] = true
		}
	}
	if f.handedIn[student] {
		return unmarked
	}
	return nothing
}

// markbook writes a row a script: those of the key file's students in its
// order, missing ones among them, then those of nobody known.
func (f *finisher) markbook() error {
	return f.table(Markbook, func(w *tabular.Writer) error {
		head := []any{"student"}
		if f.named() {
			head = append(head, "name")
		}
		head = append(head, "script", "counts", "late", "total", "of", "waiting")
		for i := range f.marker.key.Questions {
			head = append(head, f.marker.key.Questions[i].Name)
		}
		if err := w.Row(append(head, "flags")...); err != nil {
			return err
		}
		of := map[string][]int{}
		var nobody []int
		for i := range f.rows {
			if s := f.rows[i].student; s != "" {
				of[s] = append(of[s], i)
			} else {
				nobody = append(nobody, i)
			}
		}
		for _, s := range f.marker.key.Students {
			if len(of[s.ID]) == 0 {
				if err := f.missing(w, s); err != nil {
					return err
				}
			}
			for _, i := range of[s.ID] {
				if err := f.line(w, &f.rows[i], s.Name); err != nil {
					return err
				}
			}
		}
		for _, i := range nobody {
			if err := f.line(w, &f.rows[i], ""); err != nil {
				return err
			}
		}
		return nil
	})
}

func (f *finisher) named() bool {
	return f.policy.Names == "show" && slices.ContainsFunc(f.marker.key.Students, func(s build.KeyStudent) bool { return s.Name != "" })
}

func (f *finisher) missing(w *tabular.Writer, s build.KeyStudent) error {
	cells := []any{s.ID}
	if f.named() {
		cells = append(cells, s.Name)
	}
	cells = append(cells, "", "no", "", "", "", 0)
	for range f.marker.key.Questions {
		cells = append(cells, "")
	}
	return w.Row(append(cells, "missing")...)
}

func (f *finisher) line(w *tabular.Writer, r *row, name string) error {
	cells := []any{r.student}
	if f.named() {
		cells = append(cells, name)
	}
	cells = append(cells, r.script, yes(r.counts), yes(r.late))
	if r.marked {
		cells = append(cells, r.total, r.of, r.waiting)
	} else {
		cells = append(cells, "", "", 0)
	}
	for i := range f.marker.key.Questions {
		if i < len(r.marks) && r.marks[i] >= 0 {
			cells = append(cells, float64(r.marks[i]))
		} else {
			cells = append(cells, "")
		}
	}
	return w.Row(append(cells, r.flags)...)
}

func yes(b bool) string {
	if b {
		return "yes"
	}
	return "no"
}

// table writes a CSV file of the folder through a temporary one.
func (f *finisher) table(name string, write func(*tabular.Writer) error) error {
	return f.file(name, func(out io.Writer) error {
		w, err := tabular.NewWriter(out)
		if err != nil {
			return err
		}
		return errors.Join(write(w), w.Flush())
	})
}

// file writes a file of the folder whole or not at all. It is not forced to the
// disk: it follows from the results and can be written again.
func (f *finisher) file(name string, write func(io.Writer) error) error {
	path := filepath.Join(f.folder, name)
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		return err
	}
	out, err := os.CreateTemp(filepath.Dir(path), unfinished+"*")
	if err != nil {
		return err
	}
	defer os.Remove(out.Name()) // gone already if all went well
	buffered := bufio.NewWriterSize(out, 1<<16)
	if err := errors.Join(write(buffered), buffered.Flush(), out.Chmod(0o644), out.Close()); err != nil {
		return err
	}
	return os.Rename(out.Name(), path)
}

// unfinished is how files begin that are being written.
const unfinished = ".new-"

// tidy takes away what a killed run left half written, and feedback pages of
// scripts that are called otherwise by now, since another script of their
// student counts. Other files are left alone.
func (f *finisher) tidy() error {
	for _, folder := range []string{"", Feedback, Notebooks} {
		entries, err := os.ReadDir(filepath.Join(f.folder, folder))
		if errors.Is(err, os.ErrNotExist) {
			continue
		}
		if err != nil {
			return err
		}
		for _, e := range entries {
			if e.Type().IsRegular() && (strings.HasPrefix(e.Name(), unfinished) || folder != "" && f.stale(e.Name())) {
				if err := os.Remove(filepath.Join(f.folder, folder, e.Name())); err != nil {
					return err
				}
			}
		}
	}
	return nil
}

// numbered is the end of the name of a page or notebook that is called after
// its script.
var numbered = regexp.MustCompile(`(?:^|-)script-(\d{6,})\.(?:html|ipynb)$`)

// stale reports whether a page or notebook is called after a script and that
// script is called otherwise by now.
func (f *finisher) stale(name string) bool {
	m := numbered.FindStringSubmatch(name)
	if m == nil {
		return false
	}
	number, err := strconv.Atoi(m[1])
	if err != nil {
		return false
	}
	at, ok := f.row(number - 1)
	return ok && f.pageName(&Result{Number: number - 1, Student: f.rows[at].student}) != strings.TrimSuffix(name, filepath.Ext(name))+".html"
}

func (f *finisher) policyFile() error {
	text, err := f.policy.YAML()
	if err != nil {
		return err
	}
	return f.file(PolicyOut, func(w io.Writer) error { _, err := w.Write(text); return err })
}

// pageName is the file of a script's feedback page: by student, and by number
// where several scripts share one.
func (f *finisher) pageName(r *Result) string {
	if r.Student == "" {
		return fmt.Sprintf("script-%06d.html", r.Number+1)
	}
	if at, ok := f.best[r.Student]; ok && f.rows[at].number == r.Number {
		return pile.FileName(r.Student) + ".html"
	}
	return fmt.Sprintf("%s-script-%06d.html", pile.FileName(r.Student), r.Number+1)
}
