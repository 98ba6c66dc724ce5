package session

import (
	"go/scanner"
	"go/token"
	"strings"
)

// A kind is what a piece of a cell is.
type kind byte

const (
	statement kind = iota // also var and :=, which run in their turn
	importing
	declaration // func, type, const: known throughout the cell
	packaging   // a package clause, which is passed over
)

// A piece is the part code[start:end] of a cell between two semicolons, those
// that line ends stand for included. Its own semicolon, if written, belongs to
// it.
type piece struct {
	kind       kind
	start, end int
}

// split cuts a cell at the semicolons outside brackets. Statements need not be
// cut exactly (for i := 0; i < n; i++ {} gives three pieces), since they are
// joined again: what matters is where declarations begin and end.
func split(code string) []piece {
	var s scanner.Scanner
	fset := token.NewFileSet()
	file := fset.AddFile("", fset.Base(), len(code))
	s.Init(file, []byte(code), func(token.Position, string) {}, 0)

	var pieces []piece
	depth := 0
	start := -1 // of the piece in hand, -1 between pieces
	var k kind
	var head []token.Token // the tokens that tell a declaration
	finish := func(end int) {
		if start >= 0 {
			if k == statement && declares(head) {
				k = declaration
			}
			if k == declaration {
				start = withComment(code, pieces, start)
			}
			pieces = append(pieces, piece{k, start, end})
		}
		start, k, head = -1, statement, nil
	}
	for {
		pos, tok, lit := s.Scan()
		at := min(file.Offset(pos), len(code))
		if tok == token.EOF {
			finish(len(code))
			return pieces
		}
		if tok == token.SEMICOLON && depth <= 0 {
			if lit == "\n" {
				finish(at)
			} else {
				finish(min(at+1, len(code)))
			}
			continue
		}
		if start < 0 {
			start, k = at, statement
			switch tok {
			case token.IMPORT:
				k = importing
			case token.TYPE, token.CONST:
				k = declaration
			case token.PACKAGE:
				k = packaging
			}
			depth = 0
		}
		if k == statement && len(head) < maxHead && (len(head) > 0 || tok == token.FUNC) && !declares(head) {
			head = append(head, tok)
		}
		switch tok {
		case token.LPAREN, token.LBRACK, token.LBRACE:
			depth++
		case token.RPAREN, token.RBRACK, token.RBRACE:
			if depth > 0 {
				depth--
			}
		}
	}
}

// withComment moves the start of a declaration back over the comments before
// it, but not over one on the line where the piece before ends.
func withComment(code string, before []piece, start int) int {
	if len(before) == 0 {
		return 0
	}
	end := before[len(before)-1].end
	if i := strings.IndexByte(code[end:start], '\n'); i >= 0 {
		return end + i + 1
	}
	return start
}

// maxHead bounds how many tokens are kept to tell a method from a function
// literal: a receiver is never longer.
const maxHead = 200

// declares tells whether a piece that begins with these tokens declares a
// function or method: "func name", or "func (receiver) name (".
func declares(head []token.Token) bool {
	if len(head) < 2 || head[0] != token.FUNC {
		return false
	}
	if head[1] == token.IDENT {
		return true
	}
	if head[1] != token.LPAREN {
		// func 3() {}: no literal either; let the parser complain about a declaration.
		return head[1] != token.LBRACK
	}
	depth := 0
	for i, t := range head[1:] {
		switch t {
		case token.LPAREN:
			depth++
		case token.RPAREN:
			depth--
			if depth == 0 {
				rest := head[1+i+1:]
				return len(rest) >= 2 && rest[0] == token.IDENT && rest[1] == token.LPAREN
			}
		}
	}
	return false
}

// only returns code with everything but the pieces of some kinds blanked out,
// so that places stay as they are.
func only(code string, pieces []piece, want func(kind) bool) string {
	b := make([]byte, len(code))
	for i := range b {
		if code[i] == '\n' {
			b[i] = '\n'
		} else {
			b[i] = ' '
		}
	}
	for _, p := range pieces {
		if want(p.kind) {
			copy(b[p.start:p.end], code[p.start:p.end])
		}
	}
	return string(b)
}
