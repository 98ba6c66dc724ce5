package library_test

import (
	"maps"
	"math"
	"testing"

	"gonum.org/v1/gonum/mathext"

	"counterpoise/mechanics/balance"
	"counterpoise/mechanics/body"
	"counterpoise/mechanics/motion"
	"counterpoise/testdata"
)

// The keys of rocking by a second route. Inertia and moment come from package
// body, piece by piece; periods from integrating θ” = -(Mgd/I) sin θ until the
// figure passes its rest; the place of the least period from a search; the
// correction of wide swings from the elliptic integral of gonum, after Cephes.
func TestRockingKeysBySecondRoute(t *testing.T) {
	checkKeys(t, "rocking", []map[string]string{
		{"m": "15 g", "h": "72 mm", "A": "50 deg", "q": "0.5 %", "L": "380 mm", "s": "85 mm"},
		{"m": "24 g", "h": "90 mm", "A": "80 deg", "q": "1.5 %", "L": "440 mm", "s": "75 mm"},
	}, func(t *testing.T, v map[string]float64) map[string]route {
		twoBalls := pairOnPin{mass: 0.03, side: 0.07, drop: 0.04}
		maps.Copy(v, map[string]float64{"g": 9.81, "x": 0.13, "c": 0.8, "I": twoBalls.inertia(), "M": 2 * twoBalls.mass, "d": twoBalls.drop})
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
		return map[string]route{
			"inertia": {value: inertia, within: 1e-9},
			"moment":  {letters: map[string]float64{"M": pieces.Mass(), "d": moment / pieces.Mass()}},
			"energy":  {value: twoBalls.energy(0.7, 2.5, v["g"]), letters: map[string]float64{"θ": 0.7, "θ'": 2.5}},
			// The period of swings of 1e-4 rad.
			"derive-period": {letters: map[string]float64{"T": integratedPeriod(t, v["g"]*v["M"]*v["d"]/v["I"], 1e-4)}, within: 1e-8},
			"rate":          {value: rateAt(t, 7.5, 1.2, 0.4), letters: map[string]float64{"ω": 7.5, "A": 1.2, "θ": 0.4}, within: 1e-8},
			// The next term of the series is 11 A⁴/3072.
			"first-correction": {letters: map[string]float64{"A": 0.02, "T": balance.LargeSwing(0.02), "T_0": 1}, within: 6e-10},
			"period":           {value: integratedPeriod(t, v["g"]*moment/inertia, 1e-4), within: 1e-8},
			// The exact amplitude, by search; the next term of the series is
			// (11/192) A² of the first.
			"largest-amplitude": {value: border(func(A float64) bool { return balance.LargeSwing(A) > 1+v["q"] }, 0, 2), within: 11.0 / 192 * 16 * v["q"]},
			"wide-swing":        {value: integratedPeriod(t, 1, v["A"])/(2*math.Pi) - 1, within: 1e-4},
			"lath-period":       {value: lathPeriod(v["x"]), within: 1e-8},
			"least-place":       {value: least, within: 1e-6},
			"least-period":      {value: lathPeriod(least), within: 1e-7},
			"partner":           {value: border(func(x float64) bool { return squared(x) > squared(v["s"]) }, least, v["L"]), within: 1e-8},
			// K of gonum takes the parameter m = k², and c = cos(A/2). After two
			// steps the means are 0.8972136 and 0.8972093; G lies between them.
			"means": {letters: map[string]float64{"T": 2 / math.Pi * mathext.CompleteK(1-v["c"]*v["c"]), "T_0": 1}, within: 5e-6},
		}
	})
}

// A pairOnPin is two equal points fixed to each other, below a pin and as far
// to its left as to its right.
type pairOnPin struct{ mass, side, drop float64 }

func (p pairOnPin) inertia() float64 {
	return 2 * p.mass * (p.side*p.side + p.drop*p.drop)
}

// energy adds up both points' energies of motion and of height, above rest.
func (p pairOnPin) energy(tilt, rate, g float64) float64 {
	sum := 0.0
	for _, side := range []float64{p.side, -p.side} {
		x, y := side*math.Cos(tilt)+p.drop*math.Sin(tilt), side*math.Sin(tilt)-p.drop*math.Cos(tilt)
		sum += p.mass * (rate*rate*(x*x+y*y)/2 + g*(y+p.drop))
	}
	return sum
}

// rateAt integrates a swing from rest at an amplitude to a smaller tilt and
// returns how fast it passes there.
func rateAt(t *testing.T, omega, amplitude, tilt float64) float64 {
	t.Helper()
	there := motion.Event{Name: "there", Of: func(_ float64, y []float64) float64 { return y[0] - tilt }, Stop: true}
	run, err := motion.Solve(pendulum(omega*omega), []float64{amplitude, 0}, 0, 6/omega,
		motion.Options{Relative: 1e-12, Absolute: 1e-12, Events: []motion.Event{there}})
	if err != nil {
		t.Fatal(err)
	}
	if len(run.Events) != 1 {
		t.Fatalf("it passes there %d times", len(run.Events))
	}
	y, err := run.At(run.Events[0].T)
	if err != nil {
		t.Fatal(err)
	}
	return math.Abs(y[1])
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
