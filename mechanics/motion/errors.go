package motion

import (
	"errors"
	"fmt"
)

// The ways in which a run may end early. Every one comes wrapped in an
// [Interrupted], with the run as far as it got.
var (
	ErrCollapsed = errors.New("the step has shrunk to nothing")
	ErrNonFinite = errors.New("the state is no longer finite")
	ErrBudget    = errors.New("the budget of evaluations is spent")
	ErrCrowded   = errors.New("events follow each other without end")
)

// An Interrupted says where a run ended early, why, and what to do.
type Interrupted struct {
	T         float64 // s, the last good time
	Component int     // the component that is not finite, or -1
	Cause     error   // one of the errors above, context's, or halt.ErrHalted
	Remedy    string
}

func (e *Interrupted) Error() string {
	s := fmt.Sprintf("motion: stopped at t = %.9g s: %v", e.T, e.Cause)
	if e.Component >= 0 {
		s += fmt.Sprintf(" (component %d)", e.Component)
	}
	if e.Remedy != "" {
		s += ": " + e.Remedy
	}
	return s
}

func (e *Interrupted) Unwrap() error { return e.Cause }
