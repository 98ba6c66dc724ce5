package expr

// Subs returns e with each named symbol replaced by the expression given for
// it, all at once: values are not searched for further symbols.
func (e Expr) Subs(values map[string]Expr) Expr {
	s := substitution{to: make(map[string]*node, len(values))}
	for name, v := range values {
		symbol := symbolNode(Canonical(name))
		s.to[symbol.name] = v.node()
		s.mask |= symbol.mask
	}
	return Expr{s.replace(e.node())}
}

// SubsValues returns e with each named symbol replaced by a number, see [Num].
func (e Expr) SubsValues(values map[string]float64) Expr {
	to := make(map[string]Expr, len(values))
	for name, v := range values {
		to[name] = Num(v)
	}
	return e.Subs(to)
}

type substitution struct {
	mask uint64
	to   map[string]*node
	memo map[*node]*node
}

func (s *substitution) replace(n *node) *node {
	if n.mask&s.mask == 0 {
		return n
	}
	if n.op == opSymbol {
		if to, ok := s.to[n.name]; ok {
			return to
		}
		return n
	}
	if n.size < memoSize {
		return n.withArgs(s.replace)
	}
	if r, ok := s.memo[n]; ok {
		return r
	}
	r := n.withArgs(s.replace)
	if s.memo == nil {
		s.memo = make(map[*node]*node)
	}
	s.memo[n] = r
	return r
}

// withArgs rebuilds n from its arguments after f, and returns n itself if f
// changed none of them.
func (n *node) withArgs(f func(*node) *node) *node {
	var room [8]*node
	args, changed := room[:0], false
	for _, a := range n.args {
		b := f(a)
		changed = changed || b != a
		args = append(args, b)
	}
	if !changed {
		return n
	}
	return n.rebuild(args)
}

// rebuild returns n with other arguments.
func (n *node) rebuild(args []*node) *node {
	switch n.op {
	case opSum:
		return add(args...)
	case opProduct:
		return mul(args...)
	case opScaled:
		return scale(n.num, args[0])
	case opPower:
		return pow(args[0], args[1])
	case opCall:
		return call(n.fn, args...)
	}
	return n
}
