// Package problems holds standard systems of mechanics with known answers, for
// tests, benchmarks and worksheets alike: the same pendulum everywhere.
//
// Each [Problem] is an initial value problem with its source, given by a
// Lagrangian or by its rates, and with what is known of it: the end state to
// many digits, a closed form, a conserved energy, a Lyapunov exponent. Units
// are SI base units where the problem has any, angles in rad.
package problems
