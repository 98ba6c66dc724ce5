package motion

import (
	"fmt"
	"math"

	"counterpoise/mechanics/halt"
)

// A stepper advances a state by one step at a time. Its begin, attempt and
// accept allocate nothing.
type stepper interface {
	begin(t float64, y []float64)        // the state from which the next step starts; y is copied
	attempt(h float64) (err2 float64)    // tries a step; the squared scaled error, at most 1 to be acceptable
	accept(t float64)                    // takes the step last attempted, which ends at t
	state() (t float64, y []float64)     // now
	previous() (t float64, y []float64)  // before the step last accepted
	count() (evaluations, jacobians int) // since the stepper was made
	firstStep(span float64) float64      // a guess, with the sign of span
	next(err2 float64) float64           // the factor of the step after an accepted one
	retry(err2 float64) float64          // the factor of the step after a refused one
	order() int                          // the error of the whole run goes with this power of the step
}

// A denser knows the motion inside the step last accepted.
type denser interface {
	dense(p *polynomial)
}

// A journey is one integration under way.
type journey struct {
	system  System
	options *Options
	run     *Run
	to      float64

	relative, absolute []float64
	stepper            stepper
	method             Method
	watchers           []*watcher
	poly               polynomial
	energy             *gauge
	budget             int
	spent, jacobians   int     // by steppers of the past
	suspicions, calm   int     // of stiffness, and harmless looks since
	pace               float64 // s, the step to go on with
	lastCut            float64 // s, of the last event that changed the state
	limit              float64 // s, of the first step after it
	cuts               int     // of those, since time last moved on
	flat               []float64
	ends               []float64 // of all steps, the start first
}

// drive integrates with step control from the journey's state to its end.
func (j *journey) drive() error {
	st := j.stepper
	t, y := st.state()
	h := j.pace
	if h == 0 {
		h = j.options.FirstStep
	}
	if h == 0 {
		h = math.Abs(st.firstStep(j.to - t))
	}
	forward := math.Copysign(1, j.to-t)
	unfinite := false // the last attempt was not a number
	for steps := 0; t != j.to; steps++ {
		if err := j.interrupted(steps); err != nil {
			return j.stop(t, -1, err, "")
		}
		if evaluations, _ := st.count(); j.spent+evaluations > j.budget {
			return j.stop(t, -1, ErrBudget, fmt.Sprintf("%d evaluations took the run %.3g of the way: loosen the tolerance, shorten the run, or raise Budget", j.budget, (t-j.run.T[0])/(j.to-j.run.T[0])))
		}
		if j.options.LargestStep > 0 {
			h = math.Min(h, j.options.LargestStep)
		}
		if j.limit > 0 {
			h = math.Min(h, j.limit)
		}
		end := j.to
		if math.Abs(j.to-t) > 1.01*h {
			if end = t + forward*h; math.Abs(end-t) <= collapsed(t) {
				return j.collapse(t, y, unfinite)
			}
		}
		err2 := st.attempt(end - t)
		if !(err2 <= 1) {
			j.run.Rejected++
			unfinite = math.IsNaN(err2) || math.IsInf(err2, 1)
			h = math.Abs(end-t) * st.retry(err2)
			if h <= collapsed(t) {
				return j.collapse(t, y, unfinite)
			}
			continue
		}
		st.accept(end)
		planned := h
		if h = math.Abs(end-t) * st.next(err2); end == j.to && h < planned {
			j.pace = planned // the step was cut short only to end here
		} else {
			j.pace = h
		}
		unfinite = false
		j.limit = 0
		done, err := j.arrive()
		if err != nil || done {
			return err
		}
		if j.stiff() {
			if err := j.goOver(); err != nil {
				return err
			}
			if st = j.stepper; h > math.Abs(j.to-end)/4 {
				h = math.Abs(j.to-end) / 4
			}
		}
		t, y = st.state()
	}
	return nil
}

// march integrates over the given ends of steps, without step control. Where
// an event has changed the state between two of them, the next step is the
// shorter for it.
func (j *journey) march(m mesh) error {
	st := j.stepper
	for steps := range m.n {
		end := m.end(steps)
		for t, _ := st.state(); t != end; t, _ = st.state() {
			if err := j.interrupted(j.run.Steps); err != nil {
				return j.stop(t, -1, err, "")
			}
			if evaluations, _ := st.count(); j.spent+evaluations > j.budget {
				return j.stop(t, -1, ErrBudget, fmt.Sprintf("%d evaluations took the run %.3g of the way: take a larger step, shorten the run, or raise Budget", j.budget, (t-j.run.T[0])/(j.to-j.run.T[0])))
			}
			err2 := st.attempt(end - t)
			if math.IsNaN(err2) || math.IsInf(err2, 0) {
				_, y := st.state()
				return j.blowUp(t, end-t, y)
			}
			st.accept(end)
			if done, err := j.arrive(); err != nil || done {
				return err
			}
		}
	}
	return nil
}

// blowUp explains a fixed step that led nowhere.
func (j *journey) blowUp(t, h float64, y []float64) error {
	err := j.collapse(t, y, true).(*Interrupted)
	if err.Component < 0 {
		err.Remedy = fmt.Sprintf("the step of %.3g s is too large for this motion: take a smaller one", math.Abs(h))
	}
	return err
}

// collapsed is the step at t below which time no longer moves on.
func collapsed(t float64) float64 {
	return 4 * (math.Nextafter(math.Abs(t), math.Inf(1)) - math.Abs(t))
}

// interrupted looks at the stop flag at every step and at the context at every
// 64th.
func (j *journey) interrupted(steps int) error {
	if halt.Now() {
		return halt.ErrHalted
	}
	if steps&63 == 0 && j.options.Context != nil {
		return j.options.Context.Err()
	}
	return nil
}

func (j *journey) stop(t float64, component int, cause error, remedy string) error {
	return &Interrupted{T: t, Component: component, Cause: cause, Remedy: remedy}
}

// collapse tells a motion that runs away from one that is not defined.
func (j *journey) collapse(t float64, y []float64, unfinite bool) error {
	if !unfinite {
		return j.stop(t, -1, ErrCollapsed, "the motion may have a singularity here (a collision, a jump of a force): end the run before it or catch it with an event")
	}
	rates := make([]float64, len(y))
	j.system.Rates(rates, t, y)
	for i, v := range rates {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return j.stop(t, i, ErrNonFinite, fmt.Sprintf("its rate is %g where the component is %g: check the formula there (a division by zero, a root of a negative number)", v, y[i]))
		}
	}
	return j.stop(t, -1, ErrNonFinite, "the rates are not finite just ahead: end the run before that or catch it with an event")
}

// arrive books the step just accepted: conserved quantities, events, knots. It
// reports whether an event ends the run.
func (j *journey) arrive() (done bool, err error) {
	j.run.Steps++
	t, y := j.stepper.state()
	if len(j.watchers) > 0 {
		return j.happenings(t, y)
	}
	j.knot(t, y)
	return false, nil
}

// knot keeps the state at the end of a step.
func (j *journey) knot(t float64, y []float64) {
	j.energy.look(t, y)
	r := j.run
	if !j.options.Unchecked || j.options.Accuracy > 0 {
		j.ends = append(j.ends, t)
	}
	if j.options.EndOnly && len(r.T) == 2 {
		r.T[1] = t
		copy(r.Y[1], y)
		return
	}
	n := len(y)
	if len(j.flat) < n {
		j.flat = make([]float64, n*min(1024, 16+len(r.T)))
	}
	kept := j.flat[:n:n]
	j.flat = j.flat[n:]
	copy(kept, y)
	r.T, r.Y = append(r.T, t), append(r.Y, kept)
}
