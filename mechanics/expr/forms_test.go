package expr_test

import (
	"testing"

	. "counterpoise/mechanics/expr"
)

// Maclaurin series as printed in Abramowitz and Stegun, Handbook of
// Mathematical Functions (1964): exp 4.2.1, log(1+x) 4.1.24, sin 4.3.65,
// cos 4.3.66, tan 4.3.67, cot 4.3.70, arcsin 4.4.40, arctan 4.4.42, sinh
// 4.5.62, tanh 4.5.64; (1+x)^(-1/2) 3.6.11. The numbers are from memory, unchecked.
func TestSeries(t *testing.T) {
	x := Sym("x")
	one := Int(1)
	for _, tt := range []struct {
		f     Expr
		order int
		want  Expr
	}{
		{Exp(x), 4, Add(one, x, Mul(Rat(1, 2), Pow(x, Int(2))), Mul(Rat(1, 6), Pow(x, Int(3))), Mul(Rat(1, 24), Pow(x, Int(4))))},
		{Log(Add(one, x)), 4, Add(x, Mul(Rat(-1, 2), Pow(x, Int(2))), Mul(Rat(1, 3), Pow(x, Int(3))), Mul(Rat(-1, 4), Pow(x, Int(4))))},
		{Sin(x), 6, Add(x, Mul(Rat(-1, 6), Pow(x, Int(3))), Mul(Rat(1, 120), Pow(x, Int(5))))},
		{Cos(x), 4, Add(one, Mul(Rat(-1, 2), Pow(x, Int(2))), Mul(Rat(1, 24), Pow(x, Int(4))))},
		{Tan(x), 7, Add(x, Mul(Rat(1, 3), Pow(x, Int(3))), Mul(Rat(2, 15), Pow(x, Int(5))), Mul(Rat(17, 315), Pow(x, Int(7))))},
		{Div(one, Tan(x)), 5, Add(Pow(x, Int(-1)), Mul(Rat(-1, 3), x), Mul(Rat(-1, 45), Pow(x, Int(3))), Mul(Rat(-2, 945), Pow(x, Int(5))))},
		{Asin(x), 7, Add(x, Mul(Rat(1, 6), Pow(x, Int(3))), Mul(Rat(3, 40), Pow(x, Int(5))), Mul(Rat(15, 336), Pow(x, Int(7))))},
		{Atan(x), 5, Add(x, Mul(Rat(-1, 3), Pow(x, Int(3))), Mul(Rat(1, 5), Pow(x, Int(5))))},
		{Sinh(x), 5, Add(x, Mul(Rat(1, 6), Pow(x, Int(3))), Mul(Rat(1, 120), Pow(x, Int(5))))},
		{Tanh(x), 7, Add(x, Mul(Rat(-1, 3), Pow(x, Int(3))), Mul(Rat(2, 15), Pow(x, Int(5))), Mul(Rat(-17, 315), Pow(x, Int(7))))},
		{Pow(Add(one, x), Rat(-1, 2)), 3, Add(one, Mul(Rat(-1, 2), x), Mul(Rat(3, 8), Pow(x, Int(2))), Mul(Rat(-5, 16), Pow(x, Int(3))))},
	} {
		got, err := tt.f.Series("x", Expr{}, tt.order)
		if err != nil || !got.Equal(tt.want) {
			t.Errorf("%s: got %s (%v), want %s", tt.f, got, err, tt.want)
		}
	}
}

func TestSeriesSaysWhereThereIsNone(t *testing.T) {
	x := Sym("x")
	for _, tt := range []struct {
		f    Expr
		want string
	}{
		{Sqrt(x), "x^(1/2) has no power series about 0: it behaves like a root there"},
		{Abs(Sin(x)), "abs(sin(x)) has no power series about 0: it has a kink there"},
		{Sqrt(Pow(x, Int(2))), "(x^2)^(1/2) has no power series about 0: it has a kink there"},
		{Log(x), "log(x) has no power series about 0: it grows without bound there"},
		{Exp(Div(Int(1), x)), "exp(1/x) has no power series about 0: its argument grows without bound there"},
	} {
		got, err := tt.f.Series("x", Expr{}, 3)
		if err == nil || err.Error() != tt.want {
			t.Errorf("%s: got %s, %v, want %s", tt.f, got, err, tt.want)
		}
	}
}

// Each identity is printed in Abramowitz and Stegun, section 4.3, or follows
// from school algebra.
func TestSimplify(t *testing.T) {
	x, y, a, b, m, g, l, u := Sym("x"), Sym("y"), Sym("a"), Sym("b"), Sym("m"), Sym("g"), Sym("l"), Sym("u")
	sq := func(e Expr) Expr { return Pow(e, Int(2)) }
	for _, tt := range []struct {
		e    Expr
		want string
	}{
		{Add(sq(Sin(x)), sq(Cos(x))), "1"},
		{Sub(Int(1), sq(Cos(x))), "sin(x)^2"},
		{Add(Mul(Cos(a), Cos(b)), Mul(Sin(a), Sin(b))), "cos(a - b)"},
		{Sub(Mul(Sin(a), Cos(b)), Mul(Cos(a), Sin(b))), "sin(a - b)"},
		{Sub(Mul(Cos(a), Sin(b)), Mul(Sin(a), Cos(b))), "-sin(a - b)"},
		{Sub(Mul(Cos(a), Cos(b)), Mul(Sin(a), Sin(b))), "cos(a + b)"},
		{Sub(Mul(Sin(a), Sin(b)), Mul(Cos(a), Cos(b))), "-cos(a + b)"},
		{Sub(sq(Cos(a)), sq(Sin(a))), "cos(2*a)"},
		{Mul(Tan(x), Cos(x)), "sin(x)"},
		{Div(Sin(x), Cos(x)), "tan(x)"},
		{Add(Sin(Sub(b, a)), Sin(Sub(a, b))), "0"},
		{Cos(Sub(b, a)), "cos(a - b)"},
		{Mul(Exp(x), Exp(Neg(x))), "1"},
		{Log(Exp(x)), "x"},
		{Abs(Neg(x)), "abs(x)"},
		{Pow(Abs(x), Int(2)), "x^2"},
		{Sub(Mul(Int(2), Sin(x), Cos(x)), Sin(Mul(Int(2), x))), "0"},
		{Sub(Sub(Int(1), Mul(Int(2), sq(Sin(Mul(Rat(1, 2), x))))), Cos(x)), "0"},
		{Mul(Int(2), Sin(x), Cos(x)), "sin(2*x)"},
		{Sub(Mul(Int(4), Pow(Cos(x), Int(3))), Mul(Int(3), Cos(x))), "cos(3*x)"},
		{Sub(Sqrt(Div(l, g)), Pow(Div(g, l), Rat(-1, 2))), "0"},
		{Sub(Mul(Int(2), Sqrt(Div(Mul(Int(2), l), Mul(Int(3), g)))), Sqrt(Div(Mul(Int(8), l), Mul(Int(3), g)))), "0"},
		{Sin(Sub(Mul(Rat(1, 2), Pi), a)), "cos(a)"},
		{Cos(Add(a, Pi)), "-cos(a)"},
		{Sin(Sub(a, Mul(Rat(5, 2), Pi))), "-cos(a)"},
		{Cos(Sub(a, Mul(Rat(1, 2), Pi))), "sin(a)"},
		{Tan(Add(a, Mul(Rat(1, 2), Pi))), "-1/tan(a)"},
		{Pow(Add(Div(Int(1), a), Div(Int(1), b)), Int(-1)), "a*b/(a + b)"},
		{Div(Sub(sq(x), sq(y)), sq(Add(x, y))), "(x - y)/(x + y)"},
		{Div(Sin(x), Tan(x)), "cos(x)"},
		{Sqrt(Int(8)), "2*2^(1/2)"},
		{Sqrt(Mul(Int(4), sq(x), y)), "2*y^(1/2)*abs(x)"},
		{Add(Mul(m, g, l), Neg(Mul(m, g, l, Cos(x)))), "g*l*m*(1 - cos(x))"},
		{Div(Sub(sq(x), sq(y)), Sub(x, y)), "x + y"},
		{Div(Add(Mul(a, x), Mul(b, x)), Add(a, b)), "x"},
		{Add(Div(Int(1), a), Div(Int(1), b)), "1/a + 1/b"},
		{Add(Div(x, Add(x, y)), Div(y, Add(x, y))), "1"},
		{Mul(Add(sq(Sin(u)), sq(Cos(u))), Add(x, y)), "x + y"},
		{Sub(sq(Add(x, y)), Add(sq(x), Mul(Int(2), x, y), sq(y))), "0"},
		{sq(Add(x, y)), "(x + y)^2"},
		{Sqrt(Add(sq(Mul(l, Sin(u))), sq(Mul(l, Cos(u))))), "abs(l)"},
	} {
		if got := tt.e.Simplify(); got.String() != tt.want {
			t.Errorf("%s: got %s, want %s", tt.e, got, tt.want)
		}
	}
}

// Atwood's machine: Kleppner and Kolenkow, An Introduction to Mechanics,
// Example 2.6: a = (M₂-M₁) g/(M₂+M₁), T = 2 M₁M₂ g/(M₁+M₂). From memory, unchecked.
func TestSolve(t *testing.T) {
	a, T, m1, m2, g := Sym("a"), Sym("T"), Sym("m1"), Sym("m2"), Sym("g")
	got, err := Solve([]Expr{
		Sub(Sub(T, Mul(m1, g)), Mul(m1, a)),
		Sub(Sub(Mul(m2, g), T), Mul(m2, a)),
	}, []string{"a", "T"})
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []string{"g*(m_2 - m_1)/(m_1 + m_2)", "2*g*m_1*m_2/(m_1 + m_2)"} {
		if got[i].String() != want {
			t.Errorf("got %s, want %s", got[i], want)
		}
	}
	x, y := Sym("x"), Sym("y")
	for _, tt := range []struct {
		eq   []Expr
		want string
	}{
		{[]Expr{Add(x, y), Mul(Int(2), Add(x, y))}, "the equations do not determine the unknowns: one follows from the others or contradicts them"},
		{[]Expr{Add(x, y), Mul(x, y)}, "equation 2 is not linear in the unknowns: solve it for a power or function of one first"},
		{[]Expr{x}, "the equations are 1 for 2 unknowns: give one for each"},
	} {
		if _, err := Solve(tt.eq, []string{"x", "y"}); err == nil || err.Error() != tt.want {
			t.Errorf("%v: got %v, want %s", tt.eq, err, tt.want)
		}
	}
}

func TestCollect(t *testing.T) {
	x, a, b := Sym("x"), Sym("a"), Sym("b")
	e := Mul(Add(Mul(a, x), b), Add(x, Int(1)))
	if got, want := e.Collect("x").String(), "b + a*x^2 + x*(a + b)"; got != want {
		t.Errorf("got %s, want %s", got, want)
	}
	c, ok := e.Coefficients("x")
	if !ok || len(c) != 3 || c[1].String() != "a + b" {
		t.Errorf("got %v, %v", c, ok)
	}
	if _, ok := Sin(x).Coefficients("x"); ok {
		t.Error("sin x counts as a polynomial")
	}
}

// The chain rule as in Goldstein, Classical Mechanics, (1-46): of a Cartesian
// coordinate to generalised ones.
func TestTimeDiff(t *testing.T) {
	l, θ := Sym("l"), Sym("θ")
	for _, tt := range []struct {
		got  Expr
		want string
	}{
		{Mul(l, Sin(θ)).TimeDiff("θ"), "l*θ'*cos(θ)"},
		{Mul(l, Sin(θ)).TimeDiff("θ", "l"), "l*θ'*cos(θ) + l'*sin(θ)"},
		{Mul(l, Sin(θ)).TimeDiff("theta").TimeDiff("theta"), "l*θ''*cos(θ) - l*θ'^2*sin(θ)"},
		{Mul(l, Cos(Mul(Sym("ω"), Sym("t")))).TimeDiff(), "-l*ω*sin(t*ω)"},
		{Pow(Sym("θ'"), Int(2)).TimeDiff(), "2*θ'*θ''"},
	} {
		if tt.got.String() != tt.want {
			t.Errorf("got %s, want %s", tt.got, tt.want)
		}
	}
}
