package library_test

import (
	"math"
	"testing"

	"counterpoise/mechanics/balance"
	"counterpoise/mechanics/body"
	"counterpoise/worksheets/build"
	"counterpoise/worksheets/library"
)

// bird builds the heron of balance-point from its numbers, in SI: the second
// route to its keys. Centres of gravity come from package body, whose shapes
// are checked against published tables; rest and stability from package
// balance, which follows the potential energy and takes no moments.
func bird(m, M, h, b, B, a float64) body.Assembly {
	left, right := body.V(-b, -h, 0), body.V(b, -h, 0)
	return body.Assembly{
		{Shape: body.Ellipsoid{X: 0.014, Y: 0.035, Z: 0.01}, Given: B, At: body.V(0, a, 0)},
		{Shape: body.Rod{To: left, Diameter: 0.0025}, Given: M / 2},
		{Shape: body.Rod{To: right, Diameter: 0.0025}, Given: M / 2},
		{Shape: body.Sphere{Radius: 0.008}, Given: m, At: left},
		{Shape: body.Sphere{Radius: 0.008}, Given: m, At: right},
	}
}

func TestBalancePointKeysBySecondRoute(t *testing.T) {
	s, err := library.Read("balance-point")
	if err != nil {
		t.Fatal(err)
	}
	key, err := build.Key(s)
	if err != nil {
		t.Fatal(err)
	}
	// The corners of the ranges, and the printed values.
	for _, own := range []map[string]string{
		nil,
		{"m": "14 g", "M": "17 g", "h": "50 mm"}, {"m": "24 g", "M": "25 g", "h": "80 mm"},
		{"m": "14 g", "M": "25 g", "h": "80 mm"}, {"m": "24 g", "M": "17 g", "h": "50 mm"},
	} {
		asked, err := key.Asked(own)
		if err != nil {
			t.Fatal(err)
		}
		v := map[string]float64{}
		for name, q := range asked[1].Values { // arm-depth, a number: it has the copy's own values
			v[name] = q.Value
		}
		whole := bird(v["m"], v["M"], v["h"], v["b"], v["B"], v["a"])
		wings := whole[1:]
		want := map[string]float64{
			"arm-depth":    -wings[0].CentreOfGravity().Y,
			"cg-number":    -body.Assembly(wings).CentreOfGravity().Y,
			"least-number": leastWeight(t, v),
			"lean":         lean(t, v),
		}
		for i, a := range asked {
			name := key.Questions[i].Name
			value, ok := a.Value()
			if !ok {
				continue
			}
			expected, known := want[name]
			if !known {
				t.Fatalf("no second route to %s", name)
			}
			// The searches below stop at 1e-9 of the value.
			if math.Abs(value.Value-expected) > 1e-8*math.Abs(expected) {
				t.Errorf("%s with %v: key %v, second route %v (SI)", name, own, value.Value, expected)
			}
		}
	}
}

// leastWeight searches the mass at which the bird begins to come back.
func leastWeight(t *testing.T, v map[string]float64) float64 {
	t.Helper()
	low, high := 1e-6, 0.1
	for high-low > 1e-12 {
		m := (low + high) / 2
		b, err := balance.New(bird(m, v["M"], v["h"], v["b"], v["B"], v["a"]), balance.Stand{}, balance.Options{})
		if err != nil {
			t.Fatal(err)
		}
		if b.Torque(1e-7) < 0 { // turns back
			high = m
		} else {
			low = m
		}
	}
	return (low + high) / 2
}

// lean searches the tilt of least potential energy with the extra mass.
func lean(t *testing.T, v map[string]float64) float64 {
	t.Helper()
	leaning := bird(v["m"], v["M"], v["h"], v["b"], v["B"], v["a"])
	leaning[4].Given += v["e"]
	b, err := balance.New(leaning, balance.Stand{}, balance.Options{})
	if err != nil {
		t.Fatal(err)
	}
	// Golden section would lose half the digits; the torque is the slope.
	low, high := -math.Pi/2, math.Pi/2
	for range 60 {
		mid := (low + high) / 2
		if b.Torque(mid) > 0 {
			low = mid
		} else {
			high = mid
		}
	}
	return math.Abs(low+high) / 2
}
