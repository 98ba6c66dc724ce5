package question

import (
	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/expr/equal"
)

// withoutFactors divides zero = 0 by the letters, of those that may go, that
// only stand in a factor of it and are never zero: R sin β = R sin φ/3 says
// nothing about R.
func (a *Asked) withoutFactors(zero expr.Expr, mayGo func(name string) bool) expr.Expr {
	for _, name := range zero.Symbols() {
		s := a.symbols[name]
		if !mayGo(name) || s.from*s.to <= 0 {
			continue
		}
		rest := zero.Subs(map[string]expr.Expr{name: expr.Int(1)})
		if len(rest.Symbols()) == 0 {
			continue // x = 0, x² = 0
		}
		for _, power := range [...]int64{1, 2, -1, 3, -2} {
			if equal.Compare(zero, expr.Mul(expr.Pow(expr.Sym(name), expr.Int(power)), rest), a.compare).Verdict == equal.Same {
				zero = rest
				break
			}
		}
	}
	return zero
}

// unwrapped solves zero = 0 for a letter that occurs only within one function
// or power, to the first power there, as φ in sin φ = 8 sin(β)/3, where that
// has one value for each of the letter's; or else it returns "".
func (a *Asked) unwrapped(zero expr.Expr, letters []string) (name string, solved expr.Expr) {
	const stand = "w_unwrapped" // stands for the function's value
	for _, name := range letters {
		for _, f := range wraps(zero, name, nil) {
			inside := f.Args()[0]
			outside := inPlaceOf(f, expr.Sym(stand), zero)
			if !linear(inside, name) || outside.Has(name) || !linear(outside, stand) {
				continue
			}
			inner, ok := inverse(f, expr.Sym(stand))
			solved := solve(inside.Minus(inner), name)
			there := solved.Subs(map[string]expr.Expr{stand: f})
			if ok && equal.Compare(there, expr.Sym(name), a.compare).Verdict == equal.Same {
				return name, solved.Subs(map[string]expr.Expr{stand: solve(outside, stand)})
			}
		}
	}
	return "", expr.Expr{}
}

// wraps lists the functions and powers in e whose first argument has the letter.
func wraps(e expr.Expr, name string, out []expr.Expr) []expr.Expr {
	if !e.Has(name) {
		return out
	}
	if k := e.Kind(); k == expr.KindCall || k == expr.KindPower {
		out = append(out, e)
	}
	for _, arg := range e.Args() {
		out = wraps(arg, name, out)
	}
	return out
}

// inPlaceOf puts an expression in the place of another one among the terms and
// factors of e.
func inPlaceOf(old, with, e expr.Expr) expr.Expr {
	if e.Equal(old) {
		return with
	}
	args := e.Args()
	for i := range args {
		if e.Kind() == expr.KindSum || e.Kind() == expr.KindProduct {
			args[i] = inPlaceOf(old, with, args[i])
		}
	}
	switch e.Kind() {
	case expr.KindSum:
		return expr.Add(args...)
	case expr.KindProduct:
		return expr.Mul(args...)
	}
	return e
}

// inverse returns x where the function or power f, of x in the place of its
// first argument, has a value; of several the principal one.
func inverse(f, value expr.Expr) (expr.Expr, bool) {
	if f.Kind() == expr.KindPower {
		exponent := f.Args()[1]
		return expr.Pow(value, expr.Div(expr.Int(1), exponent)), exponent.Kind() == expr.KindNumber
	}
	of, ok := map[expr.Function]func(expr.Expr) expr.Expr{
		expr.FnSin: expr.Asin, expr.FnCos: expr.Acos, expr.FnTan: expr.Atan,
		expr.FnAsin: expr.Sin, expr.FnAcos: expr.Cos, expr.FnAtan: expr.Tan,
		expr.FnExp: expr.Log, expr.FnLog: expr.Exp,
	}[f.Function()]
	if !ok {
		return value, false
	}
	return of(value), true
}
