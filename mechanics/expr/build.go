package expr

import (
	"math"
	"math/big"
	"slices"
)

var (
	zeroNode = newNumber(numZero)
	oneNode  = newNumber(numOne)
	negNode  = newNumber(numNeg)
	twoNode  = newNumber(intNumber(2))
	halfNode = newNumber(numHalf)
	piNode   = (&node{op: opConstant, name: "π"}).seal()
)

// Pi is the ratio of a circle's circumference to its diameter.
var Pi = Expr{piNode}

func newNumber(v number) *node { return (&node{op: opNumber, num: v}).seal() }

func numberNode(v number) *node {
	if v.q == 1 {
		switch v.p {
		case 0:
			return zeroNode
		case 1:
			return oneNode
		case -1:
			return negNode
		case 2:
			return twoNode
		}
	}
	return newNumber(v)
}

// Sym returns the symbol with the given name, which may be in any spelling
// that [Canonical] understands. The name π (or pi) is the constant [Pi].
func Sym(name string) Expr {
	name = Canonical(name)
	if name == piNode.name {
		return Pi
	}
	return Expr{symbolNode(name)}
}

func symbolNode(canonical string) *node { return (&node{op: opSymbol, name: canonical}).seal() }

// Int returns the integer n.
func Int(n int64) Expr { return Expr{numberNode(intNumber(n))} }

// Rat returns the fraction p/q exactly. With q = 0 it is an expression that has
// no value.
func Rat(p, q int64) Expr {
	if q == 0 {
		return Div(Int(p), Int(0))
	}
	return Expr{numberNode(ratNumber(big.NewRat(p, q)))}
}

// BigRat returns the fraction r exactly; r may be changed afterwards.
func BigRat(r *big.Rat) Expr { return Expr{numberNode(ratNumber(new(big.Rat).Set(r)))} }

// Num returns the number v. A float64 whose shortest decimal has at most 15
// digits, such as 9.81, is taken as exactly that decimal (981/100), so that
// folding stays exact; any other is kept as a float64 and makes what it is
// folded with inexact too. Either way it evaluates to v. Num of a value that
// is not finite gives an expression that does not evaluate.
func Num(v float64) Expr { return Expr{numberNode(decimalNumber(v))} }

// split returns the numeric coefficient and the rest of n.
func (n *node) split() (number, *node) {
	switch n.op {
	case opNumber:
		return n.num, oneNode
	case opScaled:
		return n.num, n.args[0]
	}
	return numOne, n
}

// scale returns c times n.
func scale(c number, n *node) *node {
	switch {
	case c.isOne():
		return n
	case c.isZero():
		return zeroNode
	case n.op == opNumber:
		return numberNode(c.mul(n.num))
	case n.op == opScaled:
		if c = c.mul(n.num); c.isOne() {
			return n.args[0]
		}
		n = n.args[0]
	}
	return (&node{op: opScaled, num: c, args: []*node{n}}).seal()
}

func neg(n *node) *node { return scale(numNeg, n) }

// A term is one summand: coef times core; whole is the same as a node, or nil.
type term struct {
	coef  number
	core  *node
	whole *node
}

// A summer adds up terms.
type summer struct {
	constant number
	terms    []term
}

func (s *summer) add(c number, n *node) {
	switch n.op {
	case opNumber:
		s.constant = s.constant.add(c.mul(n.num))
	case opSum:
		if !c.isOne() {
			s.terms = append(s.terms, term{coef: c, core: n})
			return
		}
		for _, a := range n.args {
			s.add(numOne, a)
		}
	case opScaled:
		t := term{coef: c.mul(n.num), core: n.args[0]}
		if c.isOne() {
			t.whole = n
		}
		s.terms = append(s.terms, t)
	default:
		t := term{coef: c, core: n}
		if c.isOne() {
			t.whole = n
		}
		s.terms = append(s.terms, t)
	}
}

func orderTerms(a, b term) int { return order(a.core, b.core) }

// sum returns what was added.
func (s *summer) sum() *node {
	if !slices.IsSortedFunc(s.terms, orderTerms) {
		slices.SortStableFunc(s.terms, orderTerms)
	}
	out := s.terms[:0]
	for i := 0; i < len(s.terms); {
		t := s.terms[i]
		for i++; i < len(s.terms) && same(t.core, s.terms[i].core); i++ {
			t.coef, t.whole = t.coef.add(s.terms[i].coef), nil
		}
		if !t.coef.isZero() {
			out = append(out, t)
		}
	}
	n := len(out)
	if !s.constant.isZero() {
		n++
	}
	switch {
	case n == 0:
		return zeroNode
	case len(out) == 0:
		return numberNode(s.constant)
	case n == 1:
		return out[0].node()
	}
	args := make([]*node, 0, n)
	if !s.constant.isZero() {
		args = append(args, numberNode(s.constant))
	}
	for _, t := range out {
		args = append(args, t.node())
	}
	return (&node{op: opSum, args: args}).seal()
}

func (t term) node() *node {
	if t.whole != nil {
		return t.whole
	}
	return scale(t.coef, t.core)
}

func add(terms ...*node) *node {
	var room [8]term
	s := summer{constant: numZero, terms: room[:0]}
	for _, t := range terms {
		s.add(numOne, t)
	}
	return s.sum()
}

// mul returns the product of the factors.
func mul(factors ...*node) *node {
	var room [8]*node
	coef, parts := numOne, room[:0]
	for _, f := range factors {
		if f.op == opNumber {
			coef = coef.mul(f.num)
			continue
		}
		if f.op == opScaled {
			coef, f = coef.mul(f.num), f.args[0]
		}
		if f.op == opProduct {
			parts = append(parts, f.args...)
		} else {
			parts = append(parts, f)
		}
	}
	if coef.isZero() {
		if slices.ContainsFunc(parts, isOverZero) {
			return numberNode(floatNumber(math.NaN())) // 0/0
		}
		return zeroNode
	}
	if !slices.IsSortedFunc(parts, order) {
		slices.SortStableFunc(parts, order)
	}
	out := parts[:0]
	for i := 0; i < len(parts); {
		f, base := parts[i], parts[i].base()
		j := i + 1
		for ; j < len(parts) && same(base, parts[j].base()); j++ {
		}
		if j > i+1 {
			e := numZero
			for _, p := range parts[i:j] {
				e = e.add(p.exponent())
			}
			f = pow(base, numberNode(e))
			if f.op == opNumber || f.op == opScaled || f.op == opProduct || !same(f.base(), base) {
				// The base came loose, as in (ab)^(1/2) squared, or changed, as in
				// a^x squared. Start again with its parts in order.
				rest := append([]*node{numberNode(coef), f}, out...)
				return mul(append(rest, parts[j:]...)...)
			}
		}
		out = append(out, f)
		i = j
	}
	var core *node
	switch len(out) {
	case 0:
		return numberNode(coef)
	case 1:
		core = out[0]
	default:
		core = (&node{op: opProduct, args: slices.Clone(out)}).seal()
	}
	return scale(coef, core)
}

// isOverZero reports whether n is 0 to a negative power.
func isOverZero(n *node) bool {
	b := n.base()
	return b.op == opNumber && b.num.isZero() && n.exponent().sign() < 0
}

// pow returns b to the power e.
func pow(b, e *node) *node {
	if e.op == opNumber {
		switch {
		case e.num.isZero():
			return oneNode
		case e.num.isOne():
			return b
		}
		if n := powNumber(b, e.num); n != nil {
			return n
		}
	}
	if b == oneNode {
		return oneNode
	}
	return (&node{op: opPower, args: []*node{b, e}}).seal()
}

// powNumber returns b^e where that folds or distributes without a change of
// value, and nil otherwise.
func powNumber(b *node, e number) *node {
	if b.op == opNumber {
		if r, ok := foldPower(b.num, e); ok {
			return numberNode(r)
		}
		return nil
	}
	if !e.isInt64() {
		return nil
	}
	switch b.op {
	case opPower:
		return pow(b.args[0], mul(b.args[1], numberNode(e)))
	case opScaled:
		if c, ok := b.num.pow(e.p); ok {
			return scale(c, pow(b.args[0], numberNode(e)))
		}
	case opProduct:
		parts := make([]*node, len(b.args))
		for i, a := range b.args {
			parts[i] = pow(a, numberNode(e))
		}
		return mul(parts...)
	}
	return nil
}

// foldPower returns b^e if it is a number that can be written out.
func foldPower(b, e number) (number, bool) {
	switch {
	case e.isInt64():
		return b.pow(e.p)
	case b.isOne():
		return b, true
	case b.isFloat() || e.isFloat():
		v := floatPow(b.float(), e.float())
		r := floatNumber(v)
		return r, !r.isNaN() && v-v == 0
	case e.q > 1:
		if r, ok := b.root(e.q); ok {
			return r.pow(e.p)
		}
	}
	return b, false
}

// Add returns the sum of the terms, 0 if there are none.
func Add(terms ...Expr) Expr {
	s := summer{constant: numZero, terms: make([]term, 0, len(terms)+4)}
	for _, t := range terms {
		s.add(numOne, t.node())
	}
	return Expr{s.sum()}
}

// Mul returns the product of the factors, 1 if there are none.
func Mul(factors ...Expr) Expr {
	ns := make([]*node, len(factors))
	for i, f := range factors {
		ns[i] = f.node()
	}
	return Expr{mul(ns...)}
}

// Sub returns a - b.
func Sub(a, b Expr) Expr { return Expr{add(a.node(), neg(b.node()))} }

// Div returns a/b.
func Div(a, b Expr) Expr { return Expr{mul(a.node(), pow(b.node(), negNode))} }

// Pow returns base to the power exponent. A negative base with an exponent
// that is not an integer has no value.
func Pow(base, exponent Expr) Expr { return Expr{pow(base.node(), exponent.node())} }

// Neg returns -a.
func Neg(a Expr) Expr { return Expr{neg(a.node())} }

// Sqrt returns the square root of a, as the power 1/2.
func Sqrt(a Expr) Expr { return Expr{pow(a.node(), halfNode)} }

// Plus returns e + f.
func (e Expr) Plus(f Expr) Expr { return Expr{add(e.node(), f.node())} }

// Minus returns e - f.
func (e Expr) Minus(f Expr) Expr { return Sub(e, f) }

// Times returns e·f.
func (e Expr) Times(f Expr) Expr { return Expr{mul(e.node(), f.node())} }

// Over returns e/f.
func (e Expr) Over(f Expr) Expr { return Div(e, f) }

// Power returns e to the power f.
func (e Expr) Power(f Expr) Expr { return Pow(e, f) }
