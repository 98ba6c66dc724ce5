package motion

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
