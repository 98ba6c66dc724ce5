package equal

import (
	"math/big"

	"counterpoise/mechanics/expr"
)

// A ball is a long number with a bound on its error.
type ball struct {
	mid *big.Float
	rad magnitude
	s   state
}

// A bench computes with balls of p bits.
type bench struct {
	p uint
}

func (b bench) new() *big.Float { return new(big.Float).SetPrec(b.p) }

// rounded is mid with the error rad and that of its own rounding.
func (b bench) rounded(mid *big.Float, rad magnitude) ball {
	m := magnitudeOf(mid)
	if m.m != 0 {
		m.x -= int(b.p)
		rad = rad.plus(m)
	}
	return ball{mid: mid, rad: rad}
}

var ballWithout = ball{s: undefined}
var ballUnclear = ball{s: unclear}

// low is a lower bound of |x|, zero if x may be zero.
func (x ball) low() magnitude { return magnitudeOf(x.mid).minus(x.rad) }

// high is an upper bound of |x|.
func (x ball) high() magnitude { return magnitudeOf(x.mid).plus(x.rad) }

// sign is 1 or -1 where that is certain, and 0 otherwise; sure is false if
// nothing is certain, true with 0 if x is exactly zero.
func (x ball) sign() (sign int, sure bool) {
	if x.rad.isZero() {
		return x.mid.Sign(), true
	}
	if x.low().isZero() {
		return 0, false
	}
	return x.mid.Sign(), true
}

// eval runs the program at a point in balls of p bits.
func (p *program) evalBall(values []float64, b bench, out []ball) {
	for i := range p.steps {
		s := &p.steps[i]
		switch s.op {
		case opNumber:
			if s.exact == nil {
				out[i] = ballWithout
				continue
			}
			out[i] = b.rounded(b.new().SetRat(s.exact), magnitude{})
			if s.exact.IsInt() && s.exact.Num().BitLen() <= int(b.p) {
				out[i].rad = magnitude{}
			}
		case opPi:
			out[i] = b.rounded(float(longPi(), constantBits, b.p), magnitude{})
		case opSymbol:
			out[i] = ball{mid: b.new().SetFloat64(values[s.whole])}
		case opSum:
			out[i] = b.sum(s.args, out)
		case opProduct:
			r := out[s.args[0]]
			for _, k := range s.args[1:] {
				r = b.times(r, out[k])
			}
			out[i] = r
		case opWhole:
			out[i] = b.whole(out[s.args[0]], s.whole)
		case opRoot:
			out[i] = b.root(out[s.args[0]])
		case opPower:
			out[i] = b.power(out[s.args[0]], out[s.args[1]])
		case opCall:
			out[i] = b.call(s, out)
		}
	}
}

func (b bench) sum(args []int, out []ball) ball {
	r := ball{mid: b.new()}
	for _, k := range args {
		r = b.plus(r, out[k])
	}
	return r
}

func (b bench) plus(x, y ball) ball {
	if x.s != fine || y.s != fine {
		return ball{s: max(x.s, y.s)}
	}
	return b.rounded(b.new().Add(x.mid, y.mid), x.rad.plus(y.rad))
}

func (b bench) minus(x, y ball) ball {
	if x.s != fine || y.s != fine {
		return ball{s: max(x.s, y.s)}
	}
	return b.rounded(b.new().Sub(x.mid, y.mid), x.rad.plus(y.rad))
}

func (b bench) times(x, y ball) ball {
	if x.s != fine || y.s != fine {
		return ball{s: max(x.s, y.s)}
	}
	rad := magnitudeOf(x.mid).times(y.rad).plus(magnitudeOf(y.mid).times(x.rad)).plus(x.rad.times(y.rad))
	return b.rounded(b.new().Mul(x.mid, y.mid), rad)
}

func (b bench) inverse(x ball) ball {
	if x.s != fine {
		return x
	}
	low := x.low()
	if low.isZero() {
		if x.rad.isZero() {
			return ballWithout
		}
		return ballUnclear
	}
	one := b.new().SetInt64(1)
	rad := magnitude{}
	if !x.rad.isZero() {
		rad = x.rad.over(low).over(low) // |x| > low
	}
	return b.rounded(one.Quo(one, x.mid), rad)
}

func (b bench) whole(x ball, n int) ball {
	if n < 0 {
		return b.whole(b.inverse(x), -n)
	}
	if x.s != fine {
		return x
	}
	r := ball{mid: b.new().SetInt64(1)}
	for ; n > 0; n >>= 1 {
		if n&1 != 0 {
			r = b.times(r, x)
		}
		if n > 1 {
			x = b.times(x, x)
		}
	}
	return r
}

// root is the square root. Where x may be zero it is taken to be in its
// domain.
func (b bench) root(x ball) ball {
	if x.s != fine {
		return x
	}
	sign, sure := x.sign()
	switch {
	case sure && sign < 0:
		return ballWithout
	case sure && sign == 0:
		return ball{mid: b.new()}
	case !sure:
		return ball{mid: b.new(), rad: x.high().root()}
	}
	// |√(x+d) - √x| <= |d|/√x, and x >= low.
	return b.rounded(b.new().Sqrt(x.mid), x.rad.over(x.low().root()))
}

func (b bench) power(x, y ball) ball {
	if x.s != fine || y.s != fine {
		return ball{s: max(x.s, y.s)}
	}
	if sign, sure := x.sign(); sure && sign == 0 {
		switch s, ok := y.sign(); {
		case ok && s > 0:
			return ball{mid: b.new()}
		case ok && s < 0:
			return ballWithout
		}
		return ballUnclear
	} else if sure && sign < 0 && y.rad.isZero() && y.mid.IsInt() {
		if n, _ := y.mid.Int64(); n > -1<<20 && n < 1<<20 {
			return b.whole(x, int(n))
		}
	} else if sure && sign < 0 && !y.rad.isZero() {
		return ballUnclear
	}
	return b.exp(b.times(y, b.log(x)))
}

func (b bench) exp(x ball) ball {
	if x.s != fine {
		return x
	}
	if power2(0).less(x.rad) {
		return ballUnclear
	}
	w := b.p + 32
	e, k, ok := longExp(x.mid, w)
	if !ok {
		return ballUnclear
	}
	v := float(e, w, b.p)
	v.SetMantExp(v, k)
	// e^d - 1 <= 2d for d <= 1; the last 16 bits of w are uncertain.
	rad := x.rad.plus(x.rad).plus(power2(16 - int(w)).plus(power2(16 - int(w))))
	return b.rounded(v, magnitudeOf(v).times(rad))
}

func (b bench) log(x ball) ball {
	if x.s != fine {
		return x
	}
	switch sign, sure := x.sign(); {
	case sure && sign <= 0:
		return ballWithout
	case !sure:
		return ballUnclear
	}
	w := b.p + 32
	l, ok := longLog(x.mid, w)
	if !ok {
		return ballUnclear
	}
	rad := x.rad.over(x.low())
	return b.rounded(float(l, w, b.p), rad.plus(power2(20-int(w))))
}

// sinCos returns sine and cosine.
func (b bench) sinCos(x ball) (sin, cos ball) {
	if x.s != fine {
		return x, x
	}
	if !x.rad.less(power2(0)) { // not known to a turn
		return ball{mid: b.new(), rad: power2(0)}, ball{mid: b.new(), rad: power2(0)}
	}
	w := b.p + 16
	if e := x.mid.MantExp(nil); x.mid.Sign() != 0 && e < 0 {
		w += uint(min(-e, 512)) // keep the relative accuracy of a small sine
	}
	s, c, ok := longSinCos(x.mid, w)
	if !ok {
		return ballUnclear, ballUnclear
	}
	rad := x.rad.plus(power2(6 - int(w)))
	return b.rounded(float(s, w, b.p), rad), b.rounded(float(c, w, b.p), rad)
}

func (b bench) atan(x ball) ball {
	if x.s != fine {
		return x
	}
	w := b.p + 24
	arg := x.mid
	large := x.mid.MantExp(nil) > 0 && x.mid.Sign() != 0
	if large { // atan x = ±π/2 - atan(1/x)
		one := b.new().SetPrec(b.p + 32).SetInt64(1)
		arg = one.Quo(one, x.mid)
	} else if e := x.mid.MantExp(nil); x.mid.Sign() != 0 && e < 0 {
		w += uint(min(-e, 512))
	}
	a, ok := longAtan(arg, w)
	if !ok {
		return ballUnclear
	}
	if large {
		half := piTo(w)
		half.Rsh(half, 1)
		if x.mid.Sign() < 0 {
			half.Neg(half)
		}
		a.Sub(half, a)
	}
	return b.rounded(float(a, w, b.p), x.rad.plus(power2(12-int(w))))
}

// asin is taken to be in its domain where |x| may be 1.
func (b bench) asin(x ball) ball {
	if x.s != fine {
		return x
	}
	one := ball{mid: b.new().SetInt64(1)}
	rest := b.times(b.minus(one, x), b.plus(one, x))
	sign, sure := rest.sign()
	if sure && sign < 0 {
		return ballWithout
	}
	if sign == 0 {
		v := float(longPi(), constantBits+1, b.p)
		if x.mid.Sign() < 0 {
			v.Neg(v)
		}
		// arccos(1-d) <= π √(d/2); d <= |rest|
		return b.rounded(v, newMagnitude(2.3).times(rest.high().root()))
	}
	return b.atan(b.times(x, b.inverse(b.root(rest))))
}

func (b bench) halfPi() ball {
	return b.rounded(float(longPi(), constantBits+1, b.p), magnitude{})
}

func (b bench) atan2(y, x ball) ball {
	if y.s != fine || x.s != fine {
		return ball{s: max(y.s, x.s)}
	}
	sy, ySure := y.sign()
	sx, xSure := x.sign()
	switch {
	case !ySure && !xSure:
		return ballUnclear
	case ySure && xSure && sx == 0 && sy == 0:
		return ball{mid: b.new()}
	case xSure && sx > 0:
		return b.atan(b.times(y, b.inverse(x)))
	case ySure && sy != 0:
		r := b.halfPi()
		if sy < 0 {
			r.mid.Neg(r.mid)
		}
		return b.minus(r, b.atan(b.times(x, b.inverse(y))))
	case ySure: // y = 0, x < 0
		r := b.halfPi()
		return b.plus(r, b.halfPi())
	}
	return ballUnclear // on the cut
}

// hyperbolic returns sinh and cosh.
func (b bench) hyperbolic(x ball) (sinh, cosh ball) {
	e := b.exp(x)
	if e.s != fine {
		return e, e
	}
	i := b.inverse(e)
	half := ball{mid: b.new().SetFloat64(0.5)}
	return b.times(half, b.minus(e, i)), b.times(half, b.plus(e, i))
}

func (b bench) call(s *step, out []ball) ball {
	x := out[s.args[0]]
	switch s.fn {
	case expr.FnMin, expr.FnMax:
		return b.extreme(s, out)
	case expr.FnIfLess, expr.FnIfLessEqual:
		return b.cases(s, out)
	case expr.FnAtan2:
		return b.atan2(x, out[s.args[1]])
	}
	if x.s != fine {
		return x
	}
	switch s.fn {
	case expr.FnSin:
		sin, _ := b.sinCos(x)
		return sin
	case expr.FnCos:
		_, cos := b.sinCos(x)
		return cos
	case expr.FnTan:
		sin, cos := b.sinCos(x)
		return b.times(sin, b.inverse(cos))
	case expr.FnAsin:
		return b.asin(x)
	case expr.FnAcos:
		return b.minus(b.halfPi(), b.asin(x))
	case expr.FnAtan:
		return b.atan(x)
	case expr.FnSinh:
		sinh, _ := b.hyperbolic(x)
		return sinh
	case expr.FnCosh:
		_, cosh := b.hyperbolic(x)
		return cosh
	case expr.FnTanh:
		sinh, cosh := b.hyperbolic(x)
		return b.times(sinh, b.inverse(cosh))
	case expr.FnExp:
		return b.exp(x)
	case expr.FnLog:
		return b.log(x)
	case expr.FnAbs:
		return ball{mid: b.new().Abs(x.mid), rad: x.rad}
	case expr.FnSign:
		sign, sure := x.sign()
		if !sure {
			return ballUnclear
		}
		return ball{mid: b.new().SetInt64(int64(sign))}
	}
	return ballUnclear
}

func (b bench) extreme(s *step, out []ball) ball {
	r := out[s.args[0]]
	for _, k := range s.args[1:] {
		x := out[k]
		if x.s != fine || r.s != fine {
			return ball{s: max(x.s, r.s)}
		}
		mid, rad := r.mid, r.rad
		if (x.mid.Cmp(mid) < 0) == (s.fn == expr.FnMin) {
			mid = x.mid
		}
		if rad.less(x.rad) {
			rad = x.rad
		}
		r = ball{mid: mid, rad: rad}
	}
	return r
}

func (b bench) cases(s *step, out []ball) ball {
	sign, sure := b.minus(out[s.args[0]], out[s.args[1]]).signIfFine()
	switch {
	case out[s.args[0]].s != fine || out[s.args[1]].s != fine:
		return ball{s: max(out[s.args[0]].s, out[s.args[1]].s)}
	case !sure:
		return ballUnclear
	case sign < 0 || sign == 0 && s.fn == expr.FnIfLessEqual:
		return out[s.args[2]]
	}
	return out[s.args[3]]
}

func (x ball) signIfFine() (int, bool) {
	if x.s != fine {
		return 0, false
	}
	return x.sign()
}
