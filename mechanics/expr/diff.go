package expr

import "strings"

// memoSize is the size of a node from which results for it are remembered
// during one operation, so that shared parts are worked on once. For smaller
// ones looking up costs more than working again.
const memoSize = 12

// TimeName is the name of time itself: d/dt of the symbol t is 1.
const TimeName = "t"

// Diff returns the partial derivative of e along the named symbol. Where the
// modulus, the sign or a choice has a kink the derivative is that of one side.
func (e Expr) Diff(name string) Expr {
	symbol := symbolNode(Canonical(name))
	d := differ{mask: symbol.mask, seed: func(n *node) *node {
		if n.name == symbol.name {
			return oneNode
		}
		return zeroNode
	}}
	return Expr{d.diff(e.node())}
}

// TimeDiff returns the derivative of e along time. The named symbols are
// functions of time, and so are their time derivatives: d/dt of θ is θ', of θ'
// is θ”. Time itself may occur as t. Without names, every symbol that has a
// prime in e, or whose derivative occurs in e, counts as a function of time.
func (e Expr) TimeDiff(time ...string) Expr {
	moving := map[string]bool{}
	for _, name := range time {
		moving[undotted(Canonical(name))] = true
	}
	if len(time) == 0 {
		for _, name := range e.Symbols() {
			if base := undotted(name); base != name {
				moving[base] = true
			}
		}
	}
	d := differ{mask: ^uint64(0), seed: func(n *node) *node {
		switch {
		case moving[undotted(n.name)]:
			return symbolNode(n.name + "'")
		case n.name == TimeName:
			return oneNode
		}
		return zeroNode
	}}
	return Expr{d.diff(e.node())}
}

// undotted returns a symbol's name without its primes.
func undotted(name string) string { return strings.TrimRight(name, "'") }

// A differ differentiates along one direction, given by the derivatives of the
// symbols.
type differ struct {
	mask uint64 // nodes without these symbols are constant
	seed func(symbol *node) *node
	memo map[*node]*node
}

func (d *differ) diff(n *node) *node {
	if n.mask&d.mask == 0 {
		return zeroNode
	}
	if n.op == opSymbol {
		return d.seed(n)
	}
	if n.size >= memoSize {
		if r, ok := d.memo[n]; ok {
			return r
		}
	}
	r := d.rule(n)
	if n.size >= memoSize {
		if d.memo == nil {
			d.memo = make(map[*node]*node)
		}
		d.memo[n] = r
	}
	return r
}

// rule differentiates one node by the rule for its operation.
func (d *differ) rule(n *node) *node {
	switch n.op {
	case opSum:
		s := summer{constant: numZero, terms: make([]term, 0, len(n.args))}
		for _, a := range n.args {
			if r := d.diff(a); r != zeroNode {
				s.add(numOne, r)
			}
		}
		return s.sum()
	case opScaled:
		return scale(n.num, d.diff(n.args[0]))
	case opProduct:
		return d.product(n)
	case opPower:
		return d.power(n.args[0], n.args[1], n)
	case opCall:
		return d.call(n)
	}
	return zeroNode
}

func (d *differ) product(n *node) *node {
	var s summer
	s.constant = numZero
	var room [8]*node
	for i, a := range n.args {
		r := d.diff(a)
		if r == zeroNode {
			continue
		}
		parts := append(room[:0], r)
		parts = append(append(parts, n.args[:i]...), n.args[i+1:]...)
		s.add(numOne, mul(parts...))
	}
	return s.sum()
}

func (d *differ) power(b, e, n *node) *node {
	db, de := d.diff(b), d.diff(e)
	if de == zeroNode { // (b^e)' = e b^(e-1) b'
		if db == zeroNode {
			return zeroNode
		}
		return mul(e, pow(b, add(e, negNode)), db)
	}
	if db == zeroNode {
		return mul(n, call(FnLog, b), de)
	}
	return mul(n, add(mul(de, call(FnLog, b)), mul(e, db, pow(b, negNode))))
}

func (d *differ) call(n *node) *node {
	x := n.args[0]
	switch n.fn {
	case FnAtan2:
		y, x := n.args[0], n.args[1]
		dy, dx := d.diff(y), d.diff(x)
		num := add(mul(x, dy), neg(mul(y, dx)))
		return mul(num, pow(add(pow(x, twoNode), pow(y, twoNode)), negNode))
	case FnMin, FnMax:
		return d.extremum(n)
	case FnIfLess, FnIfLessEqual:
		return choice(n.fn, []*node{x, n.args[1], d.diff(n.args[2]), d.diff(n.args[3])})
	case FnSign:
		return zeroNode
	}
	dx := d.diff(x)
	if dx == zeroNode {
		return zeroNode
	}
	return mul(slope(n.fn, x, n), dx)
}

// slope returns the derivative of f at x; n is f(x).
// Source: Abramowitz and Stegun, Handbook of Mathematical Functions (1964),
// 4.1.46, 4.2.48, 4.3.105-107, 4.4.52-54, 4.5.71-73 (the numbers from memory,
// unchecked; the tests compare with differences).
func slope(f Function, x, n *node) *node {
	square := func(a *node) *node { return pow(a, twoNode) }
	switch f {
	case FnSin:
		return call(FnCos, x)
	case FnCos:
		return neg(call(FnSin, x))
	case FnTan:
		return pow(call(FnCos, x), numberNode(intNumber(-2)))
	case FnAsin, FnAcos:
		r := pow(add(oneNode, neg(square(x))), numberNode(numHalf.neg()))
		if f == FnAcos {
			r = neg(r)
		}
		return r
	case FnAtan:
		return pow(add(oneNode, square(x)), negNode)
	case FnSinh:
		return call(FnCosh, x)
	case FnCosh:
		return call(FnSinh, x)
	case FnTanh:
		return add(oneNode, neg(square(n)))
	case FnExp:
		return n
	case FnLog:
		return pow(x, negNode)
	case FnAbs:
		return call(FnSign, x)
	}
	return zeroNode
}

// extremum differentiates the argument that is least or greatest.
func (d *differ) extremum(n *node) *node {
	best, slope := n.args[0], d.diff(n.args[0])
	for _, a := range n.args[1:] {
		left, right := a, best
		if n.fn == FnMax {
			left, right = best, a
		}
		slope = choice(FnIfLess, []*node{left, right, d.diff(a), slope})
		best = extremum(n.fn, []*node{best, a})
	}
	return slope
}
