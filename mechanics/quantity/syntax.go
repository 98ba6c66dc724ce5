package quantity

import (
	"fmt"
	"unicode/utf8"
)

// A SyntaxError says what is wrong with a quantity or unit that somebody typed,
// where, and what to write instead.
type SyntaxError struct {
	Text   string // all that was read
	At     int    // byte offset of the fault in Text
	Reason string
	Remedy string
}

// Error returns one line: "column 4: unknown unit "gr": write g for grams".
func (e *SyntaxError) Error() string {
	at := min(max(e.At, 0), len(e.Text))
	column := utf8.RuneCountInString(e.Text[:at]) + 1
	if e.Remedy == "" {
		return fmt.Sprintf("column %d: %s", column, e.Reason)
	}
	return fmt.Sprintf("column %d: %s: %s", column, e.Reason, e.Remedy)
}
