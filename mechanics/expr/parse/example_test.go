package parse_test

import (
	"errors"
	"fmt"

	"counterpoise/mechanics/expr/parse"
	"counterpoise/mechanics/expr/typeset"
)

// The period of a lantern that swings on its arm, as three students type it.
func ExampleParse() {
	known := parse.Options{Symbols: []string{"I_c", "m", "d", "g"}}
	for _, text := range []string{
		"2π√((I_c + m d²)/(m g d))",
		`T = 2\pi\sqrt{\frac{I_c + m d^2}{mgd}}`,
		"2*pi*sqrt((Ic + m*d^2)/(m*g*d))",
	} {
		e, err := parse.Parse(text, known)
		fmt.Println(e, err)
	}
	// Output:
	// 2*π*((I_c + d^2*m)/(d*g*m))^(1/2) <nil>
	// 2*π*((I_c + d^2*m)/(d*g*m))^(1/2) <nil>
	// 2*π*((I_c + d^2*m)/(d*g*m))^(1/2) <nil>
}

// A line may be read in more than one way; the usual one comes first.
func ExampleReadings() {
	readings, err := parse.Readings("f = 1/2π √(k/m)", parse.Options{Symbols: []string{"k", "m"}})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, s := range readings {
		fmt.Println(typeset.TextOf(s.Sides, s.Relations))
	}
	fmt.Println(readings[0].Choices)
	// Output:
	// f = √(k/m)/(2 π)
	// √(k/m)/(2 π)
	// f = π √(k/m)/2
	// π √(k/m)/2
	// f = 1/(2 π √(k/m))
	// 1/(2 π √(k/m))
	// [column 6: what stands under the division line]
}

// What cannot be read says where, and what to do.
func ExampleSyntaxError() {
	_, err := parse.Parse("m g H sin(θ", parse.Options{Symbols: []string{"m", "g", "h"}, Time: []string{"θ"}})
	var syntax *parse.SyntaxError
	if errors.As(err, &syntax) {
		fmt.Println(syntax)
		fmt.Println(syntax.Caret())
	}
	// Output:
	// column 5: H is not a symbol here: expected a symbol of this question: did you mean h?
	// m g H sin(θ
	//     ^
}
