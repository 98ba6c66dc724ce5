package body

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// A Part is a shape of some material in its place.
type Part struct {
	Name     string
	Shape    Shape
	Material Material
	Given    float64     // mass in kg if it was weighed; 0 = from volume and density
	Hole     bool        // its mass is taken away: a hole in another part
	Turn     r3.Rotation // turned about the shape's own origin first; zero = not turned
	At       Vec         // then moved, m
}

// Check returns an error that names what is wrong with the part.
func (p Part) Check() error {
	if err := p.check(); err != nil {
		if p.Name != "" {
			return fmt.Errorf("%s: %w", p.Name, err)
		}
		return err
	}
	return nil
}

func (p Part) check() error {
	if p.Shape == nil {
		return fmt.Errorf("the part has no shape: give one")
	}
	if err := p.Shape.Check(); err != nil {
		return err
	}
	if !isFinite(p.At) {
		return fmt.Errorf("the part's place %v is not finite: give numbers", p.At)
	}
	size := math.Sqrt(p.Turn.Real*p.Turn.Real + p.Turn.Imag*p.Turn.Imag + p.Turn.Jmag*p.Turn.Jmag + p.Turn.Kmag*p.Turn.Kmag)
	if p.Turn != (r3.Rotation{}) && !(math.Abs(size-1) < 1e-9) {
		return fmt.Errorf("the part's rotation is not one of length 1 (%v): make it with r3.NewRotation", size)
	}
	switch m := p.Given; {
	case math.IsNaN(m) || math.IsInf(m, 0):
		return fmt.Errorf("mass of the part is %v: give a finite mass", m)
	case m < 0:
		return fmt.Errorf("mass of the part is negative (%v kg): give it as a positive mass, and mark a hole as a hole", m)
	case m > 0:
		return nil
	}
	switch d := p.Material.Density; {
	case math.IsNaN(d) || math.IsInf(d, 0) || d < 0:
		return fmt.Errorf("density of the part is %v kg/m³: give a positive density", d)
	case d == 0:
		return fmt.Errorf("the part has neither mass nor material: give one of them")
	case p.Shape.Geometry().Volume == 0:
		return fmt.Errorf("the part has no thickness, so its mass cannot follow from its material: give its mass or its thickness")
	}
	return nil
}

// Volume returns the part's volume in m³, negative for a hole; NaN where the part
// does not pass Check, as all that follows.
func (p Part) Volume() float64 {
	if p.check() != nil {
		return math.NaN()
	}
	return p.sign() * p.Shape.Geometry().Volume
}

// Mass returns the part's mass in kg, negative for a hole.
func (p Part) Mass() float64 {
	if p.check() != nil {
		return math.NaN()
	}
	return p.mass()
}

func (p Part) mass() float64 {
	if p.Given != 0 {
		return p.sign() * p.Given
	}
	return p.sign() * p.Material.Density * p.Shape.Geometry().Volume
}

func (p Part) sign() float64 {
	if p.Hole {
		return -1
	}
	return 1
}

// CentreOfGravity returns the part's own centre of gravity in m.
func (p Part) CentreOfGravity() Vec {
	if p.check() != nil {
		return V(math.NaN(), math.NaN(), math.NaN())
	}
	return p.centre()
}

func (p Part) centre() Vec { return p.place(p.Shape.Geometry().Centroid) }

func (p Part) place(v Vec) Vec { return r3.Add(turn(p.Turn, v), p.At) }

// InertiaAbout returns the part's tensor of inertia about a point, kg m².
func (p Part) InertiaAbout(point Vec) Tensor {
	if p.check() != nil {
		nan := math.NaN()
		return Tensor{nan, nan, nan, nan, nan, nan}
	}
	return p.inertiaAbout(point)
}

func (p Part) inertiaAbout(point Vec) Tensor {
	g := p.Shape.Geometry()
	d := r3.Sub(p.place(g.Centroid), point)
	return inertiaOf(g.Second.Turned(p.Turn)).Plus(inertiaOf(outer(d))).Times(p.mass())
}

// Drawing returns the part's lines as seen from the front, along -z, with hulls
// resolved to outlines. Points keep their depth z where it is known.
func (p Part) Drawing() []Line {
	if p.Check() != nil {
		return nil
	}
	lines := p.Shape.Drawing()
	for i := range lines {
		for j, v := range lines[i].Points {
			lines[i].Points[j] = p.place(v)
		}
		lines[i].Hole = lines[i].Hole || p.Hole
	}
	return flat(lines)
}

// Moved returns the part shifted by v.
func (p Part) Moved(v Vec) Part {
	p.At = r3.Add(p.At, v)
	return p
}

// Turned returns the part turned about an axis through the point about in
// direction axis, by an angle in rad, counter-clockwise for one who looks
// against the axis.
func (p Part) Turned(angle float64, about, axis Vec) Part {
	r := r3.NewRotation(angle, axis)
	p.At = r3.Add(about, r.Rotate(r3.Sub(p.At, about)))
	p.Turn = compose(r, p.Turn)
	return p
}

// compose returns the rotation that does b first and then a.
func compose(a, b r3.Rotation) r3.Rotation {
	if isIdentity(b) {
		return a
	}
	if isIdentity(a) {
		return b
	}
	return r3.Rotation{
		Real: a.Real*b.Real - a.Imag*b.Imag - a.Jmag*b.Jmag - a.Kmag*b.Kmag,
		Imag: a.Real*b.Imag + a.Imag*b.Real + a.Jmag*b.Kmag - a.Kmag*b.Jmag,
		Jmag: a.Real*b.Jmag - a.Imag*b.Kmag + a.Jmag*b.Real + a.Kmag*b.Imag,
		Kmag: a.Real*b.Kmag + a.Imag*b.Jmag - a.Jmag*b.Imag + a.Kmag*b.Real,
	}
}
