package motion

import "math"

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

// splitting is a symmetric composition of drifts q += a_k h ∂T/∂p and kicks
// p -= b_k h ∂V/∂q for a separable Hamiltonian.
type splitting struct {
	uniform
	drifts, kicks []float64 // one drift more than kicks
	separable     Separable
	accelerator   Accelerator // instead, with unit masses
}

func (s *splitting) attempt(h float64) float64 {
	m := s.n / 2
	q, p := s.after[:m], s.after[m:2*m]
	copy(s.after, s.y)
	copy(s.left, s.carry)
	cq, cp := s.left[:m], s.left[m:2*m]
	f := s.w[:m]
	t := s.t
	for k, a := range s.drifts {
		if a != 0 {
			v := p
			if s.separable != nil {
				v = s.w[m : 2*m]
				s.separable.Velocities(v, p)
			}
			for i := range q {
				q[i], cq[i] = add(q[i], a*h*v[i]+cq[i])
			}
			t += a * h
		}
		if k == len(s.kicks) {
			break
		}
		if s.separable != nil {
			s.separable.Forces(f, t, q)
		} else {
			s.accelerator.Accelerations(f, t, q)
		}
		s.evaluations++
		b := s.kicks[k] * h
		for i := range p {
			p[i], cp[i] = add(p[i], b*f[i]+cp[i])
		}
	}
	return finite(s.after)
}

// Coefficients of splittings: the drifts and kicks of half a step, the rest
// follows from symmetry and from sums of 1.
//
// Sources: S. Blanes and P. C. Moan, Practical symplectic partitioned
// Runge-Kutta and Runge-Kutta-Nyström methods, J. Comput. Appl. Math. 142
// (2002) 313-330, table 2 (S6, order 4); W. Kahan and R.-C. Li, Composition
// constants for raising the orders of unconventional schemes for ordinary
// differential equations, Math. Comp. 66 (1997) 1089-1099 (s9odr6a,
// s17odr8a); both as quoted in Hairer, Lubich and Wanner, Geometric Numerical
// Integration (2nd ed., 2006), section V.3. Orders are tested.
var (
	blanesMoanDrifts = []float64{0.0792036964311957, 0.353172906049774, -0.0420650803577195}
	blanesMoanKicks  = []float64{0.209515106613362, -0.143851773179818}

	kahanLi6Weights = []float64{
		0.39216144400731413927925056, 0.33259913678935943859974864, -0.70624617255763935980996482,
		0.08221359629355080023149045, 0.79854399093482996339895035,
	}
	kahanLi8Weights = []float64{
		0.13020248308889008087881763, 0.56116298177510838456196441, -0.38947496264484728640807860,
		0.15884190655515560089621075, -0.39590389413323757733623154, 0.18453964097831570709183254,
		0.25837438768632204729397911, 0.29501172360931029887096624, -0.60550853383003451169892108,
	}
)

// mirrored completes the first half of a symmetric row whose sum is 1 and
// whose middle element appears once (odd) or twice.
func mirrored(half []float64, odd bool) []float64 {
	sum := 0.0
	for _, v := range half {
		sum += v
	}
	middle := 1 - 2*sum
	row := append([]float64(nil), half...)
	if odd {
		row = append(row, middle)
	} else {
		row = append(row, middle/2, middle/2)
	}
	for i := len(half) - 1; i >= 0; i-- {
		row = append(row, half[i])
	}
	return row
}

// composed returns drifts and kicks of a composition of Verlet steps whose
// weights are given up to the middle one.
func composed(weights []float64) (drifts, kicks []float64) {
	kicks = mirrored(weights[:len(weights)-1], true)
	drifts = make([]float64, len(kicks)+1)
	for i, w := range kicks {
		drifts[i] += w / 2
		drifts[i+1] += w / 2
	}
	return drifts, kicks
}

// newSplitting returns the splitting of the named method, or nil if the system
// is not separable.
func newSplitting(m Method, s System) *splitting {
	p := &splitting{}
	if f, ok := s.(Separable); ok {
		p.separable = f
	} else if f, ok := asAccelerator(s); ok {
		p.accelerator = f
	} else {
		return nil
	}
	order := 0
	switch m {
	case SymplecticEuler:
		p.drifts, p.kicks, order = []float64{0, 1}, []float64{1}, 1
	case Verlet:
		p.drifts, p.kicks, order = []float64{0.5, 0.5}, []float64{1}, 2
	case BlanesMoan4:
		p.drifts, p.kicks, order = mirrored(blanesMoanDrifts, true), nil, 4
		// six kicks: b1 b2 b3 b3 b2 b1
		p.kicks = mirrored(blanesMoanKicks, false)
	case KahanLi6:
		p.drifts, p.kicks = composed(kahanLi6Weights)
		order = 6
	case KahanLi8:
		p.drifts, p.kicks = composed(kahanLi8Weights)
		order = 8
	}
	p.uniform = newUniform(s, order)
	return p
}

// gauss is the collocation method of Gauss with s stages and order 2s,
// symplectic for every Hamiltonian system. The stages are found by fixed-point
// iteration, down to rounding.
//
// Source: Hairer, Lubich and Wanner, Geometric Numerical Integration (2nd
// ed.), sections II.1.3 and VIII.6.
type gauss struct {
	uniform
	m collocation
	z [][]float64 // stage increments
	k [][]float64 // stage rates
}

func newGauss(s System, stages int) *gauss {
	g := &gauss{uniform: newUniform(s, 2*stages), m: gaussCollocation(stages)}
	for range stages {
		g.z = append(g.z, make([]float64, g.n))
		g.k = append(g.k, make([]float64, g.n))
	}
	return g
}

func (g *gauss) begin(t float64, y []float64) {
	g.uniform.begin(t, y)
	g.system.Rates(g.k1, t, y)
	g.evaluations++
	for i := range g.k {
		copy(g.k[i], g.k1)
	}
}

// maxGaussIterations bounds the fixed-point iteration: where it does not
// converge in so many, the step is too large for the problem.
const maxGaussIterations = 100

func (g *gauss) attempt(h float64) float64 {
	last := math.Inf(1)
	for iteration := 0; ; iteration++ {
		change := 0.0
		for i, z := range g.z {
			for c := range z {
				sum := 0.0
				for j, a := range g.m.a[i] {
					sum += a * g.k[j][c]
				}
				v := h * sum
				change = math.Max(change, math.Abs(v-z[c])/(1e-300+math.Abs(g.y[c])+math.Abs(v)))
				z[c] = v
			}
		}
		for i, z := range g.z {
			for c := range z {
				g.w[c] = g.y[c] + z[c]
			}
			g.system.Rates(g.k[i], g.t+g.m.c[i]*h, g.w)
			g.evaluations++
		}
		if math.IsNaN(change) {
			return math.NaN()
		}
		// stop when rounding alone is left: the changes no longer fall
		if iteration > 0 && (change == 0 || (change >= last && change < 1e-12)) {
			break
		}
		if last = change; iteration == maxGaussIterations {
			return math.Inf(1)
		}
	}
	for c := range g.y {
		sum := 0.0
		for j, b := range g.m.b {
			sum += b * g.k[j][c]
		}
		g.after[c], g.left[c] = add(g.y[c], h*sum+g.carry[c])
	}
	return finite(g.after)
}
