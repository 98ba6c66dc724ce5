package motion

import (
	"fmt"
	"math"
)

// happenings finds the events of the step just accepted. If one of them ends
// the run or changes the state, the step is cut there.
func (j *journey) happenings(t float64, y []float64) (done bool, err error) {
	j.stepper.(denser).dense(&j.poly)
	cut := 2.0 // part of the step at which something ends it
	var by *watcher
	var at zero
	for _, w := range j.watchers {
		w.scan(&j.poly, t, y)
		seen := w.seen
		for _, z := range w.zeros {
			if !w.wanted(z) {
				continue
			}
			seen++
			ends := w.event.Stop && seen >= max(1, w.event.StopAt)
			if (ends || w.event.Then != nil) && z.theta < cut {
				cut, by, at = z.theta, w, z
			}
			if ends || w.event.Then != nil {
				break
			}
		}
	}
	if err := j.record(cut); err != nil {
		return false, err
	}
	if by == nil {
		j.knot(t, y)
		return false, nil
	}
	return j.cutStep(by, at)
}

// record books the zeros up to the part cut of the step, in order of time.
func (j *journey) record(cut float64) error {
	first := len(j.run.Events)
	for _, w := range j.watchers {
		for _, z := range w.zeros {
			if z.theta > cut {
				break
			}
			if !w.wanted(z) {
				continue
			}
			w.seen++
			y := make([]float64, j.poly.n)
			j.poly.at(y, z.theta)
			j.run.Events = append(j.run.Events, Occurrence{Event: w.index, Name: w.event.Name, T: j.poly.t + z.theta*j.poly.h, Y: y, Direction: z.direction})
		}
	}
	// insertion sort: a step rarely holds more than two events
	ev := j.run.Events
	for i := first + 1; i < len(ev); i++ {
		for k := i; k > first && (ev[k].T-ev[k-1].T)*j.poly.h < 0; k-- {
			ev[k], ev[k-1] = ev[k-1], ev[k]
		}
	}
	if len(ev) > maxOccurrences {
		return j.stop(ev[len(ev)-1].T, -1, ErrCrowded, "a motion that comes to rest by ever smaller bounces has no end: stop it by an event of its own")
	}
	return nil
}

// cutStep ends the step last accepted at the zero z of w, and the run or the
// state's continuity with it.
func (j *journey) cutStep(w *watcher, z zero) (done bool, err error) {
	st := j.stepper
	t0, y0 := st.previous()
	t := j.poly.t + z.theta*j.poly.h
	y := make([]float64, j.poly.n)
	copy(y, y0)
	if t != t0 {
		// the step again, only shorter: the state there is as good as any other
		st.begin(t0, y)
		st.attempt(t - t0)
		st.accept(t)
		_, now := st.state()
		copy(y, now)
		j.knot(t, y)
	}
	if w.event.Then != nil {
		w.event.Then(t, y)
		for i, v := range y {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				return false, j.stop(t, i, ErrNonFinite, fmt.Sprintf("event %q left %g there: check its function Then", w.event.Name, v))
			}
		}
		// what comes next may be as short as what came last
		j.limit = 4 * math.Abs(t-j.lastCut)
		if math.Abs(t-j.lastCut) > crowded*(math.Abs(t)+math.Abs(j.poly.h)) {
			j.cuts = 0
		}
		if j.lastCut, j.cuts = t, j.cuts+1; j.cuts > 20 {
			return false, j.stop(t, -1, ErrCrowded, fmt.Sprintf("event %q follows itself at once (a ball at rest on the floor): stop the run there, or let Then bring the motion to rest", w.event.Name))
		}
	}
	if w.event.Stop && w.seen >= max(1, w.event.StopAt) {
		if w.event.Then != nil {
			j.mark(y)
		}
		return true, nil
	}
	if w.event.Then != nil {
		j.mark(y)
	}
	st.begin(t, y)
	j.rewatch(t, y)
	return false, nil
}

// crowded is the part of the time, or of a step, within which twenty events
// that change the state count as an accumulation.
const crowded = 1e-12

// rewatch starts all watchers at a state.
func (j *journey) rewatch(t float64, y []float64) {
	if len(j.watchers) == 0 {
		return
	}
	rates := make([]float64, len(y))
	j.system.Rates(rates, t, y)
	for _, w := range j.watchers {
		scale := 1.0
		if w.f.size > 0 {
			scale = w.f.size
		}
		w.restart(t, y, rates, math.Copysign(1, j.to-t), scale)
	}
}

// mark notes that the steps from here on start from the state y.
func (j *journey) mark(y []float64) {
	m := restart{step: len(j.run.T) - 1, method: j.method}
	if y != nil {
		m.y = append([]float64(nil), y...)
	}
	j.run.marks = append(j.run.marks, m)
}
