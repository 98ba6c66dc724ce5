package expr

// maxExpandPower is the largest power of a sum that Expand multiplies out.
// (a + b)^64 has 65 terms; with more summands maxExpandTerms stops it sooner.
const maxExpandPower = 64

// maxExpandTerms bounds the terms of a product that Expand multiplies out, so
// that (a+b+c+d)^60 does not fill the memory. A product over the bound stays
// a product.
const maxExpandTerms = 50000

// Expand returns e with products distributed over sums and whole powers of
// sums multiplied out, inside functions too. A power or product whose
// expansion would have more than 50,000 terms stays as it is.
func (e Expr) Expand() Expr {
	if e.tooLarge() {
		return e
	}
	x := expander{inside: true}
	return Expr{x.expand(e.node())}
}

type expander struct {
	inside bool // also the arguments of functions, and bases of other powers
	memo   map[*node]*node
}

func (x *expander) expand(n *node) *node {
	if len(n.args) == 0 {
		return n
	}
	if n.size >= memoSize {
		if r, ok := x.memo[n]; ok {
			return r
		}
	}
	r := x.rule(n)
	if n.size >= memoSize {
		if x.memo == nil {
			x.memo = make(map[*node]*node)
		}
		x.memo[n] = r
	}
	return r
}

func (x *expander) rule(n *node) *node {
	switch n.op {
	case opSum:
		s := summer{constant: numZero, terms: make([]term, 0, 2*len(n.args))}
		for _, a := range n.args {
			s.add(numOne, x.expand(a))
		}
		return s.sum()
	case opScaled:
		return distribute(n.num, x.expand(n.args[0]))
	case opProduct:
		r := oneNode
		for _, a := range n.args {
			r = timesOut(r, x.expand(a))
		}
		return r
	case opPower:
		b, e := x.expand(n.args[0]), x.expand(n.args[1])
		if b.op == opSum && e.op == opNumber && e.num.isInt64() && e.num.p > 1 && e.num.p <= maxExpandPower {
			return powerOut(b, e.num.p)
		}
		return pow(b, e)
	case opCall:
		if x.inside {
			return n.withArgs(x.expand)
		}
	}
	return n
}

// distribute returns c·n with c inside the sum.
func distribute(c number, n *node) *node {
	if n.op != opSum || c.isOne() {
		return scale(c, n)
	}
	args := make([]*node, len(n.args))
	for i, a := range n.args {
		args[i] = scale(c, a)
	}
	return (&node{op: opSum, args: args}).seal()
}

// terms returns the summands of n: n itself unless it is a sum.
func (n *node) terms() []*node {
	if n.op == opSum {
		return n.args
	}
	return []*node{n}
}

// timesOut returns a·b, both expanded, multiplied out.
func timesOut(a, b *node) *node {
	switch {
	case a.op != opSum && b.op != opSum:
		return again(mul(a, b))
	case a.op == opNumber:
		return distribute(a.num, b)
	case b.op == opNumber:
		return distribute(b.num, a)
	case len(a.terms())*len(b.terms()) > maxExpandTerms:
		return mul(a, b)
	}
	s := summer{constant: numZero, terms: make([]term, 0, len(a.terms())*len(b.terms()))}
	for _, p := range a.terms() {
		for _, q := range b.terms() {
			s.add(numOne, again(mul(p, q)))
		}
	}
	return s.sum()
}

// again expands a product of expanded parts whose joined powers may have left
// something to multiply out: √(a+b)·√(a+b).
func again(n *node) *node {
	_, core := n.split()
	if core.op == opSum && n.op == opScaled {
		return distribute(n.num, core)
	}
	if core.op != opProduct && core.op != opPower {
		return n
	}
	parts := []*node{core}
	if core.op == opProduct {
		parts = core.args
	}
	for _, p := range parts {
		if p.op == opSum && len(parts) > 1 ||
			p.op == opPower && p.args[0].op == opSum && p.args[1].op == opNumber &&
				p.args[1].num.isInt64() && p.args[1].num.p > 1 && p.args[1].num.p <= maxExpandPower {
			x := expander{}
			return x.expand(n)
		}
	}
	return n
}

// powerOut returns b^k for a sum b, multiplied out by squaring.
func powerOut(b *node, k int64) *node {
	if tooMany(len(b.args), k) {
		return pow(b, numberNode(intNumber(k)))
	}
	r := oneNode
	for {
		if k&1 != 0 {
			r = timesOut(r, b)
		}
		if k >>= 1; k == 0 {
			return r
		}
		b = timesOut(b, b)
	}
}

// tooMany reports whether a sum of n terms to the power k has more terms than
// maxExpandTerms: C(n+k-1, k) of them.
func tooMany(n int, k int64) bool {
	c := 1.0
	for i := 1.0; i <= float64(k); i++ {
		c *= (float64(n) - 1 + i) / i
	}
	return c > maxExpandTerms
}
