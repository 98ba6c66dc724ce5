package expr

import (
	"fmt"
	"sync"

	"counterpoise/mechanics/quantity"
)

// A DimensionError says where the dimensions of an expression do not fit.
type DimensionError struct {
	Part   Expr   // the smallest part in which they do not fit
	Reason string // what does not fit and the way out
}

func (e *DimensionError) Error() string {
	return fmt.Sprintf("%s: %s", clip(e.Part.String()), e.Reason)
}

// Dimension returns the dimension of e, given those of its symbols. The
// derivative θ' of a symbol θ has that of θ per time unless it is given itself.
// Angles are pure numbers. Dimension returns a [*DimensionError] that names the
// part in which unlike things are added or compared, in which a function or an
// exponent is given something that is not a pure number, or a symbol whose
// dimension is not given.
func Dimension(e Expr, of map[string]quantity.Dimension) (quantity.Dimension, error) {
	d := dimensioner{of: make(map[string]quantity.Dimension, len(of)), memo: map[*node]quantity.Dimension{}}
	for name, dim := range of {
		d.of[Canonical(name)] = dim
	}
	return d.dimension(e.node())
}

type dimensioner struct {
	of   map[string]quantity.Dimension
	memo map[*node]quantity.Dimension
}

// second returns the dimension of time; reading the first unit fills a table,
// which a program that infers no dimensions need not pay for.
var second = sync.OnceValue(func() quantity.Dimension { return quantity.MustUnit("s").Dimension() })

func (d *dimensioner) dimension(n *node) (quantity.Dimension, error) {
	if n.mask == 0 {
		return quantity.Dimension{}, nil // numbers
	}
	if dim, ok := d.memo[n]; ok {
		return dim, nil
	}
	dim, err := d.rule(n)
	if err == nil {
		d.memo[n] = dim
	}
	return dim, err
}

func (d *dimensioner) rule(n *node) (quantity.Dimension, error) {
	switch n.op {
	case opSymbol:
		return d.symbol(n)
	case opSum:
		return d.alike(n, n.args, "added to")
	case opScaled:
		return d.dimension(n.args[0])
	case opProduct:
		var dim quantity.Dimension
		for _, a := range n.args {
			f, err := d.dimension(a)
			if err != nil {
				return dim, err
			}
			dim = dim.Mul(f)
		}
		return dim, nil
	case opPower:
		return d.power(n)
	}
	return d.call(n)
}

func (d *dimensioner) symbol(n *node) (quantity.Dimension, error) {
	if dim, ok := d.of[n.name]; ok {
		return dim, nil
	}
	base := undotted(n.name)
	if dim, ok := d.of[base]; ok && base != n.name {
		return dim.Mul(second().Pow(-(len(n.name) - len(base)), 1)), nil
	}
	return quantity.Dimension{}, &DimensionError{Expr{n}, "the dimension of this symbol is not known: declare it with its unit"}
}

// alike returns the dimension that all parts must share.
func (d *dimensioner) alike(n *node, parts []*node, how string) (quantity.Dimension, error) {
	var dim quantity.Dimension
	for i, a := range parts {
		f, err := d.dimension(a)
		switch {
		case err != nil:
			return dim, err
		case i == 0:
			dim = f
		case f != dim:
			return dim, &DimensionError{Expr{n}, fmt.Sprintf("%s, %s, cannot be %s %s, %s: check for a missing or extra factor",
				clip(Expr{a}.String()), describe(f), how, clip(Expr{parts[0]}.String()), describe(dim))}
		}
	}
	return dim, nil
}

// describe names a dimension: "a length (m)", "m s⁻³", "a pure number".
func describe(dim quantity.Dimension) string {
	noun := dim.Noun()
	switch {
	case dim.IsOne():
		return "a pure number"
	case noun == "":
		return "in " + dim.String()
	}
	article := "a "
	switch noun[0] {
	case 'a', 'e', 'i', 'o', 'u':
		article = "an "
	}
	return article + noun + " (" + dim.String() + ")"
}

func (d *dimensioner) power(n *node) (quantity.Dimension, error) {
	b, err := d.dimension(n.args[0])
	if err != nil {
		return b, err
	}
	if err := d.pure(n, n.args[1], "an exponent"); err != nil {
		return b, err
	}
	if b.IsOne() {
		return b, nil
	}
	const most = 1 << 20 // exponents of units beyond are nonsense
	e := n.args[1]
	if e.op != opNumber || e.num.q < 1 || e.num.q > most || e.num.p > most || e.num.p < -most {
		return b, &DimensionError{Expr{n}, fmt.Sprintf("%s, %s, is raised to a power that is not a plain number: only pure numbers can be",
			clip(Expr{n.args[0]}.String()), describe(b))}
	}
	return b.Pow(int(e.num.p), int(e.num.q)), nil
}

// pure returns an error unless a is a pure number.
func (d *dimensioner) pure(n, a *node, what string) error {
	dim, err := d.dimension(a)
	if err != nil {
		return err
	}
	if !dim.IsOne() {
		return &DimensionError{Expr{n}, fmt.Sprintf("%s is %s, but %s must be a pure number: divide by something of the same kind",
			clip(Expr{a}.String()), describe(dim), what)}
	}
	return nil
}

func (d *dimensioner) call(n *node) (quantity.Dimension, error) {
	var one quantity.Dimension
	switch n.fn {
	case FnAbs:
		return d.dimension(n.args[0])
	case FnSign:
		_, err := d.dimension(n.args[0])
		return one, err
	case FnMin, FnMax:
		return d.alike(n, n.args, "compared with")
	case FnAtan2:
		_, err := d.alike(n, n.args, "compared with")
		return one, err
	case FnIfLess, FnIfLessEqual:
		if _, err := d.alike(n, n.args[:2], "compared with"); err != nil {
			return one, err
		}
		return d.alike(n, n.args[2:], "an alternative to")
	}
	return one, d.pure(n, n.args[0], "what "+n.fn.String()+" is taken of")
}
