package slip

import (
	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/quantity"
)

// dimension returns the dimension of a part by its first terms; ok is false
// where it cannot be told. It does not check that terms agree: a key is known
// to be sound.
func (f *Finder) dimension(e expr.Expr) (d quantity.Dimension, ok bool) {
	switch e.Kind() {
	case expr.KindNumber, expr.KindConstant:
		return quantity.One, true
	case expr.KindSymbol:
		sym, known := f.o.Symbols[e.Name()]
		return sym.Dimension, known
	case expr.KindSum:
		for _, a := range e.Args() {
			if d, ok = f.dimension(a); ok && d != quantity.One {
				return d, true
			}
		}
		return d, ok
	case expr.KindProduct:
		for _, a := range e.Args() {
			one, known := f.dimension(a)
			if !known {
				return d, false
			}
			d = d.Mul(one)
		}
		return d, true
	case expr.KindPower:
		a := e.Args()
		exact, _, isNumber := a[1].Number()
		base, known := f.dimension(a[0])
		if !isNumber || exact == nil || !known || !exact.Num().IsInt64() || !exact.Denom().IsInt64() {
			return base, known && base == quantity.One
		}
		return base.Pow(int(exact.Num().Int64()), int(exact.Denom().Int64())), true
	}
	return quantity.One, true
}
