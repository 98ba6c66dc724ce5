package tape

import "math"

// An op is an operation of the graph.
type op uint8

const (
	opConst op = iota
	opInput
	opAdd
	opSub
	opMul
	opDiv
	opNeg
	opSqrt
	opSin
	opCos
	opTan
	opAsin
	opAcos
	opAtan
	opAtan2
	opSinh
	opCosh
	opTanh
	opExp
	opLog
	opAbs
	opSign
	opMin
	opMax
	opPow
	opLess      // 1 where a < b, else 0
	opLessEqual // 1 where a <= b, else 0
	opSelect    // b where a is not 0, else c
)

// A ref names a value of a graph.
type ref int32

const none ref = -1

// A value is one node of a graph: a constant, an input, or op of a, b, c.
type value struct {
	op      op
	a, b, c ref
	v       float64 // opConst
}

// A graph is a set of values, each computed from earlier ones and each held
// once. Its arithmetic folds constants and drops what changes nothing.
type graph struct {
	values []value
	index  map[value]ref
}

func newGraph() *graph { return &graph{index: make(map[value]ref)} }

func (g *graph) intern(v value) ref {
	if r, ok := g.index[v]; ok {
		return r
	}
	r := ref(len(g.values))
	g.values = append(g.values, v)
	if v.v == v.v { // NaN is never found again
		g.index[v] = r
	}
	return r
}

func (g *graph) constant(v float64) ref {
	if v == 0 {
		v = 0 // one zero, not two
	}
	return g.intern(value{op: opConst, a: none, b: none, c: none, v: v})
}

func (g *graph) input(i int) ref {
	return g.intern(value{op: opInput, a: ref(i), b: none, c: none})
}

// isConst returns the value of a constant.
func (g *graph) isConst(r ref) (float64, bool) {
	v := &g.values[r]
	return v.v, v.op == opConst
}

func (g *graph) is(r ref, v float64) bool {
	c, ok := g.isConst(r)
	return ok && c == v
}

func (g *graph) add(a, b ref) ref {
	x, cx := g.isConst(a)
	y, cy := g.isConst(b)
	switch {
	case cx && cy:
		return g.constant(x + y)
	case cx && x == 0:
		return b
	case cy && y == 0:
		return a
	case g.values[b].op == opNeg:
		return g.sub(a, g.values[b].a)
	case g.values[a].op == opNeg:
		return g.sub(b, g.values[a].a)
	}
	if a > b {
		a, b = b, a
	}
	return g.intern(value{op: opAdd, a: a, b: b, c: none})
}

func (g *graph) sub(a, b ref) ref {
	x, cx := g.isConst(a)
	y, cy := g.isConst(b)
	switch {
	case cx && cy:
		return g.constant(x - y)
	case cx && x == 0:
		return g.neg(b)
	case cy && y == 0:
		return a
	case a == b:
		return g.constant(0)
	case g.values[b].op == opNeg:
		return g.add(a, g.values[b].a)
	}
	return g.intern(value{op: opSub, a: a, b: b, c: none})
}

func (g *graph) neg(a ref) ref {
	v := g.values[a]
	switch {
	case v.op == opConst:
		return g.constant(-v.v)
	case v.op == opNeg:
		return v.a
	case v.op == opSub:
		return g.sub(v.b, v.a)
	case v.op == opMul && g.values[v.a].op == opConst:
		return g.mul(g.constant(-g.values[v.a].v), v.b)
	case v.op == opAdd && g.scaled(v.a): // -(k m + b) = (-k) m - b
		return g.sub(g.neg(v.a), v.b)
	case v.op == opAdd && g.scaled(v.b):
		return g.sub(g.neg(v.b), v.a)
	}
	return g.intern(value{op: opNeg, a: a, b: none, c: none})
}

// scaled reports whether r is a number times something.
func (g *graph) scaled(r ref) bool {
	v := &g.values[r]
	return v.op == opMul && g.values[v.a].op == opConst
}

func (g *graph) mul(a, b ref) ref {
	if _, ok := g.isConst(b); ok {
		a, b = b, a
	}
	x, cx := g.isConst(a)
	y, cy := g.isConst(b)
	switch {
	case cx && cy:
		return g.constant(x * y)
	case cx && x == 0:
		return a
	case cx && x == 1:
		return b
	case cx && x == -1:
		return g.neg(b)
	case g.values[a].op == opNeg && g.values[b].op == opNeg:
		return g.mul(g.values[a].a, g.values[b].a)
	case g.values[a].op == opNeg:
		return g.neg(g.mul(g.values[a].a, b))
	case g.values[b].op == opNeg:
		return g.neg(g.mul(a, g.values[b].a))
	case cx && g.values[b].op == opMul && g.values[g.values[b].a].op == opConst:
		return g.mul(g.constant(x*g.values[g.values[b].a].v), g.values[b].b)
	}
	if !cx && a > b {
		a, b = b, a
	}
	return g.intern(value{op: opMul, a: a, b: b, c: none})
}

func (g *graph) div(a, b ref) ref {
	x, cx := g.isConst(a)
	y, cy := g.isConst(b)
	switch {
	case cx && cy:
		return g.constant(x / y)
	case cx && x == 0 && !cy:
		return a
	case cy && y == 1:
		return a
	case cy && y != 0 && exactInverse(y):
		return g.mul(g.constant(1/y), a)
	case g.values[b].op == opNeg:
		return g.neg(g.div(a, g.values[b].a))
	case g.values[a].op == opNeg:
		return g.neg(g.div(g.values[a].a, b))
	}
	return g.intern(value{op: opDiv, a: a, b: b, c: none})
}

// exactInverse reports whether 1/y is exact: y is a power of two.
func exactInverse(y float64) bool {
	f, _ := math.Frexp(y)
	return f == 0.5 || f == -0.5
}

// unary returns op of one argument.
func (g *graph) unary(o op, a ref) ref {
	if x, ok := g.isConst(a); ok {
		return g.constant(apply(o, x, 0))
	}
	switch o {
	case opNeg:
		return g.neg(a)
	case opCos, opCosh, opAbs:
		if g.values[a].op == opNeg {
			a = g.values[a].a
		}
	case opSin, opTan, opAsin, opAtan, opSinh, opTanh, opSign:
		if g.values[a].op == opNeg {
			return g.neg(g.unary(o, g.values[a].a))
		}
	}
	if (o == opSin || o == opCos) && g.values[a].op == opSub && g.values[a].a > g.values[a].b {
		// one order of the difference, so that sin(a-b) and cos(b-a) share it
		swapped := g.sub(g.values[a].b, g.values[a].a)
		r := g.intern(value{op: o, a: swapped, b: none, c: none})
		if o == opSin {
			return g.neg(r)
		}
		return r
	}
	return g.intern(value{op: o, a: a, b: none, c: none})
}

// binary returns op of two arguments.
func (g *graph) binary(o op, a, b ref) ref {
	switch o {
	case opAdd:
		return g.add(a, b)
	case opSub:
		return g.sub(a, b)
	case opMul:
		return g.mul(a, b)
	case opDiv:
		return g.div(a, b)
	}
	x, cx := g.isConst(a)
	y, cy := g.isConst(b)
	if cx && cy {
		return g.constant(apply(o, x, y))
	}
	return g.intern(value{op: o, a: a, b: b, c: none})
}

// choose returns x where cond is not 0, else y.
func (g *graph) choose(cond, x, y ref) ref {
	if c, ok := g.isConst(cond); ok {
		if c != 0 {
			return x
		}
		return y
	}
	if x == y {
		return x
	}
	return g.intern(value{op: opSelect, a: cond, b: x, c: y})
}

// power returns a to the integer n by repeated squaring.
func (g *graph) power(a ref, n int64) ref {
	switch {
	case n == 0:
		return g.constant(1)
	case n < 0:
		return g.div(g.constant(1), g.power(a, -n))
	case n == 1:
		return a
	case n%2 == 0:
		h := g.power(a, n/2)
		return g.mul(h, h)
	}
	return g.mul(g.power(a, n-1), a)
}

// apply returns the value of an operation on numbers.
func apply(o op, x, y float64) float64 {
	switch o {
	case opAdd:
		return x + y
	case opSub:
		return x - y
	case opMul:
		return x * y
	case opDiv:
		return x / y
	case opNeg:
		return -x
	case opSqrt:
		return math.Sqrt(x)
	case opSin:
		s, _ := sincos(x)
		return s
	case opCos:
		_, c := sincos(x)
		return c
	case opTan:
		return math.Tan(x)
	case opAsin:
		return math.Asin(x)
	case opAcos:
		return math.Acos(x)
	case opAtan:
		return math.Atan(x)
	case opAtan2:
		return math.Atan2(x, y)
	case opSinh:
		return math.Sinh(x)
	case opCosh:
		return math.Cosh(x)
	case opTanh:
		return math.Tanh(x)
	case opExp:
		return math.Exp(x)
	case opLog:
		return math.Log(x)
	case opAbs:
		return math.Abs(x)
	case opSign:
		switch {
		case x > 0:
			return 1
		case x < 0:
			return -1
		}
		return x
	case opMin:
		return math.Min(x, y)
	case opMax:
		return math.Max(x, y)
	case opPow:
		return math.Pow(x, y)
	case opLess:
		if x < y {
			return 1
		}
		return 0
	case opLessEqual:
		if x <= y {
			return 1
		}
		return 0
	}
	return math.NaN()
}
