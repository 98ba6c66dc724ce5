package library_test

import (
	"maps"
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"counterpoise/mechanics/balance"
	"counterpoise/mechanics/body"
)

// The keys of coming-back by a second route. Centres of gravity come from
// package body, whose half ball is checked against published tables; where a
// figure stops coming back is searched for with package balance, which follows
// the potential energy; so are the energies of tilting and tipping.
func TestComingBackKeysBySecondRoute(t *testing.T) {
	checkKeys(t, "coming-back", []map[string]string{
		{"M": "80 g", "p": "5 g", "H": "60 mm", "q": "26 g", "N": "210 g", "b": "20 mm", "c": "70 mm"},
		{"M": "96 g", "p": "8 g", "H": "80 mm", "q": "36 g", "N": "270 g", "b": "28 mm", "c": "50 mm"},
	}, func(t *testing.T, v map[string]float64) map[string]route {
		const tilt, W = 0.5, 0.9
		maps.Copy(v, map[string]float64{"g": 9.80665, "W": W, "d": 0.04, "z": 0.031, "θ": tilt, "β": 0.2})
		onPin, err := balance.New(body.Assembly{{Shape: body.Point{}, Given: W / v["g"], At: body.V(0, -v["d"], 0)}}, balance.Stand{}, balance.Options{})
		if err != nil {
			t.Fatal(err)
		}
		onFoot, err := balance.New(body.Assembly{{Shape: body.Point{}, Given: W / v["g"], At: body.V(0, v["z"], 0)}},
			balance.Stand{Kind: balance.Foot, Radius: v["R"]}, balance.Options{})
		if err != nil {
			t.Fatal(err)
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
		// The searches stop at 1e-9 of their range.
		return map[string]route{
			"pin-energy":     {value: onPin.PotentialEnergy(tilt) - onPin.PotentialEnergy(0)},
			"pin-torque":     {value: onPin.Torque(tilt)},
			"foot-height":    {value: height},
			"foot-number":    {value: height},
			"foot-energy":    {value: onFoot.PotentialEnergy(tilt) - onFoot.PotentialEnergy(0)},
			"greatest-lamp":  {value: lamp, within: 1e-7},
			"least-ballast":  {value: ballast, within: 1e-7},
			"ballast-number": {value: ballast, within: 1e-7},
			"tipping":        {letters: map[string]float64{"α": tip}},
			"tipping-number": {value: tip},
			"energy-to-tip":  {value: lantern.PotentialEnergy(tip) - lantern.PotentialEnergy(0)},
			"on-a-slope":     {letters: map[string]float64{"φ": lowestOnSlope(v["R"], v["β"])}, within: 1e-6},
		}
	})
}

// lowestOnSlope is the tilt at which the centre of gravity of a half ball that
// has rolled along a slope is lowest. Its height is that of the centre of the
// curve, which has moved by R φ along the slope, less (3/8) R cos φ.
func lowestOnSlope(R, slope float64) float64 {
	return lowest(func(tilt float64) float64 { return -R*tilt*math.Sin(slope) - 3*R/8*math.Cos(tilt) }, 0, math.Pi/2)
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
