package motion

import (
	"errors"
	"fmt"
	"math"
	"sort"
	"strings"
	"sync"
)

// A Run is what came of an integration: the states at the ends of its steps,
// the motion between them, the events, and how good all that is.
type Run struct {
	T      []float64   // s, ends of the steps, the start first
	Y      [][]float64 // the states there
	Events []Occurrence

	Method   Method   // the method that finished the run
	Switched float64  // s, when an automatic run went over to it; NaN if it never did
	Warnings []string // doubts about the result, in words

	// Error is the estimated error of the end state, the largest over the
	// components of |error|/(1 + |y|); Errors are the absolute values component
	// by component. Both are NaN or nil for a run that was not checked.
	Error  float64
	Errors []float64

	// EnergyDrift is the largest departure of the energy from its start in J,
	// ConstraintDrift the largest absolute value of a constraint; NaN where
	// the system knows none. Work done by driving forces counts as drift.
	EnergyDrift     float64
	ConstraintDrift float64

	// What the run cost, the check included.
	Steps, Rejected        int
	Evaluations, Jacobians int

	mu     sync.Mutex
	marks  []restart
	reopen func(Method) (stepper, error) // nil if only the end was kept
	redo   stepper                       // integrates a step again for its inside
	doing  Method                        // of redo
	inside polynomial
	at     int // the step in inside, or -1
}

// A restart says with which method, and from which state, the steps from a
// knot on were made.
type restart struct {
	step   int // first step made so
	method Method
	y      []float64 // the state left by an event's Then, if not that of the knot
}

// End returns the last state; the caller must not change it.
func (r *Run) End() []float64 { return r.Y[len(r.Y)-1] }

// EndTime returns the time in s of the last state.
func (r *Run) EndTime() float64 { return r.T[len(r.T)-1] }

// ErrOutside is returned for a time outside a run.
var ErrOutside = errors.New("the time lies outside the run")

// At returns the state at the time t in s anywhere inside the run, as exactly
// as the method's dense output gives it. The step that holds t is integrated
// again, so neighbouring times are cheap. At a time where an event changed the
// state it returns the state before the change.
func (r *Run) At(t float64) ([]float64, error) {
	dst := make([]float64, len(r.Y[0]))
	return dst, r.AtInto(dst, t)
}

// AtInto is [Run.At] into a slice of the caller's.
func (r *Run) AtInto(dst []float64, t float64) error {
	if len(dst) != len(r.Y[0]) {
		return fmt.Errorf("motion: the slice has room for %d components, the state has %d", len(dst), len(r.Y[0]))
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	last := len(r.T) - 1
	forward := r.T[last] >= r.T[0]
	if math.IsNaN(t) || (forward && (t < r.T[0] || t > r.T[last])) || (!forward && (t > r.T[0] || t < r.T[last])) {
		return fmt.Errorf("motion: t = %g s: %w from %g to %g s", t, ErrOutside, r.T[0], r.T[last])
	}
	i := sort.Search(last+1, func(i int) bool {
		if forward {
			return r.T[i] >= t
		}
		return r.T[i] <= t
	})
	if r.T[i] == t {
		copy(dst, r.Y[i])
		return nil
	}
	if r.reopen == nil {
		return errors.New("motion: the run kept only its end (EndOnly): run it without that option to look inside")
	}
	if i--; i != r.at {
		if err := r.open(i); err != nil {
			return err
		}
	}
	if _, ok := r.redo.(denser); !ok {
		// no polynomial, but a shorter step is as good
		r.redo.begin(r.T[i], r.left(i))
		r.redo.attempt(t - r.T[i])
		r.redo.accept(t)
		_, y := r.redo.state()
		copy(dst, y)
		return nil
	}
	r.inside.at(dst, (t-r.inside.t)/r.inside.h)
	return nil
}

// open integrates step i again and keeps its inside.
func (r *Run) open(i int) error {
	m := r.marks[r.markOf(i)]
	if r.redo == nil || r.doing != m.method {
		st, err := r.reopen(m.method)
		if err != nil {
			return err
		}
		r.redo, r.doing = st, m.method
	}
	if d, ok := r.redo.(denser); ok {
		r.redo.begin(r.T[i], r.left(i))
		r.redo.attempt(r.T[i+1] - r.T[i])
		r.redo.accept(r.T[i+1])
		d.dense(&r.inside)
	}
	r.at = i
	return nil
}

// markOf returns the mark by which step i was made.
func (r *Run) markOf(i int) int {
	return sort.Search(len(r.marks), func(k int) bool { return r.marks[k].step > i }) - 1
}

// left returns the state from which step i started: that of the knot, or what
// an event left there.
func (r *Run) left(i int) []float64 {
	if m := r.marks[r.markOf(i)]; m.step == i && m.y != nil {
		return m.y
	}
	return r.Y[i]
}

// Sample returns n states at equal intervals of time, from the start to the
// end, and their times in s: what a plot needs.
func (r *Run) Sample(n int) (times []float64, states [][]float64, err error) {
	if n < 2 {
		return nil, nil, fmt.Errorf("motion: %d samples: ask for at least 2", n)
	}
	from, to := r.T[0], r.EndTime()
	for i := range n {
		t := from + (to-from)*float64(i)/float64(n-1)
		if i == n-1 {
			t = to
		}
		y, err := r.At(t)
		if err != nil {
			return nil, nil, err
		}
		times, states = append(times, t), append(states, y)
	}
	return times, states, nil
}

// Component returns the i-th component of states, as a curve to plot; NaN where a
// state has no such component.
func Component(states [][]float64, i int) []float64 {
	c := make([]float64, len(states))
	for k, y := range states {
		c[k] = math.NaN()
		if i >= 0 && i < len(y) {
			c[k] = y[i]
		}
	}
	return c
}

// String tells how the run went, in a few lines.
func (r *Run) String() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%v from t = %.6g to %.6g s: %d steps (%d refused), %d evaluations", r.Method, r.T[0], r.EndTime(), r.Steps, r.Rejected, r.Evaluations)
	if !math.IsNaN(r.Error) {
		fmt.Fprintf(&b, "\nestimated error of the end state: %.1e", r.Error)
	}
	if !math.IsNaN(r.EnergyDrift) {
		fmt.Fprintf(&b, "\nlargest change of the energy: %.1e J", r.EnergyDrift)
	}
	if !math.IsNaN(r.ConstraintDrift) {
		fmt.Fprintf(&b, "\nlargest breach of a constraint: %.1e", r.ConstraintDrift)
	}
	if len(r.Events) > 0 {
		fmt.Fprintf(&b, "\n%d events", len(r.Events))
	}
	for _, w := range r.Warnings {
		fmt.Fprintf(&b, "\nwarning: %s", w)
	}
	return b.String()
}

// Happened returns the times in s of the events of the given name, or of all
// events where the name is empty.
func (r *Run) Happened(name string) []float64 {
	var times []float64
	for _, e := range r.Events {
		if name == "" || e.Name == name {
			times = append(times, e.T)
		}
	}
	return times
}
