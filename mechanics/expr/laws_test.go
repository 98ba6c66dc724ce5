package expr_test

import (
	"math"
	"testing"

	. "counterpoise/mechanics/expr"

	"pgregory.net/rapid"
)

var letters = []string{"x", "y", "z"}

// formula draws an expression that has a value for every real x, y, z.
func formula(depth int) *rapid.Generator[Expr] {
	return rapid.Custom(func(t *rapid.T) Expr {
		if depth == 0 || rapid.IntRange(0, 9).Draw(t, "leaf") == 0 {
			switch rapid.IntRange(0, 3).Draw(t, "kind") {
			case 0:
				return Rat(rapid.Int64Range(-5, 5).Draw(t, "p"), rapid.Int64Range(1, 4).Draw(t, "q"))
			default:
				return Sym(rapid.SampledFrom(letters).Draw(t, "symbol"))
			}
		}
		sub := formula(depth - 1)
		a := sub.Draw(t, "a")
		switch rapid.IntRange(0, 19).Draw(t, "operation") {
		case 0, 1, 2:
			return Add(a, sub.Draw(t, "b"), sub.Draw(t, "c"))
		case 3, 4, 5:
			return Mul(a, sub.Draw(t, "b"))
		case 6:
			return Sub(a, sub.Draw(t, "b"))
		case 7:
			return Div(a, Add(Int(2), Pow(sub.Draw(t, "b"), Int(2))))
		case 8:
			return Sin(a)
		case 9: // turned by quarters
			return Sin(Add(a, Mul(Rat(rapid.Int64Range(-5, 5).Draw(t, "quarters"), 2), Pi)))
		case 10, 11:
			return Cos(a)
		case 12:
			return Pow(a, Int(rapid.Int64Range(2, 3).Draw(t, "n")))
		case 13:
			return Sqrt(Add(Int(1), Pow(a, Int(2))))
		case 14:
			return Exp(Sin(a))
		case 16: // a symbol in the exponent, over a base that is positive
			return Pow(Add(Int(2), Sin(a)), sub.Draw(t, "b"))
		case 17:
			return Pow(Sym("w"), Sym(rapid.SampledFrom(letters).Draw(t, "exponent")))
		case 18:
			return Log(Add(Int(2), Pow(a, Int(2))))
		case 19:
			return Abs(Add(Int(3), Cos(a)))
		}
		return Atan(a)
	})
}

func point(t *rapid.T) map[string]float64 {
	at := map[string]float64{}
	for _, name := range letters {
		at[name] = rapid.Float64Range(-1.5, 1.5).Draw(t, name)
	}
	at["w"] = 1.3 // a base of symbolic powers
	return at
}

// near reports whether two values agree to rounding, where size is that of the
// terms they are made of.
func near(a, b, size float64) bool { return math.Abs(a-b) <= 1e-9*(1+size) }

// size returns the value of e with every subtraction made an addition: the
// scale of its rounding errors.
func size(t *rapid.T, e Expr, at map[string]float64) float64 {
	var walk func(e Expr) float64
	walk = func(e Expr) float64 {
		s := 0.0
		switch e.Kind() {
		case KindSum:
			for _, a := range e.Args() {
				s += walk(a)
			}
		case KindProduct:
			s = 1
			for _, a := range e.Args() {
				s *= walk(a)
			}
		case KindPower:
			_, n, _ := e.Args()[1].Number()
			if n > 0 {
				return math.Pow(walk(e.Args()[0]), n)
			}
			fallthrough
		default:
			v, err := e.Eval(at)
			if err != nil {
				t.Skip("no value:", err)
			}
			return math.Abs(v) + 1
		}
		return s
	}
	return walk(e)
}

func TestFormsKeepTheValue(t *testing.T) {
	forms := map[string]func(Expr) Expr{
		"Expand":       Expr.Expand,
		"JoinAngles":   Expr.JoinAngles,
		"SingleAngles": Expr.SingleAngles,
		"Factor":       Expr.Factor,
		"Simplify":     Expr.Simplify,
		"Collect":      func(e Expr) Expr { return e.Collect("x") },
		"Fraction":     func(e Expr) Expr { n, d := e.Fraction(); return Div(n, d) },
	}
	rapid.Check(t, func(t *rapid.T) {
		e := formula(3).Draw(t, "e")
		at := point(t)
		want, err := e.Eval(at)
		if err != nil {
			t.Skip(err)
		}
		for name, form := range forms {
			f := form(e)
			got, err := f.Eval(at)
			if err != nil {
				t.Fatalf("%s of %s is %s: %v", name, e, f, err)
			}
			if !near(got, want, math.Max(size(t, e, at), size(t, f, at))) {
				t.Fatalf("%s of %s is %s: %g became %g", name, e, f, want, got)
			}
			if name == "Simplify" && f.Ops() > e.Ops() {
				t.Fatalf("Simplify made %s longer: %s", e, f)
			}
		}
	})
}

func TestDerivativeAgreesWithDifferences(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := formula(3).Draw(t, "e")
		at := point(t)
		value := func(f Expr, x float64) float64 {
			p := map[string]float64{"x": x, "y": at["y"], "z": at["z"], "w": at["w"]}
			v, err := f.Eval(p)
			if err != nil {
				t.Skip(err)
			}
			return v
		}
		x, d := at["x"], e.Diff("x")
		// Central difference of fourth order: its error is h⁴/30 times the fifth
		// derivative, estimated here by a second step size, and rounding ε/h.
		difference := func(h float64) float64 {
			return (8*(value(e, x+h)-value(e, x-h)) - value(e, x+2*h) + value(e, x-2*h)) / (12 * h)
		}
		a, b := difference(1e-3), difference(2e-3)
		if tolerance := 2*math.Abs(a-b) + 1e-10*(1+size(t, e, at)); math.Abs(value(d, x)-a) > tolerance {
			t.Fatalf("d/dx %s = %s gives %g, differences %g ± %g", e, d, value(d, x), a, tolerance)
		}
	})
}
