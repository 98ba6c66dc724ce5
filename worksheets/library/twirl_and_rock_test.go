package library_test

import (
	"maps"
	"math"
	"testing"

	"counterpoise/mechanics/motion"
)

// A twirledPiece is point masses fixed to each other, in the frame that turns:
// along x the rocking axis, y up, from the point in which it meets the axis of
// the spin.
type twirledPiece []struct{ m, x, y, z float64 }

// tilted returns weight times height and half of mass times distance from the
// axis of the spin squared, J and kg m², of the piece tilted by θ.
func (p twirledPiece) tilted(θ, g float64) (weight, spread float64) {
	for _, a := range p {
		y, z := a.y*math.Cos(θ)-a.z*math.Sin(θ), a.y*math.Sin(θ)+a.z*math.Cos(θ)
		weight += a.m * g * y
		spread += a.m * (a.x*a.x + z*z) / 2
	}
	return weight, spread
}

// criticalSquare is the square of the spin at which a nudge from hanging
// straight down no longer raises weight energy more than the twirling gains.
func (p twirledPiece) criticalSquare(g float64) float64 {
	const nudge = 1e-3
	w0, s0 := p.tilted(0, g)
	w1, s1 := p.tilted(nudge, g)
	w2, s2 := p.tilted(2*nudge, g)
	// Differences at two nudges, joined so that the fourth power drops out.
	return (16*(w1-w0) - (w2 - w0)) / (16*(s1-s0) - (s2 - s0))
}

// hoopForce is the force along the hoop on a bead of unit mass, over the radius,
// by Newton's law in the turning frame: weight and centrifugal force.
func hoopForce(θ, R, Ω, g float64) float64 {
	outward := Ω * Ω * R * math.Sin(θ)
	return (outward*math.Cos(θ) - g*math.Sin(θ)) / R
}

// hoopRest is where that force vanishes to one side of the bottom.
func hoopRest(R, Ω, g float64) float64 {
	return border(func(θ float64) bool { return hoopForce(θ, R, Ω, g) < 0 }, 1e-9, math.Pi/2)
}

// hoopRocking is the angular frequency of a rocking of a thousandth of a radian
// about the given angle of rest.
func hoopRocking(t *testing.T, rest, R, Ω, g float64) float64 {
	t.Helper()
	bead := motion.Of(2, func(dst []float64, _ float64, y []float64) { dst[0], dst[1] = y[1], hoopForce(y[0], R, Ω, g) })
	run, err := motion.Solve(bead, []float64{rest + 1e-3, 0}, 0, 20/math.Sqrt(g/R), motion.Options{
		Events: []motion.Event{{Of: func(_ float64, y []float64) float64 { return y[1] }, Direction: motion.Falling}}})
	if err != nil {
		t.Fatal(err)
	}
	n := len(run.Events)
	if n < 2 {
		t.Fatalf("%d swings", n)
	}
	return 2 * math.Pi * float64(n-1) / (run.Events[n-1].T - run.Events[0].T)
}

// hangingRod is a thin rod in many pieces, with a point at its end.
func hangingRod(mass, length, end float64) twirledPiece {
	const pieces = 4000
	p := make(twirledPiece, pieces+1)
	for i := range pieces {
		p[i].m, p[i].y = mass/pieces, -length*(float64(i)+0.5)/pieces
	}
	p[pieces].m, p[pieces].y = end, -length
	return p
}

// The keys of twirl-and-rock by a second route: the bead by Newton's law with
// the centrifugal force, its rest searched for and its rocking timed; pieces as
// point masses whose energies are added up. The bead on a twirled hoop is also
// worked in J. R. Taylor, Classical Mechanics, chapter 7 (from memory, unchecked).
func TestTwirlAndRockKeysBySecondRoute(t *testing.T) {
	checkKeys(t, "twirl-and-rock", []map[string]string{
		{"m": "8 g", "R": "60 mm", "τ": "440 ms", "M": "14 g", "l": "180 mm", "p": "14 g"},
		{"m": "20 g", "R": "100 mm", "τ": "320 ms", "M": "26 g", "l": "120 mm", "p": "6 g"},
	}, func(t *testing.T, v map[string]float64) map[string]route {
		const g = 9.81
		maps.Copy(v, map[string]float64{"g": g, "θ": 0.8, "θ'": 3.1, "ε": 1e-7})
		m, R := v["m"], v["R"]
		critical := border(func(Ω float64) bool { return hoopForce(1e-5, R, Ω, g) > 0 }, 1, 100)
		v["Ω"] = 1.3 * critical
		rest := hoopRest(R, v["Ω"], g)
		rocking := hoopRocking(t, rest, R, v["Ω"], g)
		// Some piece, symmetric about the plane in which it rocks and the one across.
		var piece twirledPiece
		for _, x := range []float64{-0.03, 0.03} {
			for _, z := range []float64{-0.02, 0.02} {
				piece = append(piece, twirledPiece{{0.01, x, -0.12, z}, {0.006, x, 0.03, z}}...)
			}
		}
		for _, a := range piece {
			v["W"] += a.m * g
			v["W d"] -= a.m * g * a.y
			v["I_1"] += a.m * (a.y*a.y + a.z*a.z)
			v["I_2"] += a.m * (a.x*a.x + a.y*a.y)
			v["I_3"] += a.m * (a.x*a.x + a.z*a.z)
		}
		v["d"] = v["W d"] / v["W"]
		below := 0.7 * critical
		return map[string]route{
			"small-rocking": {letters: map[string]float64{"Ω": below, "ω": hoopRocking(t, 0, R, below, g)}, within: 1e-5},
			"kinetic":       {value: hoopKinetic(m, R, v["Ω"], v["θ"], v["θ'"]), within: 1e-8},
			"effective":     {value: hoopEffective(m, R, v["Ω"], v["θ"], g), within: 1e-9},
			"critical":      {letters: map[string]float64{"Ω_c": critical}, within: 1e-8},
			"critical-turn": {value: 2 * math.Pi / critical, within: 1e-8},
			"tilted":        {letters: map[string]float64{"θ_0": rest}, within: 1e-8},
			"tilted-number": {value: hoopRest(R, 2*math.Pi/v["τ"], g), within: 1e-8},
			"rocking-above": {letters: map[string]float64{"ω": rocking}, within: 1e-5}, // the swing of 1e-3 rad changes its rate by its square
			"any-piece":     {letters: map[string]float64{"Ω_c": math.Sqrt(piece.criticalSquare(g))}, within: 1e-8},
			"rod":           {letters: map[string]float64{"Ω_c": math.Sqrt(hangingRod(v["M"], v["l"], 0).criticalSquare(g))}, within: 1e-6}, // 4000 pieces: 1e-7
			"lantern":       {value: 2 * math.Pi / math.Sqrt(hangingRod(v["M"], v["l"], v["p"]).criticalSquare(g)), within: 1e-6},
			"just-above":    {value: hoopRest(R, (1+v["ε"])*math.Sqrt(g/R), g), within: 1e-6}, // the next term is smaller by ε
		}
	})
}

// hoopKinetic is the kinetic energy by differences of the bead's place in space.
func hoopKinetic(m, R, Ω, θ, rate float64) float64 {
	const h = 1e-6 // s: differences are good to (Ωh)², 1e-9
	place := func(t float64) [3]float64 {
		a := θ + rate*t
		return [3]float64{R * math.Sin(a) * math.Cos(Ω*t), R * math.Sin(a) * math.Sin(Ω*t), -R * math.Cos(a)}
	}
	before, after := place(-h), place(h)
	square := 0.0
	for i := range before {
		square += math.Pow((after[i]-before[i])/(2*h), 2)
	}
	return m * square / 2
}

// hoopEffective adds up the work against the force along the hoop from the
// bottom, where the energy is that of the weight, to θ (Simpson's rule).
func hoopEffective(m, R, Ω, θ, g float64) float64 {
	const n = 1000
	sum := hoopForce(0, R, Ω, g) + hoopForce(θ, R, Ω, g)
	for i := 1; i < n; i++ {
		sum += float64(2+2*(i%2)) * hoopForce(θ*float64(i)/n, R, Ω, g)
	}
	return -m*g*R - m*R*R*sum*θ/(3*n)
}
