package library_test

import (
	"math"
	"testing"

	"counterpoise/mechanics/lagrange"
	"counterpoise/mechanics/modes"
	"counterpoise/mechanics/motion"
)

// springBob is a bob on a spring in Cartesian coordinates, x to the side and z
// down from the hook, by Newton's law alone.
func springBob(m, k, a, g float64) motion.System {
	return motion.Of(4, func(dst []float64, _ float64, y []float64) {
		r := math.Hypot(y[0], y[1])
		pull := k * (r - a) / (m * r)
		dst[0], dst[1], dst[2], dst[3] = y[2], y[3], -pull*y[0], g-pull*y[1]
	})
}

// The keys of undecided-bob by a second route: rest, tuning and period from the
// normal modes of package lagrange, growth and largest rocking from the
// motion in Cartesian coordinates without averaging.
func TestUndecidedBobKeysBySecondRoute(t *testing.T) {
	equations, err := lagrange.SpringPendulum().Derive()
	if err != nil {
		t.Fatal(err)
	}
	checkKeys(t, "undecided-bob", []map[string]string{
		{"k": "10 N/m", "a": "300 mm", "Z": "15 mm"},
		{"k": "16 N/m", "a": "200 mm", "Z": "25 mm"},
	}, func(t *testing.T, v map[string]float64) map[string]route {
		v["g"] = 9.81
		k, a, g, Z := v["k"], v["a"], v["g"], v["Z"]
		// frequencies are those of rocking and bouncing with the given mass, rad/s.
		frequencies := func(m float64) (rocking, bouncing, rest float64) {
			values := map[string]float64{"m": m, "k": k, "l": a, "g": g}
			found, err := equations.Equilibria(values, map[string]lagrange.Range{"r": {From: a, To: 3 * a}, "θ": {From: -0.5, To: 0.5}})
			if err != nil || len(found) != 1 {
				t.Fatalf("places of rest: %v, %v", found, err)
			}
			// Its eigenvalues are ± i ω of each motion.
			lowest, highest := math.Inf(1), 0.0
			for _, e := range found[0].Eigenvalues {
				lowest, highest = math.Min(lowest, math.Abs(imag(e))), math.Max(highest, math.Abs(imag(e)))
			}
			return lowest, highest, found[0].At["r"]
		}
		tuned := border(func(m float64) bool { w1, w2, _ := frequencies(m); return w2 < 2*w1 }, 0.02, k*a/(1.5*g))
		v["m"] = 0.7 * tuned
		_, _, rest := frequencies(v["m"])
		rocking, _, length := frequencies(tuned)
		growth := growthRate(t, springBob(tuned, k, a, g), length, a/400, 2*math.Pi/rocking) * Z / (a / 400)
		slower := growthRate(t, springBob(tuned, k, a, g), length, a/800, 2*math.Pi/rocking)
		state := bobState(v["m"], k, a, g)
		const c, time = 12.0, 1.5
		return map[string]route{
			"sag":          {value: rest - a, within: 1e-8},
			"along":        {letters: state},
			"across":       {letters: state},
			"two-to-one":   {letters: map[string]float64{"s": length - a}, within: 1e-7},
			"tuned-mass":   {value: tuned, within: 1e-7},
			"swing-period": {value: 2 * math.Pi / rocking, within: 1e-7},
			"kept":         {test: "TestUndecidedBobKeepsWhatItShould"},
			// Averaging leaves out what is smaller by the push over the length,
			// here 1/533, and its square.
			"growth":        {value: growth, within: 3e-3},
			"tenfold":       {value: math.Log(10) / growth * rocking / (2 * math.Pi), within: 3e-3},
			"largest-swing": {value: largestRocking(t, springBob(tuned, k, a, g), length, a/100, 2*math.Pi/rocking) / (a / 100) * Z, within: 1e-2},
			// Times go with the inverse of the rate of growth.
			"other-push": {value: 20 * growth / Z * (a / 400) / slower, letters: map[string]float64{"τ": 20, "Z": a / 400, "p": a / 800}, within: 3e-3},
			"crest":      {value: afterCrest(t, c, Z, time), letters: map[string]float64{"c": c, "t": time}},
		}
	})
}

// bobState is some state of the bob in polar coordinates, with accelerations
// that come from Newton's law in Cartesian ones.
func bobState(m, k, a, g float64) map[string]float64 {
	y := []float64{0.11, 0.29, -0.4, 0.7}
	rates := make([]float64, 4)
	springBob(m, k, a, g).Rates(rates, 0, y)
	x, z, u, w, X, W := y[0], y[1], y[2], y[3], rates[2], rates[3]
	r := math.Hypot(x, z)
	r1 := (x*u + z*w) / r
	turn := (z*u - x*w) / (r * r)
	return map[string]float64{
		"r": r, "θ": math.Atan2(x, z), "r'": r1, "θ'": turn,
		"r''": (u*u + w*w + x*X + z*W - r1*r1) / r,
		"θ''": (z*X-x*W)/(r*r) - 2*r1*turn/r,
	}
}

// afterCrest integrates the averaged rates from the crest, where B = 0 and
// A = 2Z, and returns the rocking a time later.
func afterCrest(t *testing.T, c, Z, time float64) float64 {
	t.Helper()
	rates := motion.Of(2, func(dst []float64, _ float64, y []float64) { dst[0], dst[1] = c*y[0]*y[1], -c*y[0]*y[0]/4 })
	run, err := motion.Solve(rates, []float64{2 * Z, 0}, 0, time, motion.Options{Relative: 1e-12, Absolute: 1e-14})
	if err != nil {
		t.Fatal(err)
	}
	return run.End()[0]
}

// The averaged rates, integrated, keep A² + 4B².
func TestUndecidedBobKeepsWhatItShould(t *testing.T) {
	rates := motion.Of(2, func(dst []float64, _ float64, y []float64) { dst[0], dst[1] = 12*y[0]*y[1], -3*y[0]*y[0] })
	run, err := motion.Solve(rates, []float64{0.003, 0.02}, 0, 20, motion.Options{Relative: 1e-12, Absolute: 1e-14})
	if err != nil {
		t.Fatal(err)
	}
	start, end := 0.003*0.003+4*0.02*0.02, run.End()
	if got := end[0]*end[0] + 4*end[1]*end[1]; math.Abs(got/start-1) > 1e-9 || math.Abs(end[0]) < 1e-6 {
		t.Errorf("A² + 4B² is %v, at the start %v", got, start)
	}
}

// rockingEnergy is that of a unit mass to the side, x' and x as in a swing.
func rockingEnergy(y []float64, period float64) float64 {
	w := 2 * math.Pi / period
	return (y[2]*y[2] + w*w*y[0]*y[0]) / 2
}

// growthRate is that of a rocking far smaller than the push, per second.
func growthRate(t *testing.T, bob motion.System, length, push, period float64) float64 {
	t.Helper()
	efold := 4 * length / (3 * push) * period / (2 * math.Pi)
	from, to := math.Round(4*efold/period)*period, math.Round(7*efold/period)*period
	run, err := motion.Solve(bob, []float64{1e-9 * push, length + push, 0, 0}, 0, to, motion.Options{Relative: 1e-10, Absolute: 1e-16, Unchecked: true})
	if err != nil {
		t.Fatal(err)
	}
	early, err := run.At(from)
	if err != nil {
		t.Fatal(err)
	}
	return math.Log(rockingEnergy(run.End(), period)/rockingEnergy(early, period)) / 2 / (to - from)
}

// largestRocking is the largest distance to the side during one exchange.
func largestRocking(t *testing.T, bob motion.System, length, push, period float64) float64 {
	t.Helper()
	run, err := motion.Solve(bob, []float64{push / 50, length + push, 0, 0}, 0, 2.5*length/push*period, motion.Options{Unchecked: true})
	if err != nil {
		t.Fatal(err)
	}
	_, states, err := run.Sample(20000)
	if err != nil {
		t.Fatal(err)
	}
	most := 0.0
	for _, x := range motion.Component(states, 0) {
		most = math.Max(most, math.Abs(x))
	}
	return most
}

// The averaged rates of undecided-bob against the full motion: m = 1 kg, length
// at rest 1 m, relaxed 0.75 m, g = π² m/s², k = 4π² N/m, let go at rest 0.04 m to
// the side and 0.08 m above rest. The states and the times of the strongest
// rocking (of a mean over 2 s) are computed: a general library's DOP853 at 1e-11.
func TestUndecidedBobExchangeBySecondRoute(t *testing.T) {
	bob := springBob(1, 4*math.Pi*math.Pi, 0.75, math.Pi*math.Pi)
	run, err := motion.Solve(bob, []float64{0.04, 0.92, 0, 0}, 0, 50, motion.Options{Relative: 1e-11, Absolute: 1e-12})
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		t    float64
		want [4]float64 // x, z upwards from the hook, their rates
	}{
		{5, [4]float64{-0.056736593, -0.925456114, -0.140070183, 0.034279183}},
		{10, [4]float64{0.100037400, -0.958593969, 0.325980595, 0.060021682}},
	} {
		y, err := run.At(tt.t)
		if err != nil {
			t.Fatal(err)
		}
		for i, got := range []float64{y[0], -y[1], y[2], -y[3]} {
			if math.Abs(got-tt.want[i]) > 1e-9 {
				t.Errorf("component %d at %g s: %.9f, want %.9f", i, tt.t, got, tt.want[i])
			}
		}
	}
	times, states, err := run.Sample(10001)
	if err != nil {
		t.Fatal(err)
	}
	var energy []float64
	for _, y := range states {
		energy = append(energy, rockingEnergy(y, 2))
	}
	smooth, err := modes.MovingMean(times, energy, 2)
	if err != nil {
		t.Fatal(err)
	}
	crests := modes.Crests(times, smooth, 8)
	if len(crests) != 2 || math.Abs(crests[0]-12.56) > 0.005 || math.Abs(crests[1]-37.91) > 0.005 {
		t.Errorf("rocking strongest at %v s, want 12.56 and 37.91 s", crests)
	}
	// The rates of the sheet, A and B with their phases: x = Re A exp(iπt),
	// z = Re B exp(2iπt) below rest, A' = i c A* B, B' = i c A²/4, c = 3π/4.
	// Let go 0.08 m above rest, B is real and negative at first, and so is A² B:
	// the exchange is not quite complete.
	averaged := motion.Of(4, func(dst []float64, _ float64, y []float64) {
		const c = 3 * math.Pi / 4
		A, B := complex(y[0], y[1]), complex(y[2], y[3])
		dA, dB := complex(0, c)*complex(y[0], -y[1])*B, complex(0, c/4)*A*A
		dst[0], dst[1], dst[2], dst[3] = real(dA), imag(dA), real(dB), imag(dB)
	})
	slow, err := motion.Solve(averaged, []float64{0.04, 0, -0.08, 0}, 0, 50, motion.Options{})
	if err != nil {
		t.Fatal(err)
	}
	times, states, err = slow.Sample(5001)
	if err != nil {
		t.Fatal(err)
	}
	energy = energy[:0]
	for _, y := range states {
		energy = append(energy, y[0]*y[0]+y[1]*y[1])
	}
	// The push is an eighth of the length, and averaging keeps its first power.
	rounds := modes.Crests(times, energy, 8)
	if len(rounds) != 2 || math.Abs(rounds[1]-rounds[0]-(crests[1]-crests[0])) > 25./8 {
		t.Errorf("averaged rocking strongest at %v s, full motion at %v s", rounds, crests)
	}
	// other-push: from half the start the crest of the rates comes twice as late.
	half, err := motion.Solve(averaged, []float64{0.02, 0, -0.04, 0}, 0, 50, motion.Options{})
	if err != nil {
		t.Fatal(err)
	}
	times, states, err = half.Sample(5001)
	if err != nil {
		t.Fatal(err)
	}
	energy = energy[:0]
	for _, y := range states {
		energy = append(energy, y[0]*y[0]+y[1]*y[1])
	}
	if late := modes.Crests(times, energy, 16); len(late) == 0 || math.Abs(late[0]-2*rounds[0]) > 1e-3 {
		t.Errorf("half the push: strongest at %v s, want %v s", late, 2*rounds[0])
	}
}
