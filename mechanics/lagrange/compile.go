package lagrange

import (
	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/expr/tape"
)

// values returns the system's usual values with those given on top, all under
// canonical names.
func (s System) values(given map[string]float64) map[string]float64 {
	out := make(map[string]float64, len(s.Values)+len(given))
	for _, m := range []map[string]float64{s.Values, given} {
		for name, v := range m {
			out[expr.Canonical(name)] = v
		}
	}
	return out
}

// Compile returns the program of the motion. Its inputs are the coordinates,
// the velocities and the time t, its outputs the velocities, the accelerations
// and the multipliers of the constraints. Parameters take the system's Values
// and, before those, the given ones; one without a value is an error.
//
// Where the mass matrix is singular at a state, as at the pole of spherical
// coordinates, the accelerations there are not finite.
func (e *Equations) Compile(values map[string]float64) (*tape.Program, error) {
	return tape.CompileSystem(tape.System{
		Mass: e.Mass, Force: e.Force, Constraint: e.Rows, Target: e.Target, Coordinate: e.Coordinates,
	}, []string{expr.TimeName}, tape.Options{Values: e.values(values)})
}

// CompileEnergy returns the program of the energy integral, in J, with the
// same inputs as Compile.
func (e *Equations) CompileEnergy(values map[string]float64) (*tape.Program, error) {
	return e.CompileOutputs([]expr.Expr{e.Energy()}, values)
}

// CompileOutputs returns the program of any expressions in coordinates,
// velocities, time and parameters, with the same inputs as Compile.
func (e *Equations) CompileOutputs(outputs []expr.Expr, values map[string]float64) (*tape.Program, error) {
	return tape.Compile(outputs, e.Inputs(), tape.Options{Values: e.values(values)})
}

// Inputs returns the names of the inputs of compiled programs: coordinates,
// velocities, t.
func (e *Equations) Inputs() []string {
	var in []string
	in = append(in, e.Coordinates...)
	for _, q := range e.Coordinates {
		in = append(in, velocity(q))
	}
	return append(in, expr.TimeName)
}
