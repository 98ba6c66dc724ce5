package proof

import (
	"fmt"

	"counterpoise/mechanics/quantity"
	"counterpoise/worksheets/question"
)

// An Entry is a question as a colleague reads it on the proof sheet: what
// students are asked, with the printed values, and everything that they do not
// see.
type Entry struct {
	Question question.Question // its texts with the printed values filled in
	Number   int               // as students count
	Line     int               // of worksheet.md
	Value    string            // of a number's key, with the printed values
	Least    string            // the same over the sets of values; empty if all are alike
	Greatest string
	ReadAs   string // TeX of a formula's key, as it was read
	Slips    []Tried
	Samples  []Tried
}

// A Tried is an answer, and what a student is told who gives it.
type Tried struct {
	Answer  string
	Formula string // of a slip, as the sheet has it; empty for a sample
	Outcome question.Outcome
	Say     string // Markdown
	Lines   []question.Line
}

// listing writes down the questions.
func (p *prover) listing() {
	asked, err := p.key.Asked(nil)
	if err != nil {
		return // told by source
	}
	for i, a := range asked {
		e := Entry{Question: a.Question, Number: i + 1, Line: p.cell(i).Line}
		if v, ok := a.Value(); ok {
			e.Value = v.Format(shownFigures, v.Unit)
		}
		switch e.Question.Kind {
		case "expression", "equation", "vector", "matrix":
			e.ReadAs = a.Check(e.Question.Key).TeX
		}
		for _, s := range e.Question.Slips {
			if text, ok := p.slipText(a, i, s); ok {
				t := try(a, text)
				t.Formula = s.Gives
				e.Slips = append(e.Slips, t)
			}
		}
		for _, text := range e.Question.Samples.Right {
			e.Samples = append(e.Samples, try(a, text))
		}
		for _, text := range e.Question.Samples.Wrong {
			e.Samples = append(e.Samples, try(a, text))
		}
		p.report.Listing = append(p.report.Listing, e)
	}
}

// shownFigures is what a colleague needs to compare a value with their own.
const shownFigures = 4

// try gives an answer and keeps what was said.
func try(a *question.Asked, text string) Tried {
	v := a.Check(text)
	return Tried{Answer: text, Outcome: v.Outcome, Say: v.Say, Lines: v.Lines}
}

// A span is the least and the greatest value of a key over the sets of values.
type span struct{ least, greatest quantity.Quantity }

// seen widens the span of the i-th question by a value.
func (p *prover) seen(i int, v quantity.Quantity) {
	if p.spans == nil {
		p.spans = map[int]span{}
	}
	s, ok := p.spans[i]
	if !ok {
		s = span{v, v}
	}
	if v.Value < s.least.Value {
		s.least = v
	}
	if v.Value > s.greatest.Value {
		s.greatest = v
	}
	p.spans[i] = s
}

// between tells in the listing how far the keys reach.
func (p *prover) between() {
	for i, s := range p.spans {
		if i >= len(p.report.Listing) || s.least.Value == s.greatest.Value {
			continue
		}
		e := &p.report.Listing[i]
		e.Least, e.Greatest = s.least.Format(shownFigures, s.least.Unit), s.greatest.Format(shownFigures, s.least.Unit)
	}
}

// Tolerance tells how exact a number must be.
func (e Entry) Tolerance() string {
	within := e.Question.Within
	if within == "" {
		within = "2 %"
	}
	if f := e.Question.Figures; f.Least > 0 {
		return fmt.Sprintf("within %s, %s figures", within, f)
	}
	return "within " + within
}
