package tape_test

import (
	"fmt"
	"log"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/expr/tape"
)

func ExampleCompile() {
	torque := expr.Mul(expr.Sym("m"), expr.Sym("g"), expr.Sym("d"), expr.Sin(expr.Sym("θ")))
	p, err := tape.Compile([]expr.Expr{torque}, []string{"θ"}, tape.Options{
		Values: map[string]float64{"m": 0.120, "g": 9.80665, "d": 0.25}, // kg, m/s², m
	})
	if err != nil {
		log.Fatal(err)
	}
	slope, err := p.Jacobian("θ")
	if err != nil {
		log.Fatal(err)
	}
	out, scratch := make([]float64, 1), p.NewScratch()
	for _, θ := range []float64{0, 0.5, 1} { // rad
		p.Eval(out, []float64{θ}, scratch)
		fmt.Printf("%.1f rad: %.4f N m", θ, out[0])
		slope.Eval(out, []float64{θ}, nil)
		fmt.Printf(", %.4f N m/rad\n", out[0])
	}
	// Output:
	// 0.0 rad: 0.0000 N m, 0.2942 N m/rad
	// 0.5 rad: 0.1410 N m, 0.2582 N m/rad
	// 1.0 rad: 0.2476 N m, 0.1590 N m/rad
}

// The power series of a swing in time, from its equation of motion.
func ExampleProgram_Taylor() {
	p, err := tape.Compile([]expr.Expr{expr.Sym("ω"), expr.Neg(expr.Sin(expr.Sym("θ")))}, []string{"θ", "ω"}, tape.Options{})
	if err != nil {
		log.Fatal(err)
	}
	s, err := p.Taylor(2, 4)
	if err != nil {
		log.Fatal(err)
	}
	s.Expand([]float64{1, 0})
	fmt.Printf("%.4f\n", s.Coefficients(0))
	// Output: [1.0000 0.0000 -0.4207 -0.0000 0.0189]
}

func ExampleProgram_Listing() {
	x, y := expr.Sym("x"), expr.Sym("y")
	r := expr.Sqrt(expr.Add(expr.Mul(x, x), expr.Mul(y, y)))
	p, err := tape.Compile([]expr.Expr{expr.Div(x, r), expr.Div(y, r)}, []string{"x", "y"}, tape.Options{})
	if err != nil {
		log.Fatal(err)
	}
	fmt.Print(p.Listing())
	// Output:
	// r3 = x*x + y*y
	// r3 = 1/sqrt r3
	// r4 = x*r3
	// r3 = y*r3
	// output 0 = r4
	// output 1 = r3
}
