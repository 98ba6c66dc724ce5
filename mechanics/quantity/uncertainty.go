package quantity

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/diff/fd"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// A Spread is the distribution of an input for Monte Carlo.
type Spread int

// The spreads.
const (
	Normal      Spread = iota // Student's t where degrees of freedom are given
	Rectangular               // evenly within ±√3 u, as a tolerance or a digital reading
	Triangular                // within ±√6 u, as a sum of two equal rectangles
)

// An Input is a measured number that goes into a formula.
type Input struct {
	Name        string
	Value       float64
	Uncertainty float64 // standard uncertainty
	Freedom     float64 // degrees of freedom of the uncertainty; 0 = it is known well
	Spread      Spread
}

// Within returns an input known to lie anywhere within ± half of a value: its
// standard uncertainty is half/√3. Source: GUM (JCGM 100:2008) 4.3.7.
func Within(name string, value, half float64) Input {
	return Input{Name: name, Value: value, Uncertainty: half / math.Sqrt(3), Spread: Rectangular}
}

// Mean returns the mean of repeated readings as an input: its uncertainty is
// their standard deviation over √n, with n - 1 degrees of freedom. It needs two
// readings. Source: GUM 4.2.3.
func Mean(name string, readings []float64) (Input, error) {
	if len(readings) < 2 {
		return Input{}, fmt.Errorf("%s has %d readings: a scatter needs at least two", name, len(readings))
	}
	m, s := stat.MeanStdDev(readings, nil)
	n := float64(len(readings))
	return Input{Name: name, Value: m, Uncertainty: s / math.Sqrt(n), Freedom: n - 1}, nil
}

// Means returns the means of quantities that were read together, and the
// correlations of these means. Row i of readings holds the readings of names[i];
// all rows are equally long. Source: GUM 5.2.3 and H.2.
func Means(names []string, readings [][]float64) ([]Input, *mat.SymDense, error) {
	if len(names) != len(readings) || len(names) == 0 {
		return nil, nil, fmt.Errorf("%d names and %d rows of readings: give one row a name", len(names), len(readings))
	}
	inputs := make([]Input, len(names))
	correlation := mat.NewSymDense(len(names), nil)
	for i := range names {
		if len(readings[i]) != len(readings[0]) {
			return nil, nil, fmt.Errorf("%s has %d readings, %s has %d: they must have been read together", names[i], len(readings[i]), names[0], len(readings[0]))
		}
		var err error
		if inputs[i], err = Mean(names[i], readings[i]); err != nil {
			return nil, nil, err
		}
		for j := range i + 1 {
			correlation.SetSym(i, j, stat.Correlation(readings[i], readings[j], nil))
		}
		correlation.SetSym(i, i, 1)
	}
	return inputs, correlation, nil
}

// A Propagation is a result with its uncertainty, and what each input adds.
type Propagation struct {
	Value        float64
	Uncertainty  float64   // combined standard uncertainty, first order
	SecondOrder  float64   // what the terms of second order would add in quadrature
	Sensitivity  []float64 // change of the result per unit of each input
	Contribution []float64 // |sensitivity| times uncertainty, each input alone
	Freedom      float64   // effective degrees of freedom; +Inf where all are known well
}

// Propagate carries the uncertainties of the inputs through a formula by the
// first-order law, with correlations if they are given (nil = none). The
// sensitivities come from differences over a tenth of each uncertainty or a
// thousandth of the value, and are good to about nine figures.
//
// Source: GUM (JCGM 100:2008) Eqs (13) and (16); degrees of freedom by Welch and
// Satterthwaite, G.4.1, which holds for independent inputs; the terms of second
// order, note to 5.1.2.
func Propagate(f func(x []float64) float64, inputs []Input, correlation *mat.SymDense) (Propagation, error) {
	if err := checkInputs(inputs, correlation); err != nil {
		return Propagation{}, err
	}
	x := values(inputs)
	p := Propagation{Value: f(x), Sensitivity: make([]float64, len(inputs)), Contribution: make([]float64, len(inputs))}
	var welch float64
	for i, in := range inputs {
		p.Sensitivity[i] = slope(f, x, i, in.Uncertainty)
		p.Contribution[i] = math.Abs(p.Sensitivity[i]) * in.Uncertainty
		if in.Freedom > 0 {
			welch += math.Pow(p.Contribution[i], 4) / in.Freedom
		}
	}
	variance := covariance(p.Sensitivity, p.Sensitivity, inputs, correlation)
	p.Uncertainty = math.Sqrt(max(0, variance))
	p.Freedom = math.Pow(p.Uncertainty, 4) / welch // +Inf for none
	if p.Uncertainty == 0 {
		p.Freedom = math.Inf(1)
	}
	p.SecondOrder = secondOrder(f, x, inputs, p.Sensitivity)
	if math.IsNaN(p.Value) || math.IsInf(p.Value, 0) || math.IsNaN(p.Uncertainty) {
		return p, fmt.Errorf("the formula gives %v ± %v: check that it holds near the inputs", p.Value, p.Uncertainty)
	}
	return p, nil
}

// Expanded returns the half width of the interval that holds the share level (such
// as 0.95) of the values, and the coverage factor: Student's t for the degrees of
// freedom, cut down to a whole number. Both are NaN if the level is not between 0
// and 1. Source: GUM G.3, G.4.
func (p Propagation) Expanded(level float64) (width, factor float64) {
	if !(level > 0 && level < 1) {
		return math.NaN(), math.NaN()
	}
	tail := (1 + level) / 2
	if math.IsInf(p.Freedom, 1) || p.Freedom > 1e6 {
		factor = distuv.UnitNormal.Quantile(tail)
	} else {
		factor = distuv.StudentsT{Mu: 0, Sigma: 1, Nu: math.Max(1, math.Floor(p.Freedom))}.Quantile(tail)
	}
	return factor * p.Uncertainty, factor
}

// PropagateTogether carries the inputs through several formulas and returns the
// results, and the covariance matrix of the results. Source: GUM H.2.3.
func PropagateTogether(fs []func(x []float64) float64, inputs []Input, correlation *mat.SymDense) ([]Propagation, *mat.SymDense, error) {
	out := make([]Propagation, len(fs))
	cov := mat.NewSymDense(max(len(fs), 1), nil)
	for i, f := range fs {
		var err error
		if out[i], err = Propagate(f, inputs, correlation); err != nil {
			return nil, nil, err
		}
		for j := range i + 1 {
			cov.SetSym(i, j, covariance(out[i].Sensitivity, out[j].Sensitivity, inputs, correlation))
		}
	}
	return out, cov, nil
}

func checkInputs(inputs []Input, correlation *mat.SymDense) error {
	if len(inputs) == 0 {
		return errors.New("the formula has no inputs: give at least one")
	}
	for _, in := range inputs {
		switch {
		case math.IsNaN(in.Value) || math.IsInf(in.Value, 0):
			return fmt.Errorf("value of %s is %v: give a finite number", in.Name, in.Value)
		case !(in.Uncertainty >= 0) || math.IsInf(in.Uncertainty, 0):
			return fmt.Errorf("uncertainty of %s is %v: give a number that is not negative", in.Name, in.Uncertainty)
		case in.Freedom < 0:
			return fmt.Errorf("degrees of freedom of %s are negative: give a positive number, or 0 if it is known well", in.Name)
		}
	}
	if correlation == nil {
		return nil
	}
	if n := correlation.SymmetricDim(); n != len(inputs) {
		return fmt.Errorf("the matrix of correlations is %d×%d, there are %d inputs: give a row for each", n, n, len(inputs))
	}
	for i := range inputs {
		for j := range i + 1 {
			if r := correlation.At(i, j); !(math.Abs(r) <= 1+1e-12) || i == j && math.Abs(r-1) > 1e-12 {
				return fmt.Errorf("correlation of %s and %s is %v: it lies between -1 and 1, and is 1 with itself", inputs[i].Name, inputs[j].Name, r)
			}
		}
	}
	return nil
}

func values(inputs []Input) []float64 {
	x := make([]float64, len(inputs))
	for i, in := range inputs {
		x[i] = in.Value
	}
	return x
}

// step is how far to go for a difference.
func step(x, u float64) float64 {
	h := max(0.1*u, 1e-3*math.Abs(x))
	if h == 0 {
		h = 1e-3
	}
	return h
}

// fivePoint is the central difference of fourth order.
// Source: Abramowitz and Stegun, Table 25.2, five points.
var fivePoint = fd.Formula{
	Stencil:    []fd.Point{{Loc: -2, Coeff: 1.0 / 12}, {Loc: -1, Coeff: -2.0 / 3}, {Loc: 1, Coeff: 2.0 / 3}, {Loc: 2, Coeff: -1.0 / 12}},
	Derivative: 1,
	Step:       1e-3,
}

func slope(f func([]float64) float64, x []float64, i int, u float64) float64 {
	y := append([]float64(nil), x...)
	return fd.Derivative(func(v float64) float64 {
		y[i] = v
		return f(y)
	}, x[i], &fd.Settings{Formula: fivePoint, Step: step(x[i], u)})
}

// covariance returns aᵀ U R U b with sensitivities a, b, uncertainties U and
// correlations R.
func covariance(a, b []float64, inputs []Input, correlation *mat.SymDense) float64 {
	sum := 0.0
	for i := range inputs {
		for j := range inputs {
			r := 0.0
			if i == j {
				r = 1
			} else if correlation != nil {
				r = correlation.At(i, j)
			}
			if r != 0 {
				sum += a[i] * inputs[i].Uncertainty * r * b[j] * inputs[j].Uncertainty
			}
		}
	}
	return sum
}

// secondOrder returns the root of Σ (½ f_ij² + f_i f_ijj) u_i² u_j², by
// differences over whole uncertainties.
func secondOrder(f func([]float64) float64, x []float64, inputs []Input, slopes []float64) float64 {
	at := func(moves ...float64) float64 { // index, steps, index, steps
		y := append([]float64(nil), x...)
		for k := 0; k < len(moves); k += 2 {
			i := int(moves[k])
			y[i] += moves[k+1] * inputs[i].Uncertainty
		}
		return f(y)
	}
	f0, sum := f(x), 0.0
	for i, in := range inputs {
		if in.Uncertainty == 0 {
			continue
		}
		fi := float64(i)
		bend := at(fi, 1) - 2*f0 + at(fi, -1)
		third := (at(fi, 2) - 2*at(fi, 1) + 2*at(fi, -1) - at(fi, -2)) / 2
		sum += bend*bend/2 + slopes[i]*in.Uncertainty*third
		for j := range inputs {
			if j == i || inputs[j].Uncertainty == 0 {
				continue
			}
			fj := float64(j)
			twist := (at(fi, 1, fj, 1) - at(fi, 1, fj, -1) - at(fi, -1, fj, 1) + at(fi, -1, fj, -1)) / 4
			bent := (at(fi, 1, fj, 1) - 2*at(fi, 1) + at(fi, 1, fj, -1) - at(fi, -1, fj, 1) + 2*at(fi, -1) - at(fi, -1, fj, -1)) / 2
			sum += twist*twist/2 + slopes[i]*in.Uncertainty*bent
		}
	}
	return math.Sqrt(max(0, sum))
}
