package problems

import (
	"math"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/lagrange"
)

// VanDerPol is van der Pol's oscillator y” = μ (1 - y²) y' - y with μ = 1000,
// which is stiff, to t = 2000.
func VanDerPol() Problem {
	y, v, μ := sym("y"), sym("v"), sym("μ")
	return Problem{
		Name: "van_der_pol", Title: "van der Pol's oscillator, μ = 1000, t = 2000",
		Source: "Hairer and Wanner, Solving Ordinary Differential Equations II (2nd ed.), section IV.1, for the equation; end state computed for this project, 37 digits",
		State:  []string{"y", "v"},
		Rates:  []expr.Expr{v, expr.Mul(μ, expr.Int(1).Minus(square(y)), v).Minus(y)},
		Values: map[string]float64{"μ": 1000},
		Start:  []float64{2, 0}, Until: 2000, Stiff: true, End: endStates["van_der_pol"],
	}
}

// DampedOscillator is a mass of 1 kg on a spring of 4 N/m with friction of
// 0.2 N s/m, drawn out by 0.1 m and let go.
func DampedOscillator() Problem {
	const m, k, c, x0 = 1.0, 4.0, 0.2, 0.1
	x, v := sym("x"), sym("x'")
	s := lagrange.System{
		Coordinates: []string{"x"},
		Kinetic:     expr.Mul(half, sym("m"), square(v)),
		Potential:   expr.Mul(half, sym("k"), square(x)),
		Damping:     expr.Mul(half, sym("c"), square(v)),
		Values:      map[string]float64{"m": m, "k": k, "c": c},
	}
	δ := c / (2 * m)
	ω := math.Sqrt(k/m - δ*δ)
	solution := func(t float64) []float64 {
		s, c := math.Sincos(ω * t)
		d := x0 * math.Exp(-δ*t)
		return []float64{d * (c + δ/ω*s), -d * (ω + δ*δ/ω) * s}
	}
	return ofLagrangian(Problem{
		Name: "damped_oscillator", Title: "damped oscillator",
		Source: "closed form: Landau and Lifshitz, Mechanics (3rd ed.), section 25",
		Start:  []float64{x0, 0}, Until: 20, Solution: solution,
	}, s)
}

// FreeRigidBody is Euler's equations of a body that turns freely, with
// principal moments of inertia 1, 2 and 3 kg m², started near the axis of the
// middle one, about which it tumbles.
func FreeRigidBody() Problem {
	w1, w2, w3 := sym("ω_1"), sym("ω_2"), sym("ω_3")
	I1, I2, I3 := sym("I_1"), sym("I_2"), sym("I_3")
	return Problem{
		Name: "free_rigid_body", Title: "a free body that tumbles about its middle axis",
		Source: "Euler's equations: Landau and Lifshitz, Mechanics (3rd ed.), equation (36.5); energy and the square of the angular momentum are conserved",
		State:  []string{"ω_1", "ω_2", "ω_3"},
		Rates: []expr.Expr{
			expr.Div(expr.Mul(I2.Minus(I3), w2, w3), I1),
			expr.Div(expr.Mul(I3.Minus(I1), w3, w1), I2),
			expr.Div(expr.Mul(I1.Minus(I2), w1, w2), I3),
		},
		Values: map[string]float64{"I_1": 1, "I_2": 2, "I_3": 3},
		Start:  []float64{0.01, 1, 0.01}, Until: 50,
		Energy: expr.Mul(half, expr.Add(expr.Mul(I1, square(w1)), expr.Mul(I2, square(w2)), expr.Mul(I3, square(w3)))),
	}
}
