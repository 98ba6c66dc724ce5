package tape

// A derivation differentiates the values of a graph along one direction in the
// space of its inputs, exactly, by the chain rule. What it needs it adds to
// the same graph.
type derivation struct {
	g    *graph
	seed map[int]ref // derivative of an input; absent is 0
	memo map[ref]ref
}

func (d *derivation) of(r ref) ref {
	v := d.g.values[r]
	switch v.op {
	case opConst, opLess, opLessEqual, opSign:
		return d.g.constant(0)
	case opInput:
		if s, ok := d.seed[int(v.a)]; ok {
			return s
		}
		return d.g.constant(0)
	}
	if s, ok := d.memo[r]; ok {
		return s
	}
	s := d.rule(r, v)
	d.memo[r] = s
	return s
}

func (d *derivation) rule(r ref, v value) ref {
	g := d.g
	switch v.op {
	case opAdd:
		return g.add(d.of(v.a), d.of(v.b))
	case opSub:
		return g.sub(d.of(v.a), d.of(v.b))
	case opMul:
		if v.a == v.b {
			return g.mul(g.mul(g.constant(2), v.a), d.of(v.a))
		}
		return g.add(g.mul(d.of(v.a), v.b), g.mul(v.a, d.of(v.b)))
	case opDiv: // (a' - (a/b) b')/b
		return g.div(g.sub(d.of(v.a), g.mul(r, d.of(v.b))), v.b)
	case opAtan2: // of y, x: (x y' - y x')/(x² + y²)
		y, x := v.a, v.b
		return g.div(g.sub(g.mul(x, d.of(y)), g.mul(y, d.of(x))), g.add(g.mul(x, x), g.mul(y, y)))
	case opMin:
		return g.choose(g.binary(opLess, v.b, v.a), d.of(v.b), d.of(v.a))
	case opMax:
		return g.choose(g.binary(opLess, v.a, v.b), d.of(v.b), d.of(v.a))
	case opSelect:
		return g.choose(v.a, d.of(v.b), d.of(v.c))
	case opPow:
		return d.pow(r, v)
	}
	da := d.of(v.a)
	if g.is(da, 0) {
		return da
	}
	return g.mul(d.slope(r, v), da)
}

// pow differentiates a^b: b a^(b-1) a' + a^b log a b'.
func (d *derivation) pow(r ref, v value) ref {
	g := d.g
	one := g.constant(1)
	da, db := d.of(v.a), d.of(v.b)
	s := g.constant(0)
	if !g.is(da, 0) {
		s = g.mul(g.mul(v.b, g.binary(opPow, v.a, g.sub(v.b, one))), da)
	}
	if !g.is(db, 0) {
		s = g.add(s, g.mul(g.mul(r, g.unary(opLog, v.a)), db))
	}
	return s
}

// slope returns the derivative of a function of one argument at v.a; r is its
// value. Source: as in package expr.
func (d *derivation) slope(r ref, v value) ref {
	g, one := d.g, d.g.constant(1)
	square := func(x ref) ref { return g.mul(x, x) }
	switch v.op {
	case opNeg:
		return g.constant(-1)
	case opSqrt:
		return g.div(g.constant(0.5), r)
	case opSin:
		return g.unary(opCos, v.a)
	case opCos:
		return g.neg(g.unary(opSin, v.a))
	case opTan, opTanh:
		if v.op == opTan {
			return g.add(one, square(r))
		}
		return g.sub(one, square(r))
	case opAsin:
		return g.div(one, g.unary(opSqrt, g.sub(one, square(v.a))))
	case opAcos:
		return g.div(g.constant(-1), g.unary(opSqrt, g.sub(one, square(v.a))))
	case opAtan:
		return g.div(one, g.add(one, square(v.a)))
	case opSinh:
		return g.unary(opCosh, v.a)
	case opCosh:
		return g.unary(opSinh, v.a)
	case opExp:
		return r
	case opLog:
		return g.div(one, v.a)
	case opAbs:
		return g.unary(opSign, v.a)
	}
	return g.constant(0)
}
