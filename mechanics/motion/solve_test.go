package motion_test

import (
	"context"
	"errors"
	"math"
	"strings"
	"testing"

	"counterpoise/mechanics/halt"
	"counterpoise/mechanics/motion"
)

// Tolerance is not accuracy: the error asked for must be that of the end
// state, and the estimate must say how large it is. The end states have more
// than 30 digits, see testdata/published/motion-reference.
func TestAccuracyIsKept(t *testing.T) {
	for _, p := range problems(t) {
		s := p.system(t)
		for _, asked := range []float64{1e-4, 1e-6, 1e-9} {
			run, err := motion.Solve(s, p.start, 0, p.end, motion.Options{Accuracy: asked, EndOnly: true})
			if err != nil {
				t.Errorf("%s: %v", p.name, err)
				continue
			}
			wrong := p.wrong(run.End())
			if wrong > asked || run.Error > asked {
				t.Errorf("%s: error %.2g, estimated %.2g, where %g was asked", p.name, wrong, run.Error, asked)
			}
			if asked > 1e-5 || p.name == "van_der_pol" {
				continue
			}
			if ratio := run.Error / wrong; ratio < 0.1 || ratio > 10 {
				t.Errorf("%s asked %g: error %.2g, estimated %.2g", p.name, asked, wrong, run.Error)
			}
		}
	}
}

// What rounding forbids is refused, not promised.
func TestAccuracyNearRounding(t *testing.T) {
	for _, p := range problems(t)[:6] {
		s := p.system(t)
		for _, asked := range []float64{1e-10, 1e-11, 1e-12, 1e-13} {
			run, err := motion.Solve(s, p.start, 0, p.end, motion.Options{Accuracy: asked, EndOnly: true})
			if err != nil && !errors.Is(err, motion.ErrAccuracy) {
				t.Errorf("%s: %v", p.name, err)
			}
			if err == nil && p.wrong(run.End()) > asked {
				t.Errorf("%s: error %.2g, estimated %.2g, where %g was asked", p.name, p.wrong(run.End()), run.Error, asked)
			}
		}
	}
}

// A plain run tells its error as well.
func TestEveryRunKnowsItsError(t *testing.T) {
	for _, p := range problems(t) {
		s := p.system(t)
		for _, tol := range []float64{1e-7, 1e-9, 1e-11} {
			for _, m := range []motion.Method{motion.Auto, motion.DormandPrince8, motion.DormandPrince5, motion.Taylor, motion.Radau} {
				stiff := p.name == "van_der_pol"
				if stiff && m != motion.Auto && m != motion.Radau {
					continue
				}
				if m == motion.Radau && p.name == "pendulum" || m == motion.DormandPrince5 && tol < 1e-10 {
					continue // many steps that show nothing new
				}
				run, err := motion.Solve(s, p.start, 0, p.end, motion.Options{Method: m, Relative: tol, Absolute: tol, EndOnly: true})
				if err != nil {
					t.Errorf("%s, %v: %v", p.name, m, err)
					continue
				}
				wrong := p.wrong(run.End())
				if wrong > 0.01 || wrong < 1e-11 {
					continue // wild, or rounding
				}
				if ratio := run.Error / wrong; ratio < 0.2 || ratio > 5 {
					t.Errorf("%s, %v at %g: error %.2g, estimated %.2g", p.name, m, tol, wrong, run.Error)
				}
			}
		}
	}
}

// The error of a run must fall with the tolerance, down to what rounding
// leaves. Bounds: the errors measured for the peers at 1e-12, see
// testdata/published/motion-reference, times ten.
func TestErrorFallsWithTolerance(t *testing.T) {
	for _, p := range problems(t) {
		s := p.system(t)
		last := math.Inf(1)
		for _, tol := range []float64{1e-6, 1e-8, 1e-10, 1e-12} {
			run, err := motion.Solve(s, p.start, 0, p.end, motion.Options{Relative: tol, Absolute: tol, EndOnly: true, Unchecked: true})
			if err != nil {
				t.Fatal(err)
			}
			wrong := p.wrong(run.End())
			if wrong > last/3 {
				t.Errorf("%s: error %.2g at %g after %.2g", p.name, wrong, tol, last)
			}
			last = wrong
		}
		if last > 1e-7 {
			t.Errorf("%s: error %.2g at tolerance 1e-12", p.name, last)
		}
	}
}

// Van der Pol's equation with µ = 1000 takes an explicit method some 600 000
// steps; an automatic run must notice and go over.
func TestStiffnessIsNoticed(t *testing.T) {
	p := problems(t)[6]
	run, err := motion.Solve(p.system(t), p.start, 0, p.end, motion.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if run.Method != motion.Radau || !(run.Switched > 0 && run.Switched < 1) || run.Steps > 1000 {
		t.Errorf("%v after t = %g, %d steps", run.Method, run.Switched, run.Steps)
	}
	if wrong := p.wrong(run.End()); wrong > 1e-7 {
		t.Errorf("error %.2g", wrong)
	}
	// the inside of its steps stays on the motion: θ between the knots obeys
	// the equation to what the steps allow
	times, states, err := run.Sample(501)
	if err != nil {
		t.Fatal(err)
	}
	for i, y := range states {
		// on the slow branch u = -x/(µ(x²-1)) to a part 1/µ²
		if x := y[0]; i > 0 && math.Abs(x) > 1.2 {
			if slow := -x / (1000 * (x*x - 1)); math.Abs(y[1]-slow) > 2e-4*math.Abs(slow)+1e-5 {
				t.Errorf("t = %g: u = %.9g, slow motion %.9g", times[i], y[1], slow)
			}
		}
	}
	// an explicit method that was asked for by name warns
	run, err = motion.Solve(p.system(t), p.start, 0, 1, motion.Options{Method: motion.DormandPrince8, Unchecked: true})
	if err != nil || len(run.Warnings) == 0 {
		t.Errorf("no warning of stiffness: %v", err)
	}
	// without a Jacobian it must do as well
	plain := motion.Of(2, func(dst []float64, _ float64, y []float64) {
		dst[0], dst[1] = y[1], 1000*(1-y[0]*y[0])*y[1]-y[0]
	})
	run, err = motion.Solve(plain, p.start, 0, p.end, motion.Options{})
	if err != nil || p.wrong(run.End()) > 1e-7 {
		t.Errorf("by differences: error %.2g, %v", p.wrong(run.End()), err)
	}
}

// A run that cannot go on says where and why, and gives what it has.
func TestRunsThatEndEarly(t *testing.T) {
	one := func(f func(t, y float64) float64) motion.System {
		return motion.Of(1, func(dst []float64, t float64, y []float64) { dst[0] = f(t, y[0]) })
	}
	for _, tt := range []struct {
		name  string
		s     motion.System
		y     float64
		o     motion.Options
		cause error
		at    float64 // where it must stop
		slack float64
	}{
		{"explosion", one(func(_, y float64) float64 { return y * y }), 1, motion.Options{}, motion.ErrCollapsed, 1, 1e-6},
		{"root of a negative number", one(func(_, y float64) float64 { return -math.Sqrt(y) }), 1, motion.Options{}, motion.ErrNonFinite, 2, 0.1},
		{"not a number at once", one(func(_, y float64) float64 { return math.Log(y) }), -1, motion.Options{}, motion.ErrNonFinite, 0, 0},
		{"budget", one(func(t, y float64) float64 { return math.Cos(1000 * t) }), 0, motion.Options{Budget: 2000}, motion.ErrBudget, 0.5, 0.5},
		{"step too large", one(func(_, y float64) float64 { return y * y * y }), 3, motion.Options{Method: motion.RungeKutta4, Step: 1}, motion.ErrNonFinite, 2, 3},
	} {
		run, err := motion.Solve(tt.s, []float64{tt.y}, 0, 100, tt.o)
		var stopped *motion.Interrupted
		if !errors.Is(err, tt.cause) || !errors.As(err, &stopped) {
			t.Errorf("%s: %v, want %v", tt.name, err, tt.cause)
			continue
		}
		if math.Abs(stopped.T-tt.at) > tt.slack || run.EndTime() != stopped.T {
			t.Errorf("%s: stopped at %g (%v), run ends at %g, want %g", tt.name, stopped.T, err, run.EndTime(), tt.at)
		}
		if stopped.Remedy == "" {
			t.Errorf("%s: no remedy: %v", tt.name, err)
		}
	}
}

func TestRunsStopOnRequest(t *testing.T) {
	endless := motion.Of(1, func(dst []float64, t float64, _ []float64) { dst[0] = math.Sin(1e6 * t) })
	ctx, cancel := context.WithCancel(context.Background())
	evaluations := 0
	counting := motion.Of(1, func(dst []float64, t float64, y []float64) {
		if evaluations++; evaluations == 10_000 {
			cancel()
		}
		endless.Rates(dst, t, y)
	})
	run, err := motion.Solve(counting, []float64{0}, 0, 1000, motion.Options{Context: ctx})
	if !errors.Is(err, context.Canceled) || evaluations > 12_000 || run == nil {
		t.Errorf("cancelled run: %v after %d evaluations", err, evaluations)
	}
	evaluations = 20_000 // no more cancelling
	stopper := motion.Of(1, func(dst []float64, t float64, y []float64) {
		if evaluations++; evaluations == 30_000 {
			halt.Request()
		}
		endless.Rates(dst, t, y)
	})
	defer halt.Clear()
	for _, o := range []motion.Options{{}, {Method: motion.RungeKutta4, Step: 1e-4}, {Method: motion.Radau}} {
		evaluations = 20_000
		_, err = motion.Solve(stopper, []float64{0}, 0, 1000, o)
		if !errors.Is(err, halt.ErrHalted) || evaluations > 31_000 {
			t.Errorf("%v: halted run: %v after %d evaluations", o.Method, err, evaluations-20_000)
		}
		halt.Clear()
	}
}

func TestMistakenCallsAreToldByName(t *testing.T) {
	s := swing()
	y := []float64{1, 0}
	nan := math.NaN()
	for _, tt := range []struct {
		y        []float64
		from, to float64
		o        motion.Options
		want     string
	}{
		{[]float64{1}, 0, 1, motion.Options{}, "the start has 1 values for a system of 2 components"},
		{[]float64{1, nan}, 0, 1, motion.Options{}, "component 1 of the start is NaN"},
		{y, nan, 1, motion.Options{}, "starts at t = NaN"},
		{y, 0, math.Inf(1), motion.Options{}, "ends at t = +Inf"},
		{y, 0, 1, motion.Options{Relative: -1}, "Relative is -1"},
		{y, 0, 1, motion.Options{Absolute: nan}, "Absolute is NaN"},
		{y, 0, 1, motion.Options{AbsoluteEach: []float64{1e-9}}, "AbsoluteEach has 1 values"},
		{y, 0, 1, motion.Options{RelativeEach: []float64{0, 0}, AbsoluteEach: []float64{1e-9, 0}}, "tolerance of component 1 are both 0"},
		{y, 0, 1, motion.Options{Accuracy: 1e-20}, "Accuracy is 1e-20"},
		{y, 0, 1, motion.Options{Method: motion.Euler}, "Euler needs a fixed step"},
		{y, 0, 1, motion.Options{Method: motion.Verlet, Step: 0.1}, "Verlet needs a separable system"},
		{y, 0, 1, motion.Options{Method: motion.Nystrom12}, "motion.Newton"},
		{y, 0, 1, motion.Options{Method: motion.Taylor}, "needs the series"},
		{y, 0, 1, motion.Options{Method: motion.Method(99)}, "no method 99"},
		{y, 0, 1, motion.Options{FirstStep: -1}, "FirstStep is -1"},
		{y, 0, 1, motion.Options{Budget: -1}, "Budget is -1"},
		{y, 0, 1, motion.Options{Events: []motion.Event{{Name: "top"}}}, `event 0 ("top") has no function Of`},
	} {
		run, err := motion.Solve(s, tt.y, tt.from, tt.to, tt.o)
		if run != nil || err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("got %v, want …%s…", err, tt.want)
		}
	}
	run, err := motion.Solve(s, y, 0, 1, motion.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, at := range []float64{-0.1, 1.1, nan} {
		if _, err := run.At(at); !errors.Is(err, motion.ErrOutside) {
			t.Errorf("At(%g): %v", at, err)
		}
	}
	if _, err := motion.Solve(nil, y, 0, 1, motion.Options{}); err == nil {
		t.Error("no system, no error")
	}
	if run, err := motion.Solve(s, y, 1, 1, motion.Options{}); err != nil || run.EndTime() != 1 || run.Error != 0 {
		t.Errorf("a run over no time: %v, %v", run, err)
	}
}

// What is not stiff must not be called so, however coarse the tolerance.
func TestNoFalseStiffness(t *testing.T) {
	for _, p := range problems(t)[:6] {
		s := p.system(t)
		plain := motion.Of(s.Dim(), s.Rates) // not an Accelerator, so that the default pair is taken
		for _, tol := range []float64{1e-2, 1e-3, 1e-5, 1e-8} {
			run, err := motion.Solve(plain, p.start, 0, p.end, motion.Options{Relative: tol, Absolute: tol, EndOnly: true, Unchecked: true})
			if err != nil {
				t.Errorf("%s: %v", p.name, err)
			} else if run.Method != motion.Verner9 {
				t.Errorf("%s at %g went over to %v at %g s", p.name, tol, run.Method, run.Switched)
			}
		}
	}
}

// Robertson's reaction, whose rates differ by nine powers of ten, by a closure
// without a Jacobian.
//
// Source of the problem: Hairer and Wanner II, section IV.1, (1.4); the states
// computed with SciPy's Radau at a relative tolerance of 1e-11.
func TestRobertson(t *testing.T) {
	s := motion.Of(3, func(dst []float64, _ float64, y []float64) {
		slow, middle, fast := 0.04*y[0], 1e4*y[1]*y[2], 3e7*y[1]*y[1]
		dst[0], dst[1], dst[2] = middle-slow, slow-middle-fast, fast
	})
	for _, tt := range []struct {
		until float64
		want  [3]float64
	}{
		{40, [3]float64{0.7158270687194078, 9.185534764557942e-06, 0.28416374574583053}},
		{4e5, [3]float64{0.004938274520980411, 1.9849940879546045e-08, 0.9950617056290845}},
	} {
		run, err := motion.Solve(s, []float64{1, 0, 0}, 0, tt.until, motion.Options{AbsoluteEach: []float64{1e-13, 1e-17, 1e-13}})
		if err != nil {
			t.Fatal(err)
		}
		if run.Method != motion.Radau || run.Steps > 1000 {
			t.Errorf("to %g s: %v", tt.until, run)
		}
		for i, want := range tt.want {
			if got := run.End()[i]; math.Abs(got-want) > 2e-8*math.Abs(want) {
				t.Errorf("to %g s: component %d is %.12g, want %.12g (%v)", tt.until, i, got, want, run)
			}
		}
	}
}
