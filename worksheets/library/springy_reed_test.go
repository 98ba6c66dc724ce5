package library_test

import (
	"maps"
	"math"
	"testing"

	"counterpoise/mechanics/body"
	"counterpoise/mechanics/elastic"
	"counterpoise/mechanics/motion"
	"counterpoise/testdata"
)

// The keys of springy-reed by a second route. The stiffness comes from
// integrating the bent rod's curvature from the clamp, the second moment of
// area and the effective mass from sums over pieces, the frequencies from the
// exact equation of the bending rod in package elastic, which is checked
// against published roots.
func TestSpringyReedKeysBySecondRoute(t *testing.T) {
	checkKeys(t, "springy-reed", []map[string]string{
		{"D": "1.4 mm", "L": "170 mm", "m": "8 g", "w": "2.4 mm"},
		{"D": "1.7 mm", "L": "140 mm", "m": "12 g", "w": "3.6 mm"},
	}, func(t *testing.T, v map[string]float64) map[string]route {
		maps.Copy(v, map[string]float64{"M": 0.002, "β": 4.694091133, "r": 1.4})
		D, L, m, E := v["D"], v["L"], v["m"], v["E"]
		v["I"] = discMoment(D)
		steel := body.Material{Density: v["ρ"], Young: E, Shear: 79.3e9}
		rod := elastic.Rod{Length: L, Section: elastic.Round(D), Material: steel}
		stiffness := bentStiffness(t, E*v["I"], L)
		first, err := rod.Frequency(elastic.Tip{Mass: m}, 1)
		if err != nil {
			t.Fatal(err)
		}
		heavy, err := rod.Frequency(elastic.Tip{Mass: 1000 * m}, 1)
		if err != nil {
			t.Fatal(err)
		}
		second, err := rod.Frequency(elastic.Tip{}, 2)
		if err != nil {
			t.Fatal(err)
		}
		// The rod as a solid of package body.
		solid := body.Assembly{{Shape: body.Cylinder{Radius: D / 2, Height: L}, Material: steel}}
		flat := elastic.Strip(v["w"], v["u"])
		share := integral(func(z float64) float64 { return math.Pow((3*z*z-z*z*z)/2, 2) })
		shorter := border(func(length float64) bool {
			return bentStiffness(t, E*v["I"], length) < stiffness*v["r"]*v["r"]
		}, L/3, L)
		if estimate, err := rod.RayleighFrequency(m); err != nil || estimate < first {
			t.Errorf("the estimate %v Hz is below the exact %v Hz (%v)", estimate, first, err)
		}
		return map[string]route{
			"second-moment":    {value: v["I"], within: 1e-6},
			"stiffness":        {value: stiffness, within: 1e-8},
			"stiffness-number": {value: stiffness, within: 1e-6},
			"rod-mass":         {value: solid.Mass(), within: 1e-9},
			"effective-mass":   {value: share * v["M"], within: 1e-6},
			// Rayleigh's estimate is too high by less than 0.1 % where the bead
			// is as heavy as the rod or more (check against the exact root).
			"frequency": {value: first, within: 0.001},
			// The rod with a bead of a thousandfold mass is a spring without mass.
			"derive-frequency": {letters: map[string]float64{"m": 1000 * m, "M": rod.Mass(), "f": heavy}, within: 1e-6},
			"bare":             {value: second, within: 1e-8},
			"second-mode":      {value: second, within: 1e-5},
			"plane-ratio":      {value: math.Sqrt(flat.Stiff / flat.Weak), within: 1e-9},
			"shorter":          {value: shorter, within: 1e-7},
		}
	})
}

// The numbers of the modes that the sheet prints. Source: Blevins, Formulas for
// Natural Frequency and Mode Shape, Table 8-1 (from memory, unchecked). A mass
// at the end as heavy as the rod: Math. Probl. Eng. 2017, 1568019, Table 1,
// (βL)² of the first mode, beside the estimate with 33/140 of the rod's mass.
func TestSpringyReedPublishedModes(t *testing.T) {
	for n, want := range []string{"1.875104069", "4.694091133"} {
		beta, err := elastic.Root(elastic.ClampedFree, n+1)
		if err != nil {
			t.Fatal(err)
		}
		testdata.Agrees(t, beta, want)
	}
	// In units of E I, L and the rod's mass: ω = (βL)² exactly, and
	// √(3/(1 + 33/140)) by the sheet's formula.
	if estimate := math.Sqrt(3 / (1 + 33.0/140)); math.Abs(estimate/1.557298-1) > 0.001 || estimate < 1.557298 {
		t.Errorf("estimate %v, published 1.557298", estimate)
	}
}

// discMoment adds up y² over a disc of a diameter, in strips.
func discMoment(diameter float64) float64 {
	r := diameter / 2
	// y = r sin(a), strip width 2 r cos(a), dy = r cos(a) da.
	return math.Pow(r, 4) * math.Pi * integral(func(z float64) float64 {
		a := math.Pi * (z - 0.5)
		return 2 * math.Pow(math.Sin(a)*math.Cos(a), 2)
	})
}

// integral is Simpson's rule from 0 to 1.
func integral(f func(float64) float64) float64 {
	const pieces = 200
	sum := f(0) + f(1)
	for i := 1; i < pieces; i++ {
		sum += f(float64(i)/pieces) * float64(2+2*(i%2))
	}
	return sum / (3 * pieces)
}

// bentStiffness bends a clamped rod by a force of 1 N across its end: y” =
// F (L - x)/(E I), integrated along the rod.
func bentStiffness(t *testing.T, bending, length float64) float64 {
	t.Helper()
	rod := motion.Of(2, func(dst []float64, x float64, y []float64) {
		dst[0], dst[1] = y[1], (length-x)/bending
	})
	run, err := motion.Solve(rod, []float64{0, 0}, 0, length, motion.Options{Relative: 1e-12, Absolute: 1e-15, Unchecked: true})
	if err != nil {
		t.Fatal(err)
	}
	return 1 / run.End()[0]
}
