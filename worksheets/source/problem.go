package source

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
)

// A Problem is one mistake of a worksheet.
type Problem struct {
	File   string
	Line   int // 1-based, 0 for the whole file
	Reason string
	Remedy string
}

// Error returns the mistake in one line: worksheet.md:41: what is wrong: what to do.
func (p Problem) Error() string {
	s := p.File
	if p.Line > 0 {
		s = fmt.Sprintf("%s:%d", p.File, p.Line)
	}
	s += ": " + p.Reason
	if p.Remedy != "" {
		s += ": " + p.Remedy
	}
	return strings.ReplaceAll(s, "\n", " ")
}

// Problems are all the mistakes of a run.
type Problems []Problem

// Error returns the mistakes, one a line.
func (ps Problems) Error() string {
	lines := make([]string, len(ps))
	for i, p := range ps {
		lines[i] = p.Error()
	}
	return strings.Join(lines, "\n")
}

// Sorted returns the mistakes by file and line, without repetitions.
func (ps Problems) Sorted() Problems {
	s := slices.Clone(ps)
	slices.SortStableFunc(s, func(a, b Problem) int {
		return cmp.Or(cmp.Compare(a.File, b.File), cmp.Compare(a.Line, b.Line))
	})
	return slices.Compact(s)
}

// Err returns the sorted mistakes as an error, nil if there are none.
func (ps Problems) Err() error {
	if len(ps) == 0 {
		return nil
	}
	return ps.Sorted()
}
