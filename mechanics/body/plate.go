package body

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

// A Spot is a point in the plane of a plate.
type Spot = r2.Vec

// maxCorners bounds an outline: crossings are sought pair by pair.
const maxCorners = 1000

// A Plate is a flat sheet in the x-y plane whose outline is any polygon, given
// clockwise or counter-clockwise. Its middle plane is z = 0.
type Plate struct {
	Outline   []Spot   // corners, m; the last is joined to the first
	Holes     [][]Spot // outlines of holes, inside the outline and apart
	Thickness float64  // m; 0 if the mass is given
}

// Rectangle returns the outline of a rectangle about the origin.
func Rectangle(width, height float64) []Spot {
	return []Spot{{X: -width / 2, Y: -height / 2}, {X: width / 2, Y: -height / 2}, {X: width / 2, Y: height / 2}, {X: -width / 2, Y: height / 2}}
}

// RegularPolygon returns the outline of a regular polygon about the origin, its
// first corner on the x axis: the outer radius in m. A plate can have 3 to 1000
// corners; outside 0 to 1001 the nearest of these is taken, which Check refuses.
func RegularPolygon(corners int, radius float64) []Spot {
	corners = min(max(corners, 0), maxCorners+1)
	outline := make([]Spot, corners)
	for i := range outline {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / float64(corners))
		outline[i] = Spot{X: radius * cos, Y: radius * sin}
	}
	return outline
}

// Check implements [Shape].
func (p Plate) Check() error {
	if err := checkOutline("outline of the plate", p.Outline); err != nil {
		return err
	}
	area := math.Abs(areaOf(p.Outline))
	for i, h := range p.Holes {
		name := fmt.Sprintf("hole %d of the plate", i+1)
		if err := checkOutline(name, h); err != nil {
			return err
		}
		if !inside(h[0], p.Outline) {
			return fmt.Errorf("%s lies outside the outline: move it", name)
		}
		area -= math.Abs(areaOf(h))
	}
	if area <= 0 {
		return errors.New("the plate's holes leave nothing of it: make them smaller")
	}
	return measured("plate", "0thickness", p.Thickness)
}

func checkOutline(name string, outline []Spot) error {
	n := len(outline)
	if n < 3 || n > maxCorners {
		return fmt.Errorf("%s has %d corners: give from 3 to %d", name, n, maxCorners)
	}
	for i, s := range outline {
		if math.IsNaN(s.X+s.Y) || math.IsInf(s.X+s.Y, 0) {
			return fmt.Errorf("corner %d of the %s is not finite: give numbers", i+1, name)
		}
	}
	if areaOf(outline) == 0 {
		return fmt.Errorf("%s encloses nothing: its corners lie on a line", name)
	}
	for i := range n {
		for j := i + 2; j < n; j++ {
			if i == 0 && j == n-1 {
				continue
			}
			if cross(outline[i], outline[i+1], outline[j], outline[(j+1)%n]) {
				return fmt.Errorf("%s crosses itself between corners %d and %d: put the corners in order round the edge", name, i+1, j+1)
			}
		}
	}
	return nil
}

// cross reports whether the segments ab and cd cross inside both.
func cross(a, b, c, d Spot) bool {
	side := func(p, q, r Spot) float64 { return r2.Cross(r2.Sub(q, p), r2.Sub(r, p)) }
	return side(a, b, c)*side(a, b, d) < 0 && side(c, d, a)*side(c, d, b) < 0
}

// inside reports whether p lies inside the outline, by counting crossings.
func inside(p Spot, outline []Spot) bool {
	in := false
	for i, a := range outline {
		b := outline[(i+1)%len(outline)]
		if (a.Y > p.Y) != (b.Y > p.Y) && p.X < (b.X-a.X)*(p.Y-a.Y)/(b.Y-a.Y)+a.X {
			in = !in
		}
	}
	return in
}

func areaOf(outline []Spot) float64 { return areaMoments(outline, outline[0]).area }

// planar holds the moments of a plane figure about some origin.
type planar struct {
	area       float64
	x, y       float64 // ∫x dA, ∫y dA
	xx, yy, xy float64
}

// areaMoments integrates over a polygon by Green's theorem, about the point o:
// exact for straight edges. Clockwise outlines come out negative.
func areaMoments(outline []Spot, o Spot) planar {
	var m planar
	for i, p := range outline {
		q := outline[(i+1)%len(outline)]
		a, b := r2.Sub(p, o), r2.Sub(q, o)
		c := r2.Cross(a, b)
		m.area += c / 2
		m.x += c * (a.X + b.X) / 6
		m.y += c * (a.Y + b.Y) / 6
		m.xx += c * (a.X*a.X + a.X*b.X + b.X*b.X) / 12
		m.yy += c * (a.Y*a.Y + a.Y*b.Y + b.Y*b.Y) / 12
		m.xy += c * (a.X*b.Y + 2*a.X*a.Y + 2*b.X*b.Y + b.X*a.Y) / 24
	}
	return m
}

func (m planar) plus(f float64, n planar) planar {
	return planar{m.area + f*n.area, m.x + f*n.x, m.y + f*n.y, m.xx + f*n.xx, m.yy + f*n.yy, m.xy + f*n.xy}
}

// Geometry implements [Shape].
func (p Plate) Geometry() Geometry {
	o := p.Outline[0]
	for range 2 { // once to find the centroid, once about it, which loses fewer figures
		m := p.moments(o)
		o = r2.Add(o, Spot{X: m.x / m.area, Y: m.y / m.area})
	}
	m := p.moments(o)
	return Geometry{
		m.area * p.Thickness, V(o.X, o.Y, 0),
		Tensor{XX: m.xx / m.area, YY: m.yy / m.area, ZZ: p.Thickness * p.Thickness / 12, XY: m.xy / m.area},
	}
}

// moments returns the plate's moments about o, area positive, holes taken away.
func (p Plate) moments(o Spot) planar {
	signed := func(outline []Spot) planar {
		m := areaMoments(outline, o)
		return planar{}.plus(math.Copysign(1, m.area), m)
	}
	m := signed(p.Outline)
	for _, h := range p.Holes {
		m = m.plus(-1, signed(h))
	}
	return m
}

// Drawing implements [Shape].
func (p Plate) Drawing() []Line {
	loop := func(outline []Spot, hole bool) Line {
		points := make([]Vec, len(outline))
		for i, s := range outline {
			points[i] = V(s.X, s.Y, 0)
		}
		return Line{Kind: Outline, Points: points, Closed: true, Hole: hole}
	}
	lines := []Line{loop(p.Outline, false)}
	for _, h := range p.Holes {
		lines = append(lines, loop(h, true))
	}
	return lines
}

// A Sector is a slice of a disc in the x-y plane, its point at the origin and
// its middle along x. A half angle of π/2 is half a disc.
type Sector struct {
	Radius    float64 // m
	Half      float64 // half its angle, rad, at most π
	Thickness float64 // m; 0 if the mass is given
}

// Check implements [Shape].
func (s Sector) Check() error {
	if err := measured("sector", "radius", s.Radius, "0thickness", s.Thickness); err != nil {
		return err
	}
	return checkHalf("sector", s.Half)
}

func checkHalf(shape string, half float64) error {
	if !(half > 0 && half <= math.Pi) {
		return fmt.Errorf("half angle of the %s is %v: give one between 0 and π (180°)", shape, half)
	}
	return nil
}

// Geometry implements [Shape]. Source: check-values C2.
func (s Sector) Geometry() Geometry {
	R, a := s.Radius, s.Half
	c := 2 * R * math.Sin(a) / (3 * a)
	uneven := math.Sin(2*a) / (2 * a)
	return Geometry{
		a * R * R * s.Thickness, V(c, 0, 0),
		facing(R*R/4*(1+uneven)-c*c, R*R/4*(1-uneven), s.Thickness*s.Thickness/12),
	}
}

// Drawing implements [Shape].
func (s Sector) Drawing() []Line {
	return []Line{{Kind: Outline, Points: append(bow(s.Radius, s.Half), Vec{}), Closed: true}}
}

func bow(radius, half float64) []Vec {
	points := make([]Vec, circleSteps/2+1)
	for i := range points {
		sin, cos := math.Sincos(half * (4*float64(i)/circleSteps - 1))
		points[i] = V(radius*cos, radius*sin, 0)
	}
	return points
}

// A Segment is what a chord cuts off a disc in the x-y plane, on the side of
// positive x; the origin is the disc's centre.
type Segment struct {
	Radius    float64 // of the disc, m
	Half      float64 // half the angle of the arc, rad, at most π
	Thickness float64 // m; 0 if the mass is given
}

// Check implements [Shape].
func (s Segment) Check() error {
	if err := measured("segment", "radius", s.Radius, "0thickness", s.Thickness); err != nil {
		return err
	}
	return checkHalf("segment", s.Half)
}

// Geometry implements [Shape]: a sector less (or plus) a triangle. Source:
// check-values C3. Below a half angle of 0.05 figures are lost to the difference.
func (s Segment) Geometry() Geometry {
	R, a := s.Radius, s.Half
	sin, cos := math.Sincos(a)
	area := R * R * (a - sin*cos)
	c := 2 * R * R * R * sin * sin * sin / (3 * area)
	triangle := R * R * sin * cos
	xx := R*R*R*R/4*(a+sin*cos) - triangle*R*R*cos*cos/2
	yy := R*R*R*R/4*(a-sin*cos) - triangle*R*R*sin*sin/6
	return Geometry{area * s.Thickness, V(c, 0, 0), facing(xx/area-c*c, yy/area, s.Thickness*s.Thickness/12)}
}

// Drawing implements [Shape].
func (s Segment) Drawing() []Line {
	return []Line{{Kind: Outline, Points: bow(s.Radius, s.Half), Closed: true}}
}
