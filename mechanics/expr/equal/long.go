package equal

import (
	"math"
	"math/big"
	"sync"
)

// Elementary functions of long numbers, computed in fixed point: an integer X
// stands for X·2^-w. Each says how many of its last bits may be wrong.

// constantBits is the precision of π and ln 2; arguments that need more are
// left undecided.
const constantBits = 6144

var longPi = sync.OnceValue(func() *big.Int { // Machin: π/4 = 4 atan(1/5) - atan(1/239)
	const guard = 32
	a, b := inverseTangent(5, constantBits+guard, -1), inverseTangent(239, constantBits+guard, -1)
	a.Lsh(a, 4)
	a.Sub(a, b.Lsh(b, 2))
	return a.Rsh(a, guard)
})

var longLn2 = sync.OnceValue(func() *big.Int { // ln 2 = 2 artanh(1/3)
	const guard = 32
	a := inverseTangent(3, constantBits+guard, 1)
	return a.Rsh(a.Lsh(a, 1), guard)
})

// inverseTangent is atan(1/n) for sign = -1 and artanh(1/n) for sign = 1.
func inverseTangent(n int64, w uint, sign int) *big.Int {
	t := new(big.Int).Lsh(big.NewInt(1), w)
	t.Quo(t, big.NewInt(n))
	sum, part := new(big.Int).Set(t), new(big.Int)
	n2 := big.NewInt(n * n)
	for k := int64(3); t.Sign() != 0; k += 2 {
		t.Quo(t, n2)
		part.Quo(t, big.NewInt(k))
		if sign < 0 && k%4 == 3 {
			sum.Sub(sum, part)
		} else {
			sum.Add(sum, part)
		}
	}
	return sum
}

// piTo and ln2To are the constants with w bits after the point.
func piTo(w uint) *big.Int  { return new(big.Int).Rsh(longPi(), constantBits-w) }
func ln2To(w uint) *big.Int { return new(big.Int).Rsh(longLn2(), constantBits-w) }

// fixed is x·2^w as an integer.
func fixed(x *big.Float, w uint) *big.Int {
	i, _ := new(big.Float).SetMantExp(x, int(w)).Int(nil)
	return i
}

// float is X·2^-w with p bits.
func float(x *big.Int, w uint, p uint) *big.Float {
	f := new(big.Float).SetPrec(p).SetInt(x)
	return f.SetMantExp(f, -int(w))
}

// longSinCos returns sine and cosine of x with w bits after the point, the
// last 6 of which may be wrong. ok is false if x is too large.
func longSinCos(x *big.Float, w uint) (sin, cos *big.Int, ok bool) {
	more := uint(max(0, x.MantExp(nil))) + 8
	if w+more >= constantBits {
		return nil, nil, false
	}
	r := fixed(x, w+more)
	half := piTo(w + more) // π/2 once shifted
	half.Rsh(half, 1)
	// k = round(x/(π/2))
	k := new(big.Int).Lsh(r, 1)
	k.Add(k, half)
	k.Div(k, new(big.Int).Lsh(half, 1))
	r.Sub(r, half.Mul(half, k))
	r.Rsh(r, more)
	sin = sineSeries(r, w)
	one := new(big.Int).Lsh(big.NewInt(1), 2*w)
	cos = one.Sub(one, new(big.Int).Mul(sin, sin))
	cos.Sqrt(cos)
	switch new(big.Int).And(k, big.NewInt(3)).Int64() {
	case 1:
		sin, cos = cos, sin.Neg(sin)
	case 2:
		sin, cos = sin.Neg(sin), cos.Neg(cos)
	case 3:
		sin, cos = cos.Neg(cos), sin
	}
	return sin, cos, true
}

// sineSeries is the sine of r, |r| <= π/4.
func sineSeries(r *big.Int, w uint) *big.Int {
	r2 := new(big.Int).Mul(r, r)
	r2.Rsh(r2, w)
	sum, t := new(big.Int).Set(r), new(big.Int).Set(r)
	d := new(big.Int)
	for k := int64(2); ; k += 2 {
		t.Mul(t, r2)
		t.Rsh(t, w)
		t.Quo(t, d.SetInt64(-k*(k+1)))
		if t.Sign() == 0 || t.BitLen() == 1 {
			return sum
		}
		sum.Add(sum, t)
	}
}

// longExp returns e^x as E·2^(k-w), where 1/2 < E·2^-w < 2 and the last 16 bits
// of E may be wrong. ok is false if x is too large.
func longExp(x *big.Float, w uint) (e *big.Int, k int, ok bool) {
	f, _ := x.Float64()
	if math.Abs(f) > 1e9 {
		return nil, 0, false
	}
	k = int(math.Round(f / math.Ln2))
	const more = 40 // bits of k and of the guard
	if w+more >= constantBits {
		return nil, 0, false
	}
	r := fixed(x, w+more)
	l := ln2To(w + more)
	r.Sub(r, l.Mul(l, big.NewInt(int64(k))))
	const halvings = 8
	r.Rsh(r, more+halvings)
	sum := new(big.Int).Lsh(big.NewInt(1), w)
	t := new(big.Int).Set(r)
	sum.Add(sum, t)
	d := new(big.Int)
	for n := int64(2); t.Sign() != 0 && t.BitLen() > 1; n++ {
		t.Mul(t, r)
		t.Rsh(t, w)
		t.Quo(t, d.SetInt64(n))
		sum.Add(sum, t)
	}
	for range halvings {
		sum.Mul(sum, sum)
		sum.Rsh(sum, w)
	}
	return sum, k, true
}

// longLog returns the natural logarithm of x > 0 with w bits after the point,
// the last 20 of which may be wrong.
func longLog(x *big.Float, w uint) (*big.Int, bool) {
	m := new(big.Float)
	k := x.MantExp(m)
	f, _ := m.Float64()
	if f < math.Sqrt2/2 {
		m.SetMantExp(m, 1)
		f *= 2
		k--
	}
	near := math.Log(f)
	e, shift, ok := longExp(big.NewFloat(near), w)
	if !ok || w+40 >= constantBits {
		return nil, false
	}
	switch {
	case shift > 0:
		e.Lsh(e, uint(shift))
	case shift < 0:
		e.Rsh(e, uint(-shift))
	}
	// log(m/e) = 2 artanh((m-e)/(m+e))
	a := fixed(m, w)
	z := new(big.Int).Sub(a, e)
	z.Lsh(z, w)
	z.Quo(z, a.Add(a, e))
	sum := artanhSeries(z, w, 1)
	sum.Lsh(sum, 1)
	sum.Add(sum, fixed(big.NewFloat(near), w))
	l := ln2To(w + 40)
	l.Mul(l, big.NewInt(int64(k)))
	return sum.Add(sum, l.Rsh(l, 40)), true
}

// artanhSeries is artanh of a small z for sign = 1 and atan for sign = -1.
func artanhSeries(z *big.Int, w uint, sign int64) *big.Int {
	z2 := new(big.Int).Mul(z, z)
	z2.Rsh(z2, w)
	sum, t, part := new(big.Int).Set(z), new(big.Int).Set(z), new(big.Int)
	for k := int64(3); t.Sign() != 0 && t.BitLen() > 1; k += 2 {
		t.Mul(t, z2)
		t.Rsh(t, w)
		if sign < 0 {
			t.Neg(t)
		}
		sum.Add(sum, part.Quo(t, big.NewInt(k)))
	}
	return sum
}

// longAtan returns the arctangent of x, |x| <= 1, with w bits after the point,
// the last 12 of which may be wrong.
func longAtan(x *big.Float, w uint) (*big.Int, bool) {
	f, _ := x.Float64()
	near := math.Atan(f)
	sin, cos, ok := longSinCos(big.NewFloat(near), w)
	if !ok {
		return nil, false
	}
	// atan x = near + atan((x cos - sin)/(cos + x sin))
	a := fixed(x, w)
	above := new(big.Int).Mul(a, cos)
	above.Sub(above, new(big.Int).Lsh(sin, w))
	below := new(big.Int).Mul(a, sin)
	below.Rsh(below, w)
	below.Add(below, cos)
	sum := artanhSeries(above.Quo(above, below), w, -1)
	return sum.Add(sum, fixed(big.NewFloat(near), w)), true
}
