package library_test

import (
	"maps"
	"math"
	"slices"
	"testing"

	"counterpoise/mechanics/body"
	"counterpoise/mechanics/expr/parse"
	"counterpoise/mechanics/lagrange"
	"counterpoise/mechanics/motion"
	"counterpoise/worksheets/build"
	"counterpoise/worksheets/library"
)

// The keys of twirl-and-rock by a second route: a point mass on a rod is
// followed in space, in Cartesian coordinates of the frame that turns, with the
// centrifugal force and a stiffness that comes from no angle; where it rests and
// up to which spin the middle holds is searched for; the rod and the figure with
// wings are pieces of package body whose potential is followed point by point.
// The balance itself, cos θ = g/(l Ω²), is that of the bead on a turning hoop:
// Goldstein, Poole and Safko, Classical Mechanics, chapter 2. From memory,
// unchecked.
func TestTwirlAndRockKeysBySecondRoute(t *testing.T) {
	s, err := library.Read("twirl-and-rock")
	if err != nil {
		t.Fatal(err)
	}
	key, err := build.Key(s)
	if err != nil {
		t.Fatal(err)
	}
	for _, own := range []map[string]string{
		nil,
		{"m": "30 g", "l": "220 mm", "f": "1.3 Hz"},
		{"m": "50 g", "l": "300 mm", "f": "1.45 Hz"},
	} {
		asked, err := key.Asked(own)
		if err != nil {
			t.Fatal(err)
		}
		v := map[string]float64{"g": 9.81, "Ω": 9, "θ": 0.7, "θ'": 1.3, "d": 0.1, "J": 0.002, "Ω_0": 8}
		for i := range asked {
			if key.Questions[i].Question.Name == "balance-number" {
				for _, name := range []string{"m", "M", "l", "f"} {
					v[name] = asked[i].Values[name].Value
				}
			}
		}
		v["Ω_c"] = math.Sqrt(v["g"] / v["l"])
		ball := body.Assembly{{Shape: body.Point{}, Given: v["m"], At: body.V(0, -v["l"], 0)}}
		whole := append(body.Assembly{{Shape: body.Rod{To: body.V(0, -v["l"], 0), Diameter: 1e-7}, Given: v["M"]}}, ball...)
		critical := criticalSpin(ball, v["g"])
		spin := 2 * math.Pi * v["f"]
		// A piece with wings out of its plane of rocking, whose I_2 and I_3 differ.
		winged := body.Assembly{
			{Shape: body.Point{}, Given: v["m"] / 2, At: body.V(0, -v["l"], 0)},
			{Shape: body.Point{}, Given: v["m"] / 4, At: body.V(0.06, -v["l"]/3, 0)},
			{Shape: body.Point{}, Given: v["m"] / 4, At: body.V(-0.06, -v["l"]/3, 0)},
		}
		hinge := body.V(0, 0, 0)
		v["d"] = -winged.CentreOfGravity().Y
		// It rocks about z, so that I_2 is the moment about x.
		v["I_2"], v["I_3"] = winged.MomentAbout(hinge, body.V(1, 0, 0)), winged.MomentAbout(hinge, body.V(0, 1, 0))
		speed := spaceSpeed(v["l"], v["θ"], 0, v["Ω"])
		want := map[string]struct{ value, within float64 }{
			"round-speed":     {speed, 1e-8},
			"kinetic":         {v["m"] / 2 * math.Pow(spaceSpeed(v["l"], v["θ"], v["θ'"], v["Ω"]), 2), 1e-8},
			"effective":       {effective(ball, v["g"], v["Ω"], v["θ"]), 1e-9},
			"critical":        {critical, 1e-6},
			"critical-number": {critical / (2 * math.Pi), 1e-6},
			"balance":         {lowest(func(x float64) float64 { return effective(ball, v["g"], v["Ω"], x) }, 0, 1.5), 1e-6},
			"balance-number":  {lowest(func(x float64) float64 { return effective(ball, v["g"], spin, x) }, 0, 1.5), 1e-6},
			"real-critical":   {criticalSpin(whole, v["g"]) / (2 * math.Pi), 1e-6},
			"rocking-above":   {rockingRate(t, v["l"], v["g"], v["Ω"]), 1e-6},
			"winged-critical": {criticalSpin(winged, v["g"]), 1e-6},
			"free-shaft":      {freeShaft(t, v["m"], v["l"], v["g"], v["J"], v["Ω_0"], v["θ"]), 1e-8},
		}
		v2 := maps.Clone(v)
		v2["Ω"] = 4
		check := map[string]float64{"rocking-below": rockingRate(t, v["l"], v["g"], 4)}
		seen := 0
		for i := range asked {
			q := &key.Questions[i].Question
			expected, ok := want[q.Name]
			at := v
			if w, below := check[q.Name]; below {
				expected, ok, at = struct{ value, within float64 }{w, 1e-6}, true, v2
			}
			if !ok {
				continue
			}
			seen++
			e, err := parse.Parse(q.Key, parse.Options{Symbols: slices.Collect(maps.Keys(at)), Time: []string{"θ"}})
			if err != nil {
				t.Fatal(err)
			}
			got, err := e.Eval(at)
			if err != nil {
				t.Fatal(err)
			}
			if math.Abs(got-expected.value) > expected.within*math.Abs(expected.value) {
				t.Errorf("%s with %v: key %v, second route %v (SI)", q.Name, own, got, expected.value)
			}
		}
		if seen != len(want)+len(check) {
			t.Errorf("%d of %d keys have been checked", seen, len(want)+len(check))
		}
	}
}

// The target of the derivation against package lagrange, which derives it from
// the general rigid piece in a turning frame.
func TestTwirlAndRockMotionBySecondRoute(t *testing.T) {
	e, err := lagrange.RockingInRotatingFrame().Derive()
	if err != nil {
		t.Fatal(err)
	}
	const m, l, g, rate = 0.04, 0.25, 9.81, 8.5
	ball, err := e.Motion(map[string]float64{"m": m, "d": l, "I_1": m * l * l, "I_2": m * l * l, "I_3": 0, "Ω": rate, "g": g})
	if err != nil {
		t.Fatal(err)
	}
	s, err := library.Read("twirl-and-rock")
	if err != nil {
		t.Fatal(err)
	}
	for _, q := range s.Questions() {
		if q.Name != "derive-motion" {
			continue
		}
		readings, err := parse.Readings(q.Target, parse.Options{Symbols: []string{"m", "l", "g", "Ω", "θ"}, Time: []string{"θ"}})
		if err != nil {
			t.Fatal(err)
		}
		for _, tilt := range []float64{-1.2, 0.1, 0.9, 2.5} {
			want := []float64{0, 0}
			ball.Rates(want, 0, []float64{tilt, 0.4})
			got, err := readings[0].Sides[1].Eval(map[string]float64{"l": l, "g": g, "Ω": rate, "θ": tilt})
			if err != nil {
				t.Fatal(err)
			}
			if math.Abs(got-want[1]) > 1e-9*math.Abs(want[1]) {
				t.Errorf("at %v: target %v, lagrange %v", tilt, got, want[1])
			}
		}
		return
	}
	t.Fatal("no question derive-motion")
}

// spaceSpeed is the speed in space of a point on a rod that leans and turns, by
// differences of its place.
func spaceSpeed(length, tilt, rate, spin float64) float64 {
	place := func(time float64) (x, y, z float64) {
		a, turn := tilt+rate*time, spin*time
		return length * math.Sin(a) * math.Cos(turn), -length * math.Cos(a), length * math.Sin(a) * math.Sin(turn)
	}
	const h = 1e-6
	x1, y1, z1 := place(h)
	x0, y0, z0 := place(-h)
	return math.Hypot(math.Hypot(x1-x0, y1-y0), z1-z0) / (2 * h)
}

// effective is the effective potential of a piece that leans about z while its
// frame turns about y: every piece's height, less half of its moment of inertia
// about the axis of the spin times the spin squared.
func effective(a body.Assembly, g, spin, tilt float64) float64 {
	// The axis as the leaning piece sees it.
	axis := body.V(math.Sin(tilt), math.Cos(tilt), 0)
	height := a.CentreOfGravity().X*math.Sin(tilt) + a.CentreOfGravity().Y*math.Cos(tilt)
	return a.Mass()*g*height - a.MomentAbout(body.V(0, 0, 0), axis)*spin*spin/2
}

// criticalSpin searches the spin above which the middle is no valley any more,
// by the second difference of the effective potential there, freed of its first
// error.
func criticalSpin(a body.Assembly, g float64) float64 {
	bend := func(spin, h float64) float64 {
		return (effective(a, g, spin, h) - 2*effective(a, g, spin, 0) + effective(a, g, spin, -h)) / (h * h)
	}
	return border(func(spin float64) bool { return (4*bend(spin, 0.01)-bend(spin, 0.02))/3 < 0 }, 0.1, 50)
}

// rockingRate integrates small rocking of a ball in Cartesian coordinates of the
// turning frame, held to its rod by Lagrange's multiplier, and times it.
func rockingRate(t *testing.T, length, g, spin float64) float64 {
	t.Helper()
	ball, err := lagrange.Read([]string{"x", "y"}, "m (x'^2 + y'^2 + Ω^2 x^2)/2", "m g y")
	if err != nil {
		t.Fatal(err)
	}
	rod, err := parse.Parse("x^2 + y^2 - l^2", parse.Options{Symbols: []string{"x", "y", "l"}})
	if err != nil {
		t.Fatal(err)
	}
	ball.Constraints = append(ball.Constraints, rod)
	e, err := ball.Derive()
	if err != nil {
		t.Fatal(err)
	}
	m, err := e.Motion(map[string]float64{"m": 1, "l": length, "g": g, "Ω": spin})
	if err != nil {
		t.Fatal(err)
	}
	rest := 0.0
	if spin*spin*length > g {
		rest = math.Acos(g / (spin * spin * length))
	}
	const push = 1e-4
	start := []float64{length * math.Sin(rest+push), -length * math.Cos(rest+push), 0, 0}
	// It is slowest or fastest where its speed along x changes sign.
	run, err := motion.Solve(m, start, 0, 6, motion.Options{
		Relative: 1e-12, Absolute: 1e-13,
		Events: []motion.Event{{Name: "turn", Of: func(_ float64, y []float64) float64 { return y[2] }, Direction: motion.Rising}},
	})
	if err != nil {
		t.Fatal(err)
	}
	turns := run.Happened("turn")
	if len(turns) < 3 {
		t.Fatalf("%d turns in 6 s", len(turns))
	}
	return 2 * math.Pi * float64(len(turns)-1) / (turns[len(turns)-1] - turns[0])
}

// freeShaft integrates a ball that swings out from a freely turning shaft, and
// returns the shaft's rate when the ball passes a tilt.
func freeShaft(t *testing.T, m, length, g, shaft, rate, tilt float64) float64 {
	t.Helper()
	s, err := lagrange.Read([]string{"θ", "φ"}, "J φ'^2/2 + m l^2 (θ'^2 + φ'^2 sin(θ)^2)/2", "-m g l cos(θ)")
	if err != nil {
		t.Fatal(err)
	}
	e, err := s.Derive()
	if err != nil {
		t.Fatal(err)
	}
	free, err := e.Motion(map[string]float64{"m": m, "l": length, "g": g, "J": shaft})
	if err != nil {
		t.Fatal(err)
	}
	run, err := motion.Solve(free, []float64{0, 0, 12, rate}, 0, 2, motion.Options{ // pushed hard enough to get there
		Relative: 1e-12, Absolute: 1e-12,
		Events: []motion.Event{{Of: func(_ float64, y []float64) float64 { return y[0] - tilt }, Stop: true}},
	})
	if err != nil {
		t.Fatal(err)
	}
	if len(run.Events) != 1 {
		t.Fatal("the ball does not get there")
	}
	return run.End()[3]
}
