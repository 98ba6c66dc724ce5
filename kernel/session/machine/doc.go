// Package machine runs type-checked Go that arrived a moment ago.
//
// It takes the static single-assignment form that golang.org/x/tools/go/ssa
// builds from a checked package and turns every function into a list of small
// Go closures over one block of memory, the frame. Every value in a frame, a
// variable or an interface has the layout that the Go compiler would give it,
// so that values pass between cells and compiled packages without conversion,
// and the language's rules (order of evaluation, loop variables, generics,
// range over functions, method sets) are those of go/types and go/ssa and not
// this package's own.
//
// A type declared in a cell becomes a type of the Go runtime with its name and
// its methods (see forge.go), so that fmt, encoding/json, sort and errors see
// it as they would see a compiled one.
//
// The package knows nothing of notebooks, cells or displays. What stops a
// computation is the Run that started it.
package machine
