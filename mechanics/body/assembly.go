package body

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// An Assembly is a rigid body made of parts. Where parts overlap both count.
// Its methods return NaN where the assembly does not pass Check.
type Assembly []Part

// Check returns all that is wrong with the parts, or nil.
func (a Assembly) Check() error {
	if len(a) == 0 {
		return errors.New("the body has no parts: give at least one")
	}
	var all []error
	for i, p := range a {
		if err := p.Check(); err != nil {
			if p.Name == "" {
				err = fmt.Errorf("part %d: %w", i+1, err)
			}
			all = append(all, err)
		}
	}
	if all != nil {
		return errors.Join(all...)
	}
	if m := a.mass(); !(m > 0) || math.IsInf(m, 0) {
		return fmt.Errorf("the body's mass is %v kg: its holes must weigh less than its parts", m)
	}
	return nil
}

func (a Assembly) mass() float64 {
	m := 0.0
	for _, p := range a {
		m += p.mass()
	}
	return m
}

// Mass returns the mass in kg.
func (a Assembly) Mass() float64 {
	if a.Check() != nil {
		return math.NaN()
	}
	return a.mass()
}

// CentreOfGravity returns the centre of gravity in m.
func (a Assembly) CentreOfGravity() Vec { return a.Rigid().CentreOfGravity }

// InertiaAbout returns the tensor of inertia about a point, kg m².
func (a Assembly) InertiaAbout(point Vec) Tensor { return a.Rigid().InertiaAbout(point) }

// MomentAbout returns the moment of inertia in kg m² about the axis through a
// point in a direction.
func (a Assembly) MomentAbout(point, direction Vec) float64 {
	return a.InertiaAbout(point).Along(direction)
}

// RadiusOfGyration returns the distance in m from the axis at which the whole
// mass would have the same moment of inertia.
func (a Assembly) RadiusOfGyration(point, direction Vec) float64 {
	r := a.Rigid()
	return math.Sqrt(r.InertiaAbout(point).Along(direction) / r.Mass)
}

// Moved returns the assembly shifted by v.
func (a Assembly) Moved(v Vec) Assembly {
	out := make(Assembly, len(a))
	for i, p := range a {
		out[i] = p.Moved(v)
	}
	return out
}

// Turned returns the assembly turned like [Part.Turned].
func (a Assembly) Turned(angle float64, about, axis Vec) Assembly {
	out := make(Assembly, len(a))
	for i, p := range a {
		out[i] = p.Turned(angle, about, axis)
	}
	return out
}

// A Rigid body is all of an assembly that its motion depends on.
type Rigid struct {
	Mass            float64 // kg
	CentreOfGravity Vec     // m
	Inertia         Tensor  // about the centre of gravity, kg m²
}

// Rigid returns the assembly's mass, centre of gravity and inertia; NaN in each
// where the assembly does not pass Check.
func (a Assembly) Rigid() Rigid {
	if a.Check() != nil {
		nan := math.NaN()
		return Rigid{nan, V(nan, nan, nan), Tensor{nan, nan, nan, nan, nan, nan}}
	}
	r := Rigid{Mass: a.mass()}
	for _, p := range a {
		r.CentreOfGravity = addScaled(r.CentreOfGravity, p.mass()/r.Mass, p.centre())
	}
	for _, p := range a {
		r.Inertia = r.Inertia.Plus(p.inertiaAbout(r.CentreOfGravity))
	}
	return r
}

// InertiaAbout returns the tensor of inertia about a point (parallel axes), kg m².
func (r Rigid) InertiaAbout(point Vec) Tensor {
	d := r3.Sub(r.CentreOfGravity, point)
	return r.Inertia.Plus(inertiaOf(outer(d)).Times(r.Mass))
}

// String says mass and centre of gravity in g and mm.
func (r Rigid) String() string {
	c := r.CentreOfGravity
	return fmt.Sprintf("%.4g g, centre of gravity at (%.4g, %.4g, %.4g) mm", r.Mass*1e3, c.X*1e3, c.Y*1e3, c.Z*1e3)
}
