package session

import (
	"context"
	"strings"

	"counterpoise/kernel/display"
	"counterpoise/kernel/server"
)

// directive reads the first line of a cell that is not Go.
func directive(code string) (verb, name, rest string, ok bool) {
	line, rest, _ := strings.Cut(strings.TrimLeft(code, " \t\r\n"), "\n")
	text, ok := strings.CutPrefix(strings.TrimSpace(line), "//worksheet:")
	if !ok {
		return "", "", "", false
	}
	verb, name, _ = strings.Cut(text, " ")
	return verb, strings.TrimSpace(name), rest, true
}

// direct runs a cell of a worksheet that is not Go.
func (s *Session) direct(ctx context.Context, verb, name, rest string, out server.Output) server.Result {
	if s.options.Directives == nil {
		msg := "no worksheet can be opened here: this kernel runs without the worksheet part"
		return server.Result{Fault: &server.Fault{Name: "Worksheet", Value: msg, Traceback: []string{msg}, Line: 1, Col: 1}}
	}
	v, err := s.options.Directives.Direct(ctx, verb, name, rest, out)
	if err != nil {
		return server.Result{Fault: &server.Fault{Name: "Worksheet", Value: err.Error(), Traceback: strings.Split(err.Error(), "\n"), Line: 1, Col: 1}}
	}
	if v == nil {
		return server.Result{}
	}
	b := display.Of(v)
	return server.Result{Value: &b}
}
