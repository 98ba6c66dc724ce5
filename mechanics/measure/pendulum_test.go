package measure

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mathext"

	"counterpoise/mechanics/balance"
)

// exactPendulum returns the angle of an undamped pendulum released from an amplitude,
// for small swings of period 1: 2 asin(k cd(2πt)), by Fourier's series of cd.
// Source: DLMF 22.19(i) and 22.11.5 (from memory, unchecked; checked below by its
// period, which is LargeSwing).
func exactPendulum(t, amplitude float64) float64 {
	k := math.Sin(amplitude / 2)
	K, Kc := mathext.CompleteK(k*k), mathext.CompleteK(1-k*k)
	nome := math.Exp(-math.Pi * Kc / K)
	zeta := math.Pi * 2 * math.Pi * t / (2 * K)
	cd := 0.0
	for n := range 60 {
		m := float64(n) + 0.5
		term := math.Pow(nome, m) / (1 - math.Pow(nome, 2*m)) * math.Cos(2*m*zeta)
		if n%2 == 1 {
			term = -term
		}
		cd += term
	}
	return 2 * math.Asin(k*cd*2*math.Pi/(K*k))
}

// A film of large swings gives the period of small ones, at amplitudes where a plain
// sine is off by the factor of the elliptic integral.
func TestFitPendulum(t *testing.T) {
	for _, degrees := range []float64{10, 40, 80} {
		amplitude := degrees * math.Pi / 180
		if gap := exactPendulum(0, amplitude) - amplitude; math.Abs(gap) > 1e-9 {
			t.Fatalf("%v°: starts off by %v", degrees, gap)
		}
		r := rand.New(rand.NewPCG(3, 4))
		var times, angles, exact []float64
		for i := range 150 {
			at := float64(i) / 20
			times = append(times, at)
			exact = append(exact, exactPendulum(at, amplitude))
			angles = append(angles, exact[i]+0.002*r.NormFloat64())
		}
		clean, err := FitPendulum(times, exact)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(clean.Period-1) > 1e-6 || math.Abs(clean.Rate) > 1e-6 { // the method's own error, 100 steps a period
			t.Errorf("%v°: exact angles give %v s, rate %v", degrees, clean.Period, clean.Rate)
		}
		s, err := FitPendulum(times, angles)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(s.Period-1) > 4*s.PeriodUncertainty || math.Abs(s.Rate) > 4*s.RateUncertainty {
			t.Errorf("%v°: period %v ± %v, rate %v ± %v", degrees, s.Period, s.PeriodUncertainty, s.Rate, s.RateUncertainty)
		}
		sine, err := FitSwing(times, angles)
		if err != nil || math.Abs(sine.Period/balance.LargeSwing(amplitude)-1) > 1e-3 {
			t.Errorf("%v°: a sine gives %v s, large swings take %v, %v", degrees, sine.Period, balance.LargeSwing(amplitude), err)
		}
	}
}
