package expr

import (
	"fmt"
	"math"
	"slices"
)

// An EvalError says why an expression has no value.
type EvalError struct {
	Part   Expr   // the smallest part that has none
	Reason string // what is wrong and the way out
}

func (e *EvalError) Error() string {
	return fmt.Sprintf("%s has no value: %s", clip(e.Part.String()), e.Reason)
}

// clip shortens a text for an error message.
func clip(text string) string {
	const most = 60 // runes: what fits a line beside the rest of the message
	if r := []rune(text); len(r) > most {
		return string(r[:most-1]) + "…"
	}
	return text
}

// Eval returns the value of e with the given values of its symbols. It returns
// an [*EvalError] for a symbol without a value and for a part whose value is
// not a finite number, such as 1/0 or the root of a negative number.
//
// Eval is for a few values; package tape is for many.
func (e Expr) Eval(values map[string]float64) (float64, error) {
	ev := evaluator{values: values}
	const large = 4096 // nodes from which shared parts are worth looking up
	if e.node().size > large {
		ev.done = map[*node]float64{}
	}
	v := ev.eval(e.node())
	if ev.err != nil {
		return 0, ev.err
	}
	return v, nil
}

type evaluator struct {
	values    map[string]float64
	canonical map[string]float64 // the same under canonical names, made when first needed
	done      map[*node]float64  // values of large parts, nil where e is small
	err       error
}

func (ev *evaluator) fail(n *node, reason string) float64 {
	if ev.err == nil {
		ev.err = &EvalError{Expr{n}, reason}
	}
	return math.NaN()
}

func (ev *evaluator) symbol(n *node) float64 {
	if v, ok := ev.values[n.name]; ok {
		return v
	}
	if ev.canonical == nil {
		ev.canonical = make(map[string]float64, len(ev.values))
		for name, v := range ev.values {
			ev.canonical[Canonical(name)] = v
		}
	}
	if v, ok := ev.canonical[n.name]; ok {
		return v
	}
	return ev.fail(n, "no value is given for this symbol: add it to the values")
}

func (ev *evaluator) eval(n *node) float64 {
	if ev.done == nil || n.size < memoSize {
		return ev.value(n)
	}
	v, ok := ev.done[n]
	if !ok {
		v = ev.value(n)
		ev.done[n] = v
	}
	return v
}

// value works a node out.
func (ev *evaluator) value(n *node) float64 {
	var v float64
	switch n.op {
	case opNumber:
		v = n.num.float()
	case opConstant:
		v = math.Pi
	case opSymbol:
		v = ev.symbol(n)
	case opSum:
		for _, a := range n.args {
			v += ev.eval(a)
		}
	case opProduct:
		v = 1
		for _, a := range n.args {
			v *= ev.eval(a)
		}
	case opScaled:
		v = n.num.float() * ev.eval(n.args[0])
	case opPower:
		v = floatPow(ev.eval(n.args[0]), ev.eval(n.args[1]))
	case opCall:
		v = ev.call(n)
	}
	if v-v != 0 && ev.err == nil {
		return ev.fail(n, nonFinite(n))
	}
	return v
}

func nonFinite(n *node) string {
	switch {
	case n.op == opSymbol || n.op == opNumber:
		return "it is not a finite number: give a finite one"
	case n.op == opPower && n.args[1].op == opNumber && n.args[1].num.sign() < 0:
		return "it divides by zero at these values"
	case n.op == opPower:
		return "the power of a negative number at these values, or too large"
	case n.op == opCall && n.fn != FnExp && n.fn != FnSinh && n.fn != FnCosh:
		return "these values are outside the function's range"
	}
	return "it is too large for a float64 at these values"
}

func (ev *evaluator) call(n *node) float64 {
	switch n.fn {
	case FnAtan2:
		return math.Atan2(ev.eval(n.args[0]), ev.eval(n.args[1]))
	case FnMin, FnMax:
		v := ev.eval(n.args[0])
		for _, a := range n.args[1:] {
			if w := ev.eval(a); (w < v) == (n.fn == FnMin) && w != v {
				v = w
			}
		}
		return v
	case FnIfLess, FnIfLessEqual:
		a, b := ev.eval(n.args[0]), ev.eval(n.args[1])
		if a < b || a == b && n.fn == FnIfLessEqual {
			return ev.eval(n.args[2])
		}
		return ev.eval(n.args[3])
	}
	return apply1(n.fn, ev.eval(n.args[0]))
}

// apply1 returns f(x) for a function of one argument.
func apply1(f Function, x float64) float64 {
	switch f {
	case FnSin:
		return math.Sin(x)
	case FnCos:
		return math.Cos(x)
	case FnTan:
		return math.Tan(x)
	case FnAsin:
		return math.Asin(x)
	case FnAcos:
		return math.Acos(x)
	case FnAtan:
		return math.Atan(x)
	case FnSinh:
		return math.Sinh(x)
	case FnCosh:
		return math.Cosh(x)
	case FnTanh:
		return math.Tanh(x)
	case FnExp:
		return math.Exp(x)
	case FnLog:
		return math.Log(x)
	case FnAbs:
		return math.Abs(x)
	case FnSign:
		switch {
		case x > 0:
			return 1
		case x < 0:
			return -1
		}
		return x // 0 or NaN
	}
	return math.NaN()
}

// floatPow returns b^e, with the common exponents exact and fast.
func floatPow(b, e float64) float64 {
	switch e {
	case 2:
		return b * b
	case -1:
		return 1 / b
	case 0.5:
		return math.Sqrt(b)
	case -0.5:
		return 1 / math.Sqrt(b)
	}
	return math.Pow(b, e)
}

// Symbols returns the names of the symbols in e, sorted, each once. The
// constant π is not among them.
func (e Expr) Symbols() []string {
	names := map[string]bool{}
	seen := map[*node]bool{}
	var walk func(n *node)
	walk = func(n *node) {
		if n.mask == 0 {
			return
		}
		if n.op == opSymbol {
			names[n.name] = true
			return
		}
		if n.size > memoSize {
			if seen[n] {
				return
			}
			seen[n] = true
		}
		for _, a := range n.args {
			walk(a)
		}
	}
	walk(e.node())
	out := make([]string, 0, len(names))
	for name := range names {
		out = append(out, name)
	}
	slices.Sort(out)
	return out
}

// Has reports whether the symbol occurs in e.
func (e Expr) Has(name string) bool {
	return has(e.node(), symbolNode(Canonical(name)))
}

func has(n, symbol *node) bool {
	if n.mask&symbol.mask == 0 {
		return false
	}
	if n.size > memoSize {
		return hasOnce(n, symbol, map[*node]bool{})
	}
	if n.op == opSymbol {
		return n.name == symbol.name
	}
	for _, a := range n.args {
		if has(a, symbol) {
			return true
		}
	}
	return false
}

// hasOnce is has for large expressions, shared parts looked into once.
func hasOnce(n, symbol *node, seen map[*node]bool) bool {
	if n.mask&symbol.mask == 0 || seen[n] {
		return false
	}
	if n.op == opSymbol {
		return n.name == symbol.name
	}
	seen[n] = true
	for _, a := range n.args {
		if hasOnce(a, symbol, seen) {
			return true
		}
	}
	return false
}
