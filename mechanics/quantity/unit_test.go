package quantity_test

import (
	"encoding/json"
	"math"
	"testing"

	"gonum.org/v1/gonum/unit"
	"gonum.org/v1/gonum/unit/constant"
	"pgregory.net/rapid"

	"counterpoise/mechanics/quantity"
	"counterpoise/testdata"
)

// Sizes of units that are defined elsewhere.
func TestUnitScale(t *testing.T) {
	for _, tt := range []struct {
		unit, printed, source string
	}{
		{"in", "0.0254", "NIST Handbook 44, Appendix C (memory)"},
		{"lb", "0.45359237", "NIST Handbook 44, Appendix C (memory)"},
		{"psi", "6894.757", "NIST SP 811, B.8 (memory)"},
		{"Mpsi", "6.894757e9", "NIST SP 811, B.8 (memory)"},
		{"lbf/in", "175.1268", "NIST SP 811, B.8 (memory)"},
		{"lb/in^3", "27679.90", "NIST SP 811, B.8 (memory)"},
		{"deg", "0.01745329", "NIST SP 811, B.8 (memory)"},
		{"rpm", "0.1047198", "NIST SP 811, B.8 (memory)"},
		{"rev/min", "0.1047198", "NIST SP 811, B.8 (memory)"},
		{"mph", "0.44704", "NIST SP 811, B.8 (memory)"},
		{"oz", "0.02834952", "NIST SP 811, B.8 (memory)"},
		{"kgf", "9.80665", "check-values G1 (3rd CGPM 1901, seen)"},
	} {
		u, err := quantity.ParseUnit(tt.unit)
		if err != nil {
			t.Error(err)
			continue
		}
		testdata.Agrees(t, u.Scale(), tt.printed)
	}
}

// Scales are the float64 nearest to the true one, to the last bit.
func TestUnitScaleIsExact(t *testing.T) {
	for text, want := range map[string]float64{
		"mm": 1e-3, "ms": 1e-3, "g": 1e-3, "µm": 1e-6, "cm²": 1e-4, "g cm²": 1e-7, "kg": 1, "km/h": 1 / 3.6, "min": 60, "": 1,
		"deg": 0.017453292519943295769, "rev": 6.2831853071795864769, "rpm": 0.10471975511965977462, "GPa": 1e9,
	} {
		if u := quantity.MustUnit(text); u.Scale() != want {
			t.Errorf("%q: scale %.17g, want %.17g", text, u.Scale(), want)
		}
	}
}

// Machinery's Handbook, spring moduli, as reproduced (check-values M1, seen).
func TestModuliOfMusicWire(t *testing.T) {
	for mpsi, gpa := range map[string]string{
		"12.0 Mpsi": "82.7", "11.85 Mpsi": "81.7", "11.75 Mpsi": "81.0", "11.6 Mpsi": "80.0",
		"29.5 Mpsi": "203.4", "29.0 Mpsi": "199.9", "28.5 Mpsi": "196.5", "28.0 Mpsi": "193.1",
	} {
		got, err := quantity.MustParse(mpsi).In(quantity.MustUnit("GPa"))
		if err != nil {
			t.Fatal(err)
		}
		testdata.Agrees(t, got, gpa)
	}
}

// gonum.org/v1/gonum/unit agrees on the dimensions of its constants and units.
func TestDimensionsAgainstGonum(t *testing.T) {
	for _, tt := range []struct {
		text string
		of   unit.Uniter
	}{
		{"N", unit.Newton}, {"J", unit.Joule}, {"W", unit.Watt}, {"Pa", unit.Pascal}, {"Hz", unit.Hertz},
		{"V", unit.Volt}, {"Ω", unit.Ohm}, {"T", unit.Tesla}, {"C", unit.Coulomb}, {"rad", unit.Rad},
		{"m^3 kg^-1 s^-2", constant.Gravitational}, {"m/s²", constant.StandardGravity}, {"mol", unit.Mol},
	} {
		u := quantity.MustUnit(tt.text)
		if got := quantity.FromGonum(tt.of); got != u.Dimension() {
			t.Errorf("%s: %v, gonum %v", tt.text, u.Dimension(), got)
		}
		g, err := u.Dimension().Gonum()
		if err != nil || quantity.FromGonum(unit.New(1, g)) != u.Dimension() {
			t.Errorf("%s: to gonum and back: %v, %v", tt.text, g, err)
		}
	}
}

func TestDimensionPrints(t *testing.T) {
	for d, want := range map[quantity.Dimension][2]string{
		quantity.One:                          {"1", "pure number"},
		quantity.Energy:                       {"kg m² s⁻²", "energy or torque"},
		quantity.Length.Pow(1, 2):             {"m^(1/2)", ""},
		quantity.Acceleration.Pow(-3, 2):      {"m^(-3/2) s³", ""},
		quantity.Stiffness.Div(quantity.Mass): {"s⁻²", "angular acceleration or squared frequency"},
	} {
		if d.String() != want[0] || d.Noun() != want[1] {
			t.Errorf("%v is called %q, want %v", d, d.Noun(), want)
		}
		if u := quantity.SI(d); quantity.MustUnit(u.String()).Dimension() != d || u.Scale() != 1 {
			t.Errorf("%v does not read back", u)
		}
	}
}

func TestAngles(t *testing.T) {
	for text, want := range map[string]struct {
		angle bool
		power int
	}{"deg": {true, 1}, "rad": {true, 1}, "mrad": {true, 1}, "rev": {true, 1}, "m": {false, 0}, "": {false, 0}, "rad/s": {false, 1},
		"rpm": {false, 1}, "Hz": {false, 0}, "N m/rad": {false, -1}, "rad²": {false, 2}, "%": {false, 0}} {
		if u := quantity.MustUnit(text); u.IsAngle() != want.angle || u.AnglePower() != want.power {
			t.Errorf("%q: angle %v, power %d", text, u.IsAngle(), u.AnglePower())
		}
	}
}

func TestDimensionLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := func(name string) quantity.Dimension {
			d := quantity.One
			for _, b := range []quantity.Dimension{quantity.Mass, quantity.Length, quantity.Time} {
				d = d.Mul(b.Pow(rapid.IntRange(-9, 9).Draw(t, name), rapid.IntRange(1, 4).Draw(t, name+" root")))
			}
			return d
		}
		a, b := draw("a"), draw("b")
		if a.Mul(b) != b.Mul(a) || a.Mul(b).Div(b) != a || a.Pow(3, 1).Pow(1, 3) != a || a.Pow(2, 1) != a.Mul(a) {
			t.Fatalf("laws of products fail for %v and %v", a, b)
		}
		if a.String() == b.String() && a != b {
			t.Fatalf("%v and %v print the same", a, b)
		}
	})
}

func TestConversion(t *testing.T) {
	q := quantity.MustParse("12.5 cm")
	if mm, err := q.In(quantity.MustUnit("mm")); err != nil || math.Abs(mm-125) > 1e-13 {
		t.Errorf("%v mm, %v", mm, err)
	}
	_, err := q.In(quantity.MustUnit("kg"))
	if want := "12.5 cm is a length and cannot be given in kg, the unit of a mass: use a unit such as m"; err == nil || err.Error() != want {
		t.Errorf("%v, want %s", err, want)
	}
	if got := q.Format(3, quantity.MustUnit("mm")); got != "125 mm" {
		t.Error(got)
	}
	if got := quantity.New(0.818280123, quantity.MustUnit("ms")).String(); got != "818.28 ms" {
		t.Error(got)
	}
	if got := quantity.New(39.72708e-3, quantity.MustUnit("mm")).Format(4, quantity.MustUnit("mm")); got != "39.73 mm" {
		t.Error(got)
	}
}

func TestJSON(t *testing.T) {
	type sheet struct {
		M quantity.Quantity
		U quantity.Unit
	}
	in := sheet{quantity.MustParse("18 g"), quantity.MustUnit("m/s^2")}
	data, err := json.Marshal(in)
	if err != nil || string(data) != `{"M":"18 g","U":"m/s²"}` {
		t.Fatalf("%s %v", data, err)
	}
	var out sheet
	if err := json.Unmarshal(data, &out); err != nil || out != in {
		t.Fatalf("%v %v", out, err)
	}
}
