package page

import (
	"encoding/json"
	"fmt"
	"html"
	"regexp"
	"strings"
	"sync"

	"counterpoise/worksheets/notebook"
)

// MaxOutput is the length of one text output that is shown whole.
const MaxOutput = 200 << 10

// output writes one output in the best of its forms.
func (w *writer) output(b *strings.Builder, o *notebook.Output) {
	switch o.Type {
	case notebook.Stream:
		fmt.Fprintf(b, "<pre class=\"stream%s\">%s</pre>\n", map[bool]string{true: " warn"}[o.Name == "stderr"], console(o.Text))
	case notebook.Error:
		text := strings.Join(o.Traceback, "\n")
		if strings.TrimSpace(text) == "" {
			text = o.ErrorName + ": " + o.ErrorValue
		}
		fmt.Fprintf(b, "<div class=\"failure\" role=\"note\" aria-label=\"Error\"><pre>%s</pre></div>\n", console(text))
	case notebook.Display, notebook.Result:
		w.bundle(b, o)
	}
}

// bundle writes the richest form that a page can show.
func (w *writer) bundle(b *strings.Builder, o *notebook.Output) {
	alt := alternative(o)
	if s, ok := o.TextOf("text/html"); ok {
		fmt.Fprintf(b, "<div class=\"html\">%s</div>\n", w.html(s))
		return
	}
	if s, ok := o.TextOf("image/svg+xml"); ok {
		if drawing, err := w.drawing(s, alt); err == nil {
			b.WriteString(drawing)
			return
		}
	}
	for _, mime := range pictureTypes {
		if s, ok := o.TextOf(mime); ok {
			if uri, ok := dataURI(mime, s); ok {
				fmt.Fprintf(b, "<figure class=\"picture\"><img src=\"%s\" alt=\"%s\"></figure>\n", uri, html.EscapeString(describe(alt)))
				return
			}
		}
	}
	if s, ok := o.TextOf("text/markdown"); ok {
		fmt.Fprintf(b, "<div class=\"prose\">%s</div>\n", w.prose(s, nil))
		return
	}
	if s, ok := o.TextOf("text/latex"); ok {
		fmt.Fprintf(b, "<div class=\"formula\">%s</div>\n", w.latex(s))
		return
	}
	if s, ok := o.TextOf("text/plain"); ok {
		fmt.Fprintf(b, "<pre class=\"value\">%s</pre>\n", console(s))
		return
	}
	if v, ok := o.Data["application/json"]; ok {
		if data, err := json.MarshalIndent(v, "", "  "); err == nil {
			fmt.Fprintf(b, "<pre class=\"value\">%s</pre>\n", console(string(data)))
		}
	}
}

// html returns strangers' HTML without anything that acts or fetches.
func (w *writer) html(s string) string {
	return filter().Sanitize(s)
}

// latex typesets an output that is one formula, with or without dollar signs,
// or text with formulas in it.
func (w *writer) latex(s string) string {
	t := strings.TrimSpace(s)
	for _, fence := range [][2]string{{"$$", "$$"}, {`\[`, `\]`}, {`\(`, `\)`}, {"$", "$"}} {
		if inner, ok := strings.CutPrefix(t, fence[0]); ok {
			if inner, ok := strings.CutSuffix(inner, fence[1]); ok && !strings.Contains(inner, "$") {
				return formula(inner, true)
			}
		}
	}
	if strings.Contains(t, "$") {
		return string(w.prose(t, nil))
	}
	return formula(t, true)
}

// alternative is the description of a picture: from its metadata, else the
// plain text that stands beside it.
func alternative(o *notebook.Output) string {
	for _, m := range append([]map[string]any{o.Metadata}, inner(o.Metadata)...) {
		if s, ok := m["alt"].(string); ok && strings.TrimSpace(s) != "" {
			return s
		}
	}
	if s, ok := o.TextOf("text/plain"); ok && !strings.HasPrefix(s, "<") && !strings.HasPrefix(s, "&") {
		return strings.TrimSpace(s)
	}
	return ""
}

func inner(m map[string]any) []map[string]any {
	var found []map[string]any
	for _, mime := range append([]string{"image/svg+xml"}, pictureTypes...) {
		if v, ok := m[mime].(map[string]any); ok {
			found = append(found, v)
		}
	}
	return found
}

func describe(alt string) string {
	if alt == "" {
		return "Picture without a description"
	}
	return alt
}

var escapeSequence = sync.OnceValue(func() *regexp.Regexp {
	return regexp.MustCompile("\x1b(\\[[0-9;:?]*[ -/]*[@-~]|\\][^\x07\x1b]*(\x07|\x1b\\\\)?|[@-Z\\\\-_])")
})

// console returns text of a terminal without its escape sequences, with what a
// carriage return overwrote left out, cut if it is very long.
func console(s string) string {
	cut := len(s) > MaxOutput
	if cut {
		s = strings.ToValidUTF8(s[:MaxOutput], "")
	}
	s = escapeSequence().ReplaceAllString(s, "")
	s = strings.ReplaceAll(s, "\r\n", "\n")
	if strings.Contains(s, "\r") {
		lines := strings.Split(s, "\n")
		for i, line := range lines {
			line = strings.TrimRight(line, "\r")
			lines[i] = line[strings.LastIndexByte(line, '\r')+1:]
		}
		s = strings.Join(lines, "\n")
	}
	s = strings.Map(func(r rune) rune {
		if r < ' ' && r != '\n' && r != '\t' {
			return -1
		}
		return r
	}, s)
	s = html.EscapeString(strings.TrimRight(s, "\n"))
	if cut {
		s += "\n<em>… the rest is left out here; it is in the notebook file.</em>"
	}
	return s
}
