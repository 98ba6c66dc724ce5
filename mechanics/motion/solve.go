package motion

import (
	"fmt"
	"math"
)

// Solve integrates the system from the state y at the time from to the time to
// (both in s; to may lie before from) and returns the run. It copies y.
//
// Where a run cannot be finished, Solve returns it as far as it got together
// with an [Interrupted]; a mistaken call returns a nil run and an error that
// names the argument.
func Solve(s System, y []float64, from, to float64, o Options) (*Run, error) {
	if s == nil {
		return nil, fmt.Errorf("motion: no system given: make one with motion.Of or lagrange")
	}
	if err := o.check(s, y, from, to); err != nil {
		return nil, err
	}
	run, err := integrate(s, y, from, to, &o)
	if run == nil {
		return nil, err
	}
	return run, err
}

// integrate makes one run.
func integrate(s System, y []float64, from, to float64, o *Options) (*Run, error) {
	j, err := newJourney(s, y, from, to, o)
	if err != nil {
		return nil, err
	}
	if from != to {
		err = j.drive()
	}
	j.finish()
	return j.run, err
}

// newJourney prepares an integration.
func newJourney(s System, y []float64, from, to float64, o *Options) (*journey, error) {
	j := &journey{system: s, options: o, to: to, budget: o.Budget, lastCut: from}
	if j.budget == 0 {
		j.budget = DefaultBudget
	}
	var err error
	if j.relative, j.absolute, err = o.tolerances(s.Dim()); err != nil {
		return nil, err
	}
	if len(o.Events) > 0 {
		for i := range j.relative {
			j.relative[i] = math.Min(j.relative[i], EventTolerance)
			j.absolute[i] = math.Min(j.absolute[i], EventTolerance)
		}
	}
	j.run = &Run{Switched: math.NaN(), Error: math.NaN(), EnergyDrift: math.NaN(), ConstraintDrift: math.NaN(), at: -1}
	method := o.Method
	if method == Auto {
		method = DormandPrince8
	}
	if err := j.take(method); err != nil {
		return nil, err
	}
	j.energy = newGauge(s, o)
	j.energy.begin(from, y)
	j.knot(from, y)
	j.stepper.begin(from, y)
	tolerance := 0.0
	for i := range j.relative {
		tolerance = math.Max(tolerance, math.Max(j.relative[i], j.absolute[i]))
	}
	for i := range o.Events {
		j.watchers = append(j.watchers, newWatcher(&o.Events[i], i, s.Dim(), tolerance))
	}
	j.rewatch(from, y)
	return j, nil
}

// take makes the stepper of a method the journey's.
func (j *journey) take(m Method) error {
	st, err := newStepper(m, j.system, j.options, j.relative, j.absolute)
	if err != nil {
		return err
	}
	j.stepper, j.method = st, m
	return nil
}

// newStepper returns the stepper of a method for a system.
func newStepper(m Method, s System, o *Options, relative, absolute []float64) (stepper, error) {
	switch m {
	case DormandPrince8:
		return newDop853(s, relative, absolute), nil
	}
	return nil, fmt.Errorf("motion: %v cannot integrate this system", m)
}

// finish completes the run's figures.
func (j *journey) finish() {
	r := j.run
	evaluations, jacobians := j.stepper.count()
	r.Method = j.method
	r.Evaluations, r.Jacobians = j.spent+evaluations, j.jacobians+jacobians
	r.EnergyDrift, r.ConstraintDrift = j.energy.drift, j.energy.breach
	if !j.options.EndOnly {
		first := j.options.Method
		if first == Auto {
			first = DormandPrince8
		}
		r.marks = append([]restart{{step: 0, method: first}}, r.marks...)
		s, o, relative, absolute := j.system, *j.options, j.relative, j.absolute
		r.reopen = func(m Method) (stepper, error) { return newStepper(m, s, &o, relative, absolute) }
	}
}
