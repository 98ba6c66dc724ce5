package question

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/expr/equal"
	"counterpoise/mechanics/expr/parse"
	"counterpoise/mechanics/quantity"
	"counterpoise/worksheets/derivation"
	"counterpoise/worksheets/question/slip"
)

// lines is a derivation, judged line by line by package derivation. The
// milestones carry the marks; without any, reaching the target does.
type lines struct {
	checker *derivation.Checker
	target  bool     // there is one
	shares  bool     // whether milestones carry marks
	stages  []stage  // milestones and target
	abouts  []string // letters that the stages are solved for
	locked  bool     // milestones and target are sealed: lock opens them, or nothing if nil
	lock    Lock
}

// A stage is a milestone or the target, as it can be sealed.
type stage struct {
	zero  expr.Expr
	about string
}

func compileDerivation(a *Asked) (judge, error) {
	q := a.Question
	if len(q.Given) == 0 {
		return nil, a.fault("given", "nothing is given", "list the definitions and laws that the derivation starts from")
	}
	if q.Target == "" && len(q.Milestones) == 0 {
		return nil, a.fault("target", "there is nothing to arrive at", "write the statement to derive")
	}
	marks, err := a.milestoneMarks()
	if err != nil {
		return nil, err
	}
	p := a.problem()
	p.Target = q.Target
	for i, m := range q.Milestones {
		p.Milestones = append(p.Milestones, derivation.Milestone{Line: m.Line, Marks: marks[i]})
	}
	x := &lines{target: q.Target != "", shares: len(marks) > 0}
	if x.checker, err = derivation.New(p); err != nil {
		return nil, a.fault("", err.Error(), "")
	}
	for _, text := range slices.Concat(a.milestoneLines(), nonEmpty(q.Target)) {
		if s, ok := a.stage(text); ok {
			x.stages = append(x.stages, s)
		}
	}
	for _, s := range x.stages[:len(x.stages):len(x.stages)] {
		if zero := x.checker.Spelt(s.zero); !zero.Equal(s.zero) {
			if spelt, ok := a.stageOf(zero); ok {
				x.stages = append(x.stages, spelt)
			}
		}
	}
	return x, nil
}

func nonEmpty(text string) []string {
	if text == "" {
		return nil
	}
	return []string{text}
}

func (a *Asked) milestoneLines() []string {
	var out []string
	for _, m := range a.Question.Milestones {
		out = append(out, m.Line)
	}
	return out
}

// milestoneMarks shares the marks out among the milestones: as they say, or in
// equal parts where none says any.
func (a *Asked) milestoneMarks() ([]float64, error) {
	q := a.Question
	out := make([]float64, len(q.Milestones))
	sum := 0.0
	for i, m := range q.Milestones {
		if m.Marks < 0 {
			return nil, a.fault(fmt.Sprintf("milestones/%d", i), "has fewer than no marks", "")
		}
		out[i] = m.Marks
		sum += m.Marks
	}
	switch {
	case sum == 0:
		for i := range out {
			out[i] = q.Worth() / float64(len(out))
		}
	case q.Marks != 0 && q.Marks != sum:
		return nil, a.fault("marks", fmt.Sprintf("are %g, those of the milestones come to %g", q.Marks, sum), "make them equal, or leave out marks")
	}
	return out, nil
}

// problem is what the student knows: everything but the milestones and the
// target. Letters that only the given statements name are learnt from them.
func (a *Asked) problem() derivation.Problem {
	q := a.Question
	p := derivation.Problem{Time: q.Time, Given: q.Given, Small: q.Small, Order: q.Order, Leap: q.Leap, Ranges: map[string]equal.Range{}}
	for _, name := range a.names {
		p.Symbols = append(p.Symbols, name)
		s := a.symbols[name]
		if !strings.HasSuffix(name, "'") {
			p.Ranges[name] = equal.Range{From: s.from, To: s.to}
		}
	}
	for name, s := range q.Symbols {
		isName := func(n string) bool { return expr.Canonical(n) == expr.Canonical(name) }
		if s.Unit == "rad" && s.From == 0 && s.To == 0 && slices.ContainsFunc(q.Time, isName) {
			const most = 1.5 // less than a quarter turn, to either side
			p.Ranges[expr.Canonical(name)] = equal.Range{From: -most, To: most}
		}
	}
	p.Slip = func(right, wrong expr.Expr) string {
		if right.Size() > maxSlipSize || wrong.Size() > maxSlipSize {
			return ""
		}
		o := a.slipOptions(quantity.One, "")
		if d, known, err := a.dimension(right); known && err == nil {
			o.Asked = d
		}
		found, ok := slip.New(right, o).Find(wrong, wrong.Has)
		if !ok {
			return ""
		}
		return found.Name() + "\n" + found.Say(a.describe)
	}
	return p
}

// maxSlipSize bounds the sides of a line that are searched for a slip, so that
// a derivation is judged quickly.
const maxSlipSize = 120

// stage reads a milestone as one side less the other, solved for a letter.
func (a *Asked) stage(text string) (stage, bool) {
	o := a.options()
	o.Open = true
	s, err := parse.ParseStatement(text, o)
	if err != nil || len(s.Sides) < 2 || s.Relations[0] != "=" && s.Relations[0] != "≈" {
		return stage{}, false
	}
	return a.stageOf(zeroOf(s))
}

// stageOf is an equation solved for a letter.
func (a *Asked) stageOf(zero expr.Expr) (stage, bool) {
	a.learn(zero)
	about := linearIn(zero, a.preferred(zero))
	if about == "" {
		about = a.rootIn(zero)
	}
	return stage{zero, about}, about != ""
}

// rootIn returns a letter for which an equation that is linear in none has a root
// at every point of comparison, or "".
func (a *Asked) rootIn(zero expr.Expr) string {
	isNone := func(v float64) bool { return math.IsNaN(v) || math.IsInf(v, 0) }
	for _, name := range a.preferred(zero) {
		if !slices.ContainsFunc((&equation{about: name}).pointValues(a, zero), isNone) {
			return name
		}
	}
	return ""
}

// learn adds the letters of a statement that nobody declared.
func (a *Asked) learn(e expr.Expr) {
	changed := false
	for _, name := range e.Symbols() {
		if _, known := a.symbols[name]; known {
			continue
		}
		s := symbol{from: 0.1, to: 10}
		if strings.HasSuffix(name, "'") {
			s.from, s.to = -2, 2
		}
		a.symbols[name] = s
		changed = true
	}
	if changed {
		a.names = slices.Sorted(maps.Keys(a.symbols))
		a.refresh()
	}
}

func (x *lines) check(a *Asked, answer string) Verdict {
	r := x.checker.Judge(answer)
	if x.locked && x.lock != nil {
		if full, ok := x.opened(a, r.Equations); ok {
			return full.Check(answer)
		}
	}
	v := a.verdict(Wrong)
	if slices.Contains(r.Milestones, true) {
		v.Reached = r.Milestones
	}
	doubt, unreadable := -1, -1
	for i, l := range r.Lines {
		name, say, _ := strings.Cut(l.Slip, "\n")
		if say != "" {
			l.Say += " " + say
		}
		if v.Slip == "" && i == r.FirstBad {
			v.Slip = name
		}
		if l.Doubt && doubt < 0 {
			doubt = i
		}
		if l.Status == derivation.Unreadable && unreadable < 0 {
			unreadable = i
			v.Caret = l.Caret
		}
		v.Lines = append(v.Lines, Line{Text: l.Text, Status: string(l.Status), Say: l.Say, TeX: l.TeX})
	}
	if !slices.ContainsFunc(r.Lines, func(l derivation.Line) bool { return !l.Remark }) {
		return a.unreadable("There is no line of mathematics yet.")
	}
	v.Marks = x.marks(a, r)
	switch {
	case unreadable >= 0:
		v.Outcome, v.Marks = Unreadable, 0
		v.Say = fmt.Sprintf("Line %d could not be read: %s", unreadable+1, r.Lines[unreadable].Say)
	case doubt >= 0:
		v.Outcome = ForHuman
		v.Say = fmt.Sprintf("Line %d could not be decided by comparing numbers: your tutor will look at it.", doubt+1)
	case x.locked && x.lock == nil && r.FirstBad < 0:
		return a.kept(v)
	case r.FirstBad >= 0 && r.Reached:
		v.Say = fmt.Sprintf("The result is reached, but line %d does not hold. %s", r.FirstBad+1, v.Lines[r.FirstBad].Say)
	case r.FirstBad >= 0:
		v.Say = fmt.Sprintf("Line %d is the first that does not hold. %s", r.FirstBad+1, v.Lines[r.FirstBad].Say)
	case r.Leap:
		v.Slip = "leap"
		v.Say = "The result is there, but the way to it is not: write down the steps in between."
	case x.complete(r) && v.Marks >= v.Of:
		say := "Every line holds, and you have arrived."
		v = a.right(v)
		v.Say = say
	case x.target && !r.Reached:
		v.Say = "Every line holds so far. The result is not there yet: go on from the last line."
	default:
		v.Say = "Every line holds. Some steps on the way are still to be written down."
	}
	return v
}

// complete reports whether everything that was asked is there.
func (x *lines) complete(r derivation.Report) bool {
	if x.locked {
		return false
	}
	return r.Reached || !x.target
}

// marks are those of the milestones; without any, all for the target.
func (x *lines) marks(a *Asked, r derivation.Report) float64 {
	switch {
	case x.locked:
		return 0
	case x.shares:
		return r.Marks
	case r.Leap:
		return min(a.Question.Leap, a.Question.Worth())
	case r.Reached && r.FirstBad < 0:
		return a.Question.Worth()
	}
	return 0
}

// opened tries every equation of a derivation on the lock, the last first.
func (x *lines) opened(a *Asked, equations []expr.Expr) (*Asked, bool) {
	const most = 120 // that are worth trying: forty lines in three forms
	for _, zero := range slices.Backward(equations[max(0, len(equations)-most):]) {
		if full, ok := x.try(a, zero); ok {
			return full, true
		}
	}
	return nil, false
}

// try tries one equation, solved for each of the letters that the stages are
// solved for.
func (x *lines) try(a *Asked, zero expr.Expr) (*Asked, bool) {
	// Where the line holds letters that no stage does, as in a factor of both
	// sides, the solution does not depend on them: any value serves.
	any := map[string]expr.Expr{}
	for _, name := range zero.Symbols() {
		if _, known := a.symbols[name]; !known {
			any[name] = expr.Rat(int64(7+4*len(any)), 13)
		}
	}
	if len(any) > 0 {
		zero = zero.Subs(any)
	}
	for _, about := range x.abouts {
		if !zero.Has(about) {
			continue
		}
		if full, ok := x.lock.Key(x.prints(a, stage{zero, about}, printEdge)); ok {
			return full, true
		}
	}
	return nil, false
}

func (x *lines) prints(a *Asked, s stage, edge float64) [][]byte {
	e := equation{about: s.about}
	return printsOf(formulaPrint+" "+s.about, e.pointValues(a, s.zero), edge)
}

func (x *lines) publish(a *Asked, p *Public) error {
	if len(x.stages) == 0 {
		return a.fault("target", "cannot be sealed: neither it nor a milestone can be solved for one of its letters", "write one of them as letter = formula")
	}
	p.Question.Target, p.Question.Marks = "", a.Question.Worth()
	for _, s := range x.stages {
		if !slices.Contains(p.Abouts, s.about) {
			p.Abouts = append(p.Abouts, s.about)
		}
	}
	return nil
}

func shellDerivation(a *Asked, p Public, l Lock) (judge, error) {
	if len(p.Abouts) > MaxSymbols {
		return nil, a.fault("abouts", "too many", "")
	}
	pr := a.problem()
	c, err := derivation.New(pr)
	if err != nil {
		return nil, a.fault("given", err.Error(), "")
	}
	return &lines{checker: c, target: true, abouts: p.Abouts, locked: true, lock: l}, nil
}

func (x *lines) secrets(_, shell *Asked) Secrets {
	var out Secrets
	for _, s := range x.stages {
		out.Key = append(out.Key, x.prints(shell, s, 0)...)
	}
	return out
}
