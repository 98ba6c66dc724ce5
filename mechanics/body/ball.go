package body

import (
	"fmt"
	"math"
)

// A Point is a mass without size, at the origin of its part. Its mass must be
// given.
type Point struct{}

// Check implements [Shape].
func (Point) Check() error { return nil }

// Geometry implements [Shape].
func (Point) Geometry() Geometry { return Geometry{} }

// Drawing implements [Shape].
func (Point) Drawing() []Line { return []Line{{Kind: Stroke, Points: []Vec{{}}}} }

// A Sphere is a solid ball about the origin.
type Sphere struct {
	Radius float64 // m
}

// Check implements [Shape].
func (s Sphere) Check() error { return measured("sphere", "radius", s.Radius) }

// Geometry implements [Shape]. Source: check-values I3.
func (s Sphere) Geometry() Geometry {
	q := s.Radius * s.Radius / 5
	return Geometry{4 * math.Pi * s.Radius * s.Radius * s.Radius / 3, Vec{}, facing(q, q, q)}
}

// Drawing implements [Shape].
func (s Sphere) Drawing() []Line {
	return []Line{{Kind: Hull, Points: globe(Vec{}, s.Radius, s.Radius, s.Radius)}}
}

// A Shell is a hollow ball about the origin. With an inner radius equal to the
// outer one it is a thin shell whose mass must be given.
type Shell struct {
	Outer, Inner float64 // radii, m
}

// Check implements [Shape].
func (s Shell) Check() error {
	if s.Inner > s.Outer {
		return fmt.Errorf("inner radius of the shell (%v m) is larger than the outer one (%v m): exchange them", s.Inner, s.Outer)
	}
	return measured("shell", "outer radius", s.Outer, "0inner radius", s.Inner)
}

// Geometry implements [Shape]. Source: check-values I6, in which the common
// factor R - r is taken out so that thin shells lose no figures.
func (s Shell) Geometry() Geometry {
	R, r := s.Outer, s.Inner
	volume := 4 * math.Pi / 3 * (R - r) * (R*R + R*r + r*r)
	if R == r {
		q := R * R / 3
		return Geometry{0, Vec{}, facing(q, q, q)}
	}
	q := quintOverCube(R, r) / 5
	return Geometry{volume, Vec{}, facing(q, q, q)}
}

// quintOverCube returns (a⁵-b⁵)/(a³-b³).
func quintOverCube(a, b float64) float64 {
	return (a*a*a*a + a*a*a*b + a*a*b*b + a*b*b*b + b*b*b*b) / (a*a + a*b + b*b)
}

// Drawing implements [Shape].
func (s Shell) Drawing() []Line { return Sphere{s.Outer}.Drawing() }

// A Cap is what a plane cuts off a solid ball. Its flat face lies in the x-z
// plane about the origin, the dome rises along y.
type Cap struct {
	Radius float64 // of the ball, m
	Height float64 // of the dome above the face, m, at most 2 Radius
}

// Hemisphere returns half a solid ball, flat face down.
func Hemisphere(radius float64) Cap { return Cap{radius, radius} }

// Check implements [Shape].
func (c Cap) Check() error {
	if err := measured("cap", "radius", c.Radius, "height", c.Height); err != nil {
		return err
	}
	if c.Height > 2*c.Radius {
		return fmt.Errorf("the cap's height (%v m) is more than its ball's diameter (%v m): lower it", c.Height, 2*c.Radius)
	}
	return nil
}

// Geometry implements [Shape]. Source: check-values C7; the inertia from the
// same integrals over discs at depth t below the top, radius² 2Rt - t².
func (c Cap) Geometry() Geometry {
	R, h := c.Radius, c.Height
	depth := h * (8*R - 3*h) / (4 * (3*R - h))
	square := 3 * h * h * (5*R - 2*h) / (10 * (3*R - h))
	axis := h * (20*R*R - 15*R*h + 3*h*h) / (10 * (3*R - h))
	return Geometry{math.Pi * h * h * (R - h/3), V(0, h-depth, 0), standing(axis/2, square-depth*depth)}
}

// Drawing implements [Shape].
func (c Cap) Drawing() []Line {
	var points []Vec
	for _, p := range globe(V(0, c.Height-c.Radius, 0), c.Radius, c.Radius, c.Radius) {
		if p.Y >= 0 {
			points = append(points, p)
		}
	}
	rim := math.Sqrt(c.Height * (2*c.Radius - c.Height))
	return []Line{{Kind: Hull, Points: append(points, circle(Vec{}, rim, axisX, axisZ)...)}}
}

// A Dome is the thin curved skin of a [Cap], without its face: a bowl upside
// down. Its mass follows from its thickness, or is given.
type Dome struct {
	Radius    float64 // of the ball, m
	Height    float64 // m, at most 2 Radius
	Thickness float64 // m, thin beside the radius; 0 if the mass is given
}

// Check implements [Shape].
func (d Dome) Check() error {
	if err := (Cap{d.Radius, d.Height}).Check(); err != nil {
		return err
	}
	return measured("dome", "0thickness", d.Thickness)
}

// Geometry implements [Shape]. Equal heights of a sphere have equal areas
// (Archimedes), so the skin is spread evenly over its height. Thickness counts
// for the volume only.
func (d Dome) Geometry() Geometry {
	R, h := d.Radius, d.Height
	above := R - h/2 // of the centre of the sphere
	across := (R*R - above*above - h*h/12) / 2
	return Geometry{2 * math.Pi * R * h * d.Thickness, V(0, h/2, 0), standing(across, h*h/12)}
}

// Drawing implements [Shape].
func (d Dome) Drawing() []Line { return Cap{d.Radius, d.Height}.Drawing() }

// An Ellipsoid is solid, about the origin, with its axes along x, y, z.
type Ellipsoid struct {
	X, Y, Z float64 // half axes, m
}

// Check implements [Shape].
func (e Ellipsoid) Check() error {
	return measured("ellipsoid", "half axis x", e.X, "half axis y", e.Y, "half axis z", e.Z)
}

// Geometry implements [Shape]. Source: a ball stretched along its axes.
func (e Ellipsoid) Geometry() Geometry {
	return Geometry{4 * math.Pi * e.X * e.Y * e.Z / 3, Vec{}, facing(e.X*e.X/5, e.Y*e.Y/5, e.Z*e.Z/5)}
}

// Drawing implements [Shape].
func (e Ellipsoid) Drawing() []Line {
	return []Line{{Kind: Hull, Points: globe(Vec{}, e.X, e.Y, e.Z)}}
}
