package measure

import (
	"errors"
	"fmt"
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/dsp/fourier"
	"gonum.org/v1/gonum/stat"
)

// A Swing is a damped oscillation laid through angle against time, as read from a
// film: rest + amplitude e^(-rate·t) cos(2π frequency t + phase).
type Swing struct {
	Fit Fit // parameters "rest", "amplitude", "rate", "frequency", "phase"

	Period            float64 // s, of the damped swing
	PeriodUncertainty float64
	Rate              float64 // 1/s, at which the amplitude decays
	RateUncertainty   float64
	Amplitude         float64 // at the time of the first reading, positive
	Rest              float64 // middle of the swing
}

// Ratio returns the damping ratio ζ.
func (s Swing) Ratio() float64 {
	w := 2 * math.Pi / s.Period
	return s.Rate / math.Hypot(w, s.Rate)
}

// Undamped returns the period in s that the swing would have without damping.
func (s Swing) Undamped() float64 {
	return 2 * math.Pi / math.Hypot(2*math.Pi/s.Period, s.Rate)
}

// FitSwing lays a damped oscillation through readings at the given times in s, in
// ascending order, of an angle or place in any one unit. The record should hold at
// least two swings with ten readings each. Readings need not be evenly spaced.
//
// The amplitude should be small: at 20° a pendulum's period is 0.8 % longer. Divide
// by balance.LargeSwing at the mean amplitude, or film smaller swings.
func FitSwing(times, angles []float64) (Swing, error) {
	if err := checked(times, angles, 10); err != nil {
		return Swing{}, err
	}
	for i := 1; i < len(times); i++ {
		if times[i] <= times[i-1] {
			return Swing{}, fmt.Errorf("reading %d is not later than the one before (%v s after %v s): put them in order of time", i+1, times[i], times[i-1])
		}
	}
	start, err := guess(times, angles)
	if err != nil {
		return Swing{}, err
	}
	t0 := times[0]
	model := func(t float64, p []float64) float64 {
		return p[0] + p[1]*math.Exp(-p[2]*(t-t0))*math.Cos(2*math.Pi*p[3]*(t-t0)+p[4])
	}
	fit, err := Curve(model, times, angles, start, []string{"rest", "amplitude", "rate", "frequency", "phase"})
	if err != nil {
		return Swing{}, err
	}
	if fit.Value[1] < 0 {
		fit.Value[1], fit.Value[4] = -fit.Value[1], fit.Value[4]+math.Pi
	}
	fit.Value[4] = math.Remainder(fit.Value[4], 2*math.Pi)
	f := math.Abs(fit.Value[3])
	return Swing{Fit: fit, Period: 1 / f, PeriodUncertainty: fit.Uncertainty[3] / (f * f), Rate: fit.Value[2], RateUncertainty: fit.Uncertainty[2],
		Amplitude: fit.Value[1], Rest: fit.Value[0]}, nil
}

// FitSine lays C + A sin(2π f t + p) through readings at times in any unit, with
// parameters "C", "A", "f" and "p" as in the NIST handbook's beam deflections.
func FitSine(times, values []float64) (Fit, error) {
	if err := checked(times, values, 8); err != nil {
		return Fit{}, err
	}
	g, err := guess(times, values)
	if err != nil {
		return Fit{}, err
	}
	start := []float64{g[0], g[1], g[3], math.Remainder(g[4]+math.Pi/2-2*math.Pi*g[3]*times[0], 2*math.Pi)}
	return Curve(func(t float64, p []float64) float64 { return p[0] + p[1]*math.Sin(2*math.Pi*p[2]*t+p[3]) }, times, values, start, []string{"C", "A", "f", "p"})
}

// guess finds rest, amplitude, rate, frequency and phase near enough for a search:
// the highest line of the spectrum of the readings drawn to even spacing, then the
// frequency that lowers the residual of a sine most.
func guess(times, values []float64) ([]float64, error) {
	n := len(times)
	span := times[n-1] - times[0]
	even := make([]float64, n)
	mean := stat.Mean(values, nil)
	for i, j := 0, 0; i < n; i++ {
		t := times[0] + span*float64(i)/float64(n-1)
		for j < n-2 && times[j+1] < t {
			j++
		}
		share := (t - times[j]) / (times[j+1] - times[j])
		even[i] = values[j] + share*(values[j+1]-values[j]) - mean
	}
	lines := fourier.NewFFT(n).Coefficients(nil, even)
	best, height := 0, 0.0
	for i := 1; i < len(lines); i++ {
		if h := cmplx.Abs(lines[i]); h > height {
			best, height = i, h
		}
	}
	if height == 0 {
		return nil, errors.New("the readings do not swing: they are all the same")
	}
	spacing := span / float64(n-1)
	f, least := 0.0, math.Inf(1)
	var part Fit
	for k := -20; k <= 20; k++ { // a tenth of a line at a time
		try := (float64(best) + float64(k)/20*1.2) / (float64(n) * spacing)
		if try <= 0 {
			continue
		}
		fit, err := sineAt(try, times, values)
		if err == nil && fit.SumOfSquares() < least {
			f, least, part = try, fit.SumOfSquares(), fit
		}
	}
	if f == 0 {
		return nil, fmt.Errorf("no swing was found in the readings: %w", ErrNoFit)
	}
	c, s := part.Value[1], part.Value[2]
	return []float64{part.Value[0], math.Hypot(c, s), early(times, values, part.Value[0]), f, math.Atan2(-s, c)}, nil
}

func sineAt(f float64, times, values []float64) (Fit, error) {
	w, t0 := 2*math.Pi*f, times[0]
	return Linear([]func(float64) float64{
		func(float64) float64 { return 1 },
		func(t float64) float64 { return math.Cos(w * (t - t0)) },
		func(t float64) float64 { return math.Sin(w * (t - t0)) },
	}, times, values, nil)
}

// early guesses the rate of decay from the spread of the first and second half.
func early(times, values []float64, rest float64) float64 {
	half := len(values) / 2
	power := func(v []float64) float64 {
		sum := 0.0
		for _, y := range v {
			sum += (y - rest) * (y - rest)
		}
		return sum / float64(len(v))
	}
	a, b := power(values[:half]), power(values[half:])
	if a <= 0 || b <= 0 {
		return 0
	}
	return max(0, math.Log(a/b)/(times[len(times)-1]-times[0]))
}
