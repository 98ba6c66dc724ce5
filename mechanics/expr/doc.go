// Package expr is symbolic mathematics for mechanics: it builds, substitutes,
// differentiates, expands, collects, develops in series, tidies for show and
// solves linear systems, exactly in rational numbers.
//
// An [Expr] is an immutable value over the real numbers. It has no units of
// its own; [Dimension] infers them from those of its symbols. Angles are in
// rad. The package reads no text (expr/parse does), typesets nothing beyond a
// plain String (expr/typeset does), does not decide whether two formulas are
// equal (expr/equal does) and does not run fast (expr/tape does).
//
// # Value
//
// Constructors normalise lightly: they flatten sums and products, fold numbers
// exactly, gather equal terms and equal bases, and sort. No constructor and no
// method but Series changes the value of an expression at a point where it has
// one. It may gain values: x/x becomes 1, which also holds at x = 0, and
// √x·√x becomes x.
//
// # Names
//
// A symbol's name is canonical text, see [Canonical]: Greek letters in
// Unicode (θ), subscripts after an underscore (m_1), time derivatives as
// primes at the end (θ', θ”). Wherever a function takes a symbol's name it
// takes any spelling that Canonical understands.
package expr
