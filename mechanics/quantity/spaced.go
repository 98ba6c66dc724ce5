package quantity

import (
	"math"
	"math/big"
	"strings"
)

// Spaced returns the quantity as it would read with a space that was left out
// behind a metre: "9.81 ms⁻²" is per square millisecond by the rules, and was meant
// as m s⁻² if an acceleration is wanted. The report is false if no such space makes
// the wanted dimension.
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
		rest, ok := bySymbol()[strings.TrimPrefix(f.of.symbol, "m")]
		if !ok || !strings.HasPrefix(f.of.symbol, "m") || f.of.symbol == "m" {
			continue
		}
		split := append([]factor(nil), factors[:i]...)
		split = append(split, factor{of: bySymbol()["m"], p: 1, q: 1, below: f.below}, factor{of: rest, p: f.p, q: f.q, below: f.below})
		split = append(split, factors[i+1:]...)
		unit, scale, err := s.unitOf(split, 0)
		if err != nil || unit.dim != want {
			continue
		}
		scale.Quo(scale, q.Unit.exactScale())
		rescaled := func(v float64) float64 {
			x, _ := new(big.Rat).Mul(new(big.Rat).SetFloat64(v), scale).Float64()
			return x
		}
		q.Value, q.Uncertainty, q.Unit = rescaled(q.Value), rescaled(q.Uncertainty), unit
		return q, true
	}
	return q, false
}

func isFinite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }
