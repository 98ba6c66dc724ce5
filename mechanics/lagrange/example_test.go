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
		fmt.Printf("θ = %.4f rad: %s\n", q.At["θ"], q.Stability)
	}
	// Output:
	// θ = 0.0000 rad: stable
	// θ = 3.1416 rad: unstable
}
