package chaos_test

import (
	"errors"
	"math"
	"testing"

	"counterpoise/mechanics/chaos"
	"counterpoise/mechanics/motion"
)

// The driven pendulum of TestPeriodDoubling over a grid of drive strength and
// damping: the row of the book's damping shows the book's periods, and chaos at
// γ = 1.105.
//
// Source: as for TestPeriodDoubling; Taylor's chaotic example is γ = 1.105.
func TestPeriodsOverAGrid(t *testing.T) {
	const w = 2 * math.Pi
	const w0 = 1.5 * w
	system := func(gamma, beta float64) (motion.System, error) {
		return motion.Of(2, func(dst []float64, t float64, y []float64) {
			dst[0] = y[1]
			dst[1] = -2*beta*y[1] - w0*w0*math.Sin(y[0]) + gamma*w0*w0*math.Cos(w*t)
		}), nil
	}
	o := chaos.SectionOptions{Points: 24, Skip: 300 / shorter, Angles: []int{0}, Tolerance: 1e-8}
	strength := chaos.Axis{From: 1.055, To: 1.155, N: 2} // 1.055, 1.105
	damping := chaos.Axis{From: w0 / 4, To: w0, N: 2}
	m, err := chaos.Periods(system, 1, []float64{-math.Pi / 2, 0}, strength, damping, 1e-3, o)
	if err != nil {
		t.Fatal(err)
	}
	if got := m.At(0, 0); got != 1 && shorter == 1 {
		t.Errorf("γ = 1.055: period %g, want 1", got)
	}
	if got := m.At(1, 0); !math.IsNaN(got) {
		t.Errorf("γ = 1.105: period %g, want none", got)
	}
	if got := m.At(0, 1); got != 1 {
		t.Errorf("γ = 1.055, strongly damped: period %g, want 1", got)
	}
}

func TestOverGivesEachPointItsValue(t *testing.T) {
	a, b := chaos.Axis{From: 0, To: 1, N: 40}, chaos.Axis{From: 2, To: 5, N: 30}
	m, err := chaos.Over(a, b, func() func(a, b float64) (float64, error) {
		return func(a, b float64) (float64, error) { return 10*a + b, nil }
	})
	if err != nil {
		t.Fatal(err)
	}
	for i := range a.N {
		for j := range b.N {
			if m.At(i, j) != 10*a.At(i)+b.At(j) {
				t.Fatalf("point (%d, %d) is %g", i, j, m.At(i, j))
			}
		}
	}
	broken := errors.New("broken")
	_, err = chaos.Over(a, b, func() func(a, b float64) (float64, error) {
		return func(a, b float64) (float64, error) { return 0, broken }
	})
	if !errors.Is(err, broken) {
		t.Errorf("an error at a point is told as %v", err)
	}
}
