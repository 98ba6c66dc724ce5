package library_test

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/mathext"

	"counterpoise/mechanics/balance"
	"counterpoise/mechanics/body"
	"counterpoise/mechanics/expr/parse"
	"counterpoise/mechanics/motion"
	"counterpoise/testdata"
	"counterpoise/worksheets/build"
	"counterpoise/worksheets/library"
)

// The keys of rocking by a second route. Inertia and moment come from package
// body, piece by piece; periods from integrating θ” = -(Mgd/I) sin θ until the
// figure passes its rest; the place of the least period from a search; the
// correction of wide swings from the elliptic integral of gonum, after Cephes.
func TestRockingKeysBySecondRoute(t *testing.T) {
	s, err := library.Read("rocking")
	if err != nil {
		t.Fatal(err)
	}
	key, err := build.Key(s)
	if err != nil {
		t.Fatal(err)
	}
	for _, own := range []map[string]string{
		nil,
		{"m": "15 g", "h": "72 mm", "A": "50 deg", "q": "0.5 %", "L": "380 mm", "s": "85 mm"},
		{"m": "24 g", "h": "90 mm", "A": "80 deg", "q": "1.5 %", "L": "440 mm", "s": "75 mm"},
	} {
		asked, err := key.Asked(own)
		if err != nil {
			t.Fatal(err)
		}
		v := map[string]float64{"g": 9.81, "x": 0.13, "c": 0.8}
		for i := range asked {
			if key.Questions[i].Question.Name == "period" {
				for name, q := range asked[i].Values {
					v[name] = q.Value
				}
			}
		}
		pieces := body.Assembly{
			{Shape: body.Point{}, Given: v["m"], At: body.V(v["b"], -v["h"], 0)},
			{Shape: body.Point{}, Given: v["m"], At: body.V(-v["b"], -v["h"], 0)},
			{Shape: body.Sphere{Radius: math.Sqrt((v["J"]/v["B"] - v["a"]*v["a"]) * 5 / 2)}, Given: v["B"], At: body.V(0, v["a"], 0)},
		}
		inertia := pieces.MomentAbout(body.V(0, 0, 0), body.V(0, 0, 1))
		moment := -pieces.Mass() * pieces.CentreOfGravity().Y
		// A rod 0.2 µm thick is thin enough.
		lath := func(x float64) (inertia, drop float64) {
			rod := body.Assembly{{Shape: body.Rod{From: body.V(-v["L"]/2, 0, 0), To: body.V(v["L"]/2, 0, 0), Diameter: 2e-7}, Given: 1}}
			return rod.MomentAbout(body.V(x, 0, 0), body.V(0, 0, 1)), x
		}
		lathPeriod := func(x float64) float64 {
			i, d := lath(x)
			return integratedPeriod(t, v["g"]*d/i, 1e-4)
		}
		squared := func(x float64) float64 {
			i, d := lath(x)
			return i / d
		}
		least := lowest(squared, 0.02, v["L"]/2)
		want := map[string]struct{ value, within float64 }{
			"inertia": {inertia, 1e-9},
			"moment":  {moment, 1e-9},
			"period":  {integratedPeriod(t, v["g"]*moment/inertia, 1e-4), 1e-8},
			// The exact amplitude, by search; the next term of the series is
			// (11/192) A² of the first.
			"largest-amplitude": {border(func(A float64) bool { return balance.LargeSwing(A) > 1+v["q"] }, 0, 2), 11.0 / 192 * 16 * v["q"]},
			"wide-swing":        {integratedPeriod(t, 1, v["A"])/(2*math.Pi) - 1, 1e-4},
			"lath-period":       {lathPeriod(v["x"]), 1e-8},
			"least-place":       {least, 1e-6},
			"least-period":      {lathPeriod(least), 1e-7},
			"partner":           {border(func(x float64) bool { return squared(x) > squared(v["s"]) }, least, v["L"]), 1e-8},
			// K of gonum takes the parameter m = k², and c = cos(A/2). After two
			// steps the means are 0.8972136 and 0.8972093; G lies between them.
			"means": {2 / math.Pi * mathext.CompleteK(1-v["c"]*v["c"]), 5e-6},
		}
		seen := 0
		for i := range asked {
			q := &key.Questions[i].Question
			expected, ok := want[q.Name]
			if !ok {
				continue
			}
			seen++
			var symbols []string
			for name := range v {
				symbols = append(symbols, name)
			}
			e, err := parse.Parse(q.Key, parse.Options{Symbols: symbols})
			if err != nil {
				t.Fatal(err)
			}
			got, err := e.Eval(v)
			if err != nil {
				t.Fatal(err)
			}
			if math.Abs(got-expected.value) > expected.within*math.Abs(expected.value) {
				t.Errorf("%s with %v: key %v, second route %v (SI)", q.Name, own, got, expected.value)
			}
		}
		if seen != len(want) {
			t.Errorf("%d of %d keys have been checked", seen, len(want))
		}
	}
}

// The formulas of rocking for a swing of any width against an integrated
// swing: what the energy holds, and the rate at a tilt.
func TestRockingEnergyBySecondRoute(t *testing.T) {
	const I, M, d, g, A = 4e-4, 0.06, 0.036, 9.81, 1.2
	omega2 := M * g * d / I
	run, err := motion.Solve(pendulum(omega2), []float64{A, 0}, 0, 1, motion.Options{Relative: 1e-12, Absolute: 1e-12})
	if err != nil {
		t.Fatal(err)
	}
	energy := func(theta, rate float64) float64 { return I*rate*rate/2 + M*g*d*(1-math.Cos(theta)) }
	for i := range 20 {
		y, err := run.At(float64(i) * 0.05)
		if err != nil {
			t.Fatal(err)
		}
		if e := energy(y[0], y[1]); math.Abs(e-energy(A, 0)) > 1e-9*energy(A, 0) {
			t.Errorf("at %d: energy %v, at the start %v", i, e, energy(A, 0))
		}
		rate := math.Sqrt(omega2) * math.Sqrt(2*math.Max(0, math.Cos(y[0])-math.Cos(A)))
		if i > 0 && math.Abs(rate-math.Abs(y[1])) > 1e-6 {
			t.Errorf("at tilt %v: key %v, integrated %v", y[0], rate, math.Abs(y[1]))
		}
	}
}

// The corrections of the sheet at 10, 60, 90 and 179 degrees against the
// published complete elliptic integral: T/T0 = (2/π) K(sin(A/2)), DLMF 19.2.8
// and 19.8.5; figures computed from it to 25 digits.
func TestRockingWideSwingsPublished(t *testing.T) {
	for _, tt := range []struct {
		degrees float64
		want    string
	}{{10, "1.00190718814"}, {60, "1.07318200715"}, {90, "1.18034059902"}, {179, "3.90106516039"}} {
		A := tt.degrees * math.Pi / 180
		testdata.Agrees(t, balance.LargeSwing(A), tt.want)
		if tt.degrees > 90 {
			continue
		}
		c := math.Cos(A / 2)
		if means := 4 / math.Pow(1+math.Sqrt(c), 2); math.Abs(means/balance.LargeSwing(A)-1) > 2e-5 { // as the sheet says
			t.Errorf("two means at %g degrees: %v", tt.degrees, means)
		}
	}
	// First correction: the remainder at a small angle is that of the next term.
	const small = 0.1
	if rest := balance.LargeSwing(small) - (1 + small*small/16); math.Abs(rest/(11*math.Pow(small, 4)/3072)-1) > 0.01 {
		t.Errorf("1 + A²/16 leaves %g", rest)
	}
}

// pendulum is θ” = -omega2 sin θ.
func pendulum(omega2 float64) motion.System {
	return motion.Of(2, func(dst []float64, _ float64, y []float64) {
		dst[0], dst[1] = y[1], -omega2*math.Sin(y[0])
	})
}

// integratedPeriod is four times the time from rest at an amplitude to the
// middle, by integration.
func integratedPeriod(t *testing.T, omega2, amplitude float64) float64 {
	t.Helper()
	middle := motion.Event{Name: "middle", Of: func(_ float64, y []float64) float64 { return y[0] }, Stop: true}
	run, err := motion.Solve(pendulum(omega2), []float64{amplitude, 0}, 0, 6/math.Sqrt(omega2),
		motion.Options{Relative: 1e-13, Absolute: 1e-15, Events: []motion.Event{middle}})
	if err != nil {
		t.Fatal(err)
	}
	at := run.Happened("middle")
	if len(at) != 1 {
		t.Fatalf("it passes the middle %d times", len(at))
	}
	return 4 * at[0]
}

// lowest searches where a function with a single lowest point has it.
func lowest(f func(float64) float64, low, high float64) float64 {
	for range 100 {
		a, b := low+(high-low)/3, high-(high-low)/3
		if f(a) < f(b) {
			high = b
		} else {
			low = a
		}
	}
	return (low + high) / 2
}
