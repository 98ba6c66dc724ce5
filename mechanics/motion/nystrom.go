package motion

import "math"

// nystrom12 is the explicit Runge-Kutta-Nyström pair of orders 12(10) for
// accelerations that do not depend on the velocities: 17 evaluations of the
// accelerations a step, of steps three to five times as long as those of the
// pair 8(5,3), and half of the arithmetic.
//
// Source: see nystrom_coefficients.go.
type nystrom12 struct {
	explicit
	f                                                                      Accelerator
	a2, a3, a4, a5, a6, a7, a8, a9, a10, a11, a12, a13, a14, a15, a16, a17 []float64
}

func newNystrom12(s System, f Accelerator, relative, absolute []float64) *nystrom12 {
	d := &nystrom12{explicit: newExplicit(s, relative, absolute), f: f}
	d.control = controller{order: 12, alpha: 1.0 / 11, beta: 0.05, shrink: 0.2, grow: 5}
	vectors(d.n/2, &d.a2, &d.a3, &d.a4, &d.a5, &d.a6, &d.a7, &d.a8, &d.a9, &d.a10, &d.a11, &d.a12, &d.a13, &d.a14, &d.a15, &d.a16, &d.a17)
	return d
}

func (d *nystrom12) attempt(h float64) float64 {
	f, t, m := d.f, d.t, d.n/2
	q, v, w := d.y[:m], d.y[m:2*m], d.w[:m]
	a1, a2, a3, a4, a5, a6, a7, a8 := d.k1[m:2*m], d.a2[:m], d.a3[:m], d.a4[:m], d.a5[:m], d.a6[:m], d.a7[:m], d.a8[:m]
	a9, a10, a11, a12, a13, a14, a15, a16, a17 := d.a9[:m], d.a10[:m], d.a11[:m], d.a12[:m], d.a13[:m], d.a14[:m], d.a15[:m], d.a16[:m], d.a17[:m]
	hh := h * h
	var s float64
	s = nc2 * h
	for i := range w {
		w[i] = q[i] + s*v[i] + hh*(n2_1*a1[i])
	}
	f.Accelerations(a2, t+s, w)
	s = nc3 * h
	for i := range w {
		w[i] = q[i] + s*v[i] + hh*(n3_1*a1[i]+n3_2*a2[i])
	}
	f.Accelerations(a3, t+s, w)
	s = nc4 * h
	for i := range w {
		w[i] = q[i] + s*v[i] + hh*(n4_1*a1[i]+n4_2*a2[i]+n4_3*a3[i])
	}
	f.Accelerations(a4, t+s, w)
	s = nc5 * h
	for i := range w {
		w[i] = q[i] + s*v[i] + hh*(n5_1*a1[i]+n5_3*a3[i]+n5_4*a4[i])
	}
	f.Accelerations(a5, t+s, w)
	s = nc6 * h
	for i := range w {
		w[i] = q[i] + s*v[i] + hh*(n6_1*a1[i]+n6_3*a3[i]+n6_4*a4[i]+n6_5*a5[i])
	}
	f.Accelerations(a6, t+s, w)
	s = nc7 * h
	for i := range w {
		w[i] = q[i] + s*v[i] + hh*(n7_1*a1[i]+n7_3*a3[i]+n7_4*a4[i]+n7_5*a5[i]+n7_6*a6[i])
	}
	f.Accelerations(a7, t+s, w)
	s = nc8 * h
	for i := range w {
		w[i] = q[i] + s*v[i] + hh*(n8_1*a1[i]+n8_4*a4[i]+n8_5*a5[i]+n8_6*a6[i]+n8_7*a7[i])
	}
	f.Accelerations(a8, t+s, w)
	s = nc9 * h
	for i := range w {
		w[i] = q[i] + s*v[i] + hh*(n9_1*a1[i]+n9_3*a3[i]+n9_4*a4[i]+n9_5*a5[i]+n9_6*a6[i]+n9_7*a7[i]+n9_8*a8[i])
	}
	f.Accelerations(a9, t+s, w)
	s = nc10 * h
	for i := range w {
		w[i] = q[i] + s*v[i] + hh*(n10_1*a1[i]+n10_3*a3[i]+n10_4*a4[i]+n10_5*a5[i]+n10_6*a6[i]+n10_7*a7[i]+n10_8*a8[i]+n10_9*a9[i])
	}
	f.Accelerations(a10, t+s, w)
	s = nc11 * h
	for i := range w {
		w[i] = q[i] + s*v[i] + hh*(n11_1*a1[i]+n11_3*a3[i]+n11_4*a4[i]+n11_5*a5[i]+n11_6*a6[i]+n11_7*a7[i]+n11_8*a8[i]+n11_9*a9[i]+n11_10*a10[i])
	}
	f.Accelerations(a11, t+s, w)
	s = nc12 * h
	for i := range w {
		w[i] = q[i] + s*v[i] + hh*(n12_1*a1[i]+n12_3*a3[i]+n12_4*a4[i]+n12_5*a5[i]+n12_6*a6[i]+n12_7*a7[i]+n12_8*a8[i]+n12_9*a9[i]+n12_10*a10[i]+n12_11*a11[i])
	}
	f.Accelerations(a12, t+s, w)
	s = nc13 * h
	for i := range w {
		w[i] = q[i] + s*v[i] + hh*(n13_1*a1[i]+n13_3*a3[i]+n13_4*a4[i]+n13_5*a5[i]+n13_6*a6[i]+n13_7*a7[i]+n13_8*a8[i]+n13_9*a9[i]+n13_10*a10[i]+n13_11*a11[i]+n13_12*a12[i])
	}
	f.Accelerations(a13, t+s, w)
	s = nc14 * h
	for i := range w {
		w[i] = q[i] + s*v[i] + hh*(n14_1*a1[i]+n14_3*a3[i]+n14_4*a4[i]+n14_5*a5[i]+n14_6*a6[i]+n14_7*a7[i]+n14_8*a8[i]+n14_9*a9[i]+n14_10*a10[i]+n14_11*a11[i]+n14_12*a12[i]+n14_13*a13[i])
	}
	f.Accelerations(a14, t+s, w)
	s = nc15 * h
	for i := range w {
		w[i] = q[i] + s*v[i] + hh*(n15_1*a1[i]+n15_3*a3[i]+n15_4*a4[i]+n15_5*a5[i]+n15_6*a6[i]+n15_7*a7[i]+n15_8*a8[i]+n15_9*a9[i]+n15_10*a10[i]+n15_11*a11[i]+n15_12*a12[i]+n15_13*a13[i]+n15_14*a14[i])
	}
	f.Accelerations(a15, t+s, w)
	s = h
	for i := range w {
		w[i] = q[i] + s*v[i] + hh*(n16_1*a1[i]+n16_3*a3[i]+n16_4*a4[i]+n16_5*a5[i]+n16_6*a6[i]+n16_7*a7[i]+n16_8*a8[i]+n16_9*a9[i]+n16_10*a10[i]+n16_11*a11[i]+n16_12*a12[i]+n16_13*a13[i]+n16_14*a14[i]+n16_15*a15[i])
	}
	f.Accelerations(a16, t+s, w)
	s = h
	for i := range w {
		w[i] = q[i] + s*v[i] + hh*(n17_1*a1[i]+n17_3*a3[i]+n17_4*a4[i]+n17_5*a5[i]+n17_6*a6[i]+n17_7*a7[i]+n17_8*a8[i]+n17_9*a9[i]+n17_10*a10[i]+n17_11*a11[i]+n17_12*a12[i]+n17_13*a13[i]+n17_14*a14[i]+n17_15*a15[i])
	}
	f.Accelerations(a17, t+s, w)
	d.evaluations += 16
	d.h = h
	return d.close(h)
}

// close sums the step from its stages and measures its error: the difference
// of the two orders in coordinates and velocities, root mean square.
func (d *nystrom12) close(h float64) float64 {
	m := d.n / 2
	q, v, qAfter, vAfter := d.y[:m], d.y[m:2*m], d.after[:m], d.after[m:2*m]
	a1, a7, a8 := d.k1[m:2*m], d.a7[:m], d.a8[:m]
	a9, a10, a11, a12, a13, a14, a15, a16, a17 := d.a9[:m], d.a10[:m], d.a11[:m], d.a12[:m], d.a13[:m], d.a14[:m], d.a15[:m], d.a16[:m], d.a17[:m]
	hh := h * h
	sum := 0.0
	for i := range q {
		dq := nq1*a1[i] + nq7*a7[i] + nq8*a8[i] + nq9*a9[i] + nq10*a10[i] + nq11*a11[i] + nq12*a12[i] + nq13*a13[i] + nq14*a14[i] + nq15*a15[i]
		eq := (nq1-mq1)*a1[i] + (nq7-mq7)*a7[i] + (nq8-mq8)*a8[i] + (nq9-mq9)*a9[i] + (nq10-mq10)*a10[i] + (nq11-mq11)*a11[i] + (nq12-mq12)*a12[i] + (nq13-mq13)*a13[i] + (nq14-mq14)*a14[i] + (nq15-mq15)*a15[i]
		dv := nv1*a1[i] + nv7*a7[i] + nv8*a8[i] + nv9*a9[i] + nv10*a10[i] + nv11*a11[i] + nv12*a12[i] + nv13*a13[i] + nv14*a14[i] + nv15*a15[i] + nv16*a16[i] + nv17*a17[i]
		ev := (nv1-mv1)*a1[i] + (nv7-mv7)*a7[i] + (nv8-mv8)*a8[i] + (nv9-mv9)*a9[i] + (nv10-mv10)*a10[i] + (nv11-mv11)*a11[i] + (nv12-mv12)*a12[i] + (nv13-mv13)*a13[i] + (nv14-mv14)*a14[i] + (nv15-mv15)*a15[i] + (nv16-mv16)*a16[i] + nv17*a17[i]
		qAfter[i], d.left[i] = add(q[i], h*v[i]+hh*dq+d.carry[i])
		vAfter[i], d.left[m+i] = add(v[i], h*dv+d.carry[m+i])
		eq *= hh / (d.absolute[i] + d.relative[i]*max(math.Abs(q[i]), math.Abs(qAfter[i])))
		ev *= h / (d.absolute[m+i] + d.relative[m+i]*max(math.Abs(v[i]), math.Abs(vAfter[i])))
		sum += eq*eq + ev*ev
	}
	return sum / float64(d.n)
}

// accept takes the step last attempted.
func (d *nystrom12) accept(t float64) {
	m := d.n / 2
	d.y, d.yPrev, d.after = d.after, d.y, d.yPrev
	d.carry, d.left = d.left, d.carry
	d.k1, d.kPrev = d.kPrev, d.k1
	d.tPrev, d.t = d.t, t
	copy(d.k1[:m], d.y[m:])
	d.f.Accelerations(d.k1[m:], t, d.y[:m])
	d.evaluations++
}
