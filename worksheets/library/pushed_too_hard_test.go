package library_test

import (
	"maps"
	"math"
	"testing"

	"counterpoise/mechanics/chaos"
	"counterpoise/mechanics/lagrange"
	"counterpoise/mechanics/modes"
	"counterpoise/mechanics/motion"
)

// The keys of pushed-too-hard by a second route: energies by searching the
// potential energy of package lagrange's chain of pendulums, the slow mode from
// its linear motion, reach and speed by searching positions and rates, times
// by integrating the growth.
func TestPushedTooHardKeysBySecondRoute(t *testing.T) {
	checkKeys(t, "pushed-too-hard", []map[string]string{
		{"m_1": "50 g", "m_2": "50 g", "l_1": "100 mm", "l_2": "100 mm", "λ": "3 1/s"},
		{"m_1": "80 g", "m_2": "30 g", "l_1": "140 mm", "l_2": "80 mm", "λ": "4.5 1/s"},
	}, func(t *testing.T, v map[string]float64) map[string]route {
		maps.Copy(v, map[string]float64{"g": 9.81, "E": 0.13, "δ": 2e-4, "Δ": 0.6, "θ_1": 0.7, "θ_2": 1.9, "m": 0.03, "l": 0.11})
		system := lagrange.NLinkPendulum(2)
		above := func(upper, lower float64) float64 {
			energy := func(upper, lower float64) float64 {
				e, err := system.Potential.Eval(map[string]float64{"θ_1": upper, "θ_2": lower, "m_1": v["m_1"], "m_2": v["m_2"], "l_1": v["l_1"], "l_2": v["l_2"], "g": v["g"]})
				if err != nil {
					t.Fatal(err)
				}
				return e
			}
			return energy(upper, lower) - energy(0, 0)
		}
		turn := math.Inf(1) // the lowest position with the lower arm upside down
		for i := range 720 {
			turn = math.Min(turn, above(float64(i)*math.Pi/360, math.Pi))
		}
		straight := border(func(x float64) bool { return above(x, x) > turn }, 0, math.Pi)
		grown := func(from, to float64) float64 { return timeToGrow(t, v["λ"], from, to) }
		moving := map[string]float64{"θ_1": 0.7, "θ_2": 1.9, "θ_1'": -2.2, "θ_2'": 3.1}
		// The sums over 4000 pieces of a rod are good to 1e-7.
		return map[string]route{
			"kinetic":          {letters: withKinetic(v, moving), within: 1e-8},
			"potential":        {value: above(v["θ_1"], v["θ_2"]), within: 1e-6},
			"slow-mode":        {value: slowMode(t, v), within: 1e-6},
			"turn-energy":      {value: turn, within: 1e-6},
			"straight-angle":   {value: math.Cos(straight), within: 1e-6},
			"straight-degrees": {value: straight, within: 1e-6},
			"reach":            {value: reach(v["l_1"], v["l_2"]), within: 1e-6},
			"fastest":          {value: fastestHand(v), within: 1e-6},
			"horizon":          {value: grown(v["δ"], v["Δ"]), within: 1e-6},
			"better-start":     {value: grown(1e-6, 0.5) - grown(1e-3, 0.5), within: 1e-6},
			"rods":             {value: twoRods(v), within: 1e-6},
		}
	})
}

// withKinetic adds the kinetic energy T to a state, by differences of the
// places of both weights.
func withKinetic(v, state map[string]float64) map[string]float64 {
	const h = 1e-6 // s: differences are good to h², 1e-12
	places := func(time float64) [4]float64 {
		upper, lower := state["θ_1"]+state["θ_1'"]*time, state["θ_2"]+state["θ_2'"]*time
		x, y := v["l_1"]*math.Sin(upper), -v["l_1"]*math.Cos(upper)
		return [4]float64{x, y, x + v["l_2"]*math.Sin(lower), y - v["l_2"]*math.Cos(lower)}
	}
	before, after := places(-h), places(h)
	sum := 0.0
	for i := range before {
		mass := v["m_1"]
		if i > 1 {
			mass = v["m_2"]
		}
		sum += mass / 2 * math.Pow((after[i]-before[i])/(2*h), 2)
	}
	all := maps.Clone(state)
	all["T"] = sum
	return all
}

// slowMode is the longer period of the linear motion about rest.
func slowMode(t *testing.T, v map[string]float64) float64 {
	t.Helper()
	equations, err := lagrange.NLinkPendulum(2).Derive()
	if err != nil {
		t.Fatal(err)
	}
	linear, err := equations.Linearise(nil)
	if err != nil {
		t.Fatal(err)
	}
	mass, err := linear.MassMatrix(v)
	if err != nil {
		t.Fatal(err)
	}
	stiffness, err := linear.StiffnessMatrix(v)
	if err != nil {
		t.Fatal(err)
	}
	found, err := modes.Of(mass, stiffness)
	if err != nil {
		t.Fatal(err)
	}
	return found.Period(0)
}

// reach is the largest distance of the hand from the shoulder in any position.
func reach(upper, lower float64) float64 {
	most := 0.0
	for i := range 721 {
		a := float64(i) * math.Pi / 360
		most = math.Max(most, math.Hypot(upper+lower*math.Cos(a), lower*math.Sin(a)))
	}
	return most
}

// fastestHand is the largest speed of the hand in any position and with any
// rates of the two arms whose kinetic energy is E.
func fastestHand(v map[string]float64) float64 {
	most := 0.0
	for i := range 90 {
		bend := float64(i) * math.Pi / 90
		for k := range 361 {
			p := float64(k) * math.Pi / 180
			elbow, own := v["l_1"]*math.Cos(p), v["l_2"]*math.Sin(p)
			hand := elbow*elbow + own*own + 2*elbow*own*math.Cos(bend)
			energy := (v["m_1"]*elbow*elbow + v["m_2"]*hand) / 2
			most = math.Max(most, math.Sqrt(hand*v["E"]/energy))
		}
	}
	return most
}

// timeToGrow integrates δ' = λ δ until δ passes to.
func timeToGrow(t *testing.T, rate, from, to float64) float64 {
	t.Helper()
	run, err := motion.Solve(motion.Of(1, func(dst []float64, _ float64, y []float64) { dst[0] = rate * y[0] }), []float64{from}, 0, 20,
		motion.Options{Absolute: 1e-15, Events: []motion.Event{{Of: func(_ float64, y []float64) float64 { return y[0] - to }, Stop: true}}})
	if err != nil {
		t.Fatal(err)
	}
	return run.EndTime()
}

// twoRods adds up the energy of short pieces of two uniform rods.
func twoRods(v map[string]float64) float64 {
	const pieces = 4000
	sum := 0.0
	for i := range pieces {
		along := (float64(i) + 0.5) / pieces * v["l"]
		sum += along*(1-math.Cos(v["θ_1"])) + v["l"]*(1-math.Cos(v["θ_1"])) + along*(1-math.Cos(v["θ_2"]))
	}
	return sum / pieces * v["m"] * v["g"]
}

// The engine behind the figures of pushed-too-hard: equal weights of 1 kg on arms
// of 1 m in 9.81 m/s², let go at 90 degrees. The states are computed: Taylor
// series at 1e-15 beside DOP853 and Radau of a general library, which agree.
// The rule for turning over, 2 cos θ_1 + cos θ_2 > 1, is that of Wikipedia,
// "Double pendulum" (from memory, unchecked; it follows from the potential).
func TestPushedTooHardMotionBySecondRoute(t *testing.T) {
	equations, err := lagrange.NLinkPendulum(2).Derive()
	if err != nil {
		t.Fatal(err)
	}
	equal := map[string]float64{"m_1": 1, "m_2": 1, "l_1": 1, "l_2": 1, "g": 9.81}
	puppet, err := equations.Motion(equal)
	if err != nil {
		t.Fatal(err)
	}
	run, err := motion.Solve(puppet, []float64{math.Pi / 2, math.Pi / 2, 0, 0}, 0, 2, motion.Options{Relative: 1e-12, Absolute: 1e-12})
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		t    float64
		want [4]float64
	}{
		{1, [4]float64{-0.625087700, -1.034585086, -3.922279573, -1.303099249}},
		{2, [4]float64{-0.482971534, -1.324048712, 3.065288192, 2.949271548}},
	} {
		y, err := run.At(tt.t)
		if err != nil {
			t.Fatal(err)
		}
		for i := range y {
			if math.Abs(y[i]-tt.want[i]) > 1e-9 {
				t.Errorf("component %d at %g s: %.9f, want %.9f", i, tt.t, y[i], tt.want[i])
			}
		}
	}
	program, err := equations.Compile(equal)
	if err != nil {
		t.Fatal(err)
	}
	grid := chaos.Axis{From: -3, To: 3, N: 25}
	flips, err := chaos.FlipTimes(program, func(y []float64, upper, lower float64) { y[0], y[1], y[2], y[3] = upper, lower, 0, 0 },
		grid, grid, chaos.FlipOptions{Until: 5, Limits: []float64{math.Pi, math.Pi, 0, 0}})
	if err != nil {
		t.Fatal(err)
	}
	turned, forbidden := 0, 0
	for i := range grid.N {
		for j := range grid.N {
			allowed := 2*math.Cos(grid.At(i))+math.Cos(grid.At(j)) <= 1
			if !allowed {
				forbidden++
			}
			if !math.IsNaN(flips.At(i, j)) {
				turned++
				if !allowed {
					t.Errorf("turned over from %g, %g rad, which the energy forbids", grid.At(i), grid.At(j))
				}
			}
		}
	}
	if turned < 100 || forbidden < 100 {
		t.Errorf("%d starts turned over, %d cannot: too few to tell", turned, forbidden)
	}
}
