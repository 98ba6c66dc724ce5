package expr

import "slices"

// Collect returns e expanded and written as a sum of powers of the named
// symbol, each with one coefficient. What holds the symbol inside a function
// counts as free of it.
func (e Expr) Collect(name string) Expr {
	if e.tooLarge() {
		return e
	}
	symbol := symbolNode(Canonical(name))
	x := expander{inside: true}
	var s summer
	s.constant = numZero
	for _, p := range powersOf(x.expand(e.node()), symbol) {
		s.add(numOne, mul(p.coef, pow(symbol, numberNode(p.exponent))))
	}
	return Expr{s.sum()}
}

// Coefficients returns the coefficients c of e as a polynomial in the named
// symbol, e = c[0] + c[1]·x + … + c[n]·xⁿ, expanded. It reports ok = false if
// e is no polynomial in it.
func (e Expr) Coefficients(name string) (c []Expr, ok bool) {
	if e.tooLarge() {
		return nil, false
	}
	const most = 1000 // degree: larger than any polynomial that is solved or shown
	symbol := symbolNode(Canonical(name))
	x := expander{inside: true}
	for _, p := range powersOf(x.expand(e.node()), symbol) {
		k := p.exponent
		if !k.isInt64() || k.p < 0 || k.p > most || has(p.coef, symbol) {
			return nil, false
		}
		for int64(len(c)) <= k.p {
			c = append(c, Expr{zeroNode})
		}
		c[k.p] = Expr{p.coef}
	}
	if c == nil {
		c = []Expr{{zeroNode}}
	}
	return c, true
}

// Linear writes e as c[0]·names[0] + c[1]·names[1] + … + rest, where no name
// occurs in c or rest. It reports ok = false if e is not linear in the names.
func (e Expr) Linear(names ...string) (c []Expr, rest Expr, ok bool) {
	zeros := make(map[string]Expr, len(names))
	c = make([]Expr, len(names))
	for i, name := range names {
		d := e.Diff(name)
		for _, other := range names {
			if d.Has(other) {
				if d = d.Simplify(); d.Has(other) {
					return nil, Expr{}, false
				}
			}
		}
		c[i] = d
		zeros[name] = Int(0)
	}
	return c, e.Subs(zeros), true
}

// A powerTerm is coef·symbol^exponent.
type powerTerm struct {
	exponent number
	coef     *node
}

// powersOf splits an expanded node by powers of a symbol, in rising order.
func powersOf(n, symbol *node) []powerTerm {
	var out []powerTerm
	sums := map[number]*summer{}
	for _, t := range n.terms() {
		e, rest := extract(t, symbol)
		key := e
		if sums[key] == nil {
			sums[key] = &summer{constant: numZero}
			out = append(out, powerTerm{exponent: e})
		}
		sums[key].add(numOne, rest)
	}
	for i := range out {
		out[i].coef = sums[out[i].exponent].sum()
	}
	slices.SortFunc(out, func(a, b powerTerm) int { return a.exponent.cmp(b.exponent) })
	return out
}

// extract splits a term into a numeric power of base and the rest.
func extract(t, base *node) (number, *node) {
	c, core := t.split()
	factors := []*node{core}
	if core.op == opProduct {
		factors = core.args
	}
	for i, f := range factors {
		if same(f.base(), base) {
			rest := append([]*node{numberNode(c)}, factors[:i]...)
			return f.exponent(), mul(append(rest, factors[i+1:]...)...)
		}
	}
	return numZero, t
}
