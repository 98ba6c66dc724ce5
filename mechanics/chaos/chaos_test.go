package chaos_test

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"counterpoise/mechanics/chaos"
	"counterpoise/mechanics/halt"
	"counterpoise/mechanics/motion"
)

// driven is θ” = -damping θ' - sin θ + torque cos(w t).
func driven(damping, w, torque float64) motion.System {
	return motion.Of(2, func(dst []float64, t float64, y []float64) {
		dst[0] = y[1]
		dst[1] = -damping*y[1] - math.Sin(y[0]) + torque*math.Cos(w*t)
	})
}

func lorenz() motion.System {
	return motion.Of(3, func(dst []float64, _ float64, y []float64) {
		dst[0] = 10 * (y[1] - y[0])
		dst[1] = y[0]*(28-y[2]) - y[1]
		dst[2] = y[0]*y[1] - 8*y[2]/3
	})
}

func roessler() motion.System {
	return motion.Of(3, func(dst []float64, _ float64, y []float64) {
		dst[0] = -y[1] - y[2]
		dst[1] = y[0] + 0.2*y[1]
		dst[2] = 0.2 + y[2]*(y[0]-5.7)
	})
}

// within reports whether an exponent agrees with a published one to three
// standard errors of the difference.
func within(e chaos.Exponents, i int, want, wantError float64) bool {
	return math.Abs(e.Values[i]-want) <= 3*math.Hypot(e.StandardError[i], wantError)
}

// Sprott's values are quoted to 1 %: recomputed 0.9062(4) and 0.0710(3).
//
// Source: J. C. Sprott, Common Chaotic Systems (2004): Lorenz 0.9056, 0,
// -14.5723; Rössler 0.0714, 0, -5.3943.
func TestSpectraOfStandardSystems(t *testing.T) {
	e, err := chaos.Lyapunov(lorenz(), []float64{1, 1, 20}, chaos.LyapunovOptions{Count: 3, Length: 3000 / shorter, Every: 0.5, Tolerance: 1e-9})
	if err != nil {
		t.Fatal(err)
	}
	if !within(e, 0, 0.9056, 0.003) || math.Abs(e.Values[1]) > 3*e.StandardError[1]+1e-3*shorter || math.Abs(e.Values[2]+14.5723) > 0.02*shorter || e.StandardError[0] > 0.01*shorter {
		t.Errorf("Lorenz: %v", e)
	}
	// the divergence is constant: -(10 + 1 + 8/3)
	if want := -(11 + 8.0/3); math.Abs(e.Sum()-want) > 1e-6 {
		t.Errorf("Lorenz: the exponents sum to %.9f, want %.9f", e.Sum(), want)
	}
	e, err = chaos.Lyapunov(roessler(), []float64{1, 1, 0}, chaos.LyapunovOptions{Count: 1, Length: 6000 / shorter, Every: 2, Tolerance: 1e-9})
	if err != nil {
		t.Fatal(err)
	}
	if !within(e, 0, 0.0714, 0.0004) || e.StandardError[0] > 0.004*shorter {
		t.Errorf("Rössler: %v", e)
	}
}

// The driven damped pendulum (q = 2, ω = 2/3, torque 1.5): 0.11253 ± 0.00004,
// and both exponents sum to -1/2.
//
// Source: testdata/published/reference-values, lyapunov: computed over 64
// orbits of 500 000 s each; no published value was found.
func TestExponentOfDrivenPendulum(t *testing.T) {
	period := 3 * math.Pi
	e, err := chaos.LyapunovOver(
		func() motion.System { return driven(0.5, 2./3, 1.5) },
		func(i int) []float64 {
			random := rand.New(rand.NewPCG(7, uint64(i)))
			return []float64{3 * (2*random.Float64() - 1), 2 * (2*random.Float64() - 1)}
		},
		24, chaos.LyapunovOptions{Count: 2, Length: 300 / shorter * period, Settle: 30 * period, Every: period / 4, Angles: []int{0}, Tolerance: 1e-9})
	if err != nil {
		t.Fatal(err)
	}
	if !within(e, 0, 0.11253, 0.00004) || e.StandardError[0] > 0.004*shorter || e.StandardError[0] < 1e-5 {
		t.Errorf("%v, want 0.11253 ± 0.00004", e)
	}
	if math.Abs(e.Sum()+0.5) > 1e-6 {
		t.Errorf("the exponents sum to %.9f, want -1/2", e.Sum())
	}
}

// Hénon-Heiles at E = 1/6, chaotic sea: 0.1262 ± 0.0002; orbits with less than
// 0.04 count as regular.
//
// Source: as for the driven pendulum.
func TestExponentOfHenonHeiles(t *testing.T) {
	p := program(t, []string{"x", "z", "u", "v"}, "u", "v", "-x - 2 x z", "-z - x^2 + z^2")
	e, err := chaos.LyapunovOver(
		func() motion.System {
			s, err := motion.Compiled(p)
			if err != nil {
				panic(err)
			}
			return s
		},
		seaStart, 40, chaos.LyapunovOptions{Length: 2500 / shorter, Settle: 500 / shorter, Every: 2, Floor: 0.04, Tolerance: 1e-9})
	if err != nil {
		t.Fatal(err)
	}
	if !within(e, 0, 0.1262, 0.0002) || e.StandardError[0] > 0.006*shorter || e.Orbits < 20 {
		t.Errorf("%v (%d left out), want 0.1262 ± 0.0002", e, e.LeftOut)
	}
}

// seaStart is a random state of the Hénon-Heiles system at E = 1/6.
func seaStart(i int) []float64 {
	random := rand.New(rand.NewPCG(11, uint64(i)))
	for {
		z, v := random.Float64()-0.5, 0.8*random.Float64()-0.4
		if r := 1.0/3 - v*v - z*z + 2*z*z*z/3; r > 0 {
			return []float64{0, z, math.Sqrt(r), v}
		}
	}
}

// Without chaos the largest exponent of an undriven pendulum is 0, that of a
// damped one its decay.
func TestExponentsOfRegularMotions(t *testing.T) {
	e, err := chaos.Lyapunov(driven(0, 1, 0), []float64{1, 0}, chaos.LyapunovOptions{Length: 20000 / shorter, Every: 5, Tolerance: 1e-9})
	if err != nil || math.Abs(e.Values[0]) > 2e-3*shorter {
		t.Errorf("pendulum: %v, %v", e, err)
	}
	e, err = chaos.Lyapunov(driven(0.2, 1, 0), []float64{1, 0}, chaos.LyapunovOptions{Count: 2, Length: 1000})
	if err != nil || math.Abs(e.Values[0]+0.1) > 1e-3 || math.Abs(e.Sum()+0.2) > 1e-6 {
		t.Errorf("damped pendulum: %v, %v; want -0.1 and -0.1", e, err)
	}
}

// Period doubling of the driven pendulum φ” + 2β φ' + ω0² sin φ = γ ω0² cos ωt,
// ω = 2π, ω0 = 1.5 ω, β = ω0/4: doublings at γ = 1.0663, 1.0793, 1.0821.
//
// Source: J. R. Taylor, Classical Mechanics (2005), table 12.1 (from memory);
// recomputed by Floquet multipliers: 1.06637286, 1.07931390, 1.08208438.
func TestPeriodDoubling(t *testing.T) {
	const w = 2 * math.Pi
	const w0 = 1.5 * w
	system := func(gamma float64) (motion.System, error) {
		return motion.Of(2, func(dst []float64, t float64, y []float64) {
			dst[0] = y[1]
			dst[1] = -w0/2*y[1] - w0*w0*math.Sin(y[0]) + gamma*w0*w0*math.Cos(w*t)
		}), nil
	}
	gammas := []float64{1.06, 1.0655, 1.0675, 1.0785, 1.0800, 1.0815}
	want := []int{1, 1, 2, 2, 4, 4}
	all, err := chaos.Branches(system, 1, []float64{-math.Pi / 2, 0}, gammas, chaos.SectionOptions{Points: 32, Skip: 500, Angles: []int{0}, Tolerance: 1e-9})
	if err != nil {
		t.Fatal(err)
	}
	for i, points := range all {
		if got := chaos.Distinct(motion.Component(points, 0), 1e-4); got != want[i] {
			t.Errorf("γ = %g: period %d, want %d", gammas[i], got, want[i])
		}
	}
}

// A section of Hénon-Heiles keeps to the energy's bound, and a regular orbit
// draws a curve: here the points stay on the side where they started.
func TestSectionKeepsEnergy(t *testing.T) {
	s := motion.Newton(2, func(dst []float64, _ float64, q []float64) {
		dst[0], dst[1] = -q[0]-2*q[0]*q[1], -q[1]-q[0]*q[0]+q[1]*q[1]
	})
	start := []float64{0, 0.1, math.Sqrt(1.0/6 - 0.01 + 0.002/3), 0} // E = 1/12
	points, err := chaos.Section(s, start, func(_ float64, y []float64) float64 { return y[0] }, motion.Rising, chaos.SectionOptions{Points: 200})
	if err != nil || len(points) != 200 {
		t.Fatalf("%d points, %v", len(points), err)
	}
	for _, y := range points {
		e := (y[2]*y[2]+y[3]*y[3]+y[0]*y[0]+y[1]*y[1])/2 + y[0]*y[0]*y[1] - y[1]*y[1]*y[1]/3
		if math.Abs(y[0]) > 1e-9 || y[2] <= 0 || math.Abs(e-1.0/12) > 1e-8 {
			t.Fatalf("point %v: energy %.10f", y, e)
		}
	}
	_, err = chaos.Section(s, start, func(_ float64, y []float64) float64 { return y[0] - 5 }, motion.Any, chaos.SectionOptions{Longest: 20})
	if err == nil {
		t.Error("a surface that is never passed gives no error")
	}
}

// Two starts of a chaotic double pendulum part, those of a small swing do not.
func TestSensitivity(t *testing.T) {
	s, err := motion.Compiled(doublePendulum(t))
	if err != nil {
		t.Fatal(err)
	}
	dy := []float64{1e-8, 0, 0, 0}
	wild, err := chaos.Sensitivity(s, []float64{2, 2, 0, 0}, dy, 30, 300)
	if err != nil || !(wild.Horizon > 2 && wild.Horizon < 25) || !(wild.Doubling > 0.05 && wild.Doubling < 1) {
		t.Errorf("wild: horizon %g s, doubling %g s, %v", wild.Horizon, wild.Doubling, err)
	}
	tame, err := chaos.Sensitivity(s, []float64{0.1, 0.1, 0, 0}, dy, 30, 300)
	if err != nil || !math.IsInf(tame.Horizon, 1) || tame.Distance[300] > 1e-6 {
		t.Errorf("tame: horizon %g s, at last %g apart, %v", tame.Horizon, tame.Distance[300], err)
	}
}

func TestLongComputationsStop(t *testing.T) {
	done, cancel := context.WithCancel(context.Background())
	cancel()
	o := flipOptions()
	o.Context = done
	if _, err := chaos.FlipTimes(doublePendulum(t), atRest, circle(512), circle(512), o); !errors.Is(err, context.Canceled) {
		t.Error(err)
	}
	if _, err := chaos.Lyapunov(lorenz(), []float64{1, 1, 1}, chaos.LyapunovOptions{Length: 1e9, Context: done}); !errors.Is(err, context.Canceled) {
		t.Error(err)
	}
	halt.Request()
	defer halt.Clear()
	if _, err := chaos.FlipTimes(doublePendulum(t), atRest, circle(512), circle(512), flipOptions()); !errors.Is(err, halt.ErrHalted) {
		t.Error(err)
	}
	if _, err := chaos.Strobe(lorenz(), []float64{1, 1, 1}, 1, chaos.SectionOptions{Points: 100000}); !errors.Is(err, halt.ErrHalted) {
		t.Error(err)
	}
	_, err := chaos.LyapunovOver(lorenz, func(int) []float64 { return []float64{1, 1, 1} }, 4, chaos.LyapunovOptions{Length: 1e9})
	if !errors.Is(err, halt.ErrHalted) {
		t.Error(err)
	}
}

func ExampleLyapunov() {
	// a damped reed pushed to and fro: θ” = -θ'/2 - sin θ + 1.5 cos(2t/3)
	reed := motion.Of(2, func(dst []float64, t float64, y []float64) {
		dst[0] = y[1]
		dst[1] = -y[1]/2 - math.Sin(y[0]) + 1.5*math.Cos(2*t/3)
	})
	e, err := chaos.Lyapunov(reed, []float64{0.2, 0}, chaos.LyapunovOptions{Length: 3000, Angles: []int{0}})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.1f 1/s: chaotic is %t\n", e.Values[0], e.Values[0] > 3*e.StandardError[0])
	// Output: 0.1 1/s: chaotic is true
}

func ExampleStrobe() {
	// the same reed, pushed less: it settles to one swing a push
	reed := motion.Of(2, func(dst []float64, t float64, y []float64) {
		dst[0] = y[1]
		dst[1] = -y[1]/2 - math.Sin(y[0]) + 0.9*math.Cos(2*t/3)
	})
	points, err := chaos.Strobe(reed, []float64{0.2, 0}, 3*math.Pi, chaos.SectionOptions{Points: 20, Skip: 60, Angles: []int{0}})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println("different points:", chaos.Distinct(motion.Component(points, 0), 1e-6))
	// Output: different points: 1
}
