package toy

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
)

// A Problem is one mistake in a toy's text.
type Problem struct {
	Line   int    // of the text, from 1
	Where  string // such as "part 2 (sphere)"; "" for the toy as a whole
	Reason string // what is wrong, and after a colon the remedy
}

// Error returns "line 12: part 2 (sphere): …".
func (p *Problem) Error() string {
	if p.Where == "" {
		return fmt.Sprintf("line %d: %s", p.Line, p.Reason)
	}
	return fmt.Sprintf("line %d: %s: %s", p.Line, p.Where, p.Reason)
}

// Problems are all mistakes that were found in a toy's text, sorted by line.
type Problems []*Problem

// Error returns one line a problem.
func (ps Problems) Error() string {
	lines := make([]string, len(ps))
	for i, p := range ps {
		lines[i] = p.Error()
	}
	return strings.Join(lines, "\n")
}

// Unwrap makes every problem visible to errors.As.
func (ps Problems) Unwrap() []error {
	all := make([]error, len(ps))
	for i, p := range ps {
		all[i] = p
	}
	return all
}

func (ps Problems) orNil() error {
	if len(ps) == 0 {
		return nil
	}
	slices.SortStableFunc(ps, func(a, b *Problem) int { return cmp.Compare(a.Line, b.Line) })
	return ps
}
