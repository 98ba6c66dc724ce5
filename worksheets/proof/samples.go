package proof

import (
	"fmt"
	"slices"
	"strings"

	"counterpoise/worksheets/build"
	"counterpoise/worksheets/question"
	"counterpoise/worksheets/seal"
	"counterpoise/worksheets/source"
)

// samples tries the answers that the sheet says are right and wrong, and the
// key as an answer to its own question.
func (p *prover) samples() {
	asked, err := p.key.Asked(nil)
	if err != nil {
		return // told by source
	}
	for i, a := range asked {
		p.judge(a, i)
		p.sealed(a, i)
		p.ownKey(a, i)
		p.lacking(&p.key.Questions[i].Question, i)
	}
}

// Misjudged returns the samples of a sheet, right and wrong, that are judged
// otherwise than the sheet says, in the open or in the student's copy. A sheet
// whose keys cannot be read gives an error.
func Misjudged(s *source.Sheet) ([]Finding, error) {
	key, err := build.Key(s)
	if err != nil {
		return nil, err
	}
	asked, err := key.Asked(nil)
	if err != nil {
		return nil, err
	}
	p := &prover{sheet: s, key: key}
	for i, a := range asked {
		p.judge(a, i)
		p.sealed(a, i)
	}
	return slices.DeleteFunc(p.report.Findings, func(f Finding) bool { return f.Check != "samples" }), nil
}

// judge checks the samples of the i-th question.
func (p *prover) judge(a *question.Asked, i int) {
	q, c := &p.key.Questions[i].Question, p.cell(i)
	for k, text := range q.Samples.Right {
		p.report.Samples++
		if v := a.Check(text); v.Outcome != question.Right && v.Outcome != question.ForHuman {
			p.found(c.LineOf(fmt.Sprintf("samples/right/%d", k)), q.Name, "samples", Fault, "the sample %q should be right and is %s: %s%s", text, v.Outcome, v.Say, comesTo(a))
		}
	}
	for k, text := range q.Samples.Wrong {
		p.report.Samples++
		if v := a.Check(text); v.Outcome != question.Wrong {
			p.found(c.LineOf(fmt.Sprintf("samples/wrong/%d", k)), q.Name, "samples", Fault, "the sample %q should be wrong and is %s", text, v.Outcome)
		} else if leaks(a, v.Say) {
			p.found(c.Line, q.Name, "feedback", Fault, "what is said to the sample %q holds the key", text)
		}
	}
}

// comesTo tells what the key of a number comes to, for whoever typed a sample.
func comesTo(a *question.Asked) string {
	v, ok := a.Value()
	if !ok || a.Question.Kind != "number" {
		return ""
	}
	return " (the key comes to " + v.Format(4, v.Unit) + ")"
}

// sealed checks that the right samples are right in the student's copy as well,
// where an answer must open the box of the key: the numbers by which formulas
// are told apart there bear less rounding than a comparison in the open.
func (p *prover) sealed(a *question.Asked, i int) {
	q, c := &p.key.Questions[i].Question, p.cell(i)
	if q.Kind == "choice" || q.Kind == "number" || q.Kind == "prose" {
		return // judged by what is sealed with every cell that the tolerance touches, or by people
	}
	const cheap = 64 // KiB a guess: nobody attacks this box
	box, err := seal.Seal(a, seal.Options{Memory: cheap})
	if err != nil {
		p.found(c.Line, q.Name, "samples", Fault, "the question cannot be sealed: %s", err)
		return
	}
	opened, err := seal.Open(box)
	if err != nil {
		p.found(c.Line, q.Name, "samples", Fault, "the sealed question cannot be read: %s", err)
		return
	}
	for k, text := range q.Samples.Right {
		if a.Check(text).Outcome != question.Right {
			continue // told already, or for a human
		}
		if v := opened.Check(text); v.Outcome != question.Right && v.Outcome != question.ForHuman {
			p.found(c.LineOf(fmt.Sprintf("samples/right/%d", k)), q.Name, "samples", Fault, "the sample %q is right here and %s in the student's copy: narrow the ranges of its letters, so that no digits are lost", text, v.Outcome)
		}
	}
}

// ownKey checks that the key, given as an answer, is right.
func (p *prover) ownKey(a *question.Asked, i int) {
	q, c := &p.key.Questions[i].Question, p.cell(i)
	text := q.Key
	switch q.Kind {
	case "number":
		v, ok := a.Value()
		if !ok {
			return
		}
		p.figures(a, i)
		text = typed(q, v, 8, v.Unit)
	case "expression", "equation", "vector", "matrix":
	default:
		return
	}
	if v := a.Check(text); v.Outcome != question.Right {
		p.found(c.LineOf("key"), q.Name, "key", Fault, "the key, given as an answer, is %s: %s", v.Outcome, v.Say)
	}
}

// lacking remarks on what a question should have.
func (p *prover) lacking(q *question.Question, i int) {
	line := p.cell(i).Line
	switch q.Kind {
	case "prose":
		if len(q.Points) == 0 {
			p.found(line, q.Name, "samples", Remark, "the question has no points: a marker needs to know what to look for")
		}
		sum := 0.0
		for _, point := range q.Points {
			sum += point.Marks
		}
		if sum > 0 && sum != q.Worth() {
			p.found(p.cell(i).LineOf("marks"), q.Name, "marks", Fault, "the points come to %g, the question is worth %g: make them equal, or leave out marks", sum, q.Worth())
		}
		return
	case "choice":
		return
	}
	if !independent(q) {
		p.found(line, q.Name, "samples", Fault, "no right sample differs from the key: write the answer in another form, found in another way, so that a wrong key can be seen")
	}
	if len(q.Hints) == 0 {
		p.found(line, q.Name, "hints", Remark, "the question has no hints")
	}
	if strings.TrimSpace(q.Working) == "" {
		p.found(line, q.Name, "working", Remark, "the question has no working")
	}
}

// independent reports whether a right sample is written otherwise than the key.
func independent(q *question.Question) bool {
	squeeze := func(s string) string { return strings.Join(strings.Fields(s), "") }
	for _, s := range q.Samples.Right {
		if squeeze(s) != squeeze(q.Key) || q.Kind == "number" {
			return true
		}
	}
	return len(q.Samples.Right) > 0 && q.Kind == "derivation"
}

// figures checks that the fewest figures asked for are enough: the key rounded
// to them must still be right.
func (p *prover) figures(a *question.Asked, i int) {
	q, c := &p.key.Questions[i].Question, p.cell(i)
	v, ok := a.Value()
	if !ok || q.Figures.Least == 0 {
		return
	}
	if slices.ContainsFunc(p.report.Findings, func(f Finding) bool { return f.Check == "figures" && f.Question == q.Name }) {
		return // one value that shows it is enough
	}
	text := typed(q, v, q.Figures.Least, v.Unit)
	if got := a.Check(text); got.Outcome != question.Right {
		p.found(c.LineOf("figures"), q.Name, "figures", Fault, "the key rounded to the fewest figures, %s, is %s: ask for more figures or widen the tolerance", text, got.Outcome)
	}
}
