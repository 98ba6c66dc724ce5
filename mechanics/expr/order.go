package expr

import "strings"

// mix folds x into a hash.
func mix(h, x uint64) uint64 {
	h ^= x
	h *= 0x9E3779B97F4A7C15
	return h ^ h>>29
}

// seal fills in the derived fields of a new node and returns it.
func (n *node) seal() *node {
	h := mix(uint64(n.op)+1, uint64(n.fn))
	var mask uint64
	size := uint64(1)
	switch n.op {
	case opNumber:
		h = mix(h, n.num.hash())
	case opScaled:
		h = mix(h, n.num.hash())
		size++
	case opSymbol, opConstant:
		s := uint64(14695981039346656037) // FNV-1a
		for i := 0; i < len(n.name); i++ {
			s = (s ^ uint64(n.name[i])) * 1099511628211
		}
		h = mix(h, s)
		if n.op == opSymbol {
			mask = 1 << (h >> 58)
		}
	}
	for _, a := range n.args {
		h = mix(h, a.hash)
		mask |= a.mask
		size += uint64(a.size)
	}
	n.hash, n.mask, n.size = h, mask, uint32(min(size, 1<<32-1))
	return n
}

// same reports whether two nodes have the same structure.
func same(a, b *node) bool {
	if a == b {
		return true
	}
	if a.hash != b.hash || a.op != b.op || a.fn != b.fn || a.size != b.size || len(a.args) != len(b.args) {
		return false
	}
	switch a.op {
	case opNumber, opScaled:
		if a.num.cmp(b.num) != 0 {
			return false
		}
	case opSymbol, opConstant:
		return a.name == b.name
	}
	for i := range a.args {
		if !same(a.args[i], b.args[i]) {
			return false
		}
	}
	return true
}

// rank puts the kinds in order. Powers are compared by their bases.
var rank = [...]int8{opNumber: 0, opConstant: 1, opSymbol: 2, opPower: 3, opCall: 4, opProduct: 5, opScaled: 5, opSum: 6}

// base returns what is raised to a numeric power in n, or n.
func (n *node) base() *node {
	if n.op == opPower && n.args[1].op == opNumber {
		return n.args[0]
	}
	return n
}

// exponent returns the numeric power to which n.base() is raised in n.
func (n *node) exponent() number {
	if n.op == opPower && n.args[1].op == opNumber {
		return n.args[1].num
	}
	return numOne
}

// order compares two nodes: first by base, then by exponent; symbols by name.
func order(a, b *node) int {
	if a == b {
		return 0
	}
	if a.op == opPower || b.op == opPower {
		x, y := a.base(), b.base()
		if x != a || y != b {
			if c := order(x, y); c != 0 {
				return c
			}
			return a.exponent().cmp(b.exponent())
		}
	}
	if r, s := rank[a.op], rank[b.op]; r != s {
		return int(r) - int(s)
	}
	switch a.op {
	case opNumber:
		return a.num.cmp(b.num)
	case opSymbol, opConstant:
		return strings.Compare(a.name, b.name)
	case opProduct, opScaled:
		ca, xa := a.split()
		cb, xb := b.split()
		if xa != a || xb != b {
			if c := order(xa, xb); c != 0 {
				return c
			}
			return ca.cmp(cb)
		}
	case opCall:
		if a.fn != b.fn {
			return int(a.fn) - int(b.fn)
		}
	}
	for i := 0; i < len(a.args) && i < len(b.args); i++ {
		if c := order(a.args[i], b.args[i]); c != 0 {
			return c
		}
	}
	return len(a.args) - len(b.args)
}
