package motion

import "fmt"

// A stiffnessTester can tell that stability, not accuracy, seems to have bounded
// the step last accepted.
type stiffnessTester interface {
	strained() bool
}

// stiff reports whether an automatic run has seen enough of a problem to call
// it stiff: fifteen looks at the stability limit; four harmless looks in a row
// clear the suspicion.
//
// Source: Hairer and Wanner II, section IV.2, "Automatic Stiffness Detection".
func (j *journey) stiff() bool {
	tester, ok := j.stepper.(stiffnessTester)
	if !ok || (j.suspicions == 0 && j.run.Steps%20 != 0) {
		return false
	}
	if tester.strained() {
		j.suspicions, j.calm = j.suspicions+1, 0
		return j.suspicions >= 15
	}
	if j.calm++; j.calm >= 4 {
		j.suspicions = 0
	}
	return false
}

// goOver changes to the implicit method where the method was left to the run,
// and warns where it was not.
func (j *journey) goOver() error {
	t, y := j.stepper.state()
	j.suspicions = 0
	if j.options.Method != Auto {
		if len(j.run.Warnings) == 0 {
			j.run.Warnings = append(j.run.Warnings, fmt.Sprintf("stiff from about t = %.4g s: %v takes its steps at the limit of stability; Auto or Radau would be faster and safer", t, j.method))
		}
		return nil
	}
	evaluations, jacobians := j.stepper.count()
	j.spent += evaluations
	j.jacobians += jacobians
	state := append([]float64(nil), y...)
	if err := j.take(Radau); err != nil {
		return err
	}
	j.stepper.begin(t, state)
	j.run.Switched = t
	j.mark(nil)
	return nil
}
