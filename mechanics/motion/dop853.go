package motion

import "math"

// dop853 is the explicit Runge-Kutta pair of Dormand and Prince of orders
// 8(5,3): twelve evaluations a step, three more for the dense output.
//
// Source: Hairer, Nørsett and Wanner I (2nd ed.), section II.5 and their
// program dop853.f: error norm, controller and stiffness test.
type dop853 struct {
	explicit
	k2, k3, k4, k5, k6, k7, k8, k9, k10, k11, k12 []float64
	k14, k15, k16                                 []float64
}

func newDop853(s System, relative, absolute []float64) *dop853 {
	d := &dop853{explicit: newExplicit(s, relative, absolute)}
	d.control = controller{order: 8, alpha: 1.0/8 - 0.2*0.04, beta: 0.04, shrink: 1.0 / 3, grow: 6}
	vectors(d.n, &d.k2, &d.k3, &d.k4, &d.k5, &d.k6, &d.k7, &d.k8, &d.k9, &d.k10, &d.k11, &d.k12, &d.k14, &d.k15, &d.k16)
	return d
}

// attempt computes the state after h and returns the square of the scaled
// error, a mean over the components: at most 1 is acceptable.
func (d *dop853) attempt(h float64) float64 {
	s, t, n := d.system, d.t, d.n
	y, w := d.y[:n], d.w[:n]
	k1, k2, k3, k4, k5, k6 := d.k1[:n], d.k2[:n], d.k3[:n], d.k4[:n], d.k5[:n], d.k6[:n]
	k7, k8, k9, k10, k11, k12 := d.k7[:n], d.k8[:n], d.k9[:n], d.k10[:n], d.k11[:n], d.k12[:n]
	for i := range w {
		w[i] = y[i] + h*(a2_1*k1[i])
	}
	s.Rates(k2, t+c2*h, w)
	for i := range w {
		w[i] = y[i] + h*(a3_1*k1[i]+a3_2*k2[i])
	}
	s.Rates(k3, t+c3*h, w)
	for i := range w {
		w[i] = y[i] + h*(a4_1*k1[i]+a4_3*k3[i])
	}
	s.Rates(k4, t+c4*h, w)
	for i := range w {
		w[i] = y[i] + h*(a5_1*k1[i]+a5_3*k3[i]+a5_4*k4[i])
	}
	s.Rates(k5, t+c5*h, w)
	for i := range w {
		w[i] = y[i] + h*(a6_1*k1[i]+a6_4*k4[i]+a6_5*k5[i])
	}
	s.Rates(k6, t+c6*h, w)
	for i := range w {
		w[i] = y[i] + h*(a7_1*k1[i]+a7_4*k4[i]+a7_5*k5[i]+a7_6*k6[i])
	}
	s.Rates(k7, t+c7*h, w)
	for i := range w {
		w[i] = y[i] + h*(a8_1*k1[i]+a8_4*k4[i]+a8_5*k5[i]+a8_6*k6[i]+a8_7*k7[i])
	}
	s.Rates(k8, t+c8*h, w)
	for i := range w {
		w[i] = y[i] + h*(a9_1*k1[i]+a9_4*k4[i]+a9_5*k5[i]+a9_6*k6[i]+a9_7*k7[i]+a9_8*k8[i])
	}
	s.Rates(k9, t+c9*h, w)
	for i := range w {
		w[i] = y[i] + h*(a10_1*k1[i]+a10_4*k4[i]+a10_5*k5[i]+a10_6*k6[i]+a10_7*k7[i]+a10_8*k8[i]+a10_9*k9[i])
	}
	s.Rates(k10, t+c10*h, w)
	for i := range w {
		w[i] = y[i] + h*(a11_1*k1[i]+a11_4*k4[i]+a11_5*k5[i]+a11_6*k6[i]+a11_7*k7[i]+a11_8*k8[i]+a11_9*k9[i]+a11_10*k10[i])
	}
	s.Rates(k11, t+c11*h, w)
	for i := range w {
		w[i] = y[i] + h*(a12_1*k1[i]+a12_4*k4[i]+a12_5*k5[i]+a12_6*k6[i]+a12_7*k7[i]+a12_8*k8[i]+a12_9*k9[i]+a12_10*k10[i]+a12_11*k11[i])
	}
	s.Rates(k12, t+h, w)
	d.evaluations += 11
	d.h = h
	return d.close(h)
}

// close sums the step from its stages and measures its error.
func (d *dop853) close(h float64) float64 {
	n := d.n
	y, after, carry, left := d.y[:n], d.after[:n], d.carry[:n], d.left[:n]
	relative, absolute := d.relative[:n], d.absolute[:n]
	k1, k6, k7, k8, k9, k10, k11, k12 := d.k1[:n], d.k6[:n], d.k7[:n], d.k8[:n], d.k9[:n], d.k10[:n], d.k11[:n], d.k12[:n]
	e5, e3 := 0.0, 0.0
	for i := range y {
		b := b1*k1[i] + b6*k6[i] + b7*k7[i] + b8*k8[i] + b9*k9[i] + b10*k10[i] + b11*k11[i] + b12*k12[i]
		u := e1*k1[i] + e6*k6[i] + e7*k7[i] + e8*k8[i] + e9*k9[i] + e10*k10[i] + e11*k11[i] + e12*k12[i]
		v := b - bhh1*k1[i] - bhh2*k9[i] - bhh3*k12[i]
		after[i], left[i] = add(y[i], h*b+carry[i])
		q := 1 / (absolute[i] + relative[i]*max(math.Abs(y[i]), math.Abs(after[i])))
		u *= q
		v *= q
		e5 += u * u
		e3 += v * v
	}
	if e5 == 0 {
		return 0
	}
	return h * h * e5 * e5 / ((e5 + 0.01*e3) * float64(n))
}

// strained: at its stability limit the method shows 4.7 to 6.5; steps that
// accuracy bounds stay below 3.
func (d *dop853) strained() bool { return d.stretch(d.k12) > 4.5 }

// dense writes the motion inside the step last accepted.
func (d *dop853) dense(p *polynomial) {
	s, t, h, n := d.system, d.tPrev, d.h, d.n
	y, w, k13 := d.yPrev[:n], d.w[:n], d.k1[:n]
	k1, k6 := d.kPrev[:n], d.k6[:n]
	k7, k8, k9, k10, k11, k12 := d.k7[:n], d.k8[:n], d.k9[:n], d.k10[:n], d.k11[:n], d.k12[:n]
	k14, k15, k16 := d.k14[:n], d.k15[:n], d.k16[:n]
	for i := range w {
		w[i] = y[i] + h*(a14_1*k1[i]+a14_7*k7[i]+a14_8*k8[i]+a14_9*k9[i]+a14_10*k10[i]+a14_11*k11[i]+a14_12*k12[i]+a14_13*k13[i])
	}
	s.Rates(k14, t+c14*h, w)
	for i := range w {
		w[i] = y[i] + h*(a15_1*k1[i]+a15_6*k6[i]+a15_7*k7[i]+a15_8*k8[i]+a15_11*k11[i]+a15_12*k12[i]+a15_13*k13[i]+a15_14*k14[i])
	}
	s.Rates(k15, t+c15*h, w)
	for i := range w {
		w[i] = y[i] + h*(a16_1*k1[i]+a16_6*k6[i]+a16_7*k7[i]+a16_8*k8[i]+a16_9*k9[i]+a16_13*k13[i]+a16_14*k14[i]+a16_15*k15[i])
	}
	s.Rates(k16, t+c16*h, w)
	d.evaluations += 3
	c := p.reset(t, h, n, 7)
	var r, b [8]float64
	for i := range y {
		r[0] = y[i]
		r[1] = d.y[i] - y[i]
		r[2] = h*k1[i] - r[1]
		r[3] = r[1] - h*k13[i] - r[2]
		r[4] = h * (d4_1*k1[i] + d4_6*k6[i] + d4_7*k7[i] + d4_8*k8[i] + d4_9*k9[i] + d4_10*k10[i] + d4_11*k11[i] + d4_12*k12[i] + d4_13*k13[i] + d4_14*k14[i] + d4_15*k15[i] + d4_16*k16[i])
		r[5] = h * (d5_1*k1[i] + d5_6*k6[i] + d5_7*k7[i] + d5_8*k8[i] + d5_9*k9[i] + d5_10*k10[i] + d5_11*k11[i] + d5_12*k12[i] + d5_13*k13[i] + d5_14*k14[i] + d5_15*k15[i] + d5_16*k16[i])
		r[6] = h * (d6_1*k1[i] + d6_6*k6[i] + d6_7*k7[i] + d6_8*k8[i] + d6_9*k9[i] + d6_10*k10[i] + d6_11*k11[i] + d6_12*k12[i] + d6_13*k13[i] + d6_14*k14[i] + d6_15*k15[i] + d6_16*k16[i])
		r[7] = h * (d7_1*k1[i] + d7_6*k6[i] + d7_7*k7[i] + d7_8*k8[i] + d7_9*k9[i] + d7_10*k10[i] + d7_11*k11[i] + d7_12*k12[i] + d7_13*k13[i] + d7_14*k14[i] + d7_15*k15[i] + d7_16*k16[i])
		unnest(b[:], r[:])
		for k, v := range b {
			c[k*n+i] = v
		}
	}
}
