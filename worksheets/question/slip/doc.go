// Package slip recognises what went wrong in an answer: it looks for the one
// small change of the key that gives the answer exactly.
//
// The key is a formula. Its values at a few points are compared with the
// answer's values there; then each place of the key is changed in each of the
// ways in which people slip (a term left out, a sign turned, a root forgotten,
// a radius for a diameter, …) and compared again. A slip is named only if the
// changed key agrees with the answer at every point. Where several changes
// agree, the one that says most is taken.
//
// What is said points at the slip. It names letters of the question, never a
// formula and never a value, so it cannot hand over the key.
//
// Values are in SI. The package knows formulas and units, not questions.
package slip
