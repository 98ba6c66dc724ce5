package tape

import "math"

// convolve returns Σ_{j=0..k} a_j b_{k-j}.
func convolve(a, b []float64, k int) float64 {
	a, b = a[:k+1], b[:k+1]
	var s0, s1 float64
	j := 0
	for ; j+1 <= k; j += 2 {
		s0 += a[j] * b[k-j]
		s1 += a[j+1] * b[k-j-1]
	}
	if j <= k {
		s0 += a[j] * b[k-j]
	}
	return s0 + s1
}

// weighted returns Σ_{j=1..k} j a_j b_{k-j}.
func weighted(a, b []float64, k int) float64 {
	a, b = a[:k+1], b[:k+1]
	s, w := 0.0, 1.0
	for j := 1; j <= k; j++ {
		s += w * a[j] * b[k-j]
		w++
	}
	return s
}

// inner returns Σ_{j=1..k-1} j f_j g_{k-j}.
func inner(f, g []float64, k int) float64 {
	f, g = f[:k+1], g[:k+1]
	s, w := 0.0, 1.0
	for j := 1; j < k; j++ {
		s += w * f[j] * g[k-j]
		w++
	}
	return s
}

// advance computes coefficient k of one recurrence.
func (t *Taylor) advance(r *recurrence, k int) {
	d, a, b := t.c[r.d], t.c[r.a], t.c[r.b]
	switch r.op {
	case opAdd:
		d[k] = a[k] + b[k]
		return
	case opSub:
		d[k] = a[k] - b[k]
		return
	case opMul:
		d[k] = convolve(a, b, k)
		return
	case opNeg:
		d[k] = -a[k]
		return
	case opDiv: // a = d b
		s := a[k]
		for j := 1; j <= k; j++ {
			s -= b[j] * d[k-j]
		}
		d[k] = s / b[0]
		return
	case opSin, opSinh:
		t.pair(r, d, t.c[r.e], a, k)
		return
	case opTan, opTanh:
		t.tangent(r, d, t.c[r.s], a, k)
		return
	case opSelect:
		if a[0] != 0 {
			d[k] = b[k]
		} else {
			d[k] = t.c[r.s][k]
		}
		return
	case opMin, opMax:
		if (a[0] < b[0]) == (r.op == opMin) {
			d[k] = a[k]
		} else {
			d[k] = b[k]
		}
		return
	case opAbs:
		d[k] = math.Abs(a[k])
		if k > 0 {
			d[k] = math.Copysign(1, a[0]) * a[k]
		}
		return
	case opSign, opLess, opLessEqual:
		d[k] = 0
		if k == 0 {
			d[k] = apply(r.op, a[0], b[0])
		}
		return
	}
	if k == 0 {
		t.start(r, d, a, b)
		return
	}
	n := float64(k)
	switch r.op {
	case opSqrt: // d² = a
		s := a[k]
		for j := 1; j < k; j++ {
			s -= d[j] * d[k-j]
		}
		d[k] = s / (2 * d[0])
	case opExp: // d' = d a'
		d[k] = weighted(a, d, k) / n
	case opLog: // a d' = a'
		d[k] = (a[k] - inner(d, a, k)/n) / a[0]
	case opPow: // a d' = v d a'
		s := 0.0
		for j := 1; j <= k; j++ {
			s += (r.v*float64(j) - float64(k-j)) * a[j] * d[k-j]
		}
		d[k] = s / (n * a[0])
	case opAsin, opAtan: // b d' = a'
		d[k] = (a[k] - inner(d, b, k)/n) / b[0]
	case opAcos:
		d[k] = (-a[k] - inner(d, b, k)/n) / b[0]
	case opAtan2: // g d' = x y' - y x'
		g := t.c[r.s]
		d[k] = (weighted(a, b, k) - weighted(b, a, k) - inner(d, g, k)) / (n * g[0])
	default:
		d[k] = math.NaN()
	}
}

// start computes the value itself.
func (t *Taylor) start(r *recurrence, d, a, b []float64) {
	if r.op == opPow {
		d[0] = math.Pow(a[0], r.v)
		return
	}
	d[0] = apply(r.op, a[0], b[0])
}

// pair advances sin and cos, or sinh and cosh: s' = c a', c' = ∓s a'.
func (t *Taylor) pair(r *recurrence, s, c, a []float64, k int) {
	if k == 0 {
		if r.op == opSin {
			s[0], c[0] = sincos(a[0])
		} else {
			s[0], c[0] = math.Sinh(a[0]), math.Cosh(a[0])
		}
		return
	}
	a, s, c = a[:k+1], s[:k+1], c[:k+1]
	ss, cs, w := 0.0, 0.0, 1.0
	for j := 1; j <= k; j++ {
		x := w * a[j]
		ss += x * c[k-j]
		cs += x * s[k-j]
		w++
	}
	n := float64(k)
	s[k] = ss / n
	if r.op == opSin {
		cs = -cs
	}
	c[k] = cs / n
}

// tangent advances tan or tanh with h = 1 ± d²: d' = h a'.
func (t *Taylor) tangent(r *recurrence, d, h, a []float64, k int) {
	sign := 1.0
	if r.op == opTanh {
		sign = -1
	}
	if k == 0 {
		d[0] = apply(r.op, a[0], 0)
		h[0] = 1 + sign*d[0]*d[0]
		return
	}
	d[k] = weighted(a, h, k) / float64(k)
	h[k] = sign * convolve(d, d, k)
}
