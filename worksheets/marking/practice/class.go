// Package practice makes classes of scripts of which the truth is known: right
// answers, slips, values carried forward, what cannot be read, what is missing,
// and files as odd as they come. Tests mark them, and so may whoever wants to
// try the marking out before the first class hands in.
//
// The truth of an answer follows from how it was made: a number is put inside
// or outside the tolerance, a formula is a sample that the sheet's author calls
// right or wrong, a slip is the formula that the author foresaw. No answer is
// judged here. The package knows sheets, their copies and the default policy of
// marking; it knows nothing of markers.
package practice

import (
	"context"
	"fmt"
	"maps"
	"math/rand/v2"
	"strings"

	"counterpoise/worksheets/build"
	"counterpoise/worksheets/library"
	"counterpoise/worksheets/notebook"
	"counterpoise/worksheets/question"
	"counterpoise/worksheets/source"
)

// A Class is a sheet handed out to a class.
type Class struct {
	Key    *build.KeyFile
	copies []*notebook.Notebook
	seed   uint64
}

// guess is the memory in KiB that one guess at a sealed key of a practice class
// costs: the least, since nobody need be kept from it.
const guess = 64

// secret is the class secret of every practice class, so that the same class
// has the same bytes.
var secret = []byte("for practice only")

// New hands a sheet out to n students, each with their own numbers. The same
// sheet, number and seed give the same class.
func New(sheet *source.Sheet, n int, seed uint64) (*Class, error) {
	students := make([]build.Student, n)
	for i := range students {
		students[i] = build.Student{ID: fmt.Sprintf("s%05d", i+1), Name: fmt.Sprintf("Student %d", i+1), Email: fmt.Sprintf("s%05d@school.example", i+1)}
	}
	set, err := build.Plan(sheet, students, secret, nil)
	if err != nil {
		return nil, err
	}
	set.Guess = guess
	c := &Class{Key: set.Key(), copies: make([]*notebook.Notebook, n), seed: seed}
	return c, set.Notebooks(context.Background(), func(i int, nb *notebook.Notebook) error { c.copies[i] = nb; return nil }, nil)
}

// Library hands every worksheet of the library out to n students.
func Library(n int, seed uint64) ([]*Class, error) {
	var all []*Class
	for _, name := range library.Names() {
		sheet, err := library.Read(name)
		if err != nil {
			return nil, err
		}
		c, err := New(sheet, n, seed)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", name, err)
		}
		all = append(all, c)
	}
	return all, nil
}

// A Truth is what a script must get.
type Truth struct {
	Student string // as the markbook must say; empty where nobody can know
	Marked  bool
	Marks   map[string]float64 // by question
	Verdict map[string]string  // right, wrong, unreadable, human or blank
	Slip    map[string]string  // where the kind of slip is known
	Flags   []string           // codes, in any order
}

// Total is the sum of the marks.
func (t Truth) Total() (sum float64) {
	for _, x := range t.Marks {
		sum += x
	}
	return sum
}

// A Script is a handed-in file.
type Script struct {
	File  string // its name
	Data  []byte
	Truth Truth
}

// Plain returns the script of the i-th student as it was handed out, with
// answers drawn at random.
func (c *Class) Plain(i int) (Script, error) {
	nb, t, err := c.answered(i)
	if err != nil {
		return Script{}, err
	}
	data, err := notebook.Write(nb)
	return Script{c.Key.Students[i].File, data, t}, err
}

// answered is the copy of the i-th student with answers in it.
func (c *Class) answered(i int) (*notebook.Notebook, Truth, error) {
	student := c.Key.Students[i]
	t := Truth{Student: student.ID, Marked: true, Marks: map[string]float64{}, Verdict: map[string]string{}, Slip: map[string]string{}}
	w, err := c.writer(i, &t)
	if err != nil {
		return nil, t, err
	}
	nb := c.copies[i].Copy()
	for k := range c.Key.Questions {
		q := &c.Key.Questions[k].Question
		text, err := w.answer(k)
		if err != nil {
			return nil, t, fmt.Errorf("%s of %s: %w", q.Name, student.ID, err)
		}
		if at := answerCell(nb, q.Name); at >= 0 && text != "" {
			nb.Cells[at].Source = strings.TrimRight(nb.Cells[at].Source, "\n") + "\n" + text
		}
	}
	return nb, t, nil
}

// answerCell is the cell that was built for the answer to a question, or -1.
func answerCell(nb *notebook.Notebook, name string) int {
	for i := range nb.Cells {
		if nb.Cells[i].ID == "answer-"+name {
			return i
		}
	}
	return -1
}

func (c *Class) rng(i int) *rand.Rand { return rand.New(rand.NewPCG(c.seed, uint64(i))) }

// keyOf computes the key of a number question for one copy with another formula
// in place of its own, or with earlier answers replaced by the student's own.
func keyOf(a *question.Asked, formula string, earlier question.Values) (float64, error) {
	q := a.Question
	if formula != "" {
		q.Key = formula
	}
	q.Slips, q.Uncertainty = nil, ""
	values := maps.Clone(a.Values)
	for name, own := range earlier {
		name = strings.ReplaceAll(name, "-", "_")
		if _, ok := values[name]; ok {
			values[name] = own
		}
	}
	other, err := question.Compile(q, values)
	if err != nil {
		return 0, err
	}
	v, ok := other.Value()
	if !ok {
		return 0, fmt.Errorf("%s has no value", q.Name)
	}
	return v.Value, nil
}

// student finds a copy by its student.
func (c *Class) student(id string) (build.KeyStudent, bool) {
	for _, s := range c.Key.Students {
		if s.ID == id {
			return s, true
		}
	}
	return build.KeyStudent{}, false
}
