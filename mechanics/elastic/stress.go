package elastic

import (
	"fmt"
	"math"

	"counterpoise/mechanics/body"
)

// BendingStress returns the largest stress in Pa at the clamp of a rod whose free
// end is bent aside by a deflection in m: 3 E c δ/L².
// Common practice, no source.
func (r Rod) BendingStress(deflection float64) (float64, error) {
	if err := r.Check(); err != nil {
		return 0, err
	}
	return 3 * r.Material.Young * r.Section.Edge * math.Abs(deflection) / (r.Length * r.Length), nil
}

// TwistStress returns the largest shear stress in Pa in a round rod that is
// twisted by an angle in rad: G r φ/L. Common practice, no source.
func (r Rod) TwistStress(angle float64) (float64, error) {
	if _, err := r.TorsionStiffness(); err != nil {
		return 0, err
	}
	return r.Material.Shear * r.Section.Edge * math.Abs(angle) / r.Length, nil
}

// DeflectionAtYield returns how far in m the free end of the rod may be bent aside
// before it stays bent. It is an error if the material's yield stress is not known.
func (r Rod) DeflectionAtYield() (float64, error) {
	perMetre, err := r.BendingStress(1)
	if err != nil {
		return 0, err
	}
	if !(r.Material.Yield > 0) {
		return 0, fmt.Errorf("the yield stress of %s is not known: give Yield in Pa", r.Material.Name)
	}
	return r.Material.Yield / perMetre, nil
}

// safeShare is the share of the yield stress from which a caution is given:
// clamps, bends and scratches raise the stress above what is computed.
// Common practice, no source.
const safeShare = 0.7

// Caution returns what to tell somebody who would load a material to a stress in
// Pa, or "" where it is safe. A material whose yield stress is not known gets a
// caution too.
func Caution(stress float64, m body.Material) string {
	const wear = " Wear eye protection: springy ends flick, and pieces that break fly."
	switch share := math.Abs(stress) / m.Yield; {
	case !(m.Yield > 0):
		return fmt.Sprintf("Caution: the yield stress of %s is not known here; look it up before you load it to %.3g MPa.%s", m.Name, math.Abs(stress)/1e6, wear)
	case math.IsNaN(share):
		return "Caution: the stress is not a number; check the measures." + wear
	case share >= 1:
		return fmt.Sprintf("Caution: at %.3g MPa the %s bends for good (it yields at %.3g MPa). Use a longer or thinner rod, a smaller swing, or a harder wire.%s", math.Abs(stress)/1e6, m.Name, m.Yield/1e6, wear)
	case share >= safeShare:
		return fmt.Sprintf("Caution: %.3g MPa is %.0f %% of the stress at which %s bends for good; at a clamp or a scratch it may.%s", math.Abs(stress)/1e6, 100*share, m.Name, wear)
	}
	return ""
}
