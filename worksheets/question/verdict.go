package question

import (
	"encoding/json"
	"fmt"
)

// An Outcome is what a verdict comes down to.
type Outcome int

// The outcomes. Unreadable costs no attempt; ForHuman waits for a marker.
const (
	Unreadable Outcome = iota
	Right
	Wrong
	ForHuman
)

var outcomeWords = [...]string{"unreadable", "right", "wrong", "human"}

func (o Outcome) String() string {
	if o < 0 || int(o) >= len(outcomeWords) {
		return fmt.Sprintf("Outcome(%d)", int(o))
	}
	return outcomeWords[o]
}

// MarshalText writes the outcome as a word.
func (o Outcome) MarshalText() ([]byte, error) { return []byte(o.String()), nil }

// UnmarshalText reads the word of an outcome.
func (o *Outcome) UnmarshalText(b []byte) error {
	for i, w := range outcomeWords {
		if w == string(b) {
			*o = Outcome(i)
			return nil
		}
	}
	return fmt.Errorf("unknown verdict %q: one of right, wrong, unreadable, human", b)
}

// A Verdict is the judgement of one answer. Its JSON is one line of the output
// of counterpoise check.
type Verdict struct {
	Outcome Outcome `json:"verdict"`
	Marks   float64 `json:"marks"`
	Of      float64 `json:"of"`
	Slip    string  `json:"slip"`            // the kind of slip, or empty
	Say     string  `json:"say"`             // what the student is told
	Prose   bool    `json:"-"`               // Say is a teacher's Markdown with $maths$, not plain words
	TeX     string  `json:"tex"`             // how the answer was read
	Text    string  `json:"-"`               // the same in plain text
	Lines   []Line  `json:"lines,omitempty"` // of a derivation
	// Caret is the answer with a mark under the place where it stopped being
	// readable: two lines, for a fixed-width font.
	Caret string `json:"caret,omitempty"`
	// Points are what a marker of prose looks for; they are for the marker,
	// not for the student.
	Points []Point `json:"-"`
	// Working is the worked solution, Markdown, where the answer is right.
	Working string `json:"-"`
	// Reached tells which milestones of a derivation were reached; nil if none.
	Reached []bool `json:"-"`
}

// A Line is the judgement of one line of a derivation.
type Line struct {
	Text   string `json:"text"`
	Status string `json:"status"` // follows, given, defines, approximates, does not follow, unreadable
	Say    string `json:"say"`
	TeX    string `json:"tex,omitempty"`
}

// JSON returns the verdict as counterpoise check prints it, without the id.
func (v Verdict) JSON() ([]byte, error) { return json.Marshal(v) }
