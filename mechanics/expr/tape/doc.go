// Package tape compiles expressions to a flat program that computes their
// values fast: for one point or for a batch of points at once, with exact
// Jacobians and the Taylor coefficients of the motion that the expressions
// drive.
//
// [Compile] turns expressions into a [Program]. Equal parts are computed once.
// A Program never changes and may be used from several goroutines at once,
// each with a [Scratch] of its own. Values are in whatever units the
// expressions were written for, which in this project are SI base units;
// angles are in rad.
//
// # Accuracy
//
// A program rounds as ordinary float64 arithmetic does. Products and sums may
// be fused, so the last bits may differ between processors. Sine and cosine
// are within 1 ulp for |x| < 10⁵ and those of the math package beyond. Where
// it saves work, the sine of a ± b is computed from the sines and cosines of a
// and b: its error is then some 10⁻¹⁶ absolutely, not relative to its size,
// unless [Options].ExactAngles is set.
package tape
