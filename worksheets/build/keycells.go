package build

import (
	"fmt"
	"strings"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/expr/typeset"
	"counterpoise/worksheets/notebook"
	"counterpoise/worksheets/question"
	"counterpoise/worksheets/source"
)

// A KeyCell is a cell that every copy of a sheet has: by it marking tells what
// became of the cells and of the numbers that were printed in them.
type KeyCell struct {
	ID   string            `json:"id"`
	Type notebook.CellType `json:"type"`
	// Prints are the lines that print a copy's own numbers, with {{m}} and its
	// like where the numbers stand.
	Prints []string `json:"prints,omitempty"`
}

// keyCells are the cells that [student] writes.
func keyCells(s *source.Sheet) []KeyCell {
	l := &layout{sheet: s, values: question.Values{}, seen: map[string]int{}}
	for _, p := range s.Params {
		l.values[p.Name] = p.Value
	}
	var printed []string // text in which placeholders stand, of each cell
	if len(s.Questions()) > 0 {
		l.addWithID(notebook.Code, "open", "", nil)
		printed = append(printed, "")
	}
	l.title()
	printed = append(printed, strings.Join(append(numberRows(s), s.Aims...), "\n"))
	for i := range s.Cells {
		c := &s.Cells[i]
		if c.Broken {
			continue // told by source; no copy is built of such a sheet
		}
		switch c.Kind {
		case source.Prose, source.Safety:
			l.add(notebook.Markdown, c.Text, "", nil)
			printed = append(printed, c.Text)
		case source.Go:
			l.add(notebook.Code, c.Text, "", nil)
			printed = append(printed, c.Text)
		case source.Question:
			l.question(c.Question)
			text := c.Question.Ask
			for _, o := range c.Question.Options {
				text += "\n" + o.Text
			}
			printed = append(printed, text, "")
		}
	}
	cells := make([]KeyCell, len(l.cells))
	for i, c := range l.cells {
		cells[i] = KeyCell{ID: c.ID, Type: c.Type, Prints: printing(printed[i])}
	}
	return cells
}

// numberRows are the rows of the list of numbers under the title.
func numberRows(s *source.Sheet) []string {
	var rows []string
	for _, p := range s.Params {
		if p.Value.Figures > 0 { // printed alike there and where {{…}} stands
			rows = append(rows, fmt.Sprintf("| $%s$ | %s | {{%s}} |", typeset.TeX(expr.Sym(p.Name)), strings.ReplaceAll(p.Means, "|", `\|`), p.Name))
		}
	}
	return rows
}

// printing are the lines of a text that hold placeholders.
func printing(text string) []string {
	var lines []string
	for line := range strings.Lines(text) {
		found := false
		source.ReplacePlaceholders(line, func(source.Placeholder) (string, bool) { found = true; return "", false })
		source.ReplaceToys(line, func(string) (string, bool) { found = false; return "", false }) // many lines
		if line = strings.TrimSpace(line); found {
			lines = append(lines, line)
		}
	}
	return lines
}

// A Print is a line of a copy that holds numbers of its own: as it was built,
// and the pieces between the numbers.
type Print struct {
	Line   string
	Pieces []string
}

// Prints returns the lines of one copy in which its own parameters are printed:
// own are the copy's values, nil for the printed ones. Lines with values of
// toys are left out.
func (k *KeyFile) Prints(own map[string]string) ([]Print, error) {
	p, err := k.kept.prepared(k)
	if err != nil {
		return nil, err
	}
	values, problems := paramsOf(p.sheet, own)
	if len(problems) > 0 {
		return nil, problems.Err()
	}
	var all []Print
	for _, c := range k.Cells {
		for _, text := range c.Prints {
			const mark = "\x00"
			known := true
			fill := func(with func(source.Placeholder) (string, bool)) string {
				return source.ReplacePlaceholders(text, func(p source.Placeholder) (string, bool) {
					s, ok := with(p)
					known = known && ok
					return s, ok
				})
			}
			line := fill(func(p source.Placeholder) (string, bool) {
				q, ok := values[p.Name]
				if !ok {
					return "", false
				}
				return printed(q, p)
			})
			pieces := strings.Split(fill(func(source.Placeholder) (string, bool) { return mark, true }), mark)
			if known {
				all = append(all, Print{line, pieces})
			}
		}
	}
	return all, nil
}
