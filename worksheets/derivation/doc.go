// Package derivation judges lines of mathematics: are they a derivation?
//
// A student writes statements, one a line; chains of equalities are allowed.
// Certain statements are given. Each line is judged against what stands, that
// is, what is given and the good lines before it: it is given, or it defines a
// new symbol, or it follows (it is true wherever all that stands is true, time
// derivatives included), or it agrees to the order that is allowed in small
// quantities, or it does not follow, which is shown by numbers.
//
// What stands is solved for some of its symbols, step by step and exactly; the
// others stay free. A line is then put in terms of the free symbols and its two
// sides are compared by package equal at points inside the symbols' ranges.
//
// A line that cannot be decided, since no state is found in which all that
// stands holds, goes to a person with the status that it follows, and a note
// of doubt; it is never called bad and earns nothing by itself. Equations that
// cannot be solved step by step are met by numbers, with Newton's method.
//
// Words between formulas are passed over. Integrals are worked out where they
// are read; those over the mass of a body are sums over pieces of it.
//
// After a line that does not follow, the rest is judged both from what stands
// without it and from it, so that one slip costs once.
//
// Quantities are pure numbers here, in SI.
package derivation
