package build

import (
	"errors"
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strings"
	"sync"

	"counterpoise/mechanics/quantity"
	"counterpoise/worksheets/question"
	"counterpoise/worksheets/source"
)

// valuesOf returns the values of a copy: its parameters and what its toys come
// to. own are the student's own values as text, by canonical name.
func valuesOf(s *source.Sheet, own map[string]string) (question.Values, source.Problems) {
	values, problems := paramsOf(s, own)
	toys, more := toyValues(s, values)
	maps.Copy(values, toys)
	return values, append(problems, more...)
}

// paramsOf returns the parameters of a copy.
func paramsOf(s *source.Sheet, own map[string]string) (question.Values, source.Problems) {
	values := question.Values{}
	var problems source.Problems
	for _, p := range s.Params {
		values[p.Name] = p.Value
		text, ok := own[p.Name]
		if !ok {
			continue
		}
		q, err := quantity.ParseAs(text, p.Value.Dimension())
		if err != nil {
			problems = append(problems, source.Problem{File: s.File, Line: p.Line, Reason: fmt.Sprintf("own value of %s: %v", p.Name, err)})
			continue
		}
		values[p.Name] = q
	}
	for name := range own {
		if _, ok := s.Param(name); !ok {
			problems = append(problems, source.Problem{File: s.File, Reason: fmt.Sprintf("own value of %s, which is no parameter", name)})
		}
	}
	return values, problems
}

// compile makes every question ready, in order; the keys of earlier questions
// are values of those that carry them.
func compile(s *source.Sheet, values question.Values) ([]*question.Asked, source.Problems) {
	return compileWith(s, values, nil, nil)
}

// compileWith is compile with some earlier keys replaced by a student's own
// answers, and with questions that are ready already, both by question name.
func compileWith(s *source.Sheet, values, answers question.Values, ready map[string]*question.Asked) ([]*question.Asked, source.Problems) {
	var all []*question.Asked
	var problems source.Problems
	keys := question.Values{} // of the questions so far
	failed := map[string]bool{}
	for i := range s.Cells {
		c := &s.Cells[i]
		if c.Kind != source.Question || c.Broken {
			continue
		}
		if a, ok := ready[c.Question.Name]; ok {
			all = append(all, a)
			continue
		}
		a, err := question.Compile(filled(*c.Question, values), valuesFor(c.Question, s, values, keys))
		if err != nil {
			// What a failed question would have handed on is missing below: the
			// mistake is told once. So it is with toys.
			if !slices.ContainsFunc(c.Question.Carry, func(name string) bool { return failed[name] }) && !withoutToy(c.Question, s, values) {
				if toy, name := noValue(c.Question, s, values); name != "" {
					err = &question.FieldError{Question: c.Question.Name, Field: "key", Reason: "uses " + name + ", which does not exist with these numbers", Remedy: toy + " has " + listOf(toy, values)}
				}
				problems = append(problems, problem(s, c, err))
			}
			failed[c.Question.Name] = true
			continue
		}
		if v, ok := a.Value(); ok {
			if own, ok := answers[c.Question.Name]; ok {
				v = own
			}
			keys[carriedName(c.Question.Name)] = v
		}
		all = append(all, a)
	}
	return all, problems
}

// filled returns a question with values printed in its texts.
func filled(q question.Question, values question.Values) question.Question {
	fill := func(text string) string { return fillText(text, values) }
	q.Ask, q.Working = fill(q.Ask), fill(q.Working)
	q.Hints = slices.Clone(q.Hints)
	for i := range q.Hints {
		q.Hints[i] = fill(q.Hints[i])
	}
	q.Options = slices.Clone(q.Options)
	for i := range q.Options {
		q.Options[i].Text, q.Options[i].Say = fill(q.Options[i].Text), fill(q.Options[i].Say)
	}
	q.Slips = slices.Clone(q.Slips)
	for i := range q.Slips {
		q.Slips[i].Say = fill(q.Slips[i].Say)
	}
	q.Points = slices.Clone(q.Points)
	for i := range q.Points {
		q.Points[i].Text = fill(q.Points[i].Text)
	}
	return q
}

// carriedName is how a formula names an earlier answer: hyphens would be signs.
func carriedName(question string) string { return strings.ReplaceAll(question, "-", "_") }

// valuesFor picks what a question may use: the parameters, the answers that it
// carries, and those values of toys that its formulas mention. Where letters
// stay letters, the parameters have their printed values in every copy: they
// only bound the values at which formulas are compared, and the question is the
// same for the whole class.
func valuesFor(q *question.Question, s *source.Sheet, values, keys question.Values) question.Values {
	own := question.Values{}
	formulas := strings.Join(formulasOf(q), "\n")
	for name, v := range values {
		p, isParam := s.Param(name)
		switch {
		case isParam && lettersStay[q.Kind]:
			own[name] = p.Value
		case isParam || strings.Contains(formulas, name):
			own[name] = v
		}
	}
	for _, name := range q.Carry {
		if v, ok := keys[carriedName(name)]; ok {
			own[carriedName(name)] = v
		}
	}
	return own
}

// lettersStay are the kinds of question whose answers no student's own numbers
// go into.
var lettersStay = map[string]bool{"expression": true, "equation": true, "derivation": true, "choice": true, "prose": true}

// formulasOf are the texts of a question that are formulas.
func formulasOf(q *question.Question) []string {
	texts := append([]string{q.Key, q.Target}, q.Given...)
	for _, s := range q.Slips {
		texts = append(texts, s.Gives)
	}
	for _, m := range q.Milestones {
		texts = append(texts, m.Line)
	}
	return texts
}

// dottedName is how a formula names a value of a toy.
var dottedName = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`\pL[\pL\pN_]*(?:\.\pL[\pL\pN_]*)+`) })

// noValue returns the first value in a question's formulas that its toy does not
// have, such as the period of a toy that falls, and the toy; or nothing.
func noValue(q *question.Question, s *source.Sheet, values question.Values) (toy, name string) {
	for _, text := range formulasOf(q) {
		for _, name := range dottedName().FindAllString(text, -1) {
			toy, _, _ := strings.Cut(name, ".")
			isToy := slices.ContainsFunc(s.Toys, func(t source.Toy) bool { return t.Name == toy })
			if _, ok := values[name]; isToy && !ok {
				return toy, name
			}
		}
	}
	return "", ""
}

// listOf lists the values that a toy has.
func listOf(toy string, values question.Values) string {
	var all []string
	for _, name := range slices.Sorted(maps.Keys(values)) {
		if rest, ok := strings.CutPrefix(name, toy+"."); ok {
			all = append(all, rest)
		}
	}
	return strings.Join(all, ", ")
}

// problem gives an error about a question its line.
func problem(s *source.Sheet, c *source.Cell, err error) source.Problem {
	p := source.Problem{File: s.File, Line: c.Line}
	var f *question.FieldError
	if !errors.As(err, &f) {
		p.Reason = c.Question.Name + ": " + err.Error()
		return p
	}
	p.Line = c.LineOf(f.Field)
	p.Remedy = f.Remedy
	p.Reason = strings.TrimSpace(fmt.Sprintf("%s of %s %s", fieldWords(f.Field), f.Question, f.Reason))
	return p
}

// fieldWords says slips/0/gives as "gives of slip 1".
func fieldWords(field string) string {
	parts := strings.Split(field, "/")
	if len(parts) < 2 {
		return field
	}
	n := 0
	if _, err := fmt.Sscan(parts[1], &n); err != nil {
		return strings.Join(parts, " ")
	}
	s := fmt.Sprintf("%s %d", strings.TrimSuffix(parts[0], "s"), n+1)
	if len(parts) > 2 {
		s = parts[2] + " of " + s
	}
	return s
}
