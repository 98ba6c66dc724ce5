package library_test

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"

	"counterpoise/mechanics/body"
	"counterpoise/mechanics/expr/parse"
	"counterpoise/mechanics/lagrange"
	"counterpoise/mechanics/motion"
	"counterpoise/worksheets/build"
	"counterpoise/worksheets/library"
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
	s, err := library.Read("corkscrew")
	if err != nil {
		t.Fatal(err)
	}
	key, err := build.Key(s)
	if err != nil {
		t.Fatal(err)
	}
	for _, own := range []map[string]string{
		nil,
		{"m": "24 g", "r": "46 mm", "p": "50 mm", "H": "700 mm", "μ": "0.3", "c": "6 g cm^2"},
		{"m": "36 g", "r": "36 mm", "p": "80 mm", "H": "500 mm", "μ": "0.15", "c": "3 g cm^2"},
	} {
		asked, err := key.Asked(own)
		if err != nil {
			t.Fatal(err)
		}
		v := map[string]float64{"g": 9.80665}
		for name, q := range asked[4].Values { // acceleration-number has the copy's own values
			v[name] = q.Value
		}
		// The disc's inertia as package body has it, checked there against
		// published tables.
		disc := body.Assembly{{Shape: body.Cylinder{Radius: v["r"], Height: 0.004}, Given: v["m"]}}
		I := disc.MomentAbout(body.V(0, 0, 0), body.V(0, 1, 0))
		v["I"], v["φ"] = I, 25
		a, _, push := onSlide(t, v, I, 0, 0, 0)
		rough, _, _ := onSlide(t, v, I, v["μ"], 0, 0)
		time, rate := arrival(t, v, I)
		braked, after := whirl(t, v, I)
		want := map[string]float64{
			"inertia": I, "acceleration-number": a, "time": time, "turns-at-foot": rate / (2 * math.Pi),
			"rail-force": push, "friction-number": rough,
			"sticks":   border(func(pitch float64) bool { return starts(v, pitch) }, 1e-4, 0.05),
			"terminal": braked, "terminal-number": braked, "on-the-way": after,
			"best-pitch": best(t, v, I),
		}
		seen := 0
		for i := range asked {
			q := &key.Questions[i].Question
			expected, ok := want[q.Name]
			if !ok {
				if q.Kind == "number" || q.Kind == "expression" {
					t.Errorf("no second route to %s", q.Name)
				}
				continue
			}
			seen++
			if got := value(t, q.Key, v); math.Abs(got-expected) > 1e-7*expected {
				t.Errorf("%s with %v: key %v, second route %v (SI)", q.Name, own, got, expected)
			}
		}
		if seen != len(want) {
			t.Errorf("%d of %d keys have been checked", seen, len(want))
		}
	}
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

// The two equations of the sheet: the constraint and the motion with vanes,
// against the linear equations at several rates.
func TestCorkscrewEquationsBySecondRoute(t *testing.T) {
	v := map[string]float64{"m": 0.03, "g": 9.81, "R": 0.004, "p": 0.06, "c": 4e-7}
	const I = 2.4e-5
	h := v["p"] / (2 * math.Pi)
	for _, rate := range []float64{0, 20, 60, 100} {
		fall, turn, _ := onSlide(t, v, I, 0, v["c"], rate)
		if right := v["m"]*v["g"]*v["p"]/(2*math.Pi) - v["c"]*rate*rate; math.Abs((I+v["m"]*h*h)*turn-right) > 1e-12 {
			t.Errorf("drag-equation at %g rad/s: %v, forces give %v", rate, right, (I+v["m"]*h*h)*turn)
		}
		if math.Abs(fall-h*turn) > 1e-12 {
			t.Errorf("constraint: %v and %v", fall, h*turn)
		}
	}
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
