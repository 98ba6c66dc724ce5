// Package chaos answers how irregular a motion is: Poincaré sections, Lyapunov
// exponents with a standard error, how fast two nearly equal starts part, and
// maps of flip times and of branches over grids of starts or parameters.
//
// Exponents are natural, in 1/s. Grids use all cores, and give the same result
// whatever their number. Long computations stop on their context or on
// halt.Request. The package integrates with package motion and knows nothing of
// drawings or notebooks.
package chaos
