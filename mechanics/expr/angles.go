package expr

// A polynomial is a sum under construction in which each core stands once and
// is found by its hash.
type polynomial struct {
	terms []term
	index map[uint64][]int32
}

func newPolynomial(size int) *polynomial {
	return &polynomial{index: make(map[uint64][]int32, size), terms: make([]term, 0, size)}
}

// find returns the place of a core, -1 if it is not there.
func (p *polynomial) find(core *node) int {
	for _, i := range p.index[core.hash] {
		if same(p.terms[i].core, core) {
			return int(i)
		}
	}
	return -1
}

// add adds c·n, where n is not a sum.
func (p *polynomial) add(c number, n *node) {
	k, core := n.split()
	c = c.mul(k)
	if i := p.find(core); i >= 0 {
		p.terms[i].coef = p.terms[i].coef.add(c)
		return
	}
	p.index[core.hash] = append(p.index[core.hash], int32(len(p.terms)))
	p.terms = append(p.terms, term{coef: c, core: core})
}

func (p *polynomial) node() *node {
	s := summer{constant: numZero}
	for _, t := range p.terms {
		if !t.coef.isZero() {
			s.add(numOne, scale(t.coef, t.core))
		}
	}
	return s.sum()
}

// JoinAngles returns e expanded, with sums of products of sines and cosines
// joined where that leaves fewer terms: cos a cos b + sin a sin b becomes
// cos(a - b), sin² a + cos² a becomes 1, 1 - sin² a becomes cos² a.
func (e Expr) JoinAngles() Expr {
	if e.tooLarge() {
		return e
	}
	x := expander{inside: true}
	return Expr{joinAngles(x.expand(e.node()))}
}

func joinAngles(n *node) *node {
	if n.op != opSum || !hasTrig(n) {
		return n
	}
	p := newPolynomial(len(n.args))
	for _, t := range n.args {
		p.add(numOne, t)
	}
	for i := 0; i < len(p.terms); i++ { // joined terms come at the end and are looked at in turn
		for !p.terms[i].coef.isZero() && p.join(i) {
		}
	}
	return p.node()
}

// hasTrig reports whether a sine or cosine is a factor of a term.
func hasTrig(n *node) bool {
	for _, t := range n.terms() {
		_, core := t.split()
		for _, f := range core.factors() {
			if isTrig(f.base()) {
				return true
			}
		}
	}
	return false
}

func (n *node) factors() []*node {
	if n.op == opProduct {
		return n.args
	}
	return []*node{n}
}

func isTrig(n *node) bool { return n.op == opCall && (n.fn == FnSin || n.fn == FnCos) }

// partner returns the cosine for a sine and the sine for a cosine.
func partner(n *node) *node {
	if n.fn == FnSin {
		return call(FnCos, n.args[0])
	}
	return call(FnSin, n.args[0])
}

// join tries to join the term at i with others and reports whether it did.
func (p *polynomial) join(i int) bool {
	core := p.terms[i].core
	var trig [8]*node
	fs := trig[:0]
	for _, f := range core.factors() {
		b, e := f.base(), f.exponent()
		if isTrig(b) && e.isInt64() && e.p > 0 {
			fs = append(fs, b)
			if e.p > 1 {
				fs = append(fs, b)
			}
		}
	}
	for a := range fs {
		for b := a + 1; b < len(fs); b++ {
			if p.joinPair(i, fs[a], fs[b]) {
				return true
			}
		}
	}
	return false
}

// joinPair tries to join the term at i, which holds f·g, with the term that
// holds their partners in their place.
func (p *polynomial) joinPair(i int, f, g *node) bool {
	t := p.terms[i]
	rest := mul(t.core, pow(f, negNode), pow(g, negNode))
	if same(f, g) {
		return p.joinSquare(i, f, rest)
	}
	j := p.find(mul(rest, partner(f), partner(g)))
	if j < 0 || j == i || p.terms[j].coef.isZero() {
		return false
	}
	q := p.terms[j].coef
	equal := q.cmp(t.coef) == 0
	if !equal && q.cmp(t.coef.neg()) != 0 {
		return false
	}
	p.terms[i].coef, p.terms[j].coef = numZero, numZero
	u, v := f.args[0], g.args[0]
	switch {
	case f.fn == g.fn: // c c ± s s, or s s ± c c
		if !equal && f.fn == FnSin {
			t.coef = t.coef.neg()
		}
		p.addCall(t.coef, rest, FnCos, u, v, equal)
	case f.fn == FnSin: // sin u cos v ± cos u sin v
		p.addCall(t.coef, rest, FnSin, u, v, !equal)
	default: // cos u sin v ± sin u cos v = sin(v ± u)
		p.addCall(t.coef, rest, FnSin, v, u, !equal)
	}
	return true
}

// addCall adds c·rest·f(u - v), or with u + v.
func (p *polynomial) addCall(c number, rest *node, f Function, u, v *node, minus bool) {
	if minus {
		v = neg(v)
	}
	x := expander{inside: true}
	p.add(c, mul(rest, signed(f, x.expand(add(u, v)))))
}

// joinSquare tries to join a term rest·f² with rest·partner² or rest alone.
func (p *polynomial) joinSquare(i int, f, rest *node) bool {
	a := p.terms[i].coef
	g := partner(f)
	k, core := rest.split()
	one := p.find(core) // the term rest alone
	if k.isOne() && one >= 0 && p.terms[one].coef.isZero() {
		one = -1
	}
	j := p.find(mul(rest, pow(g, twoNode)))
	if j >= 0 && !p.terms[j].coef.isZero() {
		b := p.terms[j].coef
		switch {
		case a.cmp(b) == 0:
			p.terms[i].coef, p.terms[j].coef = numZero, numZero
			p.add(a, rest)
			return true
		case one >= 0: // r + a f² + b g² = (r+a) + (b-a) g²
			p.terms[i].coef = numZero
			p.terms[j].coef = b.add(a.neg())
			p.add(a, rest)
			return true
		case a.cmp(b.neg()) == 0: // f² - g² = ∓cos 2u
			p.terms[i].coef, p.terms[j].coef = numZero, numZero
			if f.fn == FnSin {
				a = a.neg()
			}
			p.addCall(a, rest, FnCos, f.args[0], f.args[0], false)
			return true
		}
		return false
	}
	if one >= 0 && p.terms[one].coef.cmp(a.neg()) == 0 { // 1 - f² = g²
		p.terms[i].coef, p.terms[one].coef = numZero, numZero
		p.add(a.neg(), mul(rest, pow(g, twoNode)))
		return true
	}
	return false
}

// negative reports whether an expression looks negative: its first term that
// is not a number has a negative coefficient.
func negative(n *node) bool {
	if n.op == opSum {
		first := n.args[0]
		if first.op == opNumber {
			first = n.args[1]
		}
		n = first
	}
	c, _ := n.split()
	return c.sign() < 0
}

// flipped returns -n with the sign inside a sum.
func flipped(n *node) *node { return distribute(numNeg, n) }

// signed returns f(u) for an odd or even f with the sign of u taken out.
func signed(f Function, u *node) *node {
	if !negative(u) {
		return call(f, u)
	}
	switch f {
	case FnCos, FnCosh, FnAbs:
		return call(f, flipped(u))
	case FnSin, FnTan, FnAsin, FnAtan, FnSinh, FnTanh, FnSign:
		return neg(call(f, flipped(u)))
	}
	return call(f, u)
}
