package modes

import (
	"errors"
	"fmt"
	"math"
	"sort"

	"gonum.org/v1/gonum/mat"
)

// A DampedMode is one way in which a damped system comes to rest: proportional
// to exp(-Decay t) cos(AngularFrequency t), or, if the frequency is 0, to
// exp(-Decay t) alone.
type DampedMode struct {
	Decay            float64      // 1/s; negative if the motion grows
	AngularFrequency float64      // rad/s, of the damped swing
	Shape            []complex128 // displacements, the largest 1; a phase is a lag between the parts
}

// Natural returns the angular frequency in rad/s that the mode would have
// without its damping, |λ|.
func (d DampedMode) Natural() float64 { return math.Hypot(d.Decay, d.AngularFrequency) }

// Ratio returns the damping ratio ζ: below 1 the mode swings.
func (d DampedMode) Ratio() float64 { return d.Decay / d.Natural() }

// Quality returns Q = 1/(2ζ).
func (d DampedMode) Quality() float64 { return 1 / (2 * d.Ratio()) }

// Decrement returns the logarithm of the ratio of two successive swings to the
// same side, infinite for a mode that does not swing.
func (d DampedMode) Decrement() float64 { return 2 * math.Pi * d.Decay / d.AngularFrequency }

// SwingsToHalf returns the number of full swings in which the amplitude halves.
func (d DampedMode) SwingsToHalf() float64 { return math.Ln2 / d.Decrement() }

func (d DampedMode) String() string {
	if d.AngularFrequency == 0 {
		return fmt.Sprintf("creeps, time constant %.4g s", 1/d.Decay)
	}
	return fmt.Sprintf("%.4g Hz, ζ = %.3g, halves in %.3g swings", d.AngularFrequency/(2*math.Pi), d.Ratio(), d.SwingsToHalf())
}

// Damped returns the modes of M x” + C x' + K x = 0, slowest first; a mode
// that does not swing stands for each of its two time constants. The damping
// matrix may have an antisymmetric (gyroscopic) part.
//
// They are the eigenvalues of the system of first order with 2n components;
// nearly equal real ones (critical damping) come out to half the digits only.
func Damped(mass, stiffness mat.Symmetric, damping mat.Matrix) ([]DampedMode, error) {
	if mass == nil || stiffness == nil || damping == nil {
		return nil, fmt.Errorf("modes: a matrix is missing: %w", ErrDimension)
	}
	n := mass.SymmetricDim()
	rows, columns := damping.Dims()
	if n == 0 || stiffness.SymmetricDim() != n || rows != n || columns != n {
		return nil, fmt.Errorf("modes: mass matrix of %d, stiffness of %d, damping of %d×%d: %w", n, stiffness.SymmetricDim(), rows, columns, ErrDimension)
	}
	var factor mat.Cholesky
	if !factor.Factorize(mass) {
		return nil, fmt.Errorf("modes: %w", ErrMass)
	}
	var k, c mat.Dense
	if err := errors.Join(factor.SolveTo(&k, stiffness), factor.SolveTo(&c, damping)); err != nil {
		var condition mat.Condition
		if !errors.As(err, &condition) {
			return nil, fmt.Errorf("modes: %w", ErrMass)
		}
	}
	companion := mat.NewDense(2*n, 2*n, nil)
	for i := range n {
		companion.Set(i, n+i, 1)
		for j := range n {
			companion.Set(n+i, j, -k.At(i, j))
			companion.Set(n+i, n+j, -c.At(i, j))
			if v := k.At(i, j) + c.At(i, j); math.IsNaN(v) || math.IsInf(v, 0) {
				return nil, fmt.Errorf("modes: %w", ErrNotFinite)
			}
		}
	}
	var eigen mat.Eigen
	if !eigen.Factorize(companion, mat.EigenRight) {
		return nil, errors.New("modes: the eigenvalues were not found: check the matrices for entries of very different size")
	}
	var vectors mat.CDense
	eigen.VectorsTo(&vectors)
	var list []DampedMode
	for i, lambda := range eigen.Values(nil) {
		if imag(lambda) < 0 {
			continue // the other of a pair
		}
		mode := DampedMode{Decay: -real(lambda), AngularFrequency: imag(lambda), Shape: make([]complex128, n)}
		largest := complex128(0)
		for j := range n {
			mode.Shape[j] = vectors.At(j, i)
			if abs(mode.Shape[j]) > abs(largest)*(1+1e-9) {
				largest = mode.Shape[j]
			}
		}
		for j := range n {
			mode.Shape[j] /= largest
		}
		list = append(list, mode)
	}
	sort.SliceStable(list, func(a, b int) bool { return list[a].Natural() < list[b].Natural() })
	return list, nil
}

func abs(z complex128) float64 { return math.Hypot(real(z), imag(z)) }
