package proof

import (
	"fmt"
	"slices"

	"counterpoise/mechanics/quantity"
	"counterpoise/worksheets/build"
	"counterpoise/worksheets/question"
)

// slips gives each foreseen slip as an answer: it must be wrong and get its own
// feedback.
func (p *prover) slips() {
	asked, err := p.key.Asked(nil)
	if err != nil {
		return
	}
	for i, a := range asked {
		q, c := &p.key.Questions[i].Question, p.cell(i)
		said := map[string]int{}
		for k, s := range q.Slips {
			p.report.Slips++
			line := c.LineOf(fmt.Sprintf("slips/%d/gives", k))
			if other, again := said[s.Say]; again {
				p.found(line, q.Name, "slips", Fault, "slips %d and %d say the same: each needs feedback of its own", other+1, k+1)
			}
			said[s.Say] = k
			text, ok := p.slipText(a, i, s)
			if !ok {
				p.found(line, q.Name, "slips", Fault, "slip %q cannot be computed", s.Gives)
				continue
			}
			v := a.Check(text)
			switch {
			case v.Outcome == question.Right:
				p.found(line, q.Name, "slips", Fault, "slip %q gives the right answer", s.Gives)
			case v.Outcome != question.Wrong:
				p.found(line, q.Name, "slips", Fault, "slip %q, given as an answer, is %s: %s", s.Gives, v.Outcome, v.Say)
			case v.Say != s.Say:
				p.found(line, q.Name, "slips", Fault, "slip %q does not get its own feedback but: %s", s.Gives, v.Say)
			}
			if leaks(a, s.Say) {
				p.found(c.LineOf(fmt.Sprintf("slips/%d/say", k)), q.Name, "feedback", Fault, "what slip %q says holds the key", s.Gives)
			}
		}
	}
}

// slipText is a slip as a student would hand it in.
func (p *prover) slipText(a *question.Asked, i int, s question.Slip) (string, bool) {
	key, isNumber := a.Value()
	if !isNumber {
		return s.Gives, true
	}
	k := p.key.Questions[i].Slips
	at := slices.IndexFunc(k, func(t question.Slip) bool { return t.Gives == s.Gives })
	v, ok := p.with(nil).slip(i, at)
	if !ok {
		return "", false
	}
	if v.Dimension() == key.Dimension() {
		return typed(&p.key.Questions[i].Question, v, 6, key.Unit), true
	}
	return typed(&p.key.Questions[i].Question, v, 6, v.Unit), true
}

// A wide key file asks, after each question for a number, for what each of its
// slips gives, so that one reading of the keys computes them all.
type wide struct {
	key   *build.KeyFile
	own   []int   // of each question of the sheet, its place
	slips [][]int // of each question and slip, its place
}

func widen(key *build.KeyFile) *wide {
	w := &wide{slips: make([][]int, len(key.Questions))}
	var all []build.KeyQuestion
	add := func(q build.KeyQuestion) int {
		all = append(all, q)
		return len(all) - 1
	}
	for i, kq := range key.Questions {
		w.own = append(w.own, add(kq))
		if kq.Kind != "number" {
			continue
		}
		for k, s := range kq.Slips {
			q := kq
			q.Name, q.Key, q.Slips, q.Unit, q.Within = fmt.Sprintf("%s-slip-%d", kq.Name, k), s.Gives, nil, "", ""
			w.slips[i] = append(w.slips[i], add(q))
		}
	}
	w.key = key.With(all)
	return w
}

// A reading is the keys for one set of values, and what slips give then.
type reading struct {
	*wide
	asked []*question.Asked
	err   error
}

// with computes everything for one set of values.
func (p *prover) with(own map[string]string) reading {
	if p.wide == nil {
		p.wide = widen(p.key)
	}
	asked, err := p.wide.key.Asked(own)
	return reading{p.wide, asked, err}
}

// question returns the i-th question of the sheet.
func (r reading) question(i int) *question.Asked { return r.asked[r.own[i]] }

// slip returns what the k-th slip of the i-th question gives.
func (r reading) slip(i, k int) (quantity.Quantity, bool) {
	if r.err != nil || i >= len(r.slips) || k < 0 || k >= len(r.slips[i]) {
		return quantity.Quantity{}, false
	}
	return r.asked[r.slips[i][k]].Value()
}
