package motion

import "math"

// taylor sums the motion's own power series. Order and step follow from the
// last two coefficients; a step is never refused.
//
// Source: À. Jorba and M. Zou, A Software Package for the Numerical Integration
// of ODEs by Means of High-Order Taylor Methods, Experimental Mathematics 14
// (2005) 99-117, sections 3.2 and 3.3.
type taylor struct {
	system             System
	series             Series
	n, p               int
	relative, absolute []float64

	t, tPrev, h float64
	y, yPrev    []float64
	carry       []float64
	c, cPrev    []float64 // coefficients at y and at yPrev
	fits        float64   // the step that the coefficients at y allow
	evaluations int
}

func newTaylor(s System, f Series, relative, absolute []float64) (*taylor, error) {
	tightest := math.Inf(1)
	for i := range relative {
		tightest = math.Min(tightest, math.Max(relative[i], absolute[i]))
	}
	order := int(math.Ceil(1-0.5*math.Log(tightest))) + 1
	order = max(leastTaylorOrder, min(order, greatestTaylorOrder))
	n := s.Dim()
	r := &taylor{system: s, series: f, n: n, p: order, relative: relative, absolute: absolute}
	r.y, r.yPrev, r.carry = make([]float64, n), make([]float64, n), make([]float64, n)
	r.c, r.cPrev = make([]float64, n*(order+1)), make([]float64, n*(order+1))
	probe := make([]float64, n)
	if err := f.Series(r.c, order, 0, probe); err != nil {
		return nil, err
	}
	return r, nil
}

const (
	leastTaylorOrder    = 6
	greatestTaylorOrder = 30 // beyond it the cost grows faster than the step
)

func (r *taylor) begin(t float64, y []float64) {
	r.t, r.tPrev = t, t
	copy(r.y, y)
	clear(r.carry)
	r.expand()
}

// expand computes the coefficients at the present state and the step that
// they allow.
func (r *taylor) expand() {
	if err := r.series.Series(r.c, r.p, r.t, r.y); err != nil {
		r.fits = math.NaN() // told by the first attempt
		return
	}
	r.evaluations++
	n, p := r.n, r.p
	size, last, before := 0.0, 0.0, 0.0
	for i := range n {
		w := r.absolute[i] + r.relative[i]*math.Abs(r.y[i])
		size = math.Max(size, 1)
		last = math.Max(last, math.Abs(r.c[p*n+i])/w)
		before = math.Max(before, math.Abs(r.c[(p-1)*n+i])/w)
	}
	// the last two terms must stay below the tolerance, with e² to spare where
	// the order is that of the tolerance: (3-8) and (3-9) of the source
	rho := math.Inf(1)
	if before > 0 {
		rho = math.Pow(1/before, 1/float64(p-1))
	}
	if last > 0 {
		rho = math.Min(rho, math.Pow(1/last, 1/float64(p)))
	}
	r.fits = rho * math.Exp(-0.7/float64(p-1))
	if math.IsNaN(last) || math.IsNaN(before) {
		r.fits = math.NaN()
	}
}

// attempt refuses a step only if the coefficients are not finite or do not
// reach so far.
func (r *taylor) attempt(h float64) float64 {
	r.h = h
	if math.IsNaN(r.fits) {
		return math.NaN()
	}
	if math.Abs(h) > 1.02*r.fits {
		return 2
	}
	return 1
}

func (r *taylor) accept(t float64) {
	n := r.n
	r.y, r.yPrev = r.yPrev, r.y
	for i := range n {
		// the sum without the leading term, which compensation adds
		sum := r.c[r.p*n+i]
		for k := r.p - 1; k >= 1; k-- {
			sum = sum*r.h + r.c[k*n+i]
		}
		r.y[i], r.carry[i] = add(r.yPrev[i], sum*r.h+r.carry[i])
	}
	r.c, r.cPrev = r.cPrev, r.c
	r.tPrev, r.t = r.t, t
	r.expand()
}

func (r *taylor) dense(p *polynomial) {
	c := p.reset(r.tPrev, r.h, r.n, r.p)
	power := 1.0
	for k := 0; k <= r.p; k++ {
		for i := range r.n {
			c[k*r.n+i] = r.cPrev[k*r.n+i] * power
		}
		power *= r.h
	}
}

func (r *taylor) state() (float64, []float64)    { return r.t, r.y }
func (r *taylor) previous() (float64, []float64) { return r.tPrev, r.yPrev }
func (r *taylor) count() (int, int)              { return r.evaluations, 0 }
func (r *taylor) order() int                     { return r.p }
func (r *taylor) firstStep(span float64) float64 {
	return math.Copysign(math.Min(math.Abs(span), r.fits), span)
}
func (r *taylor) next(float64) float64 { return r.fits / math.Abs(r.h) }

func (r *taylor) retry(float64) float64 {
	if math.IsNaN(r.fits) {
		return 0
	}
	return r.fits / math.Abs(r.h)
}
