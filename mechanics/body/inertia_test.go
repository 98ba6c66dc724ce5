package body

import (
	"encoding/json"
	"math"
	"strconv"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"counterpoise/testdata"
)

// one returns an assembly of one part of mass 1 kg.
func one(s Shape) Assembly { return Assembly{{Shape: s, Given: 1}} }

var (
	x = V(1, 0, 0)
	y = V(0, 1, 0)
	z = V(0, 0, 1)
	o = Vec{}
)

// moment returns the moment of inertia of one kilogram.
func moment(s Shape, point, axis Vec) float64 { return one(s).MomentAbout(point, axis) }

func centre(s Shape) Vec { return one(s).CentreOfGravity() }

// Reference values at 30 digits (testdata/published/reference-values), to 4 units
// in the last place.
func TestInertiaAgainstReferenceValues(t *testing.T) {
	const R, r, h, l = 1.3, 0.7, 2.2, 1.9
	mid := V(0, h/2, 0)
	triangle := RegularPolygon(3, l/math.Sqrt(3))
	cases := map[[2]string]float64{
		{"solid sphere R=1.3", "diameter"}:                                          moment(Sphere{R}, o, x),
		{"solid sphere R=1.3", "tangent"}:                                           moment(Sphere{R}, V(0, R, 0), x),
		{"thin spherical shell R=1.3", "diameter"}:                                  moment(Shell{R, R}, o, x),
		{"thick spherical shell r=0.7 R=1.3", "diameter"}:                           moment(Shell{R, r}, o, z),
		{"solid cylinder R=1.3 h=2.2", "axis"}:                                      moment(Cylinder{R, h}, o, y),
		{"solid cylinder R=1.3 h=2.2", "transverse through the centre"}:             moment(Cylinder{R, h}, mid, x),
		{"solid cylinder R=1.3 h=2.2", "diameter of an end face"}:                   moment(Cylinder{R, h}, o, z),
		{"hollow cylinder r=0.7 R=1.3 h=2.2", "axis"}:                               moment(Tube{R, r, h}, o, y),
		{"hollow cylinder r=0.7 R=1.3 h=2.2", "transverse through the centre"}:      moment(Tube{R, r, h}, mid, x),
		{"solid cone R=1.3 h=2.2", "axis"}:                                          moment(Cone{R, h}, o, y),
		{"solid cone R=1.3 h=2.2", "transverse through the apex"}:                   moment(Cone{R, h}, V(0, h, 0), x),
		{"solid cone R=1.3 h=2.2", "transverse through the centre of mass"}:         moment(Cone{R, h}, V(0, h/4, 0), x),
		{"conical frustum r=0.7 R=1.3 h=2.2", "axis"}:                               moment(Frustum{R, r, h}, o, y),
		{"solid half ball R=1.3", "axis of symmetry"}:                               moment(Hemisphere(R), o, y),
		{"solid half ball R=1.3", "transverse through the centre of mass"}:          moment(Hemisphere(R), V(0, 3*R/8, 0), x),
		{"spherical cap R=1.3 height 0.6", "axis of symmetry"}:                      moment(Cap{R, 0.6}, o, y),
		{"solid torus R=1.3 r=0.7", "axis of symmetry"}:                             moment(Torus{R, r}, o, z),
		{"solid torus R=1.3 r=0.7", "diameter"}:                                     moment(Torus{R, r}, o, x),
		{"solid paraboloid R=1.3 h=2.2", "axis"}:                                    moment(Paraboloid{R, h}, o, y),
		{"solid paraboloid R=1.3 h=2.2", "transverse through the vertex"}:           moment(Paraboloid{R, h}, V(0, h, 0), x),
		{"cuboid 2 x 3 x 5", "axis along the side 5"}:                               moment(Block{2, 3, 5}, o, z),
		{"cuboid 2 x 3 x 5", "space diagonal"}:                                      moment(Block{2, 3, 5}, o, V(2, 3, 5)),
		{"solid ellipsoid 2, 3, 5", "semi-axis 5"}:                                  moment(Ellipsoid{2, 3, 5}, o, z),
		{"elliptic cylinder 2, 3", "axis"}:                                          moment(EllipticDisc{2, 3, 7}, o, z),
		{"thin rod l=1.9", "centre"}:                                                moment(Rod{From: V(0, -l/2, 0), To: V(0, l/2, 0)}, o, x),
		{"thin rod l=1.9", "end"}:                                                   moment(Rod{To: V(l, 0, 0)}, o, z),
		{"thin ring R=1.3", "diameter"}:                                             moment(Ring(R, 0), o, y),
		{"thin disc R=1.3", "diameter"}:                                             moment(Disc{R, 0}, o, x),
		{"regular tetrahedron edge 1.9", "any axis through the centre"}:             moment(tetrahedron(l), o, y),
		{"equilateral triangle plate edge 1.9", "perpendicular through the centre"}: moment(Plate{Outline: triangle}, o, z),
		{"solid cube edge 1.9", "any axis through the centre"}:                      moment(Block{l, l, l}, o, V(1, 2, -0.5)),
	}
	var reference struct {
		Inertia struct {
			Values []struct{ Solid, Axis, Value string }
		} `json:"inertia_per_mass"`
	}
	if err := json.Unmarshal(testdata.Read(t, "reference-values", "reference_values.json"), &reference); err != nil {
		t.Fatal(err)
	}
	for _, v := range reference.Inertia.Values {
		got, ok := cases[[2]string{v.Solid, v.Axis}]
		if !ok {
			t.Errorf("%s, %s is not computed here", v.Solid, v.Axis)
			continue
		}
		want, err := strconv.ParseFloat(v.Value, 64)
		if err != nil {
			t.Fatal(err)
		}
		if ulps := math.Abs(got-want) / (math.Nextafter(want, math.Inf(1)) - want); ulps > 4 {
			t.Errorf("%s, %s: %.17g, want %s: %.0f ulp", v.Solid, v.Axis, got, v.Value, ulps)
		}
	}
}

// Check-values I5, I7, I8, I9: books as named there, recomputed by quadrature.
func TestInertiaPublished(t *testing.T) {
	cone := Cone{0.4, 1}
	testdata.Agrees(t, moment(cone, V(0, 1, 0), x), "0.624")
	testdata.Agrees(t, moment(cone, V(0, 0.25, 0), x), "0.0615")
	testdata.Agrees(t, moment(cone, o, x), "0.124")
	torus := Torus{1, 0.25}
	testdata.Agrees(t, moment(torus, o, z), "1.046875")
	testdata.Agrees(t, moment(torus, o, y), "0.5390625")
	testdata.Agrees(t, moment(Torus{4, 1}, o, z), "16.75") // Hill, P8.2.3
	testdata.Agrees(t, moment(Torus{4, 1}, o, x), "8.625")
	testdata.Agrees(t, moment(Hemisphere(1), o, x), "0.4")
	testdata.Agrees(t, moment(Hemisphere(1), V(0, 0.375, 0), x), "0.259375")
	half := Arc{Radius: 1, From: 0, To: math.Pi}
	testdata.Agrees(t, moment(half, centre(half), z), "0.594715265")
}

// Check-values C1 to C8: "List of centroids" and a statics hand-out (seen), Beer
// and Johnston (memory), recomputed by quadrature.
func TestCentroids(t *testing.T) {
	deg := math.Pi / 180
	arc := func(half float64) Arc { return Arc{Radius: 1, From: -half, To: half} }
	parabola := make([]Spot, 0, 801) // y² <= 4x/4 for 0 <= x <= 1, from the vertex
	for i := -400; i <= 400; i++ {
		v := float64(i) / 400
		parabola = append(parabola, Spot{X: v * v, Y: v})
	}
	for _, tt := range []struct {
		name    string
		got     float64
		printed string
	}{
		{"C1 arc 30°", centre(arc(30 * deg)).X, "0.954929659"},
		{"C1 arc 60°", centre(arc(60 * deg)).X, "0.826993343"},
		{"C1 half circle", centre(arc(90 * deg)).X, "0.636619772"},
		{"C2 sector 30°", centre(Sector{1, 30 * deg, 0}).X, "0.636619772"},
		{"C2 sector 60°", centre(Sector{1, 60 * deg, 0}).X, "0.551328895"},
		{"C2 half disc", centre(Sector{1, 90 * deg, 0}).X, "0.424413182"},
		{"C3 segment 60°", centre(Segment{1, 60 * deg, 0}).X, "0.705020162"},
		{"C4 quarter arc", centre(Arc{Radius: 1, From: 0, To: 90 * deg}).Y, "0.636619772"},
		{"C4 triangle", centre(Plate{Outline: []Spot{{}, {X: 5}, {X: 1, Y: 3}}}).Y, "1.000000000"},
		{"C4 parabola 3h/5", centre(Plate{Outline: parabola}).X, "0.60000"},
		{"C5 hemisphere", centre(Hemisphere(1)).Y, "0.375"},
		{"C5 hemispherical shell", centre(Dome{1, 1, 0}).Y, "0.5"},
		{"C6 cone", centre(Cone{0.3, 1}).Y, "0.25"},
		{"C6 conical shell", centre(Skin{Profile: []Spot{{X: 0.3, Y: 0}, {X: 0, Y: 1}}}).Y, "0.333333333"},
		{"C7 cap, from the ball's centre", 0.5 + centre(Cap{1, 0.5}).Y, "0.675"},
		{"C8 frustum", centre(Frustum{1, 0.5, 1}).Y, "0.392857143"},
	} {
		t.Run(tt.name, func(t *testing.T) { testdata.Agrees(t, tt.got, tt.printed) })
	}
}

// tetrahedron returns a regular one about the origin.
func tetrahedron(edge float64) Mesh {
	f := edge / math.Sqrt(8)
	p := [4]Vec{r3.Scale(f, V(1, 1, 1)), r3.Scale(f, V(1, -1, -1)), r3.Scale(f, V(-1, 1, -1)), r3.Scale(f, V(-1, -1, 1))}
	return Mesh{Triangles: [][3]Vec{{p[0], p[1], p[2]}, {p[0], p[2], p[3]}, {p[0], p[3], p[1]}, {p[1], p[3], p[2]}}}
}
