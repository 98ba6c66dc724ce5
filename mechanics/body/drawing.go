package body

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"
)

// A Kind says how the points of a Line make a picture.
type Kind int

// The kinds of line.
const (
	Stroke  Kind = iota // an open or closed line of the given width
	Outline             // the edge of a flat face, closed
	Hull                // points whose convex hull, seen from anywhere, is the outline
)

// A Line is part of the drawing of a shape.
type Line struct {
	Kind   Kind
	Points []Vec   // m
	Width  float64 // of a Stroke, m; 0 for a hair line
	Closed bool
	Hole   bool // the face lacks this
}

// circleSteps draws a circle by so many points: straight pieces cannot be seen.
const circleSteps = 72

// circle returns points on a circle about c in the plane of the unit vectors u
// and v.
func circle(c Vec, radius float64, u, v Vec) []Vec {
	points := make([]Vec, circleSteps)
	for i := range points {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / circleSteps)
		points[i] = addScaled(addScaled(c, radius*cos, u), radius*sin, v)
	}
	return points
}

var (
	axisX = V(1, 0, 0)
	axisY = V(0, 1, 0)
	axisZ = V(0, 0, 1)
)

// globe returns points on a ball, dense enough for a hull from any side.
func globe(c Vec, x, y, z float64) []Vec {
	const rings = 25
	var points []Vec
	for i := range rings {
		sin, cos := math.Sincos(math.Pi * float64(i) / (rings - 1))
		for _, p := range circle(Vec{}, sin, axisX, axisZ) {
			points = append(points, V(c.X+x*p.X, c.Y+y*cos, c.Z+z*p.Z))
		}
	}
	for _, p := range circle(Vec{}, 1, axisX, axisY) { // the picture's own circle, exactly
		points = append(points, V(c.X+x*p.X, c.Y+y*p.Y, c.Z))
	}
	return points
}

// flat resolves hulls: the lines as seen along -z, from the front.
func flat(lines []Line) []Line {
	out := make([]Line, 0, len(lines))
	for _, l := range lines {
		if l.Kind == Hull {
			l = Line{Kind: Outline, Points: hull(l.Points), Closed: true, Hole: l.Hole}
		}
		out = append(out, l)
	}
	return out
}

// hull returns the convex hull of the points in the x-y plane, counter-clockwise.
// Andrew's monotone chain, O(n log n).
func hull(points []Vec) []Vec {
	p := slices.Clone(points)
	slices.SortFunc(p, func(a, b Vec) int { return cmp.Or(cmp.Compare(a.X, b.X), cmp.Compare(a.Y, b.Y)) })
	half := func(in []Vec) []Vec {
		var h []Vec
		for _, q := range in {
			for len(h) > 1 && r3.Cross(r3.Sub(h[len(h)-1], h[len(h)-2]), r3.Sub(q, h[len(h)-2])).Z <= 0 {
				h = h[:len(h)-1]
			}
			h = append(h, q)
		}
		return h
	}
	lower := half(p)
	slices.Reverse(p)
	upper := half(p)
	if len(lower) < 2 || len(upper) < 2 {
		return lower
	}
	return append(lower[:len(lower)-1], upper[:len(upper)-1]...)
}
