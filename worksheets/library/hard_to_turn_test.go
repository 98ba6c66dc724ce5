package library_test

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"counterpoise/mechanics/body"
	"counterpoise/mechanics/motion"
)

// The keys of hard-to-turn by a second route: inertias from package body, whose
// solids are checked against published tables to 4 ulp, with a rod so thin that
// its thickness does not show; the period on two threads by integrating the
// motion of the piece in space, without small angles, and timing it.
func TestHardToTurnKeysBySecondRoute(t *testing.T) {
	checkKeys(t, "hard-to-turn", []map[string]string{
		{"m": "14 g", "r": "60 mm", "M": "28 g", "D": "120 mm", "l": "500 mm", "e": "20 mm"},
		{"m": "24 g", "r": "90 mm", "M": "20 g", "D": "180 mm", "l": "350 mm", "e": "40 mm"},
	}, func(t *testing.T, v map[string]float64) map[string]route {
		const g, spin = 9.81, 22.0
		v["g"], v["ω"] = g, spin
		point := func(x, y float64) body.Part {
			return body.Part{Shape: body.Point{}, Given: v["m"], At: body.V(x, y, 0)}
		}
		ball := func(x float64) body.Part {
			return body.Part{Shape: body.Sphere{Radius: v["a"]}, Given: v["m"], At: body.V(x, 0, 0)}
		}
		rod := body.Part{Shape: body.Rod{From: body.V(-v["L"]/2, 0, 0), To: body.V(v["L"]/2, 0, 0), Diameter: 1e-9}, Given: v["M"]}
		middle, across := body.V(0, 0, 0), body.V(0, 1, 0)
		points, balls := body.Assembly{point(v["r"], 0), point(-v["r"], 0)}, body.Assembly{ball(v["r"]), ball(-v["r"])}
		whole := append(body.Assembly{rod}, balls...)
		slanted := body.Assembly{point(v["r"], v["e"]), point(-v["r"], -v["e"])}
		real := balls.MomentAbout(middle, across)
		inertia := whole.MomentAbout(middle, across)
		// A turn of 0.01 rad lengthens the period by a few millionths.
		period := route{value: periodOnThreads(t, inertia, whole.Mass(), v["D"], v["l"], g), within: 1e-5}
		v["W"], v["T"] = whole.Mass()*g, period.value
		tensor := slanted.InertiaAbout(middle)
		return map[string]route{
			"two-points":          {value: points.MomentAbout(middle, across)},
			"rod":                 {value: body.Assembly{rod}.MomentAbout(middle, across)},
			"real-balls":          {value: real},
			"share-of-size":       {value: 1 - points.MomentAbout(middle, across)/real},
			"whole":               {value: inertia},
			"about-the-end":       {value: body.Assembly{rod}.MomentAbout(body.V(v["L"]/2, 0, 0), across)},
			"derive-period":       {letters: map[string]float64{"I": inertia}, within: 1e-5},
			"period":              period,
			"inertia-from-period": {value: inertia, within: 2e-5},
			"tensor":              {entries: []float64{tensor.XX, tensor.XY, tensor.XY, tensor.YY}},
			"bearings":            {value: bearingTorque(slanted, spin), within: 1e-8},
			"easy-axis":           {letters: map[string]float64{"φ": easyAxis(t, slanted)}},
		}
	})
}

// bearingTorque turns a piece about the x axis a little forwards and back, and
// takes the difference of its angular momenta over the time.
func bearingTorque(a body.Assembly, spin float64) float64 {
	const h = 1e-5 // s: differences are good to (spin h)², 5e-8/6
	momentum := func(time float64) body.Vec {
		return a.InertiaAbout(body.V(0, 0, 0)).Turned(r3.NewRotation(spin*time, body.V(1, 0, 0))).Mul(body.V(spin, 0, 0))
	}
	return r3.Norm(r3.Scale(1/(2*h), r3.Sub(momentum(h), momentum(-h))))
}

// periodOnThreads integrates the turning of a piece on two threads that do not
// stretch: when it turns, their lower ends move sideways and the piece rises.
func periodOnThreads(t *testing.T, inertia, mass, apart, length, g float64) float64 {
	t.Helper()
	r := apart / 2
	height := func(turn float64) float64 {
		return length - math.Sqrt(length*length-4*r*r*math.Pow(math.Sin(turn/2), 2))
	}
	slope := func(turn float64) float64 { // dh/dθ
		return r * r * math.Sin(turn) / (length - height(turn))
	}
	curve := func(turn float64) float64 { const d = 1e-5; return (slope(turn+d) - slope(turn-d)) / (2 * d) }
	// Lagrange's equation of (I + m h'²) θ'²/2 - m g h.
	rates := func(dst []float64, _ float64, y []float64) {
		h1 := slope(y[0])
		dst[0] = y[1]
		dst[1] = -(mass*h1*curve(y[0])*y[1]*y[1] + mass*g*h1) / (inertia + mass*h1*h1)
	}
	run, err := motion.Solve(motion.Of(2, rates), []float64{0.01, 0}, 0, 5, motion.Options{
		Events: []motion.Event{{Of: func(_ float64, y []float64) float64 { return y[0] }}},
	})
	if err != nil {
		t.Fatal(err)
	}
	passages := run.Events
	if len(passages) < 3 {
		t.Fatalf("%d passages in 5 s", len(passages))
	}
	return passages[2].T - passages[0].T
}

// easyAxis is the angle of the principal axis of least moment in the picture,
// from the eigenvectors of the tensor.
func easyAxis(t *testing.T, a body.Assembly) float64 {
	t.Helper()
	_, axes, err := a.InertiaAbout(body.V(0, 0, 0)).Principal()
	if err != nil {
		t.Fatal(err)
	}
	least := axes[0]
	if least.X < 0 {
		least = r3.Scale(-1, least)
	}
	return math.Atan2(least.Y, least.X)
}
