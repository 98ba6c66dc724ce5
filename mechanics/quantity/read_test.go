package quantity_test

import (
	"errors"
	"strings"
	"testing"

	"counterpoise/mechanics/quantity"
)

// The spellings of one time are those of the worksheets' design; that they are
// equal needs no source.
func TestParseSpellings(t *testing.T) {
	for _, tt := range []struct {
		text    string
		si      float64
		unit    string
		figures int
	}{
		{"840 ms", 0.84, "ms", 3},
		{"8.4e-1 s", 0.84, "s", 2},
		{"8.4E-1s", 0.84, "s", 2},
		{"8.4×10⁻¹ s", 0.84, "s", 2},
		{"8.4 x 10^-1 s", 0.84, "s", 2},
		{"8.4*10**-1 s", 0.84, "s", 2},
		{`8.4 \times 10^{-1}\,\mathrm{s}`, 0.84, "s", 2},
		{`$8.4\cdot 10^{-1}~\text{s}$`, 0.84, "s", 2},
		{"12.5 cm", 0.125, "cm", 3},
		{"12.5cm", 0.125, "cm", 3},
		{"9.81 m/s^2", 9.81, "m/s²", 3},
		{"9.81 m s^-2", 9.81, "m s⁻²", 3},
		{"9.81 m·s⁻²", 9.81, "m s⁻²", 3},
		{"9.81 m/s/s", 9.81, "m/(s s)", 3},
		{"9.81 m/s2", 9.81, "m/s²", 3},
		{`9.81\,\frac{\mathrm{m}}{\mathrm{s}^2}`, 9.81, "m/s²", 3},
		{`9.81\ \mathrm{m\,s^{-2}}`, 9.81, "m s⁻²", 3},
		{"9.81 metres per second squared", 9.81, "m/s²", 3},
		{"3 kg m² s⁻²", 3, "kg m² s⁻²", 1},
		{"45.7 N/m", 45.7, "N/m", 3},
		{"0.26 N m", 0.26, "N m", 2},
		{"0.26 Nm", 0.26, "Nm", 2},
		{"0.26 N·m/rad", 0.26, "N m/rad", 2},
		{"30 deg", 0.5235987755982989, "deg", 2},
		{"30°", 0.5235987755982989, "°", 2},
		{"30^\\circ", 0.5235987755982989, "°", 2},
		{"30^{\\circ}", 0.5235987755982989, "°", 2},
		{"60 rpm", 6.283185307179586, "rpm", 2},
		{"60 rev/min", 6.283185307179586, "rev/min", 2},
		{"45 rev / s", 282.7433388230814, "rev/s", 2},
		{"150 g cm^2", 1.5e-5, "g cm²", 3},
		{"5 %", 0.05, "%", 1},
		{`5 \%`, 0.05, "%", 1},
		{"1 000 mm", 1, "mm", 4},
		{"1 000 mm", 1, "mm", 4},
		{"1\u2009234.567\u200989 m", 1234.56789, "m", 9},
		{"−0.5 m", -0.5, "m", 1},
		{"+5 µm", 5e-6, "µm", 1},
		{"5 μm", 5e-6, "µm", 1},
		{"5 um", 5e-6, "µm", 1},
		{"1/2 m", 0.5, "m", 0},
		{"½ m", 0.5, "m", 0},
		{`\frac{1}{2} m`, 0.5, "m", 0},
		{`\frac12\,m`, 0.5, "m", 0},
		{"2π rad/s", 6.283185307179586, "rad/s", 0},
		{"pi/2", 1.5707963267948966, "", 0},
		{"-3π/4 rad", -2.356194490192345, "rad", 0},
		{"0.5π", 1.5707963267948966, "", 0},
		{"10^-3 kg", 1e-3, "kg", 1},
		{"10⁻³ kg", 1e-3, "kg", 1},
		{".5 s", 0.5, "s", 1},
		{"5. s", 5, "s", 1},
		{"5 /s", 5, "1/s", 1},
		{"5 1/s", 5, "1/s", 1},
		{"5 s^-1", 5, "s⁻¹", 1},
		{"7.1 Hz^(1/2)", 7.1, "Hz^(1/2)", 2},
		{"0.84", 0.84, "", 2},
		{"0.84 s.", 0.84, "s", 2},
		{"0.0120 kg", 0.012, "kg", 3},
		{"12 minutes", 720, "min", 2},
		{"4 J/(kg K)", 4, "J/(kg K)", 1},
		{"8.4 10^-1 s", 0.84, "s", 2},
		{"8.412 10^-1 s", 0.8412, "s", 4},
		{"5 per second", 5, "1/s", 1},
		{`8.4\times{10}^{-1}\,s`, 0.84, "s", 2},
		{`8.4\,10^{-1}\,s`, 0.84, "s", 2},
		{"(0.84) s", 0.84, "s", 2},
		{"0.84 [s]", 0.84, "s", 2},
		{`\(0.84\,\mathrm{s}\)`, 0.84, "s", 2},
		{`\SI{0.84}{s}`, 0.84, "s", 2},
		{`\qty{9.81}{\metre\per\second\squared}`, 9.81, "m/s²", 3},
		{`\SI{18}{\milli\metre}`, 0.018, "mm", 2},
		{`9.81\,\text{m s}^{-2}`, 9.81, "m s⁻²", 3},
		{"9.81 (m s)^2", 9.81, "m² s²", 3},
		{"9.8 m / s ^ 2", 9.8, "m/s²", 2},
	} {
		q, err := quantity.Parse(tt.text)
		if err != nil {
			t.Errorf("%q: %v", tt.text, err)
			continue
		}
		if q.Value != tt.si || q.Unit.String() != tt.unit || q.Figures != tt.figures || q.Uncertainty != 0 {
			t.Errorf("%q: %.17g in %q with %d figures ± %g, want %.17g in %q with %d", tt.text,
				q.Value, q.Unit, q.Figures, q.Uncertainty, tt.si, tt.unit, tt.figures)
		}
	}
}

func TestParseUncertainty(t *testing.T) {
	for _, tt := range []struct {
		text        string
		value, unc  float64
		figures, uf int
		printed     string
	}{
		{"0.84(2) s", 0.84, 0.02, 2, 1, "(0.84 ± 0.02) s"},
		{"0.84 ± 0.02 s", 0.84, 0.02, 2, 1, "(0.84 ± 0.02) s"},
		{"(0.84 ± 0.02) s", 0.84, 0.02, 2, 1, "(0.84 ± 0.02) s"},
		{"0.84 s ± 20 ms", 0.84, 0.02, 2, 2, "(0.84 ± 0.020) s"},
		{"0.84 (2) s", 0.84, 0.02, 2, 1, "(0.84 ± 0.02) s"},
		{"0.84 s ± 2 %", 0.84, 0.0168, 2, 3, "(0.84 ± 0.0168) s"},
		{"(5 ± 1) %", 0.05, 0.01, 1, 1, "(5 ± 1) %"},
		{"5(1) %", 0.05, 0.01, 1, 1, "(5 ± 1) %"},
		{"0.84 +/- 0.02 s", 0.84, 0.02, 2, 1, "(0.84 ± 0.02) s"},
		{`0.84 \pm 0.02\,\mathrm{s}`, 0.84, 0.02, 2, 1, "(0.84 ± 0.02) s"},
		{"(8.4 ± 0.2)×10^-1 s", 0.84, 0.02, 2, 1, "(0.84 ± 0.02) s"},
		{"(1.234 ± 0.005)e-3 m", 0.001234, 5e-6, 4, 1, "(1.234 ± 0.005)×10⁻³ m"},
		{"840 ms ± 0.02 s", 0.84, 0.02, 3, 1, "(8.40 ± 0.2)×10² ms"},
		{"1.234 m ± 5 µm", 1.234, 5e-6, 4, 1, "(1.234 ± 0.000005) m"},
		// CODATA's way of writing G (check-values G5, from memory).
		{"6.67430(15)e-11 m^3 kg^-1 s^-2", 6.67430e-11, 1.5e-15, 6, 2, "(6.67430 ± 0.00015)×10⁻¹¹ m³ kg⁻¹ s⁻²"},
		{"127.732(71) Ω", 127.732, 0.071, 6, 2, "(127.732 ± 0.071) Ω"},
	} {
		q, err := quantity.Parse(tt.text)
		if err != nil {
			t.Errorf("%q: %v", tt.text, err)
			continue
		}
		if q.Value != tt.value || q.Uncertainty != tt.unc || q.Figures != tt.figures || q.UncertaintyFigures != tt.uf || q.String() != tt.printed {
			t.Errorf("%q: %v ± %v, %d and %d figures, prints %s", tt.text, q.Value, q.Uncertainty, q.Figures, q.UncertaintyFigures, q)
		}
	}
}

// Each mistake has its own words and its place.
func TestParseErrors(t *testing.T) {
	for _, tt := range []struct{ text, want string }{
		{"0,84 s", "column 2: decimal comma: write a point, 0.84"},
		{"1,000 m", "column 2: a comma may part thousands or decimals: write 1000 for the thousands or 1.000 for the decimals"},
		{"0,125 m", "column 2: decimal comma: write a point, 0.125"},
		{"18 gr", `column 4: unknown unit "gr": write g for grams`},
		{"2 Kg", `column 3: unknown unit "Kg": write kg for kilograms`},
		{"2 metrs", `column 3: unknown unit "metrs": did you mean metre?`},
		{"2 n", `column 3: unknown unit "n": write N for newtons`},
		{"20 °C", `column 4: unknown unit "°C": temperatures are written in K here`},
		{"", "column 1: nothing is written: write a number and a unit, such as 0.84 s"},
		{"s", "column 1: number expected: write a number first, such as 0.84 s"},
		{"4 J/kg K", "column 8: two units after a /: which is below the line?: write brackets, as in J/(kg K)"},
		{"1.2.3 m", "column 4: second decimal point: write one point only"},
		{"5 3 m", "column 3: second number: write a single number; a mixed number as a decimal"},
		{"1 1/2 m", "column 3: second number: write a single number; a mixed number as a decimal"},
		{"1e999 m", "column 1: power of ten is beyond all measure: write one between -320 and 320"},
		{"1e310 m", "column 1: number is beyond all measure: write one between 1e-300 and 1e300"},
		{"5 m^", "column 4: power of a unit cannot be read: write m^2, m^{-2} or m^(1/2)"},
		{"5 (m", `column 3: '(' is not closed: write ')' after the unit`},
		{"0.84 s ± 2 m", "column 8: uncertainty is in another unit than the value: write both in s"},
		{"0.84 ± 2 %", "column 1: a value ± a percentage can be read in two ways: write (5 ± 1) % or 0.84 s ± 2 %"},
		{"1/0 m", "column 1: fraction cannot be read: write whole numbers, such as 1/2, or a decimal"},
		{`5 \foo`, `column 3: unknown TeX command "\foo": use \times, \cdot, \frac, \mathrm, \pm, \mu or \circ`},
		{"1.000,5 kg", "column 6: comma in a number: part thousands by spaces and write a decimal point"},
		{"1'000 m", `column 2: '\'' in a number: part thousands by spaces`},
		{"5'", `column 2: '\'' is out of place: write arcmin for minutes of arc, min for minutes, ft for feet`},
		{"1 h 30 min", "column 5: a second number: write one number with one unit: 1.5 h, not 1 h 30 min; a power as m^2 or m^(1/2)"},
		{"5 m?", `column 4: '?' is out of place: write a number and a unit, such as 0.84 s`},
	} {
		q, err := quantity.Parse(tt.text)
		if err == nil {
			t.Errorf("%q reads as %v, want error %q", tt.text, q, tt.want)
			continue
		}
		var syntax *quantity.SyntaxError
		if !errors.As(err, &syntax) || err.Error() != tt.want {
			t.Errorf("%q: %v\nwant    %s", tt.text, err, tt.want)
		}
	}
}

func TestParseAs(t *testing.T) {
	for _, tt := range []struct {
		text string
		want quantity.Dimension
		err  string
	}{
		{"0.84 s", quantity.Time, ""},
		{"0.84", quantity.Time, "column 5: unit is missing: write one, such as s"},
		{"0.84 kg", quantity.Time, "column 6: kg is the unit of a mass, not of a time: write a unit such as s"},
		{"0.84 S", quantity.Time, "unknown unit"},
		{"9.81 ms^-2", quantity.Acceleration, "(did you mean m s⁻², with a space?)"},
		{"30°", quantity.One, ""},
		{"0.5", quantity.One, ""},
		{"3 m/s", quantity.Acceleration, "column 3: m/s is the unit of a speed, not of an acceleration: write a unit such as m/s²"},
	} {
		_, err := quantity.ParseAs(tt.text, tt.want)
		switch {
		case err == nil && tt.err != "", err != nil && (tt.err == "" || !strings.Contains(err.Error(), tt.err)):
			t.Errorf("%q as %v: %v, want %q", tt.text, tt.want, err, tt.err)
		}
	}
}

func TestSpaced(t *testing.T) {
	for _, tt := range []struct {
		text string
		want quantity.Dimension
		si   float64
	}{{"9.81 ms^-2", quantity.Acceleration, 9.81}, {"3.2(1) ms⁻¹", quantity.Velocity, 3.2}, {"2 kg ms^-2", quantity.Force, 2}} {
		q, ok := quantity.MustParse(tt.text).Spaced(tt.want)
		if !ok || q.Value != tt.si || q.Dimension() != tt.want {
			t.Errorf("%s: %v, %v", tt.text, q, ok)
		}
	}
	if q, ok := quantity.MustParse("840 ms").Spaced(quantity.Length); ok {
		t.Errorf("840 ms as a length: %v", q)
	}
}

func FuzzParse(f *testing.F) {
	for _, seed := range []string{"840 ms", "8.4×10⁻¹ s", `8.4 \times 10^{-1}\,\mathrm{s}`, "0.84(2) s", "(0.84 ± 0.02)e-1 s", "1/2 m",
		"-3π/4 rad", "N·m/rad", "5 J/(kg K)", "1 000.000 1 mm^(1/2)", "30^{\\circ}", "0.00 s", "00100e5 g cm^2", "6.67430(15)e-11 m^3 kg^-1 s^-2", "5 rev/min"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		q, err := quantity.Parse(text)
		if err != nil {
			return
		}
		if again, err := quantity.Parse(q.String()); err != nil || again != q {
			t.Fatalf("%q reads as %v, which reads back as %v (%v)\n%#v\n%#v", text, q, again, err, q, again)
		}
		if again, err := quantity.Parse(q.LaTeX()); err != nil || again != q {
			t.Fatalf("%q in TeX is %s, which reads back as %v (%v)", text, q.LaTeX(), again, err)
		}
	})
}
