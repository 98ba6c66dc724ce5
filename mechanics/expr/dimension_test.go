package expr_test

import (
	"testing"

	. "counterpoise/mechanics/expr"
	"counterpoise/mechanics/quantity"
)

// Dimensions of common quantities: BIPM, The International System of Units (9th
// ed.), Tables 4 and 5.
func TestDimension(t *testing.T) {
	of := map[string]quantity.Dimension{}
	for name, unit := range map[string]string{"m": "kg", "g": "m/s^2", "l": "m", "θ": "1", "k": "N/m", "t": "s", "I": "kg m^2", "ω": "1/s", "n": "1"} {
		u, err := quantity.ParseUnit(unit)
		if err != nil {
			t.Fatal(err)
		}
		of[name] = u.Dimension()
	}
	m, g, l, θ, k, tm, I, ω, n := Sym("m"), Sym("g"), Sym("l"), Sym("θ"), Sym("k"), Sym("t"), Sym("I"), Sym("ω"), Sym("n")
	for _, tt := range []struct {
		e    Expr
		unit string
	}{
		{Mul(m, g, l, Sub(Int(1), Cos(θ))), "J"},
		{Mul(Int(2), Pi, Sqrt(Div(l, g))), "s"},
		{Sqrt(Div(k, m)), "1/s"},
		{Mul(I, Sym("θ''")), "N m"},
		{Mul(Rat(1, 2), I, Pow(Sym("θ'"), Int(2))), "J"},
		{Mul(l, Exp(Neg(Mul(ω, tm)))), "m"},
		{Pow(n, θ), "1"},
		{Abs(Mul(m, g)), "N"},
		{Atan2(l, Mul(Int(2), l)), "1"},
		{Max(l, Mul(g, Pow(tm, Int(2)))), "m"},
		{Piecewise([]Case{{Left: θ, Right: Int(1), Then: l}}, Mul(Int(3), l)), "m"},
		{Sign(m), "1"},
	} {
		u, err := quantity.ParseUnit(tt.unit)
		if err != nil {
			t.Fatal(err)
		}
		got, err := Dimension(tt.e, of)
		if err != nil || got != u.Dimension() {
			t.Errorf("%s: got %s (%v), want %s", tt.e, got, err, tt.unit)
		}
	}
	for _, tt := range []struct {
		e    Expr
		want string
	}{
		{Mul(m, Add(l, tm)), "l + t: t, a time (s), cannot be added to l, a length (m): check for a missing or extra factor"},
		{Sin(l), "sin(l): l is a length (m), but what sin is taken of must be a pure number: divide by something of the same kind"},
		{Pow(n, l), "n^l: l is a length (m), but an exponent must be a pure number: divide by something of the same kind"},
		{Pow(l, n), "l^n: l, a length (m), is raised to a power that is not a plain number: only pure numbers can be"},
		{Sym("H"), "H: the dimension of this symbol is not known: declare it with its unit"},
		{Add(Int(1), l), "1 + l: l, a length (m), cannot be added to 1, a pure number: check for a missing or extra factor"},
	} {
		_, err := Dimension(tt.e, of)
		if err == nil || err.Error() != tt.want {
			t.Errorf("%s: got %v, want %s", tt.e, err, tt.want)
		}
	}
}
