package measure

import (
	"fmt"
	"math"

	"counterpoise/mechanics/balance"
	"counterpoise/mechanics/quantity"
)

// A Thread is a ball on a thread, swung to measure gravity.
type Thread struct {
	Length    float64 // from the pivot to the middle of the ball, m
	Diameter  float64 // of the ball, m; 0 = taken for a point
	Amplitude float64 // mean amplitude of the swings that were timed, rad
	Density   float64 // of the ball, kg/m³; 0 = buoyancy left out
	Air       float64 // density of the air, kg/m³; 0 = 1.2
}

// Gravity returns g in m/s² from the period in s of one swing: the amplitude, the
// ball's size and the buoyancy of the air are taken into account, the thread's mass
// and the air that is dragged along are not.
//
// Source: Nelson and Olsson, The pendulum - rich physics from a simple system, Am.
// J. Phys. 54 (1986) 112 (check-values P1, P6).
func (p Thread) Gravity(period float64) (float64, error) {
	if !(period > 0) || math.IsInf(period, 0) {
		return 0, fmt.Errorf("period is %v s: give a positive time", period)
	}
	if !(p.Length > 0) || math.IsInf(p.Length, 0) {
		return 0, fmt.Errorf("length of the thread is %v m: give a positive length, from the pivot to the ball's middle", p.Length)
	}
	if !(p.Diameter >= 0 && p.Diameter < 2*p.Length) {
		return 0, fmt.Errorf("diameter of the ball is %v m: give one from 0 to below twice the length", p.Diameter)
	}
	stretch := balance.LargeSwing(p.Amplitude)
	if math.IsNaN(stretch) {
		return 0, fmt.Errorf("amplitude is %v rad: give one below π", p.Amplitude)
	}
	r := p.Diameter / 2
	small := period / stretch
	g := 4 * math.Pi * math.Pi * (p.Length + 0.4*r*r/p.Length) / (small * small)
	if p.Density == 0 {
		return g, nil
	}
	air := p.Air
	if air == 0 {
		air = 1.2
	}
	if !(p.Density > air) {
		return 0, fmt.Errorf("density of the ball is %v kg/m³, that of the air %v: the ball must be heavier", p.Density, air)
	}
	return g / (1 - air/p.Density), nil
}

// A Hung result is what a body swung about several points tells.
type Hung struct {
	Gravity  quantity.Input // m/s²
	Gyration quantity.Input // radius of gyration about the centre of gravity, m
	Fit      Fit            // of d T² against d², parameters "a" and "b"
}

// HungAtPoints returns gravity and radius of gyration from the periods in s of a
// body hung at several distances in m from its centre of gravity: d T² = (4π²/g)
// (d² + k²) is a line in d². It needs three distances. Look at Fit.Outliers and at
// [Influence]: the farthest point draws the line most.
//
// Source: check-values K1, K3 (Rossi and Zaninetti, CEJP 3 (2005) 636).
func HungAtPoints(distances, periods []float64) (Hung, error) {
	x, y, err := hungLine(distances, periods)
	if err != nil {
		return Hung{}, err
	}
	fit, err := Line(x, y)
	if err != nil {
		return Hung{}, err
	}
	a, b := fit.Value[0], fit.Value[1]
	if !(b > 0 && a > 0) {
		return Hung{}, fmt.Errorf("the periods do not follow d T² = (4π²/g)(d² + k²): slope %.4g, intercept %.4g; check distances and periods", b, a)
	}
	k := math.Sqrt(a / b)
	va, vb, cab := fit.Covariance.At(0, 0), fit.Covariance.At(1, 1), fit.Covariance.At(0, 1)
	// k = √(a/b): dk/k = (da/a - db/b)/2
	rel := va/(a*a) + vb/(b*b) - 2*cab/(a*b)
	g := 4 * math.Pi * math.Pi / b
	nu := float64(fit.Freedom)
	return Hung{
		Gravity:  quantity.Input{Name: "g", Value: g, Uncertainty: g * fit.Uncertainty[1] / b, Freedom: nu},
		Gyration: quantity.Input{Name: "k", Value: k, Uncertainty: k / 2 * math.Sqrt(max(0, rel)), Freedom: nu},
		Fit:      fit,
	}, nil
}

// hungLine returns d² and d T².
func hungLine(distances, periods []float64) (x, y []float64, err error) {
	if err := checked(distances, periods, 3); err != nil {
		return nil, nil, err
	}
	for i, d := range distances {
		if !(d > 0 && periods[i] > 0) {
			return nil, nil, fmt.Errorf("reading %d is %v m and %v s: give positive numbers", i+1, d, periods[i])
		}
		x, y = append(x, d*d), append(y, d*periods[i]*periods[i])
	}
	return x, y, nil
}

// InertiaFromSwings returns the moment of inertia in kg m² about the axis on which
// a body swings, from its mass in kg, the drop of its centre of gravity below the
// axis in m, the period in s of small swings, and gravity in m/s²: m g d (T/2π)².
// Each is an input with its uncertainty.
func InertiaFromSwings(mass, drop, period, gravity quantity.Input) (quantity.Propagation, error) {
	return quantity.Propagate(func(x []float64) float64 {
		t := x[2] / (2 * math.Pi)
		return x[0] * x[3] * x[1] * t * t
	}, []quantity.Input{mass, drop, period, gravity}, nil)
}
