package marking

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"

	"counterpoise/worksheets/build"
	"counterpoise/worksheets/marking/journal"
	"counterpoise/worksheets/question"
)

// A Board lays out the answers of a folder of results that a human marks,
// question by question across all students, and keeps each decision as it is
// made. It may be used by several goroutines at once.
type Board struct {
	mu        sync.Mutex
	folder    string
	questions []BoardQuestion
	at        map[string][2]int // row: question and group
}

// A BoardQuestion is one question on a board.
type BoardQuestion struct {
	Name   string
	Ask    string
	Of     float64
	Points []question.Point
	Groups []Group
}

// A Group is one answer with all that are equal to it.
type Group struct {
	Row     string
	Answer  string
	Times   int
	Decided bool
	Marks   float64
	Comment string
	By      string
}

// OpenBoard opens the board of a folder of results. Names are not on it: a
// marker sees answers only.
func OpenBoard(folder string, key *build.KeyFile) (*Board, error) {
	f, err := openFinisher(folder, key)
	if err != nil {
		return nil, err
	}
	f.keepDecided = true
	if err := f.gather(); err != nil {
		return nil, err
	}
	f.sow()
	results, err := os.Open(filepath.Join(folder, journal.Lines))
	if err != nil {
		return nil, err
	}
	defer results.Close()
	b := &Board{folder: folder, at: map[string][2]int{}}
	for i := range key.Questions {
		q := &key.Questions[i].Question
		bq := BoardQuestion{Name: q.Name, Ask: key.Ask(i, nil), Of: q.Worth(), Points: q.Points}
		for _, w := range f.waiting {
			if w.question != q.Name {
				continue
			}
			answer, err := f.answerOf(w, results)
			if err != nil {
				return nil, err
			}
			g := Group{Row: w.id, Answer: answer, Times: w.times}
			if d, ok := f.decided.latest[w.id]; ok {
				g.Decided, g.Marks, g.Comment, g.By = true, d.Marks, d.Comment, d.By
			}
			bq.Groups = append(bq.Groups, g)
		}
		if len(bq.Groups) == 0 {
			continue
		}
		slices.SortFunc(bq.Groups, func(a, c Group) int { return strings.Compare(a.Row, c.Row) })
		for k, g := range bq.Groups {
			b.at[g.Row] = [2]int{len(b.questions), k}
		}
		b.questions = append(b.questions, bq)
	}
	return b, nil
}

// Questions returns what is on the board as it stands.
func (b *Board) Questions() []BoardQuestion {
	b.mu.Lock()
	defer b.mu.Unlock()
	all := slices.Clone(b.questions)
	for i := range all {
		all[i].Groups = slices.Clone(all[i].Groups)
	}
	return all
}

// ErrReason is returned where a mark is changed without a reason.
var ErrReason = errors.New("this answer has a mark already: give a reason for changing it")

// Decide gives an answer its marks, forced to the disk before it returns. A
// mark that is changed needs a reason, which the log keeps.
func (b *Board) Decide(d Decision) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	at, ok := b.at[d.Row]
	if !ok {
		return errors.New("there is no such answer on the board")
	}
	q := &b.questions[at[0]]
	g := &q.Groups[at[1]]
	switch {
	case !(d.Marks >= 0 && d.Marks <= q.Of):
		return fmt.Errorf("%g marks, where 0 to %g can be given", d.Marks, q.Of)
	case strings.TrimSpace(d.By) == "":
		return errors.New("say who decides: the log keeps it")
	case g.Decided && g.Marks != d.Marks && strings.TrimSpace(d.Why) == "":
		return ErrReason
	}
	d.Question = q.Name
	d.At = d.At.UTC().Truncate(time.Second)
	if err := Decide(b.folder, []Decision{d}); err != nil {
		return err
	}
	g.Decided, g.Marks, g.Comment, g.By = true, d.Marks, d.Comment, d.By
	return nil
}
