package expr

// maxSimplifyTerms bounds the sums that Simplify multiplies out on trial:
// longer ones are hardly shorter afterwards, and the trial costs time.
const maxSimplifyTerms = 400

// Simplify returns e in a shorter form for showing, or e itself. It joins
// sines and cosines, cancels, brings fractions over one denominator and takes
// out common factors where that makes the formula shorter. It never changes
// the value at a point where e has one; equality is not its business, for two
// equal formulas may well simplify to different ones.
func (e Expr) Simplify() Expr {
	if e.tooLarge() {
		return e
	}
	s := simplifier{memo: make(map[*node]*node)}
	n := e.node()
	for range 3 { // a second look often finds more; a third settles it
		r := s.simplify(n)
		if r == n || same(r, n) {
			break
		}
		n = r
	}
	if ops(n) > ops(e.node()) { // a sign taken out of a sine for nothing
		return e
	}
	return Expr{n}
}

type simplifier struct{ memo map[*node]*node }

func (s *simplifier) simplify(n *node) *node {
	if len(n.args) == 0 {
		return n
	}
	if r, ok := s.memo[n]; ok {
		return r
	}
	r := s.node(n)
	s.memo[n] = r
	return r
}

func (s *simplifier) node(n *node) *node {
	r := n.withArgs(s.simplify)
	switch r.op {
	case opCall:
		return simplifyCall(r)
	case opPower:
		return s.polynomial(simplifyPower(r))
	case opProduct, opScaled:
		return s.polynomial(settleSigns(simplifyProduct(r)))
	case opSum:
		return s.polynomial(r)
	}
	return r
}

// polynomial tries other forms of a sum, product or power whose parts are
// simple, and returns the shortest; the present one if none is shorter.
func (s *simplifier) polynomial(n *node) *node {
	if n.op != opSum && n.op != opProduct && n.op != opScaled && n.op != opPower {
		return n
	}
	best, least := n, ops(n)
	try := func(m *node) {
		if m.op == opProduct || m.op == opScaled {
			m = settleSigns(m)
		}
		if k := ops(m); k < least || k == least && m.size < best.size {
			best, least = m, k
		}
	}
	if n.op == opSum {
		try(factor(n))
	}
	if spread(n) > maxSimplifyTerms {
		return best
	}
	if spread(n) > 1 {
		x := expander{}
		joined := joinAngles(x.expand(n))
		try(joined)
		if single := singleAngles(joined); single != joined {
			try(single)
			try(factor(single))
		}
		if joined.op == opSum {
			f := factor(joined)
			try(f)
			if f.op == opProduct || f.op == opScaled {
				try(simplifyProduct(f))
			}
		}
	}
	if n.op == opProduct || n.op == opScaled || n.op == opPower {
		try(singleAngles(n))
	}
	if m := together(n); m != nil {
		try(m)
	}
	return best
}

// spread estimates how many terms n has when multiplied out.
func spread(n *node) int {
	const many = 1 << 20
	switch n.op {
	case opSum:
		t := 0
		for _, a := range n.args {
			t += spread(a)
		}
		return min(t, many)
	case opProduct:
		t := 1
		for _, a := range n.args {
			if t *= spread(a); t > many {
				return many
			}
		}
		return t
	case opScaled:
		return spread(n.args[0])
	case opPower:
		if e := n.args[1]; e.op == opNumber && e.num.isInt64() && e.num.p > 1 && e.num.p <= maxExpandPower {
			b, t := spread(n.args[0]), 1
			for i := int64(0); i < e.num.p && b > 1; i++ {
				if t *= b; t > many {
					return many
				}
			}
			return t
		}
	}
	return 1
}

// simplifyCall applies what is known of one function.
func simplifyCall(n *node) *node {
	if n.fn == FnMin || n.fn == FnMax || n.fn == FnAtan2 || n.fn == FnIfLess || n.fn == FnIfLessEqual {
		return n
	}
	u := n.args[0]
	if r := shiftQuarters(n.fn, u); r != nil {
		return r
	}
	r := signed(n.fn, u)
	_, inner := r.split()
	if inner.op != opCall {
		return r
	}
	u = inner.args[0]
	switch {
	case inner.fn == FnLog && u.op == opCall && u.fn == FnExp:
		return u.args[0]
	case inner.fn == FnExp && u.op == opCall && u.fn == FnLog,
		inner.fn == FnSin && u.op == opCall && u.fn == FnAsin,
		inner.fn == FnCos && u.op == opCall && u.fn == FnAcos,
		inner.fn == FnTan && u.op == opCall && u.fn == FnAtan:
		c, _ := r.split()
		return scale(c, u.args[0])
	case inner.fn == FnAbs:
		return simplifyAbs(u)
	}
	return r
}

// shiftQuarters takes whole quarter turns out of the angle u of a sine, cosine
// or tangent: sin(π/2 - α) = cos α. It returns nil if there are none.
func shiftQuarters(f Function, u *node) *node {
	if f != FnSin && f != FnCos && f != FnTan || u.op != opSum {
		return nil
	}
	for _, t := range u.args {
		c, core := t.split()
		if core != piNode || c.q == 0 || c.q > 2 {
			continue
		}
		rest := add(u, neg(t))
		quarters := 2 / c.q * (c.p % (2 * c.q))
		quarters = (quarters%4 + 4) % 4
		if f == FnTan {
			if quarters%2 == 0 {
				return signed(FnTan, rest)
			}
			return neg(pow(signed(FnTan, rest), negNode))
		}
		if f == FnCos {
			quarters++ // cos x = sin(x + π/2)
		}
		r := signed(FnSin, rest)
		if quarters%2 != 0 {
			r = signed(FnCos, rest)
		}
		if quarters%4 >= 2 {
			r = neg(r)
		}
		return r
	}
	return nil
}

// simplifyAbs takes even powers and numbers out of a modulus.
func simplifyAbs(u *node) *node {
	c, core := u.split()
	out := []*node{numberNode(c.abs())}
	var in []*node
	for _, f := range core.factors() {
		if positive(f) {
			out = append(out, f)
		} else {
			in = append(in, f)
		}
	}
	if len(in) > 0 {
		out = append(out, call(FnAbs, mul(in...)))
	}
	return mul(out...)
}

// positive reports whether n is never negative by its look.
func positive(n *node) bool {
	switch n.op {
	case opNumber:
		return n.num.sign() >= 0
	case opConstant:
		return true
	case opPower:
		e := n.args[1]
		if e.op == opNumber && (e.num.isInt64() && e.num.p%2 == 0 || e.num.q > 1 && e.num.q%2 == 0) {
			return true
		}
		return positive(n.args[0])
	case opCall:
		return n.fn == FnAbs || n.fn == FnExp || n.fn == FnCosh
	case opScaled:
		return n.num.sign() > 0 && positive(n.args[0])
	case opSum, opProduct:
		for _, a := range n.args {
			if !positive(a) {
				return false
			}
		}
		return true
	}
	return false
}

// simplifyPower takes squares out of roots and powers out of powers.
func simplifyPower(n *node) *node {
	if n.op != opPower || n.args[1].op != opNumber {
		return n
	}
	b, e := n.args[0], n.args[1].num
	if e.isInt64() && b.op == opCall {
		switch {
		case b.fn == FnAbs && e.p%2 == 0:
			return pow(b.args[0], n.args[1])
		case b.fn == FnExp:
			return call(FnExp, scale(e, b.args[0]))
		}
	}
	if e.isInt64() || e.q <= 1 {
		return n
	}
	if e.sign() < 0 && isQuotient(b) { // 1/√(a/b) = √(b/a)
		return simplifyPower(pow(pow(b, negNode), numberNode(e.neg())))
	}
	if b.op == opSum {
		b = factor(b)
	}
	c, core := b.split()
	if c.sign() < 0 || c.isFloat() {
		return n
	}
	outside, inside := powerOfNumber(c, e)
	var kept []*node
	for _, f := range core.factors() {
		base, k := f.base(), f.exponent()
		total := k.mul(e)
		switch {
		case f == oneNode:
		case k.isInt64() && k.p%2 == 0 && (total.isInt64() || e.q == 2):
			// (x²)^(1/2) = |x|; (x⁴)^(1/2) = x²
			if !positive(base) && !(total.isInt64() && total.p%2 == 0) {
				base = call(FnAbs, base)
			}
			outside = append(outside, pow(base, numberNode(total)))
		case positive(base):
			outside = append(outside, pow(base, numberNode(total)))
		default:
			kept = append(kept, f)
		}
	}
	if len(kept) > 0 {
		outside = append(outside, pow(mul(append(kept, inside)...), n.args[1]))
	} else {
		outside = append(outside, pow(inside, n.args[1]))
	}
	if r := mul(outside...); ops(r) <= ops(n)+1 { // √8 = 2√2 is the usual form, though no shorter
		return r
	}
	return n
}

// isQuotient reports whether something stands below the stroke of n.
func isQuotient(n *node) bool {
	c, core := n.split()
	if c.q > 1 {
		return true
	}
	for _, f := range core.factors() {
		if f.exponent().sign() < 0 {
			return true
		}
	}
	return false
}

// powerOfNumber writes c^e, c > 0, as numbers outside and the e-th power of a
// number inside that has no more square factors: 8^(1/2) = 2·2^(1/2).
func powerOfNumber(c, e number) (outside []*node, inside *node) {
	if c.q == 0 || e.q != 2 || c.p > 1e12 || c.q > 1e12 {
		return nil, numberNode(c)
	}
	square := func(v int64) (root, rest int64) {
		root, rest = 1, v
		for d := int64(2); d*d <= rest && d < 1000; d++ {
			for rest%(d*d) == 0 {
				root, rest = root*d, rest/(d*d)
			}
		}
		return root, rest
	}
	p, a := square(c.p)
	q, b := square(c.q)
	r := reduced(p, q)
	if r.isOne() {
		return nil, numberNode(c)
	}
	v, ok := r.pow(e.p)
	if !ok {
		return nil, numberNode(c)
	}
	return []*node{numberNode(v)}, numberNode(reduced(a, b))
}

// simplifyProduct joins exponentials, tangents with cosines, and moduli.
func simplifyProduct(n *node) *node {
	c, core := n.split()
	if core.op != opProduct {
		return n
	}
	var parts []*node
	exponent := summer{constant: numZero}
	exps := 0
	for _, f := range core.args {
		b, k := f.base(), f.exponent()
		if b.op == opCall && b.fn == FnExp {
			exponent.add(k, b.args[0])
			exps++
			continue
		}
		parts = append(parts, f)
	}
	if exps > 0 {
		parts = append(parts, call(FnExp, exponent.sum()))
	}
	r := joinTangents(mul(append(parts, numberNode(c))...))
	if ops(r) <= ops(n) {
		return r
	}
	return n
}

// joinTangents writes sin/cos as tan and tan·cos as sin.
func joinTangents(n *node) *node {
	_, core := n.split()
	for _, f := range core.factors() {
		b, k := f.base(), f.exponent()
		if b.op != opCall || !k.isInt64() {
			continue
		}
		switch b.fn {
		case FnSin: // sin^k cos^-k
			c := pow(call(FnCos, b.args[0]), numberNode(k.neg()))
			if holds(core, c) {
				return joinTangents(mul(n, pow(f, negNode), pow(c, negNode), pow(call(FnTan, b.args[0]), numberNode(k))))
			}
		case FnTan:
			s := pow(call(FnSin, b.args[0]), numberNode(k.neg()))
			if holds(core, s) { // sin^-k tan^k = cos^-k
				return joinTangents(mul(n, pow(f, negNode), pow(s, negNode), pow(call(FnCos, b.args[0]), numberNode(k.neg()))))
			}
			c := pow(call(FnCos, b.args[0]), numberNode(k))
			if holds(core, c) {
				return joinTangents(mul(n, pow(f, negNode), pow(c, negNode), pow(call(FnSin, b.args[0]), numberNode(k))))
			}
		}
	}
	return n
}

// settleSigns takes the sign out of sums all of whose terms are negative, and
// puts a negative sign of the product into a difference: -(a - b)/(-c - d)
// becomes (a - b)/(c + d), -(a - b)·c becomes (b - a)·c.
func settleSigns(n *node) *node {
	c, core := n.split()
	if c.isFloat() {
		return n
	}
	factors := append([]*node(nil), core.factors()...)
	changed := false
	flip := func(i int, k number) {
		factors[i] = pow(flipped(factors[i].base()), numberNode(k))
		if k.p%2 != 0 {
			c = c.neg()
		}
		changed = true
	}
	for i, f := range factors {
		b, k := f.base(), f.exponent()
		if b.op == opSum && k.isInt64() && negatives(b) == len(b.args) {
			flip(i, k)
		}
	}
	for i := 0; i < len(factors) && c.sign() < 0; i++ {
		b, k := factors[i].base(), factors[i].exponent()
		if b.op == opSum && k.isInt64() && k.p%2 != 0 && negatives(b) > 0 {
			flip(i, k)
		}
	}
	if !changed {
		return n
	}
	return mul(append(factors, numberNode(c))...)
}

// negatives returns how many terms of a sum have a negative coefficient.
func negatives(n *node) int {
	k := 0
	for _, t := range n.args {
		if c, _ := t.split(); c.sign() < 0 {
			k++
		}
	}
	return k
}
