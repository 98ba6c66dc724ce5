package problems_test

import (
	"fmt"
	"log"

	"counterpoise/mechanics/problems"
)

func ExampleNamed() {
	p, err := problems.Named("kepler")
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(p.Title)
	fmt.Println(p.State)
	half := p.Solution(p.Until / 2)
	fmt.Printf("half-way: x = %.3f, y = %.3f\n", half[0], half[1])
	// Output:
	// Kepler's ellipse of eccentricity 0.6, one revolution
	// [x y x' y']
	// half-way: x = -1.600, y = 0.000
}
