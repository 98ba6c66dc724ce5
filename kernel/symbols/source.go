package symbols

import (
	"embed"
	"strings"

	"counterpoise/kernel/symbols/internal/list"
)

// The generic packages, and the generic parts of others, are kept as source
// and run like a cell's own code.
//
//go:embed source
var sources embed.FS

func isSource(path string) bool { return list.Allowed(path) == "source" }

func sourcePaths() []string { return list.Source }

// allowed tells whether a path is on the list; the tables also hold packages
// whose types merely occur in others.
func allowed(path string) bool {
	return list.Allowed(path) != "" && path != "counterpoise/kernel/display/cell"
}

// Source returns the source of a generic package, or of the generic part of
// one that is otherwise compiled.
func Source(path string) (string, bool) {
	data, err := sources.ReadFile("source/" + strings.ReplaceAll(path, "/", "_") + ".go.txt")
	return string(data), err == nil
}
