package lagrange

import (
	"fmt"

	"counterpoise/mechanics/expr"
)

// The constructors of this file give common systems with letters as parameters
// and usual values for them, which may be changed or left out.

var (
	half = expr.Rat(1, 2)
	one  = expr.Int(1)
	two  = expr.Int(2)
)

func square(e expr.Expr) expr.Expr { return expr.Pow(e, two) }

// gravity is the standard acceleration of free fall in m/s².
// Source: Resolution 2 of the 3rd General Conference on Weights and Measures (1901).
const gravity = 9.80665

// PhysicalPendulum returns a rigid body that swings about a fixed axis: θ from
// the vertical, mass m, distance d of the centre of gravity from the axis,
// moment of inertia I about the axis.
func PhysicalPendulum() System {
	m, d, g, I := expr.Sym("m"), expr.Sym("d"), expr.Sym("g"), expr.Sym("I")
	θ, θd := expr.Sym("θ"), expr.Sym("θ'")
	return System{
		Coordinates: []string{"θ"},
		Kinetic:     expr.Mul(half, I, square(θd)),
		Potential:   expr.Mul(m, g, d, one.Minus(expr.Cos(θ))),
		Values:      map[string]float64{"m": 1, "d": 0.5, "I": 1. / 3, "g": gravity},
	}
}

// DrivenDampedPendulum returns a point mass m on a light rod l with friction b
// (N m s) at the axis, pushed by a torque A cos ωt (N m).
func DrivenDampedPendulum() System {
	m, l, g, b := expr.Sym("m"), expr.Sym("l"), expr.Sym("g"), expr.Sym("b")
	A, ω, t := expr.Sym("A"), expr.Sym("ω"), expr.Sym(expr.TimeName)
	θ, θd := expr.Sym("θ"), expr.Sym("θ'")
	return System{
		Coordinates: []string{"θ"},
		Kinetic:     expr.Mul(half, m, square(l), square(θd)),
		Potential:   expr.Mul(m, g, l, one.Minus(expr.Cos(θ))),
		Damping:     expr.Mul(half, b, square(θd)),
		Forces:      map[string]expr.Expr{"θ": expr.Mul(A, expr.Cos(expr.Mul(ω, t)))},
		Values:      map[string]float64{"m": 1, "l": 1, "g": 1, "b": 0.5, "A": 1.5, "ω": 2. / 3},
	}
}

// CoupledPendulums returns two equal pendulums, point masses m on light rods l,
// whose rods are joined at the distance a below the pivots by a horizontal
// spring of stiffness k, relaxed when both hang. The spring is long enough to
// stay horizontal: its stretch is a (sin θ₂ - sin θ₁).
func CoupledPendulums() System {
	m, l, g, k, a := expr.Sym("m"), expr.Sym("l"), expr.Sym("g"), expr.Sym("k"), expr.Sym("a")
	θ1, θ2, w1, w2 := expr.Sym("θ_1"), expr.Sym("θ_2"), expr.Sym("θ_1'"), expr.Sym("θ_2'")
	stretch := expr.Mul(a, expr.Sin(θ2).Minus(expr.Sin(θ1)))
	return System{
		Coordinates: []string{"θ_1", "θ_2"},
		Kinetic:     expr.Mul(half, m, square(l), square(w1).Plus(square(w2))),
		Potential: expr.Add(expr.Mul(m, g, l, expr.Sub(two, expr.Cos(θ1).Plus(expr.Cos(θ2)))),
			expr.Mul(half, k, square(stretch))),
		Values: map[string]float64{"m": 1, "l": 1, "g": gravity, "k": 1, "a": 0.5},
	}
}

// SpringPendulum returns a point mass m on a light spring of stiffness k and
// relaxed length l, swinging in a plane: length r, angle θ from the vertical.
func SpringPendulum() System {
	m, l, g, k := expr.Sym("m"), expr.Sym("l"), expr.Sym("g"), expr.Sym("k")
	r, θ, v, w := expr.Sym("r"), expr.Sym("θ"), expr.Sym("r'"), expr.Sym("θ'")
	return System{
		Coordinates: []string{"r", "θ"},
		Kinetic:     expr.Mul(half, m, square(v).Plus(expr.Mul(square(r), square(w)))),
		Potential:   expr.Sub(expr.Mul(half, k, square(r.Minus(l))), expr.Mul(m, g, r, expr.Cos(θ))),
		Values:      map[string]float64{"m": 1, "l": 0.75, "g": gravity, "k": 4 * gravity},
	}
}

// maxLinks bounds a chain of pendulums: its energies grow with the cube of the links.
const maxLinks = 30

// NLinkPendulum returns a chain of n point masses m_1 … m_n on light rods l_1 …
// l_n: angles θ_1 … θ_n of the rods from the vertical. Kinetic and potential
// energy stand as sums over the masses' Cartesian velocities and heights.
// Deriving the equations of fewer than 1 or more than 30 links is an error.
func NLinkPendulum(n int) System {
	if n < 1 || n > maxLinks {
		return System{mistake: wrong("NLinkPendulum", "a chain of %d links: give 1 to %d", n, maxLinks)}
	}
	s := System{Values: map[string]float64{"g": gravity}}
	g := expr.Sym("g")
	var vx, vy, y, kinetic, potential []expr.Expr
	for i := 1; i <= n; i++ {
		q := fmt.Sprintf("θ_%d", i)
		m, l := fmt.Sprintf("m_%d", i), fmt.Sprintf("l_%d", i)
		s.Coordinates = append(s.Coordinates, q)
		s.Values[m], s.Values[l] = 1, 1
		L, θ, w := expr.Sym(l), expr.Sym(q), expr.Sym(velocity(q))
		vx = append(vx, expr.Mul(L, w, expr.Cos(θ)))
		vy = append(vy, expr.Mul(L, w, expr.Sin(θ)))
		y = append(y, expr.Neg(expr.Mul(L, expr.Cos(θ))))
		M := expr.Sym(m)
		kinetic = append(kinetic, expr.Mul(half, M, square(expr.Add(vx...)).Plus(square(expr.Add(vy...)))))
		potential = append(potential, expr.Mul(M, g, expr.Add(y...)))
	}
	s.Kinetic, s.Potential = expr.Add(kinetic...), expr.Add(potential...)
	return s
}

// BeadOnHelix returns a bead of mass m that slides without friction on a helix
// about a vertical axis, radius R, rising b per turn: angle φ about the axis.
func BeadOnHelix() System {
	m, R, b, g, φ := expr.Sym("m"), expr.Sym("R"), expr.Sym("b"), expr.Sym("g"), expr.Sym("φ")
	height := expr.Div(expr.Mul(b, φ), expr.Mul(two, expr.Pi))
	return System{
		Coordinates: []string{"φ"},
		Kinetic:     Kinetic(m, []expr.Expr{expr.Mul(R, expr.Cos(φ)), expr.Mul(R, expr.Sin(φ)), height}, "φ").JoinAngles(),
		Potential:   expr.Mul(m, g, height),
		Values:      map[string]float64{"m": 0.01, "R": 0.05, "b": 0.02, "g": gravity},
	}
}

// RockingInRotatingFrame returns a rigid piece that rocks about a horizontal
// axis in a frame turning about the vertical through that axis at the constant
// rate Ω: angle θ of the piece's own axis from the downward vertical, mass m,
// distance d of the centre of gravity from the rocking axis, principal moments
// of inertia about the point where the axes meet: I_1 about the rocking axis,
// I_2 across it and across the piece, I_3 along the piece.
func RockingInRotatingFrame() System {
	m, d, g, Ω := expr.Sym("m"), expr.Sym("d"), expr.Sym("g"), expr.Sym("Ω")
	I1, I2, I3 := expr.Sym("I_1"), expr.Sym("I_2"), expr.Sym("I_3")
	θ, w := expr.Sym("θ"), expr.Sym("θ'")
	turning := expr.Mul(half, square(Ω), expr.Mul(I2, square(expr.Sin(θ))).Plus(expr.Mul(I3, square(expr.Cos(θ)))))
	return System{
		Coordinates: []string{"θ"},
		Kinetic:     expr.Mul(half, I1, square(w)).Plus(turning),
		Potential:   expr.Neg(expr.Mul(m, g, d, expr.Cos(θ))),
		Values:      map[string]float64{"m": 0.1, "d": 0.1, "I_1": 1e-3, "I_2": 1e-3, "I_3": 1e-5, "Ω": 5, "g": gravity},
	}
}
