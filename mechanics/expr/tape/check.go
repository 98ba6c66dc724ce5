package tape

import "fmt"

// A pivot is an element of D in the factors L D Lᵀ of a mass matrix, with the
// diagonal element from which it is left over.
type pivot struct {
	left, whole ref
	coordinate  string // "" for a constraint
}

// A SingularError says that a mass matrix, or a set of constraints, cannot be
// solved at a state.
type SingularError struct {
	Coordinate string  // whose inertia vanishes there, "" if it is a constraint
	Left       float64 // the pivot
	Whole      float64 // the diagonal element it is left over from
}

func (e *SingularError) Error() string {
	if e.Coordinate == "" {
		return fmt.Sprintf("the constraints depend on each other at this state (pivot %.3g of %.3g): leave one out, or choose other coordinates", e.Left, e.Whole)
	}
	return fmt.Sprintf("the mass matrix is singular at this state: %s has no inertia of its own left (pivot %.3g of %.3g); choose coordinates that are regular here, or check the masses", e.Coordinate, e.Left, e.Whole)
}

// Check returns a [*SingularError] if the mass matrix of a program made by
// [CompileSystem] is singular to rounding, or not positive, at the given
// inputs, so that its accelerations mean nothing there; otherwise, and for
// other programs, nil. It compiles anew and is not for hot loops.
func (p *Program) Check(in []float64) error {
	const rounding = 1e-13 // a few thousand times that of float64
	var out []ref
	for _, v := range p.pivots {
		out = append(out, v.left, v.whole)
	}
	values := make([]float64, len(out))
	assemble(p.g, p.inputs, out, nil, p.opts).Eval(values, in, nil)
	for i, v := range p.pivots {
		left, whole := values[2*i], values[2*i+1]
		if !(left > rounding*whole) || left-left != 0 {
			return &SingularError{v.coordinate, left, whole}
		}
	}
	return nil
}
