package lagrange_test

import (
	"fmt"
	"math"
	"testing"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/lagrange"

	"pgregory.net/rapid"
)

// smooth draws a function of the coordinates x, y and of t that has a value
// everywhere.
func smooth(depth int) *rapid.Generator[expr.Expr] {
	return rapid.Custom(func(t *rapid.T) expr.Expr {
		if depth == 0 {
			return expr.Sym(rapid.SampledFrom([]string{"x", "y", "x", "y", "t", "k"}).Draw(t, "symbol"))
		}
		a := smooth(depth-1).Draw(t, "a")
		switch rapid.IntRange(0, 5).Draw(t, "operation") {
		case 0:
			return expr.Sin(a)
		case 1:
			return expr.Cos(a)
		case 2:
			return expr.Mul(a, smooth(depth-1).Draw(t, "b"))
		case 3:
			return expr.Add(a, smooth(depth-1).Draw(t, "b"))
		case 4:
			return expr.Sqrt(expr.Add(expr.Int(1), expr.Pow(a, expr.Int(2))))
		}
		return expr.Mul(expr.Rat(rapid.Int64Range(-3, 3).Draw(t, "p"), 2), a)
	})
}

// system draws a system of two coordinates: positive definite inertia that
// depends on place and time, gyroscopic terms, potential, friction, drive, and
// perhaps a constraint.
func system(t *rapid.T) lagrange.System {
	u, v := expr.Sym("x'"), expr.Sym("y'")
	f := smooth(2)
	two, half := expr.Int(2), expr.Rat(1, 2)
	a, b := f.Draw(t, "a"), f.Draw(t, "b")
	s := lagrange.System{
		Coordinates: []string{"x", "y"},
		Kinetic: expr.Add(expr.Mul(half, expr.Pow(expr.Add(u, expr.Mul(a, v)), two)), expr.Mul(half, expr.Pow(v, two)),
			expr.Mul(b, u)),
		Potential: f.Draw(t, "V"),
		Damping:   expr.Mul(half, expr.Add(expr.Int(1), expr.Pow(f.Draw(t, "c"), two)), expr.Pow(expr.Sub(u, v), two)),
		Forces:    map[string]expr.Expr{"y": expr.Mul(f.Draw(t, "Q"), u)},
		Values:    map[string]float64{"k": 0.7},
	}
	if rapid.Bool().Draw(t, "constrained") {
		s.Constraints = []expr.Expr{expr.Add(expr.Sym("x"), expr.Mul(expr.Rat(1, 3), f.Draw(t, "f")))}
	}
	return s
}

// Along the compiled motion d/dt ∂L/∂q' - ∂L/∂q + ∂D/∂q' - Q = Aᵀλ, where the
// left side is differentiated along time as it stands, and the constraints'
// second time derivatives vanish.
func TestCompiledMotionSolvesLagrangesEquations(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := system(t)
		e, err := s.Derive()
		if err != nil {
			t.Skip(err)
		}
		p, err := e.Compile(nil)
		if err != nil {
			t.Skip(err)
		}
		in := make([]float64, 5)
		for i := range in {
			in[i] = rapid.Float64Range(-1.5, 1.5).Draw(t, "state")
		}
		out := make([]float64, p.Outputs())
		p.Eval(out, in, nil)
		at := map[string]float64{"x": in[0], "y": in[1], "x'": in[2], "y'": in[3], "t": in[4], "x''": out[2], "y''": out[3], "k": 0.7}
		value := func(e expr.Expr) (v, size float64) {
			v, err := e.Eval(at)
			if err != nil {
				t.Skip(err)
			}
			size = math.Abs(v)
			if e.Kind() == expr.KindSum {
				for _, a := range e.Args() {
					if w, err := a.Eval(at); err == nil {
						size = math.Max(size, math.Abs(w))
					}
				}
			}
			return v, size
		}
		l := s.Kinetic.Minus(s.Potential)
		for _, q := range s.Coordinates {
			// Everything in one sum, so that its size counts the terms that cancel.
			sum := expr.Add(l.Diff(q+"'").TimeDiff("x", "y").Expand(), expr.Neg(l.Diff(q)).Expand(), s.Damping.Diff(q+"'").Expand(), expr.Neg(s.Forces[q]))
			for k, f := range s.Constraints {
				sum = sum.Minus(expr.Mul(f.Diff(q), expr.Num(out[4+k])))
			}
			if v, size := value(sum); math.Abs(v) > 1e-8*(1+size) {
				t.Fatalf("equation of %s is off by %g of %g: %s", q, v, size, describe(s, at))
			}
		}
		for _, f := range s.Constraints {
			if v, size := value(f.TimeDiff("x", "y").TimeDiff("x", "y").Expand()); math.Abs(v) > 1e-8*(1+size) {
				t.Fatalf("the constraint %s leaves with %g of %g", f, v, size)
			}
		}
	})
}

func describe(s lagrange.System, at map[string]float64) string {
	return fmt.Sprintf("T = %s, V = %s, D = %s, Q = %s, f = %v at %v", s.Kinetic, s.Potential, s.Damping, s.Forces, s.Constraints, at)
}
