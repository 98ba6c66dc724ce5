package library_test

import (
	"maps"
	"math"
	"testing"

	"counterpoise/mechanics/balance"
	"counterpoise/mechanics/body"
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
	checkKeys(t, "balance-point", []map[string]string{
		{"m": "14 g", "M": "17 g", "h": "50 mm"}, {"m": "24 g", "M": "25 g", "h": "80 mm"},
		{"m": "14 g", "M": "25 g", "h": "80 mm"}, {"m": "24 g", "M": "17 g", "h": "50 mm"},
	}, func(t *testing.T, v map[string]float64) map[string]route {
		const tilt = 0.7
		maps.Copy(v, map[string]float64{"g": 9.80665, "θ": tilt})
		whole := bird(v["m"], v["M"], v["h"], v["b"], v["B"], v["a"])
		depth := func(parts body.Assembly) float64 { return -parts.CentreOfGravity().Y }
		onPin, err := balance.New(whole[1:], balance.Stand{}, balance.Options{})
		if err != nil {
			t.Fatal(err)
		}
		heavy := bird(1e9, v["M"], v["h"], v["b"], v["B"], v["a"])
		v["d"] = depth(whole[1:])
		// The searches stop at 1e-9 of the value.
		least := route{value: leastWeight(t, v), within: 1e-8}
		return map[string]route{
			"arm-depth":    {value: depth(whole[1:2])},
			"cg-depth":     {value: v["d"]},
			"cg-number":    {value: v["d"]},
			"heavy-limit":  {value: depth(heavy[1:])},
			"torque":       {value: -onPin.Torque(tilt)},
			"whole-bird":   {value: depth(whole)},
			"least-weight": least,
			"least-number": least,
			"lean":         {value: lean(t, v), within: 1e-8},
		}
	})
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
