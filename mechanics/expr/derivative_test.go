package expr_test

import (
	"sync"
	"testing"

	. "counterpoise/mechanics/expr"
)

// Derivatives as printed in Abramowitz and Stegun, Handbook of Mathematical
// Functions (1964), 3.3.2-6 and the numbers beside each (from memory, unchecked); z stands for x.
func TestDerivatives(t *testing.T) {
	a, n := Sym("a"), Sym("n")
	x := Sym("x")
	for _, tt := range []struct {
		f    Expr
		want string
	}{
		{Pow(x, n), "n*x^(n - 1)"},                // 3.3.2
		{Mul(x, Sin(x)), "sin(x) + x*cos(x)"},     // 3.3.4
		{Div(Sin(x), x), "cos(x)/x - sin(x)/x^2"}, // 3.3.5
		{Exp(Mul(a, x)), "a*exp(a*x)"},            // 4.2.48
		{Pow(a, x), "a^x*log(a)"},                 // 4.2.49
		{Log(x), "1/x"},                           // 4.1.46
		{Sin(x), "cos(x)"},                        // 4.3.105
		{Cos(x), "-sin(x)"},                       // 4.3.106
		{Tan(x), "1/cos(x)^2"},                    // 4.3.107
		{Asin(x), "1/(1 - x^2)^(1/2)"},            // 4.4.52
		{Acos(x), "-1/(1 - x^2)^(1/2)"},           // 4.4.53
		{Atan(x), "1/(1 + x^2)"},                  // 4.4.54
		{Sinh(x), "cosh(x)"},                      // 4.5.71
		{Cosh(x), "sinh(x)"},                      // 4.5.72
		{Tanh(x), "1 - tanh(x)^2"},                // 4.5.73, with 4.5.17
		{Sqrt(Add(Pow(x, Int(2)), Pow(a, Int(2)))), "x/(a^2 + x^2)^(1/2)"}, // 3.3.6
		{Atan2(x, a), "a/(a^2 + x^2)"},                                     // 4.4.54 with x/a
		{Abs(x), "sign(x)"},                                                // Common practice, no source
		{Max(x, a), "ifless(a, x, 1, 0)"},                                  // Common practice, no source
	} {
		got := tt.f.Diff("x").String()
		if got != tt.want {
			t.Errorf("%s: got %s, want %s", tt.f, got, tt.want)
		}
	}
}

// Expressions are shared between goroutines; the race detector watches.
func TestOneExpressionInManyGoroutines(t *testing.T) {
	x, y := Sym("x"), Sym("y")
	e := Pow(Add(Sin(x), Mul(x, Cos(y)), y), Int(4))
	want := e.Expand().Simplify().String()
	var wg sync.WaitGroup
	for range 8 {
		wg.Go(func() {
			e.Diff("x").Args()
			if got := e.Expand().Simplify().String(); got != want {
				t.Errorf("got %s, want %s", got, want)
			}
		})
	}
	wg.Wait()
}
