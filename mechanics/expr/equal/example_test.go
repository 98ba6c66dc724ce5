package equal_test

import (
	"fmt"

	"counterpoise/mechanics/expr/equal"
	"counterpoise/mechanics/expr/parse"
)

// The speed at the bottom of a swing in two forms. They are the same where the
// angle is positive, and not where it may be negative.
func ExampleCompare() {
	key, err := parse.Parse("√(2 g l (1 - cos θ))", parse.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	answer, err := parse.Parse("2 √(g l) sin(θ/2)", parse.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, θ := range []equal.Range{{From: 0, To: 3}, {From: -3, To: 3}} {
		r := equal.Compare(key, answer, equal.Options{Ranges: map[string]equal.Range{"θ": θ}})
		fmt.Printf("%v: %q\n", r.Verdict, r.Reason)
	}
	// Output:
	// same: ""
	// different: "the values differ"
}
