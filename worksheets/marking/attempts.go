package marking

import (
	"fmt"
	"html/template"
	"math"
	"time"

	"counterpoise/mechanics/figure"
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

// Tried is how often a class tried a question, by the records in its notebooks;
// not numbers where there is no record.
type Tried struct {
	Records  int
	Attempts float64 // mean number of answers that could be read
	AtFirst  float64 // share that was right at the first
	Minutes  float64 // median of the minutes from opening the sheet to the first right answer
}

// shown is how long after opening the time curve goes: three hours, in minutes.
// Who goes on later has mostly been away meanwhile.
const shown = 180

// tries gathers the attempts at one question: little, whatever the class.
type tries struct {
	records, attempts, first, right int
	minutes                         [shown + 1]int32 // to the first right answer, the last for longer
}

func (t *tries) add(all []Attempt) {
	if len(all) == 0 {
		return
	}
	t.records++
	t.attempts += len(all)
	if all[0].Verdict == question.Right.String() {
		t.first++
	}
	for _, a := range all {
		if a.Verdict == question.Right.String() {
			t.right++
			t.minutes[minute(a)]++
			return
		}
	}
}

func minute(a Attempt) int { return max(0, min(a.After/60, shown)) }

func (t *tries) told() Tried {
	none := math.NaN()
	out := Tried{t.records, none, none, none}
	if t.records == 0 {
		return out
	}
	out.Attempts, out.AtFirst = float64(t.attempts)/float64(t.records), float64(t.first)/float64(t.records)
	seen := 0
	for m, n := range t.minutes {
		if seen += int(n); t.right > 0 && 2*seen >= t.right {
			out.Minutes = float64(m)
			break
		}
	}
	return out
}

// A curve counts the attempts of a class by the minute.
type curve struct {
	scripts    int // with a record
	all, right [shown + 1]int
}

func (c *curve) add(r *Result) {
	found := false
	for i := range r.Marks {
		for _, a := range r.Marks[i].Attempts {
			found = true
			c.all[minute(a)]++
			if a.Verdict == question.Right.String() {
				c.right[minute(a)]++
			}
		}
	}
	if found {
		c.scripts++
	}
}

// picture draws how many answers a script had at each time after its sheet was
// opened; empty where no script has a record.
func (c *curve) picture() template.HTML {
	if c.scripts == 0 {
		return ""
	}
	var minutes, all, right []float64
	sumAll, sumRight, last := 0, 0, 5
	for m := range shown {
		if c.all[m] > 0 {
			last = max(last, m+1)
		}
	}
	minutes, all, right = append(minutes, 0), append(all, 0), append(right, 0)
	for m := range last {
		sumAll, sumRight = sumAll+c.all[m], sumRight+c.right[m]
		minutes = append(minutes, 60*float64(m+1))
		all, right = append(all, float64(sumAll)/float64(c.scripts)), append(right, float64(sumRight)/float64(c.scripts))
	}
	return template.HTML(figure.Plot{
		Title:  "Answers over time",
		X:      figure.Axis{Label: "time since the sheet was opened", Unit: "min"},
		Y:      figure.Axis{Label: "answers a script, so far"},
		Series: []figure.Series{{Label: "all", X: minutes, Y: all}, {Label: "right", X: minutes, Y: right}},
	}.SVG())
}
