package main

import (
	"counterpoise/kernel/server"
	"counterpoise/kernel/session"
)

// newEvaluator makes what runs the cells of a worker.
func newEvaluator(int64) (server.Evaluator, error) {
	return session.New(session.Options{Directives: newDesk()})
}
