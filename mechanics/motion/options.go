package motion

import (
	"context"
	"fmt"
	"math"
)

// DefaultTolerance is the relative and absolute tolerance of a step where none
// is given.
const DefaultTolerance = 1e-9

// DefaultBudget bounds the evaluations of the right-hand side in one run where
// no budget is given: some seconds of a small system, so that a mistaken
// interval ends with an error rather than never.
const DefaultBudget = 200_000_000

// Options are the choices of a run; the zero value is a good start.
type Options struct {
	Method Method

	// Relative and Absolute bound the error of one step in each component by
	// Absolute + Relative·|y|; zero means [DefaultTolerance]. RelativeEach and
	// AbsoluteEach, if not nil, give them component by component. A run with
	// events tightens them to [EventTolerance].
	Relative, Absolute         float64
	RelativeEach, AbsoluteEach []float64

	// Accuracy, if not zero, is asked of the end state as a whole: the run is
	// repeated until its estimated error is at most Accuracy·(1 + |y|) in every
	// component. The tolerances above are then chosen by the run itself.
	Accuracy float64

	Step        float64 // s, of methods with a fixed step; rounded down so that whole steps fill the interval
	FirstStep   float64 // s, of the others; 0 lets the run choose
	LargestStep float64 // s, of the others; 0 means no limit

	Budget int // evaluations of the right-hand side; 0 means [DefaultBudget]

	Events []Event

	// Energy gives the system's energy in J where the system itself does not
	// (see [Energetic]); the run reports its drift.
	Energy func(t float64, y []float64) float64

	// Jacobian gives ∂f_i/∂y_j as dst[i*Dim+j] where the system does not.
	Jacobian func(dst []float64, t float64, y []float64)

	// Context stops the run when it is done. A run also stops on
	// halt.Request, with or without a context.
	Context context.Context

	// EndOnly keeps no states between start and end: no dense output
	// afterwards, less memory.
	EndOnly bool

	// Unchecked leaves out the second, finer run that tells the global error,
	// and with it more than half of the time.
	Unchecked bool

	looser float64 // factor on the tolerances, of checking runs
}

// tolerances returns the tolerance vectors for n components.
func (o *Options) tolerances(n int) (relative, absolute []float64, err error) {
	relative, err = tolerance("Relative", o.Relative, o.RelativeEach, n)
	if err != nil {
		return nil, nil, err
	}
	absolute, err = tolerance("Absolute", o.Absolute, o.AbsoluteEach, n)
	if err != nil {
		return nil, nil, err
	}
	for i := range relative {
		if relative[i] == 0 && absolute[i] == 0 {
			return nil, nil, fmt.Errorf("motion: relative and absolute tolerance of component %d are both 0: give one of them", i)
		}
	}
	return relative, absolute, nil
}

func tolerance(name string, all float64, each []float64, n int) ([]float64, error) {
	if each != nil {
		if len(each) != n {
			return nil, fmt.Errorf("motion: %sEach has %d values for a system of %d components: give one for each", name, len(each), n)
		}
		for i, v := range each {
			if !(v >= 0) || math.IsInf(v, 1) {
				return nil, fmt.Errorf("motion: %sEach[%d] is %g: a tolerance is a small positive number such as 1e-9", name, i, v)
			}
		}
		return append([]float64(nil), each...), nil
	}
	if !(all >= 0) || math.IsInf(all, 1) {
		return nil, fmt.Errorf("motion: %s is %g: a tolerance is a small positive number such as 1e-9", name, all)
	}
	if all == 0 {
		all = DefaultTolerance
	}
	tol := make([]float64, n)
	for i := range tol {
		tol[i] = all
	}
	return tol, nil
}

// check returns what is wrong with a call of Solve, in the caller's words.
func (o *Options) check(s System, y []float64, from, to float64) error {
	n := s.Dim()
	switch {
	case n < 1:
		return fmt.Errorf("motion: the system has %d components: it needs at least one", n)
	case len(y) != n:
		return fmt.Errorf("motion: the start has %d values for a system of %d components: give one for each", len(y), n)
	case math.IsNaN(from) || math.IsInf(from, 0):
		return fmt.Errorf("motion: the run starts at t = %g: give a finite time", from)
	case math.IsNaN(to) || math.IsInf(to, 0):
		return fmt.Errorf("motion: the run ends at t = %g: give a finite time", to)
	case o.Method < 0 || int(o.Method) >= len(methodNames):
		return fmt.Errorf("motion: there is no method %d: use one of the named methods", int(o.Method))
	case o.Budget < 0:
		return fmt.Errorf("motion: Budget is %d evaluations: give a positive number, or 0 for the default", o.Budget)
	case o.Accuracy != 0 && !(o.Accuracy >= smallestAccuracy && o.Accuracy < 1):
		return fmt.Errorf("motion: Accuracy is %g: ask for something between %g and 1", o.Accuracy, smallestAccuracy)
	case !(o.FirstStep >= 0) || math.IsInf(o.FirstStep, 1):
		return fmt.Errorf("motion: FirstStep is %g: give a positive time in s, or 0 to let the run choose", o.FirstStep)
	case !(o.LargestStep >= 0):
		return fmt.Errorf("motion: LargestStep is %g: give a positive time in s, or 0 for no limit", o.LargestStep)
	case o.Method.fixed() && (!(o.Step > 0) || math.IsInf(o.Step, 1)):
		return fmt.Errorf("motion: %v needs a fixed step and Step is %g: give a positive time in s", o.Method, o.Step)
	case o.Method.fixed() && math.Abs(to-from)/o.Step > maxFixedSteps:
		return fmt.Errorf("motion: Step %g s makes more than %g steps of %g s: give a larger step", o.Step, float64(maxFixedSteps), math.Abs(to-from))
	}
	for i, v := range y {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return fmt.Errorf("motion: component %d of the start is %g: give a finite value", i, v)
		}
	}
	for i, e := range o.Events {
		if e.Of == nil {
			return fmt.Errorf("motion: event %d (%q) has no function Of: give the function whose zero is the event", i, e.Name)
		}
	}
	return nil
}

// smallestAccuracy is what rounding lets anybody hope for over a long run.
const smallestAccuracy = 1e-13

// maxFixedSteps keeps a mistyped step from running for days.
const maxFixedSteps = 1e10
