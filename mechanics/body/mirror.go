package body

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/num/quat"
	"gonum.org/v1/gonum/spatial/r3"
)

// Mirrored returns the part as seen in a mirror in the plane x = 0: the other
// wing of a figure.
func (p Part) Mirrored() Part {
	flip := func(v Vec) Vec { return V(-v.X, v.Y, v.Z) }
	p.At = flip(p.At)
	p.Turn = r3.Rotation(quat.Number{Real: p.Turn.Real, Imag: p.Turn.Imag, Jmag: -p.Turn.Jmag, Kmag: -p.Turn.Kmag})
	spots := func(in []Spot) []Spot {
		out := slices.Clone(in)
		for i := range out {
			out[i].X = -out[i].X
		}
		return out
	}
	switch s := p.Shape.(type) {
	case Rod:
		p.Shape = Rod{flip(s.From), flip(s.To), s.Diameter}
	case Wire:
		points := slices.Clone(s.Points)
		for i := range points {
			points[i] = flip(points[i])
		}
		p.Shape = Wire{points, s.Diameter}
	case Arc:
		s.From, s.To = math.Pi-s.From, math.Pi-s.To
		p.Shape = s
	case Plate:
		s.Outline = spots(s.Outline)
		s.Holes = slices.Clone(s.Holes)
		for i := range s.Holes {
			s.Holes[i] = spots(s.Holes[i])
		}
		p.Shape = s
	case Sector, Segment: // turned half way round they are their own mirror image
		p.Turn = compose(p.Turn, r3.Rotation(quat.Number{Kmag: 1}))
	case Helix: // the other hand, begun on the other side
		s.Left = !s.Left
		p.Shape = s
		p.Turn = compose(p.Turn, r3.Rotation(quat.Number{Jmag: 1}))
	case Mesh:
		triangles := slices.Clone(s.Triangles)
		for i, t := range triangles {
			triangles[i] = [3]Vec{flip(t[0]), flip(t[2]), flip(t[1])}
		}
		p.Shape = Mesh{triangles}
	}
	return p
}
