package main

import (
	"runtime/debug"

	"counterpoise/kernel/server"
	"counterpoise/kernel/session"
)

// newEvaluator makes what runs the cells of a worker whose process is ended at
// the given bytes of memory. At half of them a cell is stopped and its state
// kept; what that state needs must leave room for later cells, so the garbage
// collector works harder before the bound is reached.
func newEvaluator(memory int64) (server.Evaluator, error) {
	if memory > 0 {
		debug.SetMemoryLimit(memory / 8 * 7)
	}
	return session.New(session.Options{Directives: newDesk(), Memory: uint64(memory) / 2})
}
