package problems

import (
	"math"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/lagrange"
)

// Pendulum is the simple pendulum of 1 m, released at 2.5 rad, over 100 periods
// in 9.81 m/s².
func Pendulum() Problem {
	s := lagrange.PhysicalPendulum()
	s.Values = map[string]float64{"m": 1, "d": 1, "I": 1, "g": 9.81}
	return ofLagrangian(Problem{
		Name: "pendulum", Title: "pendulum of 2.5 rad over 100 periods",
		Source: "computed for this project, 31 digits; agrees to 34 with elliptic functions (DLMF 22.19(i))",
		Start:  []float64{2.5, 0}, Until: 329.59322465161165,
		End: endStates["pendulum"], Energy: s.Kinetic.Plus(s.Potential),
	}, s)
}

// DoublePendulum is two equal masses on equal rods of 1 m in 9.81 m/s²,
// released at 2 and 1 rad, to t = 10.
func DoublePendulum() Problem {
	s := lagrange.NLinkPendulum(2)
	s.Values = map[string]float64{"m_1": 1, "m_2": 1, "l_1": 1, "l_2": 1, "g": 9.81}
	return ofLagrangian(Problem{
		Name: "double_pendulum", Title: "double pendulum, t = 10",
		Source: "computed for this project, 30 digits",
		Start:  []float64{2, 1, 0, 0}, Until: 10,
		End: endStates["double_pendulum"], Energy: s.Kinetic.Plus(s.Potential),
	}, s)
}

// SpringPendulum is a mass of 1 kg on a spring of relaxed length 3/4 m that
// hangs at 1 m (its vertical frequency is twice that of the swing), in
// Cartesian coordinates with y upwards, to t = 50.
func SpringPendulum() Problem {
	x, y, vx, vy := sym("x"), sym("y"), sym("x'"), sym("y'")
	m, k, l, g := sym("m"), sym("k"), sym("l"), sym("g")
	r := expr.Sqrt(square(x).Plus(square(y)))
	s := lagrange.System{
		Coordinates: []string{"x", "y"},
		Kinetic:     expr.Mul(half, m, square(vx).Plus(square(vy))),
		Potential:   expr.Mul(half, k, square(r.Minus(l))).Plus(expr.Mul(m, g, y)),
		Values:      map[string]float64{"m": 1, "k": 39.24, "l": 0.75, "g": 9.81},
	}
	return ofLagrangian(Problem{
		Name: "spring_pendulum", Title: "spring pendulum in 2:1 resonance, t = 50",
		Source: "computed for this project, 34 digits",
		Start:  []float64{0.05, -1.2, 0, 0}, Until: 50,
		End: endStates["spring_pendulum"], Energy: s.Kinetic.Plus(s.Potential),
	}, s)
}

// DrivenPendulum is the damped pendulum θ” = -θ'/2 - sin θ + 1.5 cos(2t/3),
// which is chaotic.
func DrivenPendulum() Problem {
	s := lagrange.DrivenDampedPendulum()
	s.Values = map[string]float64{"m": 1, "l": 1, "g": 1, "b": 0.5, "A": 1.5, "ω": 2. / 3}
	return ofLagrangian(Problem{
		Name: "driven_pendulum", Title: "driven damped pendulum, q = 2, ω = 2/3, A = 1.5",
		Source: "the parameters of Baker and Gollub, Chaotic Dynamics (from memory, unchecked); the exponent computed for this project from 128 trajectories at tolerance 1e-12",
		Start:  []float64{0.2, 0}, Until: 600,
		Exponent: 0.11253, ExponentError: 0.00004,
	}, s)
}

// BeatingPendulums is two equal pendulums of 1 m joined by a weak spring, for
// small swings: the first starts at rest at 0.01 rad, the second hangs. The
// swing passes from one to the other and back.
func BeatingPendulums() Problem {
	const g, l, m, k, a, θ0 = 9.81, 1.0, 1.0, 0.4, 1.0, 0.01
	θ1, θ2, w1, w2 := sym("θ_1"), sym("θ_2"), sym("θ_1'"), sym("θ_2'")
	M, L, G, K, A := sym("m"), sym("l"), sym("g"), sym("k"), sym("a")
	s := lagrange.System{
		Coordinates: []string{"θ_1", "θ_2"},
		Kinetic:     expr.Mul(half, M, square(L), square(w1).Plus(square(w2))),
		Potential: expr.Mul(half, M, G, L, square(θ1).Plus(square(θ2))).
			Plus(expr.Mul(half, K, square(A), square(θ2.Minus(θ1)))),
		Values: map[string]float64{"m": m, "l": l, "g": g, "k": k, "a": a},
	}
	slow, fast := math.Sqrt(g/l), math.Sqrt(g/l+2*k*a*a/(m*l*l))
	solution := func(t float64) []float64 {
		p, q := θ0/2*math.Cos(slow*t), θ0/2*math.Cos(fast*t)
		u, v := -θ0/2*slow*math.Sin(slow*t), -θ0/2*fast*math.Sin(fast*t)
		return []float64{p + q, p - q, u + v, u - v}
	}
	return ofLagrangian(Problem{
		Name: "beating_pendulums", Title: "two pendulums joined by a weak spring, small swings",
		Source: "closed form: French, Vibrations and Waves, chapter 5 (from memory, unchecked); follows from the two normal modes",
		Start:  []float64{θ0, 0, 0, 0}, Until: 40,
		Solution: solution, Energy: s.Kinetic.Plus(s.Potential),
	}, s)
}
