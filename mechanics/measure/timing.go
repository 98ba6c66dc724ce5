package measure

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"counterpoise/mechanics/quantity"
)

// A Timing is a number of full swings timed in one run.
type Timing struct {
	Swings int
	Time   float64 // s
}

// Periods returns the period of each run, s.
func Periods(timings []Timing) ([]float64, error) {
	out := make([]float64, len(timings))
	for i, t := range timings {
		if t.Swings < 1 || !(t.Time > 0) || math.IsInf(t.Time, 0) {
			return nil, fmt.Errorf("timing %d is %d swings in %v s: give at least one swing and a positive time", i+1, t.Swings, t.Time)
		}
		out[i] = t.Time / float64(t.Swings)
	}
	return out, nil
}

// Period returns the period in s from repeated timings, with its uncertainty from
// their scatter. It needs two timings. See [PeriodFit] for residuals and outliers.
func Period(timings []Timing) (quantity.Input, error) {
	f, err := PeriodFit(timings)
	if err != nil {
		return quantity.Input{}, err
	}
	return quantity.Input{Name: "period", Value: f.Value[0], Uncertainty: f.Uncertainty[0], Freedom: float64(f.Freedom)}, nil
}

// PeriodFit lays time = period × swings through the timings: the error of a run is
// that of its two ends, whatever its length, so long runs count more. Parameter
// "period"; residuals in s, a run each; [Fit.Outliers] tells the odd ones.
func PeriodFit(timings []Timing) (Fit, error) {
	if len(timings) < 2 {
		return Fit{}, fmt.Errorf("there are %d timings: a scatter needs at least two", len(timings))
	}
	if _, err := Periods(timings); err != nil {
		return Fit{}, err
	}
	var swings, times []float64
	for _, t := range timings {
		swings, times = append(swings, float64(t.Swings)), append(times, t.Time)
	}
	return Linear([]func(float64) float64{func(n float64) float64 { return n }}, swings, times, []string{"period"})
}

// PeriodAndDelay lays time = delay + period × swings through timings of runs of
// different lengths, and so takes out a reaction that is late by the same time in
// every run. Parameters "delay" and "period".
func PeriodAndDelay(timings []Timing) (Fit, error) {
	if _, err := Periods(timings); err != nil {
		return Fit{}, err
	}
	var swings, times []float64
	for _, t := range timings {
		swings, times = append(swings, float64(t.Swings)), append(times, t.Time)
	}
	f, err := Line(swings, times)
	if err == nil {
		f.Names = []string{"delay", "period"}
	}
	return f, err
}

// TimingUncertainty returns the standard uncertainty in s of the period from one
// run, for an uncertainty in s of starting and of stopping the watch.
// Source: trade practice; 0.05 s at each end of 20 swings is 0.0035 s a period.
func TimingUncertainty(atEachEnd float64, swings int) float64 {
	return math.Sqrt2 * atEachEnd / float64(swings)
}

// A Pooled value joins results of several people or series.
type Pooled struct {
	Value       float64 // mean weighted by 1/u²
	Uncertainty float64 // from the stated uncertainties
	ChiSquared  float64 // of the results about the mean
	Freedom     int
	Chance      float64 // of a chi-squared as large, if the stated uncertainties are right
	Widened     float64 // uncertainty times √(χ²/freedom) where the results scatter too much
}

// Pool returns the mean of results weighted by their stated uncertainties.
// Source: weighted mean and Birge's ratio; Cressie, JASA 77 (1982) 754, for its
// danger with few readings a series (check-values K5).
func Pool(results []quantity.Input) (Pooled, error) {
	if len(results) < 2 {
		return Pooled{}, errors.New("fewer than two results: there is nothing to pool")
	}
	var weight, sum float64
	for i, r := range results {
		if !(r.Uncertainty > 0) || math.IsNaN(r.Value) || math.IsInf(r.Value+r.Uncertainty, 0) {
			return Pooled{}, fmt.Errorf("result %d is %v ± %v: give finite numbers and a positive uncertainty", i+1, r.Value, r.Uncertainty)
		}
		w := 1 / (r.Uncertainty * r.Uncertainty)
		weight += w
		sum += w * r.Value
	}
	p := Pooled{Value: sum / weight, Uncertainty: 1 / math.Sqrt(weight), Freedom: len(results) - 1}
	for _, r := range results {
		d := (r.Value - p.Value) / r.Uncertainty
		p.ChiSquared += d * d
	}
	p.Chance = distuv.ChiSquared{K: float64(p.Freedom)}.Survival(p.ChiSquared)
	p.Widened = p.Uncertainty * math.Sqrt(max(1, p.ChiSquared/float64(p.Freedom)))
	return p, nil
}
