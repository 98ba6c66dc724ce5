package motion

import "math"

// radau is the implicit Runge-Kutta method Radau IIA with s = 3, 5 or 7 stages
// and order 2s-1, stiffly accurate and L-stable. Its dense output is the
// collocation polynomial, so it stays on the slow motion where the problem is
// stiff.
//
// Source: Hairer and Wanner, Solving Ordinary Differential Equations II (2nd
// ed., 1996), section IV.8, and their programs radau5.f and radau.f: simplified
// Newton iteration in the eigenbasis of the method's matrix, error estimate
// filtered by the real factor, predictive control. A step costs one
// factorisation of a real and (s-1)/2 of complex n×n matrices.
type radau struct {
	explicit
	*radauTable
	jacobian func(dst []float64, t float64, y []float64)

	rtol, atol []float64 // of the error estimate, whose order is lower
	scale      []float64 // 1/tolerance at y
	limit      float64   // of the Newton iteration's error, in tolerances

	j          []float64 // ∂f/∂y, row by row
	fresh      bool      // j belongs to the present state
	real       realLU
	complexes  []complexLU
	factored   float64 // the step for which the factors hold
	jacobians  int
	converging float64 // rate of the last Newton iteration
	failed     bool    // the last attempt found no solution
	iterations int

	z, f  [][]float64    // stage increments and rates
	w0    []float64      // increments in the real eigenvector
	wc    [][]complex128 // and in the complex ones
	r0    []float64
	rc    [][]complex128
	u     [][]float64 // coefficients of the last step's polynomial, from θ up
	guess bool        // u can be extrapolated
	e     []float64

	hBefore, errBefore, lastStep float64
}

// newRadau returns the method whose order suits the tolerances.
func newRadau(s System, jacobian func([]float64, float64, []float64), relative, absolute []float64) *radau {
	tightest := math.Inf(1)
	for i := range relative {
		tightest = math.Min(tightest, math.Max(relative[i], absolute[i]))
	}
	stages := 5
	switch {
	case tightest > 1e-4:
		stages = 3
	case tightest < 1e-8:
		stages = 7
	}
	r := &radau{explicit: newExplicit(s, relative, absolute), radauTable: radauTables[stages], jacobian: jacobian}
	n := r.n
	r.control.order = 2*stages - 1
	if r.jacobian == nil {
		r.jacobian = differences(s)
	}
	// The estimate has order s, the method 2s-1: what is asked of the estimate
	// is accordingly less (Hairer's radau.f).
	exponent := float64(stages+1) / float64(2*stages)
	r.rtol, r.atol, r.scale = make([]float64, n), make([]float64, n), make([]float64, n)
	loosest := 0.0
	for i := range n {
		if relative[i] > 0 {
			r.rtol[i] = 0.1 * math.Pow(relative[i], exponent)
			r.atol[i] = absolute[i] * r.rtol[i] / relative[i]
		} else {
			r.atol[i] = 0.1 * math.Pow(absolute[i], exponent)
		}
		loosest = math.Max(loosest, math.Max(r.rtol[i], r.atol[i]))
	}
	r.limit = math.Max(10*2.2e-16/loosest, math.Min(0.03, math.Pow(loosest, 0.5)))
	r.j = make([]float64, n*n)
	r.real = newRealLU(n)
	r.w0, r.r0, r.e = make([]float64, n), make([]float64, n), make([]float64, n)
	for range r.mu {
		r.complexes = append(r.complexes, newComplexLU(n))
		r.wc, r.rc = append(r.wc, make([]complex128, n)), append(r.rc, make([]complex128, n))
	}
	for range stages {
		r.z, r.f, r.u = append(r.z, make([]float64, n)), append(r.f, make([]float64, n)), append(r.u, make([]float64, n))
	}
	return r
}

// differences returns a Jacobian by forward differences.
func differences(s System) func(dst []float64, t float64, y []float64) {
	n := s.Dim()
	base, moved, x := make([]float64, n), make([]float64, n), make([]float64, n)
	return func(dst []float64, t float64, y []float64) {
		s.Rates(base, t, y)
		copy(x, y)
		for j := range n {
			d := math.Sqrt(2.2e-16 * math.Max(1e-5, math.Abs(y[j])))
			x[j] = y[j] + d
			d = x[j] - y[j]
			s.Rates(moved, t, x)
			x[j] = y[j]
			for i := range n {
				dst[i*n+j] = (moved[i] - base[i]) / d
			}
		}
	}
}

func (r *radau) count() (int, int) { return r.evaluations, r.jacobians }

func (r *radau) begin(t float64, y []float64) {
	r.explicit.begin(t, y)
	r.fresh, r.guess, r.factored = false, false, 0
	r.hBefore, r.errBefore, r.lastStep = 0, 1e-2, 0
	r.converging = 1
}

func (r *radau) attempt(h float64) float64 {
	r.failed = true
	if !r.fresh {
		// A Jacobian of every state: an old one still lets the iteration
		// converge, but filters the error estimate wrongly.
		r.jacobian(r.j, r.t, r.y)
		r.jacobians++
		r.fresh, r.factored = true, 0
	}
	if r.factored != h && !r.factor(h) {
		return math.Inf(1)
	}
	for i, y := range r.y {
		r.scale[i] = 1 / (r.atol[i] + r.rtol[i]*math.Abs(y))
	}
	r.start(h)
	if !r.solve(h) {
		return math.Inf(1)
	}
	r.failed = false
	r.h = h
	last := r.z[r.s-1]
	for i := range r.y {
		r.after[i], r.left[i] = add(r.y[i], last[i]+r.carry[i])
	}
	return r.estimate(h)
}

// factor prepares the linear systems for the step h.
func (r *radau) factor(h float64) bool {
	n := r.n
	for i := range n * n {
		r.real.a[i] = -r.j[i]
	}
	for i := range n {
		r.real.a[i*n+i] += r.gamma / h
	}
	ok := r.real.factor()
	for p := range r.complexes {
		lu := &r.complexes[p]
		for i := range n * n {
			lu.a[i] = complex(-r.j[i], 0)
		}
		for i := range n {
			lu.a[i*n+i] += r.mu[p] / complex(h, 0)
		}
		ok = lu.factor() && ok
	}
	r.factored = h
	if !ok {
		r.factored = 0
	}
	return ok
}

// start guesses the increments from the polynomial of the last step.
func (r *radau) start(h float64) {
	if !r.guess {
		for _, z := range r.z {
			clear(z)
		}
		r.transform()
		return
	}
	ratio := h / r.hBefore
	for j, z := range r.z {
		x := 1 + r.c[j]*ratio
		for i := range z {
			sum := 0.0
			for k := r.s - 1; k >= 0; k-- {
				sum = (sum + r.u[k][i]) * x
			}
			z[i] = sum + (r.yPrev[i] - r.y[i])
		}
	}
	r.transform()
}

// transform writes the increments in the eigenbasis.
func (r *radau) transform() {
	for i := range r.n {
		sum := 0.0
		for j, z := range r.z {
			sum += r.i0[j] * z[i]
		}
		r.w0[i] = sum
		for p := range r.wc {
			re, im := 0.0, 0.0
			for j, z := range r.z {
				q := r.ic[p][j]
				re += real(q) * z[i]
				im += imag(q) * z[i]
			}
			r.wc[p][i] = complex(re, im)
		}
	}
}

const maxNewton = 10

// solve iterates until the increments are as good as the tolerance asks and
// reports whether they are.
func (r *radau) solve(h float64) bool {
	n, s := r.n, r.s
	before, rate := 0.0, 0.0
	// the factor from the last change to the error, as the last step had it; its
	// trust fades while steps go by with one iteration
	eta := math.Pow(math.Max(r.converging, 1e-3), 0.8)
	for r.iterations = 1; ; r.iterations++ {
		for j, z := range r.z {
			for i := range z {
				r.w[i] = r.y[i] + z[i]
			}
			r.system.Rates(r.f[j], r.t+r.c[j]*h, r.w)
		}
		r.evaluations += s
		norm := 0.0
		for i := range n {
			sum := 0.0
			for j := range s {
				sum += r.i0[j] * r.f[j][i]
			}
			r.r0[i] = sum - r.gamma/h*r.w0[i]
		}
		r.real.solve(r.r0)
		for i, v := range r.r0 {
			r.w0[i] += v
		}
		for p := range r.wc {
			x := r.rc[p]
			m := r.mu[p] / complex(h, 0)
			for i := range n {
				re, im := 0.0, 0.0
				for j := range s {
					q := r.ic[p][j]
					re += real(q) * r.f[j][i]
					im += imag(q) * r.f[j][i]
				}
				x[i] = complex(re, im) - m*r.wc[p][i]
			}
			r.complexes[p].solve(x)
			for i, v := range x {
				r.wc[p][i] += v
			}
		}
		// back, measuring the change of the increments
		for j, z := range r.z {
			for i := range z {
				v := r.t0[j] * r.w0[i]
				for p := range r.wc {
					a, b := r.tc[j][p], r.wc[p][i]
					v += 2 * (real(a)*real(b) - imag(a)*imag(b))
				}
				d := (v - z[i]) * r.scale[i]
				norm += d * d
				z[i] = v
			}
		}
		norm = math.Sqrt(norm / float64(n*s))
		if !(norm < 1e50) {
			return false
		}
		if r.iterations > 1 {
			rate = norm / before
			if r.iterations > 2 && rate >= 1 && norm > r.limit || rate > 10 {
				return false
			}
			if rate < 1 {
				eta = rate / (1 - rate)
				// will the iterations left suffice?
				if left := maxNewton - r.iterations; norm*eta*math.Pow(rate, float64(left)) > r.limit*10 && norm*eta > r.limit {
					return false
				}
			}
		}
		before = norm
		if eta*norm <= r.limit || norm == 0 {
			r.converging = eta
			return true
		}
		if r.iterations == maxNewton {
			return false
		}
	}
}

// estimate returns the square of the scaled error of the step.
func (r *radau) estimate(h float64) float64 {
	// (γ/h - J) e = f0 + γ/h Σ d_j z_j
	sums := r.r0
	for i := range sums {
		sum := 0.0
		for j, z := range r.z {
			sum += r.d[j] * z[i]
		}
		sums[i] = sum * r.gamma / h
		r.e[i] = r.k1[i] + sums[i]
	}
	r.real.solve(r.e)
	err2 := r.square(r.e)
	if err2 > 1 && (r.hBefore == 0 || r.control.refused) {
		// once more through the filter: where the problem is stiff the first
		// estimate of a first step is far too large
		for i := range r.w {
			r.w[i] = r.y[i] + r.e[i]
		}
		r.system.Rates(r.e, r.t, r.w)
		r.evaluations++
		for i := range r.e {
			r.e[i] += sums[i]
		}
		r.real.solve(r.e)
		err2 = r.square(r.e)
	}
	return err2
}

func (r *radau) square(e []float64) float64 {
	sum := 0.0
	for i, v := range e {
		v *= r.scale[i]
		sum += v * v
	}
	return sum / float64(len(e))
}

func (r *radau) accept(t float64) {
	r.explicit.accept(t)
	for k := range r.u {
		for i := range r.u[k] {
			sum := 0.0
			for j, z := range r.z {
				sum += r.v[k][j] * z[i]
			}
			r.u[k][i] = sum
		}
	}
	r.guess, r.hBefore = true, r.h
	r.fresh = false
}

// next is Gustafsson's predictive controller: Hairer and Wanner II, (IV.8.22).
func (r *radau) next(err2 float64) float64 {
	err := math.Max(math.Sqrt(err2), 1e-10)
	exponent := 1 / float64(r.s+1)
	work := 0.9 * float64(2*maxNewton+1) / float64(2*maxNewton+r.iterations)
	factor := work * math.Pow(err, -exponent)
	if r.lastStep != 0 {
		predicted := work * (r.h / r.lastStep) * math.Pow(r.errBefore/(err*err), exponent)
		factor = math.Min(factor, predicted)
	}
	factor = math.Min(8, math.Max(0.2, factor))
	if r.control.refused {
		factor = math.Min(factor, 1)
	}
	r.control.refused = false
	r.lastStep, r.errBefore = r.h, math.Max(1e-2, err)
	return factor
}

func (r *radau) retry(err2 float64) float64 {
	r.control.refused = true
	if r.failed {
		return 0.5
	}
	if r.hBefore == 0 || !(err2 < math.Inf(1)) {
		return 0.1
	}
	return math.Max(0.1, 0.9*math.Pow(err2, -0.5/float64(r.s+1)))
}

func (r *radau) dense(p *polynomial) {
	c := p.reset(r.tPrev, r.h, r.n, r.s)
	copy(c, r.yPrev)
	for k, u := range r.u {
		copy(c[(k+1)*r.n:], u)
	}
}
