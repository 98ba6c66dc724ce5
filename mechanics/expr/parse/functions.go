package parse

import (
	"fmt"

	"counterpoise/mechanics/expr"
)

// A function is what may be called by name in typed text.
type function struct {
	least, most int // arguments
	build       func(a []expr.Expr) expr.Expr
	inverse     string // the function that an exponent -1 after the name usually means
	angle       bool   // takes an angle
	root        bool   // a root sign: its argument may stand without brackets
	ratio       bool   // an inverse of a ratio of sides: arctan b/h takes the quotient
}

func one(f func(expr.Expr) expr.Expr) func([]expr.Expr) expr.Expr {
	return func(a []expr.Expr) expr.Expr { return f(a[0]) }
}

func overOne(f func(expr.Expr) expr.Expr) func([]expr.Expr) expr.Expr {
	return func(a []expr.Expr) expr.Expr { return expr.Div(expr.Int(1), f(a[0])) }
}

// functions by the one name under which the reader keeps them.
var functions = map[string]function{
	"sin": {1, 1, one(expr.Sin), "asin", true, false, false},
	"cos": {1, 1, one(expr.Cos), "acos", true, false, false},
	"tan": {1, 1, one(expr.Tan), "atan", true, false, false},
	"sec": {1, 1, overOne(expr.Cos), "", true, false, false},
	"csc": {1, 1, overOne(expr.Sin), "", true, false, false},
	"cot": {1, 1, func(a []expr.Expr) expr.Expr { return expr.Div(expr.Cos(a[0]), expr.Sin(a[0])) }, "", true, false, false},

	"asin":  {1, 1, one(expr.Asin), "", false, false, true},
	"acos":  {1, 1, one(expr.Acos), "", false, false, true},
	"atan":  {1, 1, one(expr.Atan), "", false, false, true},
	"acot":  {1, 1, func(a []expr.Expr) expr.Expr { return expr.Sub(expr.Div(expr.Pi, expr.Int(2)), expr.Atan(a[0])) }, "", false, false, false},
	"atan2": {2, 2, func(a []expr.Expr) expr.Expr { return expr.Atan2(a[0], a[1]) }, "", false, false, false},

	"sinh": {1, 1, one(expr.Sinh), "asinh", false, false, false},
	"cosh": {1, 1, one(expr.Cosh), "acosh", false, false, false},
	"tanh": {1, 1, one(expr.Tanh), "atanh", false, false, false},
	"coth": {1, 1, overOne(expr.Tanh), "", false, false, false},
	"sech": {1, 1, overOne(expr.Cosh), "", false, false, false},
	"csch": {1, 1, overOne(expr.Sinh), "", false, false, false},
	// The inverse hyperbolic functions have no node of their own: Abramowitz
	// and Stegun, Handbook of Mathematical Functions (1964), 4.6.20-4.6.22.
	"asinh": {1, 1, func(a []expr.Expr) expr.Expr {
		return expr.Log(expr.Add(a[0], expr.Sqrt(expr.Add(expr.Pow(a[0], expr.Int(2)), expr.Int(1)))))
	}, "", false, false, false},
	"acosh": {1, 1, func(a []expr.Expr) expr.Expr {
		return expr.Log(expr.Add(a[0], expr.Mul(expr.Sqrt(expr.Sub(a[0], expr.Int(1))), expr.Sqrt(expr.Add(a[0], expr.Int(1))))))
	}, "", false, false, false},
	"atanh": {1, 1, func(a []expr.Expr) expr.Expr {
		return expr.Mul(expr.Rat(1, 2), expr.Log(expr.Div(expr.Add(expr.Int(1), a[0]), expr.Sub(expr.Int(1), a[0]))))
	}, "", false, false, false},

	"exp":  {1, 1, one(expr.Exp), "", false, false, false},
	"ln":   {1, 1, one(expr.Log), "", false, false, false},
	"log":  {1, 1, one(expr.Log), "", false, false, false},
	"lg":   {1, 1, decimalLog, "", false, false, false},
	"sqrt": {1, 1, one(expr.Sqrt), "", false, true, false},
	"cbrt": {1, 1, func(a []expr.Expr) expr.Expr { return expr.Pow(a[0], expr.Rat(1, 3)) }, "", false, true, false},
	"∜":    {1, 1, func(a []expr.Expr) expr.Expr { return expr.Pow(a[0], expr.Rat(1, 4)) }, "", false, true, false},
	"abs":  {1, 1, one(expr.Abs), "", false, false, false},
	"sgn":  {1, 1, one(expr.Sign), "", false, false, false},
	"min":  {1, 20, func(a []expr.Expr) expr.Expr { return expr.Min(a[0], a[1:]...) }, "", false, false, false},
	"max":  {1, 20, func(a []expr.Expr) expr.Expr { return expr.Max(a[0], a[1:]...) }, "", false, false, false},
	// pow(a, b) is how people who program type a power.
	"pow": {2, 2, func(a []expr.Expr) expr.Expr { return expr.Pow(a[0], a[1]) }, "", false, false, false},
	"hypot": {2, 2, func(a []expr.Expr) expr.Expr {
		return expr.Sqrt(expr.Add(expr.Pow(a[0], expr.Int(2)), expr.Pow(a[1], expr.Int(2))))
	}, "", false, false, false},
	// ifless(a, b, x, y) is x where a < b and y elsewhere; ifleq has a <= b.
	"ifless": {4, 4, choose(expr.FnIfLess), "", false, false, false},
	"ifleq":  {4, 4, choose(expr.FnIfLessEqual), "", false, false, false},
}

func decimalLog(a []expr.Expr) expr.Expr { return expr.Div(expr.Log(a[0]), expr.Log(expr.Int(10))) }

func choose(f expr.Function) func([]expr.Expr) expr.Expr {
	return func(a []expr.Expr) expr.Expr {
		e, err := expr.Call(f, a...)
		if err != nil {
			panic(fmt.Sprintf("parse: %v", err)) // the number of arguments was checked
		}
		return e
	}
}

// aliases are further ways to write a function.
var aliases = map[string]string{
	"arcsin": "asin", "arccos": "acos", "arctan": "atan", "arctg": "atan", "arccot": "acot", "arctan2": "atan2",
	"cosec": "csc", "tg": "tan", "ctg": "cot", "cotan": "cot",
	"arsinh": "asinh", "arcsinh": "asinh", "arcosh": "acosh", "arccosh": "acosh", "artanh": "atanh", "arctanh": "atanh",
	"Abs": "abs", "sign": "sgn", "signum": "sgn", "root": "sqrt", "Sqrt": "sqrt",
	"SIN": "sin", "COS": "cos", "TAN": "tan", "EXP": "exp", "SQRT": "sqrt", "LOG": "log", "ABS": "abs",
	"Sin": "sin", "Cos": "cos", "Tan": "tan", "Exp": "exp", "Ln": "ln", "Log": "log", "iflesseq": "ifleq",
}

// functionNamed returns the one name of a function.
func functionNamed(name string) (string, bool) {
	if _, ok := functions[name]; ok {
		return name, true
	}
	name, ok := aliases[name]
	return name, ok
}
