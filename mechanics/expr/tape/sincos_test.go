package tape

import (
	"math"
	"math/big"
	"math/rand/v2"
	"testing"
)

// machin returns π by Machin's formula, 16 arctan 1/5 - 4 arctan 1/239.
// Source: Abramowitz and Stegun, Handbook of Mathematical Functions (1964),
// 4.4.42 for the series; the formula from memory, checked by the test itself.
func machin(prec uint) *big.Float {
	arctan := func(n int64) *big.Float { // of 1/n
		x := new(big.Float).SetPrec(prec).Quo(big.NewFloat(1).SetPrec(prec), new(big.Float).SetPrec(prec).SetInt64(n))
		x2 := new(big.Float).SetPrec(prec).Mul(x, x)
		sum := new(big.Float).SetPrec(prec).Set(x)
		term := new(big.Float).SetPrec(prec).Set(x)
		for k := int64(1); k < 200; k++ {
			term.Mul(term, x2)
			term.Neg(term)
			sum.Add(sum, new(big.Float).SetPrec(prec).Quo(term, new(big.Float).SetPrec(prec).SetInt64(2*k+1)))
		}
		return sum
	}
	a, b := arctan(5), arctan(239)
	a.Mul(a, big.NewFloat(16))
	b.Mul(b, big.NewFloat(4))
	return a.Sub(a, b)
}

// exactSin returns sin x or cos x to well over 100 bits by the power series.
func exactSin(x float64, cos bool, halfPi *big.Float) *big.Float {
	const prec = 300
	r := new(big.Float).SetPrec(prec).SetFloat64(x)
	q := new(big.Float).SetPrec(prec).Quo(r, halfPi)
	n, _ := q.Add(q, big.NewFloat(math.Copysign(0.5, x))).Int(nil)
	r.Sub(r, new(big.Float).SetPrec(prec).Mul(halfPi, new(big.Float).SetPrec(prec).SetInt(n)))
	k := new(big.Int).And(n, big.NewInt(3)).Int64()
	if cos {
		k++
	}
	r2 := new(big.Float).SetPrec(prec).Mul(r, r)
	term := new(big.Float).SetPrec(prec).SetInt64(1)
	i := int64(0)
	if k%2 == 0 {
		term.Set(r)
		i = 1
	}
	sum := new(big.Float).SetPrec(prec).Set(term)
	for ; i < 60; i += 2 {
		term.Mul(term, r2)
		term.Quo(term, new(big.Float).SetInt64((i+1)*(i+2)))
		term.Neg(term)
		sum.Add(sum, term)
	}
	if k%4 >= 2 {
		sum.Neg(sum)
	}
	return sum
}

func ulps(got float64, want *big.Float) float64 {
	w, _ := want.Float64()
	ulp := math.Nextafter(math.Abs(w), math.Inf(1)) - math.Abs(w)
	d := new(big.Float).SetPrec(300).Sub(new(big.Float).SetPrec(300).SetFloat64(got), want)
	f, _ := d.Float64()
	return math.Abs(f) / ulp
}

func TestSincosWithinOneUlp(t *testing.T) {
	halfPi := machin(300)
	halfPi.Quo(halfPi, big.NewFloat(2))
	r := rand.New(rand.NewPCG(1, 1))
	var points []float64
	for range 1200 {
		points = append(points, (r.Float64()-0.5)*8, (r.Float64()-0.5)*200, (r.Float64()-0.5)*2e5,
			math.Ldexp(r.Float64()-0.5, -r.IntN(60)))
	}
	for k := range 800 { // as near to the axes as a float64 can be, and around
		n := float64(r.IntN(60000))
		if k < 100 {
			n = float64(k)
		}
		h, _ := halfPi.Float64()
		x := n * h
		for range 3 {
			points = append(points, x, -x)
			x = math.Nextafter(x, math.Inf(1))
		}
		points = append(points, n*h+1e-4*(r.Float64()-0.5), n*h+math.Pi/4)
	}
	worst := 0.0
	for _, x := range points {
		s, c := sincos(x)
		for i, got := range []float64{s, c} {
			if u := ulps(got, exactSin(x, i == 1, halfPi)); u > 1 {
				t.Fatalf("x = %v: %v is off by %.2f ulp (0 sin, 1 cos: %d)", x, got, u, i)
			} else {
				worst = max(worst, u)
			}
		}
	}
	t.Logf("worst error %.3f ulp at %d points", worst, len(points))
}

func TestSincosOfWhatIsNoAngle(t *testing.T) {
	for _, x := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		if s, c := sincos(x); s == s || c == c {
			t.Errorf("sincos(%v) = %v, %v, want NaN", x, s, c)
		}
	}
	for _, x := range []float64{1e9, -3e15, 1e300} {
		s, c := sincos(x)
		if S, C := math.Sincos(x); s != S || c != C {
			t.Errorf("sincos(%v) differs from the math package", x)
		}
	}
	if s, _ := sincos(math.Copysign(0, -1)); !math.Signbit(s) {
		t.Error("sin(-0) is not -0")
	}
}

func BenchmarkSincos(b *testing.B) {
	x := 0.1
	for b.Loop() {
		s, c := sincos(x)
		x += 0.001 + 1e-300*(s+c)
	}
}

func BenchmarkMathSincos(b *testing.B) {
	x := 0.1
	for b.Loop() {
		s, c := math.Sincos(x)
		x += 0.001 + 1e-300*(s+c)
	}
}
