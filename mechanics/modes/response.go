package modes

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// A Response is the motion of a system without damping from a start near rest:
// the sum of its modes, each with an amplitude and a phase of its own.
type Response struct {
	modes *Modes
	// Position and speed along each mode at t = 0, in the modes' scale.
	q, p []float64
}

// Response returns the motion that starts at displacements x and velocities v,
// which may be nil for none.
func (m *Modes) Response(x, v []float64) (*Response, error) {
	q, p, err := m.along(x, v)
	if err != nil {
		return nil, err
	}
	return &Response{modes: m, q: q, p: p}, nil
}

// along returns the coordinates and speeds along the modes of a state.
func (m *Modes) along(x, v []float64) (q, p []float64, err error) {
	n := m.Len()
	project := func(name string, x []float64) ([]float64, error) {
		q := make([]float64, n)
		if x == nil {
			return q, nil
		}
		if len(x) != n {
			return nil, fmt.Errorf("modes: %d %s for %d coordinates: %w", len(x), name, n, ErrDimension)
		}
		for i := range q {
			q[i] = form(m.Mass, mat.Col(nil, i, m.Shapes), x)
			if math.IsNaN(q[i]) || math.IsInf(q[i], 0) {
				return nil, fmt.Errorf("modes: among the %s: %w", name, ErrNotFinite)
			}
		}
		return q, nil
	}
	if q, err = project("displacements", x); err != nil {
		return nil, nil, err
	}
	p, err = project("velocities", v)
	return q, p, err
}

// mode returns position and speed along mode i at the time t.
func (r *Response) mode(i int, t float64) (q, p float64) {
	switch square := r.modes.Squares[i]; {
	case square > 0:
		w := math.Sqrt(square)
		s, c := math.Sincos(w * t)
		return r.q[i]*c + r.p[i]/w*s, -r.q[i]*w*s + r.p[i]*c
	case square < 0:
		w := math.Sqrt(-square)
		s, c := math.Sinh(w*t), math.Cosh(w*t)
		return r.q[i]*c + r.p[i]/w*s, r.q[i]*w*s + r.p[i]*c
	}
	return r.q[i] + r.p[i]*t, r.p[i]
}

// At returns displacements and velocities at the time t in s.
func (r *Response) At(t float64) (x, v []float64) {
	n := r.modes.Len()
	x, v = make([]float64, n), make([]float64, n)
	for i := range n {
		q, p := r.mode(i, t)
		for k := range n {
			x[k] += q * r.modes.Shapes.At(k, i)
			v[k] += p * r.modes.Shapes.At(k, i)
		}
	}
	return x, v
}

// Amplitude returns the largest displacement of coordinate k due to mode i
// alone; it is signed like the mode's start.
func (r *Response) Amplitude(i, k int) float64 {
	q := r.q[i]
	if w := r.modes.AngularFrequency(i); w > 0 {
		q = math.Copysign(math.Hypot(r.q[i], r.p[i]/w), r.q[i])
	}
	return q * r.modes.Shapes.At(k, i)
}

// ModeEnergies returns the energy in J in each mode, which does not change.
func (r *Response) ModeEnergies() []float64 {
	e := make([]float64, r.modes.Len())
	for i := range e {
		e[i] = (r.p[i]*r.p[i] + r.modes.Squares[i]*r.q[i]*r.q[i]) / 2
	}
	return e
}

// PartEnergies returns the energy in J in each coordinate at the time t; see
// [Modes.PartEnergies].
func (r *Response) PartEnergies(t float64) []float64 {
	x, v := r.At(t)
	e, err := r.modes.PartEnergies(x, v)
	if err != nil {
		panic("modes: " + err.Error()) // the state is the response's own
	}
	return e
}

// ModeEnergies returns the energy in J in each mode for a state of the system,
// also of a motion that is not linear: what passes between modes then is what
// the linear theory leaves out.
func (m *Modes) ModeEnergies(x, v []float64) ([]float64, error) {
	q, p, err := m.along(x, v)
	if err != nil {
		return nil, err
	}
	r := Response{modes: m, q: q, p: p}
	return r.ModeEnergies(), nil
}

// PartEnergies returns the energy in J in each coordinate k, x_k (Kx)_k/2 +
// v_k (Mv)_k/2. They sum to the whole energy; that of a coupling is shared half
// and half between the coordinates that it joins, so that a part may for a
// moment hold a little less than nothing.
func (m *Modes) PartEnergies(x, v []float64) ([]float64, error) {
	n := m.Len()
	if len(x) != n || len(v) != n {
		return nil, fmt.Errorf("modes: %d displacements, %d velocities for %d coordinates: %w", len(x), len(v), n, ErrDimension)
	}
	e := make([]float64, n)
	for k := range n {
		force, momentum := 0.0, 0.0
		for j := range n {
			force += m.Stiffness.At(k, j) * x[j]
			momentum += m.Mass.At(k, j) * v[j]
		}
		e[k] = (x[k]*force + v[k]*momentum) / 2
	}
	return e, nil
}
