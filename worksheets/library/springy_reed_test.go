package library_test

import (
	"math"
	"testing"

	"counterpoise/mechanics/body"
	"counterpoise/mechanics/elastic"
	"counterpoise/mechanics/expr/parse"
	"counterpoise/mechanics/motion"
	"counterpoise/testdata"
	"counterpoise/worksheets/build"
	"counterpoise/worksheets/library"
)

// The keys of springy-reed by a second route. The stiffness comes from
// integrating the bent rod's curvature from the clamp, the second moment of
// area and the effective mass from sums over pieces, the frequencies from the
// exact equation of the bending rod in package elastic, which is checked
// against published roots.
func TestSpringyReedKeysBySecondRoute(t *testing.T) {
	s, err := library.Read("springy-reed")
	if err != nil {
		t.Fatal(err)
	}
	key, err := build.Key(s)
	if err != nil {
		t.Fatal(err)
	}
	for _, own := range []map[string]string{
		nil,
		{"D": "1.4 mm", "L": "170 mm", "m": "8 g", "w": "2.4 mm"},
		{"D": "1.7 mm", "L": "140 mm", "m": "12 g", "w": "3.6 mm"},
	} {
		asked, err := key.Asked(own)
		if err != nil {
			t.Fatal(err)
		}
		v := map[string]float64{"M": 0.002, "β": 4.694091133, "r": 1.4}
		for i := range asked {
			if key.Questions[i].Question.Name == "frequency" {
				for name, q := range asked[i].Values {
					v[name] = q.Value
				}
			}
		}
		D, L, m, E := v["D"], v["L"], v["m"], v["E"]
		v["I"] = discMoment(D)
		steel := body.Material{Density: v["ρ"], Young: E, Shear: 79.3e9}
		rod := elastic.Rod{Length: L, Section: elastic.Round(D), Material: steel}
		stiffness := bentStiffness(t, E*v["I"], L)
		first, err := rod.Frequency(elastic.Tip{Mass: m}, 1)
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
		want := map[string]struct{ value, within float64 }{
			"second-moment":    {v["I"], 1e-6},
			"stiffness":        {stiffness, 1e-8},
			"stiffness-number": {stiffness, 1e-6},
			"rod-mass":         {solid.Mass(), 1e-9},
			"effective-mass":   {share * v["M"], 1e-6},
			// Rayleigh's estimate is too high by less than 0.1 % where the bead
			// is as heavy as the rod or more (check against the exact root).
			"frequency":   {first, 0.001},
			"bare":        {second, 1e-8},
			"second-mode": {second, 1e-5},
			"plane-ratio": {math.Sqrt(flat.Stiff / flat.Weak), 1e-9},
			"shorter":     {shorter, 1e-7},
		}
		seen := 0
		for i := range asked {
			q := &key.Questions[i].Question
			expected, ok := want[q.Name]
			if !ok {
				continue
			}
			seen++
			var symbols []string
			for name := range v {
				symbols = append(symbols, name)
			}
			e, err := parse.Parse(q.Key, parse.Options{Symbols: symbols})
			if err != nil {
				t.Fatal(err)
			}
			got, err := e.Eval(v)
			if err != nil {
				t.Fatal(err)
			}
			if math.Abs(got-expected.value) > expected.within*math.Abs(expected.value) {
				t.Errorf("%s with %v: key %v, second route %v (SI)", q.Name, own, got, expected.value)
			}
			if q.Name == "frequency" && got < expected.value {
				t.Errorf("the estimate %v Hz is below the exact %v Hz", got, expected.value)
			}
		}
		if seen != len(want) {
			t.Errorf("%d of %d keys have been checked", seen, len(want))
		}
	}
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
