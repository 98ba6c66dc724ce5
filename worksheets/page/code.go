package page

import (
	"fmt"
	"html"
	"strings"

	"counterpoise/worksheets/notebook"
)

// code writes a code cell with its outputs. Cells whose source is folded away in
// the notebook are left out, unless they show something.
func (w *writer) code(b *strings.Builder, c *notebook.Cell, language string) {
	verb, name, rest := directive(c.Source)
	hidden := hiddenSource(c)
	empty := strings.TrimSpace(c.Source) == ""
	if (hidden || empty) && len(c.Outputs) == 0 || verb == "open" && !failed(c) {
		return
	}
	fmt.Fprintf(b, "<section class=\"cell%s\">\n", map[bool]string{true: " " + verb, false: ""}[verb != ""])
	switch {
	case hidden || empty:
	case verb == "answer" || verb == "derive":
		label := "Your answer"
		if verb == "derive" {
			label = "Your derivation"
		}
		text := html.EscapeString(strings.TrimSpace(rest))
		if text == "" {
			text = `<span class="missing">nothing yet</span>`
		}
		fmt.Fprintf(b, "<div class=\"typed\"><div class=\"label\">%s <span class=\"name\">%s</span></div><pre>%s</pre></div>\n", label, html.EscapeString(name), text)
	case verb != "":
		fmt.Fprintf(b, "<div class=\"typed\"><pre>%s</pre></div>\n", html.EscapeString(strings.TrimSpace(c.Source)))
	default:
		b.WriteString(highlight(c.Source, language))
	}
	if len(c.Outputs) > 0 {
		b.WriteString("<div class=\"outputs\">\n")
		for i := range c.Outputs {
			w.output(b, &c.Outputs[i])
		}
		b.WriteString("</div>\n")
	}
	b.WriteString("</section>\n")
}

// directive splits a directive cell into its verb, name and the rest.
func directive(source string) (verb, name, rest string) {
	first, rest, _ := strings.Cut(strings.TrimLeft(source, "\n\r\t "), "\n")
	line, ok := strings.CutPrefix(first, "//worksheet:")
	if !ok {
		return "", "", source
	}
	verb, name, _ = strings.Cut(strings.TrimSpace(line), " ")
	switch verb {
	case "open", "answer", "derive", "hint":
		return verb, strings.TrimSpace(name), rest
	}
	return "", "", source
}

func hiddenSource(c *notebook.Cell) bool {
	j, _ := c.Metadata["jupyter"].(map[string]any)
	hidden, _ := j["source_hidden"].(bool)
	return hidden
}

func failed(c *notebook.Cell) bool {
	for i := range c.Outputs {
		if c.Outputs[i].Type == notebook.Error {
			return true
		}
	}
	return false
}
