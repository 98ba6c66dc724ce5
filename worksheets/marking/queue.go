package marking

import (
	"bufio"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"counterpoise/worksheets/marking/agreement"
	"counterpoise/worksheets/marking/journal"
	"counterpoise/worksheets/marking/tabular"
)

// waiting is one answer that waits for a human, with all that are equal to it.
type waiting struct {
	id       string
	question string
	answer   string // empty where it is long: see answerOf
	at       int64  // of its line in the results
	size     int
	of       float64
	times    int
	say      string
}

// longAnswer is the size in bytes above which an answer that waits is read
// again from the results, so that a class that writes essays fits the memory.
const longAnswer = 200

// decisionID names all equal answers to a question: blanks do not count.
func decisionID(question, answer string) string {
	sum := sha256.Sum256([]byte(question + "\x00" + strings.Join(strings.Fields(answer), " ")))
	return hex.EncodeToString(sum[:8])
}

// wait adds an answer, of the result whose line is at that place.
func (f *finisher) wait(m *Mark, at int64, size int) {
	id := decisionID(m.Question, m.Answer)
	w, ok := f.waiting[id]
	if !ok {
		w = &waiting{id: id, question: m.Question, at: at, size: size, of: m.Of}
		if len(m.Answer) <= longAnswer {
			w.answer = m.Answer
		}
		if q := &f.marker.key.Questions[f.marker.order[m.Question]].Question; len(q.Points) == 0 {
			w.say = m.Say
		}
		f.waiting[id] = w
	}
	w.times++
}

// answerOf returns the answer that waits.
func (f *finisher) answerOf(w *waiting, results io.ReaderAt) (string, error) {
	if w.answer != "" {
		return w.answer, nil
	}
	line := make([]byte, w.size)
	if _, err := results.ReadAt(line, w.at); err != nil {
		return "", err
	}
	var r Result
	if err := json.Unmarshal(line, &r); err != nil {
		return "", err
	}
	for i := range r.Marks {
		if r.Marks[i].Question == w.question {
			return r.Marks[i].Answer, nil
		}
	}
	return "", fmt.Errorf("%s: the answer to %s is gone", filepath.Join(f.folder, journal.Lines), w.question)
}

// queueHead is the first row of a queue file. A marker fills in marks, and a
// comment for the student if they like.
var queueHead = []string{"row", "question", "answer", "times", "look for", "of", "marks", "comment"}

// queue writes what waits for a human, question by question.
func (f *finisher) queue() error {
	all := make([]*waiting, 0, len(f.waiting))
	for _, w := range f.waiting {
		all = append(all, w)
	}
	slices.SortFunc(all, func(a, b *waiting) int {
		if d := f.marker.order[a.question] - f.marker.order[b.question]; d != 0 {
			return d
		}
		return strings.Compare(a.id, b.id) // by fingerprint: the order says nothing of who wrote it
	})
	results, err := os.Open(filepath.Join(f.folder, journal.Lines))
	if err != nil {
		return err
	}
	defer results.Close()
	return f.table(QueueFile, func(w *tabular.Writer) error {
		head := make([]any, len(queueHead))
		for i, h := range queueHead {
			head[i] = h
		}
		if err := w.Row(head...); err != nil {
			return err
		}
		for _, q := range all {
			answer, err := f.answerOf(q, results)
			if err != nil {
				return err
			}
			if err := w.Row(q.id, q.question, answer, q.times, f.lookFor(q), q.of, "", ""); err != nil {
				return err
			}
		}
		return nil
	})
}

// lookFor lists the points that a marker looks for.
func (f *finisher) lookFor(w *waiting) string {
	q := &f.marker.key.Questions[f.marker.order[w.question]].Question
	var lines []string
	for _, p := range q.Points {
		line := p.Text
		if p.Marks > 0 {
			line += fmt.Sprintf(" (%g)", p.Marks)
		}
		lines = append(lines, line)
	}
	if len(lines) == 0 && w.say != "" {
		lines = append(lines, w.say)
	}
	return strings.Join(lines, "; ")
}

// A Decision is a human's mark for an answer and all that are equal to it.
type Decision struct {
	Row      string    `json:"row"`
	Question string    `json:"question,omitempty"`
	Marks    float64   `json:"marks"`
	Comment  string    `json:"comment,omitempty"`
	By       string    `json:"by"`
	Why      string    `json:"why,omitempty"` // where a mark was changed
	At       time.Time `json:"at"`
}

// decisionsFile is the log of every decision, in the order in which they came;
// the last of a row counts. It is only ever appended to.
const decisionsFile = "decisions.jsonl"

type decisions struct {
	all    []Decision
	latest map[string]Decision
}

func readDecisions(folder string) (decisions, error) {
	d := decisions{latest: map[string]Decision{}}
	file, err := os.Open(filepath.Join(folder, decisionsFile))
	if errors.Is(err, os.ErrNotExist) {
		return d, nil
	}
	if err != nil {
		return d, err
	}
	defer file.Close()
	scan := bufio.NewScanner(file)
	scan.Buffer(make([]byte, 1<<16), 1<<20)
	for line := 1; scan.Scan(); line++ {
		var one Decision
		if err := json.Unmarshal(scan.Bytes(), &one); err != nil {
			return d, fmt.Errorf("%s:%d: not a decision: %w", filepath.Join(folder, decisionsFile), line, err)
		}
		d.all = append(d.all, one)
		d.latest[one.Row] = one
	}
	return d, scan.Err()
}

// Decide adds decisions to the log of a folder and forces them to the disk.
func Decide(folder string, all []Decision) error {
	if len(all) == 0 {
		return nil
	}
	file, err := os.OpenFile(filepath.Join(folder, decisionsFile), os.O_WRONLY|os.O_CREATE|os.O_APPEND, 0o644)
	if err != nil {
		return err
	}
	var text []byte
	for _, d := range all {
		line, err := json.Marshal(d)
		if err != nil {
			return errors.Join(err, file.Close())
		}
		text = append(append(text, line...), '\n')
	}
	_, err = file.Write(text)
	return errors.Join(err, file.Sync(), file.Close())
}

// ReadQueue reads a queue file that a marker filled in: a decision for each row
// that has marks. Every mistake is reported, each with its line.
func ReadQueue(r io.Reader, by string, at time.Time) ([]Decision, error) {
	rows, err := tabular.Read(r)
	if err != nil {
		return nil, err
	}
	if len(rows) == 0 {
		return nil, errors.New("the queue file is empty")
	}
	column := map[string]int{}
	for i, name := range rows[0].Cells {
		column[strings.ToLower(strings.TrimSpace(name))] = i
	}
	for _, need := range []string{"row", "question", "of", "marks"} {
		if _, ok := column[need]; !ok {
			return nil, fmt.Errorf("line 1: the column %q is gone: keep the columns of the queue file", need)
		}
	}
	var all []Decision
	var faults []error
	for _, row := range rows[1:] {
		cell := func(name string) string {
			if i, ok := column[name]; ok && i < len(row.Cells) {
				return strings.TrimSpace(row.Cells[i])
			}
			return ""
		}
		if cell("marks") == "" {
			continue
		}
		marks, err := markIn(cell("marks"), cell("of"))
		switch {
		case err != nil:
			faults = append(faults, fmt.Errorf("line %d: %w", row.Line, err))
		case cell("row") == "":
			faults = append(faults, fmt.Errorf("line %d: the row has lost its name in the first column", row.Line))
		default:
			all = append(all, Decision{Row: cell("row"), Question: cell("question"), Marks: marks, Comment: cell("comment"), By: by, At: at})
		}
	}
	return all, errors.Join(faults...)
}

// markIn reads a mark as people type it, with a point or a comma.
func markIn(text, of string) (float64, error) {
	marks, err := strconv.ParseFloat(strings.ReplaceAll(text, ",", "."), 64)
	if err != nil {
		return 0, fmt.Errorf("marks %q is no number", text)
	}
	most, err := strconv.ParseFloat(strings.ReplaceAll(of, ",", "."), 64)
	if err != nil {
		return 0, fmt.Errorf("of %q is no number: leave that column as it was", of)
	}
	if !(marks >= 0 && marks <= most) {
		return 0, fmt.Errorf("%s marks, where 0 to %g can be given", text, most)
	}
	return marks, nil
}

// A Difference is a row to which two markers gave different marks.
type Difference struct {
	Row, Question string
	First, Second float64
}

// Compare holds the decisions of two markers on copies of one queue against
// each other: where they differ, and how far they agree.
func Compare(first, second []Decision) ([]Difference, agreement.Figure, error) {
	others := map[string]Decision{}
	for _, d := range second {
		others[d.Row] = d
	}
	var differ []Difference
	var a, b []float64
	for _, d := range first {
		o, ok := others[d.Row]
		if !ok {
			continue
		}
		a, b = append(a, d.Marks), append(b, o.Marks)
		if d.Marks != o.Marks {
			differ = append(differ, Difference{d.Row, d.Question, d.Marks, o.Marks})
		}
	}
	figure, err := agreement.Kappa(a, b)
	return differ, figure, err
}
