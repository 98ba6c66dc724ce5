// Package elastic answers how stiff a rod, wire or coil spring is, how fast it
// swings with a weight on it, alone or coupled to others, and whether it would
// bend for good.
//
// Lengths are in m, masses in kg, moduli and stresses in Pa, frequencies in Hz,
// angular frequencies in rad/s. Deflections are small beside the length. It takes
// materials from body and knows nothing of drawings, questions or notebooks.
//
// Springy ends flick and cut wire flies: whoever builds what is computed here
// wears eye protection and follows the rules of the workshop.
package elastic

import (
	"fmt"
	"math"
)

// positive returns an error for the first value that is not a positive number.
func positive(pairs ...any) error {
	for i := 0; i < len(pairs); i += 2 {
		if v := pairs[i+1].(float64); !(v > 0) || math.IsInf(v, 0) {
			return fmt.Errorf("%s is %v: give a positive number", pairs[i], v)
		}
	}
	return nil
}
