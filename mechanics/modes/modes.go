// Package modes answers how a system swings about its rest: its normal modes
// with and without damping, the beats between them, how energy passes from
// part to part, and which frequencies a record holds.
//
// The motion near rest is M x” + C x' + K x = 0 with symmetric M and K as
// package lagrange's Linearise gives them. Units are SI base units, so
// frequencies are in Hz where they are called Frequency and in rad/s where they
// are called AngularFrequency. The package knows nothing of shapes, drawings or
// notebooks.
package modes

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// Errors of matrices that no system at rest has.
var (
	ErrMass      = errors.New("the mass matrix is not positive definite: give every coordinate a positive inertia")
	ErrDimension = errors.New("the matrices or vectors are of different size")
	ErrNotFinite = errors.New("an entry is not a finite number")
)

// Modes are the normal modes of M x” + K x = 0.
type Modes struct {
	Mass, Stiffness *mat.SymDense

	// Squares are the squares of the angular frequencies in (rad/s)², rising.
	// A negative one belongs to a displacement that grows: the rest is not
	// stable along it.
	Squares []float64

	// Shapes is n×n, column i is mode i, scaled so that qᵀMq = 1 and its
	// largest entry is positive.
	Shapes *mat.Dense
}

// Of returns the normal modes of a mass and a stiffness matrix.
//
// Cost: that of a dense symmetric eigenproblem, about 10 n³. Source of the
// reduction by Cholesky's factor: Golub and Van Loan, Matrix Computations (4th
// ed.), section 8.7.2; the frequencies are polished by Rayleigh's quotient, whose
// error is the square of that of the shape.
func Of(mass, stiffness mat.Symmetric) (*Modes, error) {
	if mass == nil || stiffness == nil {
		return nil, fmt.Errorf("modes: a matrix is missing: %w", ErrDimension)
	}
	n := mass.SymmetricDim()
	if n == 0 || stiffness.SymmetricDim() != n {
		return nil, fmt.Errorf("modes: mass matrix of %d, stiffness matrix of %d coordinates: %w", n, stiffness.SymmetricDim(), ErrDimension)
	}
	m := &Modes{Mass: mat.NewSymDense(n, nil), Stiffness: mat.NewSymDense(n, nil)}
	for i := range n {
		for j := i; j < n; j++ {
			a, b := mass.At(i, j), stiffness.At(i, j)
			if math.IsNaN(a+b) || math.IsInf(a+b, 0) {
				return nil, fmt.Errorf("modes: row %d, column %d of a matrix: %w", i+1, j+1, ErrNotFinite)
			}
			m.Mass.SetSym(i, j, a)
			m.Stiffness.SetSym(i, j, b)
		}
	}
	var factor mat.Cholesky
	if !factor.Factorize(m.Mass) {
		return nil, fmt.Errorf("modes: %w", ErrMass)
	}
	var l mat.TriDense
	factor.LTo(&l)

	// L⁻¹ K L⁻ᵀ y = ω² y, x = L⁻ᵀ y
	var half, whole mat.Dense
	if err := half.Solve(&l, m.Stiffness); err != nil {
		return nil, fmt.Errorf("modes: %w", ErrMass)
	}
	if err := whole.Solve(&l, half.T()); err != nil {
		return nil, fmt.Errorf("modes: %w", ErrMass)
	}
	reduced := mat.NewSymDense(n, nil)
	for i := range n {
		for j := i; j < n; j++ {
			reduced.SetSym(i, j, (whole.At(i, j)+whole.At(j, i))/2)
		}
	}
	var eigen mat.EigenSym
	if !eigen.Factorize(reduced, true) {
		return nil, errors.New("modes: the eigenvalues were not found: check the matrices for entries of very different size")
	}
	var y mat.Dense
	eigen.VectorsTo(&y)
	m.Shapes = mat.NewDense(n, n, nil)
	if err := m.Shapes.Solve(l.T(), &y); err != nil {
		return nil, fmt.Errorf("modes: %w", ErrMass)
	}
	m.Squares = eigen.Values(nil)
	for i := range n {
		m.polish(i)
	}
	return m, nil
}

// polish scales shape i and replaces its square by Rayleigh's quotient.
func (m *Modes) polish(i int) {
	x := mat.Col(nil, i, m.Shapes)
	largest := 0
	for k, v := range x {
		if math.Abs(v) > math.Abs(x[largest])*(1+1e-9) {
			largest = k
		}
	}
	scale := 1 / math.Sqrt(form(m.Mass, x, x))
	if x[largest] < 0 {
		scale = -scale
	}
	for k := range x {
		x[k] *= scale
	}
	m.Shapes.SetCol(i, x)
	square := form(m.Stiffness, x, x) / form(m.Mass, x, x)
	if size := math.Abs(m.Squares[len(m.Squares)-1]) + math.Abs(m.Squares[0]); math.Abs(square) < 1e-14*size {
		square = 0 // a free displacement, to rounding
	}
	m.Squares[i] = square
}

// form returns xᵀAy, summed in twice the working precision.
func form(a *mat.SymDense, x, y []float64) float64 {
	sum, lost := 0.0, 0.0
	for i, u := range x {
		for j, v := range y {
			// three factors, each product with its rounding error
			p := a.At(i, j) * u
			dp := math.FMA(a.At(i, j), u, -p)
			q := p * v
			dq := math.FMA(p, v, -q) + dp*v
			s := sum + q
			b := s - sum
			lost += (sum - (s - b)) + (q - b) + dq
			sum = s
		}
	}
	return sum + lost
}

// Len returns the number of modes.
func (m *Modes) Len() int { return len(m.Squares) }

// AngularFrequency returns that of mode i in rad/s, 0 if the mode does not
// swing.
func (m *Modes) AngularFrequency(i int) float64 { return math.Sqrt(math.Max(0, m.Squares[i])) }

// Frequency returns that of mode i in Hz.
func (m *Modes) Frequency(i int) float64 { return m.AngularFrequency(i) / (2 * math.Pi) }

// Period returns that of mode i in s, infinite if the mode does not swing.
func (m *Modes) Period(i int) float64 { return 2 * math.Pi / m.AngularFrequency(i) }

// GrowthRate returns in 1/s how fast a displacement along mode i runs away, 0
// if it does not.
func (m *Modes) GrowthRate(i int) float64 { return math.Sqrt(math.Max(0, -m.Squares[i])) }

// Stable reports whether every displacement swings back.
func (m *Modes) Stable() bool { return m.Squares[0] > 0 }

// Shape returns mode i, scaled so that its largest entry is 1.
func (m *Modes) Shape(i int) []float64 {
	x := mat.Col(nil, i, m.Shapes)
	largest := 0.0
	for _, v := range x {
		largest = math.Max(largest, math.Abs(v))
	}
	for k := range x {
		x[k] /= largest
	}
	return x
}

// ExchangeTime returns the time in s in which modes i and j, started together,
// come into opposition: energy that began in one of two equal parts is then in
// the other. It is infinite for equal frequencies.
//
// Common practice, no source: π/|ω_j - ω_i|.
func (m *Modes) ExchangeTime(i, j int) float64 {
	return math.Pi / math.Abs(m.AngularFrequency(j)-m.AngularFrequency(i))
}

// BeatPeriod returns the time in s between two standstills of one part where
// modes i and j beat: twice the exchange time.
func (m *Modes) BeatPeriod(i, j int) float64 { return 2 * m.ExchangeTime(i, j) }

// String lists the modes, slowest first.
func (m *Modes) String() string {
	s := ""
	for i := range m.Squares {
		if i > 0 {
			s += "\n"
		}
		shape := ""
		for k, v := range m.Shape(i) {
			if k > 0 {
				shape += ", "
			}
			shape += fmt.Sprintf("%.3g", v+0)
		}
		if m.Squares[i] < 0 {
			s += fmt.Sprintf("mode %d: grows at %.4g 1/s, shape (%s)", i+1, m.GrowthRate(i), shape)
			continue
		}
		s += fmt.Sprintf("mode %d: %.4g Hz, shape (%s)", i+1, m.Frequency(i), shape)
	}
	return s
}
