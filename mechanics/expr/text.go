package expr

import (
	"fmt"
	"strings"
)

// Precedence of what stands in a text.
const (
	precSum = iota
	precProduct
	precPower
	precAtom
)

// String returns e on one line of plain text, with * between factors:
// m*g*l*(1 - cos(θ)). Package typeset writes it as people do. Beyond
// [MaxFormSize] it says so instead.
func (e Expr) String() string {
	if e.tooLarge() {
		return fmt.Sprintf("(a formula of %d parts)", e.Size())
	}
	text, _ := text(e.node())
	return text
}

// text returns a node as text with the precedence of its outermost operation.
func text(n *node) (string, int) {
	switch n.op {
	case opNumber:
		s := n.num.String()
		switch {
		case n.num.sign() < 0:
			return s, precSum
		case strings.Contains(s, "/"):
			return s, precProduct
		}
		return s, precAtom
	case opSymbol, opConstant:
		return n.name, precAtom
	case opSum:
		var b strings.Builder
		for i, a := range positiveFirst(n.args) {
			s, _ := text(a)
			switch {
			case i == 0:
				b.WriteString(s)
			case strings.HasPrefix(s, "-"):
				b.WriteString(" - " + s[1:])
			default:
				b.WriteString(" + " + s)
			}
		}
		return b.String(), precSum
	case opProduct, opScaled:
		return productText(n)
	case opPower:
		if e := n.args[1]; e.op == opNumber && e.num.sign() < 0 {
			return productText(n)
		}
		return wrapped(n.args[0], precAtom) + "^" + wrapped(n.args[1], precAtom), precPower
	}
	var args []string
	for _, a := range n.args {
		s, _ := text(a)
		args = append(args, s)
	}
	return fmt.Sprintf("%s(%s)", n.fn, strings.Join(args, ", ")), precAtom
}

// positiveFirst returns the terms with one in front that has no minus sign, if
// there is one: x - 1, not -1 + x.
func positiveFirst(terms []*node) []*node {
	for i, t := range terms {
		if c, _ := t.split(); c.sign() >= 0 {
			if i == 0 {
				return terms
			}
			out := append([]*node{t}, terms[:i]...)
			return append(out, terms[i+1:]...)
		}
	}
	return terms
}

// wrapped returns the text of n in brackets if it binds less than least.
func wrapped(n *node, least int) string {
	s, p := text(n)
	if p < least {
		return "(" + s + ")"
	}
	return s
}

// productText writes a product with its negative powers below a stroke.
func productText(n *node) (string, int) {
	c, core := n.split()
	factors := []*node{core}
	if core.op == opProduct {
		factors = core.args
	}
	sign := ""
	if c.sign() < 0 {
		sign, c = "-", c.neg()
	}
	var above, below []string
	switch {
	case c.q > 1:
		below = append(below, intNumber(c.q).String())
		if c.p != 1 {
			above = append(above, intNumber(c.p).String())
		}
	case !c.isOne():
		s := c.String()
		if strings.Contains(s, "/") {
			s = "(" + s + ")"
		}
		above = append(above, s)
	}
	for _, f := range factors {
		if e := f.exponent(); e.sign() < 0 {
			below = append(below, wrapped(pow(f.base(), numberNode(e.neg())), precPower))
		} else {
			above = append(above, wrapped(f, precPower))
		}
	}
	if len(above) == 0 {
		above = []string{"1"}
	}
	s := sign + strings.Join(above, "*")
	switch len(below) {
	case 0:
	case 1:
		s += "/" + below[0]
	default:
		s += "/(" + strings.Join(below, "*") + ")"
	}
	if sign != "" {
		return s, precSum
	}
	return s, precProduct
}
