package expr

import "fmt"

// maxSeriesOrder bounds the order of a series: coefficients of order 200 are
// beyond any use in a formula, and symbolic ones grow with the order.
const maxSeriesOrder = 200

// A SeriesError says why an expression has no power series at a point.
type SeriesError struct {
	Part   Expr // the part without one
	About  string
	Reason string
}

func (e *SeriesError) Error() string {
	return fmt.Sprintf("%s has no power series about %s: %s", clip(e.Part.String()), e.About, e.Reason)
}

// Series returns the expansion of e in powers of (name - about), up to and
// with the given order. Negative powers occur where e has a pole. It returns a
// [*SeriesError] where there is no such series, as for √x or |x| about 0, and
// an error for an order below 0 or above 200.
func (e Expr) Series(name string, about Expr, order int) (Expr, error) {
	name = Canonical(name)
	if order < 0 || order > maxSeriesOrder {
		return Expr{}, fmt.Errorf("series of order %d: choose one from 0 to %d", order, maxSeriesOrder)
	}
	if about.Has(name) {
		return Expr{}, fmt.Errorf("series in %s about %s: the point must not depend on %s", name, clip(about.String()), name)
	}
	symbol := symbolNode(name)
	for extra := 0; ; extra = 2*extra + 2 {
		d := developer{symbol: symbol, about: about.node(), n: order + 1 + extra}
		s := d.develop(e.node())
		switch {
		case d.err != nil:
			return Expr{}, d.err
		case s.low+len(s.c) > order || s.exact:
			return Expr{s.polynomial(add(symbol, neg(about.node())), order)}, nil
		case extra > maxSeriesOrder:
			return Expr{}, &SeriesError{e, clip(about.String()), "too many leading terms cancel: simplify it first"}
		}
	}
}

// A series is the sum of c[k]·h^(low+k), known up to the last c. Its first
// coefficient is not zero. An exact one has no terms beyond.
type series struct {
	low   int
	c     []*node
	exact bool
}

func (s series) polynomial(h *node, order int) *node {
	sum := summer{constant: numZero}
	for k, c := range s.c {
		if s.low+k <= order {
			sum.add(numOne, mul(c, pow(h, numberNode(intNumber(int64(s.low+k))))))
		}
	}
	return sum.sum()
}

// at returns the coefficient of h^k.
func (s series) at(k int) *node {
	if k -= s.low; k >= 0 && k < len(s.c) {
		return s.c[k]
	}
	return zeroNode
}

// A developer develops nodes about a point, n coefficients each.
type developer struct {
	symbol, about *node
	n             int
	err           error
	memo          map[*node]series
}

func (d *developer) fail(n *node, reason string) series {
	if d.err == nil {
		d.err = &SeriesError{Expr{n}, clip(Expr{d.about}.String()), reason}
	}
	return constant(oneNode)
}

// constant is an exact series; arithmetic treats missing coefficients as zero.
func constant(n *node) series {
	if n == zeroNode {
		return series{exact: true}
	}
	return series{c: []*node{n}, exact: true}
}

// trim drops leading zeros and coefficients beyond n.
func (d *developer) trim(s series) series {
	for len(s.c) > 0 && vanishes(s.c[0]) {
		s.low, s.c = s.low+1, s.c[1:]
	}
	if len(s.c) > d.n {
		s.c, s.exact = s.c[:d.n], false
	}
	return s
}

// vanishes reports whether n is zero after expansion.
func vanishes(n *node) bool {
	if n == zeroNode || n.op == opNumber {
		return n.num.isZero()
	}
	if n.op == opSymbol || n.op == opConstant {
		return false
	}
	return Expr{n}.SingleAngles().IsZero()
}

func tidy(n *node) *node {
	x := expander{}
	return x.expand(n)
}

func (d *developer) develop(n *node) series {
	if d.err != nil {
		return constant(oneNode)
	}
	if n.mask&d.symbol.mask == 0 {
		return constant(n)
	}
	if s, ok := d.memo[n]; ok {
		return s
	}
	s := d.trim(d.rule(n))
	if d.memo == nil {
		d.memo = make(map[*node]series)
	}
	d.memo[n] = s
	return s
}

func (d *developer) rule(n *node) series {
	switch n.op {
	case opSymbol:
		if n.name == d.symbol.name {
			return d.trim(series{c: []*node{d.about, oneNode}, exact: true})
		}
		return constant(n)
	case opSum:
		with, free := d.apart(n.args)
		s := constant(add(free...))
		for _, a := range with {
			s = d.plus(s, d.develop(a))
		}
		return s
	case opScaled:
		return d.times(constant(numberNode(n.num)), d.develop(n.args[0]))
	case opProduct:
		with, free := d.apart(n.args)
		s := constant(mul(free...))
		for _, a := range with {
			s = d.times(s, d.develop(a))
		}
		return s
	case opPower:
		return d.power(n)
	case opCall:
		return d.call(n)
	}
	return constant(n)
}

// apart returns the parts that hold the symbol and those that are free of it.
func (d *developer) apart(parts []*node) (with, free []*node) {
	for _, a := range parts {
		if has(a, d.symbol) {
			with = append(with, a)
		} else {
			free = append(free, a)
		}
	}
	return with, free
}

// end returns one past the highest power to which s is known.
func (d *developer) end(s series) int {
	if s.exact {
		return 1 << 30
	}
	return s.low + len(s.c)
}

func (d *developer) plus(a, b series) series {
	end := min(d.end(a), d.end(b))
	exact := end == 1<<30
	low := min(a.low, b.low)
	if len(a.c) == 0 && a.exact {
		low = b.low
	} else if len(b.c) == 0 && b.exact {
		low = a.low
	}
	if exact {
		end = max(a.low+len(a.c), b.low+len(b.c))
	}
	s := series{low: low, exact: exact}
	for k := low; k < end; k++ {
		s.c = append(s.c, add(a.at(k), b.at(k)))
	}
	return d.trim(s)
}

func (d *developer) times(a, b series) series {
	if a.exact && len(a.c) == 0 || b.exact && len(b.c) == 0 {
		return series{exact: true}
	}
	n := len(a.c) + len(b.c) - 1
	exact := a.exact && b.exact
	if !a.exact {
		n = min(n, len(a.c))
	}
	if !b.exact {
		n = min(n, len(b.c))
	}
	if (!a.exact || !b.exact) && (a.exact || b.exact) {
		if a.exact {
			n = len(b.c)
		} else {
			n = len(a.c)
		}
	}
	s := series{low: a.low + b.low, exact: exact}
	for k := 0; k < n; k++ {
		sum := summer{constant: numZero}
		for i := max(0, k-len(b.c)+1); i <= k && i < len(a.c); i++ {
			sum.add(numOne, tidy(mul(a.c[i], b.c[k-i])))
		}
		s.c = append(s.c, sum.sum())
	}
	return d.trim(s)
}

// pad returns the coefficients c[0] … c[n-1] of a series without negative
// powers, and how many of them are known.
func (d *developer) pad(s series) []*node {
	n := d.n
	if !s.exact {
		n = min(n, s.low+len(s.c))
	}
	c := make([]*node, max(n, 1))
	for k := range c {
		c[k] = s.at(k)
	}
	return c
}

// power develops b^e.
func (d *developer) power(n *node) series {
	b, e := n.args[0], n.args[1]
	if e.mask&d.symbol.mask != 0 && has(e, d.symbol) {
		return d.develop(call(FnExp, mul(e, call(FnLog, b))))
	}
	s := d.develop(b)
	if d.err != nil {
		return s
	}
	if len(s.c) == 0 {
		if s.exact && e.op == opNumber && e.num.sign() > 0 {
			return series{exact: true}
		}
		return d.fail(n, "its base vanishes there")
	}
	low := intNumber(0)
	if s.low != 0 {
		if e.op != opNumber {
			return d.fail(n, "its base vanishes there and the exponent is not a number")
		}
		if low = e.num.mul(intNumber(int64(s.low))); !low.isInt64() {
			return d.fail(n, "it behaves like a root there")
		}
	}
	if e.op == opNumber && !e.num.isInt64() && s.low != 0 {
		// (h²)^(1/2) is |h|, not h.
		return d.fail(n, "it has a kink there")
	}
	if e.op == opNumber && e.num.isInt64() && e.num.p > 0 && s.exact {
		out := s
		for i := int64(1); i < e.num.p && i < int64(4*d.n); i++ {
			out = d.times(out, s)
		}
		if e.num.p <= int64(4*d.n) {
			return out
		}
	}
	return series{low: int(low.p), c: d.powerRecurrence(s, e)}
}

// powerRecurrence returns the coefficients of (s/h^low)^e:
// k s₀ p_k = Σ_{j=1..k} (e j - (k-j)) s_j p_{k-j}.
// Source: Knuth, The Art of Computer Programming 2, section 4.7, equation (9)
// (the number from memory, unchecked; the tests compare its series with printed ones).
func (d *developer) powerRecurrence(s series, e *node) []*node {
	n := d.n
	if !s.exact {
		n = min(n, len(s.c))
	}
	p := []*node{pow(s.c[0], e)}
	inv := pow(s.c[0], negNode)
	for k := 1; k < n; k++ {
		sum := summer{constant: numZero}
		for j := 1; j <= k && j < len(s.c); j++ {
			w := add(scale(intNumber(int64(j)), e), numberNode(intNumber(int64(j-k))))
			sum.add(numOne, tidy(mul(w, s.c[j], p[k-j])))
		}
		p = append(p, tidy(mul(numberNode(intNumber(int64(k)).inv()), inv, sum.sum())))
	}
	return p
}

func (d *developer) call(n *node) series {
	switch n.fn {
	case FnTan:
		return d.develop(mul(call(FnSin, n.args[0]), pow(call(FnCos, n.args[0]), negNode)))
	case FnTanh:
		return d.develop(mul(call(FnSinh, n.args[0]), pow(call(FnCosh, n.args[0]), negNode)))
	case FnMin, FnMax, FnIfLess, FnIfLessEqual:
		return d.piecewise(n)
	}
	s := d.develop(n.args[0])
	if d.err != nil {
		return s
	}
	if s.low < 0 {
		return d.fail(n, "its argument grows without bound there")
	}
	switch n.fn {
	case FnSin, FnCos, FnSinh, FnCosh:
		return d.pair(n.fn, d.pad(s))
	case FnExp:
		return series{c: d.exponential(d.pad(s))}
	case FnAbs, FnSign:
		if len(s.c) == 0 || s.low > 0 {
			return d.fail(n, "it has a kink there")
		}
		sign := call(FnSign, s.c[0])
		if n.fn == FnSign {
			return constant(sign)
		}
		return d.times(constant(sign), s)
	}
	return d.integral(n)
}

// pair develops sin and cos, or sinh and cosh, together:
// k S_k = Σ j a_j C_{k-j}, k C_k = ∓Σ j a_j S_{k-j}.
func (d *developer) pair(f Function, a []*node) series {
	sf, cf, sign := FnSin, FnCos, numNeg
	if f == FnSinh || f == FnCosh {
		sf, cf, sign = FnSinh, FnCosh, numOne
	}
	s, c := []*node{call(sf, a[0])}, []*node{call(cf, a[0])}
	for k := 1; k < len(a); k++ {
		ss, cs := summer{constant: numZero}, summer{constant: numZero}
		for j := 1; j <= k; j++ {
			w := number{p: int64(j), q: int64(k)}
			w = reduced(w.p, w.q)
			ss.add(numOne, tidy(mul(numberNode(w), a[j], c[k-j])))
			cs.add(numOne, tidy(mul(numberNode(w.mul(sign)), a[j], s[k-j])))
		}
		s, c = append(s, ss.sum()), append(c, cs.sum())
	}
	if f == FnSin || f == FnSinh {
		return series{c: s}
	}
	return series{c: c}
}

// exponential develops exp: k E_k = Σ j a_j E_{k-j}.
func (d *developer) exponential(a []*node) []*node {
	e := []*node{call(FnExp, a[0])}
	for k := 1; k < len(a); k++ {
		sum := summer{constant: numZero}
		for j := 1; j <= k; j++ {
			sum.add(numOne, tidy(mul(numberNode(reduced(int64(j), int64(k))), a[j], e[k-j])))
		}
		e = append(e, sum.sum())
	}
	return e
}

// integral develops a function by integrating the series of its derivative.
func (d *developer) integral(n *node) series {
	at := substitution{mask: d.symbol.mask, to: map[string]*node{d.symbol.name: d.about}}
	value := at.replace(n)
	x := at.replace(n.args[0])
	if n.fn == FnLog && vanishes(x) {
		return d.fail(n, "it grows without bound there")
	}
	if (n.fn == FnAsin || n.fn == FnAcos) && x.op == opNumber && x.num.abs().isOne() {
		return d.fail(n, "it behaves like a root there")
	}
	diff := differ{mask: d.symbol.mask, seed: func(s *node) *node {
		if s.name == d.symbol.name {
			return oneNode
		}
		return zeroNode
	}}
	s := d.develop(diff.diff(n))
	if d.err != nil {
		return s
	}
	if s.low < 0 {
		return d.fail(n, "its derivative grows without bound there")
	}
	c := []*node{value}
	for k, a := range d.pad(s) {
		c = append(c, tidy(scale(intNumber(int64(k+1)).inv(), a)))
	}
	return series{c: c}
}

// piecewise develops the branch that holds around the point, if both sides of
// the condition are numbers there and differ.
func (d *developer) piecewise(n *node) series {
	at := substitution{mask: d.symbol.mask, to: map[string]*node{d.symbol.name: d.about}}
	first, second := at.replace(n.args[0]), at.replace(n.args[1])
	if first.op != opNumber || second.op != opNumber || first.num.cmp(second.num) == 0 ||
		(n.fn == FnMin || n.fn == FnMax) && len(n.args) > 2 {
		return d.fail(n, "which piece holds there is not certain")
	}
	less := first.num.cmp(second.num) < 0
	switch {
	case n.fn == FnIfLess || n.fn == FnIfLessEqual:
		if less {
			return d.develop(n.args[2])
		}
		return d.develop(n.args[3])
	case less == (n.fn == FnMin):
		return d.develop(n.args[0])
	}
	return d.develop(n.args[1])
}
