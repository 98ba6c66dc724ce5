package lagrange_test

import (
	"fmt"
	"log"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/lagrange"
)

// A heron on a pin: arms and weights as one body with its centre of gravity
// below the pin.
func ExampleSystem_Derive() {
	heron := lagrange.System{
		Coordinates: []string{"θ"},
		Kinetic:     expr.Mul(expr.Rat(1, 2), expr.Sym("I"), expr.Pow(expr.Sym("θ'"), expr.Int(2))),
		Potential:   expr.Neg(expr.Mul(expr.Sym("m"), expr.Sym("g"), expr.Sym("d"), expr.Cos(expr.Sym("θ")))),
	}
	e, err := heron.Derive()
	if err != nil {
		log.Fatal(err)
	}
	a, err := e.Accelerations()
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println("θ'' =", a[0])
	for _, c := range e.Conserved() {
		fmt.Println(c.Name, "=", c.Quantity)
	}
	// Output:
	// θ'' = -d*g*m*sin(θ)/I
	// energy = I*θ'^2/2 - d*g*m*cos(θ)
}

func ExampleEquations_Linearise() {
	e, err := lagrange.CoupledPendulums().Derive()
	if err != nil {
		log.Fatal(err)
	}
	l, err := e.Linearise(nil)
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println("M =", l.Mass)
	fmt.Println("K =", l.Stiffness)
	// Output:
	// M = [[l^2*m 0] [0 l^2*m]]
	// K = [[a^2*k + g*l*m -a^2*k] [-a^2*k a^2*k + g*l*m]]
}

func ExampleEquations_Equilibria() {
	e, err := lagrange.PhysicalPendulum().Derive()
	if err != nil {
		log.Fatal(err)
	}
	found, err := e.Equilibria(map[string]float64{"d": 0.02, "m": 0.05, "I": 1e-4}, nil)
	if err != nil {
		log.Fatal(err)
	}
	for _, q := range found {
		fmt.Println(q)
	}
	// Output:
	// θ = 0: stable
	// θ = 3.14159: unstable
}

// What a cell shows of a system, as text and as TeX.
func ExampleEquations_LaTeX() {
	e, err := lagrange.SpringPendulum().Derive()
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(e)
	fmt.Println(e.LaTeX())
	l, err := e.Linearise(map[string]expr.Expr{
		"r": expr.Sym("l").Plus(expr.Sym("m").Times(expr.Sym("g")).Over(expr.Sym("k"))),
	})
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(l)
	// Output:
	// k (r - l) + m r'' - m (g cos(θ) + r θ'²) = 0
	// m r (g sin(θ) + 2 r' θ') + m r² θ'' = 0
	// \begin{aligned} k (r - l) + m \ddot{r} - m (g \cos\theta + r \dot{\theta}^{2}) &= 0 \\ m r (g \sin\theta + 2 \dot{r} \dot{\theta}) + m r^{2} \ddot{\theta} &= 0 \end{aligned}
	// M = [[m, 0], [0, m (l + m g/k)²]]
	// K = [[k, 0], [0, m g (l + m g/k)]]
}
