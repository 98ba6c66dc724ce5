package marking

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"counterpoise/worksheets/marking/tabular"
)

// A Seed is an answer whose marks were agreed beforehand. It stands in the
// queue like any other, so that a marker's drift can be seen.
type Seed struct {
	Question string
	Answer   string
	Marks    float64
}

// Names of the files of seeds in a folder of results.
const (
	seedsFile = "seeds.csv"
	DriftFile = "drift.csv"
)

// ReadSeeds reads seeds: a table with the columns question, answer and marks.
// Every mistake is reported, each with its line.
func (m *Marker) ReadSeeds(r io.Reader) ([]Seed, error) {
	rows, err := tabular.Read(r)
	if err != nil {
		return nil, err
	}
	if len(rows) == 0 || len(rows[0].Cells) < 3 || !strings.EqualFold(rows[0].Cells[0], "question") {
		return nil, errors.New("line 1: seeds have the columns question, answer, marks")
	}
	var seeds []Seed
	var faults []error
	for _, row := range rows[1:] {
		if len(row.Cells) < 3 {
			faults = append(faults, fmt.Errorf("line %d: %d cells, want question, answer, marks", row.Line, len(row.Cells)))
			continue
		}
		at, ok := m.order[row.Cells[0]]
		if !ok {
			faults = append(faults, fmt.Errorf("line %d: the sheet has no question %q", row.Line, row.Cells[0]))
			continue
		}
		marks, err := markIn(strings.TrimSpace(row.Cells[2]), fmt.Sprint(m.key.Questions[at].Worth()))
		if err != nil {
			faults = append(faults, fmt.Errorf("line %d: %w", row.Line, err))
			continue
		}
		if strings.TrimSpace(row.Cells[1]) == "" {
			faults = append(faults, fmt.Errorf("line %d: a seed needs an answer", row.Line))
			continue
		}
		seeds = append(seeds, Seed{row.Cells[0], clean(strings.TrimSpace(row.Cells[1])), marks})
	}
	return seeds, errors.Join(faults...)
}

// Sow keeps seeds in a folder of results: its queue holds them from then on.
func (m *Marker) Sow(folder string, seeds []Seed) error {
	f := &finisher{folder: folder}
	return f.table(seedsFile, func(w *tabular.Writer) error {
		err := w.Row("question", "answer", "marks")
		for _, s := range seeds {
			err = errors.Join(err, w.Row(s.Question, s.Answer, s.Marks))
		}
		return err
	})
}

// readSeeds reads the seeds of a folder; there may be none.
func (f *finisher) readSeeds() error {
	file, err := os.Open(filepath.Join(f.folder, seedsFile))
	if errors.Is(err, os.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	defer file.Close()
	f.seeds, err = f.marker.ReadSeeds(file)
	return err
}

// sow puts the seeds among what waits.
func (f *finisher) sow() {
	for _, s := range f.seeds {
		q := &f.marker.key.Questions[f.marker.order[s.Question]].Question
		if id := decisionID(s.Question, s.Answer); f.waiting[id] == nil {
			f.waiting[id] = &waiting{id: id, question: s.Question, answer: s.Answer, of: q.Worth(), times: 1}
		}
	}
}

// drift writes how each marker's marks of the seeds lie beside the agreed ones,
// in the order in which they were given. Nothing is written while there is
// nothing to tell.
func (f *finisher) drift() error {
	agreed := map[string]Seed{}
	for _, s := range f.seeds {
		agreed[decisionID(s.Question, s.Answer)] = s
	}
	var told []Decision
	for _, d := range f.decided.all {
		if _, ok := agreed[d.Row]; ok {
			told = append(told, d)
		}
	}
	if len(told) == 0 {
		return nil
	}
	slices.SortStableFunc(told, func(a, b Decision) int { return cmp.Or(cmp.Compare(a.By, b.By), a.At.Compare(b.At)) })
	return f.table(DriftFile, func(w *tabular.Writer) error {
		err := w.Row("marker", "at", "question", "answer", "agreed", "given", "difference")
		for _, d := range told {
			s := agreed[d.Row]
			err = errors.Join(err, w.Row(d.By, d.At.UTC().Format("2006-01-02 15:04:05"), s.Question, s.Answer, s.Marks, d.Marks, d.Marks-s.Marks))
		}
		return err
	})
}
