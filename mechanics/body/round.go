package body

import (
	"fmt"
	"math"
)

// A Cylinder stands on the x-z plane about the origin and rises along y.
type Cylinder struct {
	Radius, Height float64 // m
}

// Check implements [Shape].
func (c Cylinder) Check() error {
	return measured("cylinder", "radius", c.Radius, "height", c.Height)
}

// Geometry implements [Shape]. Source: check-values I2.
func (c Cylinder) Geometry() Geometry {
	return Geometry{math.Pi * c.Radius * c.Radius * c.Height, V(0, c.Height/2, 0), standing(c.Radius*c.Radius/4, c.Height*c.Height/12)}
}

// Drawing implements [Shape].
func (c Cylinder) Drawing() []Line { return Frustum{c.Radius, c.Radius, c.Height}.Drawing() }

// A Tube is a hollow [Cylinder], open at both ends. With an inner radius equal
// to the outer one it is thin and its mass must be given.
type Tube struct {
	Outer, Inner, Height float64 // m
}

// Check implements [Shape].
func (t Tube) Check() error {
	if t.Inner > t.Outer {
		return fmt.Errorf("inner radius of the tube (%v m) is larger than the outer one (%v m): exchange them", t.Inner, t.Outer)
	}
	return measured("tube", "outer radius", t.Outer, "0inner radius", t.Inner, "height", t.Height)
}

// Geometry implements [Shape]. Source: check-values I6.
func (t Tube) Geometry() Geometry {
	return Geometry{
		math.Pi * (t.Outer - t.Inner) * (t.Outer + t.Inner) * t.Height, V(0, t.Height/2, 0),
		standing((t.Outer*t.Outer+t.Inner*t.Inner)/4, t.Height*t.Height/12),
	}
}

// Drawing implements [Shape].
func (t Tube) Drawing() []Line { return Frustum{t.Outer, t.Outer, t.Height}.Drawing() }

// A Cone stands on the x-z plane about the origin, its apex at height on y.
type Cone struct {
	Radius, Height float64 // m
}

// Check implements [Shape].
func (c Cone) Check() error { return measured("cone", "radius", c.Radius, "height", c.Height) }

// Geometry implements [Shape]. Source: check-values C6, I5.
func (c Cone) Geometry() Geometry {
	return Geometry{
		math.Pi * c.Radius * c.Radius * c.Height / 3, V(0, c.Height/4, 0),
		standing(3*c.Radius*c.Radius/20, 3*c.Height*c.Height/80),
	}
}

// Drawing implements [Shape].
func (c Cone) Drawing() []Line { return Frustum{c.Radius, 0, c.Height}.Drawing() }

// A Frustum is a cone with its point cut off, standing on the x-z plane. One of
// its radii may be 0.
type Frustum struct {
	Base, Top, Height float64 // radii and height, m
}

// Check implements [Shape].
func (f Frustum) Check() error {
	if f.Base == 0 && f.Top == 0 {
		return fmt.Errorf("both radii of the frustum are zero: give one of them")
	}
	return measured("frustum", "0base radius", f.Base, "0top radius", f.Top, "height", f.Height)
}

// Geometry implements [Shape]. Source: check-values C8; the inertia from the
// same integrals over discs.
func (f Frustum) Geometry() Geometry {
	a, b, h := f.Base, f.Top, f.Height
	s := a*a + a*b + b*b
	up := h * (a*a + 2*a*b + 3*b*b) / (4 * s)
	square := h * h * (a*a + 3*a*b + 6*b*b) / (10 * s)
	return Geometry{math.Pi * h * s / 3, V(0, up, 0), standing(3*quintOverCube(a, b)/20, square-up*up)}
}

// Drawing implements [Shape].
func (f Frustum) Drawing() []Line {
	return []Line{{Kind: Hull, Points: append(circle(Vec{}, f.Base, axisX, axisZ), circle(V(0, f.Height, 0), f.Top, axisX, axisZ)...)}}
}

// A Paraboloid stands on the x-z plane about the origin, its vertex at height
// on y.
type Paraboloid struct {
	Radius, Height float64 // m
}

// Check implements [Shape].
func (p Paraboloid) Check() error {
	return measured("paraboloid", "radius", p.Radius, "height", p.Height)
}

// Geometry implements [Shape]. Its discs shrink evenly with height.
func (p Paraboloid) Geometry() Geometry {
	return Geometry{
		math.Pi * p.Radius * p.Radius * p.Height / 2, V(0, p.Height/3, 0),
		standing(p.Radius*p.Radius/6, p.Height*p.Height/18),
	}
}

// Drawing implements [Shape].
func (p Paraboloid) Drawing() []Line {
	var points []Vec
	for i := range 25 {
		up := float64(i) / 24
		points = append(points, circle(V(0, up*p.Height, 0), p.Radius*math.Sqrt(1-up), axisX, axisZ)...)
	}
	return []Line{{Kind: Hull, Points: points}}
}

// A Torus is a solid ring in the x-y plane about the origin. With a tube radius
// of 0 it is a thin hoop whose mass must be given.
type Torus struct {
	Radius float64 // from the centre to the middle of the tube, m
	Tube   float64 // radius of the tube, m
}

// Ring returns a ring of round wire in the x-y plane: mean radius and wire
// diameter in m.
func Ring(radius, diameter float64) Torus { return Torus{radius, diameter / 2} }

// Check implements [Shape].
func (t Torus) Check() error {
	if err := measured("ring", "radius", t.Radius, "0tube radius", t.Tube); err != nil {
		return err
	}
	if t.Tube > t.Radius {
		return fmt.Errorf("the ring's tube (radius %v m) is thicker than the ring (%v m): enlarge the radius", t.Tube, t.Radius)
	}
	return nil
}

// Geometry implements [Shape]. Source: check-values I7 (Hill, Learning
// Scientific Programming with Python, problem P8.2.3).
func (t Torus) Geometry() Geometry {
	c, a := t.Radius, t.Tube
	plane := c*c/2 + 3*a*a/8
	return Geometry{2 * math.Pi * math.Pi * c * a * a, Vec{}, facing(plane, plane, a*a/4)}
}

// Drawing implements [Shape].
func (t Torus) Drawing() []Line {
	return []Line{{Kind: Stroke, Points: circle(Vec{}, t.Radius, axisX, axisY), Width: 2 * t.Tube, Closed: true}}
}

// A Disc lies in the x-y plane about the origin. With a thickness of 0 its mass
// must be given.
type Disc struct {
	Radius, Thickness float64 // m
}

// Check implements [Shape].
func (d Disc) Check() error { return measured("disc", "radius", d.Radius, "0thickness", d.Thickness) }

// Geometry implements [Shape]. Source: check-values I2.
func (d Disc) Geometry() Geometry {
	q := d.Radius * d.Radius / 4
	return Geometry{math.Pi * d.Radius * d.Radius * d.Thickness, Vec{}, facing(q, q, d.Thickness*d.Thickness/12)}
}

// Drawing implements [Shape].
func (d Disc) Drawing() []Line {
	return []Line{{Kind: Hull, Points: append(circle(V(0, 0, d.Thickness/2), d.Radius, axisX, axisY), circle(V(0, 0, -d.Thickness/2), d.Radius, axisX, axisY)...)}}
}

// A Washer is a flat ring in the x-y plane about the origin.
type Washer struct {
	Outer, Inner, Thickness float64 // radii and thickness, m
}

// Check implements [Shape].
func (w Washer) Check() error {
	if w.Inner >= w.Outer {
		return fmt.Errorf("hole of the washer (radius %v m) is not smaller than the washer (%v m): exchange them", w.Inner, w.Outer)
	}
	return measured("washer", "outer radius", w.Outer, "0inner radius", w.Inner, "0thickness", w.Thickness)
}

// Geometry implements [Shape]. Source: check-values I6.
func (w Washer) Geometry() Geometry {
	q := (w.Outer*w.Outer + w.Inner*w.Inner) / 4
	return Geometry{math.Pi * (w.Outer - w.Inner) * (w.Outer + w.Inner) * w.Thickness, Vec{}, facing(q, q, w.Thickness*w.Thickness/12)}
}

// Drawing implements [Shape].
func (w Washer) Drawing() []Line {
	return []Line{
		{Kind: Outline, Points: circle(Vec{}, w.Outer, axisX, axisY), Closed: true},
		{Kind: Outline, Points: circle(Vec{}, w.Inner, axisX, axisY), Closed: true, Hole: true},
	}
}

// An EllipticDisc lies in the x-y plane about the origin.
type EllipticDisc struct {
	X, Y      float64 // half axes, m
	Thickness float64 // m; 0 if the mass is given
}

// Check implements [Shape].
func (e EllipticDisc) Check() error {
	return measured("elliptic disc", "half axis x", e.X, "half axis y", e.Y, "0thickness", e.Thickness)
}

// Geometry implements [Shape]. Source: a disc stretched along its axes.
func (e EllipticDisc) Geometry() Geometry {
	return Geometry{math.Pi * e.X * e.Y * e.Thickness, Vec{}, facing(e.X*e.X/4, e.Y*e.Y/4, e.Thickness*e.Thickness/12)}
}

// Drawing implements [Shape].
func (e EllipticDisc) Drawing() []Line {
	return []Line{{Kind: Outline, Points: circle(Vec{}, 1, V(e.X, 0, 0), V(0, e.Y, 0)), Closed: true}}
}
