package equal

import (
	"math"

	"counterpoise/mechanics/expr"
)

// A Reckoner computes the values of one expression to about twelve figures,
// also where float64 would lose them to cancellation, as in 1 - cos x for a
// small x. It is not safe for concurrent use.
type Reckoner struct {
	p      *program
	values []float64
	floats []approximation
	balls  []ball
}

// NewReckoner returns a reckoner for an expression.
func NewReckoner(e expr.Expr) *Reckoner {
	p := compile(e)
	return &Reckoner{p: p, values: make([]float64, len(p.symbols)), floats: make([]approximation, len(p.steps))}
}

// accurate is the relative error up to which a float64 result is good enough:
// far below the millionths to which values are compared elsewhere.
const accurate = 1e-12

// Value returns the value where each symbol has the value that of returns. It
// is NaN where there is none, or where it cannot be told within the bounds of
// this package. A value that is not told from zero in numbers of thousands of
// bits is 0.
func (r *Reckoner) Value(of func(symbol string) float64) float64 {
	for i, name := range r.p.symbols {
		if r.values[i] = of(name); math.IsNaN(r.values[i]) || math.IsInf(r.values[i], 0) {
			return math.NaN()
		}
	}
	r.p.evalFloat(r.values, r.floats)
	v := r.floats[r.p.outputs[0]]
	switch {
	case v.s == undefined:
		return math.NaN()
	case v.s == fine && v.e <= accurate*math.Abs(v.v):
		return v.v
	case len(r.p.steps) > maxSteps:
		return v.v
	}
	return r.long(v)
}

// long computes the value in longer and longer numbers.
func (r *Reckoner) long(v approximation) float64 {
	if r.balls == nil {
		r.balls = make([]ball, len(r.p.steps))
	}
	var before magnitude // the bound of the last attempt
	if v.s == fine {
		before = newMagnitude(v.e)
	}
	for _, p := range precisions {
		b := bench{p: p}
		r.p.evalBall(r.values, b, r.balls)
		x := r.balls[r.p.outputs[0]]
		const sharp = -44 // bits: 6e-14 of the value
		switch {
		case x.s == undefined:
			return math.NaN()
		case x.s == unclear:
			continue
		case x.rad.isZero() || x.rad.less(magnitudeOf(x.mid).times(power2(sharp))):
			out, _ := x.mid.Float64()
			return out
		case x.low().isZero() && !before.isZero() && x.rad.less(before.times(power2(-60))):
			return 0
		}
		before = x.rad
	}
	return math.NaN()
}
