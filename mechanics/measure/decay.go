package measure

import (
	"fmt"
	"math"
)

// A Decrement says how fast a swing dies out.
type Decrement struct {
	Log float64 // logarithmic decrement δ: ln of the ratio of two amplitudes one swing apart
}

// DecrementOf returns the decrement from the amplitudes at the start and n swings
// later. Source: "Logarithmic decrement" (check-values N1, seen).
func DecrementOf(first, last float64, swings int) (Decrement, error) {
	if !(first > 0 && last > 0) || math.IsInf(first+last, 0) {
		return Decrement{}, fmt.Errorf("amplitudes are %v and %v: give two positive numbers", first, last)
	}
	if swings < 1 {
		return Decrement{}, fmt.Errorf("%d swings lie between the amplitudes: give at least one", swings)
	}
	return Decrement{math.Log(first/last) / float64(swings)}, nil
}

// DecrementAt returns the decrement for a damping ratio ζ, 0 <= ζ < 1.
func DecrementAt(ratio float64) (Decrement, error) {
	if !(ratio >= 0 && ratio < 1) {
		return Decrement{}, fmt.Errorf("damping ratio is %v: give one from 0 to below 1", ratio)
	}
	return Decrement{2 * math.Pi * ratio / math.Sqrt(1-ratio*ratio)}, nil
}

// Ratio returns the damping ratio ζ.
func (d Decrement) Ratio() float64 {
	return d.Log / math.Sqrt(4*math.Pi*math.Pi+d.Log*d.Log)
}

// Quality returns Q = 1/(2ζ).
func (d Decrement) Quality() float64 { return 1 / (2 * d.Ratio()) }

// SwingsToHalf returns after how many swings half the amplitude is left.
func (d Decrement) SwingsToHalf() float64 { return math.Ln2 / d.Log }

// A Friction is a law by which a swing dies out.
type Friction int

// The laws that the amplitudes of one run can tell apart.
const (
	Viscous Friction = iota // in proportion to the speed, as in air or water: the same share each swing
	Dry                     // the same at any speed, as at a pivot: the same amount each swing
	Drag                    // with the square of the speed, as on a card in air: 1/amplitude grows evenly
)

// String returns "viscous", "dry" or "square".
func (f Friction) String() string {
	return [...]string{"viscous", "dry", "square"}[max(0, min(f, Drag))]
}

// A Decay is a law laid through amplitudes that were read once a swing.
type Decay struct {
	Law  Friction
	Fit  Fit     // parameters "start" (amplitude) and "rate"
	Rate float64 // viscous: δ; dry: loss of amplitude a swing; square: growth of 1/amplitude a swing
}

// Decays lays all three laws through the amplitudes of swings 0, 1, 2, … and
// returns them with the best first: the one with the least scatter. Telling them
// apart needs amplitudes that fall at least to half.
//
// Source: check-values N3 (Singh, arXiv physics/0206086: dry friction takes 4F/k a
// swing); the others common practice, no source.
func Decays(amplitudes []float64) ([]Decay, error) {
	if len(amplitudes) < 4 {
		return nil, fmt.Errorf("there are %d amplitudes: at least 4 are needed", len(amplitudes))
	}
	n := make([]float64, len(amplitudes))
	for i, a := range amplitudes {
		n[i] = float64(i)
		if !(a > 0) || math.IsInf(a, 0) {
			return nil, fmt.Errorf("amplitude %d is %v: give positive numbers, read once a swing to the same side", i, a)
		}
	}
	first, last := amplitudes[0], amplitudes[len(amplitudes)-1]
	count := n[len(n)-1]
	laws := []struct {
		law   Friction
		curve func(n float64, p []float64) float64
		rate  float64
	}{
		{Viscous, func(n float64, p []float64) float64 { return p[0] * math.Exp(-p[1]*n) }, math.Log(first/last) / count},
		{Dry, func(n float64, p []float64) float64 { return p[0] - p[1]*n }, (first - last) / count},
		{Drag, func(n float64, p []float64) float64 { return p[0] / (1 + p[0]*p[1]*n) }, (1/last - 1/first) / count},
	}
	var out []Decay
	for _, l := range laws {
		fit, err := Curve(l.curve, n, amplitudes, []float64{first, l.rate}, []string{"start", "rate"})
		if err != nil {
			return nil, fmt.Errorf("%v friction: %w", l.law, err)
		}
		d := Decay{l.law, fit, fit.Value[1]}
		at := len(out)
		for at > 0 && out[at-1].Fit.Scatter > fit.Scatter {
			at--
		}
		out = append(out[:at], append([]Decay{d}, out[at:]...)...)
	}
	return out, nil
}
