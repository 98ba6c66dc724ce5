package lagrange

import (
	"fmt"
	"math"

	"counterpoise/mechanics/expr"

	"gonum.org/v1/gonum/mat"
)

// A Linear is the motion near rest, M x” + C x' + K x = 0 for small
// displacements x of the coordinates.
type Linear struct {
	Coordinates []string
	At          map[string]expr.Expr // the place of rest
	Mass        [][]expr.Expr        // M, symmetric
	Damping     [][]expr.Expr        // C: friction in the symmetric part, gyroscopic terms in the other
	Stiffness   [][]expr.Expr        // K, symmetric where the forces have a potential
	values      map[string]float64
}

// Linearise returns the linear equations of motion near the place of rest at;
// coordinates that it leaves out rest at 0. Under constraints the displacements
// are those of as many coordinates as are free, the others following from the
// constraints. Linearise returns an error if the system does not rest there, if
// the place breaks a constraint, or if the system is driven.
func (e *Equations) Linearise(at map[string]expr.Expr) (*Linear, error) {
	rest := e.still()
	place := make(map[string]expr.Expr, len(e.Coordinates))
	for _, q := range e.Coordinates {
		rest[q], place[q] = expr.Int(0), expr.Int(0)
	}
	for q, x := range at {
		c := expr.Canonical(q)
		if _, ok := place[c]; !ok {
			return nil, wrong("Coordinates", "%s is not a coordinate to linearise about: they are %v", q, e.Coordinates)
		}
		rest[c], place[c] = x, x
	}
	total, free, err := e.released(rest)
	if err != nil {
		return nil, err
	}
	if err := e.checkRest(total, rest); err != nil {
		return nil, err
	}
	l := &Linear{At: place, values: e.Values}
	for i, q := range e.Coordinates {
		if free[i] != nil {
			l.Coordinates = append(l.Coordinates, q)
		}
	}
	entry := func(of func(i, j int) expr.Expr) [][]expr.Expr {
		full := make([][]expr.Expr, len(e.Coordinates))
		for i := range full {
			for j := range full {
				full[i] = append(full[i], of(i, j).Subs(rest))
			}
		}
		return e.onto(full, free)
	}
	l.Mass = entry(func(i, j int) expr.Expr { return e.Mass[i][j] })
	l.Damping = entry(func(i, j int) expr.Expr { return expr.Neg(total[i].Diff(velocity(e.Coordinates[j]))) })
	l.Stiffness = entry(func(i, j int) expr.Expr { return expr.Neg(total[i].Diff(e.Coordinates[j])) })
	return l, nil
}

// checkRest returns an error if a total force does not vanish at rest.
func (e *Equations) checkRest(total []expr.Expr, rest map[string]expr.Expr) error {
	for i, q := range e.Coordinates {
		f := total[i].Subs(rest)
		if f.Has(expr.TimeName) {
			return wrong("Forces", "the force on %s depends on time: a driven system does not rest; leave the drive out to linearise", q)
		}
		if f, zero := e.vanishes(f); !zero {
			return wrong("Coordinates", "the system does not rest there: the force on %s is %s; give a place of rest, as Equilibria finds them", q, f)
		}
	}
	return nil
}

// vanishes reports whether f is zero, by its form or with the system's values,
// and returns it simplified.
func (e *Equations) vanishes(f expr.Expr) (expr.Expr, bool) {
	const rounding = 1e-9
	if f = f.Simplify(); f.IsZero() {
		return f, true
	}
	v, err := f.Eval(e.values(nil))
	return f, err == nil && math.Abs(v) <= rounding*(1+size(f, e.values(nil)))
}

// size returns the sum of the sizes of the terms of e.
func size(e expr.Expr, values map[string]float64) float64 {
	if e.Kind() != expr.KindSum {
		return 0
	}
	s := 0.0
	for _, t := range e.Args() {
		if v, err := t.Eval(values); err == nil {
			s += math.Abs(v)
		}
	}
	return s
}

// MassMatrix returns M in numbers, with the given parameters before the
// system's own Values.
func (l *Linear) MassMatrix(values map[string]float64) (*mat.SymDense, error) {
	return l.symmetric("mass matrix", l.Mass, values)
}

// StiffnessMatrix returns K in numbers. It returns an error if K is not
// symmetric, as with forces that have no potential.
func (l *Linear) StiffnessMatrix(values map[string]float64) (*mat.SymDense, error) {
	return l.symmetric("stiffness matrix", l.Stiffness, values)
}

// DampingMatrix returns C in numbers.
func (l *Linear) DampingMatrix(values map[string]float64) (*mat.Dense, error) {
	return l.numbers("damping matrix", l.Damping, values)
}

func (l *Linear) numbers(name string, m [][]expr.Expr, given map[string]float64) (*mat.Dense, error) {
	n := len(m)
	all := System{Values: l.values}.values(given)
	out := mat.NewDense(n, n, nil)
	for i := range n {
		for j := range n {
			v, err := m[i][j].Eval(all)
			if err != nil {
				return nil, fmt.Errorf("%s, row %d, column %d: %w", name, i+1, j+1, err)
			}
			out.Set(i, j, v)
		}
	}
	return out, nil
}

func (l *Linear) symmetric(name string, m [][]expr.Expr, given map[string]float64) (*mat.SymDense, error) {
	d, err := l.numbers(name, m, given)
	if err != nil {
		return nil, err
	}
	n := len(m)
	s := mat.NewSymDense(n, nil)
	const rounding = 1e-12
	scale := mat.Norm(d, 2)
	for i := range n {
		for j := range i + 1 {
			if math.Abs(d.At(i, j)-d.At(j, i)) > rounding*scale {
				return nil, fmt.Errorf("%s is not symmetric: rows %d and %d differ; some force has no potential", name, i+1, j+1)
			}
			s.SetSym(i, j, (d.At(i, j)+d.At(j, i))/2)
		}
	}
	return s, nil
}
