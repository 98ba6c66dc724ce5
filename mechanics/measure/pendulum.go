package measure

import (
	"errors"
	"math"
)

// A PendulumSwing is a damped pendulum laid through angle against time, at any
// amplitude below the top: d²θ/dt² + 2 rate dθ/dt + (2π/Period)² sin θ = 0, where θ
// is the angle from rest.
type PendulumSwing struct {
	Fit Fit // parameters "rest", "angle", "speed", "rate", "frequency"

	Period            float64 // s, of small swings without damping
	PeriodUncertainty float64
	Rate              float64 // 1/s
	RateUncertainty   float64
	Rest              float64 // angle at rest, rad
}

// FitPendulum is [FitSwing] for a pendulum whose swings are not small: angles in rad.
// It integrates the equation of motion between the readings with the classical
// Runge-Kutta method, 100 steps a period, whose error stays far below that of a film.
func FitPendulum(times, angles []float64) (PendulumSwing, error) {
	first, err := FitSwing(times, angles)
	if err != nil {
		return PendulumSwing{}, err
	}
	if first.Amplitude > 0.95*math.Pi {
		return PendulumSwing{}, errors.New("the swing goes over the top or nearly: a period of small swings cannot be told from it")
	}
	w := 2 * math.Pi / first.Period
	phase := first.Fit.Value[4]
	start := []float64{
		first.Rest, first.Amplitude * math.Cos(phase), -first.Amplitude * (w*math.Sin(phase) + first.Rate*math.Cos(phase)), first.Rate,
		(1 + first.Amplitude*first.Amplitude/16) / first.Period, // check-values P3, first term
	}
	longest := first.Period / 100
	fit, err := Search(func(dst, p []float64) { pendulum(dst, times, p, longest) }, angles, start, []string{"rest", "angle", "speed", "rate", "frequency"})
	if err != nil {
		return PendulumSwing{}, err
	}
	f := math.Abs(fit.Value[4])
	return PendulumSwing{Fit: fit, Period: 1 / f, PeriodUncertainty: fit.Uncertainty[4] / (f * f), Rate: fit.Value[3], RateUncertainty: fit.Uncertainty[3], Rest: fit.Value[0]}, nil
}

// pendulum fills dst with the angles at the given times.
func pendulum(dst, times, p []float64, longest float64) {
	rest, q, v, rate, w := p[0], p[1], p[2], p[3], 2*math.Pi*p[4]
	pull := func(q, v float64) float64 { return -2*rate*v - w*w*math.Sin(q) }
	for i, t := range times {
		if i > 0 {
			n := max(1, int(math.Ceil((t-times[i-1])/longest)))
			h := (t - times[i-1]) / float64(n)
			for range n {
				a1 := pull(q, v)
				v2 := v + h/2*a1
				a2 := pull(q+h/2*v, v2)
				v3 := v + h/2*a2
				a3 := pull(q+h/2*v2, v3)
				v4 := v + h*a3
				a4 := pull(q+h*v3, v4)
				q += h / 6 * (v + 2*v2 + 2*v3 + v4)
				v += h / 6 * (a1 + 2*a2 + 2*a3 + a4)
			}
		}
		dst[i] = rest + q
	}
}
