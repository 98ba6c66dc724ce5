package build

import (
	"errors"
	"fmt"
	"strings"

	"counterpoise/mechanics/toy"
	"counterpoise/worksheets/question"
	"counterpoise/worksheets/source"
)

// toyValues computes the sheet's toys: heron.mass, heron.cg.y and so on, as
// package toy names them.
func toyValues(s *source.Sheet, values question.Values) (question.Values, source.Problems) {
	out := question.Values{}
	var problems source.Problems
	params := toy.Params(values)
	for _, t := range s.Toys {
		built, err := toy.Read(t.YAML, params)
		var all toy.Problems
		switch {
		case errors.As(err, &all):
			for _, p := range all {
				reason := p.Reason
				if p.Where != "" {
					reason = p.Where + ": " + reason
				}
				problems = append(problems, source.Problem{File: s.File, Line: max(p.Line, t.Line), Reason: fmt.Sprintf("toy %s: %s", t.Name, reason)})
			}
			continue
		case err != nil:
			problems = append(problems, source.Problem{File: s.File, Line: t.Line, Reason: fmt.Sprintf("toy %s: %v", t.Name, err)})
			continue
		}
		for name, v := range built.Values() {
			out[t.Name+"."+name] = v
		}
	}
	return out, problems
}

// drawnToys puts the toys of the front matter into code, with this copy's
// numbers, where {{toy NAME}} stands.
func (l *layout) drawnToys(code string) string {
	return source.ReplaceToys(code, func(name string) (string, bool) {
		for _, t := range l.sheet.Toys {
			if t.Name != name {
				continue
			}
			built, err := toy.Read(t.YAML, toy.Params(l.values))
			if err != nil {
				return "", false // told with the toy's own mistakes
			}
			text, err := built.Write()
			if err != nil || strings.Contains(string(text), "`") {
				return "", false
			}
			return "[]byte(`\n" + string(text) + "`)", true
		}
		return "", false
	})
}

// withoutToy says whether a question needs the values of a toy that could not be
// read: the toy's own mistake has been told.
func withoutToy(q *question.Question, s *source.Sheet, values question.Values) bool {
	formulas := strings.Join(formulasOf(q), "\n")
	for _, t := range s.Toys {
		if _, ok := values[t.Name+".mass"]; !ok && strings.Contains(formulas, t.Name+".") {
			return true
		}
	}
	return false
}
