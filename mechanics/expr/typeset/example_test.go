package typeset_test

import (
	"fmt"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/expr/typeset"
)

// The energy of a swinging lantern on paper.
func Example() {
	m, g, l, θ := expr.Sym("m"), expr.Sym("g"), expr.Sym("l"), expr.Sym("θ")
	half := expr.Rat(1, 2)
	energy := expr.Mul(half, m, l.Power(expr.Int(2)), expr.Sym("θ'").Power(expr.Int(2))).
		Plus(expr.Mul(m, g, l, expr.Int(1).Minus(expr.Cos(θ))))
	fmt.Println(typeset.Text(energy))
	fmt.Println(typeset.TeX(energy))
	// Output:
	// m g l (1 - cos(θ)) + m l² θ'²/2
	// m g l (1 - \cos\theta) + \frac{1}{2} m l^{2} \dot{\theta}^{2}
}
