package session

import (
	"go/scanner"
	"go/token"
	"strings"

	"counterpoise/kernel/server"
)

// IsComplete tells whether code could run as it stands.
func (s *Session) IsComplete(code string) server.Completeness {
	if _, _, _, ok := directive(code); ok || strings.TrimSpace(code) == "" {
		return server.Completeness{Status: "complete"}
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	missing, fits := ending(code)
	if !fits {
		return server.Completeness{Status: "invalid"}
	}
	status := s.reads(code+missing, len(strings.TrimRight(code, " \t\r\n")))
	if status == "invalid" || status == "complete" && missing == "" {
		return server.Completeness{Status: status}
	}
	return server.Completeness{Status: "incomplete", Indent: indent(code)}
}

// reads tells whether code can be read: "complete", "invalid", or "incomplete"
// where all that is wrong is at end or after.
func (s *Session) reads(code string, end int) string {
	p, errs := s.parse(code, 0)
	s.forget(&checked{parsed: p})
	if len(errs) == 0 {
		return "complete"
	}
	for _, e := range errs {
		if e.offset < end {
			return "invalid"
		}
	}
	return "incomplete"
}

// ending returns what is missing to end the strings, comments and brackets that
// are open at the end of code; fits is false if a bracket closes another kind.
func ending(code string) (missing string, fits bool) {
	var sc scanner.Scanner
	fset := token.NewFileSet()
	file := fset.AddFile("", fset.Base(), len(code))
	open := ""
	sc.Init(file, []byte(code), func(_ token.Position, msg string) {
		switch {
		case strings.Contains(msg, "raw string literal not terminated"):
			open = "`"
		case strings.Contains(msg, "comment not terminated"):
			open = "*/"
		}
	}, 0)
	var stack []token.Token
	for {
		_, tok, _ := sc.Scan()
		switch tok {
		case token.EOF:
			for i := len(stack) - 1; i >= 0; i-- {
				open += map[token.Token]string{token.LPAREN: ")", token.LBRACK: "]", token.LBRACE: "}"}[stack[i]]
			}
			return open, true
		case token.LPAREN, token.LBRACK, token.LBRACE:
			stack = append(stack, tok)
		case token.RPAREN, token.RBRACK, token.RBRACE:
			want := map[token.Token]token.Token{token.RPAREN: token.LPAREN, token.RBRACK: token.LBRACK, token.RBRACE: token.LBRACE}[tok]
			if len(stack) == 0 || stack[len(stack)-1] != want {
				return "", false
			}
			stack = stack[:len(stack)-1]
		}
	}
}

// indent returns what the line after code should start with.
func indent(code string) string {
	line := strings.TrimRight(code, " \t\r\n")
	line = line[strings.LastIndexByte(line, '\n')+1:]
	lead := line[:len(line)-len(strings.TrimLeft(line, " \t"))]
	if line != "" && strings.ContainsAny(line[len(line)-1:], "{([") {
		lead += "\t"
	}
	return lead
}
