package toy_test

import (
	"fmt"
	"log"
	"math"
	"reflect"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"counterpoise/mechanics/balance"
	"counterpoise/mechanics/body"
	"counterpoise/mechanics/quantity"
	"counterpoise/mechanics/toy"
)

// every has each shape once, with awkward numbers.
func every() toy.Toy {
	shapes := []body.Shape{
		body.Rod{From: body.V(0.1, 1.0/3, 0), To: body.V(-0.2, 0, math.Pi/100), Diameter: 0.0025},
		body.Wire{Points: []body.Vec{{X: 1.0 / 7}, {Y: 0.1}, {Z: -0.3}}, Diameter: 0.001},
		body.Arc{Radius: 0.1, From: -1, To: 1.0 / 3, Diameter: 0.003}, body.Point{}, body.Sphere{Radius: 0.1 / 3},
		body.Shell{Outer: 0.02, Inner: 0.019}, body.Cap{Radius: 0.03, Height: 0.01}, body.Dome{Radius: 0.03, Height: 0.01, Thickness: 1e-4},
		body.Ellipsoid{X: 0.01, Y: 0.02, Z: 0.03}, body.Cylinder{Radius: 0.01, Height: 0.02}, body.Tube{Outer: 0.02, Inner: 0.01, Height: 0.03},
		body.Cone{Radius: 0.01, Height: 0.02}, body.Frustum{Base: 0.01, Top: 0.005, Height: 0.02}, body.Paraboloid{Radius: 0.01, Height: 0.02},
		body.Torus{Radius: 0.04, Tube: 0.001}, body.Disc{Radius: 0.02, Thickness: 0.001}, body.Washer{Outer: 0.02, Inner: 0.01, Thickness: 0.001},
		body.EllipticDisc{X: 0.02, Y: 0.01, Thickness: 0.001}, body.Block{X: 0.01, Y: 0.02, Z: 0.03},
		body.Plate{Outline: body.RegularPolygon(5, 0.03), Holes: [][]body.Spot{body.Rectangle(0.01, 0.01)}, Thickness: 0.002},
		body.Sector{Radius: 0.02, Half: 1, Thickness: 0.001}, body.Segment{Radius: 0.02, Half: 1, Thickness: 0.001},
		body.Turned{Outline: []body.Spot{{}, {X: 0.01}, {Y: 0.02}}}, body.Skin{Profile: []body.Spot{{X: 0.01}, {X: 0.02, Y: 0.03}}, Thickness: 0.001},
		body.Helix{Radius: 0.03, Pitch: 0.02, Turns: 10.0 / 3, Diameter: 0.002, Left: true},
	}
	var t toy.Toy
	for i, s := range shapes {
		t.Assembly = append(t.Assembly, body.Part{Shape: s, Name: fmt.Sprint("part ", i), Given: 0.001 * float64(i+1) / 3, At: body.V(0.01*float64(i), -0.1/3, 0)})
	}
	brass, err := body.MaterialNamed("brass")
	if err != nil {
		log.Fatal(err)
	}
	t.Assembly[0].Given, t.Assembly[0].Material = 0, brass
	t.Assembly[4].Given, t.Assembly[4].Material = 0, body.Material{Density: 7000.0 / 3}
	t.Assembly[9].Hole = true
	t.Assembly[15].Given, t.Assembly[15].Material = 0, body.Material{Name: "oak: old", Density: 710, Young: 11e9 / 3, Yield: 40e6}
	t.Assembly[12] = t.Assembly[12].Turned(1, body.Vec{}, body.V(1, 2, 3))
	t.Stand = balance.Stand{Kind: balance.Foot, At: body.V(0, -0.1, 0), Radius: 0.04, Half: 1, Dome: 0.3}
	t.Gravity = 9.81
	return t
}

func TestWriteReadsBack(t *testing.T) {
	before := every()
	text, err := before.Write()
	if err != nil {
		t.Fatal(err)
	}
	after, err := toy.Read(text, nil)
	if err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	for i := range before.Assembly {
		a, b := before.Assembly[i], after.Assembly[i]
		if gap := r3.Norm(r3.Sub(a.Turn.Rotate(body.V(1, 2, 3)), b.Turn.Rotate(body.V(1, 2, 3)))); a.Turn != (r3.Rotation{}) && gap > 1e-14 {
			t.Errorf("part %d is turned otherwise, by %v", i, gap)
		}
		if r3.Norm(r3.Sub(a.At, b.At)) > 1e-16 {
			t.Errorf("part %d is at %v, was at %v", i, b.At, a.At)
		}
		a.Turn, b.Turn, a.At, b.At = r3.Rotation{}, r3.Rotation{}, body.Vec{}, body.Vec{}
		if !reflect.DeepEqual(a, b) {
			t.Errorf("part %d\nwas %#v\nis  %#v", i, a, b)
		}
	}
	if before.Stand != after.Stand || before.Gravity != after.Gravity {
		t.Errorf("stand\nwas %#v\nis  %#v", before.Stand, after.Stand)
	}
	if _, err := (toy.Toy{Assembly: body.Assembly{{Shape: body.Mesh{}}}}).Write(); err == nil {
		t.Error("a mesh is written")
	}
}

func TestReadFile(t *testing.T) {
	all, err := toy.ReadFile([]byte(`
params:
  m: {value: 18 g, means: mass of a lantern}
  h: 62 mm
toys:
  lantern:
    parts: [{shape: point, mass: m, at: [0, -h]}]
    stand: {kind: string, length: 200 mm}
  reed:
    parts: [{shape: rod, from: [0, 0], to: [0, -1 m], mass: 120 g}]
    stand: {kind: edge}
`))
	if err != nil {
		t.Fatal(err)
	}
	reed, err := toy.One(all, "reed")
	if err != nil || len(all) != 2 || all[0].Name != "lantern" {
		t.Fatalf("%v, %v", all, err)
	}
	if T := reed.Values()["period"]; T.Format(4, T.Unit) != "1.638 s" { // style: a reed hung by its end
		t.Error(T)
	}
	if T := all[0].Values()["period"].Value; math.Abs(T-2*math.Pi*math.Sqrt(0.262/9.80665)) > 1e-12 {
		t.Errorf("lantern: %v", T) // a point on a thread: one length
	}
	if _, err := toy.ReadFile([]byte("toys:\n  a: {parts: []}\n  b: 1\nparams: 3")); err == nil {
		t.Error("nonsense is read")
	}
}

func FuzzRead(f *testing.F) {
	text, err := every().Write()
	if err != nil {
		f.Fatal(err)
	}
	f.Add(string(text))
	f.Add(y1)
	f.Add(y3)
	f.Add("parts: [{shape: sphere, mass: m, at: [h + 5 mm, -2 h]}]\nstand: {kind: point}")
	params := toy.Params{"h": quantity.MustParse("62 mm"), "m": quantity.MustParse("18 g")}
	f.Fuzz(func(t *testing.T, text string) {
		read, err := toy.Read([]byte(text), params)
		if err != nil {
			return
		}
		written, err := read.Write()
		if err != nil {
			t.Fatal(err)
		}
		again, err := toy.Read(written, nil)
		if err != nil {
			t.Fatalf("%s\nwrites as\n%s\nwhich does not read back: %v", text, written, err)
		}
		a, b := read.Values(), again.Values()
		for name, q := range a {
			size := math.Abs(q.Value) + 1e-6
			if !(math.Abs(b[name].Value-q.Value) <= 1e-6*size) && name != "stable" && name != "lean" && name != "tip" {
				t.Fatalf("%s\nwrites as\n%s\n%s was %v, is %v", text, written, name, q, b[name])
			}
		}
	})
}

func ExampleRead() {
	params := toy.Params{"m": quantity.MustParse("18 g"), "h": quantity.MustParse("62 mm")}
	heron, err := toy.Read([]byte(`
parts:
  - {shape: rod, from: [0 mm, 0 mm, 0 mm], to: [90 mm, -h, 0 mm], diameter: 2.5 mm, material: brass, mirror: true}
  - {shape: sphere, at: [90 mm, -h, 0 mm], mass: m, mirror: true}
stand: {kind: point, at: [0 mm, 0 mm, 0 mm]}
`), params)
	if err != nil {
		log.Fatal(err)
	}
	v := heron.Values()
	fmt.Println(v["mass"].Format(3, v["mass"].Unit), "with the centre of gravity", v["depth"].Format(3, v["depth"].Unit), "below the pin")
	fmt.Println("one swing in", v["period"].Format(3, v["period"].Unit))
	// Output:
	// 45.1 g with the centre of gravity 55.7 mm below the pin
	// one swing in 0.864 s
}
