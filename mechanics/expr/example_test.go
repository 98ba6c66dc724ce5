package expr_test

import (
	"fmt"
	"log"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/quantity"
)

// The small-swing period of a pendulum from its torque: expand the sine, read
// off the stiffness.
func ExampleExpr_Series() {
	m, g, l, θ := expr.Sym("m"), expr.Sym("g"), expr.Sym("l"), expr.Sym("θ")
	torque := expr.Neg(expr.Mul(m, g, l, expr.Sin(θ)))
	s, err := torque.Series("θ", expr.Int(0), 3)
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(s)
	fmt.Println(expr.Neg(torque.Diff("θ")).Subs(map[string]expr.Expr{"θ": expr.Int(0)}))
	// Output:
	// g*l*m*θ^3/6 - g*l*m*θ
	// g*l*m
}

// A velocity from a position that moves.
func ExampleExpr_TimeDiff() {
	x := expr.Mul(expr.Sym("l"), expr.Sin(expr.Sym("theta")))
	fmt.Println(x.TimeDiff("theta"))
	fmt.Println(x.TimeDiff("theta").TimeDiff("theta"))
	// Output:
	// l*θ'*cos(θ)
	// l*θ''*cos(θ) - l*θ'^2*sin(θ)
}

func ExampleExpr_Simplify() {
	m, l1, l2 := expr.Sym("m"), expr.Sym("l1"), expr.Sym("l2")
	a, b, u, v := expr.Sym("a"), expr.Sym("b"), expr.Sym("a'"), expr.Sym("b'")
	two := expr.Int(2)
	vx := expr.Add(expr.Mul(l1, u, expr.Cos(a)), expr.Mul(l2, v, expr.Cos(b)))
	vy := expr.Add(expr.Mul(l1, u, expr.Sin(a)), expr.Mul(l2, v, expr.Sin(b)))
	speed2 := expr.Add(expr.Pow(vx, two), expr.Pow(vy, two))
	fmt.Println(expr.Mul(m, speed2).Simplify())
	// Output: m*(2*a'*b'*l_1*l_2*cos(a - b) + a'^2*l_1^2 + b'^2*l_2^2)
}

// Two lanterns of mass m_1 and m_2 on a line over a light pulley.
func ExampleSolve() {
	m1, m2, g, a, S := expr.Sym("m_1"), expr.Sym("m_2"), expr.Sym("g"), expr.Sym("a"), expr.Sym("S")
	solution, err := expr.Solve([]expr.Expr{
		expr.Sub(expr.Mul(m1, g).Minus(S), expr.Mul(m1, a)),
		expr.Sub(S.Minus(expr.Mul(m2, g)), expr.Mul(m2, a)),
	}, []string{"a", "S"})
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println("a =", solution[0])
	fmt.Println("S =", solution[1])
	// Output:
	// a = g*(m_1 - m_2)/(m_1 + m_2)
	// S = 2*g*m_1*m_2/(m_1 + m_2)
}

func ExampleDimension() {
	of := map[string]quantity.Dimension{
		"m": quantity.MustUnit("kg").Dimension(),
		"g": quantity.MustUnit("m/s^2").Dimension(),
		"h": quantity.MustUnit("m").Dimension(),
	}
	m, g, h := expr.Sym("m"), expr.Sym("g"), expr.Sym("h")
	d, err := expr.Dimension(expr.Mul(m, g, h), of)
	fmt.Println(d, err)
	_, err = expr.Dimension(expr.Add(expr.Mul(m, g), h), of)
	fmt.Println(err)
	// Output:
	// kg m² s⁻² <nil>
	// h + g*m: g*m, a force (kg m s⁻²), cannot be added to h, a length (m): check for a missing or extra factor
}

func ExampleCanonical() {
	for _, name := range []string{"theta1", `\dot{\phi}`, "m₂", "I_{cm}"} {
		fmt.Println(expr.Canonical(name))
	}
	// Output:
	// θ_1
	// φ'
	// m_2
	// I_cm
}
