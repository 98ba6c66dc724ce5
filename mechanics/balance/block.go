package balance

import (
	"fmt"
	"math"
)

// A Block is a slender uniform block that rocks on the two edges of its base, as
// Housner treats it: angles small, no sliding, no bouncing. For any figure and
// any angle put it on a [Base] and use [Balance.PeriodAt].
type Block struct {
	Half   float64 // half its width, m
	Height float64 // of its centre of gravity, half its own height, m
}

// TippingAngle returns atan(b/h), the lean in rad at which it falls.
// Source: Housner, Bull. Seism. Soc. Am. 53 (1963) 403, Eq. 1 (check-values T1).
func (b Block) TippingAngle() float64 { return math.Atan2(b.Half, b.Height) }

// Rate returns p in 1/s, where p² = 3g/(4R) and R is the distance from an edge to
// the centre of gravity. Source: Housner (1963), as check-values T2 (memory).
func (b Block) Rate(g float64) float64 {
	return math.Sqrt(3 * g / (4 * math.Hypot(b.Half, b.Height)))
}

// Period returns the time in s of one full rocking swing from an amplitude in
// rad below the tipping angle. Source: Housner (1963), as check-values T2 (memory).
func (b Block) Period(amplitude, g float64) (float64, error) {
	if err := allPositive("half width", b.Half, "height of the centre of gravity", b.Height, "gravity", g); err != nil {
		return 0, err
	}
	tip := b.TippingAngle()
	if !(amplitude > 0 && amplitude < tip) {
		return 0, fmt.Errorf("amplitude %v rad is out of range: give one above 0 and below %.4g rad, where the block falls", amplitude, tip)
	}
	return 4 / b.Rate(g) * math.Acosh(1/(1-amplitude/tip)), nil
}

// EnergyKept returns the share of its energy that the block keeps each time it
// lands on its base without bouncing. Source: Housner (1963), as check-values T2
// (memory).
func (b Block) EnergyKept() float64 {
	s := math.Sin(b.TippingAngle())
	k := 1 - 1.5*s*s
	return k * k
}

// TippingAcceleration returns the steady sideways acceleration in m/s² at which
// the block tips. Source: Housner (1963), as check-values T2 (memory).
func (b Block) TippingAcceleration(g float64) float64 { return g * b.Half / b.Height }
