package build

import (
	"strings"
	"sync"

	"counterpoise/mechanics/toy"
	"counterpoise/worksheets/question"
	"counterpoise/worksheets/source"
)

// A prepared sheet keeps what is the same in all copies: the questions that no
// student's own numbers go into, and the toys' texts, read. It may be used by
// several goroutines at once.
type prepared struct {
	sheet  *source.Sheet
	shared map[string]*question.Asked // by name, ready
	toys   bool                       // whether anything that is not shared needs the toys
	pool   sync.Pool                  // of *[]*toy.Description
}

// prepare makes the shared questions ready. The sheet must be without mistakes
// for its printed values.
func prepare(s *source.Sheet) (*prepared, error) {
	values, problems := valuesOf(s, nil)
	asked, more := compile(s, values)
	if problems = append(problems, more...); len(problems) > 0 {
		return nil, problems.Err()
	}
	p := &prepared{sheet: s, shared: map[string]*question.Asked{}}
	for i, q := range s.Questions() {
		if isShared(q, s) {
			p.shared[q.Name] = asked[i]
		} else {
			p.toys = p.toys || mentionsToys(q, s)
		}
	}
	p.pool.New = func() any {
		all := new([]*toy.Description)
		for _, t := range s.Toys {
			d, err := toy.Describe(t.YAML)
			if err != nil {
				return new([]*toy.Description) // told by valuesOf above
			}
			*all = append(*all, d)
		}
		return all
	}
	return p, nil
}

// isShared tells whether a question is the same in every copy.
func isShared(q *question.Question, s *source.Sheet) bool {
	return lettersStay[q.Kind] && len(q.Carry) == 0 && !mentionsToys(q, s) && !strings.Contains(strings.Join(textsOf(q), "\n"), "{{")
}

// mentionsToys tells whether a question's formulas or texts use a toy's values.
func mentionsToys(q *question.Question, s *source.Sheet) bool {
	all := strings.Join(append(formulasOf(q), textsOf(q)...), "\n")
	for _, t := range s.Toys {
		if strings.Contains(all, t.Name+".") {
			return true
		}
	}
	return false
}

// textsOf are the texts of a question into which values are printed.
func textsOf(q *question.Question) []string {
	texts := append([]string{q.Ask, q.Working}, q.Hints...)
	for _, o := range q.Options {
		texts = append(texts, o.Text, o.Say)
	}
	for _, s := range q.Slips {
		texts = append(texts, s.Say)
	}
	for _, point := range q.Points {
		texts = append(texts, point.Text)
	}
	return texts
}

// values are those of one copy; toys are computed where they are needed.
func (p *prepared) values(own map[string]string) (question.Values, source.Problems) {
	values, problems := paramsOf(p.sheet, own)
	if !p.toys || len(problems) > 0 {
		return values, problems
	}
	descriptions := p.pool.Get().(*[]*toy.Description)
	defer p.pool.Put(descriptions)
	params := toy.Params(values)
	built := question.Values{}
	for i, d := range *descriptions {
		one, err := d.Build(params)
		if err != nil {
			toys, more := toyValues(p.sheet, values) // tells it with its line
			built = toys
			problems = append(problems, more...)
			break
		}
		for name, v := range one.Values() {
			built[p.sheet.Toys[i].Name+"."+name] = v
		}
	}
	for name, v := range built {
		values[name] = v
	}
	return values, problems
}
