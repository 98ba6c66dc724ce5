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
	"unicode"
	"unicode/utf8"

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

	cells []notebook.Cell
}

// An Answer is what a script gives to one question. Where the script answers a
// question more than once, the last one that is not empty counts.
type Answer struct {
	Question string
	Text     string
	Cell     int // counted from 1
	// Attempts is the notebook's own record of the attempts at the question;
	// nil if it has none.
	Attempts *worksheet.AttemptRecord
}

// A Flag is something odd, for the tutor to know of.
type Flag struct {
	Code string `json:"code"`
	Say  string `json:"say"`
}

// Unreadable is the code of the flag of what is no whole notebook.
const Unreadable = "unreadable"

// quiet are the codes of flags that say how a script came and change nothing.
var quiet = map[string]bool{"renamed": true, "format": true, "kernel": true}

// Quiet reports whether a flag only says how a script came: nobody need look.
func (f Flag) Quiet() bool { return quiet[f.Code] }

// Read reads a script. If it is no notebook, the paper is empty but for a flag.
func Read(data []byte) Paper {
	nb, err := notebook.Read(data)
	if err != nil {
		return Paper{Flags: []Flag{{Unreadable, "this is no whole notebook: " + plain(err)}}}
	}
	r := &reader{latest: map[string]int{}, ids: map[string]bool{}}
	r.saved(nb)
	cells := nb.Cells
	if len(cells) > MaxCells {
		r.flag("cells", fmt.Sprintf("%d cells: the first %d are read", len(cells), MaxCells))
		cells = cells[:MaxCells]
	}
	r.paper.cells = cells
	r.identity(nb)
	for i := range cells {
		r.cell(i+1, cells)
	}
	return r.paper
}

// saved flags how the notebook was saved, where that is not as it was built.
func (r *reader) saved(nb *notebook.Notebook) {
	if nb.Minor != notebook.Minor {
		r.flag("format", fmt.Sprintf("saved in format %d.%d, built in %d.%d", nb.Major, nb.Minor, notebook.Major, notebook.Minor))
	}
	if language := nb.Language(); language != "" && language != "go" {
		r.flag("kernel", "saved with a kernel for "+printable(language))
	}
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
	behind int    // the last cell that holds an answer
	named  string // the question that it answers
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

func (r *reader) cell(number int, cells []notebook.Cell) {
	c := &cells[number-1]
	if c.ID != "" {
		if r.ids[c.ID] {
			r.flag("cell copied", fmt.Sprintf("cell %d has the id of an earlier cell", number))
		}
		r.ids[c.ID] = true
	}
	found := answersIn(c.Source)
	if len(found) == 0 {
		r.without(number, c)
		return
	}
	if len(found) > 1 {
		r.flag("cells joined", fmt.Sprintf("cell %d answers %d questions", number, len(found)))
	}
	if c.Type != notebook.Code {
		r.flag("cell retyped", fmt.Sprintf("cell %d is no code cell any more: its answer is read all the same", number))
	}
	for _, a := range found {
		a.Cell, a.Attempts = number, r.attempts(number, c, a.Question)
		r.add(a)
	}
	r.behind, r.named = number, found[len(found)-1].Question
}

// without reads a cell that starts no answer: one that lost its first line, or
// the rest of an answer whose cell was split.
func (r *reader) without(number int, c *notebook.Cell) {
	after := r.behind == number-1 && number > 1
	prepared := preparedFor(c)
	text := strings.TrimSpace(c.Source)
	switch {
	case text == "":
	case prepared != "" && after && prepared == r.named:
		r.flag("cell split", fmt.Sprintf("the answer to %s stands in cells %d and %d: they are read as one", printable(prepared), r.behind, number))
		old := &r.paper.Answers[r.latest[prepared]]
		old.Text = strings.TrimSpace(old.Text + between(old.Text, text) + text)
		if old.Attempts == nil {
			old.Attempts = r.attempts(number, c, prepared)
		}
		r.behind = number
	case prepared != "":
		r.flag("first line lost", fmt.Sprintf("cell %d lost its first line: it is read as the answer to %s", number, printable(prepared)))
		if c.Type != notebook.Code {
			r.flag("cell retyped", fmt.Sprintf("cell %d is no code cell any more: its answer is read all the same", number))
		}
		r.add(Answer{Question: prepared, Text: c.Source, Cell: number, Attempts: r.attempts(number, c, prepared)})
		r.behind, r.named = number, prepared
	}
}

// between is what stood where an answer was split: an end of line, unless one
// part ends or the other begins with what stands inside a line.
func between(first, second string) string {
	const inside = "=≈<>+*/^·×"
	end, _ := utf8.DecodeLastRuneInString(first)
	begin, _ := utf8.DecodeRuneInString(second)
	if strings.ContainsRune(inside+"-", end) || strings.ContainsRune(inside, begin) {
		return " "
	}
	return "\n"
}

// attempts returns the record of attempts that a cell's output carries.
func (r *reader) attempts(number int, c *notebook.Cell, question string) *worksheet.AttemptRecord {
	for i := range c.Outputs {
		content, ok := c.Outputs[i].Data[worksheet.AttemptsMIME]
		if !ok {
			continue
		}
		record, err := worksheet.ReadAttempts(content)
		switch {
		case err != nil:
			r.flag("attempts", fmt.Sprintf("the record of attempts in cell %d was changed: it is left out", number))
		case record.Question == question && record.Student == r.paper.Student && (r.paper.Sheet == "" || record.Sheet == r.paper.Sheet):
			return record
		default:
			r.flag("another's output", fmt.Sprintf("the output of cell %d comes from another copy or another question", number))
		}
	}
	return nil
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
	switch {
	case a.Text == "" || old.Text == "":
		r.flag("answered twice", fmt.Sprintf("%s has answer cells %d and %d, one of them empty", printable(a.Question), old.Cell, a.Cell))
	case a.Text == old.Text:
		r.flag("cell copied", fmt.Sprintf("%s is answered in cells %d and %d alike", printable(a.Question), old.Cell, a.Cell))
	default:
		r.flag("answered twice", fmt.Sprintf("%s is answered in cells %d and %d: the later one counts", printable(a.Question), old.Cell, a.Cell))
	}
	if a.Text != "" {
		*old = a
	}
}

// preparedFor returns the question that a cell was prepared for, if its
// metadata still say so.
func preparedFor(c *notebook.Cell) string {
	about, _ := c.Metadata["counterpoise"].(map[string]any)
	name, _ := about["question"].(string)
	return name
}

// printable is a name from a script, in one line and short enough for a flag.
func printable(name string) string {
	name = strings.Join(strings.FieldsFunc(strings.ToValidUTF8(name, "\uFFFD"), func(r rune) bool {
		return unicode.IsSpace(r) || unicode.IsControl(r) || unicode.Is(unicode.Cf, r)
	}), " ")
	if r := []rune(name); len(r) > 60 {
		name = string(r[:60]) + "…"
	}
	return name
}
