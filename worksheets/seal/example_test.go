package seal_test

import (
	"bytes"
	"fmt"
	"log"

	"counterpoise/worksheets/question"
	"counterpoise/worksheets/seal"
)

// A formula is sealed into a student's file, where it can be checked and not
// read.
func Example() {
	asked, err := question.Compile(question.Question{
		Name: "stiffness", Kind: "expression", Key: "m g (R - h)", Unit: "N m",
		Symbols: map[string]question.Symbol{"m": {Unit: "kg"}, "R": {Unit: "m", From: 0.05, To: 0.1}, "h": {Unit: "m", From: 0.01, To: 0.04}},
	}, nil)
	if err != nil {
		log.Fatal(err)
	}
	box, err := seal.Seal(asked, seal.Options{})
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println("the key stands in clear:", bytes.Contains(box, []byte("R - h")))
	sealed, err := seal.Open(box)
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(sealed.Check("mgR - mgh").Say)
	fmt.Println(sealed.Check("m g (h - R)").Say)
	// Output:
	// the key stands in clear: false
	// Right.
	// Check the sign: which direction counts as positive, and which way round does the difference go?
}
