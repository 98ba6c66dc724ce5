package elastic

import (
	"fmt"
	"math"

	"counterpoise/mechanics/body"
)

// A Coil is a helical spring of round wire.
type Coil struct {
	Wire     float64 // diameter of the wire, m
	Mean     float64 // mean diameter of the coil: outside less wire, m
	Turns    float64 // active turns
	Material body.Material
}

// Check returns an error that names the measure that cannot be.
func (c Coil) Check() error {
	if err := positive("wire diameter", c.Wire, "mean diameter of the coil", c.Mean, "number of turns", c.Turns); err != nil {
		return err
	}
	if c.Mean <= c.Wire {
		return fmt.Errorf("the coil's mean diameter (%v m) is not larger than its wire (%v m): give the diameter from wire middle to wire middle", c.Mean, c.Wire)
	}
	if !(c.Material.Shear > 0) {
		return fmt.Errorf("the modulus of rigidity of %s is not known: give Shear in Pa", c.Material.Name)
	}
	return nil
}

// Stiffness returns the rate of the spring in N/m: G d⁴/(8 D³ N). Source: Shigley,
// Mechanical Engineering Design, Example 10-1 (check-values E6, memory).
func (c Coil) Stiffness() (float64, error) {
	if err := c.Check(); err != nil {
		return 0, err
	}
	return c.Material.Shear * math.Pow(c.Wire, 4) / (8 * math.Pow(c.Mean, 3) * c.Turns), nil
}

// Mass returns the mass in kg of the active turns, wound closely.
func (c Coil) Mass() float64 {
	return c.Material.Density * math.Pi / 4 * c.Wire * c.Wire * math.Pi * c.Mean * c.Turns
}

// EquivalentMass returns the share of the mass of a hanging spring that counts as
// if it sat at its end: a third. Source: Rayleigh; Thomson, Theory of Vibration,
// Example 2.4-1 (check-values E8, seen).
func (c Coil) EquivalentMass() float64 { return c.Mass() / 3 }

// Frequency returns the frequency in Hz at which a mass in kg bounces on the
// spring, a third of the spring's own included.
func (c Coil) Frequency(mass float64) (float64, error) {
	k, err := c.Stiffness()
	if err != nil {
		return 0, err
	}
	if !(mass >= 0) || math.IsInf(mass, 0) {
		return 0, fmt.Errorf("mass on the spring is %v kg: give one that is not negative", mass)
	}
	return math.Sqrt(k/(mass+c.EquivalentMass())) / (2 * math.Pi), nil
}

// Stress returns the largest shear stress in Pa in the wire under a force in N,
// with Wahl's factor for the curvature. Source: Shigley, Mechanical Engineering
// Design, ch. 10 (from memory, unchecked).
func (c Coil) Stress(force float64) float64 {
	index := c.Mean / c.Wire
	wahl := (4*index-1)/(4*index-4) + 0.615/index
	return wahl * 8 * math.Abs(force) * c.Mean / (math.Pi * math.Pow(c.Wire, 3))
}

// InSeries returns the stiffness of springs one after the other.
// Source: check-values E8.
func InSeries(k ...float64) float64 {
	give := 0.0
	for _, v := range k {
		give += 1 / v
	}
	return 1 / give
}

// SideBySide returns the stiffness of springs that share a load.
// Source: check-values E8.
func SideBySide(k ...float64) float64 {
	sum := 0.0
	for _, v := range k {
		sum += v
	}
	return sum
}
