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
	if o.Accuracy > 0 {
		run, err := accurately(s, y, from, to, &o)
		return run, err
	}
	j, err := newJourney(s, y, from, to, &o)
	if err != nil {
		return nil, err
	}
	if from != to {
		err = j.travel(from)
	}
	j.finish()
	if err == nil && !o.Unchecked {
		err = j.check()
	}
	return j.run, err
}

// integrate makes one run without a check.
func integrate(s System, y []float64, from, to float64, o *Options) (*Run, error) {
	j, err := newJourney(s, y, from, to, o)
	if err != nil {
		return nil, err
	}
	if from != to {
		err = j.travel(from)
	}
	j.finish()
	return j.run, err
}

// travel integrates the way that the method asks.
func (j *journey) travel(from float64) error {
	if j.method.fixed() {
		return j.march(uniformMesh(from, j.to, j.options.Step))
	}
	return j.drive()
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
	if o.looser > 0 {
		for i := range j.relative {
			j.relative[i] *= o.looser
			j.absolute[i] *= o.looser
		}
	}
	j.run = &Run{Switched: math.NaN(), Error: math.NaN(), EnergyDrift: math.NaN(), ConstraintDrift: math.NaN(), at: -1}
	first := firstMethod(s, o)
	if err := j.take(first); err != nil {
		return nil, err
	}
	if _, ok := j.stepper.(denser); !ok && len(o.Events) > 0 {
		return nil, fmt.Errorf("motion: %v cannot look for events: leave the method to the run, or choose DormandPrince8", first)
	}
	j.run.marks = []restart{{method: first}}
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

// firstMethod is the method with which a run starts.
func firstMethod(s System, o *Options) Method {
	if o.Method != Auto {
		return o.Method
	}
	if _, ok := asAccelerator(s); ok && len(o.Events) == 0 {
		return Nystrom12
	}
	if len(o.Events) == 0 {
		return Verner9
	}
	return DormandPrince8
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
	case Verner9:
		return newVerner9(s, relative, absolute), nil
	case DormandPrince5:
		return newDopri5(s, relative, absolute), nil
	case Nystrom12:
		if f, ok := asAccelerator(s); ok {
			return newNystrom12(s, f, relative, absolute), nil
		}
		return nil, fmt.Errorf("motion: %v needs accelerations that do not depend on velocities: make the system with motion.Newton, or choose DormandPrince8", m)
	case Radau:
		jacobian := o.Jacobian
		if j, ok := s.(Jacobian); ok && jacobian == nil {
			jacobian = j.Jacobian
		}
		return newRadau(s, jacobian, relative, absolute), nil
	case Taylor:
		if f, ok := asSeries(s); ok {
			return newTaylor(s, f, relative, absolute)
		}
		return nil, fmt.Errorf("motion: %v needs the series of the right-hand side: make the system with motion.FromExpressions or lagrange, or choose DormandPrince8", m)
	case Gauss4:
		return newGauss(s, 2), nil
	case Gauss6:
		return newGauss(s, 3), nil
	case RungeKutta4:
		return newRK4(s), nil
	case Euler:
		return &euler{newUniform(s, 1)}, nil
	case SymplecticEuler, Verlet, BlanesMoan4, KahanLi6, KahanLi8:
		if p := newSplitting(m, s); p != nil {
			return p, nil
		}
		return nil, fmt.Errorf("motion: %v needs a separable system: make it with motion.Newton or motion.Hamilton, or choose Gauss4", m)
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
		s, o, relative, absolute := j.system, *j.options, j.relative, j.absolute
		r.reopen = func(m Method) (stepper, error) { return newStepper(m, s, &o, relative, absolute) }
	}
}
