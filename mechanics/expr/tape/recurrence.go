package tape

import "math"

// convolve returns Σ_{j=0..k} a_j b_{k-j}.
func convolve(a, b []float64, k int) float64 {
	a, b = a[:k+1], b[:k+1]
	var s0, s1 float64
	i, j := 0, k
	for ; i+1 < len(a) && j >= 1 && j < len(b); i, j = i+2, j-2 {
		s0 += a[i] * b[j]
		s1 += a[i+1] * b[j-1]
	}
	if i < len(a) && j >= 0 {
		s0 += a[i] * b[j]
	}
	return s0 + s1
}

// convolve2 returns Σ_{j=1..k} a_j b_{k-j} and the same with c for b.
func convolve2(a, b, c []float64, k int) (float64, float64) {
	a, b, c = a[:k+1], b[:k], c[:k]
	var b0, b1, c0, c1 float64
	i, j := 1, k-1
	for ; i+1 < len(a) && j >= 1 && j < len(b) && j < len(c); i, j = i+2, j-2 {
		x, y := a[i], a[i+1]
		b0 += x * b[j]
		c0 += x * c[j]
		b1 += y * b[j-1]
		c1 += y * c[j-1]
	}
	if i < len(a) && j >= 0 && j < len(b) && j < len(c) {
		b0 += a[i] * b[j]
		c0 += a[i] * c[j]
	}
	return b0 + b1, c0 + c1
}

// square returns Σ_{j=from..k-from} a_j a_{k-j}, each pair once and doubled.
func square(a []float64, from, k int) float64 {
	a = a[:k+1]
	s := 0.0
	i, j := from, k-from
	for ; i < j && j < len(a); i, j = i+1, j-1 {
		s += a[i] * a[j]
	}
	s *= 2
	if i == j {
		s += a[i] * a[i]
	}
	return s
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
	case opScale:
		d[k] = a[0] * b[k]
		return
	case opSquare:
		d[k] = square(a, 0, k)
		return
	case opHold:
		d[k] = 0
		if k == 0 {
			d[k] = t.held(r, a[0], b[0])
		}
		return
	case opNeg:
		d[k] = -a[k]
		return
	case opDiv: // a = d b
		d[k] = 0
		d[k] = (a[k] - convolve(d, b, k)) / b[0]
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
		d[k] = (a[k] - square(d, 1, k)) / (2 * d[0])
	case opExp: // d' = d a'
		d[k] = weighted(a, d, k) / n
	case opLog: // a d' = a'
		d[k] = (a[k] - inner(d, a, k)/n) / a[0]
	case opPow: // a d' = v d a'
		d[k] = powerSum(a, d, r.v, k) / (n * a[0])
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

// powerSum returns Σ_{j=1..k} (v j - (k-j)) a_j d_{k-j}.
func powerSum(a, d []float64, v float64, k int) float64 {
	a, d = a[:k+1], d[:k+1]
	var s0, s1 float64
	w, u, step := v-float64(k-1), v-float64(k-1)+v+1, 2*(v+1)
	i, j := 1, k-1
	for ; i+1 < len(a) && j >= 1 && j < len(d); i, j = i+2, j-2 {
		s0 += w * a[i] * d[j]
		s1 += u * a[i+1] * d[j-1]
		w += step
		u += step
	}
	if i < len(a) && j >= 0 {
		s0 += w * a[i] * d[j]
	}
	return s0 + s1
}

// held computes a value that does not change along the motion.
func (t *Taylor) held(r *recurrence, a, b float64) float64 {
	if r.fn == opSelect {
		if a != 0 {
			return b
		}
		return t.c[r.s][0]
	}
	return apply(r.fn, a, b)
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
	slope := t.c[r.s] // j a_j
	n := float64(k)
	slope[k] = n * a[k]
	ss, cs := convolve2(slope, c, s, k)
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
	h[k] = sign * square(d, 0, k)
}
