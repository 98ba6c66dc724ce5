package parse

import (
	"fmt"
	"strings"
	"unicode/utf8"
)

// A SyntaxError says where a text stopped being readable, and what to do.
type SyntaxError struct {
	Text     string // the text as given
	At       int    // byte in Text at which reading stopped, 0 <= At <= len(Text)
	Reason   string // what is wrong there
	Expected string // what could have stood there, "" where that helps nobody
	Remedy   string // what to write instead, "" where unknown
}

// Error gives place, reason, expectation and remedy in one line. Columns count
// characters from 1.
func (e *SyntaxError) Error() string {
	var b strings.Builder
	fmt.Fprintf(&b, "column %d: %s", e.Column(), e.Reason)
	if e.Expected != "" {
		fmt.Fprintf(&b, ": expected %s", e.Expected)
	}
	if e.Remedy != "" {
		fmt.Fprintf(&b, ": %s", e.Remedy)
	}
	return b.String()
}

// Column is the place of the error as a count of characters from 1.
func (e *SyntaxError) Column() int {
	return utf8.RuneCountInString(e.Text[:e.place()]) + 1
}

// Caret is the line of the text that holds the error, and under it a line with
// a ^ below the place. A long line is cut to the neighbourhood of the place.
func (e *SyntaxError) Caret() string {
	at := e.place()
	from := strings.LastIndexByte(e.Text[:at], '\n') + 1
	to := len(e.Text)
	if i := strings.IndexByte(e.Text[at:], '\n'); i >= 0 {
		to = at + i
	}
	before, after := []rune(e.Text[from:at]), []rune(e.Text[at:to])
	const around = 36 // characters kept on either side, so that the line fits a narrow cell
	lead, tail := "", ""
	if len(before) > around {
		before, lead = before[len(before)-around:], "…"
	}
	if len(after) > around {
		after, tail = after[:around], "…"
	}
	width := len([]rune(lead))
	for _, r := range before {
		if !combining(r) {
			width++
		}
	}
	line := strings.ReplaceAll(lead+string(before)+string(after)+tail, "\t", " ")
	return line + "\n" + strings.Repeat(" ", width) + "^"
}

func (e *SyntaxError) place() int {
	at := max(0, min(e.At, len(e.Text)))
	for at > 0 && at < len(e.Text) && !utf8.RuneStart(e.Text[at]) {
		at--
	}
	return at
}
