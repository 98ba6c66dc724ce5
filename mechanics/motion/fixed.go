package motion

// uniform is what methods with a fixed step have in common. An attempt is
// always acceptable unless it is not a number; the dense output is the cubic
// through both ends and their rates.
type uniform struct {
	explicit
}

func newUniform(s System, order int) uniform {
	u := uniform{explicit: newExplicit(s, nil, nil)}
	u.control.order = order
	return u
}

func (u *uniform) begin(t float64, y []float64) {
	u.t, u.tPrev, u.h = t, t, 0
	copy(u.y, y)
	clear(u.carry)
}

func (u *uniform) accept(t float64) {
	u.y, u.yPrev, u.after = u.after, u.y, u.yPrev
	u.carry, u.left = u.left, u.carry
	u.tPrev, u.t = u.t, t
}

func (u *uniform) dense(p *polynomial) {
	u.system.Rates(u.kPrev, u.tPrev, u.yPrev)
	u.system.Rates(u.k1, u.t, u.y)
	u.evaluations += 2
	p.hermite(u.tPrev, u.t-u.tPrev, u.yPrev, u.kPrev, u.y, u.k1)
}

// finite returns 0 where all of y are finite and not-a-number otherwise.
func finite(y []float64) float64 {
	sum := 0.0
	for _, v := range y {
		sum += v * 0
	}
	return sum
}

// euler is Euler's polygon.
type euler struct{ uniform }

func (e *euler) attempt(h float64) float64 {
	e.system.Rates(e.k1, e.t, e.y)
	e.evaluations++
	for i, k := range e.k1 {
		e.after[i], e.left[i] = add(e.y[i], h*k+e.carry[i])
	}
	return finite(e.after)
}

// rk4 is the classical Runge-Kutta method.
//
// Source: Hairer, Nørsett and Wanner I, table II.1.2.
type rk4 struct {
	uniform
	k2, k3, k4 []float64
}

func newRK4(s System) *rk4 {
	r := &rk4{uniform: newUniform(s, 4)}
	r.k2, r.k3, r.k4 = make([]float64, r.n), make([]float64, r.n), make([]float64, r.n)
	return r
}

func (r *rk4) attempt(h float64) float64 {
	s, t, y, w := r.system, r.t, r.y, r.w
	s.Rates(r.k1, t, y)
	for i, k := range r.k1 {
		w[i] = y[i] + h/2*k
	}
	s.Rates(r.k2, t+h/2, w)
	for i, k := range r.k2 {
		w[i] = y[i] + h/2*k
	}
	s.Rates(r.k3, t+h/2, w)
	for i, k := range r.k3 {
		w[i] = y[i] + h*k
	}
	s.Rates(r.k4, t+h, w)
	r.evaluations += 4
	for i := range y {
		r.after[i], r.left[i] = add(y[i], h/6*(r.k1[i]+2*(r.k2[i]+r.k3[i])+r.k4[i])+r.carry[i])
	}
	return finite(r.after)
}
