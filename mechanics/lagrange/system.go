package lagrange

import (
	"fmt"
	"slices"

	"counterpoise/mechanics/expr"
)

// A System is a mechanical system in generalised coordinates q. Its energies
// are expressions in q, the velocities q', the time t and parameters.
type System struct {
	// Coordinates are the names of q, such as θ; the velocity of θ is θ'.
	Coordinates []string
	Kinetic     expr.Expr // T, quadratic in the velocities at most, J
	Potential   expr.Expr // V, J
	// Damping is Rayleigh's dissipation function D, in W: the forces of
	// friction are -∂D/∂q'. Half of c·q'² stands for a force c·q'.
	Damping expr.Expr
	// Forces are further generalised forces by coordinate, N or N m: driving,
	// for example.
	Forces map[string]expr.Expr
	// Constraints are functions of q and t that are kept at zero by forces of
	// constraint (Lagrange's multipliers).
	Constraints []expr.Expr
	// Stabilise, in 1/s, draws a drifting solution back to the constraints: f”
	// + 2 Stabilise f' + Stabilise² f = 0 instead of f” = 0. Zero: not at all.
	// Source: Baumgarte, Computer Methods in Applied Mechanics and
	// Engineering 1 (1972), 1-16.
	Stabilise float64
	// Values are the parameters' usual values, SI, for compiling; see
	// [Equations.Compile].
	Values map[string]float64

	mistake error // of whoever made the system; what asks for the equations returns it
}

// An Error says what is wrong with a system and the way out.
type Error struct {
	Field  string // of System: "Kinetic", "Coordinates", …
	Reason string
}

func (e *Error) Error() string { return "lagrange: " + e.Field + ": " + e.Reason }

func wrong(field, format string, args ...any) error {
	return &Error{field, fmt.Sprintf(format, args...)}
}

// velocity returns the name of a coordinate's velocity.
func velocity(q string) string { return q + "'" }

// canonical returns s with canonical names, after checking them.
func (s System) canonical() (System, error) {
	if s.mistake != nil {
		return s, s.mistake
	}
	if len(s.Coordinates) == 0 {
		return s, wrong("Coordinates", "there is none: name at least one")
	}
	names := make([]string, len(s.Coordinates))
	for i, q := range s.Coordinates {
		names[i] = expr.Canonical(q)
		switch {
		case names[i] == "" || names[i] == expr.TimeName || names[i][len(names[i])-1] == '\'':
			return s, wrong("Coordinates", "%q cannot be a coordinate: choose a name without primes other than %s", q, expr.TimeName)
		case slices.Contains(names[:i], names[i]):
			return s, wrong("Coordinates", "%s is named twice: leave one out", names[i])
		}
	}
	s.Coordinates = names
	forces := make(map[string]expr.Expr, len(s.Forces))
	for q, f := range s.Forces {
		c := expr.Canonical(q)
		if !slices.Contains(names, c) {
			return s, wrong("Forces", "%s is not a coordinate: the coordinates are %v", q, names)
		}
		forces[c] = f
	}
	s.Forces = forces
	return s, s.checkVelocities()
}

// checkVelocities refuses symbols with primes that belong to no coordinate,
// and accelerations.
func (s System) checkVelocities() error {
	check := func(field string, e expr.Expr, most int) error {
		for _, name := range e.Symbols() {
			base, primes := name, 0
			for len(base) > 0 && base[len(base)-1] == '\'' {
				base, primes = base[:len(base)-1], primes+1
			}
			switch {
			case primes == 0:
			case !slices.Contains(s.Coordinates, base):
				return wrong(field, "%s is the derivative of %s, which is not a coordinate: add it to the coordinates %v", name, base, s.Coordinates)
			case primes > most:
				return wrong(field, "%s is not allowed here: it may depend on derivatives of order %d at most", name, most)
			}
		}
		return nil
	}
	for _, f := range []struct {
		field string
		e     expr.Expr
	}{{"Kinetic", s.Kinetic}, {"Potential", s.Potential}, {"Damping", s.Damping}} {
		if err := check(f.field, f.e, 1); err != nil {
			return err
		}
	}
	for _, f := range s.Forces {
		if err := check("Forces", f, 1); err != nil {
			return err
		}
	}
	for _, f := range s.Constraints {
		if err := check("Constraints", f, 0); err != nil {
			return err
		}
	}
	return nil
}

// Kinetic returns the kinetic energy m v²/2 of a point of mass m whose
// Cartesian position is given in terms of the coordinates and t.
func Kinetic(m expr.Expr, position []expr.Expr, coordinates ...string) expr.Expr {
	v2 := expr.Int(0)
	for _, x := range position {
		v2 = v2.Plus(expr.Pow(x.TimeDiff(coordinates...), expr.Int(2)))
	}
	return expr.Mul(expr.Rat(1, 2), m, v2)
}

// In returns s in new coordinates: old gives each old coordinate that is to go
// in terms of the new ones (and t); velocities follow. Coordinates not in old
// stay. Constraints that the new coordinates meet by themselves drop out: so a
// holonomic constraint is worked in by a choice of coordinates.
func (s System) In(coordinates []string, old map[string]expr.Expr) (System, error) {
	s, err := s.canonical()
	if err != nil {
		return s, err
	}
	to := make(map[string]expr.Expr, 2*len(old))
	for q, f := range old {
		q = expr.Canonical(q)
		if !slices.Contains(s.Coordinates, q) {
			return s, wrong("Coordinates", "%s is not a coordinate to be replaced: they are %v", q, s.Coordinates)
		}
		to[q], to[velocity(q)] = f, f.TimeDiff(coordinates...)
	}
	out := s
	out.Coordinates, out.Forces, out.Constraints = coordinates, nil, nil
	out.Kinetic, out.Potential, out.Damping = s.Kinetic.Subs(to), s.Potential.Subs(to), s.Damping.Subs(to)
	for _, f := range s.Constraints {
		if g := f.Subs(to).Simplify(); !g.IsZero() {
			out.Constraints = append(out.Constraints, g)
		}
	}
	if len(s.Forces) > 0 { // Q_new = Σ Q_old ∂q_old/∂q_new
		out.Forces = make(map[string]expr.Expr)
		for _, n := range coordinates {
			sum := expr.Int(0)
			for q, f := range s.Forces {
				x, ok := to[q]
				if !ok {
					x = expr.Sym(q)
				}
				sum = sum.Plus(f.Subs(to).Times(x.Diff(n)))
			}
			out.Forces[n] = sum
		}
	}
	return out.canonical()
}
