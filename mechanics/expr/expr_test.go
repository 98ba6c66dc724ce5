package expr_test

import (
	"math"
	"testing"

	. "counterpoise/mechanics/expr"
)

var (
	x, y, m, g = Sym("x"), Sym("y"), Sym("m"), Sym("g")
	two        = Int(2)
)

// What the constructors make of their arguments: own rules, no source.
func TestConstructorsNormaliseLightly(t *testing.T) {
	for _, tt := range []struct {
		got  Expr
		want string
	}{
		{Expr{}, "0"},
		{Add(x, y, x), "2*x + y"},
		{Sub(x, x), "0"},
		{Mul(x, y, x), "x^2*y"},
		{Div(x, x), "1"},
		{Div(Mul(m, g), m), "g"},
		{Num(9.81), "981/100"},
		{Add(Rat(1, 3), Rat(1, 6)), "1/2"},
		{Pow(Int(4), Rat(3, 2)), "8"},
		{Pow(Rat(8, 27), Rat(-1, 3)), "3/2"},
		{Sqrt(Int(2)), "2^(1/2)"},
		{Mul(Sqrt(two), Sqrt(two)), "2"},
		{Mul(Sqrt(Mul(x, y)), Sqrt(Mul(x, y)), y), "x*y^2"},
		{Pow(Mul(two, x), Int(3)), "8*x^3"},
		{Pow(Sqrt(x), two), "x"},
		{Sqrt(Pow(x, two)), "(x^2)^(1/2)"},
		{Sub(x, Add(y, m)), "x - (m + y)"},
		{Neg(Sub(x, y)), "-(x - y)"},
		{Div(Int(1), Mul(two, x)), "1/(2*x)"},
		{Sin(Int(0)), "0"},
		{Cos(Mul(Rat(1, 3), Pi)), "1/2"},
		{Sin(Mul(Rat(-7, 6), Pi)), "1/2"},
		{Max(x, Int(2), Int(3), x), "max(3, x)"},
		{Piecewise([]Case{{Left: Int(3), Right: Int(2), Then: x}}, y), "y"},
		{Abs(Rat(-3, 2)), "3/2"},
		{Pow(Int(10), Int(1000000)), "10^1000000"},
		{Mul(Sym("theta"), Sym("m1"), Sym(`\ddot{\phi}_2`)), "m_1*θ*φ_2''"},
	} {
		if tt.got.String() != tt.want {
			t.Errorf("got %s, want %s", tt.got, tt.want)
		}
	}
}

func TestCanonical(t *testing.T) {
	for name, want := range map[string]string{
		"theta": "θ", `\theta`: "θ", "ϑ": "θ", "m1": "m_1", "m₁": "m_1", "m_{12}": "m_12", "m_1": "m_1",
		`\dot{\theta}`: "θ'", `\ddot\theta`: "θ''", "θ̇": "θ'", `\dot{\theta}_1`: "θ_1'", `\dot{x_1}`: "x_1'",
		"x1'": "x_1'", "x_1''": "x_1''", "θ′": "θ'", "heron.cg.y": "heron.cg.y", "I_c": "I_c", `I_{\mathrm{cm}}`: "I_cm",
		"omega0": "ω_0", `\omega_0`: "ω_0", "µ": "μ", `\varphi`: "φ", "ϕ": "φ", `\ell`: "l", "mgd": "mgd", "x_max": "x_max",
		`\dot\theta_1`: "θ_1'", "q_i": "q_i", "ẍ": "x''", "ẋ": "x'",
	} {
		if got := Canonical(name); got != want {
			t.Errorf("Canonical(%q) = %q, want %q", name, got, want)
		}
		if got := Canonical(want); got != want {
			t.Errorf("Canonical(%q) = %q: a canonical name changed", want, got)
		}
	}
}

// Parts used over and over make a tree that no memory holds: it is still
// evaluated and differentiated, and what cannot be done says so or gives the
// expression back.
func TestSharedPartsWithoutEnd(t *testing.T) {
	e, x := Sym("x"), 0.01
	for range 200 {
		e, x = e.Times(e).Plus(e), x*x+x
	}
	if v, err := e.Eval(map[string]float64{"x": 0.01}); err == nil && math.Abs(v-x) > 1e-9*x || err != nil && !math.IsInf(x, 0) {
		t.Errorf("got %g (%v), want %g", v, err, x)
	}
	if e.Diff("x").IsZero() {
		t.Error("no derivative")
	}
	for _, f := range []Expr{e.Simplify(), e.Expand(), e.Factor(), e.Collect("x"), e.JoinAngles(), e.SingleAngles()} {
		if !f.Equal(e) {
			t.Error("a form changed it")
		}
	}
	if s := e.String(); s != "(a formula of 4294967295 parts)" {
		t.Error(s)
	}
	n := Int(3)
	for range 60 {
		n = n.Times(n)
	}
	if v, err := n.Eval(nil); err == nil {
		t.Errorf("3 squared 60 times is %g", v)
	}
}

func TestEvalErrorsSayWhichPart(t *testing.T) {
	for _, tt := range []struct {
		e    Expr
		want string
	}{
		{Add(x, Div(y, Sub(x, x.Plus(Int(0))).Plus(m))), "1/m has no value: it divides by zero at these values"},
		{Mul(x, Sym("H")), "H has no value: no value is given for this symbol: add it to the values"},
		{Sqrt(Neg(x)), "(-x)^(1/2) has no value: the power of a negative number at these values, or too large"},
		{Num(math.NaN()), "NaN has no value: it is not a finite number: give a finite one"},
		{Rat(3, 0), "1/0 has no value: it divides by zero at these values"},
		{Div(Expr{}, Expr{}), "NaN has no value: it is not a finite number: give a finite one"},
		{Asin(two), "asin(2) has no value: these values are outside the function's range"},
	} {
		_, err := tt.e.Eval(map[string]float64{"x": 3, "y": 1, "m": 0})
		if err == nil || err.Error() != tt.want {
			t.Errorf("%s: got %v, want %s", tt.e, err, tt.want)
		}
	}
}
