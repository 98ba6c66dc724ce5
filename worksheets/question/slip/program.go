package slip

import (
	"math"

	"counterpoise/mechanics/expr"
)

// points is the number of places at which key and answer are compared. Two
// different formulas of a question agree at six generic points to eight figures
// only by design.
const points = 6

// agree is the relative difference up to which two values count as the same:
// far above rounding, far below any slip.
const agree = 1e-8

// vec holds a value at each point; NaN where there is none.
type vec [points]float64

// A part is one node of the key, as a tree: shared parts are repeated.
type part struct {
	e    expr.Expr
	kind expr.Kind
	fn   expr.Function
	num  float64 // of a number or constant
	// coefficient is the number that a product begins with, or 1.
	coefficient float64
	symbol      int // index into program.symbols, or -1
	args        []int
	parent      int // -1 for the root
	v           vec
}

// A program is a key laid out for quick changes: parts come before the whole,
// the root is last.
type program struct {
	parts   []part
	symbols []string
	at      []vec // values of the symbols
	scratch []float64
}

// maxParts bounds the keys in which places are changed one by one; the longest
// formula in the worksheets has about 150 parts.
const maxParts = 600

func layOut(key expr.Expr, symbols []string) *program {
	p := &program{symbols: symbols}
	index := map[string]int{}
	for i, s := range symbols {
		index[s] = i
	}
	p.add(key, index)
	p.scratch = make([]float64, len(p.parts))
	return p
}

func (p *program) add(e expr.Expr, index map[string]int) int {
	n := part{e: e, kind: e.Kind(), fn: e.Function(), symbol: -1, parent: -1}
	switch n.kind {
	case expr.KindNumber:
		_, n.num, _ = e.Number()
	case expr.KindConstant:
		n.num = math.Pi
	case expr.KindSymbol:
		n.symbol = index[e.Name()]
	default:
		for _, a := range e.Args() {
			n.args = append(n.args, p.add(a, index))
		}
	}
	if n.coefficient = 1; n.kind == expr.KindProduct && p.parts[n.args[0]].kind == expr.KindNumber {
		n.coefficient = p.parts[n.args[0]].num
	}
	p.parts = append(p.parts, n)
	i := len(p.parts) - 1
	for _, a := range n.args {
		p.parts[a].parent = i
	}
	return i
}

func (p *program) root() int { return len(p.parts) - 1 }

// fill computes the value of every part at every point.
func (p *program) fill() {
	for j := range points {
		for i := range p.parts {
			n := &p.parts[i]
			n.v[j] = p.value(n, j, func(a int) float64 { return p.parts[a].v[j] })
		}
	}
}

// value computes one part from its arguments at point j.
func (p *program) value(n *part, j int, arg func(int) float64) float64 {
	switch n.kind {
	case expr.KindNumber, expr.KindConstant:
		return n.num
	case expr.KindSymbol:
		return p.at[n.symbol][j]
	case expr.KindSum:
		var v float64
		for _, a := range n.args {
			v += arg(a)
		}
		return v
	case expr.KindProduct:
		v := 1.0
		for _, a := range n.args {
			v *= arg(a)
		}
		return v
	case expr.KindPower:
		return power(arg(n.args[0]), arg(n.args[1]))
	}
	switch len(n.args) {
	case 1:
		return apply(n.fn, arg(n.args[0]))
	case 2:
		x, y := arg(n.args[0]), arg(n.args[1])
		switch n.fn {
		case expr.FnAtan2:
			return math.Atan2(x, y)
		case expr.FnMin:
			return math.Min(x, y)
		case expr.FnMax:
			return math.Max(x, y)
		}
	case 4:
		x, y := arg(n.args[0]), arg(n.args[1])
		if x < y || x == y && n.fn == expr.FnIfLessEqual {
			return arg(n.args[2])
		}
		return arg(n.args[3])
	}
	return math.NaN()
}

// with returns the whole's value at point j if part i had the value w there.
func (p *program) with(i, j int, w float64) float64 {
	for {
		up := p.parts[i].parent
		if up < 0 {
			return w
		}
		at, value := i, w
		w = p.value(&p.parts[up], j, func(a int) float64 {
			if a == at {
				return value
			}
			return p.parts[a].v[j]
		})
		i = up
	}
}

// put returns the whole's value at point j with other values of the symbols.
func (p *program) put(j int, symbol func(i int) float64) float64 {
	for i := range p.parts {
		n := &p.parts[i]
		if n.kind == expr.KindSymbol {
			p.scratch[i] = symbol(n.symbol)
			continue
		}
		p.scratch[i] = p.value(n, j, func(a int) float64 { return p.scratch[a] })
	}
	return p.scratch[p.root()]
}

// over returns the whole's value at point j where change gives some parts
// another value, of the values that their arguments then have.
func (p *program) over(j int, change func(n *part, arg func(i int) float64) (float64, bool)) float64 {
	arg := func(i int) float64 { return p.scratch[i] }
	for i := range p.parts {
		n := &p.parts[i]
		if v, changed := change(n, arg); changed {
			p.scratch[i] = v
			continue
		}
		p.scratch[i] = p.value(n, j, arg)
	}
	return p.scratch[p.root()]
}

func power(b, e float64) float64 {
	switch e {
	case 1:
		return b
	case 2:
		return b * b
	case -1:
		return 1 / b
	case 0.5:
		return math.Sqrt(b)
	}
	return math.Pow(b, e)
}

func apply(f expr.Function, x float64) float64 {
	switch f {
	case expr.FnSin:
		return math.Sin(x)
	case expr.FnCos:
		return math.Cos(x)
	case expr.FnTan:
		return math.Tan(x)
	case expr.FnAsin:
		return math.Asin(x)
	case expr.FnAcos:
		return math.Acos(x)
	case expr.FnAtan:
		return math.Atan(x)
	case expr.FnSinh:
		return math.Sinh(x)
	case expr.FnCosh:
		return math.Cosh(x)
	case expr.FnTanh:
		return math.Tanh(x)
	case expr.FnExp:
		return math.Exp(x)
	case expr.FnLog:
		return math.Log(x)
	case expr.FnAbs:
		return math.Abs(x)
	case expr.FnMin, expr.FnMax:
		return x
	case expr.FnSign:
		switch {
		case x > 0:
			return 1
		case x < 0:
			return -1
		}
		return 0
	}
	return math.NaN()
}

// Close reports whether two values count as the same in looking for slips.
func Close(a, b float64) bool { return close(a, b) }

// close reports whether two values agree.
func close(a, b float64) bool {
	return math.Abs(a-b) <= agree*math.Max(math.Abs(a), math.Abs(b)) // false for NaN
}
