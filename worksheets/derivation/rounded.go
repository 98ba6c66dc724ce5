package derivation

import (
	"math"
	"math/big"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/expr/equal"
)

// rounded reports whether two sides agree but for the rounding of the decimal
// numbers that are written in a line with ≈, such as v ≈ 1.41 √(g h).
func (b *board) rounded(s *system, x, y expr.Expr, l link) bool {
	slack := max(rounding(l.a), rounding(l.b))
	if slack == 0 {
		return false
	}
	// |x - y| may be at most slack times |x|: look for a point where it is more.
	o := b.options(s)
	gap := expr.Abs(expr.Sub(x, y))
	most := expr.Mul(expr.Num(slack), expr.Abs(x))
	v, _ := inequality(gap, most, "<", o)
	return v == yes && equal.Compare(x, expr.Expr{}, o).Verdict == equal.Different
}

// rounding is the largest relative error that rounding the decimal numbers in e
// makes, half a unit of the last digit, but not more than two per cent; 0 if
// there are none.
func rounding(e expr.Expr) (worst float64) {
	const largest = 0.02
	if exact, f, ok := e.Number(); ok {
		if exact == nil {
			return 0
		}
		for places, scale := 1, big.NewInt(10); places <= 6; places++ {
			if new(big.Int).Mod(scale, exact.Denom()).Sign() == 0 {
				if exact.IsInt() || exact.Denom().IsInt64() && exact.Denom().Int64() < 5 {
					return 0 // 2, 1/2 and 3/4 are as likely exact
				}
				return min(largest, 0.5*math.Pow(10, -float64(places))/math.Abs(f))
			}
			scale = new(big.Int).Mul(scale, big.NewInt(10))
		}
		return 0
	}
	for _, a := range e.Args() {
		worst = max(worst, rounding(a))
	}
	return worst
}
