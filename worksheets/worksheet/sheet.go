// Package worksheet is an opened worksheet beside a running kernel: the sealed
// keys of its first cell, the answers given so far, and what to say to each.
//
// A cell //worksheet:answer NAME and a call Answer(NAME, text) end in the same
// function. An answer is data: it is read and compared, never run. The package
// knows questions and feedback; it knows nothing of the kernel, which hands it
// the text of directive cells through [Desk].
package worksheet

import (
	"fmt"
	"slices"
	"strings"
	"sync"
	"time"

	"counterpoise/worksheets/feedback"
	"counterpoise/worksheets/page"
	"counterpoise/worksheets/page/tex"
	"counterpoise/worksheets/question"
)

// A checker judges answers to one question without showing its key.
type checker interface {
	Check(answer string) question.Verdict
}

// A Sheet is an opened worksheet. Its methods may be called from any goroutine.
type Sheet struct {
	name, title string
	student     string // the copy's token
	opened      time.Time
	now         func() time.Time // UTC, whole seconds
	mu          sync.Mutex
	order       []string
	questions   map[string]*asked
}

// asked is a question with what happened to it so far.
type asked struct {
	sealed   Sealed
	checker  checker
	hinted   int    // hints shown
	attempts int    // answers that were readable
	last     string // the last readable answer
	record   []Attempt
}

// Title returns the worksheet's title.
func (s *Sheet) Title() string { return s.title }

// Names returns the names of the questions in order.
func (s *Sheet) Names() []string { return slices.Clone(s.order) }

// open opens what stands in a notebook's first cell.
func open(text string) (*Sheet, error) {
	e, err := Unpack(text)
	if err != nil {
		return nil, err
	}
	now := func() time.Time { return time.Now().UTC().Truncate(time.Second) }
	s := &Sheet{name: e.Name, title: e.Title, student: e.Student, opened: now(), now: now, questions: map[string]*asked{}}
	for _, q := range e.Questions {
		c, err := openBox(q)
		if err != nil {
			return nil, fmt.Errorf("question %s: %w", q.Name, err)
		}
		s.order = append(s.order, q.Name)
		s.questions[q.Name] = &asked{sealed: q, checker: c}
	}
	return s, nil
}

// String says what was opened.
func (s *Sheet) String() string { return s.greeting().String() }

// Markdown says what was opened.
func (s *Sheet) Markdown() string { return s.greeting().Markdown() }

// HTML says what was opened.
func (s *Sheet) HTML() string { return s.greeting().HTML() }

func (s *Sheet) greeting() Note {
	n := len(s.order)
	switch n {
	case 0:
		return Note{Text: fmt.Sprintf("%s: open. It asks nothing.", s.title)}
	case 1:
		return Note{Text: fmt.Sprintf("%s: open, with 1 question. Your answer is checked when you run its cell.", s.title)}
	}
	return Note{Text: fmt.Sprintf("%s: open, with %d questions. An answer is checked when you run its cell.", s.title, n)}
}

// find returns a question, or a kind sentence.
func (s *Sheet) find(name string) (*asked, *Note) {
	if name == "" {
		return nil, &Note{Text: "Which question is this the answer to? Write its name after the word answer on the first line, such as //worksheet:answer " + s.example() + "."}
	}
	if a, ok := s.questions[name]; ok {
		return a, nil
	}
	text := fmt.Sprintf("This worksheet has no question called %s.", name)
	if near := nearest(name, s.order); near != "" {
		text += fmt.Sprintf(" Did you mean %s?", near)
	} else if len(s.order) > 0 {
		text += " Its questions are " + strings.Join(s.order, ", ") + "."
	}
	return nil, &Note{Text: text}
}

func (s *Sheet) example() string {
	if len(s.order) > 0 {
		return s.order[0]
	}
	return "NAME"
}

// Answer judges an answer to the question of that name. What it returns shows
// itself: an [Answered], or a [Note] where there is nothing to judge.
func (s *Sheet) Answer(name, text string) any {
	s.mu.Lock()
	defer s.mu.Unlock()
	a, note := s.find(strings.TrimSpace(name))
	if note != nil {
		return *note
	}
	text = strings.TrimSpace(text)
	if text == "" {
		return Note{Text: fmt.Sprintf("There is no answer to %s here yet. Type it under the first line of this cell and run the cell again.", name)}
	}
	f := feedback.OfQuestion(name, a.checker.Check(text))
	f.Math, f.Prose = mathML, func(markdown string) string { return string(page.Prose(markdown)) }
	return s.attempted(a, text, f)
}

// Derive judges a derivation, one statement a line. It is Answer under the name
// that the sheet's cells use.
func (s *Sheet) Derive(name, text string) any { return s.Answer(name, text) }

// Hint returns the next hint to a question; after the last, all of them.
func (s *Sheet) Hint(name string) any {
	s.mu.Lock()
	defer s.mu.Unlock()
	a, note := s.find(strings.TrimSpace(name))
	if note != nil {
		return *note
	}
	hints := a.sealed.Hints
	if len(hints) == 0 {
		return Note{Text: fmt.Sprintf("There is no hint for %s. Say what you know and what is asked, and draw a sketch.", name)}
	}
	a.hinted = min(a.hinted+1, len(hints))
	var b strings.Builder
	for i, h := range hints[:a.hinted] {
		fmt.Fprintf(&b, "**Hint %d of %d.** %s\n\n", i+1, len(hints), strings.TrimSpace(h))
	}
	if a.hinted < len(hints) {
		b.WriteString("*Run this cell again for the next hint.*")
	}
	return Note{Text: strings.TrimSpace(b.String())}
}

// mathML typesets the reading of an answer; empty where it cannot.
func mathML(formula string) string {
	s, err := tex.MathML(`\displaystyle `+formula, false) // fractions as large as on paper
	if err != nil {
		return ""
	}
	return s
}

// A Note is a friendly sentence in Markdown that shows itself.
type Note struct{ Text string }

// String returns the note as plain text.
func (n Note) String() string { return strings.NewReplacer("**", "", "*", "").Replace(n.Text) }

// Markdown returns the note.
func (n Note) Markdown() string { return n.Text }

// HTML returns the note, typeset.
func (n Note) HTML() string {
	return `<div class="cp-note" role="status">` + string(page.Prose(n.Text)) + "</div>"
}
