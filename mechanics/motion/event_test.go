package motion_test

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"counterpoise/mechanics/motion"

	"gonum.org/v1/gonum/mathext"
	"pgregory.net/rapid"
)

// swing is the pendulum of 1 m under g = 9.81 m/s².
func swing() motion.System {
	return motion.Of(2, func(dst []float64, _ float64, y []float64) {
		dst[0], dst[1] = y[1], -9.81*math.Sin(y[0])
	})
}

// passages returns the times at which a pendulum released at 2.5 rad passes
// the angle c in 100 periods, from the incomplete elliptic integral.
//
// Source: NIST Digital Library of Mathematical Functions, 19.2.4 and 22.15.
func passages(c float64) (times []float64, period float64) {
	k := math.Sin(1.25)
	w := math.Sqrt(9.81)
	period = 4 * mathext.CompleteK(k*k) / w
	// sin(θ/2) = k sin φ, and from the turning point φ runs from π/2 down
	phi := math.Asin(math.Sin(c/2) / k)
	first := (mathext.CompleteK(k*k) - mathext.EllipticF(phi, k*k)) / w
	for n := range 100 {
		times = append(times, float64(n)*period+first, float64(n+1)*period-first)
	}
	return times, period
}

// Near the turning point two passages lie within one step; a sign test at the
// ends of steps finds as few as one of two hundred. Every tolerance must give
// all of them, in order, none twice.
func TestEveryPassageIsFound(t *testing.T) {
	for _, c := range []float64{2.0, 2.4, 2.49, 2.499, 2.4999} {
		want, period := passages(c)
		for _, tol := range []float64{1e-3, 1e-6, 1e-9, 1e-12} {
			run, err := motion.Solve(swing(), []float64{2.5, 0}, 0, 100*period, motion.Options{
				Relative: tol, Absolute: tol, Unchecked: true,
				Events: []motion.Event{{Of: func(_ float64, y []float64) float64 { return y[0] - c }}},
			})
			if err != nil {
				t.Fatal(err)
			}
			if len(run.Events) != len(want) {
				t.Errorf("c = %g, tolerance %g: %d passages, want %d", c, tol, len(run.Events), len(want))
				continue
			}
			for i, e := range run.Events {
				// the state's error at 1e-10 is about 5e-6 at the end, and near
				// the turning point the speed is only sqrt(2·5.9·(2.5-c))
				speed := math.Sqrt(2 * 5.87 * (2.5 - c))
				if math.Abs(e.T-want[i]) > 1e-6+1e-6/speed {
					t.Errorf("c = %g, tolerance %g: passage %d at %.9f s, want %.9f", c, tol, i, e.T, want[i])
					break
				}
				down := motion.Direction(1 - 2*((i+1)%2))
				if e.Direction != down {
					t.Errorf("c = %g: passage %d has direction %d", c, i, e.Direction)
				}
			}
		}
	}
}

func TestDirectionsAreKeptApart(t *testing.T) {
	_, period := passages(2)
	height := func(_ float64, y []float64) float64 { return y[0] - 2 }
	run, err := motion.Solve(swing(), []float64{2.5, 0}, 0, 100*period, motion.Options{Unchecked: true, Events: []motion.Event{
		{Name: "up", Of: height, Direction: motion.Rising},
		{Name: "down", Of: height, Direction: motion.Falling},
		{Name: "both", Of: height},
	}})
	if err != nil {
		t.Fatal(err)
	}
	up, down, both := run.Happened("up"), run.Happened("down"), run.Happened("both")
	if len(up) != 100 || len(down) != 100 || len(both) != 200 {
		t.Fatalf("%d up, %d down, %d both; want 100, 100, 200", len(up), len(down), len(both))
	}
	for i := range up {
		if down[i] >= up[i] || down[i] != both[2*i] || up[i] != both[2*i+1] {
			t.Fatalf("passages %d: down at %g, up at %g, both at %g and %g", i, down[i], up[i], both[2*i], both[2*i+1])
		}
	}
	// backwards the same zeros are met, in the opposite order and direction
	end := run.End()
	back, err := motion.Solve(swing(), end, 100*period, 0, motion.Options{Unchecked: true, Events: []motion.Event{
		{Name: "up", Of: height, Direction: motion.Rising}, {Name: "both", Of: height},
	}})
	if err != nil {
		t.Fatal(err)
	}
	again := back.Happened("up")
	if len(again) != 100 {
		t.Fatalf("%d passages upwards on the way back, want 100", len(again))
	}
	for i := range again {
		if math.Abs(again[i]-up[99-i]) > 1e-5 {
			t.Fatalf("passage %d backwards at %.8f s, forwards at %.8f", i, again[i], up[99-i])
		}
	}
}

// sin t touches 1 at π/2 + 2πk: 16 times before t = 100.
func TestTouchesAreFoundOnce(t *testing.T) {
	circle := motion.Of(2, func(dst []float64, _ float64, y []float64) { dst[0], dst[1] = y[1], -y[0] })
	top := func(_ float64, y []float64) float64 { return y[0] - 1 }
	run, err := motion.Solve(circle, []float64{0, 1}, 0, 100, motion.Options{Unchecked: true, Events: []motion.Event{
		{Name: "touch", Of: top, Touching: true},
		{Name: "square", Of: func(_ float64, y []float64) float64 { return y[0] * y[0] }, Touching: true},
	}})
	if err != nil {
		t.Fatal(err)
	}
	touches := run.Happened("touch")
	if len(touches) != 16 {
		t.Fatalf("%d touches, want 16: %v", len(touches), touches)
	}
	for k, at := range touches {
		if want := math.Pi/2 + 2*math.Pi*float64(k); math.Abs(at-want) > 1e-6 {
			t.Errorf("touch %d at %.9f s, want %.9f", k, at, want)
		}
	}
	if n := len(run.Happened("square")); n != 31 {
		t.Errorf("sin² t touches 0 %d times in (0, 100], want 31", n)
	}
}

// Two zeros a thousandth of a step apart, inside one long step: the motion is
// a polynomial, so the first step may span everything.
func TestPairInsideOneStep(t *testing.T) {
	clock := motion.Of(1, func(dst []float64, _ float64, _ []float64) { dst[0] = 1 })
	// the dip between the zeros is gap²/4 deep in a function of size 47
	for _, gap := range []float64{1e-1, 1e-2, 1e-3, 1e-4, 1e-5} {
		run, err := motion.Solve(clock, []float64{0}, 0, 10, motion.Options{Unchecked: true, FirstStep: 10, Events: []motion.Event{
			{Of: func(_ float64, y []float64) float64 { return (y[0] - math.Pi) * (y[0] - math.Pi - gap) }},
			{Of: func(_ float64, y []float64) float64 { return math.Sin(7 * y[0]) }}, // 22 zeros
		}})
		if err != nil {
			t.Fatal(err)
		}
		var pair, waves []float64
		for _, e := range run.Events {
			if e.Event == 0 {
				pair = append(pair, e.T)
			} else {
				waves = append(waves, e.T)
			}
		}
		if len(pair) != 2 || math.Abs(pair[0]-math.Pi) > 1e-7 || math.Abs(pair[1]-math.Pi-gap) > 1e-7 {
			t.Errorf("gap %g: zeros at %v in %d steps", gap, pair, run.Steps)
		}
		if len(waves) != 22 {
			t.Errorf("%d zeros of sin 7t in %d steps, want 22", len(waves), run.Steps)
		}
	}
}

// A ball dropped from 1 m that keeps the part r of its speed bounces at
// t_n = t_1 (1 + 2(r + r² + … )), t_1 = sqrt(2h/g), and rests at t_1 (1+r)/(1-r).
//
// Common practice, no source.
func TestBallDoesNotFallThroughTheFloor(t *testing.T) {
	const g, r = 9.81, 0.8
	ball := motion.Of(2, func(dst []float64, _ float64, y []float64) { dst[0], dst[1] = y[1], -g })
	bounce := motion.Event{
		Name: "bounce", Of: func(_ float64, y []float64) float64 { return y[0] }, Direction: motion.Falling,
		Then: func(_ float64, y []float64) { y[0], y[1] = 0, -r*y[1] },
	}
	run, err := motion.Solve(ball, []float64{1, 0}, 0, 10, motion.Options{Events: []motion.Event{bounce}})
	if !errors.Is(err, motion.ErrCrowded) {
		t.Fatalf("bounces without end are reported as %v", err)
	}
	first := math.Sqrt(2 / g)
	at, dt := first, 2*first*r
	for i, e := range run.Events[:60] {
		if math.Abs(e.T-at) > 1e-9 {
			t.Fatalf("bounce %d at %.12f s, want %.12f", i+1, e.T, at)
		}
		at, dt = at+dt, dt*r
	}
	if rest := first * (1 + r) / (1 - r); math.Abs(run.EndTime()-rest) > 1e-8 {
		t.Errorf("rests at %.9f s, want %.9f", run.EndTime(), rest)
	}
	for i, y := range run.Y {
		if y[0] < -1e-9 {
			t.Errorf("at %g s the ball is %g m below the floor", run.T[i], -y[0])
		}
	}
	bounce.Stop, bounce.StopAt = true, 3
	run, err = motion.Solve(ball, []float64{1, 0}, 0, 10, motion.Options{Events: []motion.Event{bounce}})
	if err != nil || len(run.Events) != 3 {
		t.Fatalf("%d bounces with StopAt 3, %v", len(run.Events), err)
	}
	if want := first * (1 + 2*r + 2*r*r); math.Abs(run.EndTime()-want) > 1e-9 {
		t.Errorf("third bounce at %.12f s, want %.12f", run.EndTime(), want)
	}
	// between the second and the third bounce, half way, the ball is highest
	y, err := run.At(first * (1 + 2*r + r*r))
	if err != nil || math.Abs(y[0]-r*r*r*r) > 1e-8 || math.Abs(y[1]) > 1e-8 {
		t.Errorf("top of the second bounce %v, want height %g, %v", y, r*r*r*r, err)
	}
}

func ExampleSolve() {
	reed := motion.Of(2, func(dst []float64, _ float64, y []float64) {
		dst[0] = y[1]                   // rad/s
		dst[1] = -9.81 * math.Sin(y[0]) // rad/s², a pendulum of 1 m
	})
	run, err := motion.Solve(reed, []float64{math.Pi / 2, 0}, 0, 10, motion.Options{
		Events: []motion.Event{{Name: "lowest", Of: func(_ float64, y []float64) float64 { return y[0] }}},
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	times := run.Happened("lowest")
	fmt.Printf("period %.6f s\n", times[2]-times[0])
	y, _ := run.At(1)
	fmt.Printf("after 1 s at %.4f rad\n", y[0])
	// Output:
	// period 2.367842 s
	// after 1 s at -1.4050 rad
}

// Functions that no polynomial follows, or that are not numbers in places, or
// zero all along, neither hang a run nor end it.
func TestOddEventFunctions(t *testing.T) {
	run, err := motion.Solve(swing(), []float64{1, 0}, 0, 10, motion.Options{Unchecked: true, Events: []motion.Event{
		{Name: "root", Of: func(_ float64, y []float64) float64 { return math.Sqrt(y[0]) }},
		{Name: "kink", Of: func(_ float64, y []float64) float64 { return math.Abs(y[0]) - 0.5 }},
		{Name: "sawtooth", Of: func(at float64, _ []float64) float64 { return math.Mod(at+0.25, 1) - 0.5 }, Direction: motion.Rising},
		{Name: "nothing", Of: func(float64, []float64) float64 { return 0 }, Touching: true},
		{Name: "never", Of: func(float64, []float64) float64 { return math.NaN() }},
		{Name: "swing", Of: func(_ float64, y []float64) float64 { return y[0]*y[0] - 0.25 }},
	}})
	if err != nil {
		t.Fatal(err)
	}
	for name, want := range map[string]int{"kink": len(run.Happened("swing")), "sawtooth": 10, "nothing": 0, "never": 0} {
		if got := len(run.Happened(name)); got != want {
			t.Errorf("%s: %d events, want %d", name, got, want)
		}
	}
	for i, at := range run.Happened("kink") {
		if math.Abs(at-run.Happened("swing")[i]) > 1e-9 {
			t.Errorf("|θ| = 0.5 at %.12f s, θ² = 0.25 at %.12f s", at, run.Happened("swing")[i])
		}
	}
	if n := len(run.Happened("swing")); n != 19 {
		t.Errorf("%d passages of 0.5 rad in 10 s, want 19", n)
	}
}

// Whatever the function and the steps, each change of sign that a fine sampling
// shows has its event, and events beyond those come in pairs too close for the
// sampling. The motion is a clock, whose steps grow to the whole interval.
func TestEveryChangeOfSignHasItsEvent(t *testing.T) {
	clock := motion.Of(1, func(dst []float64, _ float64, _ []float64) { dst[0] = 1 })
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 5).Draw(t, "waves")
		var a, w, phase []float64
		for range n {
			a = append(a, rapid.Float64Range(-1, 1).Draw(t, "a"))
			w = append(w, rapid.Float64Range(0.1, 12).Draw(t, "w"))
			phase = append(phase, rapid.Float64Range(0, 6).Draw(t, "phase"))
		}
		level := rapid.Float64Range(-1, 1).Draw(t, "level")
		g := func(at float64) float64 {
			sum := level
			for i := range a {
				sum += a[i] * math.Sin(w[i]*at+phase[i])
			}
			return sum
		}
		if math.Abs(g(0)) < 1e-6 || math.Abs(g(20)) < 1e-6 {
			t.Skip("starts or ends at a zero, which is not passed")
		}
		first := rapid.SampledFrom([]float64{0, 0.3, 20}).Draw(t, "first step")
		run, err := motion.Solve(clock, []float64{0}, 0, 20, motion.Options{FirstStep: first, Unchecked: true, Events: []motion.Event{
			{Of: func(_ float64, y []float64) float64 { return g(y[0]) }},
		}})
		if err != nil {
			t.Fatal(err)
		}
		const samples = 5000
		k, shown := 0, 0
		for i := 1; i <= samples; i++ {
			from, to := 20*float64(i-1)/samples, 20*float64(i)/samples
			if g(from)*g(to) < 0 {
				shown++
				inside := 0
				for k < len(run.Events) && run.Events[k].T <= to+1e-9 {
					if run.Events[k].T >= from-1e-9 {
						inside++
					}
					k++
				}
				if inside%2 != 1 {
					t.Fatalf("between %g and %g the sign changes, %d events lie there", from, to, inside)
				}
			}
		}
		if (len(run.Events)-shown)%2 != 0 {
			t.Fatalf("%d events, %d changes of sign", len(run.Events), shown)
		}
		for i, e := range run.Events {
			if v := g(e.T); math.Abs(v) > 1e-9*float64(n+1)*12 {
				t.Fatalf("event %d at %.12f: the function is %g", i, e.T, v)
			}
			if i > 0 && e.Direction == run.Events[i-1].Direction {
				t.Fatalf("events %d and %d pass zero in the same direction", i-1, i)
			}
		}
	})
}
