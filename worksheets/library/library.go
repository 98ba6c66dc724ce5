// Package library holds the worksheets of the quay fair: one folder each with
// its worksheet.md, embedded in the program.
package library

import (
	"embed"
	"io/fs"
	"path"
	"slices"

	"counterpoise/worksheets/source"
)

//go:embed */worksheet.md
var sheets embed.FS

// order is the order in which the sheets build on each other.
var order = []string{
	"balance-point", "coming-back", "hard-to-turn", "rocking", "twirl-and-rock", "springy-reed",
	"two-notes", "twin-lanterns", "undecided-bob", "pushed-too-hard", "corkscrew", "stopwatch-and-film",
}

// Names returns the names of the worksheets in the order in which they build on
// each other.
func Names() []string {
	entries, err := sheets.ReadDir(".")
	if err != nil {
		return nil // an embedded folder can always be read
	}
	var names []string
	for _, e := range entries {
		names = append(names, e.Name())
	}
	place := func(name string) int {
		if i := slices.Index(order, name); i >= 0 {
			return i
		}
		return len(order)
	}
	slices.SortStableFunc(names, func(a, b string) int { return place(a) - place(b) })
	return names
}

// Read reads the worksheet of that name.
func Read(name string) (*source.Sheet, error) {
	file := path.Join(name, source.FileName)
	data, err := fs.ReadFile(sheets, file)
	if err != nil {
		return nil, err
	}
	folder, err := fs.Sub(sheets, name)
	if err != nil {
		return nil, err
	}
	s, err := source.ReadIn(folder, data, file)
	s.Name = name
	return s, err
}
