package question_test

import (
	"fmt"
	"log"

	"counterpoise/mechanics/quantity"
	"counterpoise/worksheets/question"
)

// The heron's centre of gravity as a formula: any form is right, and a slip is
// told without the key.
func Example() {
	asked, err := question.Compile(question.Question{
		Name: "cg-height", Kind: "expression", Unit: "m", Marks: 2,
		Symbols: map[string]question.Symbol{
			"m": {Unit: "kg"}, "h": {Unit: "m"}, "M": {Unit: "kg", Means: "mass of the two arms"},
		},
		Key: "(2 m h + M h/2)/(2 m + M)",
	}, nil)
	if err != nil {
		log.Fatal(err)
	}
	for _, answer := range []string{`\frac{h (4m + M)}{2 (2m + M)}`, "h", "(2mh + Mh/2", "2mh + Mh/2"} {
		v := asked.Check(answer)
		fmt.Printf("%s, %g of %g: %s\n", v.Outcome, v.Marks, v.Of, v.Say)
	}
	// Output:
	// right, 2 of 2: Right.
	// wrong, 0 of 2: It looks as if M (mass of the two arms) had been left out: bring in its share.
	// unreadable, 0 of 2: Reading stopped at character 1: the bracket ( is not closed. To mend it: close it with ).
	// wrong, 0 of 2: This has the unit kg m (mass moment); length (m) was asked. This is still to be divided: by what? Check the units of your result.
}

// A number is computed from the student's own values.
func ExampleCompile_number() {
	asked, err := question.Compile(question.Question{Name: "period", Kind: "number", Key: "2 pi sqrt(l/g)", Unit: "s", Figures: question.Figures{Least: 2, Most: 3}},
		question.Values{"l": quantity.MustParse("310 mm")})
	if err != nil {
		log.Fatal(err)
	}
	for _, answer := range []string{"1.12 s", "1.117 s", "1120 ms", "1.12", "0.895 s"} {
		v := asked.Check(answer)
		fmt.Println(answer, "is", v.Outcome, "-", v.Say)
	}
	// Output:
	// 1.12 s is right - Right.
	// 1.117 s is right - Right, but with too many figures: 2 to 3 are asked.
	// 1120 ms is right - Right.
	// 1.12 is unreadable - Give the unit too: time (s) was asked.
	// 0.895 s is wrong - That is how many swings there are in a second; the question asks how long one of them takes.
}
