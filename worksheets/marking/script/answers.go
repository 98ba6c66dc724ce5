package script

import (
	"go/scanner"
	"go/token"
	"regexp"
	"strconv"
	"strings"
)

// directive is the line that starts an answer, or another cell of the
// worksheet; blanks that an editor put in do not matter.
var directive = regexp.MustCompile(`^\s*//\s*worksheet\s*:\s*(answer|derive|hint|open)\b[ \t]*(\S*)\s*$`)

// answersIn returns the answers in a cell's source, in order: what follows each
// directive line, or what stands in calls of worksheet.Answer.
func answersIn(source string) []Answer {
	if !strings.Contains(source, "worksheet") {
		return nil
	}
	var found []Answer
	var text *strings.Builder
	finish := func() {
		if text != nil {
			found[len(found)-1].Text = text.String()
			text = nil
		}
	}
	directives := false
	for line := range strings.Lines(source) {
		m := directive.FindStringSubmatch(strings.TrimRight(line, "\r\n"))
		if m == nil {
			if text != nil {
				text.WriteString(line)
			}
			continue
		}
		finish()
		directives = true
		if (m[1] == "answer" || m[1] == "derive") && m[2] != "" && len(found) < MaxAnswers {
			found = append(found, Answer{Question: m[2]})
			text = &strings.Builder{}
		}
	}
	finish()
	if !directives {
		return callsIn(source)
	}
	return found
}

// openCell returns what follows the first line of a cell that carries sealed
// keys, or stands in its call.
func openCell(source string) (string, bool) {
	if !strings.Contains(source, "worksheet") {
		return "", false
	}
	first, rest, _ := strings.Cut(strings.TrimLeft(source, " \t\r\n"), "\n")
	if m := directive.FindStringSubmatch(first); m != nil {
		return rest, m[1] == "open"
	}
	for _, c := range calls(source) {
		if c.name == "Open" && len(c.args) > 0 {
			return c.args[0], true
		}
	}
	return "", false
}

func callsIn(source string) []Answer {
	var found []Answer
	for _, c := range calls(source) {
		if (c.name == "Answer" || c.name == "Derive") && len(c.args) > 1 && len(found) < MaxAnswers {
			found = append(found, Answer{Question: c.args[0], Text: c.args[1]})
		}
	}
	return found
}

// A call is worksheet.name("…", "…") with text arguments.
type call struct {
	name string
	args []string
}

// calls finds calls into package worksheet whose arguments are plain text. It
// reads tokens only: nothing is evaluated.
func calls(source string) []call {
	file := token.NewFileSet().AddFile("", -1, len(source))
	var s scanner.Scanner
	s.Init(file, []byte(source), func(token.Position, string) {}, 0)
	next := func() (token.Token, string) { _, tok, lit := s.Scan(); return tok, lit }
	var found []call
	tok, lit := next()
	for tok != token.EOF {
		if tok != token.IDENT || lit != "worksheet" {
			tok, lit = next()
			continue
		}
		if tok, lit = next(); tok != token.PERIOD {
			continue
		}
		if tok, lit = next(); tok != token.IDENT {
			continue
		}
		c := call{name: lit}
		if tok, lit = next(); tok != token.LPAREN {
			continue
		}
		for {
			if tok, lit = next(); tok != token.STRING {
				break
			}
			text, err := strconv.Unquote(lit)
			if err != nil {
				break
			}
			c.args = append(c.args, text)
			if tok, lit = next(); tok != token.COMMA {
				break
			}
		}
		if len(c.args) > 0 {
			found = append(found, c)
		}
	}
	return found
}
