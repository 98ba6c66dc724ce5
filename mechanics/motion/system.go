package motion

// A System is the right-hand side of y' = f(t, y).
//
// Rates writes the derivative of the state y at the time t into dst, which has
// length Dim. It must not keep or change y, and need not be safe for
// concurrent use. A system that also has the methods of [Jacobian], [Series],
// [Accelerator], [Separable], [Energetic] or [Constrained] is integrated
// with their help.
type System interface {
	Dim() int
	Rates(dst []float64, t float64, y []float64)
}

// A Jacobian gives ∂f/∂y exactly; without it implicit methods use differences.
type Jacobian interface {
	// Jacobian writes ∂f_i/∂y_j at (t, y) into dst[i*Dim+j].
	Jacobian(dst []float64, t float64, y []float64)
}

// A Series gives the Taylor coefficients of the motion through a state.
type Series interface {
	// Series writes into dst[k*Dim+i] the coefficient of (s-t)^k in the i-th
	// component of the motion y(s) with y(t) = y, for k from 0 to order. It
	// returns an error if the right-hand side has no series.
	Series(dst []float64, order int, t float64, y []float64) error
}

// series is a Series that always has one.
type series interface {
	Series(dst []float64, order int, t float64, y []float64)
}

type sureSeries struct{ series }

func (s sureSeries) Series(dst []float64, order int, t float64, y []float64) error {
	s.series.Series(dst, order, t, y)
	return nil
}

// asSeries returns the system as a Series if it is one.
func asSeries(s System) (Series, bool) {
	switch f := s.(type) {
	case Series:
		return f, true
	case series:
		return sureSeries{f}, true
	}
	return nil, false
}

// An Accelerator is a system of second order whose accelerations do not depend
// on the velocities: q” = a(t, q), with the state (q, q'), coordinates first.
// Nyström methods need only half of the work for it.
type Accelerator interface {
	// Accelerations writes a(t, q) into dst; both have length Dim/2.
	Accelerations(dst []float64, t float64, q []float64)
}

// A system whose type has the method Accelerations, but which is not always
// free of the velocities, says with VelocityFree whether it is.
type velocityFree interface{ VelocityFree() bool }

// asAccelerator returns the system as an Accelerator if it is one.
func asAccelerator(s System) (Accelerator, bool) {
	f, ok := s.(Accelerator)
	if v, says := s.(velocityFree); says && !v.VelocityFree() {
		return nil, false
	}
	return f, ok
}

// A Separable system is the flow of H = T(p) + V(t, q) with the state (q, p),
// coordinates first. Symplectic splittings need it. An [Accelerator] is
// separable with unit masses and need not say so.
type Separable interface {
	// Velocities writes ∂T/∂p into dst, Forces writes -∂V/∂q into dst.
	Velocities(dst []float64, p []float64)
	Forces(dst []float64, t float64, q []float64)
}

// An Energetic system knows its energy in J; a run then reports its drift.
type Energetic interface {
	Energy(t float64, y []float64) float64
}

// A Copier makes copies of a system that may be used at the same time.
type Copier interface {
	Copy() System
}

// A Constrained system knows functions that stay at zero (the length of a rod
// in Cartesian coordinates, say); a run then reports how far they drifted.
type Constrained interface {
	ConstraintCount() int
	Constraints(dst []float64, t float64, y []float64)
}

// A Rates is a right-hand side as a plain function.
type Rates func(dst []float64, t float64, y []float64)

type function struct {
	n int
	f Rates
}

func (s function) Dim() int                                    { return s.n }
func (s function) Rates(dst []float64, t float64, y []float64) { s.f(dst, t, y) }

// Of returns the system of n components whose derivative f computes.
func Of(n int, f Rates) System { return function{n, f} }

type newton struct {
	n int
	a Rates
}

func (s newton) Dim() int { return 2 * s.n }

func (s newton) Rates(dst []float64, t float64, y []float64) {
	copy(dst[:s.n], y[s.n:])
	s.a(dst[s.n:], t, y[:s.n])
}

func (s newton) Accelerations(dst []float64, t float64, q []float64) { s.a(dst, t, q) }

// Newton returns the system of n coordinates q with q” = a(t, q), as the
// state (q, q') of 2n components. The accelerations must not depend on the
// velocities; for those that do, use [Of].
func Newton(n int, a Rates) System { return newton{n, a} }

type hamilton struct {
	n int
	v func(dst, p []float64)
	f Rates
}

func (s hamilton) Dim() int { return 2 * s.n }

func (s hamilton) Rates(dst []float64, t float64, y []float64) {
	s.v(dst[:s.n], y[s.n:])
	s.f(dst[s.n:], t, y[:s.n])
}

func (s hamilton) Velocities(dst, p []float64)                  { s.v(dst, p) }
func (s hamilton) Forces(dst []float64, t float64, q []float64) { s.f(dst, t, q) }

// Hamilton returns the system of n coordinates and n momenta of the separable
// energy T(p) + V(t, q): velocities computes ∂T/∂p, forces -∂V/∂q.
func Hamilton(n int, velocities func(dst, p []float64), forces Rates) System {
	return hamilton{n: n, v: velocities, f: forces}
}
