package toy

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"gonum.org/v1/gonum/num/quat"
	"gonum.org/v1/gonum/spatial/r3"

	"counterpoise/mechanics/balance"
	"counterpoise/mechanics/body"
	"counterpoise/mechanics/quantity"
)

// Write returns the toy as text that [Read] reads back to the same toy, with
// lengths in mm, masses in g and angles in degrees. Formulas and mirrored halves
// are written out. A shape that has no text form (a mesh, or one of your own) is
// an error.
func (t Toy) Write() ([]byte, error) {
	var b strings.Builder
	b.WriteString("parts:\n")
	for i, p := range t.Assembly {
		fields, err := fieldsOf(p)
		if err != nil {
			return nil, fmt.Errorf("part %d: %w", i+1, err)
		}
		fmt.Fprintf(&b, "  - {%s}\n", strings.Join(fields, ", "))
	}
	if t.Gravity != 0 {
		fmt.Fprintf(&b, "gravity: %s m/s²\n", shortest(t.Gravity, quantity.MustUnit("m/s²")))
	}
	fmt.Fprintf(&b, "stand: {%s}\n", strings.Join(standFields(t.Stand), ", "))
	return []byte(b.String()), nil
}

func standFields(s balance.Stand) []string {
	f := []string{"kind: " + s.Kind.String(), "at: " + vectorText(s.At)}
	if s.To != (body.Vec{}) {
		f = append(f, "to: "+vectorText(s.To))
	}
	for _, m := range []struct {
		name string
		v    float64
	}{{"radius", s.Radius}, {"dome", s.Dome}, {"length", s.Length}} {
		if m.v != 0 {
			f = append(f, m.name+": "+mmText(m.v))
		}
	}
	if s.Half != 0 {
		f = append(f, "half: "+degreeText(s.Half))
	}
	return f
}

func fieldsOf(p body.Part) ([]string, error) {
	shape, err := shapeFields(p.Shape)
	if err != nil {
		return nil, err
	}
	f := shape
	if p.Name != "" {
		f = append(f, "name: "+strconv.Quote(p.Name))
	}
	if p.Given != 0 {
		f = append(f, "mass: "+shortest(p.Given, gram())+" g")
	}
	known, err := body.MaterialNamed(p.Material.Name)
	switch {
	case err == nil && known == p.Material:
		f = append(f, "material: "+strconv.Quote(p.Material.Name))
	case p.Material != (body.Material{Density: p.Material.Density}):
		f = append(f, materialText(p.Material))
	case p.Material.Density != 0:
		f = append(f, "density: "+densityText(p.Material.Density))
	}
	if p.Hole {
		f = append(f, "hole: true")
	}
	if axis, angle := axisAndAngle(p.Turn); angle != 0 {
		f = append(f, fmt.Sprintf("turn: {axis: [%s, %s, %s], angle: %s}", numberText(axis.X), numberText(axis.Y), numberText(axis.Z), degreeText(angle)))
	}
	if p.At != (body.Vec{}) {
		f = append(f, "at: "+vectorText(p.At))
	}
	return f, nil
}

// materialText writes a material that is not known by name.
func materialText(m body.Material) string {
	f := []string{"name: " + strconv.Quote(m.Name)}
	if m.Density != 0 {
		f = append(f, "density: "+densityText(m.Density))
	}
	for _, p := range []struct {
		name string
		v    float64
	}{{"young", m.Young}, {"shear", m.Shear}, {"yield", m.Yield}} {
		if p.v != 0 {
			f = append(f, p.name+": "+shortest(p.v, quantity.MustUnit("Pa"))+" Pa")
		}
	}
	return "material: {" + strings.Join(f, ", ") + "}"
}

func axisAndAngle(r r3.Rotation) (body.Vec, float64) {
	q := quat.Number(r)
	axis := body.V(q.Imag, q.Jmag, q.Kmag)
	n := r3.Norm(axis)
	if n == 0 {
		return body.Vec{}, 0
	}
	return r3.Scale(1/n, axis), 2 * math.Atan2(n, q.Real)
}

// shapeFields returns the fields of a shape, "shape" first.
func shapeFields(s body.Shape) ([]string, error) {
	f := func(name string, pairs ...string) ([]string, error) {
		out := []string{"shape: " + name}
		for i := 0; i+1 < len(pairs); i += 2 {
			out = append(out, pairs[i]+": "+pairs[i+1])
		}
		return out, nil
	}
	mm := mmText
	switch s := s.(type) {
	case body.Rod:
		return f("rod", "from", vectorText(s.From), "to", vectorText(s.To), "diameter", mm(s.Diameter))
	case body.Wire:
		return f("wire", "points", vectorsText(s.Points), "diameter", mm(s.Diameter))
	case body.Arc:
		return f("arc", "radius", mm(s.Radius), "start", degreeText(s.From), "end", degreeText(s.To), "diameter", mm(s.Diameter))
	case body.Helix:
		return f("helix", "radius", mm(s.Radius), "pitch", mm(s.Pitch), "turns", numberText(s.Turns), "diameter", mm(s.Diameter), "left", strconv.FormatBool(s.Left))
	case body.Point:
		return f("point")
	case body.Sphere:
		return f("sphere", "radius", mm(s.Radius))
	case body.Shell:
		return f("shell", "radius", mm(s.Outer), "inner", mm(s.Inner))
	case body.Cap:
		return f("cap", "radius", mm(s.Radius), "height", mm(s.Height))
	case body.Dome:
		return f("dome", "radius", mm(s.Radius), "height", mm(s.Height), "thickness", mm(s.Thickness))
	case body.Ellipsoid:
		return f("ellipsoid", "half-axes", vectorText(body.V(s.X, s.Y, s.Z)))
	case body.Cylinder:
		return f("cylinder", "radius", mm(s.Radius), "height", mm(s.Height))
	case body.Tube:
		return f("tube", "radius", mm(s.Outer), "inner", mm(s.Inner), "height", mm(s.Height))
	case body.Cone:
		return f("cone", "radius", mm(s.Radius), "height", mm(s.Height))
	case body.Frustum:
		return f("frustum", "base", mm(s.Base), "top", mm(s.Top), "height", mm(s.Height))
	case body.Paraboloid:
		return f("paraboloid", "radius", mm(s.Radius), "height", mm(s.Height))
	case body.Torus:
		return f("ring", "radius", mm(s.Radius), "diameter", mm(2*s.Tube))
	case body.Disc:
		return f("disc", "radius", mm(s.Radius), "thickness", mm(s.Thickness))
	case body.Washer:
		return f("washer", "radius", mm(s.Outer), "inner", mm(s.Inner), "thickness", mm(s.Thickness))
	case body.EllipticDisc:
		return f("elliptic-disc", "half-axes", vectorText(body.V(s.X, s.Y, 0)), "thickness", mm(s.Thickness))
	case body.Block:
		return f("block", "sides", vectorText(body.V(s.X, s.Y, s.Z)))
	case body.Plate:
		out, _ := f("plate", "outline", spotsText(s.Outline), "thickness", mm(s.Thickness))
		if len(s.Holes) > 0 {
			holes := make([]string, len(s.Holes))
			for i, h := range s.Holes {
				holes[i] = spotsText(h)
			}
			out = append(out, "holes: ["+strings.Join(holes, ", ")+"]")
		}
		return out, nil
	case body.Sector:
		return f("sector", "radius", mm(s.Radius), "half", degreeText(s.Half), "thickness", mm(s.Thickness))
	case body.Segment:
		return f("segment", "radius", mm(s.Radius), "half", degreeText(s.Half), "thickness", mm(s.Thickness))
	case body.Turned:
		return f("turned", "outline", spotsText(s.Outline))
	case body.Skin:
		return f("skin", "profile", spotsText(s.Profile), "thickness", mm(s.Thickness))
	}
	return nil, fmt.Errorf("a shape of type %T has no text form: build it from the shapes of package body", s)
}

func vectorText(v body.Vec) string {
	return "[" + mmText(v.X) + ", " + mmText(v.Y) + ", " + mmText(v.Z) + "]"
}

func vectorsText(vs []body.Vec) string {
	out := make([]string, len(vs))
	for i, v := range vs {
		out[i] = vectorText(v)
	}
	return "[" + strings.Join(out, ", ") + "]"
}

func spotsText(spots []body.Spot) string {
	out := make([]string, len(spots))
	for i, s := range spots {
		out[i] = "[" + mmText(s.X) + ", " + mmText(s.Y) + "]"
	}
	return "[" + strings.Join(out, ", ") + "]"
}

func mmText(metres float64) string      { return shortest(metres, millimetre()) + " mm" }
func degreeText(radians float64) string { return shortest(radians, degree()) + " deg" }
func densityText(d float64) string      { return shortest(d, quantity.MustUnit("kg/m³")) + " kg/m³" }
func numberText(v float64) string       { return strconv.FormatFloat(v, 'g', -1, 64) }

// plain writes a decimal with a power of ten out, where that is short: 240 for
// 2.4e+02.
func plain(text string) string {
	v, err := strconv.ParseFloat(text, 64)
	if size := math.Abs(v); err != nil || size < 1e-4 || size >= 1e7 {
		return text
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}

// shortest returns the shortest decimal of si in units of u that reads back as
// exactly si.
func shortest(si float64, u quantity.Unit) string {
	v := si / u.Scale()
	for figures := 1; figures <= 17; figures++ {
		text := strconv.FormatFloat(v, 'g', figures, 64)
		if q, err := quantity.Parse(text + " " + u.String()); err == nil && q.Value == si {
			if q, err := quantity.Parse(plain(text) + " " + u.String()); err == nil && q.Value == si {
				return plain(text)
			}
			return text
		}
	}
	for _, near := range [2]float64{math.Nextafter(v, math.Inf(1)), math.Nextafter(v, math.Inf(-1))} {
		text := numberText(near)
		if q, err := quantity.Parse(text + " " + u.String()); err == nil && q.Value == si {
			return text
		}
	}
	return numberText(v)
}
