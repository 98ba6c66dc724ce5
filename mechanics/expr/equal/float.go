package equal

import (
	"math"

	"counterpoise/mechanics/expr"
)

const (
	unit = 1.0 / (1 << 53) // largest relative error of one float64 operation
	tiny = 5e-324          // and the absolute one where results underflow
)

// Relative errors of package math's functions, in units of the last place.
// Common practice, no source: they are within 2 on every argument that
// TestFloatFunctions tries; twice that is allowed for here.
const (
	ulpsElementary = 4
	ulpsInverse    = 8
)

// A state says whether a value exists.
type state uint8

const (
	fine      state = iota // there is a value, within the bound
	unclear                // this precision does not tell
	undefined              // there is none: proved
)

// An approximation is a float64 with a bound on its error.
type approximation struct {
	v, e float64
	s    state
}

var noValue = approximation{s: undefined}
var noIdea = approximation{s: unclear}

// checked turns what is not finite into unclear.
func (a approximation) checked() approximation {
	if a.s == fine && !(a.e < math.MaxFloat64 && math.Abs(a.v) < math.MaxFloat64) {
		return noIdea
	}
	return a
}

// evalFloat runs the program in float64. values belong to p.symbols; out has
// one place for each step.
func (p *program) evalFloat(values []float64, out []approximation) {
	for i := range p.steps {
		s := &p.steps[i]
		switch s.op {
		case opNumber:
			out[i] = approximation{v: s.value, e: s.slack}
			if s.exact == nil {
				out[i] = noValue
			}
		case opPi:
			out[i] = approximation{v: math.Pi, e: math.Pi * unit}
		case opSymbol:
			out[i] = approximation{v: values[s.whole]}
		case opSum:
			out[i] = sumFloat(s.args, out)
		case opProduct:
			r := out[s.args[0]]
			for _, k := range s.args[1:] {
				r = r.times(out[k])
			}
			out[i] = r.checked()
		case opWhole:
			out[i] = out[s.args[0]].whole(s.whole).checked()
		case opRoot:
			out[i] = out[s.args[0]].root()
		case opPower:
			out[i] = powerFloat(out[s.args[0]], out[s.args[1]]).checked()
		case opCall:
			out[i] = callFloat(s, out).checked()
		}
	}
}

func sumFloat(args []int, out []approximation) approximation {
	var r approximation
	for _, k := range args {
		a := out[k]
		r.s = max(r.s, a.s)
		r.v += a.v
		r.e += a.e + math.Abs(r.v)*unit
	}
	return r.checked()
}

func (a approximation) times(b approximation) approximation {
	v := a.v * b.v
	return approximation{
		v: v,
		e: math.Abs(a.v)*b.e + math.Abs(b.v)*a.e + a.e*b.e + math.Abs(v)*unit + tiny,
		s: max(a.s, b.s),
	}
}

func (a approximation) inverse() approximation {
	if a.s != fine {
		return a
	}
	m := math.Abs(a.v)
	if m <= a.e {
		if m == 0 && a.e == 0 {
			return noValue
		}
		return noIdea
	}
	v := 1 / a.v
	return approximation{v: v, e: a.e/(m*(m-a.e))*(1+4*unit) + math.Abs(v)*unit + tiny}
}

// whole is a to the power n.
func (a approximation) whole(n int) approximation {
	if n < 0 {
		return a.inverse().whole(-n)
	}
	if n == 2 {
		return a.times(a)
	}
	r := approximation{v: 1}
	for b := a; n > 0; n >>= 1 {
		if n&1 != 0 {
			r = r.times(b)
		}
		if n > 1 {
			b = b.times(b)
		}
	}
	return r
}

func (a approximation) root() approximation {
	if a.s != fine {
		return a
	}
	switch {
	case a.v+a.e < 0:
		return noValue
	case a.v <= a.e: // perhaps negative, perhaps zero
		if a.v == 0 && a.e == 0 {
			return approximation{}
		}
		return noIdea
	}
	v := math.Sqrt(a.v)
	return approximation{v: v, e: a.e/v*(1+4*unit) + v*unit}
}

func (a approximation) exp() approximation {
	if a.s != fine {
		return a
	}
	v := math.Exp(a.v)
	return approximation{v: v, e: v*(math.Expm1(a.e)*(1+8*unit)+ulpsElementary*2*unit) + tiny}
}

func (a approximation) log() approximation {
	if a.s != fine {
		return a
	}
	switch {
	case a.v+a.e <= 0:
		return noValue
	case a.v <= a.e:
		return noIdea
	}
	v := math.Log(a.v)
	return approximation{v: v, e: a.e/(a.v-a.e)*(1+4*unit) + math.Abs(v)*ulpsElementary*2*unit + tiny}
}

// powerFloat is b to a power that is neither whole nor half of a whole number.
func powerFloat(b, x approximation) approximation {
	if b.s != fine || x.s != fine {
		return approximation{s: max(b.s, x.s)}
	}
	if b.v == 0 && b.e == 0 {
		switch {
		case x.v > x.e:
			return approximation{}
		case x.v < -x.e:
			return noValue
		}
		return noIdea
	}
	if b.v < -b.e && x.e == 0 && x.v == math.Trunc(x.v) && math.Abs(x.v) < 1<<20 {
		return b.whole(int(x.v))
	}
	l := b.log()
	if l.s == undefined && x.e != 0 {
		return noIdea // a negative base to what may be a whole number
	}
	return l.times(x).exp()
}

// bounded is a value of a function whose slope is at most slope, with the error
// of package math.
func bounded(v, slope, e, ulps float64) approximation {
	return approximation{v: v, e: slope*e*(1+4*unit) + (math.Abs(v)*ulps*2+1)*unit}
}

// wave is the sine or cosine; of an angle that is not known to a turn it is
// only known to lie between -1 and 1.
func (a approximation) wave(f func(float64) float64) approximation {
	if a.e >= 1 {
		return approximation{e: 1}
	}
	return bounded(f(a.v), 1, a.e, ulpsElementary)
}

func callFloat(s *step, out []approximation) approximation {
	a := out[s.args[0]]
	switch s.fn {
	case expr.FnMin, expr.FnMax:
		return extremeFloat(s, out)
	case expr.FnIfLess, expr.FnIfLessEqual:
		return casesFloat(s, out)
	case expr.FnAtan2:
		return atan2Float(a, out[s.args[1]])
	}
	if a.s != fine {
		return a
	}
	switch s.fn {
	case expr.FnSin:
		return a.wave(math.Sin)
	case expr.FnCos:
		return a.wave(math.Cos)
	case expr.FnTan:
		return a.wave(math.Sin).times(a.wave(math.Cos).inverse())
	case expr.FnAsin:
		return asinFloat(a)
	case expr.FnAcos:
		r := asinFloat(a)
		if r.s == fine {
			r.v = math.Acos(a.v)
			r.e += 2 * ulpsInverse * unit
		}
		return r
	case expr.FnAtan:
		m := max(0, math.Abs(a.v)-a.e)
		return bounded(math.Atan(a.v), 1/(1+m*m), a.e, ulpsInverse)
	case expr.FnSinh:
		return bounded(math.Sinh(a.v), math.Cosh(math.Abs(a.v)+a.e)*(1+1e-14), a.e, ulpsInverse)
	case expr.FnCosh:
		return bounded(math.Cosh(a.v), math.Cosh(math.Abs(a.v)+a.e)*(1+1e-14), a.e, ulpsInverse)
	case expr.FnTanh:
		return bounded(math.Tanh(a.v), 1, a.e, ulpsInverse)
	case expr.FnExp:
		return a.exp()
	case expr.FnLog:
		return a.log()
	case expr.FnAbs:
		a.v = math.Abs(a.v)
		return a
	case expr.FnSign:
		return signFloat(a)
	}
	return noIdea
}

func signFloat(a approximation) approximation {
	switch {
	case a.v > a.e:
		return approximation{v: 1}
	case a.v < -a.e:
		return approximation{v: -1}
	case a.v == 0 && a.e == 0:
		return approximation{}
	}
	return noIdea
}

func asinFloat(a approximation) approximation {
	m := math.Abs(a.v)
	if m-a.e > 1 {
		return noValue
	}
	if a.e == 0 && m == 1 {
		return bounded(math.Asin(a.v), 0, 0, ulpsInverse)
	}
	far := m + a.e
	if far >= 1 {
		return noIdea
	}
	slope := 1 / math.Sqrt((1-far)*(1+far))
	// asin is computed from √(1-x²), which loses near 1.
	return bounded(math.Asin(a.v), slope*(1+8*unit), a.e+2*unit, ulpsInverse)
}

func atan2Float(y, x approximation) approximation {
	if y.s != fine || x.s != fine {
		return approximation{s: max(y.s, x.s)}
	}
	r, d := math.Hypot(x.v, y.v), x.e+y.e
	if d == 0 && r == 0 {
		return approximation{} // as math.Atan2 and expr.Atan2 have it
	}
	if r <= 2*d || x.v-x.e < 0 && math.Abs(y.v) <= y.e && y.e > 0 {
		return noIdea // near the origin or on the cut
	}
	return bounded(math.Atan2(y.v+0, x.v), math.Pi/2/r*(1+8*unit), d, ulpsInverse)
}

func extremeFloat(s *step, out []approximation) approximation {
	r := out[s.args[0]]
	for _, k := range s.args[1:] {
		a := out[k]
		r.s = max(r.s, a.s)
		r.e = max(r.e, a.e)
		if (a.v < r.v) == (s.fn == expr.FnMin) {
			r.v = a.v
		}
	}
	return r
}

func casesFloat(s *step, out []approximation) approximation {
	a, b := out[s.args[0]], out[s.args[1]]
	if a.s != fine || b.s != fine {
		return approximation{s: max(a.s, b.s)}
	}
	d, e := a.v-b.v, a.e+b.e
	e += math.Abs(d) * unit
	switch {
	case d < -e, d == 0 && e == 0 && s.fn == expr.FnIfLessEqual:
		return out[s.args[2]]
	case d > e, d == 0 && e == 0:
		return out[s.args[3]]
	}
	return noIdea
}
