package marking

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"regexp"
	"slices"
	"sort"
	"strings"
	"unicode/utf8"

	"counterpoise/worksheets/build"
	"counterpoise/worksheets/marking/pile"
	"counterpoise/worksheets/marking/script"
	"counterpoise/worksheets/question"
)

// A Marker marks scripts of one sheet by one policy. It may be used by several
// goroutines at once.
type Marker struct {
	key      *build.KeyFile
	policy   Policy
	order    map[string]int    // question: place in the sheet
	names    []string          // of the questions
	students map[string]int    // by token, or by id where there is none
	files    map[string]string // lower-case name of a copy's file: its student's id
}

// NewMarker returns a Marker for a key file.
func NewMarker(key *build.KeyFile, p Policy) (*Marker, error) {
	if err := p.Check(); err != nil {
		return nil, err
	}
	m := &Marker{policy: p, order: map[string]int{}, students: map[string]int{}, files: map[string]string{}}
	questions := slices.Clone(key.Questions)
	for i := range questions {
		q := &questions[i].Question
		m.order[q.Name] = i
		m.names = append(m.names, q.Name)
		if q.Gravity == (question.Span{}) {
			q.Gravity = question.Span{From: p.Gravity.From, To: p.Gravity.To}
		}
		q.Slips = withNames(q.Slips)
	}
	for i, s := range key.Students {
		who := s.Token
		if who == "" {
			who = s.ID
		}
		m.students[who] = i
		if s.File != "" {
			m.files[strings.ToLower(s.File)] = s.ID
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

// withNames gives slips without a name one, so that they are counted apart.
func withNames(slips []question.Slip) []question.Slip {
	slips = slices.Clone(slips)
	for i := range slips {
		if slips[i].Name == "" {
			slips[i].Name = "foreseen: " + slips[i].Gives
		}
	}
	return slips
}

// Mark marks the script that data holds; label is what it is called in the
// pile. It never fails: what is wrong with a script is a flag.
func (m *Marker) Mark(label string, data []byte) Result {
	paper := script.Read(data)
	r := Result{Print: fingerprint(data)}
	if len(paper.Flags) > 0 && paper.Flags[0].Code == script.Unreadable {
		r.Flags = paper.Flags
		m.byName(&r, label)
		return r
	}
	if paper.Sheet != "" && paper.Sheet != m.key.Sheet {
		r.Flags = paper.Flags
		r.flag("another sheet", fmt.Sprintf("this is a script of %s, not of %s: not marked", printable(paper.Sheet), m.key.Sheet))
		return r
	}
	if paper.Sheet == "" && !slices.ContainsFunc(paper.Answers, func(a script.Answer) bool { _, ok := m.order[a.Question]; return ok }) {
		r.Flags = paper.Flags
		r.flag("another notebook", "nothing shows that this notebook was built from the sheet: not marked")
		return r
	}
	copied, known := m.student(&r, paper)
	paper.Against(m.key.Cells, m.names)
	if prints, err := m.key.Prints(copied.Values); err == nil && (known || len(m.key.Students) == 0) {
		paper.Printed(prints)
	}
	paper.Renamed(label, copied.File)
	r.Flags = append(paper.Flags, r.Flags...)
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
	if at, ok := m.students[p.Student]; ok {
		r.Student = m.key.Students[at].ID
		return m.key.Students[at], true
	}
	r.flag("unknown student", "the notebook names a student whom the key file does not list")
	return build.KeyStudent{}, false
}

// byName gives a script that cannot be read to the student after whose copy its
// file is called, so that it stands in their row.
func (m *Marker) byName(r *Result, label string) {
	base := strings.ToLower(pile.Base(label))
	if id, ok := m.files[base]; ok {
		r.Student = id
	} else if id, ok := m.files[again.ReplaceAllString(base, "$2")]; ok {
		r.Student = id
	}
	if r.Student != "" {
		r.flag("by its name", "taken for the script of the student for whom a file of this name was made")
	}
}

// again is what is put into the name of a file that is saved or sent twice:
// heron-s1 (1).ipynb, heron-s1-Copy1.ipynb.
var again = regexp.MustCompile(`( ?\(\d+\)|-copy\d*)(\.ipynb)$`)

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
	m                     *Marker
	own                   map[string]string
	asked                 []*question.Asked
	result                *Result
	carried               question.Values   // own values of questions that were not right
	again                 []*question.Asked // the questions with those values, made when first needed
	tookUnit, tookFigures bool
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
	s.attempts(&mark, q, a.Attempts)
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
		mark.takeOff(off, kind, ", once in this script")
	}
	switch mark.Slip {
	case "unit missing":
		took("the unit", &s.tookUnit, s.m.policy.Units)
	case "figures":
		took("the figures", &s.tookFigures, s.m.policy.Figures)
	}
}

// takeOff takes marks off and says for what.
func (m *Mark) takeOff(off float64, kind, how string) {
	off = min(off, m.Marks)
	m.Marks -= off
	if m.Penalty != "" {
		m.Penalty += "; "
	}
	m.Penalty += fmt.Sprintf("%g for %s%s", off, kind, how)
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
