package library_test

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"

	"counterpoise/mechanics/body"
	"counterpoise/mechanics/expr/parse"
	"counterpoise/mechanics/lagrange"
	"counterpoise/mechanics/motion"
)

// onSlide is the disc on its rail as forces: from the unknown push S of the rail
// along the axis, with the friction that goes with it, and the drag c. It gives
// the acceleration of the fall and S at a rate of turning, from the three linear
// equations for z", φ" and the force N across the rail's surface. It is the
// second route to the keys of corkscrew, which come from energies and algebra.
func onSlide(t *testing.T, v map[string]float64, I, μ, c, rate float64) (fall, turn, push float64) {
	t.Helper()
	slope := math.Atan2(v["p"], 2*math.Pi*v["R"])
	up, round := math.Cos(slope)+μ*math.Sin(slope), math.Sin(slope)-μ*math.Cos(slope)
	var x mat.VecDense
	err := x.SolveVec(mat.NewDense(3, 3, []float64{
		v["m"], 0, up,
		0, I, -v["R"] * round,
		1, -v["p"] / (2 * math.Pi), 0,
	}), mat.NewVecDense(3, []float64{v["m"] * v["g"], -c * rate * rate, 0}))
	if err != nil {
		t.Fatal(err)
	}
	return x.AtVec(0), x.AtVec(1), x.AtVec(2) * up
}

func TestCorkscrewKeysBySecondRoute(t *testing.T) {
	checkKeys(t, "corkscrew", []map[string]string{
		{"m": "24 g", "r": "46 mm", "p": "50 mm", "H": "700 mm", "μ": "0.3", "c": "6 g cm^2"},
		{"m": "36 g", "r": "36 mm", "p": "80 mm", "H": "500 mm", "μ": "0.15", "c": "3 g cm^2"},
	}, func(t *testing.T, v map[string]float64) map[string]route {
		v["g"] = 9.81
		// The disc's inertia as package body has it, checked there against
		// published tables.
		disc := body.Assembly{{Shape: body.Cylinder{Radius: v["r"], Height: 0.004}, Given: v["m"]}}
		I := disc.MomentAbout(body.V(0, 0, 0), body.V(0, 1, 0))
		v["I"], v["φ"] = I, 25
		a, _, push := onSlide(t, v, I, 0, 0, 0)
		rough, _, _ := onSlide(t, v, I, v["μ"], 0, 0)
		time, rate := arrival(t, v, I)
		braked, after := whirl(t, v, I)
		const spin = 60.0
		_, turned, _ := onSlide(t, v, I, 0, v["c"], spin)
		sinks, turns, _ := onSlide(t, v, I, 0, 0, 0)
		slope := math.Atan2(v["p"], 2*math.Pi*v["R"])
		to := func(x float64) route { return route{value: x, within: 1e-7} }
		return map[string]route{
			// From rest, speeds go as accelerations.
			"constraint": {letters: map[string]float64{"z'": sinks, "φ'": turns}},
			"inertia":    to(I), "acceleration": {letters: map[string]float64{"z''": a}},
			"acceleration-number": to(a), "time": to(time), "turns-at-foot": to(rate / (2 * math.Pi)),
			"rail-force": to(push), "friction-number": to(rough),
			"sticks":        to(border(func(pitch float64) bool { return starts(v, pitch) }, 1e-4, 0.05)),
			"friction":      {letters: map[string]float64{"a": rough, "α": slope}},
			"drag-equation": {letters: map[string]float64{"φ'": spin, "φ''": turned}},
			"terminal":      to(braked), "terminal-number": to(braked), "on-the-way": to(after),
			"best-pitch": to(best(t, v, I)),
		}
	})
}

// arrival integrates both coordinates under the rail's constraint, as package
// lagrange derives them, down to the foot.
func arrival(t *testing.T, v map[string]float64, I float64) (time, rate float64) {
	t.Helper()
	s, err := lagrange.Read([]string{"z", "φ"}, "1/2 m z'^2 + 1/2 I φ'^2", "-m g z")
	if err != nil {
		t.Fatal(err)
	}
	rail, err := parse.Parse("z - p φ/(2 pi)", parse.Options{Symbols: []string{"p"}, Time: s.Coordinates})
	if err != nil {
		t.Fatal(err)
	}
	s.Constraints = append(s.Constraints, rail)
	e, err := s.Derive()
	if err != nil {
		t.Fatal(err)
	}
	moves, err := e.Motion(map[string]float64{"m": v["m"], "I": I, "g": v["g"], "p": v["p"]})
	if err != nil {
		t.Fatal(err)
	}
	run, err := motion.Solve(moves, make([]float64, 4), 0, 20, motion.Options{
		Events: []motion.Event{{Stop: true, Of: func(_ float64, y []float64) float64 { return y[0] - v["H"] }}},
	})
	if err != nil {
		t.Fatal(err)
	}
	return run.EndTime(), run.End()[3]
}

// whirl integrates the disc with vanes and without friction: its speed of fall
// in the end, and its rate of turning after the angle φ.
func whirl(t *testing.T, v map[string]float64, I float64) (speed, after float64) {
	t.Helper()
	disc := motion.Of(2, func(dst []float64, _ float64, y []float64) {
		_, turn, _ := onSlide(t, v, I, 0, v["c"], y[1])
		dst[0], dst[1] = y[1], turn
	})
	run, err := motion.Solve(disc, []float64{0, 0}, 0, 30, motion.Options{
		Events: []motion.Event{{Name: "there", Of: func(_ float64, y []float64) float64 { return y[0] - v["φ"] }}},
	})
	if err != nil {
		t.Fatal(err)
	}
	return run.End()[1] * v["p"] / (2 * math.Pi), run.Events[0].Y[1]
}

// starts tells whether the disc starts on a rail of that pitch: whether friction
// at the edge can hold the push that carries the whole weight. Forces on the
// slope, as on an inclined plane: the part of the weight along the rail against
// μ times the part across it.
func starts(v map[string]float64, pitch float64) bool {
	length := math.Hypot(pitch, 2*math.Pi*v["R"])
	return pitch/length > v["μ"]*2*math.Pi*v["R"]/length
}

// best searches the pitch of the quickest start of turning, to where the slope
// of the angular acceleration changes its sign.
func best(t *testing.T, v map[string]float64, I float64) float64 {
	t.Helper()
	turning := func(pitch float64) float64 {
		w := map[string]float64{"m": v["m"], "g": v["g"], "R": v["R"], "p": pitch}
		_, turn, _ := onSlide(t, w, I, 0, 0, 0)
		return turn
	}
	// The slope is taken over a ten-thousandth on both sides in the logarithm,
	// about which the curve is symmetric, so that nothing is lost by it.
	return border(func(pitch float64) bool { return turning(pitch*1.0001) < turning(pitch/1.0001) }, 0.01, 1)
}

// A bead on a helix is a piece with I = m R²: the key against the equation that
// package lagrange derives for it from its place in space.
func TestCorkscrewAgainstABeadOnAHelix(t *testing.T) {
	e, err := lagrange.BeadOnHelix().Derive()
	if err != nil {
		t.Fatal(err)
	}
	accelerations, err := e.Accelerations()
	if err != nil {
		t.Fatal(err)
	}
	const m, R, b, g = 0.01, 0.05, 0.02, 9.81
	turn, err := accelerations[0].Eval(map[string]float64{"m": m, "R": R, "b": b, "g": g})
	if err != nil {
		t.Fatal(err)
	}
	fall := g / (1 + 4*math.Pi*math.Pi*m*R*R/(m*b*b)) // target of the derivation acceleration
	if math.Abs(fall+turn*b/(2*math.Pi)) > 1e-12 {
		t.Errorf("acceleration of the fall %v, of the bead %v", fall, -turn*b/(2*math.Pi))
	}
}
