package toy_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"counterpoise/mechanics/quantity"
	"counterpoise/mechanics/toy"
	"counterpoise/testdata"
)

// The reference toys Y1 to Y3 of the check values, computed by quadrature over
// their volumes.
const y1 = `
parts:
  - {shape: rod, from: [0 mm, 0 mm, 0 mm], to: [80 mm, -50 mm, 0 mm], diameter: 2.5 mm, material: brass, mirror: true}
  - {shape: sphere, name: ball, at: [80 mm, -50 mm], diameter: 12 mm, material: steel, mirror: true}
  - {shape: sphere, at: [0, 8 mm, 0], diameter: 10 mm, density: 1200 kg/m^3}
stand: {kind: point, at: [0 mm, 0 mm, 0 mm]}
`

const y2 = `
parts:
  - {shape: rod, from: [0, 0, 0], to: [80 mm, -6 mm, 0], diameter: 2.5 mm, material: brass, mirror: true}
  - {shape: sphere, at: [80 mm, -6 mm], diameter: 8 mm, material: aluminium, mirror: true}
  - {shape: cylinder, from: [0, 0, 0], to: [0, 20 mm, 0], diameter: 4 mm, density: 1200 kg/m^3}
  - {shape: sphere, at: [0, 30 mm], radius: 1 cm, density: 1.2 g/cm^3}
stand: {kind: point}
`

const y3 = `
parts:
  - {shape: hemisphere, radius: 40 mm, material: wood, turn: {axis: x, angle: 180 deg}, at: [0, 40 mm]}
  - {shape: cylinder, at: [0, 40 mm], height: 60 mm, diameter: 3 mm, density: 7850 kg/m³}
  - {shape: sphere, at: [0, 100 mm, 0], diameter: 8 mm, density: 7850 kg/m³}
stand: {kind: foot, radius: 40 mm}
`

func values(t *testing.T, text string, params toy.Params) map[string]quantity.Quantity {
	t.Helper()
	made, err := toy.Read([]byte(text), params)
	if err != nil {
		t.Fatal(err)
	}
	return made.Values()
}

func TestReferenceToys(t *testing.T) {
	for _, tt := range []struct {
		text, name, printed string
		scale               float64
	}{
		{y1, "mass", "22.70586", 1e3}, {y1, "cg.y", "-39.72708", 1e3}, {y1, "depth", "39.72708", 1e3},
		{y1, "inertia", "1.5003399e-4", 1}, {y1, "inertia.x", "4.2329332e-5", 1}, {y1, "inertia.y", "1.0792165e-4", 1},
		{y1, "period", "0.818280", 1}, {y1, "period.z", "0.434638", 1}, {y1, "stable", "1", 1}, {y1, "lean", "0.000000", 1},
		{y2, "mass", "13.47042", 1e3}, {y2, "cg.y", "9.28275", 1e3}, {y2, "stable", "0", 1},
		{y3, "mass", "92.56059", 1e3}, {y3, "cg.y", "28.32379", 1e3}, {y3, "inertia", "1.2898411e-4", 1}, {y3, "inertia.cg", "5.4728556e-5", 1},
		{y3, "period", "0.693144", 1}, {y3, "stable", "1", 1},
	} {
		got, ok := values(t, tt.text, nil)[tt.name]
		if !ok {
			t.Errorf("%s is missing", tt.name)
			continue
		}
		testdata.Agrees(t, got.Value*tt.scale, tt.printed)
	}
	if _, ok := values(t, y2, nil)["period"]; ok {
		t.Error("a toy that falls has a period")
	}
}

// Computed beforehand for toy Y1 of check-values: both arms bent 1° higher or lower
// change the depth by 1.1 mm and the period by 1.4 %; one arm 1° lower tilts the
// figure by 0.50°.
func TestBentArmsOfY1(t *testing.T) {
	arms := func(left, right string) map[string]quantity.Quantity {
		return values(t, `
parts:
  - {shape: rod, from: [0, 0, 0], to: [l cos(a + `+right+`), -l sin(a + `+right+`), 0], diameter: 2.5 mm, material: brass}
  - {shape: sphere, at: [l cos(a + `+right+`), -l sin(a + `+right+`)], diameter: 12 mm, material: steel}
  - {shape: rod, from: [0, 0, 0], to: [-l cos(a + `+left+`), -l sin(a + `+left+`), 0], diameter: 2.5 mm, material: brass}
  - {shape: sphere, at: [-l cos(a + `+left+`), -l sin(a + `+left+`)], diameter: 12 mm, material: steel}
  - {shape: sphere, at: [0, 8 mm, 0], diameter: 10 mm, density: 1200 kg/m^3}
stand: {kind: point}
`, toy.Params{"l": quantity.New(math.Hypot(0.080, 0.050), quantity.MustUnit("mm")), "a": quantity.New(math.Atan2(50, 80), quantity.MustUnit("rad"))})
	}
	straight, both, one := arms("0 deg", "0 deg"), arms("1 deg", "1 deg"), arms("0 deg", "1 deg")
	testdata.Agrees(t, (both["depth"].Value-straight["depth"].Value)*1e3, "1.1")
	testdata.Agrees(t, (1-both["period"].Value/straight["period"].Value)*100, "1.4")
	testdata.Agrees(t, math.Abs(one["lean"].Value)*180/math.Pi, "0.50")
}

func TestFormulas(t *testing.T) {
	params := toy.Params{
		"m": quantity.MustParse("18 g"), "M": quantity.MustParse("21 g"), "h": quantity.MustParse("62 mm"), "b": quantity.MustParse("90 mm"),
	}
	got := values(t, `
parts:
  - {shape: rod, name: right, from: [0 mm, 0 mm, 0 mm], to: [b, -h, 0 mm], diameter: 2.5 mm, mass: M/2}
  - {shape: rod, from: [0 mm, 0 mm, 0 mm], to: [-b, -h, 0 mm], diameter: 2.5 mm, mass: M/2}
  - {shape: sphere, at: [b, -h, 0 mm], mass: m, diameter: 16 mm}
  - {shape: sphere, at: [-b, -h + 0 mm, 0 mm], mass: "m + M - 21 g", diameter: 16 mm}
stand: {kind: point, at: [0 mm, 0 mm, 0 mm]}
`, params)
	// By moments about the pin: (2 m h + M h/2)/(2 m + M).
	want := (2*18*62 + 21*62.0/2) / (2*18 + 21) * 1e-3
	if d := got["depth"].Value; math.Abs(d-want) > 1e-15 {
		t.Errorf("depth %v, want %v", d, want)
	}
	if got["right.mass"].Value != 0.0105 || got["mass"].Value-0.057 > 1e-15 {
		t.Errorf("masses %v, %v", got["right.mass"], got["mass"])
	}
}

// Every mistake is told with its line, and all of them.
func TestMistakes(t *testing.T) {
	params := toy.Params{"h": quantity.MustParse("62 mm"), "m": quantity.MustParse("18 g")}
	for _, tt := range []struct{ text, want string }{
		{"", "line 1: no toy is described"},
		{"parts: [", "line 1: this is not YAML"},
		{"- 1", "line 1: a toy is a map: write parts: and stand:"},
		{"stand: {kind: point}", "line 1: the toy has no parts"},
		{"parts:\n  - {shape: rodd}\nstand: {kind: point}", "line 2: part 1: unknown shape \"rodd\": use one of rod, wire"},
		{"parts:\n  - {shape: sphere, diametre: 2 mm, mass: 1 g}\nstand: {kind: point}", "line 2: part 1 (sphere): unknown field \"diametre\""},
		{"parts:\n  - {shape: sphere, diameter: 2 gr, mass: 1 g}\nstand: {kind: point}", `unknown unit "gr": write g for grams`},
		{"parts:\n  - {shape: sphere, diameter: 2 g, mass: 1 g}\nstand: {kind: point}", "diameter: column 3: g is the unit of a mass, not of a length"},
		{"parts:\n  - {shape: sphere, diameter: m, mass: 1 g}\nstand: {kind: point}", "diameter: the formula does not give a length"},
		{"parts:\n  - {shape: sphere, diameter: h + m, mass: 1 g}\nstand: {kind: point}", "the formula does not give a length"},
		{"parts:\n  - {shape: sphere, diameter: 2, mass: 1 g}\nstand: {kind: point}", "unit is missing: write one, such as m"},
		{"parts:\n  - {shape: sphere, diameter: H, mass: 1 g}\nstand: {kind: point}", "H"},
		{"parts:\n  - {shape: sphere, diameter: \"0,5 mm\", mass: 1 g}\nstand: {kind: point}", "decimal comma"},
		{"parts:\n  - {shape: sphere, diameter: 2 mm, mass: -1 g}\nstand: {kind: point}", "mass is -1 g, which is not more than zero"},
		{"parts:\n  - {shape: sphere, diameter: 2 mm}\nstand: {kind: point}", "neither mass nor material"},
		{"parts:\n  - {shape: sphere, diameter: 2 mm, material: bras}\nstand: {kind: point}", `unknown material "bras"`},
		{"parts:\n  - {shape: rod, from: [0, 0], diameter: 2 mm, mass: 1 g}\nstand: {kind: point}", "to is missing"},
		{"parts:\n  - {shape: rod, from: [0, 0], to: [0, 0], diameter: 2 mm, mass: 1 g}\nstand: {kind: point}", "length of the rod is zero"},
		{"parts:\n  - {shape: sphere, mass: 1 g}", "line 1: the toy has no stand"},
		{"parts:\n  - {shape: sphere, mass: 1 g}\nstand: {kind: pointy}", "line 3: stand: unknown kind of stand \"pointy\""},
		{"parts:\n  - {shape: sphere, mass: 1 g}\nstand: {kind: foot}", "line 3: stand: radius of the round foot is 0 m"},
		{"parts:\n  - &a {shape: sphere, mass: 1 g}\n  - *a\nstand: {kind: point}", "anchors, aliases and tags are not read"},
		{"parts:\n  - {shape: sphere, mass: 1 g, mass: 2 g}\nstand: {kind: point}", "already defined"},
		{strings.Repeat("[", 100), "more than 24 deep"},
		{strings.Repeat("a: b\n", 100000), "longer than"},
	} {
		_, err := toy.Read([]byte(tt.text), params)
		var problems toy.Problems
		if err == nil || !errors.As(err, &problems) || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%q:\n%v\nwant %q", tt.text[:min(len(tt.text), 100)], err, tt.want)
		}
	}
	_, err := toy.Read([]byte("parts:\n  - {shape: sphere, mass: 1}\n  - {shape: blob}\n  - {shape: rod, from: [0 mm], to: [1 m, 1 m], mass: 1 g}\nstand: {kind: foot}\nstand2: 1"), params)
	var problems toy.Problems
	if !errors.As(err, &problems) || len(problems) != 5 {
		t.Fatalf("not all five mistakes: %v", err)
	}
	for i, line := range []int{2, 3, 4, 5, 6} {
		if problems[i].Line != line {
			t.Errorf("problem %d is in line %d, want %d", i, problems[i].Line, line)
		}
	}
}

func TestFormulasWithUnits(t *testing.T) {
	params := toy.Params{"h": quantity.MustParse("62 mm"), "α": quantity.MustParse("30 deg"), "m_1": quantity.MustParse("3 g")}
	for text, mm := range map[string]float64{
		"h/2+5mm": 36, "h + 0.5 cm": 67, "sqrt(h^2 + (20 mm)^2)": math.Hypot(62, 20), "2h": 124, "1.5 h": 93, "-(h)": -62, "(h+1 mm)*2": 126,
		"5 mm + 3 mm": 8, "h²/h": 62, "3 cm/2": 15, "5 mm²/h": 5.0 / 62, "h sin(alpha)": 31, `\frac{h}{2}`: 31, "h*2 m_1/(3 g)": 124,
		"h*3 m1/(9 g)": 62, "2 m/s * 3 ms": 6, "h (1 - cos(60°))": 31, "9.81 m/s^2 * (0.1 s)^2": 98.1, "10 % * h": 6.2, "2 m_1/(1 g) * h": 372,
	} {
		read, err := toy.Read([]byte("parts:\n  - {shape: sphere, mass: 1 g, at: ['"+text+"', 0]}\nstand: {kind: point}"), params)
		if err != nil || math.Abs(read.Assembly[0].At.X*1e3-mm) > 1e-9*math.Abs(mm) {
			t.Errorf("%s: %v, %v, want %v mm", text, read.Assembly, err, mm)
		}
	}
	// A parameter's name is never a unit: here s is a length.
	params["s"] = quantity.MustParse("2 mm")
	read, err := toy.Read([]byte("parts:\n  - {shape: sphere, mass: 1 g, at: ['5 mm/s * s', '3 s']}\nstand: {kind: point}"), params)
	if err != nil || math.Abs(read.Assembly[0].At.X-0.005) > 1e-15 || math.Abs(read.Assembly[0].At.Y-0.006) > 1e-15 {
		t.Errorf("%v, %v", read.Assembly, err)
	}
}

func TestAmbiguousNumberAndParameter(t *testing.T) {
	text := "parts: [{shape: sphere, diameter: 1 mm, mass: 1 g, at: [2 m, 0]}]\nstand: {kind: point}"
	if _, err := toy.Read([]byte(text), toy.Params{"m": quantity.MustParse("3 mm")}); err == nil || !strings.Contains(err.Error(), "write a *") {
		t.Errorf("2 m with a length m: %v", err)
	}
	if _, err := toy.Read([]byte(text), toy.Params{"m": quantity.MustParse("3 g")}); err != nil {
		t.Errorf("2 m with a mass m: %v", err)
	}
}
