package body

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

// A mirrored part weighs the same, and its place and inertia are mirrored.
func TestMirrored(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := assembly(t)
		b := make(Assembly, len(a))
		for i, p := range a {
			b[i] = p.Mirrored()
		}
		c, d := a.Rigid(), b.Rigid()
		size := c.InertiaAbout(Vec{}).Trace() + c.Mass
		if r3.Norm(r3.Sub(V(-c.CentreOfGravity.X, c.CentreOfGravity.Y, c.CentreOfGravity.Z), d.CentreOfGravity)) > 1e-12 {
			t.Fatalf("centre of gravity %v, mirrored %v", c.CentreOfGravity, d.CentreOfGravity)
		}
		want := c.Inertia
		want.XY, want.ZX = -want.XY, -want.ZX
		if diff := want.Plus(d.Inertia.Times(-1)); math.Abs(diff.XX)+math.Abs(diff.YY)+math.Abs(diff.ZZ)+math.Abs(diff.XY)+math.Abs(diff.YZ)+math.Abs(diff.ZX) > 1e-12*size {
			t.Fatalf("inertia %+v, mirrored %+v", c.Inertia, d.Inertia)
		}
	})
}

// Every shape draws something of its own size, and what it draws stays near its
// centre of gravity.
func TestDrawings(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := Part{Shape: shape(t), Given: 1, At: vector(t, "at")}
		p = p.Turned(rapid.Float64Range(-3, 3).Draw(t, "angle"), Vec{}, direction(t))
		lines := p.Drawing()
		if len(lines) == 0 {
			t.Fatalf("%#v draws nothing", p.Shape)
		}
		low, high := V(math.Inf(1), math.Inf(1), 0), V(math.Inf(-1), math.Inf(-1), 0)
		for _, l := range lines {
			if l.Kind == Hull {
				t.Fatal("a hull is left")
			}
			for _, v := range l.Points {
				if !isFinite(v) {
					t.Fatalf("%#v draws %v", p.Shape, v)
				}
				w := l.Width/2 + 1e-9
				low, high = V(min(low.X, v.X-w), min(low.Y, v.Y-w), 0), V(max(high.X, v.X+w), max(high.Y, v.Y+w), 0)
			}
		}
		c := p.CentreOfGravity()
		if _, swept := p.Shape.(Skin); swept { // drawn as its cut, which may be seen end on
			return
		}
		if _, swept := p.Shape.(Turned); swept {
			return
		}
		if _, wound := p.Shape.(Helix); wound {
			return
		}
		if arc, ok := p.Shape.(Arc); ok && arc.Radius > 0 { // the centre of a bow lies beside it
			return
		}
		const slack = 0.01
		if c.X < low.X-slack || c.X > high.X+slack || c.Y < low.Y-slack || c.Y > high.Y+slack {
			t.Fatalf("%#v is drawn from %v to %v, its centre of gravity is %v", p.Shape, low, high, c)
		}
	})
}

// A hull is convex and holds its points. Common practice, no source.
func TestHull(t *testing.T) {
	square := hull([]Vec{{X: 0}, {X: 1}, {X: 1, Y: 1}, {Y: 1}, {X: 0.5, Y: 0.5}, {X: 0.5}})
	if len(square) != 4 {
		t.Errorf("hull of a square: %v", square)
	}
}

// Shapes made another way: a mesh of twelve triangles is a block, two domes are a
// shell, a skin in many pieces is a dome.
func TestOtherWays(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b, c := length(t, "a"), length(t, "b"), length(t, "c")
		agree(t, solid(Block{a, b, c}), solid(cuboid(a, b, c)), 1e-9)
		up := Part{Shape: Dome{a, a, 0}, Given: 1}
		agree(t, Assembly{{Shape: Shell{a, a}, Given: 2}}, Assembly{up, up.Turned(math.Pi, Vec{}, V(1, 0, 0))}, 1e-9)
		var profile []Spot
		for i := range 401 {
			sin, cos := math.Sincos(math.Pi / 2 * float64(i) / 400)
			profile = append(profile, Spot{X: a * cos, Y: a * sin})
		}
		agree(t, Assembly{{Shape: Dome{a, a, 0}, Given: 1}}, Assembly{{Shape: Skin{Profile: profile}, Given: 1}}, 1e-4)
	})
}

// cuboid returns a block as a mesh.
func cuboid(a, b, c float64) Mesh {
	at := func(i int) Vec {
		return V(a*(float64(i&1)-0.5), b*(float64(i>>1&1)-0.5), c*(float64(i>>2&1)-0.5))
	}
	var m Mesh
	for _, f := range [][4]int{{0, 2, 3, 1}, {4, 5, 7, 6}, {0, 1, 5, 4}, {2, 6, 7, 3}, {0, 4, 6, 2}, {1, 3, 7, 5}} {
		m.Triangles = append(m.Triangles, [3]Vec{at(f[0]), at(f[1]), at(f[2])}, [3]Vec{at(f[0]), at(f[2]), at(f[3])})
	}
	return m
}
