package marking

import (
	"time"

	"counterpoise/worksheets/marking/script"
)

// A Result is what one script comes to: one line of results.jsonl.
type Result struct {
	Number  int           `json:"n"`      // of the script in the pile, from 0
	Script  string        `json:"script"` // its label
	Print   string        `json:"print"`  // fingerprint of its bytes, to tell copies
	Student string        `json:"student,omitempty"`
	Changed time.Time     `json:"changed,omitzero"` // when the file was last changed
	Late    bool          `json:"late,omitempty"`
	Flags   []script.Flag `json:"flags,omitempty"`
	Marks   []Mark        `json:"questions,omitempty"` // in the order of the sheet; none if the script was not marked
	Total   float64       `json:"total"`
	Of      float64       `json:"of"`
}

// Marked reports whether the script was marked at all: a whole notebook of the
// sheet.
func (r *Result) Marked() bool { return len(r.Marks) > 0 }

// A Mark is what one answer earned.
type Mark struct {
	Question string    `json:"question"`
	Cell     int       `json:"cell,omitempty"` // that holds the answer, from 1
	Answer   string    `json:"answer,omitempty"`
	Verdict  string    `json:"verdict"` // right, wrong, unreadable, human or blank
	Slip     string    `json:"slip,omitempty"`
	Marks    float64   `json:"marks"`
	Of       float64   `json:"of"`
	Say      string    `json:"say,omitempty"`
	TeX      string    `json:"tex,omitempty"`
	Carried  []string  `json:"carried,omitempty"`  // earlier questions whose own wrong values were carried forward
	Penalty  string    `json:"penalty,omitempty"`  // what was taken off, in words
	Lines    []Line    `json:"lines,omitempty"`    // of a derivation
	Attempts []Attempt `json:"attempts,omitempty"` // as the student's notebook recorded them
	By       string    `json:"by,omitempty"`       // the human who decided, once one has
}

// A Line is the judgement of one line of a derivation.
type Line struct {
	Text   string `json:"text"`
	Status string `json:"status"`
	Say    string `json:"say,omitempty"`
}

// Verdicts of a mark beside those of package question.
const (
	blank = "blank"
	human = "human"
)
