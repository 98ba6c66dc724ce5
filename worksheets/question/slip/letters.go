package slip

import (
	"slices"
	"strings"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/quantity"
)

// dim returns the dimension of a symbol and whether it is known.
func (f *Finder) dim(name string) quantity.Dimension { return f.o.Symbols[name].Dimension }

// sameKind reports whether two symbols have the same dimension.
func (f *Finder) sameKind(a, b string) bool { return f.dim(a) == f.dim(b) }

func (f *Finder) isLength(name string) bool { return f.dim(name) == quantity.Length }

// round reports whether a symbol is a radius or a diameter, by its meaning or,
// where none is given, by its letter.
func (f *Finder) round(name string) bool {
	if !f.isLength(name) && f.o.Symbols[name].Unit != "" {
		return false
	}
	if means := strings.ToLower(f.o.Symbols[name].Means); means != "" {
		return strings.Contains(means, "radius") || strings.Contains(means, "diameter") || strings.Contains(means, "curvature")
	}
	letter, _, _ := strings.Cut(name, "_")
	return slices.Contains([]string{"d", "D", "r", "R", "ρ"}, letter)
}

// hasRadius reports whether a radius is among the symbols of the key.
func (f *Finder) hasRadius() bool {
	for _, name := range f.key.Symbols() {
		letter, _, _ := strings.Cut(name, "_")
		means := strings.ToLower(f.o.Symbols[name].Means)
		if f.round(name) && !strings.Contains(means, "diameter") && (strings.Contains(means, "radius") || letter == "r" || letter == "R") {
			return true
		}
	}
	return false
}

// made reports whether e is no sum and all its symbols have one of these
// dimensions or none.
func (f *Finder) made(e expr.Expr, of ...quantity.Dimension) bool {
	if e.Kind() == expr.KindSum {
		return false
	}
	for _, name := range e.Symbols() {
		if d := f.dim(name); !d.IsOne() && !slices.Contains(of, d) {
			return false
		}
	}
	return true
}

// hasModulus reports whether a modulus of elasticity is among the symbols.
func (f *Finder) hasModulus() bool {
	for _, name := range f.key.Symbols() {
		if f.dim(name) == quantity.Pressure {
			return true
		}
	}
	return false
}

// count reports whether a symbol is a whole number of things, by its letter and
// the values that it takes.
func (f *Finder) count(name string) bool {
	letter, _, _ := strings.Cut(name, "_")
	return f.dim(name).IsOne() && slices.Contains([]string{"n", "N", "k", "K", "i", "j", "Z"}, letter) && f.o.Symbols[name].Range.To >= 3
}

// isAngle reports whether a symbol may be an angle: a pure number.
func (f *Finder) isAngle(name string) bool { return f.dim(name).IsOne() }

// uncertainty reports whether a symbol is an uncertainty, by its meaning or
// its letter.
func (f *Finder) uncertainty(name string) bool {
	letter, sub, _ := strings.Cut(name, "_")
	means := strings.ToLower(f.o.Symbols[name].Means)
	return strings.Contains(means, "uncertainty") || strings.Contains(means, "deviation") || means == "" && sub != "" && (letter == "u" || letter == "σ")
}

// cyclic reports whether a symbol is a rate of cycles or of radians.
func (f *Finder) cyclic(name string) bool {
	return f.dim(name) == quantity.Frequency
}
