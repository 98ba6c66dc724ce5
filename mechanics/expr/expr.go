package expr

import "math/big"

// An Expr is a mathematical expression. It is an immutable value: copies may
// be used from several goroutines at once. The zero value is the number 0.
//
// Do not compare two with ==, which asks whether they are the same object;
// [Expr.Equal] compares their structure.
type Expr struct{ n *node }

// A Kind says how an expression is put together.
type Kind uint8

// The kinds of expression. There is no kind for differences, quotients and
// roots: a - b is the sum a + (-1)·b, a/b the product a·b^(-1), and √a the
// power a^(1/2).
const (
	KindNumber   Kind = iota // see Number
	KindConstant             // π; Name is "π"
	KindSymbol               // see Name
	KindSum                  // Args are two or more terms; a number comes first
	KindProduct              // Args are two or more factors; a number comes first
	KindPower                // Args are base and exponent
	KindCall                 // Function of Args
)

// String returns the kind's name.
func (k Kind) String() string {
	names := [...]string{"number", "constant", "symbol", "sum", "product", "power", "call"}
	if int(k) < len(names) {
		return names[k]
	}
	return "unknown kind"
}

// A node is the shared, immutable part of an expression.
type node struct {
	op   op
	fn   Function // opCall
	size uint32   // nodes of the tree, saturating
	hash uint64   // of the structure, the same in every run
	mask uint64   // one bit for each symbol inside, by its name's hash
	num  number   // opNumber; the coefficient of opScaled
	name string   // opSymbol
	args []*node
}

// An op is the way a node is stored. A product with a numeric coefficient is
// stored as that number and the rest, so that like terms are found at once.
type op uint8

const (
	opNumber op = iota
	opConstant
	opSymbol
	opSum     // a number first if there is one, then terms ordered by their cores
	opProduct // factors that are neither numbers nor products, ordered by their bases
	opScaled  // num times args[0], which is neither a number nor scaled
	opPower   // args[0] to the args[1]
	opCall
)

// node returns the expression's node; the zero Expr is the number 0.
func (e Expr) node() *node {
	if e.n == nil {
		return zeroNode
	}
	return e.n
}

// Kind returns how e is put together.
func (e Expr) Kind() Kind {
	switch e.node().op {
	case opConstant:
		return KindConstant
	case opSymbol:
		return KindSymbol
	case opSum:
		return KindSum
	case opProduct, opScaled:
		return KindProduct
	case opPower:
		return KindPower
	case opCall:
		return KindCall
	}
	return KindNumber
}

// Args returns the parts of a sum, product, power or call in their order, in a
// new slice. It returns nil for numbers, constants and symbols.
func (e Expr) Args() []Expr {
	n := e.node()
	parts := n.args
	var out []Expr
	if n.op == opScaled {
		out = append(make([]Expr, 0, 4), Expr{numberNode(n.num)})
		if core := n.args[0]; core.op == opProduct {
			parts = core.args
		}
	} else if len(parts) > 0 {
		out = make([]Expr, 0, len(parts))
	}
	for _, a := range parts {
		out = append(out, Expr{a})
	}
	return out
}

// Name returns the name of a symbol, "π" for that constant, the name of the
// function of a call, and "" for anything else.
func (e Expr) Name() string {
	switch n := e.node(); n.op {
	case opSymbol, opConstant:
		return n.name
	case opCall:
		return n.fn.String()
	}
	return ""
}

// Function returns the function of a call, and [FnNone] for anything else.
func (e Expr) Function() Function {
	if n := e.node(); n.op == opCall {
		return n.fn
	}
	return FnNone
}

// Number returns the value of a number. The fraction is exact, and nil if the
// number came from a float64 that stands for no short decimal; f is the
// float64 nearest to the number. Number reports ok = false if e is not a
// number.
func (e Expr) Number() (exact *big.Rat, f float64, ok bool) {
	n := e.node()
	if n.op != opNumber {
		return nil, 0, false
	}
	return n.num.rat(), n.num.float(), true
}

// Integer returns the value of an integer that fits, and ok = false for any
// other expression.
func (e Expr) Integer() (v int64, ok bool) {
	n := e.node()
	if n.op == opNumber && n.num.isInt64() {
		return n.num.p, true
	}
	return 0, false
}

// Coefficient splits e into a number and the rest, e = c·rest, without
// looking inside sums. The rest of a number is 1.
func (e Expr) Coefficient() (c, rest Expr) {
	k, core := e.node().split()
	return Expr{numberNode(k)}, Expr{core}
}

// IsZero reports whether e is the number 0. An expression that is zero without
// showing it, such as sin²x + cos²x - 1, is not.
func (e Expr) IsZero() bool { n := e.node(); return n.op == opNumber && n.num.isZero() }

// IsOne reports whether e is the number 1.
func (e Expr) IsOne() bool { n := e.node(); return n.op == opNumber && n.num.isOne() }

// Hash returns a hash of the structure of e, the same in every run and for
// every expression that is Equal to e.
func (e Expr) Hash() uint64 { return e.node().hash }

// Size returns the number of nodes of e as a tree, shared parts counted each
// time; it stops counting at 2³²-1.
func (e Expr) Size() int { return int(e.node().size) }

// MaxFormSize is the largest tree, in nodes as [Expr.Size] counts them, that is
// brought into another form or written out. An expression that is built by using
// a part over and over grows past it in a few lines; other forms of it would
// fill the memory. It can still be differentiated and evaluated.
const MaxFormSize = 1_000_000

func (e Expr) tooLarge() bool { return e.node().size > MaxFormSize }

// Equal reports whether e and f have the same structure. Equal structure means
// equal value; the converse is the business of package equal.
func (e Expr) Equal(f Expr) bool { return same(e.node(), f.node()) }

// Compare orders expressions by structure: negative if e comes before f, zero
// if they are Equal. The order is the one in which sums and products keep
// their parts.
func (e Expr) Compare(f Expr) int { return order(e.node(), f.node()) }
