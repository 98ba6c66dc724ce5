package build

import (
	"slices"

	"counterpoise/worksheets/notebook"
	"counterpoise/worksheets/question"
	"counterpoise/worksheets/source"
)

// student makes the student's notebook.
func student(s *source.Sheet, values question.Values, asked []*question.Asked, o Options) (*notebook.Notebook, error) {
	l := &layout{sheet: s, values: values, plain: o.PlainGo, seen: map[string]int{}}
	if err := l.open(asked, o); err != nil {
		return nil, err
	}
	l.title()
	for i := range s.Cells {
		c := &s.Cells[i]
		switch c.Kind {
		case source.Prose:
			l.add(notebook.Markdown, c.Text, l.fill(c.Text), nil)
			l.attach()
		case source.Safety:
			l.add(notebook.Markdown, c.Text, l.fill(c.Text), tagged("safety"))
			l.attach()
		case source.Go:
			l.add(notebook.Code, c.Text, l.fill(l.drawnToys(c.Text)), codeMetadata(c))
		case source.Question:
			l.question(c.Question)
		}
	}
	about := map[string]any{"sheet": s.Name, "title": s.Title, "language": s.Language}
	if o.Student != "" {
		about["student"] = o.Student
	}
	return &notebook.Notebook{
		Major: notebook.Major, Minor: notebook.Minor, Cells: l.cells,
		Metadata: map[string]any{
			"kernelspec":    kernelFor(o.PlainGo),
			"language_info": map[string]any{"name": "go", "file_extension": ".go", "mimetype": "text/x-go"},
			"title":         s.Title,
			"counterpoise":  about,
		},
	}, nil
}

func kernelFor(plainGo bool) map[string]any {
	if plainGo {
		return map[string]any{"name": "go", "display_name": "Go", "language": "go"}
	}
	return map[string]any{"name": "counterpoise", "display_name": "Counterpoise (Go)", "language": "go"}
}

// folded hides a cell's source until somebody asks for it.
func folded() map[string]any { return map[string]any{"source_hidden": true} }

func codeMetadata(c *source.Cell) map[string]any {
	m := map[string]any{}
	if c.Fold {
		m["jupyter"] = folded()
	}
	if c.MayFail {
		m["tags"] = []any{"raises-exception"}
	}
	return m
}

func sortedSymbols(q *question.Question) []string {
	names := make([]string, 0, len(q.Symbols))
	for name := range q.Symbols {
		names = append(names, name)
	}
	slices.Sort(names)
	return names
}
