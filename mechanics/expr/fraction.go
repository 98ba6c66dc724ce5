package expr

// Fraction writes e as one fraction: numerator and denominator, with the
// fractions inside sums brought over a common denominator. Neither is
// expanded further than that needs; the denominator is 1 where there is none.
func (e Expr) Fraction() (numerator, denominator Expr) {
	if e.tooLarge() {
		return e, Int(1)
	}
	n, d := fraction(e.node())
	return Expr{n}, Expr{d}
}

func fraction(n *node) (num, den *node) {
	switch n.op {
	case opNumber:
		if n.num.q > 1 {
			return numberNode(intNumber(n.num.p)), numberNode(intNumber(n.num.q))
		}
	case opScaled:
		a, b := fraction(n.args[0])
		c, d := fraction(numberNode(n.num))
		return mul(a, c), mul(b, d)
	case opProduct:
		num, den = oneNode, oneNode
		for _, f := range n.args {
			a, b := fraction(f)
			num, den = mul(num, a), mul(den, b)
		}
		return cancel(num, den)
	case opPower:
		e := n.exponent()
		if n.args[1].op != opNumber || e.isFloat() {
			return n, oneNode
		}
		if e.sign() < 0 {
			if e.isInt64() {
				a, b := fraction(n.args[0])
				return pow(b, numberNode(e.neg())), pow(a, numberNode(e.neg()))
			}
			return oneNode, pow(n.args[0], numberNode(e.neg()))
		}
		if e.isInt64() {
			a, b := fraction(n.args[0])
			return pow(a, n.args[1]), pow(b, n.args[1])
		}
	case opSum:
		return sumFraction(n)
	}
	return n, oneNode
}

func sumFraction(n *node) (num, den *node) {
	nums, dens := make([]*node, len(n.args)), make([]*node, len(n.args))
	den = oneNode
	for i, a := range n.args {
		nums[i], dens[i] = fraction(a)
		den = leastMultiple(den, dens[i])
	}
	if den == oneNode {
		return n, oneNode
	}
	s := summer{constant: numZero}
	for i := range nums {
		s.add(numOne, mul(nums[i], den, pow(dens[i], negNode)))
	}
	return s.sum(), den
}

// leastMultiple returns the least common multiple of two products, factor by
// factor.
func leastMultiple(a, b *node) *node {
	if a == oneNode {
		return b
	}
	ca, xa := a.split()
	cb, xb := b.split()
	c := ca
	if ca.isInt64() && cb.isInt64() && ca.p != 0 && cb.p != 0 {
		c = intNumber(ca.p / gcd(ca.p, cb.p)).mul(cb).abs()
	} else {
		c = ca.mul(cb)
	}
	parts := []*node{numberNode(c), xa}
	for _, f := range xb.factors() {
		e := f.exponent()
		for _, g := range xa.factors() {
			if same(g.base(), f.base()) {
				e = e.add(g.exponent().neg())
			}
		}
		if e.sign() > 0 && f != oneNode {
			parts = append(parts, pow(f.base(), numberNode(e)))
		}
	}
	return mul(parts...)
}

// cancel divides out the factors that num and den share by their look.
func cancel(num, den *node) (*node, *node) {
	if den == oneNode || num.op == opNumber {
		return num, den
	}
	return split(mul(num, pow(den, negNode)))
}

// split parts a product into what is above and what is below the stroke.
func split(n *node) (num, den *node) {
	c, core := n.split()
	den = oneNode
	if c.q > 1 {
		num, den = numberNode(intNumber(c.p)), numberNode(intNumber(c.q))
	} else {
		num = numberNode(c)
	}
	for _, f := range core.factors() {
		if e := f.exponent(); e.sign() < 0 {
			den = mul(den, pow(f.base(), numberNode(e.neg())))
		} else {
			num = mul(num, f)
		}
	}
	return num, den
}

// together returns n as one fraction in lowest terms as far as exact division
// of sums finds them, nil if n has no fraction with a sum in it.
func together(n *node) *node {
	num, den := fraction(n)
	if den.op == opNumber {
		return nil
	}
	num, den = reduceFraction(num, den)
	if spread(num) <= maxSimplifyTerms {
		x := expander{}
		if singleAngles(x.expand(num)) == zeroNode {
			return zeroNode
		}
	}
	return simplifyProduct(mul(factor(num), pow(den, negNode)))
}

// reduceFraction expands both parts of a fraction, joins angles and divides
// out common factors.
func reduceFraction(num, den *node) (*node, *node) {
	if spread(num) > maxSimplifyTerms || spread(den) > maxSimplifyTerms {
		return num, den
	}
	x := expander{}
	top, bottom := factor(joinAngles(x.expand(num))), oneNode
	for _, f := range den.factors() { // powers of sums stay: they may cancel
		c, f := f.split()
		bottom = mul(bottom, numberNode(c), pow(factor(joinAngles(x.expand(f.base()))), numberNode(f.exponent())))
	}
	top, bottom = split(mul(top, pow(bottom, negNode)))
	for _, f := range bottom.factors() {
		_, f = f.split()
		base := f.base()
		if base.op != opSum {
			continue
		}
		for _, g := range top.factors() {
			_, g = g.split()
			if g.op != opSum {
				continue
			}
			if q := quotient(x.expand(g), x.expand(base)); q != nil {
				return split(mul(top, pow(g, negNode), factor(q), base, pow(bottom, negNode)))
			}
			if q := quotient(x.expand(base), x.expand(g)); q != nil && q.op != opNumber {
				return split(mul(top, pow(g, negNode), base, pow(bottom, negNode), pow(factor(q), negNode)))
			}
		}
	}
	return top, bottom
}

// quotient returns a/b for expanded sums if b divides a exactly, nil if not.
// It divides leading terms in the order of a variable that b holds, as in
// school: the cost is the product of the numbers of terms.
func quotient(a, b *node) *node {
	const most = 200 // steps: more than any quotient that would be shown
	lead := leading(b)
	if lead == nil {
		return nil
	}
	q := summer{constant: numZero}
	for range most {
		if a == zeroNode {
			return q.sum()
		}
		l := leading(a)
		if l == nil {
			return nil
		}
		t := mul(l, pow(lead, negNode))
		_, core := t.split()
		for _, f := range core.factors() {
			if f.exponent().sign() < 0 {
				return nil
			}
		}
		q.add(numOne, t)
		x := expander{}
		a = x.expand(add(a, neg(x.expand(mul(t, b)))))
	}
	return nil
}

// leading returns the greatest term of an expanded sum in the lexicographic
// order of powers of its bases, a monomial order. It returns nil where an
// exponent is not a whole number.
func leading(n *node) *node {
	var best *node
	for _, t := range n.terms() {
		_, core := t.split()
		for _, f := range core.factors() {
			if e := f.exponent(); !e.isInt64() || e.p < 0 || f.base().op == opSum {
				return nil
			}
		}
		if best == nil || greater(core, best) {
			best = t
		}
	}
	return best
}

// greater compares two monomials lexicographically: by the exponent of the
// first base in which they differ.
func greater(a, b *node) bool {
	_, b = b.split()
	fa, fb := a.factors(), b.factors()
	if a == oneNode {
		return false
	}
	if b == oneNode {
		return true
	}
	for i := 0; i < len(fa) && i < len(fb); i++ {
		c := order(fa[i].base(), fb[i].base())
		if c != 0 {
			return c < 0
		}
		if c = fa[i].exponent().cmp(fb[i].exponent()); c != 0 {
			return c > 0
		}
	}
	return len(fa) > len(fb)
}
