package derivation_test

import (
	"fmt"
	"log"

	"counterpoise/worksheets/derivation"
)

func Example() {
	// A reed swings on a thread: from its energy to the period of small swings.
	c, err := derivation.New(derivation.Problem{
		Symbols: []string{"m", "g", "l"}, // θ is a function of time
		Time:    []string{"θ"},
		Given:   []string{"E = 1/2 m l^2 θ'^2 + m g l (1 - cos θ)", "E = const", "θ'' = -ω^2 θ", "P = 2π/ω"},
		Small:   []string{"θ"},
		Target:  "P = 2π√(l/g)",
		Milestones: []derivation.Milestone{
			{Line: "l θ'' + g sin θ = 0", Marks: 2},
			{Line: "P = 2π√(l/g)", Marks: 1},
		},
	})
	if err != nil {
		log.Fatal(err)
	}
	report := c.Judge(`
		m l^2 θ' θ'' + m g l sin θ θ' = 0
		θ'' = -g/l sin θ ≈ -g/l θ
		ω = √(l/g)
		P = 2π√(g/l)`)
	for _, line := range report.Lines {
		fmt.Println(line.Status)
	}
	fmt.Println(report.Marks, "of", report.Of)
	// Output:
	// follows
	// approximates
	// does not follow
	// follows
	// 2 of 3
}
