package motion_test

import (
	"fmt"
	"math"
	"testing"

	"counterpoise/mechanics/motion"
)

// henonHeiles is the Hénon-Heiles system and its energy.
func henonHeiles() (motion.System, func(float64, []float64) float64) {
	s := motion.Newton(2, func(dst []float64, _ float64, q []float64) {
		dst[0] = -q[0] - 2*q[0]*q[1]
		dst[1] = -q[1] - q[0]*q[0] + q[1]*q[1]
	})
	return s, func(_ float64, y []float64) float64 {
		return (y[2]*y[2]+y[3]*y[3]+y[0]*y[0]+y[1]*y[1])/2 + y[0]*y[0]*y[1] - y[1]*y[1]*y[1]/3
	}
}

// Symplectic methods keep the energy of the Hénon-Heiles system at E = 1/12 for
// any time, with an error that depends on the evaluations of the force per unit
// of time. Bounds: measured for the same methods in C++ (3.0e-7, 1.85e-8 and
// 3.6e-10, 5.7e-12 up to t = 1e5), rounded up.
func TestEnergyOfLongRuns(t *testing.T) {
	s, energy := henonHeiles()
	start := []float64{0, 0.1, math.Sqrt(1.0/6 - 0.01 + 2*0.001/3), 0}
	for _, tt := range []struct {
		m      motion.Method
		stages float64
		rate   float64 // evaluations per unit of time
		bound  float64 // J
	}{
		{motion.BlanesMoan4, 6, 20, 3e-7}, {motion.BlanesMoan4, 6, 40, 2e-8},
		{motion.KahanLi6, 9, 80, 4e-10}, {motion.KahanLi6, 9, 160, 7e-12},
	} {
		drift := map[float64]float64{}
		for _, to := range []float64{1e3, 1e4} {
			run, err := motion.Solve(s, start, 0, to, motion.Options{Method: tt.m, Step: tt.stages / tt.rate, Energy: energy, EndOnly: true, Unchecked: true})
			if err != nil {
				t.Fatal(err)
			}
			if got := float64(run.Evaluations) / to; math.Abs(got-tt.rate) > 0.02*tt.rate {
				t.Errorf("%v: %g evaluations per unit of time, want %g", tt.m, got, tt.rate)
			}
			drift[to] = run.EnergyDrift
		}
		if drift[1e4] > tt.bound || drift[1e4] > 1.5*drift[1e3] {
			t.Errorf("%v at %g evaluations: energy off by %.3g after 1e3, %.3g after 1e4; want %g and no growth", tt.m, tt.rate, drift[1e3], drift[1e4], tt.bound)
		}
	}
}

// Euler's polygon feeds energy into a swing; symplectic methods do not.
func ExampleOptions_fixedStep() {
	reed := motion.Newton(1, func(dst []float64, _ float64, q []float64) { dst[0] = -9.81 * math.Sin(q[0]) })
	energy := func(_ float64, y []float64) float64 { return y[1]*y[1]/2 + 9.81*(1-math.Cos(y[0])) }
	for _, m := range []motion.Method{motion.Euler, motion.RungeKutta4, motion.Verlet, motion.Gauss4} {
		run, err := motion.Solve(reed, []float64{1, 0}, 0, 100, motion.Options{Method: m, Step: 0.02, Energy: energy})
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Printf("%v: energy off by up to %.1g J/kg\n", m, run.EnergyDrift)
	}
	// Output:
	// Euler: energy off by up to 1e+02 J/kg
	// Runge-Kutta of order 4: energy off by up to 1e-05 J/kg
	// Verlet: energy off by up to 0.004 J/kg
	// Gauss method of order 4: energy off by up to 6e-08 J/kg
}

// A run restarts at what an event does: here a lantern on a string is kicked
// each time it passes its lowest point upwards.
func ExampleEvent() {
	lantern := motion.Newton(1, func(dst []float64, _ float64, q []float64) { dst[0] = -9.81 * math.Sin(q[0]) })
	kick := motion.Event{
		Name: "kick", Of: func(_ float64, y []float64) float64 { return y[0] }, Direction: motion.Rising,
		Then: func(_ float64, y []float64) { y[1] += 0.1 }, // rad/s
	}
	run, err := motion.Solve(lantern, []float64{0.1, 0}, 0, 10, motion.Options{Events: []motion.Event{kick}})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, e := range run.Events {
		fmt.Printf("%.4f s: %.4f rad/s before the kick\n", e.T, e.Y[1])
	}
	// Output:
	// 1.5055 s: 0.3131 rad/s before the kick
	// 3.5137 s: 0.4131 rad/s before the kick
	// 5.5232 s: 0.5131 rad/s before the kick
	// 7.5341 s: 0.6131 rad/s before the kick
	// 9.5467 s: 0.7131 rad/s before the kick
}
