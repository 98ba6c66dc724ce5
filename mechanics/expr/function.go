package expr

import (
	"fmt"
	"math"
	"slices"
)

// A Function names what a call computes.
type Function uint8

// The functions that a call may have.
const (
	FnNone Function = iota
	FnSin
	FnCos
	FnTan
	FnAsin
	FnAcos
	FnAtan
	FnAtan2 // of y and x: the angle of the point (x, y), in (-π, π]
	FnSinh
	FnCosh
	FnTanh
	FnExp
	FnLog // natural
	FnAbs
	FnSign // -1, 0 or 1
	FnMin
	FnMax
	FnIfLess      // of a, b, x, y: x where a < b, otherwise y
	FnIfLessEqual // of a, b, x, y: x where a <= b, otherwise y
)

var functions = [...]struct {
	name      string
	arguments int // -1: one or more
}{
	FnNone: {"", 0}, FnSin: {"sin", 1}, FnCos: {"cos", 1}, FnTan: {"tan", 1},
	FnAsin: {"asin", 1}, FnAcos: {"acos", 1}, FnAtan: {"atan", 1}, FnAtan2: {"atan2", 2},
	FnSinh: {"sinh", 1}, FnCosh: {"cosh", 1}, FnTanh: {"tanh", 1}, FnExp: {"exp", 1}, FnLog: {"log", 1},
	FnAbs: {"abs", 1}, FnSign: {"sign", 1}, FnMin: {"min", -1}, FnMax: {"max", -1},
	FnIfLess: {"ifless", 4}, FnIfLessEqual: {"iflesseq", 4},
}

// String returns the function's name in lower case: sin, atan2, ….
func (f Function) String() string {
	if int(f) < len(functions) {
		return functions[f].name
	}
	return "unknown function"
}

// FunctionNamed returns the function whose String is name.
func FunctionNamed(name string) (f Function, ok bool) {
	for i := range functions {
		if i > 0 && functions[i].name == name {
			return Function(i), true
		}
	}
	return FnNone, false
}

// Call returns f of the arguments. It returns an error that names f if their
// number is wrong.
func Call(f Function, args ...Expr) (Expr, error) {
	if f == FnNone || int(f) >= len(functions) {
		return Expr{}, fmt.Errorf("expr: no function has the number %d", f)
	}
	want := functions[f].arguments
	if want >= 0 && len(args) != want || len(args) == 0 {
		return Expr{}, fmt.Errorf("%s takes %s, not %d: give it the missing ones or take the others out", f, plural(want, "argument"), len(args))
	}
	ns := make([]*node, len(args))
	for i, a := range args {
		ns[i] = a.node()
	}
	return Expr{call(f, ns...)}, nil
}

func plural(n int, what string) string {
	switch n {
	case -1:
		return "one or more " + what + "s"
	case 1:
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// call returns f of the arguments, folded where the value is an exact number.
func call(f Function, args ...*node) *node {
	switch f {
	case FnMin, FnMax:
		return extremum(f, args)
	case FnIfLess, FnIfLessEqual:
		return choice(f, args)
	case FnAtan2:
		if r := foldAtan2(args[0], args[1]); r != nil {
			return r
		}
	default:
		if r := fold(f, args[0]); r != nil {
			return r
		}
	}
	return (&node{op: opCall, fn: f, args: slices.Clone(args)}).seal()
}

// fold returns f(x) if it is known exactly, nil otherwise.
func fold(f Function, x *node) *node {
	if f == FnSin || f == FnCos || f == FnTan {
		if r := foldAngle(f, x); r != nil {
			return r
		}
	}
	if x.op != opNumber {
		return nil
	}
	v := x.num
	switch f {
	case FnSin, FnTan, FnAsin, FnAtan, FnSinh, FnTanh:
		if v.isZero() {
			return zeroNode
		}
	case FnCos, FnCosh, FnExp:
		if v.isZero() {
			return oneNode
		}
	case FnLog, FnAcos:
		if v.isOne() {
			return zeroNode
		}
	case FnAbs:
		return numberNode(v.abs())
	case FnSign:
		if !v.isNaN() {
			return numberNode(intNumber(int64(v.sign())))
		}
	}
	if v.isFloat() {
		if r := apply1(f, v.float()); r-r == 0 {
			return numberNode(floatNumber(r))
		}
	}
	return nil
}

// foldAngle returns the sine, cosine or tangent of a multiple of π/6 or π/4.
func foldAngle(f Function, x *node) *node {
	c, core := x.split()
	if core != piNode || c.q == 0 || c.q > 6 || c.q == 5 {
		return nil
	}
	twelfth := c.p % (2 * c.q) * (12 / c.q) // of π, between -24 and 24
	if twelfth < 0 {
		twelfth += 24
	}
	switch f {
	case FnCos:
		return sineOfTwelfth((twelfth + 6) % 24)
	case FnTan:
		s, c := sineOfTwelfth(twelfth), sineOfTwelfth((twelfth+6)%24)
		if c == zeroNode {
			return nil
		}
		return mul(s, pow(c, negNode))
	}
	return sineOfTwelfth(twelfth)
}

// sineOfTwelfth returns sin(k π/12) for an even k or a multiple of 3.
func sineOfTwelfth(k int64) *node {
	if k >= 12 {
		return neg(sineOfTwelfth(k - 12))
	}
	if k > 6 {
		k = 12 - k
	}
	switch k {
	case 0:
		return zeroNode
	case 2:
		return halfNode
	case 3:
		return pow(twoNode, numberNode(numHalf.neg()))
	case 4:
		return scale(numHalf, pow(numberNode(intNumber(3)), halfNode))
	}
	return oneNode
}

// foldAtan2 returns atan2(y, x) where the point lies on an axis by its look.
func foldAtan2(y, x *node) *node {
	if y.op != opNumber || x.op != opNumber {
		return nil
	}
	switch sy, sx := y.num.sign(), x.num.sign(); {
	case y.num.isNaN() || x.num.isNaN():
		return nil
	case sy == 0 && sx > 0:
		return zeroNode
	case sy == 0 && sx < 0:
		return piNode
	case sx == 0 && sy != 0:
		return scale(number{p: int64(sy), q: 2}, piNode)
	case y.num.isFloat() || x.num.isFloat():
		return numberNode(floatNumber(math.Atan2(y.num.float(), x.num.float())))
	}
	return nil
}

// extremum returns the least or greatest of the arguments: flattened, sorted,
// each once, numbers folded.
func extremum(f Function, args []*node) *node {
	var parts []*node
	var best *node
	var gather func(args []*node)
	gather = func(args []*node) {
		for _, a := range args {
			switch {
			case a.op == opCall && a.fn == f:
				gather(a.args)
			case a.op == opNumber && !a.num.isNaN():
				if best == nil || (a.num.cmp(best.num) < 0) == (f == FnMin) {
					best = a
				}
			default:
				parts = append(parts, a)
			}
		}
	}
	gather(args)
	if best != nil {
		parts = append(parts, best)
	}
	slices.SortStableFunc(parts, order)
	parts = slices.CompactFunc(parts, same)
	if len(parts) == 1 {
		return parts[0]
	}
	return (&node{op: opCall, fn: f, args: parts}).seal()
}

// choice returns the call of FnIfLess or FnIfLessEqual, decided where both
// sides are numbers.
func choice(f Function, a []*node) *node {
	if a[0].op == opNumber && a[1].op == opNumber && !a[0].num.isNaN() && !a[1].num.isNaN() {
		c := a[0].num.cmp(a[1].num)
		if c < 0 || c == 0 && f == FnIfLessEqual {
			return a[2]
		}
		return a[3]
	}
	if same(a[2], a[3]) {
		return a[2]
	}
	return (&node{op: opCall, fn: f, args: slices.Clone(a)}).seal()
}

// Sin returns the sine of a in rad.
func Sin(a Expr) Expr { return Expr{call(FnSin, a.node())} }

// Cos returns the cosine of a in rad.
func Cos(a Expr) Expr { return Expr{call(FnCos, a.node())} }

// Tan returns the tangent of a in rad.
func Tan(a Expr) Expr { return Expr{call(FnTan, a.node())} }

// Asin returns the angle in [-π/2, π/2] whose sine is a.
func Asin(a Expr) Expr { return Expr{call(FnAsin, a.node())} }

// Acos returns the angle in [0, π] whose cosine is a.
func Acos(a Expr) Expr { return Expr{call(FnAcos, a.node())} }

// Atan returns the angle in (-π/2, π/2) whose tangent is a.
func Atan(a Expr) Expr { return Expr{call(FnAtan, a.node())} }

// Atan2 returns the angle in (-π, π] of the point (x, y), y first.
func Atan2(y, x Expr) Expr { return Expr{call(FnAtan2, y.node(), x.node())} }

// Sinh returns the hyperbolic sine.
func Sinh(a Expr) Expr { return Expr{call(FnSinh, a.node())} }

// Cosh returns the hyperbolic cosine.
func Cosh(a Expr) Expr { return Expr{call(FnCosh, a.node())} }

// Tanh returns the hyperbolic tangent.
func Tanh(a Expr) Expr { return Expr{call(FnTanh, a.node())} }

// Exp returns e to the power a.
func Exp(a Expr) Expr { return Expr{call(FnExp, a.node())} }

// Log returns the natural logarithm of a.
func Log(a Expr) Expr { return Expr{call(FnLog, a.node())} }

// Abs returns the modulus of a.
func Abs(a Expr) Expr { return Expr{call(FnAbs, a.node())} }

// Sign returns -1, 0 or 1 where a is negative, zero or positive.
func Sign(a Expr) Expr { return Expr{call(FnSign, a.node())} }

// Min returns the least of the arguments.
func Min(a Expr, more ...Expr) Expr { return Expr{extremum(FnMin, nodes(a, more))} }

// Max returns the greatest of the arguments.
func Max(a Expr, more ...Expr) Expr { return Expr{extremum(FnMax, nodes(a, more))} }

func nodes(a Expr, more []Expr) []*node {
	ns := []*node{a.node()}
	for _, m := range more {
		ns = append(ns, m.node())
	}
	return ns
}

// A Case is one piece of a function defined piece by piece: it is Then where
// Left < Right, or where Left <= Right if OrEqual.
type Case struct {
	Left, Right Expr
	OrEqual     bool
	Then        Expr
}

// Piecewise returns the expression of the first case that holds, and otherwise
// if none does. It is built of nested calls of [FnIfLess] and [FnIfLessEqual].
func Piecewise(cases []Case, otherwise Expr) Expr {
	out := otherwise.node()
	for _, c := range slices.Backward(cases) {
		f := FnIfLess
		if c.OrEqual {
			f = FnIfLessEqual
		}
		out = choice(f, []*node{c.Left.node(), c.Right.node(), c.Then.node(), out})
	}
	return Expr{out}
}
