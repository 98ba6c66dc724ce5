package motion

import "math"

// explicit is what the explicit one-step methods have in common: the state,
// its rates, their predecessors, and the compensated sum of the steps.
//
// The slices of rates change places at every step (k1 are the rates at y), so
// nothing is copied and the last step's data stay for its dense output.
type explicit struct {
	system             System
	n                  int
	relative, absolute []float64
	control            controller

	t, tPrev, h     float64
	y, yPrev, after []float64
	k1, kPrev       []float64
	w               []float64 // a stage's argument
	carry, left     []float64 // what rounding lost of the sum, before and after the step
	evaluations     int
}

func newExplicit(s System, relative, absolute []float64) explicit {
	n := s.Dim()
	e := explicit{system: s, n: n, relative: relative, absolute: absolute}
	vectors(n, &e.y, &e.yPrev, &e.after, &e.k1, &e.kPrev, &e.w, &e.carry, &e.left)
	return e
}

// vectors makes vectors of n components, side by side in one piece of memory.
func vectors(n int, made ...*[]float64) {
	all := make([]float64, n*len(made))
	for i, v := range made {
		*v = all[i*n : (i+1)*n : (i+1)*n]
	}
}

// add returns the sum of y and d and the part of d that rounding lost, for
// |d| <= |y| (otherwise a little of it).
func add(y, d float64) (sum, lost float64) {
	sum = y + d
	return sum, d - (sum - y)
}

// begin sets the state from which the next attempt starts.
func (e *explicit) begin(t float64, y []float64) {
	e.t, e.tPrev, e.h = t, t, 0
	copy(e.y, y)
	clear(e.carry)
	e.system.Rates(e.k1, t, e.y)
	e.evaluations++
	e.control.reset()
}

// accept takes the step last attempted.
func (e *explicit) accept(t float64) {
	e.y, e.yPrev, e.after = e.after, e.y, e.yPrev
	e.carry, e.left = e.left, e.carry
	e.k1, e.kPrev = e.kPrev, e.k1
	e.tPrev = e.t
	e.t = t
	e.system.Rates(e.k1, e.t, e.y)
	e.evaluations++
}

func (e *explicit) state() (float64, []float64)    { return e.t, e.y }
func (e *explicit) previous() (float64, []float64) { return e.tPrev, e.yPrev }
func (e *explicit) count() (rates, jacobians int)  { return e.evaluations, 0 }
func (e *explicit) next(err2 float64) float64      { return e.control.accepted(err2) }
func (e *explicit) retry(err2 float64) float64     { return e.control.rejected(err2) }
func (e *explicit) order() int                     { return e.control.order }

// stretch returns |h| times an estimate of the largest eigenvalue of the
// Jacobian along the step last accepted, for methods whose last stage lies at
// the step's end: its argument is still in w, its rates are given.
//
// Source: Hairer and Wanner II, section IV.2, "Automatic Stiffness Detection".
func (e *explicit) stretch(rates []float64) float64 {
	n := e.n
	y, w, fresh := e.y[:n], e.w[:n], e.k1[:n]
	up, down := 0.0, 0.0
	for i := range y {
		// in units of the tolerance, so that a small stiff component shows
		q := 1 / (e.absolute[i] + e.relative[i]*math.Abs(y[i]))
		a, b := q*(fresh[i]-rates[i]), q*(y[i]-w[i])
		up += a * a
		down += b * b
	}
	if down == 0 {
		return 0
	}
	return math.Abs(e.h) * math.Sqrt(up/down)
}

// scaled returns the root mean square of v over the tolerances at y.
func (e *explicit) scaled(v, y []float64) float64 {
	sum := 0.0
	for i := range v {
		q := v[i] / (e.absolute[i] + e.relative[i]*math.Abs(y[i]))
		sum += q * q
	}
	return math.Sqrt(sum / float64(len(v)))
}

// firstStep guesses a step for a method of the given order from two rates.
//
// Source: Hairer, Nørsett and Wanner I, section II.4, "Starting Step Size".
func (e *explicit) firstStep(span float64) float64 {
	size, speed := e.scaled(e.y, e.y), e.scaled(e.k1, e.y)
	h := 1e-6
	if size >= 1e-10 && speed >= 1e-10 {
		h = 0.01 * size / speed
	}
	h = math.Min(h, math.Abs(span))
	signed := math.Copysign(h, span)
	for i := range e.w {
		e.after[i] = e.y[i] + signed*e.k1[i]
	}
	e.system.Rates(e.w, e.t+signed, e.after)
	e.evaluations++
	for i := range e.w {
		e.w[i] -= e.k1[i]
	}
	bend := e.scaled(e.w, e.y) / h
	big := math.Max(speed, bend)
	second := math.Max(1e-6, h*1e-3)
	if big > 1e-15 {
		second = math.Pow(0.01/big, 1/float64(e.control.order))
	}
	if h = math.Min(100*h, second); !(h > 0) { // rates that are not finite are told by the first attempt
		h = 1e-6
	}
	return math.Copysign(math.Min(h, math.Abs(span)), span)
}
