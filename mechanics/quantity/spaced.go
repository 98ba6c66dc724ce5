package quantity

import (
	"math"
	"math/big"
)

// Spaced returns the quantity as it would read with a space that was left out
// between two units: "9.81 ms⁻²" is per square millisecond by the rules, and was
// meant as m s⁻² if an acceleration is wanted; "45 Nm^-1" was meant as N m⁻¹ if a
// stiffness is. The report is false if no such space makes the wanted dimension.
func (q Quantity) Spaced(want Dimension) (Quantity, bool) {
	s, err := scan(q.Unit.text)
	if err != nil || q.Unit.text == "" || !isFinite(q.Value) || !isFinite(q.Uncertainty) || q.Unit.dim == want {
		return q, false
	}
	factors, err := s.quotient(0)
	if err != nil {
		return q, false
	}
	for i, f := range factors {
		for at := range f.of.symbol {
			first, ok := bySymbol()[f.of.symbol[:at]]
			rest, ok2 := bySymbol()[f.of.symbol[at:]]
			if !ok || !ok2 {
				continue
			}
			split := append([]factor(nil), factors[:i]...)
			split = append(split, factor{of: first, p: 1, q: 1, below: f.below}, factor{of: rest, p: f.p, q: f.q, below: f.below})
			split = append(split, factors[i+1:]...)
			if unit, scale, err := s.unitOf(split, 0); err == nil && unit.dim == want {
				return q.reread(unit, scale), true
			}
		}
	}
	return q, false
}

// reread returns the quantity with the same number in another unit, whose size
// in SI is scale.
func (q Quantity) reread(unit Unit, scale *big.Rat) Quantity {
	scale.Quo(scale, q.Unit.exactScale())
	rescaled := func(v float64) float64 {
		x, _ := new(big.Rat).Mul(new(big.Rat).SetFloat64(v), scale).Float64()
		return x
	}
	q.Value, q.Uncertainty, q.Unit = rescaled(q.Value), rescaled(q.Uncertainty), unit
	return q
}

func isFinite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }
