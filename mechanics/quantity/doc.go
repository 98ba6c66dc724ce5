// Package quantity reads, converts and prints numbers with units and
// uncertainty as people write them: "840 ms", "8.4×10⁻¹ s", "0.84(2) s".
//
// Every number it hands out is in SI base units; only [Unit] and the text
// forms know grams, millimetres and degrees. It also holds the rules for
// rounding and significant figures, and the two ways to carry an uncertainty
// through a formula: the first-order law and Monte Carlo.
//
// It knows nothing of formulas (see expr), bodies or questions.
package quantity
