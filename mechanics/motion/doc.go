// Package motion integrates equations of motion in time: y' = f(t, y).
//
// It answers where a system is at any instant of an interval, when something
// happens on the way (an event), and how far the answer may be wrong. Every
// run carries an estimated global error beside its result, since the tolerance
// of a step is not the accuracy of the whole, and the drift of whatever should
// have been conserved.
//
// Time is in s; the components of a state are in whatever SI units the system
// gives them. A [System] may be a plain function ([Of]), a force on masses
// ([Newton]) or a compiled tape of package tape. The package knows nothing of
// drawings, questions or notebooks.
package motion
