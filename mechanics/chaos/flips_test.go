package chaos_test

import (
	"math"
	"testing"

	"counterpoise/mechanics/chaos"
	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/expr/parse"
	"counterpoise/mechanics/expr/tape"
	"counterpoise/mechanics/motion"
)

// program compiles rates as typed.
func program(t testing.TB, state []string, rates ...string) *tape.Program {
	t.Helper()
	var out []expr.Expr
	for _, text := range rates {
		e, err := parse.Parse(text, parse.Options{Symbols: state})
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, e)
	}
	p, err := tape.Compile(out, state, tape.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// doublePendulum is two equal masses on equal rods of 1 m under 9.81 m/s².
func doublePendulum(t testing.TB) *tape.Program {
	return program(t, []string{"a", "b", "u", "v"}, "u", "v",
		"(-2*9.81 sin(a) - sin(a-b) v^2 - cos(a-b) (sin(a-b) u^2 - 9.81 sin(b)))/(2 - cos(a-b)^2)",
		"(2 (sin(a-b) u^2 - 9.81 sin(b)) - cos(a-b) (-2*9.81 sin(a) - sin(a-b) v^2))/(2 - cos(a-b)^2)")
}

func atRest(y []float64, a, b float64) { y[0], y[1], y[2], y[3] = a, b, 0, 0 }

var circle = func(n int) chaos.Axis { return chaos.Axis{From: -math.Pi, To: math.Pi, N: n} }

// flipOptions follows to 10 s and leaves out what its energy keeps from
// flipping: the lower arm turns over only where 2 cos θ1 + cos θ2 <= 1.
func flipOptions() chaos.FlipOptions {
	return chaos.FlipOptions{
		Limits: []float64{math.Pi, math.Pi, 0, 0},
		Impossible: chaos.NoFlipBelow(func(y []float64) float64 {
			return 9.81 * (3 - 2*math.Cos(y[0]) - math.Cos(y[1]))
		}, 2*9.81, 0.2),
	}
}

// The flip map of the double pendulum, step 0.01 s to 10 s: the number of
// starts that flip and the mean time, as a C++ program (one motion at a time,
// libm) and a NumPy program find them, too.
//
// Source: computed; 9459 and 2.801851 for 128², 37 759 and 2.787780 for 256².
func TestFlipMap(t *testing.T) {
	p := doublePendulum(t)
	with := flipOptions()
	without := with
	without.Impossible = nil
	if shorter == 1 {
		m, err := chaos.FlipTimes(p, atRest, circle(128), circle(128), with)
		if err != nil {
			t.Fatal(err)
		}
		if n, mean := m.Happened(); n != 9459 || math.Abs(mean-2.801851) > 1e-6 {
			t.Errorf("%d flips, mean time %.7f s; want 9459, 2.801851 s", n, mean)
		}
	}
	// the energy's veto leaves out only starts that do not flip
	small := circle(64 / (1 + shorter/4))
	a, err := chaos.FlipTimes(p, atRest, small, small, with)
	if err != nil {
		t.Fatal(err)
	}
	b, err := chaos.FlipTimes(p, atRest, small, small, without)
	if err != nil {
		t.Fatal(err)
	}
	if a.Steps > b.Steps*3/4 {
		t.Errorf("the veto saves little: %d steps in place of %d", a.Steps, b.Steps)
	}
	for i := range a.Value {
		if a.Value[i] != b.Value[i] && !(math.IsNaN(a.Value[i]) && math.IsNaN(b.Value[i])) {
			t.Fatalf("point %d: %g s with the veto, %g s without", i, a.Value[i], b.Value[i])
		}
	}
	// a plain system gives the same map but for chaos at its last bits
	c, err := chaos.FlipTimesOf(func() motion.System {
		s, err := motion.Compiled(p)
		if err != nil {
			panic(err)
		}
		return s
	}, atRest, small, small, with)
	if err != nil {
		t.Fatal(err)
	}
	different := 0
	for i := range a.Value {
		if math.Abs(a.Value[i]-c.Value[i]) > 0.05 {
			different++
		}
	}
	if different > len(a.Value)/200 {
		t.Errorf("%d of %d points differ between program and system", different, len(a.Value))
	}
}

func TestMistakenMaps(t *testing.T) {
	p := doublePendulum(t)
	good := flipOptions()
	for name, try := range map[string]func() error{
		"limits": func() error {
			_, err := chaos.FlipTimes(p, atRest, circle(4), circle(4), chaos.FlipOptions{})
			return err
		},
		"axis": func() error { _, err := chaos.FlipTimes(p, atRest, circle(0), circle(4), good); return err },
		"step": func() error {
			o := good
			o.Step = -1
			_, err := chaos.FlipTimes(p, atRest, circle(4), circle(4), o)
			return err
		},
		"program": func() error { _, err := chaos.FlipTimes(nil, atRest, circle(4), circle(4), good); return err },
		"period": func() error {
			_, err := chaos.Strobe(driven(0.5, 2./3, 1.5), []float64{0, 0}, 0, chaos.SectionOptions{})
			return err
		},
		"count": func() error {
			_, err := chaos.Lyapunov(lorenz(), []float64{1, 1, 1}, chaos.LyapunovOptions{Count: 4})
			return err
		},
		"start": func() error {
			_, err := chaos.Lyapunov(lorenz(), []float64{1, 1}, chaos.LyapunovOptions{})
			return err
		},
		"same": func() error {
			_, err := chaos.Sensitivity(lorenz(), []float64{1, 1, 1}, []float64{0, 0, 1e-30}, 1, 10)
			return err
		},
	} {
		if err := try(); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
}
