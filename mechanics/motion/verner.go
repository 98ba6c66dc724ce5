package motion

import "math"

// verner9 is Verner's explicit Runge-Kutta pair of orders 9(8): sixteen
// evaluations a step, of steps so much longer than those of the pair 8(5,3)
// that an error of 1e-9 costs a quarter less.
//
// Source: see verner_coefficients.go.
type verner9 struct {
	explicit
	k2, k3, k4, k5, k6, k7, k8, k9, k10, k11, k12, k13, k14, k15, k16 []float64
}

func newVerner9(s System, relative, absolute []float64) *verner9 {
	d := &verner9{explicit: newExplicit(s, relative, absolute)}
	d.control = controller{order: 9, alpha: 1.0 / 9, shrink: 1.0 / 3, grow: 6}
	vectors(d.n, &d.k2, &d.k3, &d.k4, &d.k5, &d.k6, &d.k7, &d.k8, &d.k9, &d.k10, &d.k11, &d.k12, &d.k13, &d.k14, &d.k15, &d.k16)
	return d
}

func (d *verner9) attempt(h float64) float64 {
	s, t, n := d.system, d.t, d.n
	y, w := d.y[:n], d.w[:n]
	k1, k2, k3, k4, k5, k6, k7, k8 := d.k1[:n], d.k2[:n], d.k3[:n], d.k4[:n], d.k5[:n], d.k6[:n], d.k7[:n], d.k8[:n]
	k9, k10, k11, k12, k13, k14, k15, k16 := d.k9[:n], d.k10[:n], d.k11[:n], d.k12[:n], d.k13[:n], d.k14[:n], d.k15[:n], d.k16[:n]
	for i := range w {
		w[i] = y[i] + h*(v2_1*k1[i])
	}
	s.Rates(k2, t+vc2*h, w)
	for i := range w {
		w[i] = y[i] + h*(v3_1*k1[i]+v3_2*k2[i])
	}
	s.Rates(k3, t+vc3*h, w)
	for i := range w {
		w[i] = y[i] + h*(v4_1*k1[i]+v4_3*k3[i])
	}
	s.Rates(k4, t+vc4*h, w)
	for i := range w {
		w[i] = y[i] + h*(v5_1*k1[i]+v5_3*k3[i]+v5_4*k4[i])
	}
	s.Rates(k5, t+vc5*h, w)
	for i := range w {
		w[i] = y[i] + h*(v6_1*k1[i]+v6_4*k4[i]+v6_5*k5[i])
	}
	s.Rates(k6, t+vc6*h, w)
	for i := range w {
		w[i] = y[i] + h*(v7_1*k1[i]+v7_4*k4[i]+v7_5*k5[i]+v7_6*k6[i])
	}
	s.Rates(k7, t+vc7*h, w)
	for i := range w {
		w[i] = y[i] + h*(v8_1*k1[i]+v8_6*k6[i]+v8_7*k7[i])
	}
	s.Rates(k8, t+vc8*h, w)
	for i := range w {
		w[i] = y[i] + h*(v9_1*k1[i]+v9_6*k6[i]+v9_7*k7[i]+v9_8*k8[i])
	}
	s.Rates(k9, t+vc9*h, w)
	for i := range w {
		w[i] = y[i] + h*(v10_1*k1[i]+v10_6*k6[i]+v10_7*k7[i]+v10_8*k8[i]+v10_9*k9[i])
	}
	s.Rates(k10, t+vc10*h, w)
	for i := range w {
		w[i] = y[i] + h*(v11_1*k1[i]+v11_6*k6[i]+v11_7*k7[i]+v11_8*k8[i]+v11_9*k9[i]+v11_10*k10[i])
	}
	s.Rates(k11, t+vc11*h, w)
	for i := range w {
		w[i] = y[i] + h*(v12_1*k1[i]+v12_6*k6[i]+v12_7*k7[i]+v12_8*k8[i]+v12_9*k9[i]+v12_10*k10[i]+v12_11*k11[i])
	}
	s.Rates(k12, t+vc12*h, w)
	for i := range w {
		w[i] = y[i] + h*(v13_1*k1[i]+v13_6*k6[i]+v13_7*k7[i]+v13_8*k8[i]+v13_9*k9[i]+v13_10*k10[i]+v13_11*k11[i]+v13_12*k12[i])
	}
	s.Rates(k13, t+vc13*h, w)
	for i := range w {
		w[i] = y[i] + h*(v14_1*k1[i]+v14_6*k6[i]+v14_7*k7[i]+v14_8*k8[i]+v14_9*k9[i]+v14_10*k10[i]+v14_11*k11[i]+v14_12*k12[i]+v14_13*k13[i])
	}
	s.Rates(k14, t+vc14*h, w)
	for i := range w {
		w[i] = y[i] + h*(v15_1*k1[i]+v15_6*k6[i]+v15_7*k7[i]+v15_8*k8[i]+v15_9*k9[i]+v15_10*k10[i]+v15_11*k11[i]+v15_12*k12[i]+v15_13*k13[i]+v15_14*k14[i])
	}
	s.Rates(k15, t+h, w)
	for i := range w {
		w[i] = y[i] + h*(v16_1*k1[i]+v16_6*k6[i]+v16_7*k7[i]+v16_8*k8[i]+v16_9*k9[i]+v16_10*k10[i]+v16_11*k11[i]+v16_12*k12[i]+v16_13*k13[i])
	}
	s.Rates(k16, t+h, w)
	d.evaluations += 15
	d.h = h
	return d.close(h)
}

// close sums the step from its stages and measures its error: the difference of
// the two orders, root mean square.
func (d *verner9) close(h float64) float64 {
	n := d.n
	y, after, carry, left := d.y[:n], d.after[:n], d.carry[:n], d.left[:n]
	relative, absolute := d.relative[:n], d.absolute[:n]
	k1, k8, k9, k10, k11, k12 := d.k1[:n], d.k8[:n], d.k9[:n], d.k10[:n], d.k11[:n], d.k12[:n]
	k13, k14, k15, k16 := d.k13[:n], d.k14[:n], d.k15[:n], d.k16[:n]
	sum := 0.0
	for i := range y {
		b := vb1*k1[i] + vb8*k8[i] + vb9*k9[i] + vb10*k10[i] + vb11*k11[i] + vb12*k12[i] + vb13*k13[i] + vb14*k14[i] + vb15*k15[i]
		e := ve1*k1[i] + ve8*k8[i] + ve9*k9[i] + ve10*k10[i] + ve11*k11[i] + ve12*k12[i] + ve13*k13[i] + ve14*k14[i] + ve15*k15[i] + ve16*k16[i]
		after[i], left[i] = add(y[i], h*b+carry[i])
		e /= absolute[i] + relative[i]*max(math.Abs(y[i]), math.Abs(after[i]))
		sum += e * e
	}
	return h * h * sum / float64(n)
}

// strained compares the last stage, which lies at the step's end, with the end
// itself. At the limit of stability |h| times the eigenvalue that shows there is
// 4.5; for one that is real and negative, a component that dies away within the
// step, suspicion starts at 2, where such a component's error begins to bound the
// steps. A motion that swings or flies by gives less, or not for long.
func (d *verner9) strained() bool {
	n := d.n
	y, w, fresh, rates := d.y[:n], d.w[:n], d.k1[:n], d.k16[:n]
	along, up, down := 0.0, 0.0, 0.0
	for i := range y {
		// in units of the tolerance, so that a small stiff component shows
		q := 1 / (d.absolute[i] + d.relative[i]*math.Abs(y[i]))
		a, b := q*d.h*(fresh[i]-rates[i]), q*(y[i]-w[i])
		along += a * b
		up += a * a
		down += b * b
	}
	return -along > 2*down && up < 36*down || up > 12*down && up < 28*down
}
