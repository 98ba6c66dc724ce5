package expr

// maxAngleTerms bounds the terms that products of sines and cosines are
// written out to: k factors make 2^(k-1) of them.
const maxAngleTerms = 2000

// SingleAngles returns e expanded, with products and powers of sines and
// cosines written as sums of single ones: 2 sin a cos a becomes sin 2a, sin² a
// becomes 1/2 - cos(2a)/2. Two trigonometric polynomials that are equal become
// the same. What would have more than 2000 terms stays as it is.
func (e Expr) SingleAngles() Expr {
	if e.tooLarge() {
		return e
	}
	x := expander{inside: true}
	return Expr{singleAngles(x.expand(e.node()))}
}

// singleAngles is SingleAngles of an expanded node.
func singleAngles(n *node) *node {
	if !hasTrig(n) {
		return n
	}
	p := newPolynomial(len(n.terms()))
	for _, t := range n.terms() {
		c, core := t.split()
		var trig, rest []*node
		for _, f := range core.factors() {
			b, k := f.base(), f.exponent()
			if isTrig(b) && k.isInt64() && k.p > 0 && k.p <= maxExpandPower {
				for range k.p {
					trig = append(trig, b)
				}
			} else {
				rest = append(rest, f)
			}
		}
		if len(trig) > 11 || len(p.terms)+1<<max(0, len(trig)-1) > maxAngleTerms {
			return n
		}
		p.multiplyOut(c, mul(rest...), trig)
	}
	return p.node()
}

// multiplyOut adds c·rest times the product of sines and cosines.
// Source: Abramowitz and Stegun, Handbook of Mathematical Functions (1964),
// 4.3.31-33 (the numbers from memory, unchecked; a test compares the values).
func (p *polynomial) multiplyOut(c number, rest *node, trig []*node) {
	switch len(trig) {
	case 0:
		p.addProduct(c, rest, oneNode)
		return
	case 1:
		p.addProduct(c, rest, signed(trig[0].fn, trig[0].args[0]))
		return
	}
	f, g, more := trig[0], trig[1], trig[2:]
	c = c.mul(numHalf)
	x := expander{inside: true}
	plus, minus := x.expand(add(f.args[0], g.args[0])), x.expand(add(f.args[0], neg(g.args[0])))
	again := func(c number, fn Function, u *node) {
		r := signed(fn, u)
		k, r := r.split()
		if r.op != opCall || !isTrig(r) { // a number, or a root such as √3/2
			p.multiplyOut(c.mul(k), mul(rest, r), more)
			return
		}
		p.multiplyOut(c.mul(k), rest, append([]*node{r}, more...))
	}
	switch {
	case f.fn == FnCos && g.fn == FnCos:
		again(c, FnCos, minus)
		again(c, FnCos, plus)
	case f.fn == FnSin && g.fn == FnSin:
		again(c, FnCos, minus)
		again(c.neg(), FnCos, plus)
	case f.fn == FnSin:
		again(c, FnSin, plus)
		again(c, FnSin, minus)
	default:
		again(c, FnSin, plus)
		again(c.neg(), FnSin, minus)
	}
}

// addProduct adds c·a·b.
func (p *polynomial) addProduct(c number, a, b *node) {
	n := mul(a, b)
	if n.op == opSum {
		for _, t := range n.args {
			p.add(c, t)
		}
		return
	}
	p.add(c, n)
}
