// Package script reads a handed-in notebook: who it belongs to, which sheet it
// is, and what was answered to which question.
//
// A script comes as the student's front end left it: cells moved, copied,
// split, joined, deleted or retyped, answers given twice, metadata lost. It is
// read leniently, and whatever is odd becomes a [Flag] for the tutor. Nothing
// in it is run, and no number is taken from it but the answers themselves.
package script

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"counterpoise/worksheets/notebook"
	"counterpoise/worksheets/worksheet"
)

// Limits on one script: far above what a worksheet has, far below what would
// hold up a run.
const (
	MaxCells   = 20_000
	MaxAnswers = 2_000
	maxFlags   = 50
)

// A Paper is a script that was read.
type Paper struct {
	Student string // the built notebook's token; empty if it has none
	Sheet   string // the name of the sheet it was built from; empty if not known
	Answers []Answer
	Flags   []Flag
}

// An Answer is what a script gives to one question. Where the script answers a
// question more than once, the last one that is not empty counts.
type Answer struct {
	Question string
	Text     string
	Cell     int // counted from 1
}

// A Flag is something odd, for the tutor to know of.
type Flag struct {
	Code string `json:"code"`
	Say  string `json:"say"`
}

// Read reads a script. If it is no notebook, the paper is empty but for a flag.
func Read(data []byte) Paper {
	nb, err := notebook.Read(data)
	if err != nil {
		return Paper{Flags: []Flag{{"unreadable", "this is no whole notebook: " + plain(err)}}}
	}
	r := &reader{latest: map[string]int{}, ids: map[string]bool{}}
	if nb.Major < 4 {
		r.flag("format", fmt.Sprintf("the notebook is of format %d: it may lack what later formats have", nb.Major))
	}
	cells := nb.Cells
	if len(cells) > MaxCells {
		r.flag("cells", fmt.Sprintf("%d cells: the first %d are read", len(cells), MaxCells))
		cells = cells[:MaxCells]
	}
	r.identity(nb)
	for i := range cells {
		r.cell(i+1, &cells[i])
	}
	return r.paper
}

// plain leaves out of an error whatever would break a line.
func plain(err error) string {
	var bad *notebook.ReadError
	if errors.As(err, &bad) {
		return strings.Join(strings.Fields(bad.Error()), " ")
	}
	return strings.Join(strings.Fields(err.Error()), " ")
}

type reader struct {
	paper  Paper
	latest map[string]int // question: index into paper.Answers
	ids    map[string]bool
}

func (r *reader) flag(code, say string) {
	if len(r.paper.Flags) < maxFlags && !slices.Contains(r.paper.Flags, Flag{code, say}) {
		r.paper.Flags = append(r.paper.Flags, Flag{code, say})
	}
}

// identity reads whose notebook this is from its metadata and from the cell
// that carries the sealed keys.
func (r *reader) identity(nb *notebook.Notebook) {
	about, _ := nb.Metadata["counterpoise"].(map[string]any)
	r.paper.Student, _ = about["student"].(string)
	r.paper.Sheet, _ = about["sheet"].(string)
	opened := 0
	for i := range nb.Cells[:min(len(nb.Cells), MaxCells)] {
		rest, ok := openCell(nb.Cells[i].Source)
		if !ok {
			continue
		}
		if opened++; opened > 1 {
			r.flag("opened twice", "two cells carry sealed keys: cells of two notebooks may be mixed")
		}
		sheet, student, err := worksheet.Identity(rest)
		if err != nil {
			r.flag("opening cell", "the cell with the sealed keys was changed")
			continue
		}
		r.agree("student", &r.paper.Student, student)
		r.agree("sheet", &r.paper.Sheet, sheet)
		if opened == 8 { // enough to tell; each costs time
			break
		}
	}
	if opened == 0 {
		r.flag("opening cell", "the cell with the sealed keys is gone")
	}
}

// agree fills in what is not known yet and flags what clashes.
func (r *reader) agree(what string, known *string, also string) {
	switch {
	case also == "" || also == *known:
	case *known == "":
		*known = also
	default:
		r.flag("two "+what+"s", fmt.Sprintf("the notebook names two %ss in different places", what))
	}
}

func (r *reader) cell(number int, c *notebook.Cell) {
	if c.ID != "" {
		if r.ids[c.ID] {
			r.flag("cell copied", fmt.Sprintf("cell %d has the id of an earlier cell", number))
		}
		r.ids[c.ID] = true
	}
	found := answersIn(c.Source)
	if len(found) == 0 {
		if name := preparedFor(c); name != "" && strings.TrimSpace(c.Source) != "" {
			r.flag("first line lost", fmt.Sprintf("cell %d lost its first line: it is read as the answer to %s", number, name))
			found = []Answer{{Question: name, Text: c.Source}}
		}
	}
	if len(found) > 1 {
		r.flag("cells joined", fmt.Sprintf("cell %d answers %d questions", number, len(found)))
	}
	if len(found) > 0 && c.Type != notebook.Code {
		r.flag("cell retyped", fmt.Sprintf("cell %d is no code cell any more: its answer is read all the same", number))
	}
	for _, a := range found {
		a.Cell = number
		r.add(a)
	}
}

func (r *reader) add(a Answer) {
	a.Text = strings.TrimSpace(a.Text)
	at, again := r.latest[a.Question]
	if !again {
		if len(r.paper.Answers) == MaxAnswers {
			r.flag("answers", fmt.Sprintf("more than %d answers: the rest are not read", MaxAnswers))
			return
		}
		r.latest[a.Question] = len(r.paper.Answers)
		r.paper.Answers = append(r.paper.Answers, a)
		return
	}
	old := &r.paper.Answers[at]
	if a.Text == "" || a.Text == old.Text {
		return
	}
	if old.Text != "" {
		r.flag("answered twice", fmt.Sprintf("%s is answered in cells %d and %d: the later one counts", a.Question, old.Cell, a.Cell))
	}
	*old = a
}

// preparedFor returns the question that a cell was prepared for, if its
// metadata still say so.
func preparedFor(c *notebook.Cell) string {
	about, _ := c.Metadata["counterpoise"].(map[string]any)
	name, _ := about["question"].(string)
	return name
}
