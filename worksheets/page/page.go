// Package page turns a notebook into one HTML file that needs nothing else: no
// network, no script, no font or picture beside it. Mathematics is MathML,
// drawings are inline SVG, other pictures are part of the file.
//
// It is the project's one door from text that somebody wrote to HTML: prose,
// outputs, drawings and error texts of strangers pass through it and come out
// escaped or sanitised, and the page itself forbids scripts and fetching by its
// content security policy. It runs nothing and knows nothing of questions.
package page

import (
	"fmt"
	"html/template"
	"strings"

	"counterpoise/worksheets/notebook"
)

// Options choose how a page looks. The zero value is a good choice.
type Options struct {
	Title    string // default: the notebook's first heading
	Language string // of the prose, as an HTML lang attribute; default "en"
	Footer   string // one line of plain text at the end; default none
}

// HTML returns the notebook as one page.
func HTML(nb *notebook.Notebook, o Options) ([]byte, error) {
	w := &writer{}
	body := w.notebook(nb)
	title := o.Title
	if title == "" {
		title = w.title
	}
	if s, ok := nb.Metadata["title"].(string); ok && title == "" {
		title = s
	}
	if title == "" {
		title = "Notebook"
	}
	return Document{Title: title, Language: o.Language, Contents: w.headings, Body: body, Footer: o.Footer}.HTML()
}

// A writer makes the body of one page. Numbers that it counts up keep names
// unique in the page.
type writer struct {
	title    string // text of the first heading of level 1
	headings []Heading
	drawings int
	formulas []string // MathML, in order of their placeholders
}

// notebook writes all cells.
func (w *writer) notebook(nb *notebook.Notebook) template.HTML {
	lang := nb.Language()
	if lang == "" {
		lang = "go"
	}
	var b strings.Builder
	for i := range nb.Cells {
		c := &nb.Cells[i]
		switch c.Type {
		case notebook.Markdown:
			fmt.Fprintf(&b, "<section class=\"prose%s\">\n%s</section>\n", role(c), w.prose(c.Source, c.Attachments))
		case notebook.Raw:
			if strings.TrimSpace(c.Source) != "" {
				fmt.Fprintf(&b, "<pre class=\"raw\">%s</pre>\n", template.HTMLEscapeString(c.Source))
			}
		case notebook.Code:
			w.code(&b, c, lang)
		}
	}
	return template.HTML(b.String())
}

// role is a class for cells that the worksheet marks by tags: a safety note, a
// question, aims.
func role(c *notebook.Cell) string {
	for _, tag := range []string{"safety", "question", "aims", "stretch", "measure"} {
		if c.HasTag("worksheet-" + tag) {
			return " " + tag
		}
	}
	return ""
}
