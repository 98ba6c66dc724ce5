package expr

import (
	"math/big"
	"slices"
)

// Factor returns e with what the terms of each sum have in common taken out:
// m_1 g l + m_2 g l becomes g l (m_1 + m_2). It finds common numbers, symbols,
// functions and sums, not the factors of a general polynomial.
func (e Expr) Factor() Expr {
	if e.tooLarge() {
		return e
	}
	return Expr{factorAll(e.node())}
}

func factorAll(n *node) *node {
	if len(n.args) == 0 {
		return n
	}
	n = n.withArgs(factorAll)
	if n.op == opSum {
		return factor(n)
	}
	return n
}

// factor takes common factors out of a sum.
func factor(n *node) *node {
	if n.op != opSum {
		return n
	}
	outside, inside := content(n)
	if inside.op == opSum {
		if grouped := group(inside); grouped != nil {
			inside = grouped
		}
	}
	return mul(outside, inside)
}

// content splits a sum into a number and powers that every term has, and the
// rest.
func content(n *node) (outside, inside *node) {
	c := numberNode(numericContent(n))
	type power struct {
		base  *node
		least number
	}
	var common []power
	parts := []*node{c}
	_, first := n.args[0].split()
	for _, f := range first.factors() {
		if f == oneNode {
			break
		}
		if e, ok := leastPower(n, f.base(), f.exponent()); ok {
			common = append(common, power{f.base(), e})
			parts = append(parts, pow(f.base(), numberNode(e)))
		}
	}
	if len(common) == 0 && c == oneNode {
		return oneNode, n
	}
	inv := pow(c, negNode)
	s := summer{constant: numZero, terms: make([]term, 0, len(n.args))}
	for _, t := range n.args {
		for _, p := range common {
			e, rest := extract(t, p.base)
			t = mul(rest, pow(p.base, numberNode(e.add(p.least.neg()))))
		}
		s.add(numOne, mul(t, inv))
	}
	return mul(parts...), s.sum()
}

// leastPower returns the least exponent of base over the terms of a sum, and
// ok = false if a term lacks it or the signs of the exponents differ.
func leastPower(n, base *node, least number) (number, bool) {
	for _, t := range n.args {
		_, core := t.split()
		found := false
		for _, f := range core.factors() {
			if same(f.base(), base) {
				e := f.exponent()
				if e.sign() != least.sign() || e.isFloat() {
					return least, false
				}
				if e.cmp(least) < 0 && e.sign() > 0 || e.cmp(least) > 0 && e.sign() < 0 {
					least = e
				}
				found = true
				break
			}
		}
		if !found {
			return least, false
		}
	}
	return least, true
}

// numericContent returns the number to take out of a sum: the greatest common
// divisor of its coefficients, with the sign of the first term if all agree.
func numericContent(n *node) number {
	num, den := new(big.Int), big.NewInt(1)
	negatives := 0
	for _, t := range n.args {
		c, _ := t.split()
		if c.isFloat() {
			return numOne
		}
		if c.sign() < 0 {
			negatives++
		}
		if c.isOne() || c.isNeg1() {
			num.SetInt64(1)
			continue
		}
		r := c.rat()
		num.GCD(nil, nil, num, new(big.Int).Abs(r.Num()))
		g := new(big.Int).GCD(nil, nil, den, r.Denom())
		den.Mul(den, new(big.Int).Quo(r.Denom(), g))
	}
	c := ratNumber(new(big.Rat).SetFrac(num, den))
	if negatives == len(n.args) {
		c = c.neg()
	}
	return c
}

// group takes out of some terms of a sum the factor that most of them share,
// and goes on with the rest. It returns nil if that saves nothing.
func group(n *node) *node {
	best, count := sharedFactor(n)
	if count < 2 {
		return nil
	}
	with, without := summer{constant: numZero}, summer{constant: numZero}
	for _, t := range n.args {
		if holds(t, best) {
			_, rest := extract(t, best.base())
			with.add(numOne, rest)
		} else {
			without.add(numOne, t)
		}
	}
	a, b := factor(with.sum()), without.sum()
	if b.op == opSum {
		b = factor(b)
	}
	r := add(mul(best, a), b)
	if r.op == opSum && len(r.args) < len(n.args) {
		r = factor(r)
	}
	if ops(r) >= ops(n) {
		return nil
	}
	return r
}

// holds reports whether a term has exactly the factor f.
func holds(t, f *node) bool {
	_, core := t.split()
	return slices.ContainsFunc(core.factors(), func(g *node) bool { return same(f, g) })
}

// sharedFactor returns the factor that occurs in the most terms of a sum.
func sharedFactor(n *node) (best *node, count int) {
	type tally struct {
		f *node
		n int
	}
	var counts []tally
	index := map[uint64]int{}
	for _, t := range n.args {
		_, core := t.split()
		for _, f := range core.factors() {
			if f.op == opNumber {
				continue
			}
			if i, ok := index[f.hash]; ok && same(counts[i].f, f) {
				counts[i].n++
			} else {
				index[f.hash] = len(counts)
				counts = append(counts, tally{f, 1})
			}
		}
	}
	for _, c := range counts {
		if c.n > count || c.n == count && ops(c.f) > ops(best) {
			best, count = c.f, c.n
		}
	}
	return best, count
}

// Ops returns the number of operations written out in e: additions,
// subtractions, multiplications, divisions, powers and calls; a sign counts
// one. It measures how long a formula is to a reader. Beyond [MaxFormSize] it is
// the number of nodes.
func (e Expr) Ops() int {
	if e.tooLarge() {
		return e.Size()
	}
	return ops(e.node())
}

func ops(n *node) int {
	switch n.op {
	case opNumber:
		if n.num.sign() < 0 {
			return 1
		}
		return 0
	case opSum:
		s := len(n.args) - 1
		for _, a := range n.args {
			s += ops(a)
			if c, _ := a.split(); c.sign() < 0 && s > 0 {
				s-- // a minus sign in place of the plus
			}
		}
		return s
	case opProduct:
		s, below := len(n.args)-1, 0
		for _, a := range n.args {
			s += ops(a)
			if a.exponent().sign() < 0 {
				below++
			}
		}
		// A factor below the stroke divides in place of multiplying.
		return s - min(below, len(n.args)-1)
	case opScaled:
		s := ops(n.args[0])
		switch c := n.num; {
		case c.sign() > 0 && c.isInt() && n.args[0].op == opPower && n.args[0].args[0].op == opNumber:
			// 2√3 is one number to a reader
		case c.isNeg1():
			s++
		case c.isInt():
			s++
			if c.sign() < 0 {
				s++
			}
		default:
			s++
			if p := c.abs(); !(p.p == 1) {
				s++
			}
			if c.sign() < 0 {
				s++
			}
		}
		return s
	case opPower:
		s := ops(n.args[0]) + 1
		if e := n.args[1]; e.op != opNumber {
			s += ops(e)
		} else if !e.num.isNeg1() && e.num.sign() < 0 {
			s++
		}
		return s
	case opCall:
		s := 1
		for _, a := range n.args {
			s += ops(a)
		}
		return s
	}
	return 0
}
