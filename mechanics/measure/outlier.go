package measure

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// An Outlier is a reading that does not fit the rest. It is told, not dropped:
// look at how it was taken before deciding.
type Outlier struct {
	Index    int     // of the reading, from 0
	Residual float64 // its distance from the curve
	Off      float64 // the same in standard deviations of a curve without it
	Leverage float64 // from 0 to 1: how far it draws the curve to itself
}

// Outliers returns the readings whose distance from the curve laid through the
// others would arise by chance in one of twenty whole sets of readings or fewer:
// deleted residuals against Student's t with Bonferroni's share, 0.05/n.
//
// Source: Cook and Weisberg, Residuals and Influence in Regression (1982), §2.2
// (from memory, unchecked).
func (f Fit) Outliers() []Outlier {
	var out []Outlier
	n := float64(len(f.Residuals))
	nu := float64(f.Freedom - 1)
	if nu < 1 || f.Scatter == 0 || len(f.leverage) != len(f.Residuals) || n == 0 {
		return nil
	}
	limit := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: nu}.Quantile(1 - 0.025/n)
	for i, r := range f.Residuals {
		if off := f.deleted(i); math.Abs(off) > limit {
			out = append(out, Outlier{i, r, off, f.leverage[i]})
		}
	}
	return out
}

// deleted returns residual i over the standard deviation that the curve without
// reading i foresees for it.
func (f Fit) deleted(i int) float64 {
	r, h := f.Residuals[i], min(f.leverage[i], 1-1e-12)
	rest := (f.SumOfSquares() - r*r/(1-h)) / float64(f.Freedom-1)
	if rest <= 0 {
		return math.Copysign(math.Inf(1), r)
	}
	return r / math.Sqrt(rest*(1-h))
}

// Influence returns, for each reading, how far parameter k would move if that
// reading were left out, in the parameter's own uncertainties without it. A reading
// above 2 governs the fit: the result hangs on it.
func Influence(fit func(x, y []float64) (Fit, error), x, y []float64, k int) ([]float64, error) {
	if len(x) != len(y) {
		return nil, fmt.Errorf("there are %d x and %d y: give as many of both", len(x), len(y))
	}
	whole, err := fit(x, y)
	if err != nil {
		return nil, err
	}
	if k < 0 || k >= whole.parameters() {
		return nil, fmt.Errorf("the fit has no parameter %d: give one from 0 to %d", k, whole.parameters()-1)
	}
	out := make([]float64, len(x))
	for i := range x {
		xs := append(append([]float64(nil), x[:i]...), x[i+1:]...)
		ys := append(append([]float64(nil), y[:i]...), y[i+1:]...)
		without, err := fit(xs, ys)
		if err != nil {
			return nil, err
		}
		if k >= without.parameters() {
			return nil, fmt.Errorf("the fit without reading %d has no parameter %d", i+1, k)
		}
		out[i] = (whole.Value[k] - without.Value[k]) / without.Uncertainty[k]
	}
	return out, nil
}
