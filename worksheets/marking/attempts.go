package marking

import (
	"fmt"
	"time"

	"counterpoise/worksheets/question"
	"counterpoise/worksheets/worksheet"
)

// An AttemptRule says what wrong attempts cost. They are counted by the record
// that a student's own notebook keeps, which is in the student's hands.
type AttemptRule struct {
	// Count charges for attempts at all: by the question's own rule, else by
	// Free and Cost.
	Count bool    `yaml:"count" json:"count"`
	Free  int     `yaml:"free" json:"free"` // wrong attempts that cost nothing
	Cost  float64 `yaml:"cost" json:"cost"` // marks off for each further one
}

// for one question; the zero rule where attempts cost nothing.
func (r AttemptRule) of(q *question.Question) question.Attempts {
	switch {
	case !r.Count:
		return question.Attempts{}
	case q.Attempts != (question.Attempts{}):
		return q.Attempts
	}
	return question.Attempts{Free: r.Free, Cost: r.Cost}
}

// An Attempt is one answer that the student's notebook recorded.
type Attempt struct {
	After   int    `json:"after"` // seconds since the worksheet was opened
	Verdict string `json:"verdict"`
}

// attempts keeps the record of a question's attempts with its mark, and takes
// off what the wrong ones before this answer cost.
func (s *sitting) attempts(mark *Mark, q *question.Question, r *worksheet.AttemptRecord) {
	rule := s.m.policy.Attempts.of(q)
	if r == nil {
		if rule.Cost > 0 && mark.Marks > 0 {
			s.result.flag("no attempts", fmt.Sprintf("wrong answers to %s cost marks, and the notebook has no record of them", q.Name))
		}
		return
	}
	for _, a := range r.Attempts {
		mark.Attempts = append(mark.Attempts, Attempt{int(min(a.At.Sub(r.Opened), longest) / time.Second), a.Verdict})
	}
	before := *r
	before.Attempts = r.Attempts[:len(r.Attempts)-1]
	wrong := before.Wrong()
	if off := mark.Marks - rule.After(wrong, mark.Marks); off > 0 {
		mark.takeOff(off, counted(wrong, "wrong attempt"), "")
		s.result.flag("attempts cost", fmt.Sprintf("marks were taken off %s by the record that the student's own notebook keeps", q.Name))
	}
}

// longest is the greatest time since opening that is kept: a month.
const longest = 31 * 24 * time.Hour
