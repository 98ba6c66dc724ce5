package balance_test

import (
	"errors"
	"math"
	"testing"

	"counterpoise/mechanics/balance"
	"counterpoise/mechanics/body"
	"counterpoise/testdata"
)

func mm(x, y, z float64) body.Vec { return body.V(x/1e3, y/1e3, z/1e3) }

func wings(head body.Assembly, x, y, ball float64, metal body.Material) body.Assembly {
	a := append(body.Assembly{}, head...)
	for _, side := range []float64{-1, 1} {
		a = append(a,
			body.Part{Shape: body.Rod{From: mm(0, 0, 0), To: mm(x*side, y, 0), Diameter: 0.0025}, Material: body.Material{Density: 8500}},
			body.Part{Shape: body.Sphere{Radius: ball / 2000}, Material: metal, At: mm(x*side, y, 0)})
	}
	return a
}

func must(t *testing.T, a body.Assembly, s balance.Stand, o balance.Options) *balance.Balance {
	t.Helper()
	b, err := balance.New(a, s, o)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func period(t *testing.T, b *balance.Balance) float64 {
	t.Helper()
	T, err := b.Period()
	if err != nil {
		t.Fatal(err)
	}
	return T
}

// The reference toys Y1 to Y3 of the check values, computed by quadrature over
// their volumes.
func TestReferenceToys(t *testing.T) {
	light := body.Material{Density: 1200}
	y1 := wings(body.Assembly{{Shape: body.Sphere{Radius: 0.005}, Material: light, At: mm(0, 8, 0)}}, 80, -50, 12, body.Material{Density: 7850})
	across := must(t, y1, balance.Stand{Kind: balance.Pin}, balance.Options{})
	testdata.Agrees(t, period(t, across), "0.818280")
	foreAndAft := must(t, y1, balance.Stand{Kind: balance.Pin}, balance.Options{Axis: body.V(1, 0, 0)})
	testdata.Agrees(t, period(t, foreAndAft), "0.434638")
	if across.Stability() != balance.Stable {
		t.Error("Y1 does not balance")
	}
	if lean, err := across.TippingAngle(); err != nil || math.Abs(lean-math.Pi) > 1e-9 {
		t.Errorf("Y1 tips at %v, %v", lean, err)
	}

	y2 := wings(body.Assembly{
		{Shape: body.Rod{To: mm(0, 20, 0), Diameter: 0.004}, Material: light},
		{Shape: body.Sphere{Radius: 0.010}, Material: light, At: mm(0, 30, 0)},
	}, 80, -6, 8, body.Material{Density: 2700})
	falls := must(t, y2, balance.Stand{Kind: balance.Pin}, balance.Options{})
	if falls.Stability() != balance.Unstable {
		t.Error("Y2 does not fall")
	}
	if _, err := falls.Period(); !errors.Is(err, balance.ErrNoRest) {
		t.Errorf("Y2: %v", err)
	}

	y3 := body.Assembly{
		body.Part{Shape: body.Hemisphere(0.040), Material: body.Material{Density: 650}}.Turned(math.Pi, body.Vec{}, body.V(1, 0, 0)).Moved(mm(0, 40, 0)),
		{Shape: body.Rod{From: mm(0, 40, 0), To: mm(0, 100, 0), Diameter: 0.003}, Material: body.Material{Density: 7850}},
		{Shape: body.Sphere{Radius: 0.004}, Material: body.Material{Density: 7850}, At: mm(0, 100, 0)},
	}
	rocks := must(t, y3, balance.Stand{Kind: balance.Foot, Radius: 0.040}, balance.Options{})
	testdata.Agrees(t, period(t, rocks), "0.693144")
}
