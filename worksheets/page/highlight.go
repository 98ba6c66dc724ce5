package page

import (
	"go/scanner"
	"go/token"
	"html"
	"strings"
)

// Classes of coloured code; style.css gives them their colours, light and dark.
const (
	classKeyword  = "k"
	classString   = "s"
	classNumber   = "m"
	classComment  = "c"
	classFunction = "nf"
)

// highlight returns code as a pre element; Go is coloured.
func highlight(code, language string) string {
	code = strings.TrimRight(code, "\n")
	text := html.EscapeString(code)
	if strings.EqualFold(language, "go") {
		text = highlightGo(code)
	}
	return `<pre class="code"><code>` + text + "</code></pre>\n"
}

// highlightGo colours Go by the tokens of its scanner, which reads cells that
// are no whole files, and broken ones, as well.
func highlightGo(code string) string {
	src := []byte(code)
	file := token.NewFileSet().AddFile("", -1, len(src))
	var s scanner.Scanner
	s.Init(file, src, func(token.Position, string) {}, scanner.ScanComments)
	var b strings.Builder
	at := 0 // what is written so far
	write := func(from, to int, class string) {
		from, to = max(from, at), min(to, len(src))
		if to <= from {
			return
		}
		b.WriteString(html.EscapeString(code[at:from]))
		if text := html.EscapeString(code[from:to]); class != "" {
			b.WriteString(`<span class="` + class + `">` + text + "</span>")
		} else {
			b.WriteString(text)
		}
		at = to
	}
	name, nameAt := "", 0 // the identifier before, which a bracket makes a function
	for {
		pos, tok, lit := s.Scan()
		if tok == token.EOF {
			break
		}
		offset := file.Offset(pos)
		if name != "" && tok == token.LPAREN {
			write(nameAt, nameAt+len(name), classFunction)
		}
		name = ""
		switch {
		case tok == token.IDENT:
			name, nameAt = lit, offset
		case tok.IsKeyword():
			write(offset, offset+len(lit), classKeyword)
		case tok == token.STRING || tok == token.CHAR:
			write(offset, offset+len(lit), classString)
		case tok == token.INT || tok == token.FLOAT || tok == token.IMAG:
			write(offset, offset+len(lit), classNumber)
		case tok == token.COMMENT:
			write(offset, offset+len(lit), classComment)
		}
	}
	b.WriteString(html.EscapeString(code[at:]))
	return b.String()
}
