package elastic

import (
	"fmt"
	"math"

	"counterpoise/mechanics/body"
)

// A Rod is a straight springy rod.
type Rod struct {
	Length   float64 // free length, m
	Section  Section
	Material body.Material
}

// Check returns an error that names the measure that cannot be.
func (r Rod) Check() error {
	if err := r.Section.Check(); err != nil {
		return err
	}
	if err := positive("length of the rod", r.Length, "density of the rod", r.Material.Density); err != nil {
		return err
	}
	if !(r.Material.Young > 0) {
		return fmt.Errorf("the modulus of elasticity of %s is not known: give Young in Pa", r.Material.Name)
	}
	return nil
}

// Mass returns the rod's mass in kg.
func (r Rod) Mass() float64 { return r.Material.Density * r.Section.Area * r.Length }

// bending returns E I in N m², for the easy direction.
func (r Rod) bending() float64 { return r.Material.Young * r.Section.Weak }

// Ends says how a rod is held and where the force acts.
type Ends int

// The ways of holding.
const (
	ClampedFree    Ends = iota // one end clamped, force at the free end
	Supported                  // both ends rest, force in the middle
	ClampedClamped             // both ends clamped, force in the middle
	ClampedPinned              // one clamped, one rests, force in the middle
)

// Stiffness returns the force for each m of deflection, N/m, where the force acts.
// Source: Roark, Formulas for Stress and Strain, Table 8.1 (check-values E1,
// memory).
func (r Rod) Stiffness(e Ends) (float64, error) {
	if err := r.Check(); err != nil {
		return 0, err
	}
	factor := map[Ends]float64{ClampedFree: 3, Supported: 48, ClampedClamped: 192, ClampedPinned: 768.0 / 7}[e]
	if factor == 0 {
		return 0, fmt.Errorf("unknown way of holding the rod (%d): use ClampedFree, Supported, ClampedClamped or ClampedPinned", e)
	}
	return factor * r.bending() / (r.Length * r.Length * r.Length), nil
}

// StiffnessUnderLoad returns the sideways stiffness of the free end in N/m while a
// load in N presses along a clamped rod, as a weight on an upright rod does; a
// negative load pulls, as a hanging weight does. The load must stay below
// [Rod.BucklingLoad].
//
// Source: Timoshenko and Gere, Theory of Elastic Stability, ch. 1 (from memory,
// unchecked): δ = F (tan u/u - 1) L/P, u² = P L²/(E I).
func (r Rod) StiffnessUnderLoad(load float64) (float64, error) {
	k, err := r.Stiffness(ClampedFree)
	if err != nil {
		return 0, err
	}
	limit, _ := r.BucklingLoad()
	switch {
	case math.IsNaN(load) || math.IsInf(load, 0):
		return 0, fmt.Errorf("load on the rod is %v N: give a finite force", load)
	case load >= limit:
		return 0, fmt.Errorf("the load of %.4g N buckles the rod, which bears %.4g N: use a shorter or thicker rod, or a lighter weight", load, limit)
	}
	u2 := load * r.Length * r.Length / r.bending()
	switch u := math.Sqrt(math.Abs(u2)); {
	case u < 1e-3:
		return k * (1 - 0.4*u2), nil // the first terms of the series, exact to 1e-13
	case load > 0:
		return load / (r.Length * (math.Tan(u)/u - 1)), nil
	default:
		return load / (r.Length * (math.Tanh(u)/u - 1)), nil
	}
}

// BucklingLoad returns the load in N along a rod with one end clamped and one free
// at which it gives way: π² E I/(4 L²). Source: Euler; Timoshenko and Gere, Theory
// of Elastic Stability, ch. 2 (from memory, unchecked).
func (r Rod) BucklingLoad() (float64, error) {
	if err := r.Check(); err != nil {
		return 0, err
	}
	return math.Pi * math.Pi * r.bending() / (4 * r.Length * r.Length), nil
}

// TorsionStiffness returns the torque for each rad of twist, N m/rad: G J/L.
// Source: check-values E5.
func (r Rod) TorsionStiffness() (float64, error) {
	if err := r.Check(); err != nil {
		return 0, err
	}
	if !(r.Material.Shear > 0) {
		return 0, fmt.Errorf("the modulus of rigidity of %s is not known: give Shear in Pa", r.Material.Name)
	}
	return r.Material.Shear * r.Section.Twist / r.Length, nil
}

// equivalent holds which share of the rod's mass counts as if it sat where the force
// acts: ∫w²dx over w² there, with w the shape under a static load.
var equivalent = map[Ends]float64{ClampedFree: 33.0 / 140, Supported: 17.0 / 35, ClampedClamped: 13.0 / 35, ClampedPinned: 764.0 / 1715}

// EquivalentMass returns the share of the rod's mass that counts as if it sat at
// the end of a clamped rod: 33/140, by Rayleigh's method with the shape of a static
// load. Source: Rao, Mechanical Vibrations (check-values E4: number from memory,
// the method seen in Thomson, Theory of Vibration, sec. 2.4).
func (r Rod) EquivalentMass() float64 { return equivalent[ClampedFree] * r.Mass() }

// RayleighFrequency returns the approximate frequency in Hz of a clamped rod with
// a point mass in kg at its end. It is too high by 1.5 % for a bare rod and by
// less than 0.1 % once the mass is that of the rod (check-values E4).
func (r Rod) RayleighFrequency(tip float64) (float64, error) {
	return r.FrequencyHeld(ClampedFree, tip)
}

// FrequencyHeld is RayleighFrequency for any way of holding, with the mass where the
// force acts: at the free end, or in the middle. It is too high by 0.7 % to 1.8 % for a
// bare rod, and by less with a mass.
func (r Rod) FrequencyHeld(e Ends, mass float64) (float64, error) {
	k, err := r.Stiffness(e)
	if err != nil {
		return 0, err
	}
	if !(mass >= 0) || math.IsInf(mass, 0) {
		return 0, fmt.Errorf("mass on the rod is %v kg: give one that is not negative", mass)
	}
	return math.Sqrt(k/(mass+equivalent[e]*r.Mass())) / (2 * math.Pi), nil
}

// TwistFrequency returns the frequency in Hz at which a body at the end of a
// clamped rod twists, its inertia about the rod in kg m², the rod's own left out.
func (r Rod) TwistFrequency(inertia float64) (float64, error) {
	k, err := r.TorsionStiffness()
	if err != nil {
		return 0, err
	}
	if err := positive("inertia about the rod", inertia); err != nil {
		return 0, err
	}
	return math.Sqrt(k/inertia) / (2 * math.Pi), nil
}

// scale returns √(E I/(m L³)), which turns (βL)² into an angular frequency.
func (r Rod) scale() float64 {
	return math.Sqrt(r.bending() / (r.Mass() * r.Length * r.Length * r.Length))
}
