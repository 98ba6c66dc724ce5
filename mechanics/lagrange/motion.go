package lagrange

import (
	"fmt"
	"math"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/expr/tape"
)

// A Motion is the right-hand side of the equations of motion as package motion
// integrates it: the state is the coordinates, then their velocities. Besides
// the rates it knows its exact Jacobian, its Taylor coefficients, its energy
// integral and its constraints. It is for one goroutine at a time;
// [Motion.Copy] gives another one its own.
type Motion struct {
	rates, accelerations, jacobian, energy, constraints *tape.Program

	// The same without the inputs on which they do not depend, so that states
	// need not be copied; nil if they depend on t, or on velocities.
	timeless, placed *tape.Program

	n                  int // of the state
	velocityFree       bool
	in, out            []float64
	rs, as, js, es, cs *tape.Scratch
	ts, ps             *tape.Scratch
	taylor             *tape.Taylor
}

// Motion compiles the equations for package motion. Parameters are as in
// Compile.
func (e *Equations) Motion(values map[string]float64) (*Motion, error) {
	full, err := e.Compile(values)
	if err != nil {
		return nil, err
	}
	m := &Motion{n: 2 * len(e.Coordinates)}
	first := make([]int, m.n)
	for i := range first {
		first[i] = i
	}
	if m.rates, err = full.Select(first...); err != nil {
		return nil, err
	}
	if m.accelerations, err = m.rates.Select(first[m.n/2:]...); err != nil {
		return nil, err
	}
	m.velocityFree = m.accelerations.Free(m.rates.Inputs()[m.n/2 : m.n]...)
	if err := m.strip(); err != nil {
		return nil, err
	}
	if m.jacobian, err = m.rates.Jacobian(m.rates.Inputs()[:m.n]...); err != nil {
		return nil, err
	}
	if m.energy, err = e.CompileEnergy(values); err != nil {
		return nil, err
	}
	var all []expr.Expr
	for _, f := range e.Constraints {
		all = append(all, f, f.TimeDiff(e.Coordinates...))
	}
	if m.constraints, err = e.CompileOutputs(all, values); err != nil {
		return nil, err
	}
	m.allot()
	return m, nil
}

// strip makes the programs that read a state as it is.
func (m *Motion) strip() (err error) {
	if !m.rates.Free(expr.TimeName) {
		return nil
	}
	if m.timeless, err = m.rates.Without(expr.TimeName); err != nil || !m.velocityFree {
		return err
	}
	m.placed, err = m.accelerations.Without(m.rates.Inputs()[m.n/2:]...)
	return err
}

func (m *Motion) allot() {
	m.in, m.out = make([]float64, m.n+1), make([]float64, max(m.n, m.constraints.Outputs()))
	m.rs, m.as, m.js, m.es, m.cs = m.rates.NewScratch(), m.accelerations.NewScratch(), m.jacobian.NewScratch(), m.energy.NewScratch(), m.constraints.NewScratch()
	if m.timeless != nil {
		m.ts = m.timeless.NewScratch()
	}
	if m.placed != nil {
		m.ps = m.placed.NewScratch()
	}
	m.taylor = nil
}

// Copy returns the same motion for another goroutine.
func (m *Motion) Copy() *Motion {
	c := *m
	c.allot()
	return &c
}

// at puts a state and a time into the inputs. Like the methods of a slice, those of a
// motion panic if the state is too short for it.
func (m *Motion) at(t float64, y []float64) []float64 {
	if len(y) < m.n {
		panic(fmt.Sprintf("lagrange: a state of %d components, but the motion has %d: give the coordinates and then their rates", len(y), m.n))
	}
	copy(m.in, y[:m.n])
	m.in[m.n] = t
	return m.in
}

// Dim returns the number of components of the state.
func (m *Motion) Dim() int { return m.n }

// Rates writes the derivative of the state y at t into dst.
func (m *Motion) Rates(dst []float64, t float64, y []float64) {
	if m.timeless != nil {
		m.timeless.Eval(dst, y, m.ts)
		return
	}
	m.rates.Eval(dst, m.at(t, y), m.rs)
}

// Check returns an error that names the coordinate if the mass matrix is
// singular at a state, so that the motion has no accelerations there.
func (m *Motion) Check(t float64, y []float64) error {
	if len(y) != m.n {
		return wrong("state", "it has %d components, but the motion has %d: give the coordinates and then their rates", len(y), m.n)
	}
	return m.rates.Check(m.at(t, y))
}

// VelocityFree reports whether the accelerations do not depend on the
// velocities, so that Accelerations may be used.
func (m *Motion) VelocityFree() bool { return m.velocityFree }

// Accelerations writes the accelerations at the coordinates q and the time t
// into dst, those of rest if they depend on the velocities.
func (m *Motion) Accelerations(dst []float64, t float64, q []float64) {
	if m.placed != nil {
		m.placed.Eval(dst, q, m.ps)
		return
	}
	copy(m.in, q[:m.n/2])
	clear(m.in[m.n/2 : m.n])
	m.in[m.n] = t
	m.accelerations.Eval(dst, m.in, m.as)
}

// Jacobian writes ∂rate i/∂y_j into dst[i*Dim+j].
func (m *Motion) Jacobian(dst []float64, t float64, y []float64) {
	m.jacobian.Eval(dst, m.at(t, y), m.js)
}

// Series writes into dst[k*Dim+i] the coefficient of (s-t)^k in component i of
// the motion through y at t, for k from 0 to order, at most
// [tape.MaxTaylorOrder].
func (m *Motion) Series(dst []float64, order int, t float64, y []float64) {
	if m.taylor == nil || m.taylor.Order() != order {
		series, err := m.rates.Taylor(m.n, order)
		if err != nil {
			panic("lagrange: " + err.Error())
		}
		m.taylor = series
	}
	m.taylor.Expand(m.at(t, y))
	for i := range m.n {
		for k, c := range m.taylor.Coefficients(i) {
			dst[k*m.n+i] = c
		}
	}
}

// Energy returns the energy integral in J, see [Equations.Energy]; NaN for a state of
// another length than Dim.
func (m *Motion) Energy(t float64, y []float64) float64 {
	if len(y) != m.n {
		return math.NaN()
	}
	m.energy.Eval(m.out, m.at(t, y), m.es)
	return m.out[0]
}

// ConstraintCount returns the number of functions that Constraints writes: two
// for each constraint of the system.
func (m *Motion) ConstraintCount() int { return m.constraints.Outputs() }

// Constraints writes the constraints and their rates, all zero on an exact
// solution, into dst.
func (m *Motion) Constraints(dst []float64, t float64, y []float64) {
	if m.constraints.Outputs() > 0 {
		m.constraints.Eval(dst, m.at(t, y), m.cs)
	}
}
