package body

import (
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

func length(t *rapid.T, name string) float64 { return rapid.Float64Range(1e-3, 1).Draw(t, name) }

func vector(t *rapid.T, name string) Vec {
	c := rapid.Float64Range(-1, 1)
	return V(c.Draw(t, name+".x"), c.Draw(t, name+".y"), c.Draw(t, name+".z"))
}

func direction(t *rapid.T) Vec {
	d := vector(t, "direction")
	if r3.Norm(d) < 1e-3 {
		return V(0, 1, 0)
	}
	return r3.Unit(d)
}

// shape draws any of the shapes.
func shape(t *rapid.T) Shape {
	a, b, c := length(t, "a"), length(t, "b"), length(t, "c")
	big, small := max(a, b), min(a, b)
	half := rapid.Float64Range(0.2, math.Pi).Draw(t, "half")
	return rapid.SampledFrom([]Shape{
		Point{}, Sphere{a}, Shell{big, small}, Cap{big, small}, Dome{big, small, 0}, Ellipsoid{a, b, c},
		Rod{From: V(a, b, c), To: V(-b, c, -a), Diameter: small}, Wire{Points: []Vec{{X: a}, {Y: b}, {Z: -c}}, Diameter: small},
		Arc{Radius: big, From: -half, To: half / 2, Diameter: small}, Cylinder{a, b}, Tube{big, small, c}, Cone{a, b},
		Frustum{a, b, c}, Paraboloid{a, b}, Torus{big, small}, Disc{a, b}, Washer{big + 0.1, small, c}, EllipticDisc{a, b, c},
		Block{a, b, c}, Plate{Outline: Rectangle(a, b), Thickness: c}, Sector{a, half, c}, Segment{a, half, c},
		Helix{big, c, half, small, a > b},
		Turned{Outline: []Spot{{X: 0, Y: 0}, {X: a, Y: 0}, {X: b, Y: c}}}, Skin{Profile: []Spot{{X: a, Y: 0}, {X: b, Y: c}}},
	}).Draw(t, "shape")
}

func assembly(t *rapid.T) Assembly {
	var a Assembly
	for range rapid.IntRange(1, 4).Draw(t, "parts") {
		p := Part{Shape: shape(t), Given: rapid.Float64Range(1e-3, 1).Draw(t, "mass"), At: vector(t, "at")}
		a = append(a, p.Turned(rapid.Float64Range(-3, 3).Draw(t, "angle"), Vec{}, direction(t)))
	}
	if err := a.Check(); err != nil {
		t.Fatal(err)
	}
	return a
}

func TestLawsOfInertia(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := assembly(t)
		r, n, p := a.Rigid(), direction(t), vector(t, "point")
		size := r.InertiaAbout(p).Trace() + r.Mass
		near := func(x, y float64) bool { return math.Abs(x-y) <= 1e-12*size }

		// Parallel axes: moving the axis away from the centre of gravity by d
		// adds m d², never less than nothing.
		off := r3.Cross(r3.Sub(p, r.CentreOfGravity), n)
		if got, want := a.MomentAbout(p, n), r.Inertia.Along(n)+r.Mass*r3.Norm2(off); !near(got, want) {
			t.Fatalf("about %v along %v: %v, by parallel axes %v", p, n, got, want)
		}
		// A body and its axis turned together keep their moment.
		angle, about, axis := rapid.Float64Range(-7, 7).Draw(t, "turn"), vector(t, "about"), direction(t)
		turn := r3.NewRotation(angle, axis)
		turnedPoint := r3.Add(about, turn.Rotate(r3.Sub(p, about)))
		if got := a.Turned(angle, about, axis).MomentAbout(turnedPoint, turn.Rotate(n)); !near(got, a.MomentAbout(p, n)) {
			t.Fatalf("turned: %v, before %v", got, a.MomentAbout(p, n))
		}
		if got := a.Moved(about).MomentAbout(r3.Add(p, about), n); !near(got, a.MomentAbout(p, n)) {
			t.Fatalf("moved: %v, before %v", got, a.MomentAbout(p, n))
		}
		// Principal moments: trace kept, each no more than the other two together,
		// and the tensor is diagonal in the axes.
		m, axes, err := r.Inertia.Principal()
		if err != nil {
			t.Fatal(err)
		}
		if !near(m[0]+m[1]+m[2], r.Inertia.Trace()) || m[2] > m[0]+m[1]+1e-12*size || m[0] < -1e-12*size {
			t.Fatalf("principal moments %v of %v", m, r.Inertia)
		}
		for i := range axes {
			if !near(r.Inertia.Along(axes[i]), m[i]) || math.Abs(r3.Norm(r3.Sub(r.Inertia.Mul(axes[i]), r3.Scale(m[i], axes[i])))) > 1e-12*size {
				t.Fatalf("axis %v: %v, want %v", axes[i], r.Inertia.Mul(axes[i]), m[i])
			}
		}
		if r3.Dot(r3.Cross(axes[0], axes[1]), axes[2]) < 0.999 {
			t.Fatalf("axes %v are not right-handed", axes)
		}
		if k := a.RadiusOfGyration(p, n); !near(r.Mass*k*k, a.MomentAbout(p, n)) {
			t.Fatalf("radius of gyration %v", k)
		}
	})
}

// A part and an equal hole leave nothing behind.
func TestHolesTakeAway(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := assembly(t)
		hole := Part{Shape: shape(t), Given: 1, At: vector(t, "hole")}
		fill := hole
		hole.Hole = true
		b := append(append(Assembly{}, a...), fill, hole)
		p, n := vector(t, "point"), direction(t)
		if got, want := b.MomentAbout(p, n), a.MomentAbout(p, n); math.Abs(got-want) > 1e-12*(10+want) {
			t.Fatalf("%v with a filled hole, %v without", got, want)
		}
	})
}

// Other ways to make the same body: shapes of one kind against another.
func TestShapesAgree(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b, c := length(t, "a"), length(t, "b"), length(t, "c")
		half := rapid.Float64Range(0.3, 3).Draw(t, "half")
		for _, pair := range [][2]Assembly{
			{solid(Tube{a + b, b, c}), {steel(Cylinder{a + b, c}), hole(Cylinder{b, c})}},
			{solid(Shell{a + b, b}), {steel(Sphere{a + b}), hole(Sphere{b})}},
			{solid(Cone{a, c}), solid(Frustum{a, 0, c})},
			{solid(Frustum{a, b, c}), solid(Turned{[]Spot{{X: 0, Y: 0}, {X: a, Y: 0}, {X: b, Y: c}, {X: 0, Y: c}}})},
			{solid(Tube{a + b, b, c}), solid(Turned{[]Spot{{X: b, Y: 0}, {X: a + b, Y: 0}, {X: a + b, Y: c}, {X: b, Y: c}}})},
			{solid(Cap{a, 2 * a}), {steel(Sphere{a}).Moved(V(0, a, 0))}},
			{solid(Torus{a + b, b}), {steel(Arc{a + b, -1, 1, 2 * b}), steel(Arc{a + b, 1, 2*math.Pi - 1, 2 * b})}},
			{solid(Disc{a, c}), {steel(Sector{a, half, c}), steel(Sector{a, math.Pi - half, c}).Turned(math.Pi, Vec{}, V(0, 0, 1))}},
			{solid(Disc{a, c}), {steel(Segment{a, half, c}), steel(Segment{a, math.Pi - half, c}).Turned(math.Pi, Vec{}, V(0, 0, 1))}},
			{solid(Block{a, b, c}), solid(Plate{Outline: Rectangle(a, b), Thickness: c})},
			{solid(Washer{a + b, b, c}), {steel(Disc{a + b, c}), hole(Disc{b, c})}},
			{solid(Rod{From: V(0, 0, 0), To: V(0, c, 0), Diameter: 2 * a}), solid(Cylinder{a, c})},
			{solid(Plate{Outline: Rectangle(a, b), Holes: [][]Spot{Rectangle(a/2, b/2)}, Thickness: c}),
				{steel(Block{a, b, c}), hole(Block{a / 2, b / 2, c})}},
		} {
			agree(t, pair[0], pair[1], 1e-9)
		}
		// A lathe's outline in many pieces comes near the smooth shape.
		ball := TurnedFrom(func(y float64) float64 { return math.Sqrt(max(0, a*a-y*y)) }, -a, a, 300)
		agree(t, solid(Sphere{a}), solid(ball), 3e-3)
	})
}

func solid(s Shape) Assembly { return Assembly{steel(s)} }

func steel(s Shape) Part {
	return Part{Shape: s, Material: Material{Density: 7850}}
}

func hole(s Shape) Part {
	p := steel(s)
	p.Hole = true
	return p
}

func agree(t *rapid.T, a, b Assembly, within float64) {
	t.Helper()
	if err := a.Check(); err != nil {
		t.Fatal(err)
	}
	if err := b.Check(); err != nil {
		t.Fatal(err)
	}
	ra, rb := a.Rigid(), b.Rigid()
	size := ra.InertiaAbout(Vec{}).Trace()
	gap := r3.Norm(r3.Sub(ra.CentreOfGravity, rb.CentreOfGravity))
	if math.Abs(ra.Mass-rb.Mass) > within*ra.Mass || gap*gap > within*size/ra.Mass {
		t.Fatalf("%#v: %v\n%#v: %v", a[0].Shape, ra, b[0].Shape, rb)
	}
	for _, n := range []Vec{{X: 1}, {Y: 1}, {Z: 1}, {X: 1, Y: 1}, {Y: 1, Z: 1}, {Z: 1, X: 1}} {
		p := V(0.1, -0.2, 0.3)
		if x, y := a.MomentAbout(p, n), b.MomentAbout(p, n); math.Abs(x-y) > within*(x+size) {
			t.Fatalf("%#v: %v about %v\n%#v: %v", a[0].Shape, x, n, b[0].Shape, y)
		}
	}
}

// Mistakes are told with the argument and the remedy, and nothing panics.
func TestMistakes(t *testing.T) {
	nan := math.NaN()
	for _, tt := range []struct {
		part Part
		want string
	}{
		{Part{}, "no shape: give one"},
		{Part{Shape: Sphere{-1}, Given: 1}, "radius of the sphere is negative (-1 m): give it as a positive length"},
		{Part{Shape: Sphere{nan}, Given: 1}, "radius of the sphere is NaN: give a finite length"},
		{Part{Shape: Rod{}, Given: 1}, "length of the rod is zero: give two different ends"},
		{Part{Shape: Sphere{1}, Given: -1}, "mass of the part is negative (-1 kg)"},
		{Part{Shape: Sphere{1}, Given: nan}, "mass of the part is NaN: give a finite mass"},
		{Part{Shape: Sphere{1}}, "neither mass nor material: give one of them"},
		{Part{Shape: Disc{1, 0}, Material: Material{Density: 1}}, "no thickness"},
		{Part{Shape: Sphere{1}, Given: 1, At: V(nan, 0, 0)}, "place"},
		{Part{Shape: Sphere{1}, Given: 1, Turn: r3.Rotation{Real: 2}}, "r3.NewRotation"},
		{Part{Shape: Tube{1, 2, 3}, Given: 1}, "exchange them"},
		{Part{Shape: Torus{1, 2}, Given: 1}, "enlarge the radius"},
		{Part{Shape: Cap{1, 3}, Given: 1}, "lower it"},
		{Part{Shape: Arc{1, 0, 7, 0}, Given: 1}, "at most one turn"},
		{Part{Shape: Wire{}, Given: 1}, "give at least two"},
		{Part{Shape: Plate{Outline: []Spot{{}, {X: 1, Y: 1}, {X: 1}, {Y: 1}}}, Given: 1}, "encloses nothing"},
		{Part{Shape: Plate{Outline: []Spot{{}, {X: 2, Y: 1}, {X: 2}, {Y: 2}}}, Given: 1}, "crosses itself between corners 1 and 3"},
		{Part{Shape: Plate{Outline: Rectangle(1, 1), Holes: [][]Spot{Rectangle(3, 3)}}, Given: 1}, "lies outside the outline"},
		{Part{Shape: Turned{[]Spot{{X: -1}, {X: 1}, {Y: 1}}}, Given: 1}, "negative radius"},
		{Part{Shape: Sector{1, 4, 0}, Given: 1}, "between 0 and π"},
		{Part{Shape: Mesh{}, Given: 1}, "at least four"},
	} {
		a := Assembly{tt.part}
		if err := a.Check(); err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%#v: %v, want %q", tt.part.Shape, err, tt.want)
		}
		if m := a.Mass(); !math.IsNaN(m) {
			t.Errorf("%#v weighs %v", tt.part.Shape, m)
		}
		if m, v, c, I := tt.part.Mass(), tt.part.Volume(), tt.part.CentreOfGravity(), tt.part.InertiaAbout(Vec{}); !math.IsNaN(m + v + c.X + I.XX) {
			t.Errorf("%#v: mass %v, volume %v, at %v, inertia %v", tt.part.Shape, m, v, c, I)
		}
		if len(tt.part.Drawing()) > 0 {
			t.Errorf("%#v is drawn", tt.part.Shape)
		}
	}
	if err := (Assembly{hole(Sphere{1})}).Check(); err == nil || !strings.Contains(err.Error(), "holes must weigh less") {
		t.Error(err)
	}
	if err := (Assembly{}).Check(); err == nil {
		t.Error("an empty body passes")
	}
	if _, err := MaterialNamed("unobtainium"); err == nil {
		t.Error("unobtainium is known")
	}
}
