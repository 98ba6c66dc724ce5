package worksheet

import (
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"time"

	"counterpoise/worksheets/feedback"
	"counterpoise/worksheets/question"
)

// AttemptsMIME is the MIME type under which the feedback to an answer carries
// the record of the attempts at its question, so that a saved notebook holds it
// (nbformat keeps JSON under every type application/…+json).
const AttemptsMIME = "application/vnd.counterpoise.attempts+json"

// An AttemptRecord is what a notebook's own output tells of the attempts at one
// question since the worksheet was opened. It is the student's: whoever marks
// may draw curves from it, and takes marks off by it only where a teacher chose
// so.
type AttemptRecord struct {
	Sheet    string    `json:"sheet"`
	Student  string    `json:"student,omitempty"` // the copy's token
	Question string    `json:"question"`
	Opened   time.Time `json:"opened"` // the worksheet, for the last time
	Attempts []Attempt `json:"attempts"`
}

// An Attempt is one judged answer. What cannot be read is no attempt, nor is
// the same answer once more.
type Attempt struct {
	At      time.Time `json:"at"`
	Verdict string    `json:"verdict"` // right, wrong or human
}

// maxAttempts bounds the attempts that a record holds: the last ones are kept
// out, since a curve needs the first.
const maxAttempts = 200

// Wrong counts the wrong attempts before the first right one.
func (r *AttemptRecord) Wrong() (n int) {
	for _, a := range r.Attempts {
		switch a.Verdict {
		case "right":
			return n
		case "wrong":
			n++
		}
	}
	return n
}

// errRecord is told for what is no record.
var errRecord = errors.New("this is no record of attempts")

// ReadAttempts reads what an output holds under [AttemptsMIME]. It comes from a
// stranger: a record that no worksheet could have written is refused.
func ReadAttempts(content any) (*AttemptRecord, error) {
	data, err := json.Marshal(content)
	if err != nil || len(data) > 100*maxAttempts {
		return nil, errRecord
	}
	var r AttemptRecord
	if json.Unmarshal(data, &r) != nil || len(r.Attempts) == 0 || len(r.Attempts) > maxAttempts {
		return nil, errRecord
	}
	last := r.Opened
	for _, a := range r.Attempts {
		known := a.Verdict == "right" || a.Verdict == "wrong" || a.Verdict == "human"
		if !known || a.At.Before(last) || a.At.Year() < 2000 || a.At.Year() > 9999 {
			return nil, errRecord
		}
		last = a.At
	}
	return &r, nil
}

// Answered is the feedback to an answer, with what is to be said about the
// attempts at its question.
type Answered struct {
	feedback.Feedback
	Times  int // answers to this question that could be read, this one among them
	Record AttemptRecord
	cost   string
}

// attempted counts an answer and returns its feedback.
func (s *Sheet) attempted(a *asked, text string, f feedback.Feedback) Answered {
	verdict := f.Verdict.Outcome
	if verdict != question.Unreadable && text != a.last {
		a.last = text
		if a.attempts++; len(a.record) < maxAttempts {
			a.record = append(a.record, Attempt{s.now(), verdict.String()})
		}
	}
	out := Answered{Feedback: f, Times: a.attempts, Record: AttemptRecord{
		Sheet: s.name, Student: s.student, Question: a.sealed.Name, Opened: s.opened, Attempts: a.record[:len(a.record):len(a.record)],
	}}
	if rule := a.sealed.Attempts; rule.Cost > 0 {
		out.cost = costSay(rule, out.Record.Wrong())
	}
	return out
}

// costSay says what the wrong attempts so far cost by a teacher's rule.
func costSay(rule question.Attempts, wrong int) string {
	const most = 1e9
	switch off := most - rule.After(wrong, most); {
	case wrong == 0:
		return ""
	case off > 0:
		return fmt.Sprintf("%s so far: %g off the marks.", counted(wrong, "wrong answer"), off)
	case wrong == rule.Free:
		return fmt.Sprintf("%s so far. From now on each costs %g.", counted(wrong, "wrong answer"), rule.Cost)
	}
	return fmt.Sprintf("%s so far; %d cost nothing.", counted(wrong, "wrong answer"), rule.Free)
}

func counted(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// notes is what is said behind the feedback; it may be empty.
func (a Answered) notes() string {
	var all []string
	if a.Times > 1 && a.Verdict.Outcome != question.Unreadable {
		all = append(all, fmt.Sprintf("This is answer number %d to this question. The one that you run last counts; keep one answer cell for each question.", a.Times))
	}
	if a.cost != "" {
		all = append(all, a.cost)
	}
	return strings.Join(all, " ")
}

// String returns the feedback as plain text.
func (a Answered) String() string {
	if n := a.notes(); n != "" {
		return a.Feedback.String() + "\n" + n
	}
	return a.Feedback.String()
}

// Markdown returns the same as Markdown.
func (a Answered) Markdown() string {
	if n := a.notes(); n != "" {
		return a.Feedback.Markdown() + "\n\n*" + n + "*\n"
	}
	return a.Feedback.Markdown()
}

// HTML returns the same as HTML.
func (a Answered) HTML() string {
	if n := a.notes(); n != "" {
		return a.Feedback.HTML() + `<p class="cp-aside">` + n + "</p>"
	}
	return a.Feedback.HTML()
}

// MIMEBundle returns the record of the attempts, for a notebook to keep beside
// what is shown.
func (a Answered) MIMEBundle() map[string]any {
	if len(a.Record.Attempts) == 0 {
		return nil
	}
	return map[string]any{AttemptsMIME: a.Record}
}
