package expr

import (
	"math"
	"math/big"
	"math/bits"
	"strconv"
)

// maxPowerBits bounds the size of a number that a power of numbers is folded
// to; 2^(10^9) stays a power. Ten thousand bits are three thousand digits,
// more than any formula needs and little enough to be quick.
const maxPowerBits = 10000

// A number is an exact fraction or, rarely, a float64.
type number struct {
	p, q int64    // p/q in lowest terms, q > 0; if q = 0 and big = nil, p holds the bits of a float64
	big  *big.Rat // the fraction where p/q does not fit; never changed
}

var (
	numZero = number{p: 0, q: 1}
	numOne  = number{p: 1, q: 1}
	numNeg  = number{p: -1, q: 1}
	numHalf = number{p: 1, q: 2}
)

func intNumber(v int64) number {
	if v == math.MinInt64 {
		return number{big: new(big.Rat).SetInt64(v)}
	}
	return number{p: v, q: 1}
}

func floatNumber(v float64) number { return number{p: int64(math.Float64bits(v))} }

// maxExactBits bounds exact fractions; longer ones, 20 000 digits, come from
// squaring over and over and are kept as the nearest float64.
const maxExactBits = 1 << 16

// ratNumber returns r, which the number then owns.
func ratNumber(r *big.Rat) number {
	if r.Num().IsInt64() && r.Denom().IsInt64() && r.Num().Int64() != math.MinInt64 {
		return number{p: r.Num().Int64(), q: r.Denom().Int64()}
	}
	if max(r.Num().BitLen(), r.Denom().BitLen()) > maxExactBits {
		v, _ := r.Float64()
		return floatNumber(v)
	}
	return number{big: r}
}

// decimalNumber returns v as the fraction that its shortest decimal means, if
// that decimal is short, and as a float64 otherwise. Both have v as nearest
// float64.
func decimalNumber(v float64) number {
	const digits, exponent = 15, 18 // every decimal of 15 digits has its own float64
	if v == 0 {
		return numZero
	}
	if math.IsNaN(v) || math.IsInf(v, 0) || math.Abs(v) > 1e18 || math.Abs(v) < 1e-18 {
		return floatNumber(v)
	}
	text := strconv.FormatFloat(v, 'e', -1, 64)
	if mantissa := len(text) - len("e+00"); mantissa > digits+2 {
		return floatNumber(v)
	}
	r, ok := new(big.Rat).SetString(text)
	if !ok {
		return floatNumber(v)
	}
	return ratNumber(r)
}

func (a number) isFloat() bool { return a.q == 0 && a.big == nil }
func (a number) isZero() bool  { return a.p == 0 && a.big == nil || a.isFloat() && a.float() == 0 }
func (a number) isOne() bool   { return a.p == 1 && a.q == 1 }
func (a number) isNeg1() bool  { return a.p == -1 && a.q == 1 }
func (a number) isInt64() bool { return a.q == 1 }
func (a number) isInt() bool   { return a.q == 1 || a.big != nil && a.big.IsInt() }

func (a number) isNaN() bool { return a.isFloat() && math.IsNaN(a.float()) }

// rat returns the exact fraction in a new value, nil for a float64.
func (a number) rat() *big.Rat {
	switch {
	case a.big != nil:
		return new(big.Rat).Set(a.big)
	case a.q != 0:
		return big.NewRat(a.p, a.q)
	}
	return nil
}

// float returns the nearest float64.
func (a number) float() float64 {
	const exact = 1 << 53
	switch {
	case a.big != nil:
		f, _ := a.big.Float64()
		return f
	case a.q == 0:
		return math.Float64frombits(uint64(a.p))
	case -exact <= a.p && a.p <= exact && a.q <= exact:
		return float64(a.p) / float64(a.q)
	}
	f, _ := big.NewRat(a.p, a.q).Float64()
	return f
}

func (a number) sign() int {
	switch {
	case a.big != nil:
		return a.big.Sign()
	case a.q != 0:
		return cmpInt(a.p, 0)
	}
	switch f := a.float(); {
	case f > 0:
		return 1
	case f < 0:
		return -1
	}
	return 0
}

func cmpInt(a, b int64) int {
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}

// small reports whether sums and products of a and b fit int64 before they
// are reduced.
func small(a, b number) bool {
	const lim = 1<<31 - 1
	return a.q != 0 && b.q != 0 && a.q <= lim && b.q <= lim &&
		-lim <= a.p && a.p <= lim && -lim <= b.p && b.p <= lim
}

func reduced(p, q int64) number {
	if q == 1 || p == 0 {
		if p == 0 {
			return numZero
		}
		return number{p: p, q: q}
	}
	if g := gcd(p, q); g > 1 {
		p, q = p/g, q/g
	}
	return number{p: p, q: q}
}

func gcd(a, b int64) int64 {
	if a < 0 {
		a = -a
	}
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

func (a number) add(b number) number {
	switch {
	case a.q == 1 && b.q == 1 && small(a, b):
		return number{p: a.p + b.p, q: 1}
	case small(a, b):
		return reduced(a.p*b.q+b.p*a.q, a.q*b.q)
	case a.isFloat() || b.isFloat():
		return floatNumber(a.float() + b.float())
	}
	r := a.rat()
	return ratNumber(r.Add(r, b.rat()))
}

func (a number) mul(b number) number {
	switch {
	case a.isOne():
		return b
	case b.isOne():
		return a
	case small(a, b):
		return reduced(a.p*b.p, a.q*b.q)
	case a.isZero() && !b.isNaN() || b.isZero() && !a.isNaN():
		return numZero
	case a.isFloat() || b.isFloat():
		return floatNumber(a.float() * b.float())
	}
	r := a.rat()
	return ratNumber(r.Mul(r, b.rat()))
}

func (a number) neg() number {
	switch {
	case a.big != nil:
		return ratNumber(new(big.Rat).Neg(a.big))
	case a.q != 0:
		return number{p: -a.p, q: a.q}
	}
	return floatNumber(-a.float())
}

func (a number) abs() number {
	if a.sign() < 0 {
		return a.neg()
	}
	return a
}

// inv returns 1/a; a is not zero.
func (a number) inv() number {
	switch {
	case a.big != nil:
		return ratNumber(new(big.Rat).Inv(a.big))
	case a.q != 0 && a.p > 0:
		return number{p: a.q, q: a.p}
	case a.q != 0:
		return number{p: -a.q, q: -a.p}
	}
	return floatNumber(1 / a.float())
}

func (a number) cmp(b number) int {
	switch {
	case a.q == 1 && b.q == 1:
		return cmpInt(a.p, b.p)
	case small(a, b):
		return cmpInt(a.p*b.q, b.p*a.q)
	case a.isFloat() || b.isFloat():
		x, y := a.float(), b.float()
		switch {
		case x < y:
			return -1
		case x > y:
			return 1
		}
		// Numbers of different kind with one float64 are kept apart by the order.
		if a.isFloat() != b.isFloat() {
			if a.isFloat() {
				return 1
			}
			return -1
		}
		return cmpInt(a.p, b.p)
	}
	return a.rat().Cmp(b.rat())
}

// bitLen returns the size of the larger of numerator and denominator.
func (a number) bitLen() int {
	if a.big != nil {
		return max(a.big.Num().BitLen(), a.big.Denom().BitLen())
	}
	p := a.p
	if p < 0 {
		p = -p
	}
	return max(bits.Len64(uint64(p)), bits.Len64(uint64(a.q)))
}

// pow returns a to the integer n, and ok = false where that is no number (0 to
// a negative power) or too large to write out.
func (a number) pow(n int64) (r number, ok bool) {
	switch {
	case n == 0:
		return numOne, true
	case a.isZero():
		return numZero, n > 0
	case a.isFloat():
		v := math.Pow(a.float(), float64(n))
		return floatNumber(v), !math.IsInf(v, 0) && v != 0
	case n == math.MinInt64:
		return a, a.isOne()
	case n < 0:
		a, n = a.inv(), -n
	}
	if a.isOne() {
		return a, true
	}
	if bits := a.bitLen(); n > maxPowerBits || int64(bits)*n > maxPowerBits && !a.isNeg1() {
		if a.isNeg1() {
			if n%2 == 0 {
				return numOne, true
			}
			return a, true
		}
		return a, false
	}
	r = numOne
	for ; n > 0; n >>= 1 {
		if n&1 != 0 {
			r = r.mul(a)
		}
		if n > 1 {
			a = a.mul(a)
		}
	}
	return r, true
}

// root returns the k-th root of a non-negative fraction, and ok = false if
// that is no fraction.
func (a number) root(k int64) (r number, ok bool) {
	if a.isFloat() || a.sign() < 0 || k < 1 || k > 64 {
		return a, false
	}
	x := a.rat()
	p, ok1 := intRoot(x.Num(), k)
	q, ok2 := intRoot(x.Denom(), k)
	if !ok1 || !ok2 {
		return a, false
	}
	return ratNumber(new(big.Rat).SetFrac(p, q)), true
}

// intRoot returns the k-th root of x >= 0 if it is an integer.
func intRoot(x *big.Int, k int64) (*big.Int, bool) {
	var r *big.Int
	if k == 2 {
		r = new(big.Int).Sqrt(x)
	} else {
		// Newton's iteration from above, in integers.
		r = new(big.Int).Lsh(big.NewInt(1), uint(x.BitLen())/uint(k)+1)
		if x.Sign() == 0 {
			return big.NewInt(0), true
		}
		for km1 := big.NewInt(k - 1); ; {
			t := new(big.Int).Exp(r, km1, nil)
			t.Quo(x, t)
			t.Add(t, new(big.Int).Mul(r, km1))
			t.Quo(t, big.NewInt(k))
			if t.Cmp(r) >= 0 {
				break
			}
			r = t
		}
	}
	return r, new(big.Int).Exp(r, big.NewInt(k), nil).Cmp(x) == 0
}

func (a number) hash() uint64 {
	if a.big != nil {
		h := uint64(len(a.big.Num().Bits()))
		for _, w := range a.big.Num().Bits() {
			h = mix(h, uint64(w))
		}
		for _, w := range a.big.Denom().Bits() {
			h = mix(h, uint64(w))
		}
		return mix(h, uint64(a.big.Sign()))
	}
	return mix(uint64(a.p), uint64(a.q))
}

// String returns the number as p/q or as a decimal.
func (a number) String() string {
	switch {
	case a.big != nil && a.big.IsInt():
		return a.big.Num().String()
	case a.big != nil:
		return a.big.String()
	case a.q == 1:
		return strconv.FormatInt(a.p, 10)
	case a.q != 0:
		return strconv.FormatInt(a.p, 10) + "/" + strconv.FormatInt(a.q, 10)
	}
	return strconv.FormatFloat(a.float(), 'g', -1, 64)
}
