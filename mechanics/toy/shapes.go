package toy

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"counterpoise/mechanics/body"
	"counterpoise/mechanics/quantity"
)

// A shapeKind is how one kind of shape is written in a toy's text.
type shapeKind struct {
	name   string
	fields []string
	read   func(r *reader, n *node) body.Part
}

// shapeKinds is the list of shapes. Lengths are of the parts as package body
// defines them; where a radius is a field, so is the diameter.
var shapeKinds = []shapeKind{
	{"rod", []string{"from", "to", "diameter"}, func(r *reader, n *node) body.Part {
		r.wants(n, "from", "to")
		return part(body.Rod{From: r.vector(n, "from"), To: r.vector(n, "to"), Diameter: r.length(n, "diameter")})
	}},
	{"wire", []string{"points", "diameter"}, func(r *reader, n *node) body.Part {
		r.wants(n, "points")
		return part(body.Wire{Points: r.places(n.fields["points"], "points"), Diameter: r.length(n, "diameter")})
	}},
	{"arc", []string{"radius", "start", "end", "diameter"}, func(r *reader, n *node) body.Part {
		r.wants(n, "radius", "start", "end")
		return part(body.Arc{Radius: r.length(n, "radius"), From: r.angle(n, "start"), To: r.angle(n, "end"), Diameter: r.length(n, "diameter")})
	}},
	{"helix", []string{"radius", "pitch", "turns", "diameter", "left"}, func(r *reader, n *node) body.Part {
		r.wants(n, "radius", "pitch", "turns")
		return part(body.Helix{Radius: r.length(n, "radius"), Pitch: r.length(n, "pitch"), Turns: r.number(n, "turns", quantity.One, positive), Diameter: r.length(n, "diameter"), Left: r.flag(n, "left")})
	}},
	{"point", nil, func(*reader, *node) body.Part { return part(body.Point{}) }},
	{"sphere", []string{"radius", "diameter"}, func(r *reader, n *node) body.Part {
		if n.fields["radius"] == nil && n.fields["diameter"] == nil && n.fields["mass"] != nil {
			return part(body.Point{}) // only its mass matters
		}
		return part(body.Sphere{Radius: r.radius(n)})
	}},
	{"shell", []string{"radius", "diameter", "inner", "thickness"}, func(r *reader, n *node) body.Part {
		outer := r.radius(n)
		return part(body.Shell{Outer: outer, Inner: r.inner(n, outer)})
	}},
	{"hemisphere", []string{"radius", "diameter"}, func(r *reader, n *node) body.Part {
		return part(body.Hemisphere(r.radius(n)))
	}},
	{"cap", []string{"radius", "diameter", "height"}, func(r *reader, n *node) body.Part {
		r.wants(n, "height")
		return part(body.Cap{Radius: r.radius(n), Height: r.length(n, "height")})
	}},
	{"dome", []string{"radius", "diameter", "height", "thickness"}, func(r *reader, n *node) body.Part {
		r.wants(n, "height")
		return part(body.Dome{Radius: r.radius(n), Height: r.length(n, "height"), Thickness: r.length(n, "thickness")})
	}},
	{"ellipsoid", []string{"half-axes"}, func(r *reader, n *node) body.Part {
		r.wants(n, "half-axes")
		v := r.vector(n, "half-axes")
		return part(body.Ellipsoid{X: v.X, Y: v.Y, Z: v.Z})
	}},
	{"cylinder", []string{"radius", "diameter", "height", "from", "to"}, func(r *reader, n *node) body.Part {
		place, height := r.standing(n)
		place.Shape = body.Cylinder{Radius: r.radius(n), Height: height}
		return place
	}},
	{"tube", []string{"radius", "diameter", "inner", "thickness", "height", "from", "to"}, func(r *reader, n *node) body.Part {
		place, height := r.standing(n)
		outer := r.radius(n)
		place.Shape = body.Tube{Outer: outer, Inner: r.inner(n, outer), Height: height}
		return place
	}},
	{"cone", []string{"radius", "diameter", "height", "from", "to"}, func(r *reader, n *node) body.Part {
		place, height := r.standing(n)
		place.Shape = body.Cone{Radius: r.radius(n), Height: height}
		return place
	}},
	{"frustum", []string{"base", "top", "height", "from", "to"}, func(r *reader, n *node) body.Part {
		place, height := r.standing(n)
		place.Shape = body.Frustum{Base: r.length(n, "base"), Top: r.length(n, "top"), Height: height}
		return place
	}},
	{"paraboloid", []string{"radius", "diameter", "height", "from", "to"}, func(r *reader, n *node) body.Part {
		place, height := r.standing(n)
		place.Shape = body.Paraboloid{Radius: r.radius(n), Height: height}
		return place
	}},
	{"ring", []string{"radius", "diameter"}, func(r *reader, n *node) body.Part {
		r.wants(n, "radius")
		return part(body.Ring(r.length(n, "radius"), r.length(n, "diameter")))
	}},
	{"disc", []string{"radius", "diameter", "thickness"}, func(r *reader, n *node) body.Part {
		return part(body.Disc{Radius: r.radius(n), Thickness: r.length(n, "thickness")})
	}},
	{"washer", []string{"radius", "diameter", "inner", "thickness"}, func(r *reader, n *node) body.Part {
		r.wants(n, "inner")
		return part(body.Washer{Outer: r.radius(n), Inner: r.length(n, "inner"), Thickness: r.length(n, "thickness")})
	}},
	{"elliptic-disc", []string{"half-axes", "thickness"}, func(r *reader, n *node) body.Part {
		r.wants(n, "half-axes")
		v := r.vector(n, "half-axes")
		return part(body.EllipticDisc{X: v.X, Y: v.Y, Thickness: r.length(n, "thickness")})
	}},
	{"block", []string{"sides"}, func(r *reader, n *node) body.Part {
		r.wants(n, "sides")
		v := r.vector(n, "sides")
		return part(body.Block{X: v.X, Y: v.Y, Z: v.Z})
	}},
	{"plate", []string{"outline", "holes", "thickness"}, func(r *reader, n *node) body.Part {
		r.wants(n, "outline")
		p := body.Plate{Outline: r.spots(n.fields["outline"], "outline"), Thickness: r.length(n, "thickness")}
		if holes := n.fields["holes"]; holes != nil {
			for _, h := range holes.list {
				p.Holes = append(p.Holes, r.spots(h, "holes"))
			}
		}
		return part(p)
	}},
	{"sector", []string{"radius", "diameter", "half", "thickness"}, func(r *reader, n *node) body.Part {
		r.wants(n, "half")
		return part(body.Sector{Radius: r.radius(n), Half: r.angle(n, "half"), Thickness: r.length(n, "thickness")})
	}},
	{"segment", []string{"radius", "diameter", "half", "thickness"}, func(r *reader, n *node) body.Part {
		r.wants(n, "half")
		return part(body.Segment{Radius: r.radius(n), Half: r.angle(n, "half"), Thickness: r.length(n, "thickness")})
	}},
	{"turned", []string{"outline"}, func(r *reader, n *node) body.Part {
		r.wants(n, "outline")
		return part(body.Turned{Outline: r.spots(n.fields["outline"], "outline")})
	}},
	{"skin", []string{"profile", "thickness"}, func(r *reader, n *node) body.Part {
		r.wants(n, "profile")
		return part(body.Skin{Profile: r.spots(n.fields["profile"], "profile"), Thickness: r.length(n, "thickness")})
	}},
}

func kindNamed(name string) *shapeKind {
	for i := range shapeKinds {
		if shapeKinds[i].name == name {
			return &shapeKinds[i]
		}
	}
	return nil
}

func shapeNames() []string {
	names := make([]string, len(shapeKinds))
	for i, k := range shapeKinds {
		names[i] = k.name
	}
	return names
}

func part(s body.Shape) body.Part { return body.Part{Shape: s} }

// wants reports fields that are missing.
func (r *reader) wants(n *node, fields ...string) {
	for _, f := range fields {
		if n.fields[f] == nil {
			r.fail(n.line, "%s is missing: write it", f)
		}
	}
}

func (r *reader) length(n *node, field string) float64 {
	return r.number(n, field, quantity.Length, notNegative)
}

func (r *reader) angle(n *node, field string) float64 {
	return r.number(n, field, quantity.One, anything)
}

// radius reads the radius, or half the diameter.
func (r *reader) radius(n *node) float64 {
	switch {
	case n.fields["radius"] != nil && n.fields["diameter"] != nil:
		r.fail(n.line, "both radius and diameter are given: keep one")
	case n.fields["radius"] != nil:
		return r.length(n, "radius")
	case n.fields["diameter"] != nil:
		return r.length(n, "diameter") / 2
	default:
		r.fail(n.line, "diameter is missing: write it, or the radius")
	}
	return 0
}

// inner reads the inner radius, or the thickness of the wall; a wall without
// thickness is thin.
func (r *reader) inner(n *node, outer float64) float64 {
	switch {
	case n.fields["inner"] != nil:
		return r.length(n, "inner")
	case n.fields["thickness"] != nil:
		t := r.length(n, "thickness")
		if t > outer {
			r.fail(n.line, "the wall is thicker than the radius: write a smaller thickness")
		}
		return outer - t
	}
	return outer
}

func (r *reader) places(f *node, name string) []body.Vec {
	if !f.isListOfAtMost(maxSpots) {
		if f != nil {
			r.fail(f.line, "%s: a list of places is wanted (at most %d): write [[0 mm, 0 mm, 0 mm], [40 mm, -20 mm, 0 mm]]", name, maxSpots)
		}
		return nil
	}
	var out []body.Vec
	for _, p := range f.list {
		out = append(out, r.place(p, name))
	}
	return out
}

func (n *node) isListOfAtMost(limit int) bool { return n != nil && n.isList && len(n.list) <= limit }

// standing reads the height of a shape that rises along y, or from and to, which
// give the middle of its base and of its top.
func (r *reader) standing(n *node) (place body.Part, height float64) {
	if n.fields["from"] == nil && n.fields["to"] == nil {
		r.wants(n, "height")
		return body.Part{}, r.length(n, "height")
	}
	r.wants(n, "from", "to")
	if n.fields["height"] != nil {
		r.fail(n.line, "both height and from, to are given: keep one")
	}
	from, to := r.vector(n, "from"), r.vector(n, "to")
	along := r3.Sub(to, from)
	return body.Part{At: from, Turn: upTo(along)}, r3.Norm(along)
}

// upTo returns the rotation that carries y to the direction of v.
func upTo(v body.Vec) r3.Rotation {
	y := body.V(0, 1, 0)
	axis := r3.Cross(y, v)
	switch n := r3.Norm(v); {
	case n == 0 || math.IsNaN(n):
		return r3.Rotation{}
	case r3.Norm(axis) <= 1e-12*n && v.Y > 0:
		return r3.Rotation{}
	case r3.Norm(axis) <= 1e-12*n:
		return r3.NewRotation(math.Pi, body.V(1, 0, 0))
	}
	return r3.NewRotation(math.Atan2(r3.Norm(axis), v.Y), axis)
}
