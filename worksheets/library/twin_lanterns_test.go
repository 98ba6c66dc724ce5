package library_test

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"

	"counterpoise/mechanics/motion"
	"counterpoise/testdata"
	"counterpoise/worksheets/build"
	"counterpoise/worksheets/library"
)

// lanterns are the linear equations of the pair as forces on two weights: each
// end of the spring moves by a times its angle. State: angles, velocities.
// Times of integration are the second route to the keys of twin-lanterns, which
// come from normal modes.
func lanterns(v map[string]float64, l2 float64) motion.System {
	m, l, k, a, g := v["m"], v["l"], v["k"], v["a"], v["g"]
	return motion.Newton(2, func(acceleration []float64, _ float64, q []float64) {
		pull := k * (a*q[1] - a*q[0])
		acceleration[0] = (pull*a - m*g*l*q[0]) / (m * l * l)
		acceleration[1] = (-pull*a - m*g*l2*q[1]) / (m * l2 * l2)
	})
}

// swing integrates the pair from the given angles at rest, with events where
// the first angle and a function of the state pass zero downwards.
func swing(t *testing.T, s motion.System, first, second, until float64) *motion.Run {
	t.Helper()
	run, err := motion.Solve(s, []float64{first, second, 0, 0}, 0, until, motion.Options{
		Relative: 1e-11, Absolute: 1e-13,
		Events: []motion.Event{
			{Name: "zero", Direction: motion.Falling, Of: func(_ float64, y []float64) float64 { return y[0] }},
			{Name: "turn of the second", Of: func(_ float64, y []float64) float64 { return y[3] }},
		},
	})
	if err != nil {
		t.Fatal(err)
	}
	return run
}

// frequency of a mode from the times between its passages.
func frequency(t *testing.T, s motion.System, first, second float64) float64 {
	t.Helper()
	at := swing(t, s, first, second, 30).Happened("zero")
	return float64(len(at)-1) / (at[len(at)-1] - at[0])
}

func TestTwinLanternsKeysBySecondRoute(t *testing.T) {
	checkKeys(t, "twin-lanterns", []map[string]string{
		{"m": "100 g", "l": "360 mm", "k": "4.4 N/m", "a": "120 mm", "e": "50 mm"},
		{"m": "150 g", "l": "440 mm", "k": "3.6 N/m", "a": "90 mm", "e": "30 mm"},
		{"m": "150 g", "l": "360 mm", "k": "3.6 N/m", "a": "90 mm", "e": "50 mm"},
	}, func(t *testing.T, v map[string]float64) map[string]route {
		v["g"] = 9.81
		m, l, k, a, g := v["m"], v["l"], v["k"], v["a"], v["g"]
		equal := lanterns(v, l)
		slow, fast := frequency(t, equal, 0.05, 0.05), frequency(t, equal, 0.05, -0.05)
		exchange := 1 / (2 * (fast - slow))
		const first, second, A, ω, δ, time = 2e-4, -3e-4, 0.11, 5.1, 0.23, 3.7
		rates := make([]float64, 4)
		equal.Rates(rates, 0, []float64{first, second, 0, 0})
		// The spring joins two points at the distance a below the hooks.
		stored := func(θ1, θ2 float64) float64 { d := a * (math.Sin(θ1) - math.Sin(θ2)); return k * d * d / 2 }
		const h = 1e-5
		return map[string]route{
			// The places on the arms go with the sines of the angles.
			"spring-torque":  {value: (stored(first-h, second) - stored(first+h, second)) / (2 * h), letters: map[string]float64{"θ_1": first, "θ_2": second}, within: 1e-6},
			"first-equation": {letters: map[string]float64{"θ_1": first, "θ_2": second, "θ_1''": rates[2]}},
			"modes":          {letters: map[string]float64{"ω_2": 2 * math.Pi * fast}, within: 1e-8},
			"slow-frequency": {value: slow, within: 1e-8},
			"fast-frequency": {value: fast, within: 1e-8},
			"shares":         {entries: shares(t, A), letters: map[string]float64{"A": A}},
			"beats": {letters: map[string]float64{"A": A, "ω": ω, "δ": δ, "t": time,
				"θ_2": A / 2 * (math.Cos((ω-δ)*time) - math.Cos((ω+δ)*time))}},
			"exchange-formula": {value: exchange, letters: map[string]float64{"ω_1": 2 * math.Pi * slow, "ω_2": 2 * math.Pi * fast}},
			"exchange-time":    {value: exchange, within: 1e-7},
			// The second lantern beside a first one that is far too heavy to move.
			"held": {value: math.Pow(2*math.Pi*frequency(t, held(m, l-v["e"], k, a, g), 0.05, 0), 2), within: 1e-8},
			// The difference of the eigenvalues of the pair's matrix.
			"squares": {value: splitting(t, 31, 34, 2.5), letters: map[string]float64{"p_1": 31, "p_2": 34, "κ": 2.5}},
			// The share is searched among turns of the quick swing, which meet
			// its greatest width to a part in some thousand.
			"greatest-share": {value: greatestShare(t, v), within: 4e-3},
			// The first approximation comes true as the spring vanishes.
			"weak": {value: weakExchange(t, m, l, k, 0.002, g), letters: map[string]float64{"a": 0.002}, within: 1e-3},
			// The distance at which the exchange takes its own time.
			"set-it": {value: a, letters: map[string]float64{"τ": exchange}, within: 1e-7},
		}
	})
}

// shares solves for the two motions whose sum is A and whose difference is 0.
func shares(t *testing.T, A float64) []float64 {
	t.Helper()
	var x mat.VecDense
	if err := x.SolveVec(mat.NewDense(2, 2, []float64{1, 1, 1, -1}), mat.NewVecDense(2, []float64{A, 0})); err != nil {
		t.Fatal(err)
	}
	return []float64{x.AtVec(0), x.AtVec(1)}
}

// held is one lantern of length l whose spring ends at something that stands
// still. The second coordinate stays at rest.
func held(m, l, k, a, g float64) motion.System {
	return motion.Newton(2, func(acceleration []float64, _ float64, q []float64) {
		acceleration[0] = (-k*a*a*q[0] - m*g*l*q[0]) / (m * l * l)
	})
}

// splitting is the difference of the squares of both frequencies, from the
// eigenvalues of the pair's matrix.
func splitting(t *testing.T, p1, p2, κ float64) float64 {
	t.Helper()
	var e mat.EigenSym
	if !e.Factorize(mat.NewSymDense(2, []float64{p1, -κ, -κ, p2}), false) {
		t.Fatal("no eigenvalues")
	}
	both := e.Values(nil)
	return both[1] - both[0]
}

// weakExchange is the time of an exchange of two equal lanterns with the spring
// at the distance a, from the eigenvalues of their matrix.
func weakExchange(t *testing.T, m, l, k, a, g float64) float64 {
	t.Helper()
	own, κ := g/l+k*a*a/(m*l*l), k*a*a/(m*l*l)
	var e mat.EigenSym
	if !e.Factorize(mat.NewSymDense(2, []float64{own, -κ, -κ, own}), false) {
		t.Fatal("no eigenvalues")
	}
	both := e.Values(nil)
	return math.Pi / (math.Sqrt(both[1]) - math.Sqrt(both[0]))
}

// greatestShare follows the second lantern over many exchanges: the square of
// its greatest width beside that of the first at the start, in distances.
func greatestShare(t *testing.T, v map[string]float64) float64 {
	t.Helper()
	l2 := v["l"] - v["e"]
	widest := 0.0
	for _, o := range swing(t, lanterns(v, l2), 0.05/v["l"], 0, 150).Events {
		if o.Name == "turn of the second" {
			widest = max(widest, math.Abs(o.Y[1]*l2))
		}
	}
	return math.Pow(widest/0.05, 2)
}

// Two equal pendulums of 0.300 m and 0.950 kg whose bobs are joined by a spring
// of 1.50 N/m, g = 9.81: frequencies and first standstill, from the keys with
// the spring at the bobs.
//
// Source: O2 of the list of check values, after a problem in King, Vibrations
// and Waves; "about 12 s" in the text, the digits computed. From memory,
// unchecked, where the problem's wording is concerned.
func TestTwinLanternsAgainstATextbook(t *testing.T) {
	s, err := library.Read("twin-lanterns")
	if err != nil {
		t.Fatal(err)
	}
	key, err := build.Key(s)
	if err != nil {
		t.Fatal(err)
	}
	v := map[string]float64{"m": 0.950, "l": 0.300, "k": 1.50, "a": 0.300, "g": 9.81}
	for name, printed := range map[string]string{
		"slow-frequency": "0.91011", "fast-frequency": "0.95304", "exchange-time": "11.646",
	} {
		testdata.Agrees(t, value(t, keyOf(t, key, name), v), printed)
	}
}

func keyOf(t *testing.T, k *build.KeyFile, name string) string {
	t.Helper()
	for i := range k.Questions {
		if k.Questions[i].Name == name {
			return k.Questions[i].Key
		}
	}
	t.Fatalf("no question %s", name)
	return ""
}

// value returns what a key's text gives at the values v, in SI.
func value(t *testing.T, text string, v map[string]float64) float64 {
	t.Helper()
	x, err := sides(text, nil, v)
	if err != nil {
		t.Fatal(err)
	}
	return x[0]
}
