package lagrange_test

import (
	"errors"
	"fmt"
	"log"
	"testing"

	"counterpoise/mechanics/expr/parse"
	"counterpoise/mechanics/lagrange"
)

// A bead on a hoop of radius R that turns about its vertical diameter at Ω:
// typed as in a book, its motion and its places of rest.
func ExampleRead() {
	s, err := lagrange.Read([]string{"θ"}, `m R^2 (\dot\theta^2 + Ω^2 sin²θ)/2`, "-m g R cos θ")
	if err != nil {
		log.Fatal(err)
	}
	e, err := s.Derive()
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(e)
	found, err := e.Equilibria(map[string]float64{"m": 0.01, "R": 0.1, "g": 9.81, "Ω": 12}, nil)
	if err != nil {
		log.Fatal(err)
	}
	for _, q := range found {
		fmt.Println(q)
	}
	// Output:
	// m R (g - R Ω² cos(θ)) sin(θ) + m R² θ'' = 0
	// θ = -0.821328: stable
	// θ = 0: unstable
	// θ = 0.821328: stable
	// θ = 3.14159: unstable
}

func TestReadTellsWhere(t *testing.T) {
	_, err := lagrange.Read([]string{"x"}, "m x'^2/2", "m g (x")
	var s *parse.SyntaxError
	if !errors.As(err, &s) {
		t.Errorf("got %v, want a syntax error", err)
	}
}
