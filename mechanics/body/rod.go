package body

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// A Rod is a straight round rod with square ends. With a diameter of 0 it is a
// thin line whose mass must be given.
type Rod struct {
	From, To Vec     // ends of the axis, m
	Diameter float64 // m
}

// Check implements [Shape].
func (r Rod) Check() error {
	if !isFinite(r.From) || !isFinite(r.To) {
		return errors.New("an end of the rod is not finite: give numbers for its coordinates")
	}
	if r.From == r.To {
		return errors.New("length of the rod is zero: give two different ends")
	}
	return measured("rod", "0diameter", r.Diameter)
}

// Length returns the distance between the ends in m.
func (r Rod) Length() float64 { return r3.Norm(r3.Sub(r.To, r.From)) }

// Geometry implements [Shape]. Source: a solid cylinder, check-values I2
// (Wikiversity, table of moments of inertia).
func (r Rod) Geometry() Geometry {
	along := outer(r3.Unit(r3.Sub(r.To, r.From)))
	radius, l := r.Diameter/2, r.Length()
	across := facing(1, 1, 1).Plus(along.Times(-1))
	return Geometry{
		Volume:   math.Pi * radius * radius * l,
		Centroid: r3.Scale(0.5, r3.Add(r.From, r.To)),
		Second:   across.Times(radius * radius / 4).Plus(along.Times(l * l / 12)),
	}
}

// Drawing implements [Shape].
func (r Rod) Drawing() []Line {
	return []Line{{Kind: Stroke, Points: []Vec{r.From, r.To}, Width: r.Diameter}}
}

// A Wire is a round wire bent at corners: a chain of straight rods. The metal at
// a corner counts for both rods that meet there.
type Wire struct {
	Points   []Vec   // ends and corners of the axis, in order, m
	Diameter float64 // m; 0 for a thin line whose mass must be given
}

// Check implements [Shape].
func (w Wire) Check() error {
	if len(w.Points) < 2 {
		return fmt.Errorf("the wire has %d points: give at least two", len(w.Points))
	}
	for i := range len(w.Points) - 1 {
		if err := (Rod{w.Points[i], w.Points[i+1], w.Diameter}).Check(); err != nil {
			return fmt.Errorf("piece %d of the wire: %w", i+1, err)
		}
	}
	return nil
}

// Length returns the length of the wire's axis in m.
func (w Wire) Length() float64 {
	l := 0.0
	for i := range len(w.Points) - 1 {
		l += r3.Norm(r3.Sub(w.Points[i+1], w.Points[i]))
	}
	return l
}

// Geometry implements [Shape].
func (w Wire) Geometry() Geometry {
	pieces := make([]weighted, 0, len(w.Points))
	for i := range len(w.Points) - 1 {
		rod := Rod{w.Points[i], w.Points[i+1], w.Diameter}
		pieces = append(pieces, weighted{rod.Length(), rod.Geometry()})
	}
	return combine(pieces)
}

// Drawing implements [Shape].
func (w Wire) Drawing() []Line {
	return []Line{{Kind: Stroke, Points: append([]Vec(nil), w.Points...), Width: w.Diameter}}
}

// An Arc is a round wire bent to part of a circle in the x-y plane, about the
// origin. Angles run from the x axis towards the y axis.
type Arc struct {
	Radius   float64 // of the wire's axis, m
	From, To float64 // angles of its ends, rad, at most one turn apart
	Diameter float64 // of the wire, m; 0 for a thin line whose mass must be given
}

// Check implements [Shape].
func (a Arc) Check() error {
	if err := measured("arc", "radius", a.Radius, "0diameter", a.Diameter); err != nil {
		return err
	}
	turn := math.Abs(a.To - a.From)
	switch {
	case !(turn > 0):
		return errors.New("the arc has no length: give two different angles")
	case turn > 2*math.Pi*(1+1e-12):
		return fmt.Errorf("the arc runs over %.4g turns: at most one turn lies in a plane", turn/(2*math.Pi))
	case a.Diameter > 2*a.Radius:
		return fmt.Errorf("the arc's wire (%v m) is thicker than its circle (%v m): enlarge the radius", a.Diameter, 2*a.Radius)
	}
	return nil
}

// Length returns the length of the wire's axis in m.
func (a Arc) Length() float64 { return a.Radius * math.Abs(a.To-a.From) }

// Geometry implements [Shape]: a piece of a torus, exactly. Per unit of angle
// the wire's cross-section of radius r about the radius R has mean distance
// R + r²/(4R) and mean square R² + 3r²/4 from the axis of the torus, weighted by
// distance.
func (a Arc) Geometry() Geometry {
	r := a.Diameter / 2
	half, middle := math.Abs(a.To-a.From)/2, (a.From+a.To)/2
	sin, cos := math.Sincos(middle)
	out, side := V(cos, sin, 0), V(-sin, cos, 0)

	c := (a.Radius + r*r/(4*a.Radius)) * math.Sin(half) / half
	square := a.Radius*a.Radius + 3*r*r/4
	uneven := math.Sin(2*half) / (4 * half)
	second := outer(out).Times(square*(0.5+uneven) - c*c).
		Plus(outer(side).Times(square * (0.5 - uneven))).
		Plus(facing(0, 0, r*r/4))
	return Geometry{math.Pi * r * r * a.Length(), r3.Scale(c, out), second}
}

// Drawing implements [Shape].
func (a Arc) Drawing() []Line {
	n := max(8, int(circleSteps*math.Abs(a.To-a.From)/(2*math.Pi)))
	points := make([]Vec, n+1)
	for i := range points {
		sin, cos := math.Sincos(a.From + (a.To-a.From)*float64(i)/float64(n))
		points[i] = V(a.Radius*cos, a.Radius*sin, 0)
	}
	return []Line{{Kind: Stroke, Points: points, Width: a.Diameter}}
}
