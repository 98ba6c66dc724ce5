// Package session runs Go cells as a person expects them: any mix of imports,
// declarations and statements, checked as a whole before anything runs, with
// what earlier cells declared in scope and the last expression's value shown.
//
// A cell is split (split.go), becomes the syntax tree of a package of its own
// (rewrite.go), is checked by go/types against the objects of earlier cells and
// the compiled packages (check.go, packages.go), and run by package machine
// (execute.go). Completion and inspection ask the same checker.
package session
