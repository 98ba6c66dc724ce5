package marking

import (
	"errors"
	"fmt"
	"io"
	"strings"

	"counterpoise/worksheets/build"
	"counterpoise/worksheets/feedback"
	"counterpoise/worksheets/marking/pile"
	"counterpoise/worksheets/notebook"
)

// Notebooks is the folder of the students' own notebooks with feedback.
const Notebooks = "notebooks"

// WriteNotebooks writes, into the folder of the results, a copy of every marked
// script with a cell of feedback behind each answer. scripts is the folder that
// was marked; it is read again and not changed. A script that has changed since
// then is left out, and told.
func WriteNotebooks(folder, scripts string, key *build.KeyFile) error {
	f, err := openFinisher(folder, key)
	if err != nil {
		return err
	}
	if err := f.gather(); err != nil {
		return err
	}
	f.choose()
	p, err := pile.Open(scripts)
	if err != nil {
		return err
	}
	var changed []string
	err = f.each(func(r *Result) error {
		if !r.Marked() {
			return nil
		}
		if r.Number >= len(p.Scripts) || p.Scripts[r.Number].Label != r.Script {
			changed = append(changed, r.Script)
			return nil
		}
		data, err := p.Scripts[r.Number].Read()
		if err != nil || fingerprint(data) != r.Print {
			changed = append(changed, r.Script)
			return nil
		}
		nb, err := notebook.Read(data)
		if err != nil {
			return fmt.Errorf("%s: %w", r.Script, err)
		}
		text, err := notebook.Write(withFeedback(nb, r))
		if err != nil {
			return fmt.Errorf("%s: %w", r.Script, err)
		}
		name := Notebooks + "/" + strings.TrimSuffix(f.pageName(r), ".html") + ".ipynb"
		return f.file(name, func(w io.Writer) error { _, err := w.Write(text); return err })
	})
	if err != nil || len(changed) == 0 {
		return err
	}
	return errors.New(counted(len(changed), "script") + " changed since they were marked, such as " + changed[0] + ": mark them again into a fresh folder")
}

func counted(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// withFeedback returns a copy of a notebook, in the version of nbformat that
// this project writes, with a Markdown cell behind each answer.
func withFeedback(nb *notebook.Notebook, r *Result) *notebook.Notebook {
	out := nb.Copy()
	out.Upgrade()
	taken := map[string]bool{}
	for i := range out.Cells {
		taken[out.Cells[i].ID] = true
	}
	behind := map[int][]notebook.Cell{}
	for i := range r.Marks {
		m := &r.Marks[i]
		if m.Cell < 1 || m.Cell > len(out.Cells) {
			continue
		}
		id := "feedback-" + m.Question
		for n := 2; taken[id]; n++ {
			id = fmt.Sprintf("feedback-%s-%d", m.Question, n)
		}
		taken[id] = true
		behind[m.Cell-1] = append(behind[m.Cell-1], notebook.Cell{
			ID: id, Type: notebook.Markdown, Source: inMarkdown(m),
			Metadata: map[string]any{"tags": []any{"worksheet-feedback"}},
		})
	}
	cells := make([]notebook.Cell, 0, len(out.Cells)+len(r.Marks))
	for i := range out.Cells {
		cells = append(append(cells, out.Cells[i]), behind[i]...)
	}
	out.Cells = cells
	return out
}

// inMarkdown puts a mark into the words of the student's own cell.
func inMarkdown(m *Mark) string {
	text := fmt.Sprintf("**%g of %g marks**\n\n", m.Marks, m.Of)
	if v, ok := verdict(*m); ok {
		f := feedback.Of(v)
		f.HandedIn = true
		text += f.Markdown()
	} else {
		text += "No answer was handed in.\n"
	}
	if m.Penalty != "" {
		text += "\nTaken off: " + m.Penalty + ".\n"
	}
	return text
}
