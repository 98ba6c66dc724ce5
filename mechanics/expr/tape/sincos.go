package tape

import "math"

// Constants of sincos. π/2 in four parts of 33, 33, 33 and 53 bits: a whole
// number below 2²⁰ times one of the first three is exact. Polynomials of the
// sine and cosine on [-π/4, π/4].
// Source: FreeBSD msun, e_rem_pio2.c, k_sin.c, k_cos.c (Sun Microsystems 1993).
const (
	halfPi1 = 1.57079632673412561417e+00
	halfPi2 = 6.07710050630396597660e-11
	halfPi3 = 2.02226624871116645580e-21
	tail2   = 2.02226624879595063154e-21 // π/2 - halfPi1 - halfPi2
	tail3   = 8.47842766036889956997e-32 // … - halfPi3

	sin1 = -1.66666666666666324348e-01
	sin2 = 8.33333333332248946124e-03
	sin3 = -1.98412698298579493134e-04
	sin4 = 2.75573137070700676789e-06
	sin5 = -2.50507602534068634195e-08
	sin6 = 1.58969099521155010221e-10

	cos1 = 4.16666666666666019037e-02
	cos2 = -1.38888888888741095749e-03
	cos3 = 2.48015872894767294178e-05
	cos4 = -2.75573143513906633035e-07
	cos5 = 2.08757232129817482790e-09
	cos6 = -1.13596475577881948265e-11

	maxQuarter = 1 << 16     // quarter turns: 16 bits, so products with 33 bits are exact
	nearAxis   = 1.0 / 32768 // below this a third part of π/2 is subtracted too
	roundUp    = 0x1.8p52    // adding and subtracting it rounds to a whole number
)

// sincos returns the sine and cosine of x within 1 ulp for |x| < 10⁵, and
// those of the math package beyond.
func sincos(x float64) (sin, cos float64) {
	t := x*(2/math.Pi) + roundUp
	q := t - roundUp
	hi := x - q*halfPi1
	w := q * halfPi2
	r := hi - w
	if !(math.Abs(r) > nearAxis && math.Abs(q) < maxQuarter) {
		return sincosSlow(x, q, t)
	}
	low := (hi - r) - w - q*tail2
	z := r * r
	return turned(sinPolynomial(r, low, z, z*z), cosPolynomial(r, low, z, z*z), math.Float64bits(t))
}

// sincosBatch is sincos for each of x. It is written out because Go does not
// inline sincos itself.
func sincosBatch(sin, cos, x []float64) {
	sin, cos = sin[:len(x)], cos[:len(x)]
	for j, x := range x {
		t := x*(2/math.Pi) + roundUp
		q := t - roundUp
		hi := x - q*halfPi1
		w := q * halfPi2
		r := hi - w
		if !(math.Abs(r) > nearAxis && math.Abs(q) < maxQuarter) {
			sin[j], cos[j] = sincosSlow(x, q, t)
			continue
		}
		low := (hi - r) - w - q*tail2
		z := r * r
		sin[j], cos[j] = turned(sinPolynomial(r, low, z, z*z), cosPolynomial(r, low, z, z*z), math.Float64bits(t))
	}
}

// sincosSlow is for arguments near a multiple of π/2, where cancellation eats
// the digits that two parts of π/2 give, and for large arguments.
func sincosSlow(x, q, t float64) (sin, cos float64) {
	if !(math.Abs(q) < maxQuarter) {
		return math.Sincos(x)
	}
	r, low := x, 0.0
	if q != 0 {
		hi := x - q*halfPi1
		w := q * halfPi2
		a := hi - w
		low = (hi - a) - w // hi - w = a + low exactly
		w = q * halfPi3
		r = a - w
		low = ((a - r) - w) + (low - q*tail3)
	}
	z := r * r
	return turned(sinPolynomial(r, low, z, z*z), cosPolynomial(r, low, z, z*z), math.Float64bits(t))
}

// sinPolynomial returns the sine of r + low, |r| <= π/4; z is r², z2 is r⁴.
func sinPolynomial(r, low, z, z2 float64) float64 {
	p := (sin2 + z*sin3) + z2*((sin4+z*sin5)+z2*sin6)
	return r - ((z*(0.5*low-z*r*p) - low) - z*r*sin1)
}

// cosPolynomial returns the cosine of r + low.
func cosPolynomial(r, low, z, z2 float64) float64 {
	p := (cos1 + z*cos2) + z2*((cos3+z*cos4)+z2*(cos5+z*cos6))
	half := 0.5 * z
	one := 1 - half
	return one + (((1 - one) - half) + (z2*p - r*low))
}

// turned returns the sine and cosine of an angle turned on by n quarters. An
// odd number of quarters swaps the two; without a branch, which no processor
// could predict.
func turned(sin, cos float64, n uint64) (float64, float64) {
	s, c := math.Float64bits(sin), math.Float64bits(cos)
	swap := (s ^ c) & -(n & 1)
	return math.Float64frombits(s ^ swap ^ (n&2)<<62), math.Float64frombits(c ^ swap ^ ((n+1)&2)<<62)
}
