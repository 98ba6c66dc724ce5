package tape

import (
	"fmt"
	"slices"
	"strings"

	"counterpoise/mechanics/expr"
)

// A CompileError says why expressions did not compile.
type CompileError struct {
	Output int    // number of the output from 0, -1 if it is not about one
	Reason string // what is wrong and the way out
}

func (e *CompileError) Error() string {
	if e.Output < 0 {
		return "compile: " + e.Reason
	}
	return fmt.Sprintf("compile output %d: %s", e.Output+1, e.Reason)
}

// A lowering turns expressions into values of a graph.
type lowering struct {
	g      *graph
	inputs map[string]ref
	memo   map[uint64][]lowered
	below  map[uint64]int // by hash, the products in which a power stands below the stroke
}

type lowered struct {
	e expr.Expr
	r ref
}

func newLowering(g *graph, inputs []string, values map[string]float64) (*lowering, error) {
	l := &lowering{g: g, inputs: make(map[string]ref), memo: make(map[uint64][]lowered), below: make(map[uint64]int)}
	for name, v := range values {
		if v-v != 0 {
			return nil, &CompileError{-1, fmt.Sprintf("the value of %s is %v: give a finite number", name, v)}
		}
		l.inputs[expr.Canonical(name)] = g.constant(v)
	}
	for i, name := range inputs {
		name = expr.Canonical(name)
		if r, ok := l.inputs[name]; ok {
			if _, fixed := g.isConst(r); fixed {
				return nil, &CompileError{-1, fmt.Sprintf("%s is both an input and a fixed value: leave one out", name)}
			}
			return nil, &CompileError{-1, fmt.Sprintf("the input %s is named twice: leave one out", name)}
		}
		l.inputs[name] = g.input(i)
	}
	return l, nil
}

func (l *lowering) lower(e expr.Expr) (ref, error) {
	h := e.Hash()
	for _, m := range l.memo[h] {
		if m.e.Equal(e) {
			return m.r, nil
		}
	}
	r, err := l.rule(e)
	if err != nil {
		return none, err
	}
	l.memo[h] = append(l.memo[h], lowered{e, r})
	return r, nil
}

func (l *lowering) rule(e expr.Expr) (ref, error) {
	switch e.Kind() {
	case expr.KindNumber, expr.KindConstant:
		v, err := e.Eval(nil)
		if err != nil {
			return none, &CompileError{-1, err.Error()}
		}
		return l.g.constant(v), nil
	case expr.KindSymbol:
		if r, ok := l.inputs[e.Name()]; ok {
			return r, nil
		}
		return none, &CompileError{-1, fmt.Sprintf("%s is neither an input nor a fixed value: add it to one of them", e.Name())}
	case expr.KindSum:
		return l.sum(e)
	case expr.KindProduct:
		return l.product(e)
	case expr.KindPower:
		return l.power(e)
	}
	return l.call(e)
}

// sum adds positive terms first, then takes the negative ones away.
func (l *lowering) sum(e expr.Expr) (ref, error) {
	total := none
	var minus []ref
	for _, t := range e.Args() {
		c, rest := t.Coefficient()
		_, k, _ := c.Number()
		negative := k < 0
		if negative {
			t = rest
			if k != -1 {
				t = expr.Mul(expr.Neg(c), rest)
			}
		}
		r, err := l.lower(t)
		switch {
		case err != nil:
			return none, err
		case negative:
			minus = append(minus, r)
		case total == none:
			total = r
		default:
			total = l.g.add(total, r)
		}
	}
	for _, r := range minus {
		if total == none {
			total = l.g.neg(r)
		} else {
			total = l.g.sub(total, r)
		}
	}
	return total, nil
}

// survey counts in how many products each negative power stands, so that a
// reciprocal that several need is computed once.
func (l *lowering) survey(e expr.Expr, seen map[uint64]bool) {
	if seen[e.Hash()] {
		return
	}
	seen[e.Hash()] = true
	args := e.Args()
	if e.Kind() == expr.KindProduct {
		if c, rest := e.Coefficient(); !c.IsOne() && rest.Kind() == expr.KindProduct {
			l.survey(rest, seen)
			return
		}
		for _, f := range args {
			if isBelow(f) {
				l.below[f.Hash()]++
			}
		}
	}
	for _, a := range args {
		l.survey(a, seen)
	}
}

func (l *lowering) surveyAll(lists ...[]expr.Expr) {
	seen := make(map[uint64]bool)
	for _, es := range lists {
		for _, e := range es {
			l.survey(e, seen)
		}
	}
}

// isBelow reports whether a factor stands below the stroke.
func isBelow(f expr.Expr) bool {
	if f.Kind() != expr.KindPower {
		return false
	}
	_, n, ok := f.Args()[1].Number()
	return ok && n < 0
}

// product multiplies factors in an order in which equal beginnings are shared:
// parameters, velocities, functions, and numbers last, which then fuse with a
// sum. Negative powers are gathered into one division, but for those that
// other products need too.
func (l *lowering) product(e expr.Expr) (ref, error) {
	if c, rest := e.Coefficient(); !c.IsOne() {
		r, err := l.lower(rest)
		if err != nil {
			return none, err
		}
		_, k, _ := c.Number()
		return l.times(k, r), nil
	}
	factors := e.Args()
	slices.SortStableFunc(factors, func(a, b expr.Expr) int { return place(a) - place(b) })
	constant, above, below := 1.0, none, none
	for _, f := range factors {
		to := &above
		if isBelow(f) && l.below[f.Hash()] < 2 {
			args := f.Args()
			f, to = expr.Pow(args[0], expr.Neg(args[1])), &below
		}
		r, err := l.lower(f)
		if err != nil {
			return none, err
		}
		switch v, ok := l.g.isConst(r); {
		case ok && to == &above:
			constant *= v
		case *to == none:
			*to = r
		default:
			*to = l.g.mul(*to, r)
		}
	}
	if above == none {
		above = l.g.constant(constant)
		constant = 1
	}
	if below != none {
		above = l.g.div(above, below)
	}
	return l.times(constant, above), nil
}

// times returns k·r, with k inside a quotient of a number.
func (l *lowering) times(k float64, r ref) ref {
	if v := l.g.values[r]; v.op == opDiv {
		if c, ok := l.g.isConst(v.a); ok {
			return l.g.div(l.g.constant(k*c), v.b)
		}
	}
	return l.g.mul(l.g.constant(k), r)
}

// place orders the factors of a product.
func place(e expr.Expr) int {
	switch e.Kind() {
	case expr.KindNumber, expr.KindConstant:
		return 0
	case expr.KindSymbol:
		if strings.HasSuffix(e.Name(), "'") {
			return 4
		}
		return 1
	case expr.KindSum:
		return 2
	case expr.KindPower:
		return max(1, place(e.Args()[0]))
	}
	return 5
}

// power writes whole and half powers as products and roots.
func (l *lowering) power(e expr.Expr) (ref, error) {
	args := e.Args()
	base, err := l.lower(args[0])
	if err != nil {
		return none, err
	}
	g := l.g
	if n, ok := args[1].Integer(); ok && -64 <= n && n <= 64 {
		return g.power(base, n), nil
	}
	if n, ok := expr.Mul(expr.Int(2), args[1]).Integer(); ok && -64 <= n && n <= 64 {
		root := g.unary(opSqrt, base)
		if n < 0 { // x^(-3/2) = 1/(x √x)
			return g.div(g.constant(1), g.mul(g.power(base, (-n-1)/2), root)), nil
		}
		return g.mul(g.power(base, (n-1)/2), root), nil
	}
	exponent, err := l.lower(args[1])
	if err != nil {
		return none, err
	}
	return g.binary(opPow, base, exponent), nil
}

var functionOps = map[expr.Function]op{
	expr.FnSin: opSin, expr.FnCos: opCos, expr.FnTan: opTan, expr.FnAsin: opAsin, expr.FnAcos: opAcos,
	expr.FnAtan: opAtan, expr.FnAtan2: opAtan2, expr.FnSinh: opSinh, expr.FnCosh: opCosh, expr.FnTanh: opTanh,
	expr.FnExp: opExp, expr.FnLog: opLog, expr.FnAbs: opAbs, expr.FnSign: opSign, expr.FnMin: opMin, expr.FnMax: opMax,
	expr.FnIfLess: opLess, expr.FnIfLessEqual: opLessEqual,
}

func (l *lowering) call(e expr.Expr) (ref, error) {
	args := e.Args()
	rs := make([]ref, len(args))
	for i, a := range args {
		r, err := l.lower(a)
		if err != nil {
			return none, err
		}
		rs[i] = r
	}
	o, ok := functionOps[e.Function()]
	if !ok {
		return none, &CompileError{-1, fmt.Sprintf("the function %s has no instruction", e.Name())}
	}
	switch o {
	case opAtan2:
		return l.g.binary(o, rs[0], rs[1]), nil
	case opMin, opMax:
		r := rs[0]
		for _, s := range rs[1:] {
			r = l.g.binary(o, r, s)
		}
		return r, nil
	case opLess, opLessEqual:
		return l.g.choose(l.g.binary(o, rs[0], rs[1]), rs[2], rs[3]), nil
	}
	return l.g.unary(o, rs[0]), nil
}
