package quantity

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// maxTrials bounds a Monte Carlo run: ten million numbers take 80 MB.
const maxTrials = 10_000_000

// Trials are the results of a Monte Carlo run, in ascending order.
type Trials struct {
	Results     []float64
	Mean        float64
	Uncertainty float64 // their standard deviation
	Failed      int     // trials in which the formula gave no number; left out
}

// MonteCarlo draws the inputs at random and collects what the formula gives.
// Correlated inputs must all be normal. The same seed gives the same trials.
//
// Source: JCGM 101:2008 (Supplement 1 to the GUM), 6.4 and 7; inputs with
// degrees of freedom are drawn from Student's t, 6.4.9.
func MonteCarlo(f func(x []float64) float64, inputs []Input, correlation *mat.SymDense, trials int, seed uint64) (Trials, error) {
	if err := checkInputs(inputs, correlation); err != nil {
		return Trials{}, err
	}
	if trials < 2 || trials > maxTrials {
		return Trials{}, fmt.Errorf("%d trials are asked for: give from 2 to %d", trials, maxTrials)
	}
	draw, err := drawer(inputs, correlation, rand.New(rand.NewPCG(seed, seed^0x9e3779b97f4a7c15)))
	if err != nil {
		return Trials{}, err
	}
	t := Trials{Results: make([]float64, 0, trials)}
	x := make([]float64, len(inputs))
	for range trials {
		draw(x)
		if y := f(x); math.IsNaN(y) || math.IsInf(y, 0) {
			t.Failed++
		} else {
			t.Results = append(t.Results, y)
		}
	}
	if len(t.Results) < 2 {
		return t, errors.New("the formula gave a number in fewer than two trials: check that it holds near the inputs")
	}
	t.Mean, t.Uncertainty = stat.MeanStdDev(t.Results, nil)
	slices.Sort(t.Results)
	return t, nil
}

// Interval returns the ends of the interval between which the share level of the
// results lies, as many below as above. They are NaN if the level is not between
// 0 and 1, or if there are no results.
func (t Trials) Interval(level float64) (from, to float64) {
	if !(level > 0 && level < 1) || len(t.Results) == 0 || !slices.IsSorted(t.Results) {
		return math.NaN(), math.NaN()
	}
	return stat.Quantile((1-level)/2, stat.Empirical, t.Results, nil), stat.Quantile((1+level)/2, stat.Empirical, t.Results, nil)
}

// drawer returns a function that fills x with one draw of the inputs.
func drawer(inputs []Input, correlation *mat.SymDense, r *rand.Rand) (func(x []float64), error) {
	var root mat.TriDense
	if correlation != nil {
		lower, err := squareRoot(inputs, correlation)
		if err != nil {
			return nil, err
		}
		root = *lower
	}
	z := make([]float64, len(inputs))
	return func(x []float64) {
		for i, in := range inputs {
			z[i] = in.Spread.draw(r, in.Freedom)
		}
		for i, in := range inputs {
			v := z[i]
			if correlation != nil {
				v = 0
				for j := range i + 1 {
					v += root.At(i, j) * z[j]
				}
			}
			x[i] = in.Value + in.Uncertainty*v
		}
	}, nil
}

// squareRoot returns the lower L with LLᵀ = R. Full correlation, which makes R
// singular, is let through by a hair.
func squareRoot(inputs []Input, correlation *mat.SymDense) (*mat.TriDense, error) {
	n := len(inputs)
	r := mat.NewSymDense(n, nil)
	for i := range n {
		for j := range i + 1 {
			r.SetSym(i, j, correlation.At(i, j))
			if i != j && correlation.At(i, j) != 0 && (inputs[i].Spread != Normal || inputs[j].Spread != Normal) {
				return nil, fmt.Errorf("%s and %s are correlated and not both normal: make them normal, or the correlation 0", inputs[i].Name, inputs[j].Name)
			}
		}
		r.SetSym(i, i, 1+1e-12)
	}
	var c mat.Cholesky
	if !c.Factorize(r) {
		return nil, errors.New("the correlations contradict one another: no numbers can have all of them at once")
	}
	var l mat.TriDense
	c.LTo(&l)
	return &l, nil
}

// draw returns a number with mean 0 and, but for Student's t, variance 1.
func (s Spread) draw(r *rand.Rand, freedom float64) float64 {
	switch {
	case s == Rectangular:
		return math.Sqrt(3) * (2*r.Float64() - 1)
	case s == Triangular:
		return math.Sqrt(6) * (r.Float64() - r.Float64())
	case freedom > 0:
		return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: freedom, Src: r}.Rand()
	}
	return r.NormFloat64()
}
