package lagrange

import (
	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/expr/parse"
)

// Read returns the system whose kinetic and potential energy are typed as
// mathematics, plain or TeX, such as "m l² θ'²/2" and "-m g l cos θ". The
// velocity of a coordinate θ is written θ' or \dot θ. Every letter that is
// neither a coordinate nor a velocity is a parameter. Read returns a
// [*parse.SyntaxError] for what it cannot read.
func Read(coordinates []string, kinetic, potential string) (System, error) {
	s := System{Coordinates: coordinates}
	var err error
	if s.Kinetic, err = s.read(kinetic); err != nil {
		return s, err
	}
	s.Potential, err = s.read(potential)
	return s, err
}

func (s System) read(text string) (expr.Expr, error) {
	return parse.Parse(text, parse.Options{Time: s.Coordinates})
}
