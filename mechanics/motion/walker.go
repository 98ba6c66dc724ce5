package motion

import (
	"fmt"
	"math"
)

// A Walker carries a state forward from stop to stop: for motions that are
// looked at, kicked or renormalised on the way, where [Solve] would start anew
// each time. It keeps nothing of its way and estimates no error; it is for one
// goroutine.
type Walker struct {
	j *journey
	n int
}

// NewWalker returns a walker at the state y at the time t. Of the options it
// heeds the method (which must control its step), the tolerances, FirstStep,
// LargestStep, Jacobian and Context; the budget is that of each way between
// two stops.
func NewWalker(s System, t float64, y []float64, o Options) (*Walker, error) {
	if s == nil {
		return nil, fmt.Errorf("motion: no system given: make one with motion.Of or lagrange")
	}
	o.Events, o.Accuracy, o.EndOnly, o.Unchecked, o.Energy = nil, 0, true, true, nil
	if err := o.check(s, y, t, t); err != nil {
		return nil, err
	}
	if o.Method.fixed() {
		return nil, fmt.Errorf("motion: a walker controls its step, %v does not: choose another method", o.Method)
	}
	j, err := newJourney(s, y, t, t, &o)
	if err != nil {
		return nil, err
	}
	j.energy = &gauge{}
	return &Walker{j: j, n: s.Dim()}, nil
}

// To carries the state on to the time t, later or earlier than now.
func (w *Walker) To(t float64) error {
	if math.IsNaN(t) || math.IsInf(t, 0) {
		return fmt.Errorf("motion: a walk to t = %g: give a finite time", t)
	}
	now, _ := w.j.stepper.state()
	if t == now {
		return nil
	}
	if (t-now)*(w.j.to-w.j.run.T[0]) < 0 {
		w.j.pace = 0 // the other way
	}
	evaluations, _ := w.j.stepper.count()
	w.j.budget = evaluations + w.j.spent + DefaultBudget
	if w.j.options.Budget > 0 {
		w.j.budget = evaluations + w.j.spent + w.j.options.Budget
	}
	w.j.run.T[0] = now
	w.j.to = t
	return w.j.drive()
}

// State returns the time in s and the state; the slice is valid until the next
// call and must not be changed.
func (w *Walker) State() (t float64, y []float64) { return w.j.stepper.state() }

// Set puts the walker in another state, at the same time. It keeps the step.
func (w *Walker) Set(y []float64) error {
	if len(y) != w.n {
		return fmt.Errorf("motion: a state of %d values for a system of %d components: give one for each", len(y), w.n)
	}
	t, _ := w.j.stepper.state()
	w.j.stepper.begin(t, y)
	return nil
}
