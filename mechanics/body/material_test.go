package body

import (
	"math"
	"testing"
)

// Bearing-steel balls, number per kg by diameter in mm, from a ball maker's
// table (technoball.it; check-values B1, seen). The table's own scatter is 0.2 %.
func TestBallsWeighWhatTheMakerSays(t *testing.T) {
	steel, err := MaterialNamed("bearing steel")
	if err != nil {
		t.Fatal(err)
	}
	for mm, perKg := range map[float64]float64{3: 9030, 4: 3810, 5: 1950, 6: 1130, 10: 244, 12: 141, 12.7: 119, 15: 72.20, 20: 30.50, 25: 15.60} {
		ball := Part{Shape: Sphere{mm / 2000}, Material: steel}
		if got := 1 / ball.Mass(); math.Abs(got/perKg-1) > 0.0025 { // the printed numbers are rounded to three or four figures too
			t.Errorf("%v mm: %.2f balls per kg, the maker says %v", mm, got, perKg)
		}
	}
}

// Hexagon nuts: hexagon less the bore at the pitch diameter (check-values B2; sizes
// from a maker's table, seen; pitch diameters of ISO 724, memory), kg per 1000.
func TestNuts(t *testing.T) {
	steel, err := MaterialNamed("steel")
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct{ across, height, pitch, grams float64 }{
		{5.5, 2.4, 2.675, 0.388}, {7, 3.2, 3.545, 0.818}, {8, 4, 4.480, 1.245}, {10, 5, 5.350, 2.517}, {13, 6.5, 7.188, 5.40}, {17, 8, 9.026, 11.7},
	} {
		outline := RegularPolygon(6, tt.across/math.Sqrt(3)/1000)
		nut := Assembly{
			{Shape: Plate{Outline: outline, Thickness: tt.height / 1000}, Material: steel},
			{Shape: Disc{tt.pitch / 2000, tt.height / 1000}, Material: steel, Hole: true},
		}
		if got := nut.Mass() * 1000; math.Abs(got/tt.grams-1) > 0.003 {
			t.Errorf("nut %v mm across: %.4g g, want %v", tt.across, got, tt.grams)
		}
	}
}

// The table stays inside the published ranges (check-values M3, M5, M6, M8, seen).
func TestMaterialsStayInRange(t *testing.T) {
	for name, r := range map[string][6]float64{ // density, E, G: from, to
		"steel":           {7700, 7900, 193e9, 207e9, 74e9, 81e9},
		"brass":           {8400, 8600, 96e9, 110e9, 36e9, 41.3e9},
		"copper":          {8890, 8900, 110e9, 124e9, 40e9, 47e9},
		"aluminium":       {2600, 2800, 70e9, 79e9, 24e9, 30e9},
		"stainless steel": {7700, 8100, 193e9, 207e9, 68.9e9, 73e9},
		"music wire":      {7850, 7870, 193.1e9, 203.4e9, 80e9, 82.7e9},
	} {
		m, err := MaterialNamed(name)
		if err != nil {
			t.Error(err)
			continue
		}
		for i, v := range []float64{m.Density, m.Young, m.Shear} {
			if v < r[2*i] || v > r[2*i+1] {
				t.Errorf("%s: value %d is %v, published %v to %v", name, i, v, r[2*i], r[2*i+1])
			}
		}
	}
}
