package question

import (
	"fmt"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/expr/typeset"
	"counterpoise/mechanics/quantity"
)

// dimensionOf infers the dimension of an expression from those of its symbols.
// The error names the part whose units do not fit together.
func dimensionOf(e expr.Expr, of map[string]quantity.Dimension) (d quantity.Dimension, err error) {
	switch e.Kind() {
	case expr.KindSymbol:
		return of[e.Name()], nil
	case expr.KindSum:
		return dimensionOfSum(e, of)
	case expr.KindProduct:
		for _, a := range e.Args() {
			one, err := dimensionOf(a, of)
			if err != nil {
				return d, err
			}
			d = d.Mul(one)
		}
		return d, nil
	case expr.KindPower:
		return dimensionOfPower(e, of)
	case expr.KindCall:
		return dimensionOfCall(e, of)
	}
	return d, nil
}

func dimensionOfSum(e expr.Expr, of map[string]quantity.Dimension) (d quantity.Dimension, err error) {
	for i, a := range e.Args() {
		one, err := dimensionOf(a, of)
		if err != nil {
			return d, err
		}
		if a.IsZero() {
			continue
		}
		if i > 0 && one != d {
			return d, fmt.Errorf("in %s, %s cannot be added to %s", typeset.Text(e), one, d)
		}
		d = one
	}
	return d, nil
}

func dimensionOfPower(e expr.Expr, of map[string]quantity.Dimension) (d quantity.Dimension, err error) {
	a := e.Args()
	base, err := dimensionOf(a[0], of)
	if err != nil {
		return d, err
	}
	exponent, err := dimensionOf(a[1], of)
	if err != nil {
		return d, err
	}
	if !exponent.IsOne() {
		return d, fmt.Errorf("the exponent %s must be a pure number, it has the unit %s", typeset.Text(a[1]), exponent)
	}
	if base.IsOne() {
		return base, nil
	}
	exact, _, ok := a[1].Number()
	if !ok || exact == nil || !exact.Num().IsInt64() || !exact.Denom().IsInt64() {
		return d, fmt.Errorf("%s has the unit %s and cannot be raised to the power %s", typeset.Text(a[0]), base, typeset.Text(a[1]))
	}
	return base.Pow(int(exact.Num().Int64()), int(exact.Denom().Int64())), nil
}

func dimensionOfCall(e expr.Expr, of map[string]quantity.Dimension) (d quantity.Dimension, err error) {
	args := e.Args()
	for i, a := range args {
		one, err := dimensionOf(a, of)
		if err != nil {
			return d, err
		}
		switch e.Function() {
		case expr.FnAbs:
			return one, nil
		case expr.FnSign:
			return d, nil
		case expr.FnMin, expr.FnMax, expr.FnAtan2, expr.FnIfLess, expr.FnIfLessEqual:
			if (i == 1 || i == 3 || i > 0 && (e.Function() == expr.FnMin || e.Function() == expr.FnMax)) && one != d {
				return d, fmt.Errorf("in %s, %s stands beside %s", typeset.Text(e), one, d)
			}
			d = one
		default:
			if !one.IsOne() {
				return d, fmt.Errorf("%s is taken of %s, which has the unit %s and not that of an angle or pure number", e.Name(), typeset.Text(a), one)
			}
		}
	}
	if e.Function() == expr.FnAtan2 {
		d = quantity.One
	}
	return d, nil
}
