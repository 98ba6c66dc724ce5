// Package maths lets goldmark read TeX formulas in Markdown, as notebooks write
// them: $…$ inside a line, $$…$$ on lines of their own.
//
// A dollar sign opens a formula if no blank follows it and closes one if no
// blank precedes and no digit follows it, so that prices stay prices; \$ is
// always a dollar sign. It finds formulas and remembers where they stand;
// package tex reads them.
package maths

import (
	"bytes"

	"github.com/yuin/goldmark"
	"github.com/yuin/goldmark/ast"
	"github.com/yuin/goldmark/parser"
	"github.com/yuin/goldmark/text"
	"github.com/yuin/goldmark/util"
)

// KindFormula is the kind of [Formula] nodes.
var KindFormula = ast.NewNodeKind("Formula")

// A Formula is a formula inside a paragraph.
type Formula struct {
	ast.BaseInline
	TeX     string
	Display bool
	At      int // byte offset of the TeX in the source
}

// Kind implements ast.Node.
func (*Formula) Kind() ast.NodeKind { return KindFormula }

// Dump implements ast.Node.
func (f *Formula) Dump(source []byte, level int) {
	ast.DumpHelper(f, source, level, map[string]string{"TeX": f.TeX}, nil)
}

// KindBlock is the kind of [Block] nodes.
var KindBlock = ast.NewNodeKind("FormulaBlock")

// A Block is a formula on lines of its own.
type Block struct {
	ast.BaseBlock
	TeX    string
	At     int
	closed bool
}

// Kind implements ast.Node.
func (*Block) Kind() ast.NodeKind { return KindBlock }

// IsRaw implements ast.Node: nothing in a formula is Markdown.
func (*Block) IsRaw() bool { return true }

// Dump implements ast.Node.
func (b *Block) Dump(source []byte, level int) {
	ast.DumpHelper(b, source, level, map[string]string{"TeX": b.TeX}, nil)
}

// Extension makes goldmark read formulas. It renders nothing.
var Extension goldmark.Extender = extension{}

type extension struct{}

func (extension) Extend(m goldmark.Markdown) {
	m.Parser().AddOptions(
		parser.WithInlineParsers(util.Prioritized(inlineParser{}, 150)), // before emphasis (500) and escapes, after code spans (100)
		parser.WithBlockParsers(util.Prioritized(blockParser{}, 650)),   // before lists could take a line of a formula; after code
	)
}

type inlineParser struct{}

func (inlineParser) Trigger() []byte { return []byte{'$'} }

func (inlineParser) Parse(parent ast.Node, block text.Reader, pc parser.Context) ast.Node {
	line, segment := block.PeekLine()
	fence := []byte("$")
	if bytes.HasPrefix(line, []byte("$$")) {
		fence = []byte("$$")
	}
	display := len(fence) == 2
	if len(line) <= len(fence) || !display && isBlank(line[1]) {
		return nil
	}
	startLine, startPos := block.Position()
	at := segment.Start + len(fence)
	block.Advance(len(fence))
	var tex []byte
	for {
		line, _ := block.PeekLine()
		if line == nil {
			block.SetPosition(startLine, startPos)
			return nil
		}
		if i := closing(line, tex, display); i >= 0 {
			tex = append(tex, line[:i]...)
			block.Advance(i + len(fence))
			break
		}
		tex = append(tex, line...)
		block.AdvanceLine()
	}
	if len(bytes.TrimSpace(tex)) == 0 {
		block.SetPosition(startLine, startPos)
		return nil
	}
	return &Formula{TeX: string(tex), Display: display, At: at}
}

// closing finds the end of a formula in a line; before is what was read of it.
func closing(line, before []byte, display bool) int {
	for i := 0; i < len(line); i++ {
		switch {
		case line[i] == '\\':
			i++
		case line[i] == '$' && display:
			if i+1 < len(line) && line[i+1] == '$' {
				return i
			}
		case line[i] == '$':
			blank := i == 0 && (len(before) == 0 || isBlank(before[len(before)-1])) || i > 0 && isBlank(line[i-1])
			digit := i+1 < len(line) && line[i+1] >= '0' && line[i+1] <= '9'
			if !blank && !digit {
				return i
			}
		}
	}
	return -1
}

func isBlank(c byte) bool { return c == ' ' || c == '\t' || c == '\n' || c == '\r' }

type blockParser struct{}

func (blockParser) Trigger() []byte { return []byte{'$'} }

func (blockParser) Open(parent ast.Node, reader text.Reader, pc parser.Context) (ast.Node, parser.State) {
	line, segment := reader.PeekLine()
	pos := pc.BlockOffset()
	if pos < 0 || !bytes.HasPrefix(line[pos:], []byte("$$")) {
		return nil, parser.NoChildren
	}
	rest := line[pos+2:]
	b := &Block{At: segment.Start + pos + 2}
	if i := closing(rest, nil, true); i >= 0 {
		if len(bytes.TrimSpace(rest[i+2:])) > 0 { // words follow: an inline matter
			return nil, parser.NoChildren
		}
		b.TeX, b.closed = string(rest[:i]), true
	} else {
		b.TeX = string(rest)
	}
	reader.AdvanceToEOL()
	return b, parser.NoChildren
}

func (blockParser) Continue(node ast.Node, reader text.Reader, pc parser.Context) parser.State {
	b := node.(*Block)
	if b.closed {
		return parser.Close
	}
	line, _ := reader.PeekLine()
	if i := closing(line, nil, true); i >= 0 {
		b.TeX += string(line[:i])
		b.closed = true
		reader.Advance(i + 2)
		reader.AdvanceToEOL()
		return parser.Continue | parser.NoChildren
	}
	b.TeX += string(line)
	reader.AdvanceToEOL()
	return parser.Continue | parser.NoChildren
}

func (blockParser) Close(ast.Node, text.Reader, parser.Context) {}
func (blockParser) CanInterruptParagraph() bool                 { return true }
func (blockParser) CanAcceptIndentedLine() bool                 { return false }
