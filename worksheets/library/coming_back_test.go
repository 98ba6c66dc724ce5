package library_test

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"counterpoise/mechanics/balance"
	"counterpoise/mechanics/body"
	"counterpoise/mechanics/expr/parse"
	"counterpoise/worksheets/build"
	"counterpoise/worksheets/library"
)

// The keys of coming-back by a second route. Centres of gravity come from
// package body, whose half ball is checked against published tables; where a
// figure stops coming back is searched for with package balance, which follows
// the potential energy; so is the energy that tipping takes.
func TestComingBackKeysBySecondRoute(t *testing.T) {
	s, err := library.Read("coming-back")
	if err != nil {
		t.Fatal(err)
	}
	key, err := build.Key(s)
	if err != nil {
		t.Fatal(err)
	}
	for _, own := range []map[string]string{
		nil,
		{"M": "80 g", "p": "5 g", "H": "60 mm", "q": "26 g", "N": "210 g", "b": "20 mm", "c": "70 mm"},
		{"M": "96 g", "p": "8 g", "H": "80 mm", "q": "36 g", "N": "270 g", "b": "28 mm", "c": "50 mm"},
	} {
		asked, err := key.Asked(own)
		if err != nil {
			t.Fatal(err)
		}
		v := map[string]float64{"g": 9.80665}
		for name, q := range asked[4].Values { // foot-number has the copy's own values
			v[name] = q.Value
		}
		buoy := func(lamp, ballast float64) *balance.Balance {
			whole := body.Assembly{
				{Shape: body.Hemisphere(v["R"]), Given: v["M"], At: body.V(0, v["R"], 0), Turn: r3.NewRotation(math.Pi, body.V(0, 0, 1))},
				{Shape: body.Point{}, Given: lamp, At: body.V(0, v["R"]+v["H"], 0)},
			}
			if ballast > 0 {
				whole = append(whole, body.Part{Shape: body.Point{}, Given: ballast})
			}
			b, err := balance.New(whole, balance.Stand{Kind: balance.Foot, Radius: v["R"]}, balance.Options{})
			if err != nil {
				t.Fatal(err)
			}
			return b
		}
		comesBack := func(b *balance.Balance) bool { return b.PotentialEnergy(0.05) > b.PotentialEnergy(0) }
		base := balance.Stand{Kind: balance.Base, At: body.V(-v["b"], 0, 0), To: body.V(v["b"], 0, 0)}
		lantern, err := balance.New(body.Assembly{{Shape: body.Point{}, Given: v["N"], At: body.V(0, v["c"], 0)}}, base, balance.Options{})
		if err != nil {
			t.Fatal(err)
		}
		tip, err := lantern.TippingAngle()
		if err != nil {
			t.Fatal(err)
		}
		height := buoy(v["p"], 0).Rigid().CentreOfGravity.Y
		lamp := border(func(x float64) bool { return !comesBack(buoy(x, 0)) }, 1e-3, 0.2)
		ballast := border(func(x float64) bool { return comesBack(buoy(v["q"], x)) }, 1e-4, 0.2)
		want := map[string]float64{
			"foot-height": height, "foot-number": height, "greatest-lamp": lamp,
			"least-ballast": ballast, "ballast-number": ballast,
			"tipping": tip, "tipping-number": tip, "energy-to-tip": lantern.PotentialEnergy(tip) - lantern.PotentialEnergy(0),
		}
		seen := 0
		for i := range asked {
			q := &key.Questions[i].Question
			expected, ok := want[q.Name]
			if !ok {
				continue
			}
			seen++
			e, err := parse.Parse(q.Key, parse.Options{Symbols: []string{"M", "R", "p", "H", "q", "N", "b", "c", "g"}})
			if err != nil {
				t.Fatal(err)
			}
			got, err := e.Eval(v)
			if err != nil {
				t.Fatal(err)
			}
			// The searches stop at 1e-9 of their range.
			if math.Abs(got-expected) > 1e-7*math.Abs(expected) {
				t.Errorf("%s with %v: key %v, second route %v (SI)", q.Name, own, got, expected)
			}
		}
		if seen != len(want) {
			t.Errorf("%d of %d keys have been checked", seen, len(want))
		}
	}
}

// The energies of coming-back against those that package balance finds by
// lifting the centre of gravity, and a half ball at rest on a slope against the
// lowest place of its centre of gravity.
func TestComingBackEnergiesBySecondRoute(t *testing.T) {
	const W, d, R, z = 0.9, 0.04, 0.042, 0.031
	onPin, err := balance.New(body.Assembly{{Shape: body.Point{}, Given: W / 9.80665, At: body.V(0, -d, 0)}}, balance.Stand{}, balance.Options{})
	if err != nil {
		t.Fatal(err)
	}
	onFoot, err := balance.New(body.Assembly{{Shape: body.Point{}, Given: W / 9.80665, At: body.V(0, z, 0)}}, balance.Stand{Kind: balance.Foot, Radius: R}, balance.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, tilt := range []float64{0.1, 0.5, 1} {
		for _, tt := range []struct {
			name      string
			got, want float64
		}{
			{"pin-energy", W * d * (1 - math.Cos(tilt)), onPin.PotentialEnergy(tilt) - onPin.PotentialEnergy(0)},
			{"pin-torque", -W * d * math.Sin(tilt), onPin.Torque(tilt)},
			{"foot-energy", W * (R - z) * (1 - math.Cos(tilt)), onFoot.PotentialEnergy(tilt) - onFoot.PotentialEnergy(0)},
		} {
			if math.Abs(tt.got-tt.want) > 1e-12 {
				t.Errorf("%s at %g rad: key %v, second route %v", tt.name, tilt, tt.got, tt.want)
			}
		}
	}
	// On a slope the height of the centre of gravity at a tilt φ is that of the
	// centre of the curve, which has rolled up R φ sin β, less (3/8) R cos φ.
	const slope = 0.2
	height := func(tilt float64) float64 { return R*tilt*-math.Sin(slope) - 3*R/8*math.Cos(tilt) }
	low, high := 0.0, math.Pi/2
	for range 200 {
		a, b := low+(high-low)/3, high-(high-low)/3
		if height(a) < height(b) {
			high = b
		} else {
			low = a
		}
	}
	if got, want := math.Sin(low), 8*math.Sin(slope)/3; math.Abs(got-want) > 1e-6 {
		t.Errorf("on-a-slope: lowest place at sin φ = %v, key %v", got, want)
	}
}

// border searches where a condition begins to hold as x grows.
func border(holds func(float64) bool, low, high float64) float64 {
	for range 60 {
		if mid := (low + high) / 2; holds(mid) {
			high = mid
		} else {
			low = mid
		}
	}
	return (low + high) / 2
}
