package build

import (
	"errors"
	"fmt"

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
