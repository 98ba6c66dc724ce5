package page

import (
	"bytes"
	"encoding/base64"
	"fmt"
	"html"
	"html/template"
	"regexp"
	"strconv"
	"strings"
	"sync"

	"counterpoise/worksheets/page/maths"
	"counterpoise/worksheets/page/tex"

	"github.com/yuin/goldmark"
	"github.com/yuin/goldmark/ast"
	"github.com/yuin/goldmark/extension"
	"github.com/yuin/goldmark/parser"
	"github.com/yuin/goldmark/renderer"
	rawhtml "github.com/yuin/goldmark/renderer/html"
	"github.com/yuin/goldmark/text"
	"github.com/yuin/goldmark/util"
)

// Prose returns Markdown with TeX formulas as safe HTML without a page round it.
func Prose(markdown string) template.HTML {
	return new(writer).prose(markdown, nil)
}

// MaxMarkdown is the length of one Markdown cell; a long chapter is 100 KB, and
// nested lists take time that grows faster than their length.
const MaxMarkdown = 1 << 20

// prose turns Markdown into safe HTML: goldmark reads it, formulas are put
// aside, bluemonday takes away what could act, then the formulas go in.
func (w *writer) prose(markdown string, attachments map[string]any) template.HTML {
	if len(markdown) > MaxMarkdown {
		return template.HTML(fmt.Sprintf("<p class=\"note\">This text is longer than %d KiB and is shown as it stands.</p>\n<pre class=\"raw\">%s</pre>\n",
			MaxMarkdown>>10, html.EscapeString(markdown)))
	}
	source := []byte(placeholderMarks.Replace(markdown))
	md := goldmark.New(
		goldmark.WithExtensions(extension.NewTable(extension.WithTableCellAlignMethod(extension.TableCellAlignAttribute)), extension.Strikethrough, extension.TaskList, extension.DefinitionList, maths.Extension),
		goldmark.WithParserOptions(parser.WithASTTransformers(util.Prioritized(transformer{w, attachments}, 100))),
		goldmark.WithRendererOptions(rawhtml.WithUnsafe(), // bluemonday comes after it
			renderer.WithNodeRenderers(util.Prioritized(formulaRenderer{w}, 100), util.Prioritized(codeRenderer{}, 100))),
	)
	start := len(w.formulas)
	var b bytes.Buffer
	if err := md.Convert(source, &b); err != nil {
		return template.HTML("<pre class=\"raw\">" + html.EscapeString(markdown) + "</pre>")
	}
	safe := filter().Sanitize(b.String())
	out := w.putFormulas(safe)
	w.formulas = w.formulas[:start]
	return template.HTML(out)
}

// Placeholders of formulas are numbers between two private characters, which
// are taken out of all text that comes in.
const (
	placeholderOpen  = "\uE000"
	placeholderClose = "\uE001"
)

var (
	placeholderMarks = strings.NewReplacer(placeholderOpen, "\uFFFD", placeholderClose, "\uFFFD")
	placeholder      = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(placeholderOpen + `(\d+)` + placeholderClose) })
)

// aside keeps finished MathML and returns its placeholder.
func (w *writer) aside(mathml string) string {
	w.formulas = append(w.formulas, mathml)
	return placeholderOpen + strconv.Itoa(len(w.formulas)-1) + placeholderClose
}

func (w *writer) putFormulas(s string) string {
	return placeholder().ReplaceAllStringFunc(s, func(m string) string {
		n, err := strconv.Atoi(m[len(placeholderOpen) : len(m)-len(placeholderClose)])
		if err != nil || n >= len(w.formulas) {
			return ""
		}
		return w.formulas[n]
	})
}

// formula returns a formula as MathML, or as it was typed with the reason why
// it cannot be typeset.
func formula(source string, display bool) string {
	s, err := tex.MathML(source, display)
	if err != nil {
		return `<code class="unread" title="` + html.EscapeString(strings.ReplaceAll(err.Error(), "\n", "; ")) + `">` + html.EscapeString(source) + "</code>"
	}
	return s
}

// formulaRenderer puts placeholders where formulas stand.
type formulaRenderer struct{ w *writer }

func (r formulaRenderer) RegisterFuncs(reg renderer.NodeRendererFuncRegisterer) {
	reg.Register(maths.KindFormula, func(b util.BufWriter, source []byte, n ast.Node, entering bool) (ast.WalkStatus, error) {
		if entering {
			f := n.(*maths.Formula)
			_, _ = b.WriteString(r.w.aside(formula(f.TeX, f.Display)))
		}
		return ast.WalkSkipChildren, nil
	})
	reg.Register(maths.KindBlock, func(b util.BufWriter, source []byte, n ast.Node, entering bool) (ast.WalkStatus, error) {
		if entering {
			_, _ = b.WriteString("<div class=\"formula\">" + r.w.aside(formula(n.(*maths.Block).TeX, true)) + "</div>\n")
		}
		return ast.WalkSkipChildren, nil
	})
}

// codeRenderer colours fenced code.
type codeRenderer struct{}

func (codeRenderer) RegisterFuncs(reg renderer.NodeRendererFuncRegisterer) {
	reg.Register(ast.KindFencedCodeBlock, func(b util.BufWriter, source []byte, n ast.Node, entering bool) (ast.WalkStatus, error) {
		if entering {
			f := n.(*ast.FencedCodeBlock)
			var code strings.Builder
			for i := range f.Lines().Len() {
				line := f.Lines().At(i)
				code.Write(line.Value(source))
			}
			_, _ = b.WriteString(highlight(code.String(), string(f.Language(source))))
		}
		return ast.WalkSkipChildren, nil
	})
}

// transformer gives headings their ids, collects them, and brings pictures into
// the file.
type transformer struct {
	w           *writer
	attachments map[string]any
}

func (t transformer) Transform(doc *ast.Document, reader text.Reader, pc parser.Context) {
	source := reader.Source()
	var pictures []*ast.Image
	_ = ast.Walk(doc, func(n ast.Node, entering bool) (ast.WalkStatus, error) {
		if !entering {
			return ast.WalkContinue, nil
		}
		switch n := n.(type) {
		case *ast.Heading:
			t.heading(n, source)
		case *ast.Image:
			pictures = append(pictures, n)
		}
		return ast.WalkContinue, nil
	})
	for _, p := range pictures {
		t.picture(p, source)
	}
}

func (t transformer) heading(h *ast.Heading, source []byte) {
	words, plain := t.words(h, source)
	id := fmt.Sprintf("section-%d", len(t.w.headings)+1)
	h.SetAttributeString("id", []byte(id))
	if h.Level == 1 && t.w.title == "" {
		t.w.title = plain
	}
	t.w.headings = append(t.w.headings, Heading{Level: h.Level, ID: id, Text: template.HTML(words)})
}

// words returns the text of a node as safe HTML with formulas, and plain.
func (t transformer) words(n ast.Node, source []byte) (string, string) {
	var b, plain strings.Builder
	_ = ast.Walk(n, func(n ast.Node, entering bool) (ast.WalkStatus, error) {
		if entering {
			switch n := n.(type) {
			case *ast.Text:
				s := string(n.Value(source))
				s = html.UnescapeString(s)
				if n.SoftLineBreak() {
					s += " "
				}
				b.WriteString(html.EscapeString(s))
				plain.WriteString(s)
			case *ast.String:
				b.WriteString(html.EscapeString(string(n.Value)))
				plain.Write(n.Value)
			case *maths.Formula:
				b.WriteString(formula(n.TeX, false))
				plain.WriteString(n.TeX)
			}
		}
		return ast.WalkContinue, nil
	})
	return b.String(), strings.TrimSpace(plain.String())
}

// picture brings an attachment into the file; a picture that would have to be
// fetched is replaced by its description.
func (t transformer) picture(p *ast.Image, source []byte) {
	_, alt := t.words(p, source)
	if alt == "" {
		alt = "Picture without a description"
		p.RemoveChildren(p)
		p.AppendChild(p, ast.NewString([]byte(alt)))
	}
	dest := string(p.Destination)
	if name, ok := strings.CutPrefix(dest, "attachment:"); ok {
		if bundle, ok := t.attachments[name].(map[string]any); ok {
			for _, mime := range pictureTypes {
				if data, ok := joinedText(bundle[mime]); ok {
					if uri, ok := dataURI(mime, data); ok {
						p.Destination = []byte(uri)
						return
					}
				}
			}
		}
	}
	if dataPicture().MatchString(dest) {
		return
	}
	note := ast.NewString([]byte("[picture not part of this file: " + alt + "]"))
	p.Parent().ReplaceChild(p.Parent(), p, note)
}

// pictureTypes are the kinds of pictures a page carries as data, best first.
var pictureTypes = []string{"image/png", "image/jpeg", "image/gif", "image/webp"}

var dataPicture = sync.OnceValue(func() *regexp.Regexp {
	return regexp.MustCompile(`^data:image/(png|jpeg|gif|webp);base64,[A-Za-z0-9+/=]+$`)
})

// dataURI returns base64 picture data as a URI, if it is base64.
func dataURI(mime, data string) (string, bool) {
	data = strings.Map(func(r rune) rune {
		if r == '\n' || r == '\r' || r == ' ' || r == '\t' {
			return -1
		}
		return r
	}, data)
	if _, err := base64.StdEncoding.DecodeString(data); err != nil || data == "" {
		return "", false
	}
	return "data:" + mime + ";base64," + data, true
}

// joinedText returns text, or a list of texts put together.
func joinedText(v any) (string, bool) {
	switch v := v.(type) {
	case string:
		return v, true
	case []any:
		var b strings.Builder
		for _, e := range v {
			s, ok := e.(string)
			if !ok {
				return "", false
			}
			b.WriteString(s)
		}
		return b.String(), true
	}
	return "", false
}
