// Package build makes notebooks from a worksheet: the student's notebook with
// its sealed keys, the tutor's key file, and for a class one notebook per
// student.
//
// The same sheet and values give the same bytes. Nothing of keys, slips,
// workings, points or samples stands in a student's notebook in clear. The
// package runs no code: it computes keys from formulas and toys only.
package build

import (
	"counterpoise/worksheets/notebook"
	"counterpoise/worksheets/source"
)

// Options choose how a notebook is built. The zero value is what a student
// with this project's kernel needs.
type Options struct {
	// Values are the student's own values, by the parameters' canonical names;
	// what is missing has the printed value.
	Values map[string]string
	// PlainGo writes calls instead of directive cells, for other Go kernels.
	PlainGo bool
	// Student is the token by which the key file knows whose copy it is; empty
	// for the notebook with the printed values.
	Student string

	seed *seed // of a class; nil: the sheet's own
}

// Build makes the student's notebook and the tutor's key file. If the error is
// not nil it is [source.Problems], all that were found.
func Build(s *source.Sheet, o Options) (*notebook.Notebook, *KeyFile, error) {
	values, problems := valuesOf(s, o.Values)
	asked, more := compile(s, values)
	if problems = append(problems, more...); len(problems) > 0 {
		return nil, nil, problems.Err()
	}
	key := keyFile(s, asked)
	if o.seed == nil {
		var err error
		if o.seed, err = seedOf(key, nil); err != nil {
			return nil, nil, err
		}
	}
	nb, err := student(s, values, asked, o)
	return nb, key, err
}

// Check returns the mistakes that building would tell, for a sheet that has
// mistakes of its own already: its broken questions are passed over.
func Check(s *source.Sheet) source.Problems {
	if s.Unread {
		return nil // every formula with that parameter would be blamed
	}
	values, problems := valuesOf(s, nil)
	_, more := compile(s, values)
	return append(problems, more...).Sorted()
}
