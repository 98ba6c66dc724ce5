// Package equal decides whether two expressions have the same value wherever
// their symbols may lie.
//
// Both are evaluated at points inside the symbols' ranges, ends and negative
// values included, first in float64 with a running error bound and, where that
// bound is too wide to tell, in balls (a long number with a bound on its
// error) of more and more bits. Points at which both have no value are passed
// over. Two expressions that differ by more than the bound at one point are
// different, and that is a proof; two that agree at all points, some of them to
// more than thirty digits, are taken to be the same. What cannot be decided is
// said to be so, with the reason.
//
// Symbols are pure numbers here: dimensions are the business of
// [counterpoise/mechanics/expr.Dimension].
//
// Source of the error bounds: N. J. Higham, Accuracy and Stability of Numerical
// Algorithms (2nd ed., 2002), chapters 2 to 4 (running error analysis); from
// memory, unchecked.
package equal
