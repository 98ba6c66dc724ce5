package source

import (
	"fmt"
	"strings"
	"sync"

	"counterpoise/worksheets/page/maths"
	"counterpoise/worksheets/page/tex"

	"github.com/yuin/goldmark"
	"github.com/yuin/goldmark/ast"
	"github.com/yuin/goldmark/extension"
	"github.com/yuin/goldmark/text"
)

var markdown = sync.OnceValue(func() goldmark.Markdown {
	return goldmark.New(goldmark.WithExtensions(extension.Table, maths.Extension))
})

// body cuts the text after the front matter into cells.
func (r *reader) body(body string, first int) {
	source := []byte(body)
	doc := markdown().Parser().Parse(text.NewReader(source))
	b := &bodyReader{reader: r, source: body, first: first, starts: lineStarts(body)}
	for n := doc.FirstChild(); n != nil; n = n.NextSibling() {
		switch n := n.(type) {
		case *ast.FencedCodeBlock:
			if b.block(n) {
				continue
			}
		case *ast.Heading:
			if n.Level <= 3 {
				b.flush(b.lineOfNode(n))
			}
		}
	}
	b.flush(len(b.starts) + 1)
	r.checkMaths(body, first, doc)
}

// A bodyReader keeps how far the body has been cut. Lines count from 1 in the
// body.
type bodyReader struct {
	*reader
	source string
	first  int   // the file's line of the body's line 1
	starts []int // offset of each line
	next   int   // first line that is in no cell yet, less 1
}

func lineStarts(s string) []int {
	starts := []int{0}
	for i := range len(s) {
		if s[i] == '\n' {
			starts = append(starts, i+1)
		}
	}
	return starts
}

// lineAt returns the line of an offset.
func (b *bodyReader) lineAt(offset int) int {
	return 1 + strings.Count(b.source[:min(offset, len(b.source))], "\n")
}

// lines returns lines from up to but without to.
func (b *bodyReader) lines(from, to int) string {
	if from > len(b.starts) || from >= to {
		return ""
	}
	end := len(b.source)
	if to-1 < len(b.starts) {
		end = b.starts[to-1]
	}
	return b.source[b.starts[from-1]:end]
}

func (b *bodyReader) lineOfNode(n ast.Node) int {
	if n.Lines().Len() > 0 {
		return b.lineAt(n.Lines().At(0).Start)
	}
	return b.next + 1
}

// flush makes a prose cell of what comes before a line.
func (b *bodyReader) flush(line int) {
	prose := b.lines(b.next+1, line)
	if strings.TrimSpace(prose) != "" {
		start := b.next + 1
		for strings.TrimSpace(b.lines(start, start+1)) == "" {
			start++
		}
		b.sheet.Cells = append(b.sheet.Cells, Cell{Kind: Prose, Text: strings.TrimSpace(b.lines(start, line)), Line: b.first + start - 1})
	}
	b.next = line - 1
}

// block makes a cell of a fenced block, if it is one of the sheet's own.
func (b *bodyReader) block(n *ast.FencedCodeBlock) bool {
	info := ""
	if n.Info != nil {
		info = string(n.Info.Segment.Value([]byte(b.source)))
	}
	words := strings.Fields(info)
	if len(words) == 0 {
		return false
	}
	var fence, content int // lines
	if n.Info != nil {
		fence = b.lineAt(n.Info.Segment.Start)
		content = fence + 1
	}
	var code strings.Builder
	for i := range n.Lines().Len() {
		line := n.Lines().At(i)
		code.Write(line.Value([]byte(b.source)))
	}
	end := content + n.Lines().Len() // line of the closing fence
	switch words[0] {
	case "go":
		b.flush(fence)
		c := Cell{Kind: Go, Text: strings.TrimRight(code.String(), "\n"), Line: b.first + content - 1}
		for _, w := range words[1:] {
			switch w {
			case "fold":
				c.Fold = true
			case "may-fail":
				c.MayFail = true
			default:
				b.fail(b.first+fence-1, fmt.Sprintf("unknown word %q after ```go", w), "known are fold and may-fail")
			}
		}
		b.sheet.Cells = append(b.sheet.Cells, c)
	case "question":
		b.flush(fence)
		b.sheet.Cells = append(b.sheet.Cells, *b.question(code.String(), b.first+content-1))
	case "safety":
		b.flush(fence)
		b.sheet.Cells = append(b.sheet.Cells, Cell{Kind: Safety, Text: strings.TrimSpace(code.String()), Line: b.first + content - 1})
		b.proseMaths(code.String(), b.first+content-1, "the safety note")
	default:
		if near := nearest(words[0], []string{"question", "safety"}); near != "" && near != words[0] {
			b.fail(b.first+fence-1, fmt.Sprintf("unknown block ```%s", words[0]), "did you mean ```"+near+"?")
		}
		return false
	}
	if n.Lines().Len() == 0 && b.lineAt(len(b.source)) < content {
		b.fail(b.first+fence-1, "this block is not closed", "end it with a line of ```")
	} else if closing := strings.TrimSpace(b.lines(end, end+1)); !strings.HasPrefix(closing, "```") && !strings.HasPrefix(closing, "~~~") {
		b.fail(b.first+fence-1, "this block is not closed", "end it with a line of ```")
	}
	b.next = end
	return true
}

// checkMaths reads every formula of the prose.
func (r *reader) checkMaths(source string, first int, doc ast.Node) {
	_ = ast.Walk(doc, func(n ast.Node, entering bool) (ast.WalkStatus, error) {
		if entering {
			switch n := n.(type) {
			case *maths.Formula:
				r.formula(n.TeX, n.Display, source, n.At, first)
			case *maths.Block:
				r.formula(n.TeX, true, source, n.At, first)
			case *ast.Image:
				r.picture(n, source, first)
			}
		}
		return ast.WalkContinue, nil
	})
}

// proseMaths reads the formulas of a piece of Markdown whose first line is line
// first of the file.
func (r *reader) proseMaths(source string, first int, what string) {
	r.checkMaths(source, first, markdown().Parser().Parse(text.NewReader([]byte(source))))
}

// formula reports what cannot be typeset; offset is where the TeX stands.
func (r *reader) formula(formula string, display bool, source string, offset, first int) {
	// {{name}} stands for a value, which is always typeset as text.
	plain := placeholder().ReplaceAllString(formula, "{x}")
	_, err := tex.MathML(plain, display)
	all, _ := err.(tex.Errors)
	for _, e := range all {
		line := first + strings.Count(source[:min(offset, len(source))], "\n") + strings.Count(e.Text[:min(e.At, len(e.Text))], "\n")
		r.fail(line, fmt.Sprintf("formula $%s$: %s", shorten(strings.TrimSpace(formula)), e.Reason), e.Remedy)
	}
}

func shorten(s string) string {
	s = strings.Join(strings.Fields(s), " ")
	if r := []rune(s); len(r) > 40 {
		return string(r[:40]) + "…"
	}
	return s
}
