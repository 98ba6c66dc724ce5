package motion

import (
	"errors"
	"math"
)

// ErrAccuracy is wrapped by the error of a run that could not reach the
// accuracy asked for.
var ErrAccuracy = errors.New("the accuracy asked for is out of reach")

// contrast is how many times smaller the error of a checking run is made than
// that of the run it checks, so that their difference is the latter's error;
// stride is how many times smaller the first refinement on the way to an accuracy
// makes it, notch the same where rounding may matter and where a tolerance is
// tightened instead of a mesh refined.
const (
	contrast = 10
	stride   = 60
	notch    = 16
)

// confused is the difference of two runs, relative to 1 + |y|, above which the
// error no longer follows the power law of small errors.
const confused = 0.05

// refinement returns the ratio of the numbers of steps at which the errors of
// a method of order p differ by the factor, at most 2.
func refinement(factor float64, p int) float64 {
	return math.Min(2, math.Pow(factor, 1/float64(p)))
}

// apart returns the largest |a-b|/(1+|b|).
func apart(a, b []float64) float64 {
	worst := 0.0
	for i, v := range a {
		if d := math.Abs(v-b[i]) / (1 + math.Abs(b[i])); !(d <= worst) {
			worst = d
		}
	}
	return worst
}

// byMesh reports whether the run's error may be found from a run over a mesh
// of the same shape: not where an event changed the state or ended the run,
// and not for the implicit method, whose order depends on stiffness.
func (j *journey) byMesh() bool {
	for _, e := range j.options.Events {
		if e.Then != nil || e.Stop {
			return false
		}
	}
	return j.method != Radau && len(j.run.marks) == 1
}

// check estimates the error of the journey's finished run by a finer one.
func (j *journey) check() error {
	if len(j.ends) < 2 {
		j.run.Error, j.run.Errors = 0, make([]float64, j.system.Dim())
		return nil
	}
	o := *j.options
	o.EndOnly, o.Energy, o.Unchecked = true, nil, true
	const tighter = 30
	law := tighter / 3.0 // of tolerances: the error goes with a power 0.7 to 1
	var better *Run
	var err error
	if j.byMesh() {
		o.Events = nil
		n, p := len(j.ends)-1, j.stepper.order()
		finer := int(math.Ceil(float64(n) * refinement(contrast, p)))
		law = math.Pow(float64(finer)/float64(n), float64(p))
		better, err = along(j.system, j.run.Y[0], &o, j.method, similar(j.ends, finer))
	} else {
		o.looser = 1.0 / tighter
		better, err = integrate(j.system, j.run.Y[0], j.run.T[0], j.to, &o)
	}
	if better != nil {
		j.run.Evaluations += better.Evaluations
		j.run.Jacobians += better.Jacobians
	}
	if err != nil {
		return err
	}
	j.run.setErrors(better.End(), 1-1/law)
	if j.run.Error > confused {
		j.run.Warnings = append(j.run.Warnings, "the motion is so sensitive, or the tolerance so coarse, that the end state means little: tighten the tolerance or ask for an Accuracy")
	}
	return nil
}

// setErrors sets the estimated errors of r to part of its distance from another
// end state.
func (r *Run) setErrors(other []float64, part float64) {
	y := r.End()
	r.Errors = make([]float64, len(y))
	r.Error = 0
	for i := range y {
		r.Errors[i] = math.Abs(other[i]-y[i]) / part
		r.Error = math.Max(r.Error, r.Errors[i]/(1+math.Abs(y[i])))
	}
}
