package motion

import "math"

// Coefficients of the Dormand-Prince pair of orders 5(4) with dense output of
// order 4; the names are those of Hairer's program dopri5.f.
//
// Source: Hairer, Nørsett and Wanner I (2nd ed.), table II.5.2 and (II.6.12).
const (
	g2_1 = 1.0 / 5
	g3_1 = 3.0 / 40
	g3_2 = 9.0 / 40
	g4_1 = 44.0 / 45
	g4_2 = -56.0 / 15
	g4_3 = 32.0 / 9
	g5_1 = 19372.0 / 6561
	g5_2 = -25360.0 / 2187
	g5_3 = 64448.0 / 6561
	g5_4 = -212.0 / 729
	g6_1 = 9017.0 / 3168
	g6_2 = -355.0 / 33
	g6_3 = 46732.0 / 5247
	g6_4 = 49.0 / 176
	g6_5 = -5103.0 / 18656
	g7_1 = 35.0 / 384
	g7_3 = 500.0 / 1113
	g7_4 = 125.0 / 192
	g7_5 = -2187.0 / 6784
	g7_6 = 11.0 / 84

	ge1 = 71.0 / 57600
	ge3 = -71.0 / 16695
	ge4 = 71.0 / 1920
	ge5 = -17253.0 / 339200
	ge6 = 22.0 / 525
	ge7 = -1.0 / 40

	gd1 = -12715105075.0 / 11282082432
	gd3 = 87487479700.0 / 32700410799
	gd4 = -10690763975.0 / 1880347072
	gd5 = 701980252875.0 / 199316789632
	gd6 = -1453857185.0 / 822651844
	gd7 = 69997945.0 / 29380423
)

// dopri5 is the explicit Runge-Kutta pair of Dormand and Prince of orders
// 5(4): six evaluations a step, none more for the dense output.
type dopri5 struct {
	explicit
	k2, k3, k4, k5, k6, k7 []float64
}

func newDopri5(s System, relative, absolute []float64) *dopri5 {
	d := &dopri5{explicit: newExplicit(s, relative, absolute)}
	d.control = controller{order: 5, alpha: 1.0/5 - 0.75*0.04, beta: 0.04, shrink: 0.2, grow: 10}
	vectors(d.n, &d.k2, &d.k3, &d.k4, &d.k5, &d.k6, &d.k7)
	return d
}

func (d *dopri5) attempt(h float64) float64 {
	s, t, n := d.system, d.t, d.n
	y, w, after, carry, left := d.y[:n], d.w[:n], d.after[:n], d.carry[:n], d.left[:n]
	k1, k2, k3, k4, k5, k6, k7 := d.k1[:n], d.k2[:n], d.k3[:n], d.k4[:n], d.k5[:n], d.k6[:n], d.k7[:n]
	for i := range w {
		w[i] = y[i] + h*(g2_1*k1[i])
	}
	s.Rates(k2, t+h/5, w)
	for i := range w {
		w[i] = y[i] + h*(g3_1*k1[i]+g3_2*k2[i])
	}
	s.Rates(k3, t+3*h/10, w)
	for i := range w {
		w[i] = y[i] + h*(g4_1*k1[i]+g4_2*k2[i]+g4_3*k3[i])
	}
	s.Rates(k4, t+4*h/5, w)
	for i := range w {
		w[i] = y[i] + h*(g5_1*k1[i]+g5_2*k2[i]+g5_3*k3[i]+g5_4*k4[i])
	}
	s.Rates(k5, t+8*h/9, w)
	for i := range w {
		w[i] = y[i] + h*(g6_1*k1[i]+g6_2*k2[i]+g6_3*k3[i]+g6_4*k4[i]+g6_5*k5[i])
	}
	s.Rates(k6, t+h, w)
	for i := range w {
		after[i], left[i] = add(y[i], h*(g7_1*k1[i]+g7_3*k3[i]+g7_4*k4[i]+g7_5*k5[i]+g7_6*k6[i])+carry[i])
	}
	s.Rates(k7, t+h, after)
	d.evaluations += 6
	d.h = h
	sum := 0.0
	for i := range w {
		e := h * (ge1*k1[i] + ge3*k3[i] + ge4*k4[i] + ge5*k5[i] + ge6*k6[i] + ge7*k7[i])
		e /= d.absolute[i] + d.relative[i]*max(math.Abs(y[i]), math.Abs(after[i]))
		sum += e * e
	}
	return sum / float64(n)
}

// accept takes the step last attempted; its last rates are the next step's first.
func (d *dopri5) accept(t float64) {
	d.y, d.yPrev, d.after = d.after, d.y, d.yPrev
	d.carry, d.left = d.left, d.carry
	d.k1, d.kPrev, d.k7 = d.k7, d.k1, d.kPrev
	d.tPrev, d.t = d.t, t
}

// strained: the method's stability limit on the real axis is 3.3.
func (d *dopri5) strained() bool { return d.stretch(d.k6) > 2.8 }

func (d *dopri5) dense(p *polynomial) {
	h, n := d.h, d.n
	c := p.reset(d.tPrev, h, n, 4)
	k1, k7 := d.kPrev, d.k1
	var r, b [5]float64
	for i, y := range d.yPrev {
		r[0] = y
		r[1] = d.y[i] - y
		r[2] = h*k1[i] - r[1]
		r[3] = r[1] - h*k7[i] - r[2]
		r[4] = h * (gd1*k1[i] + gd3*d.k3[i] + gd4*d.k4[i] + gd5*d.k5[i] + gd6*d.k6[i] + gd7*k7[i])
		unnest(b[:], r[:])
		for k, v := range b {
			c[k*n+i] = v
		}
	}
}
