package build

import (
	"strings"

	"counterpoise/worksheets/notebook"
	"counterpoise/worksheets/question"
	"counterpoise/worksheets/source"
)

// WithSamples returns a copy of a sheet's notebook in which each answer cell
// holds the first right sample of its question. Questions without one stay
// empty; so do those of kind prose, which have no right answer.
func WithSamples(nb *notebook.Notebook, s *source.Sheet) *notebook.Notebook {
	samples := map[string]string{}
	for _, q := range s.Questions() {
		if text, ok := sample(q); ok {
			samples[q.Name] = text
		}
	}
	out := nb.Copy()
	for i := range out.Cells {
		c := &out.Cells[i]
		about, _ := c.Metadata["counterpoise"].(map[string]any)
		name, _ := about["question"].(string)
		text, ok := samples[name]
		if !ok || c.Type != notebook.Code {
			continue
		}
		if before, _, ok := strings.Cut(c.Source, "`\n`"); ok { // a call, for other Go kernels
			c.Source = before + "`" + text + "`)"
		} else {
			c.Source = strings.TrimRight(c.Source, "\n") + "\n" + text
		}
	}
	return out
}

// sample is the first right sample; of a choice without samples, the letters of
// its right options.
func sample(q *question.Question) (string, bool) {
	if len(q.Samples.Right) > 0 {
		return q.Samples.Right[0], true
	}
	var letters []string
	for i, o := range q.Options {
		if o.Right {
			letters = append(letters, optionLetter(i))
		}
	}
	return strings.Join(letters, ", "), len(letters) > 0
}
