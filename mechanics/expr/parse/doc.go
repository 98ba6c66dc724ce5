// Package parse reads a line of mathematics as people type and paste it, plain,
// Unicode or TeX, into expression trees.
//
// It is the one door for typed text. It never guesses in silence: where the
// notation is ambiguous (1/2m, sin a b, mgd, sin 30), [Readings] returns every
// customary reading with the usual one first, and what cannot be read is
// refused with its place, what was expected there and a way out. Decimal
// numbers are exact: 0.1 is the rational number 1/10.
//
// The package knows symbols, not units: text with units in it is refused.
package parse
