package body

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// A Mesh is a solid bounded by triangles whose corners run counter-clockwise
// seen from outside, as in files for three-dimensional printing.
type Mesh struct {
	Triangles [][3]Vec // m
}

// Check implements [Shape]: the mesh must be closed and turned outwards.
func (m Mesh) Check() error {
	if len(m.Triangles) < 4 {
		return fmt.Errorf("the mesh has %d triangles: a solid needs at least four", len(m.Triangles))
	}
	edges := map[[2]Vec]int{}
	for i, t := range m.Triangles {
		for k := range 3 {
			if !isFinite(t[k]) {
				return fmt.Errorf("triangle %d of the mesh has a corner that is not finite", i+1)
			}
			a, b := t[k], t[(k+1)%3]
			edges[[2]Vec{a, b}]++
			edges[[2]Vec{b, a}]--
		}
	}
	for _, n := range edges {
		if n != 0 {
			return errors.New("the mesh is not closed: an edge belongs to one triangle only, or a triangle runs the wrong way round")
		}
	}
	switch v := m.integrate(m.Triangles[0][0]).Volume; {
	case v < 0:
		return errors.New("the mesh is inside out: order the corners counter-clockwise seen from outside")
	case v == 0 || math.IsNaN(v):
		return errors.New("the mesh encloses nothing: check its corners")
	}
	return nil
}

// Geometry implements [Shape]: tetrahedra from a common point to each triangle.
func (m Mesh) Geometry() Geometry {
	first := m.integrate(m.Triangles[0][0])
	return m.integrate(first.Centroid) // about the centroid, which loses fewer figures
}

func (m Mesh) integrate(o Vec) Geometry {
	var g Geometry
	var moment Vec
	for _, t := range m.Triangles {
		a, b, c := r3.Sub(t[0], o), r3.Sub(t[1], o), r3.Sub(t[2], o)
		v := r3.Dot(a, r3.Cross(b, c)) / 6
		sum := r3.Add(a, r3.Add(b, c))
		g.Volume += v
		moment = addScaled(moment, v/4, sum)
		g.Second = g.Second.Plus(outer(a).Plus(outer(b)).Plus(outer(c)).Plus(outer(sum)).Times(v / 20))
	}
	c := r3.Scale(1/g.Volume, moment)
	g.Second = g.Second.Times(1 / g.Volume).Plus(outer(c).Times(-1))
	g.Centroid = r3.Add(o, c)
	return g
}

// Drawing implements [Shape].
func (m Mesh) Drawing() []Line {
	var lines []Line
	for _, t := range m.Triangles {
		lines = append(lines, Line{Kind: Outline, Points: []Vec{t[0], t[1], t[2]}, Closed: true})
	}
	return lines
}
