package problems

import (
	"fmt"
	"math"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/lagrange"
)

// henonHeiles is the system of Hénon and Heiles.
func henonHeiles() lagrange.System {
	x, y, vx, vy := sym("x"), sym("y"), sym("x'"), sym("y'")
	return lagrange.System{
		Coordinates: []string{"x", "y"},
		Kinetic:     expr.Mul(half, square(vx).Plus(square(vy))),
		Potential: expr.Add(expr.Mul(half, square(x).Plus(square(y))),
			expr.Mul(square(x), y), expr.Mul(expr.Rat(-1, 3), expr.Pow(y, expr.Int(3)))),
	}
}

// HenonHeiles is the system of Hénon and Heiles at the energy 1/12, where the
// motion is mostly regular, to t = 200.
func HenonHeiles() Problem {
	s := henonHeiles()
	sixth, y := 1.0/6, 0.1 // in variables: float64 arithmetic as in the reference, not exact constants
	v := math.Sqrt(sixth - 0.01 + 2*0.001/3*(y/0.1))
	return ofLagrangian(Problem{
		Name: "henon_heiles", Title: "Hénon and Heiles, E = 1/12, t = 200",
		Source: "Hénon and Heiles, Astronomical Journal 69 (1964), 73-79, for the system; end state computed for this project, 35 digits",
		Start:  []float64{0, y, v, 0}, Until: 200,
		End: endStates["henon_heiles"], Energy: s.Kinetic.Plus(s.Potential),
	}, s)
}

// ChaoticHenonHeiles is the same at the energy 1/6, in the chaotic sea.
func ChaoticHenonHeiles() Problem {
	s := henonHeiles()
	const y = -0.1
	v := math.Sqrt(1./3 - y*y + 2*y*y*y/3)
	return ofLagrangian(Problem{
		Name: "chaotic_henon_heiles", Title: "Hénon and Heiles, E = 1/6, the chaotic sea",
		Source: "the system as in henon_heiles; the exponent computed for this project from trajectories of length 1e6 at tolerance 1e-12",
		Start:  []float64{0, y, v, 0}, Until: 1000, Energy: s.Kinetic.Plus(s.Potential),
		Exponent: 0.1262, ExponentError: 0.0002,
	}, s)
}

// Arenstorf is a periodic orbit of a light body around earth and moon, in the
// frame that turns with them; its end is its start.
func Arenstorf() Problem {
	x, y, vx, vy := sym("x"), sym("y"), sym("x'"), sym("y'")
	μ, ν := sym("μ"), sym("ν")
	distance := func(a expr.Expr) expr.Expr { return expr.Sqrt(square(a).Plus(square(y))) }
	s := lagrange.System{
		Coordinates: []string{"x", "y"},
		Kinetic:     expr.Mul(half, square(vx.Minus(y)).Plus(square(vy.Plus(x)))),
		Potential:   expr.Neg(expr.Div(ν, distance(x.Plus(μ))).Plus(expr.Div(μ, distance(x.Minus(ν))))),
		Values:      map[string]float64{"μ": 0.012277471, "ν": 1 - 0.012277471},
	}
	e := expr.Sub(expr.Mul(half, square(vx).Plus(square(vy))), expr.Mul(half, square(x).Plus(square(y)))).Plus(s.Potential)
	return ofLagrangian(Problem{
		Name: "arenstorf", Title: "Arenstorf's orbit, one period",
		Source: "Hairer, Nørsett and Wanner, Solving Ordinary Differential Equations I (2nd ed.), section II.0; end state computed for this project, 32 digits",
		Start:  []float64{0.994, 0, 0, -2.00158510637908252240537862224}, Until: 17.0652165601579625588917206249,
		End: endStates["arenstorf"], Energy: e,
	}, s)
}

// Pleiades is seven stars in a plane that attract each other, star i of mass i,
// with near passes, to t = 3. The state is all x, all z, then their rates u, w.
func Pleiades() Problem {
	p := Problem{
		Name: "pleiades", Title: "the Pleiades, t = 3",
		Source: "Hairer, Nørsett and Wanner, Solving Ordinary Differential Equations I (2nd ed.), section II.10; end state computed for this project, 33 digits",
		Start: []float64{
			3, 3, -1, -3, 2, -2, 2, 3, -3, 2, 0, 0, -4, 4,
			0, 0, 0, 0, 0, 1.75, -1.5, 0, 0, 0, -1.25, 1, 0, 0,
		},
		Until: 3, End: endStates["pleiades"],
	}
	const n = 7
	for _, c := range []string{"x", "z", "u", "w"} {
		for i := 1; i <= n; i++ {
			p.State = append(p.State, fmt.Sprintf("%s_%d", c, i))
		}
	}
	at := func(c, i int) expr.Expr { return sym(p.State[c*n+i]) }
	for c := range 2 {
		for i := range n {
			p.Rates = append(p.Rates, at(2+c, i))
		}
	}
	energy := expr.Int(0)
	for c := range 2 {
		for i := range n {
			pull := expr.Int(0)
			for j := range n {
				if j == i {
					continue
				}
				a, b := min(i, j), max(i, j)
				dx, dz := at(0, b).Minus(at(0, a)), at(1, b).Minus(at(1, a))
				r2 := square(dx).Plus(square(dz))
				d := []expr.Expr{dx, dz}[c]
				if j < i {
					d = expr.Neg(d)
				}
				pull = pull.Plus(expr.Mul(expr.Int(int64(j+1)), d, expr.Pow(r2, expr.Rat(-3, 2))))
				if c == 0 && j > i {
					energy = energy.Minus(expr.Mul(expr.Int(int64((i+1)*(j+1))), expr.Pow(r2, expr.Rat(-1, 2))))
				}
			}
			p.Rates = append(p.Rates, pull)
			energy = energy.Plus(expr.Mul(expr.Rat(int64(i+1), 2), square(at(2+c, i))))
		}
	}
	p.Energy = energy
	return p
}

// Kepler is the motion of a body in the plane around a fixed centre that
// attracts it, with eccentricity 0.6, over one revolution from the nearest
// point: semi-major axis and gravitational parameter are 1.
func Kepler() Problem {
	const e = 0.6
	x, y, vx, vy := sym("x"), sym("y"), sym("x'"), sym("y'")
	s := lagrange.System{
		Coordinates: []string{"x", "y"},
		Kinetic:     expr.Mul(half, square(vx).Plus(square(vy))),
		Potential:   expr.Neg(expr.Pow(square(x).Plus(square(y)), expr.Rat(-1, 2))),
	}
	solution := func(t float64) []float64 {
		E := t // Kepler's equation E - e sin E = t by Newton's iteration
		for range 50 {
			d := (E - e*math.Sin(E) - t) / (1 - e*math.Cos(E))
			if E -= d; math.Abs(d) < 1e-16*(1+math.Abs(E)) {
				break
			}
		}
		s, c := math.Sincos(E)
		b := math.Sqrt(1 - e*e)
		r := 1 - e*c
		return []float64{c - e, b * s, -s / r, b * c / r}
	}
	return ofLagrangian(Problem{
		Name: "kepler", Title: "Kepler's ellipse of eccentricity 0.6, one revolution",
		Source: "closed form: Goldstein, Poole and Safko, Classical Mechanics (3rd ed.), section 3.8",
		Start:  solution(0), Until: 2 * math.Pi,
		Solution: solution, Energy: s.Kinetic.Plus(s.Potential),
	}, s)
}
