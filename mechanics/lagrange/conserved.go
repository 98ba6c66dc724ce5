package lagrange

import "counterpoise/mechanics/expr"

// A Conserved quantity keeps its value along the motion.
type Conserved struct {
	Name     string // "energy", "energy integral" or "momentum of q"
	Quantity expr.Expr
	Why      string
}

// Energy returns Σ q' ∂L/∂q' - L, Jacobi's energy integral. It is T + V where
// T is quadratic in the velocities and V free of them, in J.
func (e *Equations) Energy() expr.Expr {
	t := e.Kinetic.Minus(e.Potential)
	terms := []expr.Expr{expr.Neg(t)}
	for i, q := range e.Coordinates {
		terms = append(terms, expr.Mul(e.Momenta[i], expr.Sym(velocity(q))))
	}
	h := shorter(expr.Add(terms...))
	if sum := e.Kinetic.Plus(e.Potential); h.Minus(sum).JoinAngles().IsZero() {
		return sum
	}
	return h
}

// Conserved returns what the motion conserves: the energy, if nothing damps or
// drives the system and neither the Lagrangian nor a constraint holds the
// time, and the momentum of each cyclic coordinate, on which nothing depends.
func (e *Equations) Conserved() []Conserved {
	var out []Conserved
	l := e.Kinetic.Minus(e.Potential)
	still := !l.Has(expr.TimeName)
	for _, f := range e.Constraints {
		still = still && !f.Has(expr.TimeName)
	}
	if still && e.Damping.JoinAngles().IsZero() && e.unforced() {
		h := e.Energy()
		c := Conserved{Name: "energy", Quantity: h, Why: "neither the Lagrangian nor a constraint depends on time, and nothing damps or drives the system"}
		if !h.Equal(e.Kinetic.Plus(e.Potential)) {
			c.Name = "energy integral"
			c.Why += "; the kinetic energy is not purely quadratic in the velocities, so this is not T + V"
		}
		out = append(out, c)
	}
	for i, q := range e.Coordinates {
		if e.cyclic(l, q) {
			out = append(out, Conserved{Name: "momentum of " + q, Quantity: shorter(e.Momenta[i]),
				Why: q + " does not occur in the Lagrangian, and no friction, drive or constraint acts on it"})
		}
	}
	return out
}

func (e *Equations) unforced() bool {
	for _, f := range e.Forces {
		if !f.JoinAngles().IsZero() {
			return false
		}
	}
	return true
}

func (e *Equations) cyclic(l expr.Expr, q string) bool {
	if !l.Diff(q).JoinAngles().IsZero() || !e.Damping.Diff(velocity(q)).JoinAngles().IsZero() {
		return false
	}
	if f, ok := e.Forces[q]; ok && !f.JoinAngles().IsZero() {
		return false
	}
	for _, f := range e.Constraints {
		if f.Has(q) {
			return false
		}
	}
	return true
}
