package measure

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// Line lays y = a + b x through the readings; parameters "a" and "b".
func Line(x, y []float64) (Fit, error) { return Polynomial(x, y, 1) }

// Proportional lays y = b x through the readings; parameter "b".
func Proportional(x, y []float64) (Fit, error) {
	return Linear([]func(float64) float64{func(x float64) float64 { return x }}, x, y, []string{"b"})
}

// Polynomial lays a polynomial of a degree from 0 to 12 through the readings;
// parameters "a", "b", "c", … of ascending powers.
func Polynomial(x, y []float64, degree int) (Fit, error) {
	if degree < 0 || degree > 12 {
		return Fit{}, fmt.Errorf("degree %d is out of range: give one from 0 to 12", degree)
	}
	names := make([]string, degree+1)
	terms := make([]func(float64) float64, degree+1)
	for k := range terms {
		names[k] = string(rune('a' + k))
		terms[k] = func(x float64) float64 { return math.Pow(x, float64(k)) }
	}
	return Linear(terms, x, y, names)
}

// Linear lays a sum of terms, each times a parameter, through the readings: solved
// at once by QR with columns of one size, and refined by the residuals. Names may
// be nil.
func Linear(terms []func(x float64) float64, x, y []float64, names []string) (Fit, error) {
	n := len(terms)
	if n == 0 {
		return Fit{}, errors.New("the curve has no terms: give at least one")
	}
	if err := checked(x, y, n+1); err != nil {
		return Fit{}, err
	}
	a := mat.NewDense(len(x), n, nil)
	scale := make([]float64, n)
	for j, term := range terms {
		for i, v := range x {
			t := term(v)
			if math.IsNaN(t) || math.IsInf(t, 0) {
				return Fit{}, fmt.Errorf("term %d is %v at x = %v: leave the reading out or use another term", j+1, t, v)
			}
			a.Set(i, j, t)
			scale[j] = math.Hypot(scale[j], t)
		}
		if scale[j] == 0 {
			return Fit{}, fmt.Errorf("term %d is zero at every reading: leave it out", j+1)
		}
	}
	scaled := mat.NewDense(len(x), n, nil)
	scaled.Apply(func(_, j int, v float64) float64 { return v / scale[j] }, a)
	var qr mat.QR
	qr.Factorize(scaled)
	p := make([]float64, n)
	residual := append([]float64(nil), y...)
	for range 3 { // the second and third round take out the rounding of the first
		var d mat.VecDense
		if err := qr.SolveVecTo(&d, false, mat.NewVecDense(len(y), append([]float64(nil), residual...))); err != nil {
			var condition mat.Condition
			if !errors.As(err, &condition) || math.IsInf(float64(condition), 1) {
				return Fit{}, fmt.Errorf("the readings do not settle all parameters: take readings at more values of x (%w)", ErrNoFit)
			}
		}
		for j := range p {
			p[j] += d.AtVec(j) / scale[j]
		}
		for i := range y {
			r := y[i]
			for j := range p {
				r = math.FMA(-a.At(i, j), p[j], r)
			}
			residual[i] = r
		}
	}
	return fitOf(a, residual, p, scale, names)
}
