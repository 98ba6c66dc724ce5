package marking

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"slices"
	"sort"
	"strings"
	"unicode/utf8"

	"counterpoise/worksheets/build"
	"counterpoise/worksheets/marking/script"
	"counterpoise/worksheets/question"
)

// A Marker marks scripts of one sheet by one policy. It may be used by several
// goroutines at once.
type Marker struct {
	key    *build.KeyFile
	policy Policy
	order  map[string]int // question: place in the sheet
}

// NewMarker returns a Marker for a key file.
func NewMarker(key *build.KeyFile, p Policy) (*Marker, error) {
	if err := p.Check(); err != nil {
		return nil, err
	}
	m := &Marker{policy: p, order: map[string]int{}}
	questions := slices.Clone(key.Questions)
	for i := range questions {
		q := &questions[i].Question
		m.order[q.Name] = i
		if q.Gravity == (question.Span{}) {
			q.Gravity = question.Span{From: p.Gravity.From, To: p.Gravity.To}
		}
	}
	m.key = key.With(questions)
	if len(m.order) == 0 {
		return nil, fmt.Errorf("the key file of %s has no questions", key.Sheet)
	}
	if _, err := m.key.Asked(nil); err != nil {
		return nil, fmt.Errorf("the key file of %s: %w", key.Sheet, err)
	}
	return m, nil
}

// Mark marks the script that data holds. It never fails: what is wrong with a
// script is a flag.
func (m *Marker) Mark(data []byte) Result {
	paper := script.Read(data)
	r := Result{Print: fingerprint(data), Flags: paper.Flags}
	if len(paper.Flags) > 0 && paper.Flags[0].Code == "unreadable" {
		return r
	}
	if paper.Sheet != "" && paper.Sheet != m.key.Sheet {
		r.flag("another sheet", fmt.Sprintf("this is a script of %s, not of %s: not marked", printable(paper.Sheet), m.key.Sheet))
		return r
	}
	copied, known := m.student(&r, paper)
	asked, err := m.key.Asked(copied.Values)
	if err != nil {
		r.flag("key", "the keys cannot be computed for this student's values: "+err.Error())
		return r
	}
	answers := map[string]script.Answer{}
	for _, a := range paper.Answers {
		if _, ok := m.order[a.Question]; !ok {
			r.flag("no such question", fmt.Sprintf("cell %d answers %s, which the sheet does not ask", a.Cell, printable(a.Question)))
			continue
		}
		answers[a.Question] = a
	}
	if paper.Sheet == "" && len(answers) == 0 {
		r.flag("another notebook", "nothing shows that this notebook was built from the sheet: not marked")
		return r
	}
	if !known && len(m.key.Students) > 0 {
		r.flag("no student", "the script cannot be given to anybody in the key file: marked with the printed values")
	}
	s := &sitting{m: m, own: copied.Values, asked: asked, result: &r, carried: question.Values{}}
	for i := range asked {
		s.mark(i, answers[m.key.Questions[i].Name])
	}
	m.sum(&r)
	return r
}

// student finds whose script it is.
func (m *Marker) student(r *Result, p script.Paper) (build.KeyStudent, bool) {
	if p.Student == "" {
		return build.KeyStudent{}, false
	}
	if s, ok := m.key.Student(p.Student); ok {
		r.Student = s.ID
		return s, true
	}
	r.flag("unknown student", "the notebook names a student whom the key file does not list")
	return build.KeyStudent{}, false
}

// sum adds up the marks of a result.
func (m *Marker) sum(r *Result) {
	r.Total, r.Of = 0, 0
	for i := range r.Marks {
		r.Total += r.Marks[i].Marks
		r.Of += r.Marks[i].Of
	}
	r.Total = m.policy.total(r.Total, r.Of)
	if r.Late {
		r.Total = max(0, r.Total-m.policy.Late)
	}
}

// A sitting is the marking of one script, question by question.
type sitting struct {
	m                   *Marker
	own                 map[string]string
	asked               []*question.Asked
	result              *Result
	carried             question.Values   // own values of questions that were not right
	again               []*question.Asked // the questions with those values, made when first needed
	tookUnit, tookFigur bool
}

func (s *sitting) mark(i int, a script.Answer) {
	q := &s.m.key.Questions[i].Question
	mark := Mark{Question: q.Name, Cell: a.Cell, Of: q.Worth(), Answer: clean(a.Text)}
	if a.Text == "" {
		mark.Verdict = blank
		s.result.Marks = append(s.result.Marks, mark)
		return
	}
	v := s.asked[i].Check(a.Text)
	v = s.withUnit(i, a.Text, v, &mark)
	s.followThrough(i, a.Text, &v, &mark)
	mark.Verdict, mark.Slip, mark.Say, mark.TeX = v.Outcome.String(), v.Slip, clean(v.Say), clean(v.TeX)
	if mark.Marks = v.Marks; v.Outcome == question.Right {
		s.penalise(&mark, q)
	}
	for _, l := range v.Lines {
		mark.Lines = append(mark.Lines, Line{clean(l.Text), l.Status, clean(l.Say)})
	}
	s.result.Marks = append(s.result.Marks, mark)
}

// withUnit judges a number that came without its unit as if it had that of the
// key: the policy says what that costs.
func (s *sitting) withUnit(i int, text string, v question.Verdict, mark *Mark) question.Verdict {
	if v.Outcome != question.Unreadable || v.Slip != "unit missing" {
		return v
	}
	own, ok := s.asked[i].Number(text)
	if !ok {
		return v
	}
	as := s.asked[i].Check(own.String())
	if as.Outcome == question.Right {
		as.Slip, as.Say = "unit missing", "The number is right; its unit is missing."
	}
	return as
}

// followThrough marks a wrong answer once more with the student's own wrong
// values of the questions that it carries, and remembers this one's value for
// later questions.
func (s *sitting) followThrough(i int, text string, v *question.Verdict, mark *Mark) {
	if v.Outcome == question.Right || !s.m.policy.FollowThrough {
		return
	}
	q := &s.m.key.Questions[i].Question
	var from []string
	for _, name := range q.Carry {
		if _, ok := s.carried[name]; ok {
			from = append(from, name)
		}
	}
	if len(from) > 0 {
		if again, ok := s.againAsked(); ok {
			if as := again[i].Check(text); as.Outcome == question.Right {
				sort.Strings(from)
				as.Say = fmt.Sprintf("Right for your own value of %s: the marks are carried forward.", strings.Join(from, " and "))
				mark.Carried = from
				*v = as
			}
		}
	}
	if own, ok := s.asked[i].Number(text); ok {
		s.carried[q.Name] = own
		s.again = nil
	}
}

func (s *sitting) againAsked() ([]*question.Asked, bool) {
	if s.again == nil {
		asked, err := s.m.key.AskedWith(s.own, s.carried)
		if err != nil { // the student's own value makes the later key impossible
			return nil, false
		}
		s.again = asked
	}
	return s.again, true
}

// penalise takes off, once a script, what units and figures cost.
func (s *sitting) penalise(mark *Mark, q *question.Question) {
	took := func(kind string, done *bool, off float64) {
		if *done || off == 0 {
			return
		}
		*done = true
		off = min(off, mark.Marks)
		mark.Marks -= off
		mark.Penalty = fmt.Sprintf("%s: %g off, once in this script", kind, off)
	}
	switch mark.Slip {
	case "unit missing":
		took("unit", &s.tookUnit, s.m.policy.Units)
	case "figures":
		took("figures", &s.tookFigur, s.m.policy.Figures)
	}
}

func (r *Result) flag(code, say string) {
	r.Flags = append(r.Flags, script.Flag{Code: code, Say: say})
}

func fingerprint(data []byte) string {
	sum := sha256.Sum256(data)
	return hex.EncodeToString(sum[:8])
}

// maxKept bounds the bytes of an answer that are kept in the results; longer
// ones stand in the script.
const maxKept = 20_000

// clean makes an answer safe to keep in one line of JSON and to show: valid
// UTF-8 without control characters, of bounded length.
func clean(text string) string {
	if len(text) > maxKept {
		cut := maxKept
		for cut > 0 && !utf8.RuneStart(text[cut]) {
			cut--
		}
		text = text[:cut] + " … (cut)"
	}
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\n' || r == '\t':
			return r
		case r == '\r':
			return -1
		case r < 0x20 || r == 0x7f || r == utf8.RuneError || 0x80 <= r && r < 0xa0 || 0x202a <= r && r <= 0x202e || 0x2066 <= r && r <= 0x2069:
			return '\uFFFD'
		}
		return r
	}, strings.ToValidUTF8(text, "\uFFFD"))
}

// printable is a name from a script, short enough for a flag.
func printable(name string) string {
	name = strings.Join(strings.Fields(clean(name)), " ")
	if r := []rune(name); len(r) > 60 {
		name = string(r[:60]) + "…"
	}
	return fmt.Sprintf("%q", name)
}
