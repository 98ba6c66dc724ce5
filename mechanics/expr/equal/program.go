package equal

import (
	"math"
	"math/big"

	"counterpoise/mechanics/expr"
)

// An op is one step of a program.
type op uint8

const (
	opNumber op = iota
	opPi
	opSymbol
	opSum
	opProduct
	opWhole // to a whole power
	opRoot  // square root
	opPower // to any other power
	opCall
)

// A step computes one value from earlier ones.
type step struct {
	op    op
	fn    expr.Function
	whole int      // opWhole: the exponent; opSymbol: the index of the symbol
	args  []int    // steps
	exact *big.Rat // opNumber
	value float64  // opNumber, nearest
	slack float64  // opNumber: bound on |value - exact|
}

// A program computes expressions with their shared parts once.
type program struct {
	steps   []step
	symbols []string
	outputs []int
	bends   []int // steps whose sign decides a branch: |x|, sgn, min, max, cases
	rooted  bool  // there are roots, logarithms or inverse functions of symbols
}

// A compiler builds a program.
type compiler struct {
	p     *program
	index map[string]int
	seen  map[uint64][]compiled
}

type compiled struct {
	e    expr.Expr
	step int
}

func compile(outputs ...expr.Expr) *program {
	c := compiler{p: &program{}, index: map[string]int{}, seen: map[uint64][]compiled{}}
	for _, e := range outputs {
		c.p.outputs = append(c.p.outputs, c.add(e))
	}
	return c.p
}

func (c *compiler) add(e expr.Expr) int {
	h := e.Hash()
	for _, k := range c.seen[h] {
		if k.e.Equal(e) {
			return k.step
		}
	}
	i := c.build(e)
	c.seen[h] = append(c.seen[h], compiled{e, i})
	return i
}

func (c *compiler) emit(s step) int {
	c.p.steps = append(c.p.steps, s)
	return len(c.p.steps) - 1
}

func (c *compiler) build(e expr.Expr) int {
	switch e.Kind() {
	case expr.KindNumber:
		return c.number(e)
	case expr.KindConstant:
		return c.emit(step{op: opPi})
	case expr.KindSymbol:
		name := e.Name()
		i, ok := c.index[name]
		if !ok {
			i = len(c.p.symbols)
			c.index[name] = i
			c.p.symbols = append(c.p.symbols, name)
		}
		return c.emit(step{op: opSymbol, whole: i})
	case expr.KindPower:
		return c.power(e)
	}
	parts := e.Args()
	args := make([]int, len(parts))
	for i, a := range parts {
		args[i] = c.add(a)
	}
	switch e.Kind() {
	case expr.KindSum:
		return c.emit(step{op: opSum, args: args})
	case expr.KindProduct:
		return c.emit(step{op: opProduct, args: args})
	}
	i := c.emit(step{op: opCall, fn: e.Function(), args: args})
	switch e.Function() {
	case expr.FnAbs, expr.FnSign, expr.FnMin, expr.FnMax, expr.FnIfLess, expr.FnIfLessEqual, expr.FnAtan2:
		c.p.bends = append(c.p.bends, i)
	case expr.FnLog, expr.FnAsin, expr.FnAcos, expr.FnAtan:
		c.p.rooted = true
	}
	return i
}

func (c *compiler) number(e expr.Expr) int {
	exact, f, _ := e.Number()
	s := step{op: opNumber, exact: exact, value: f}
	if exact == nil {
		s.exact = new(big.Rat)
		if s.exact.SetFloat64(f) == nil { // NaN or infinite: no value anywhere
			s.exact = nil
			s.value = math.NaN()
			return c.emit(s)
		}
	}
	if back := new(big.Rat).SetFloat64(s.value); back == nil || back.Cmp(s.exact) != 0 {
		s.slack = math.Abs(s.value)*unit + tiny
	}
	return c.emit(s)
}

func (c *compiler) power(e expr.Expr) int {
	parts := e.Args()
	b := c.add(parts[0])
	if r, _, ok := parts[1].Number(); ok && r != nil {
		const most = 1 << 20 // a whole power beyond this is computed by logarithms
		if r.IsInt() && r.Num().IsInt64() && r.Num().Int64() > -most && r.Num().Int64() < most {
			return c.emit(step{op: opWhole, whole: int(r.Num().Int64()), args: []int{b}})
		}
		if r.Denom().IsInt64() && r.Denom().Int64() == 2 && r.Num().IsInt64() && r.Num().Int64() > -most && r.Num().Int64() < most {
			c.p.rooted = true
			root := c.emit(step{op: opRoot, args: []int{b}})
			if n := int(r.Num().Int64()); n != 1 {
				return c.emit(step{op: opWhole, whole: n, args: []int{root}})
			}
			return root
		}
	}
	c.p.rooted = true
	return c.emit(step{op: opPower, args: []int{b, c.add(parts[1])}})
}
