package question

import (
	"strings"
	"testing"

	"counterpoise/mechanics/quantity"
)

// A told case is an answer and what it must get. Say may be empty.
type told struct {
	answer  string
	outcome Outcome
	slip    string
	say     string // part of what is said
}

func checkTold(t *testing.T, a *Asked, cases []told) {
	t.Helper()
	for _, tt := range cases {
		v := a.Check(tt.answer)
		if v.Outcome != tt.outcome || v.Slip != tt.slip || !strings.Contains(v.Say, tt.say) {
			t.Errorf("%s: %q gets %v, slip %q, %q; want %v, slip %q, %q", a.Question.Name, tt.answer, v.Outcome, v.Slip, v.Say, tt.outcome, tt.slip, tt.say)
		}
	}
}

func values(pairs ...string) Values {
	v := Values{}
	for i := 0; i < len(pairs); i += 2 {
		v[pairs[i]] = quantity.MustParse(pairs[i+1])
	}
	return v
}

// A lantern on a thread of 310 mm: T = 2π√(l/g) = 1.1169 s with g = 9.81 m/s².
func TestNumberPeriod(t *testing.T) {
	a := mustCompile(t, Question{Name: "period", Kind: "number", Key: "2 pi sqrt(l/g)", Unit: "s", Figures: Figures{2, 4}}, values("l", "310 mm"))
	checkTold(t, a, []told{
		{"1.12 s", Right, "", ""},
		{"1117 ms", Right, "", ""},
		{"T = 1.12 s", Right, "", ""},
		{"T ≈ 1.12 s", Right, "", ""},
		{"1.12e0 s", Right, "", ""},
		{`11.2 \times 10^{-1}\,\mathrm{s}`, Right, "", ""},
		{"1.11690 s", Right, "figures", "too many figures"},
		{"1.12", Unreadable, "unit missing", "Give the unit"},
		{"1,12 s", Unreadable, "", ""},
		{"1.12 m", Wrong, "dimension", "time (s) was asked"},
		{"0.895 Hz", Wrong, "dimension", "time (s) was asked"},
		{"0.178 s", Wrong, "factor 2π", ""},
		{"0.558 s", Wrong, "factor 2", ""},
		{"1117 s", Wrong, "unit prefix", ""},
		{"-1.12 s", Wrong, "sign", ""},
		{"35.35 s", Wrong, "inverse", ""},
		{"0.895 s", Wrong, "frequency for period", ""},
		{"0.7 s", Wrong, "", "Not yet"},
		{"", Unreadable, "", ""},
		{"about a second", Unreadable, "", ""},
	})
}

// A space left out between units is told, not punished.
func TestNumberSpacing(t *testing.T) {
	a := mustCompile(t, Question{Name: "g", Kind: "number", Key: "9.81 m/s^2"}, nil)
	checkTold(t, a, []told{{"9.81 ms^-2", Right, "spacing", "millisecond"}, {"9.81 m s^-2", Right, "", ""}, {"98.1 ms^-2", Wrong, "unit prefix", ""}, {"9.81 ms", Wrong, "dimension", ""}})
}

// Any customary value of g is accepted where the sheet leaves it open.
func TestNumberLeavesGravityOpen(t *testing.T) {
	a := mustCompile(t, Question{Name: "weight", Kind: "number", Key: "m g", Unit: "N", Within: "0.02 %"}, values("m", "1 kg"))
	checkTold(t, a, []told{
		{"9.81 N", Right, "", ""}, {"9.8 N", Right, "", ""}, {"9.807 N", Right, "", ""}, {"9.7 N", Wrong, "", ""}, {"10 N", Wrong, "figures", "more figures"},
	})
	fixed := mustCompile(t, Question{Name: "weight", Kind: "number", Key: "m g", Unit: "N", Within: "0.02 %"}, values("m", "1 kg", "g", "9.81 m/s^2"))
	checkTold(t, fixed, []told{{"9.81 N", Right, "", ""}, {"9.8 N", Wrong, "figures", "more figures"}})
}

// One figure is too few where two to four are asked.
func TestNumberTooFewFigures(t *testing.T) {
	a := mustCompile(t, Question{Name: "mass", Kind: "number", Key: "m", Figures: Figures{2, 3}}, values("m", "30 g"))
	checkTold(t, a, []told{{"0.03 kg", Right, "figures", "too few figures: 2 to 3"}, {"30 g", Right, "", ""}, {"30.0 g", Right, "", ""}, {"30.00 g", Right, "figures", "too many figures"}})
}

func TestNumberFrequencyAndTurns(t *testing.T) {
	f := mustCompile(t, Question{Name: "f", Kind: "number", Key: "sqrt(k/m)/(2 pi)", Unit: "Hz"}, values("k", "20 N/m", "m", "50 g")) // 3.183 Hz
	checkTold(t, f, []told{
		{"3.18 Hz", Right, "", ""}, {"3.18 1/s", Right, "", ""}, {"191 rpm", Right, "", ""}, {"3.18 rev/s", Right, "", ""}, {"3.18 turn/s", Right, "", ""}, {"191 rev/min", Right, "", ""},
		{"20.0 rad/s", Wrong, "angular frequency for frequency", ""}, {"20.0 Hz", Wrong, "angular frequency for frequency", ""},
		{"0.314 s", Wrong, "dimension", ""}, {"0.314 Hz", Wrong, "period for frequency", ""},
	})
	w := mustCompile(t, Question{Name: "ω", Kind: "number", Key: "sqrt(k/m)", Unit: "rad/s"}, values("k", "20 N/m", "m", "50 g"))
	checkTold(t, w, []told{
		{"20 rad/s", Right, "", ""}, {"20.0 s^-1", Right, "", ""}, {"191 rpm", Right, "", ""}, {"3.18 rev/s", Right, "", ""},
		{"3.18 Hz", Wrong, "frequency for angular frequency", ""}, {"3.18 rad/s", Wrong, "frequency for angular frequency", ""},
		{"400 rad/s", Wrong, "square root", ""},
	})
}

// An angle without a unit is read in radians; where degrees would be right the
// check asks for the unit.
func TestNumberAngles(t *testing.T) {
	a := mustCompile(t, Question{Name: "tip", Kind: "number", Key: "atan(b/h)", Unit: "°"}, values("b", "30 mm", "h", "52 mm")) // 29.98°
	checkTold(t, a, []told{
		{"30°", Right, "", ""}, {"30 deg", Right, "", ""}, {"0.523 rad", Right, "", ""}, {"0.523", Right, "", ""},
		{"30", Unreadable, "unit missing", "degrees"},
		{"60°", Wrong, "inverse", ""},
	})
}

func TestNumberUncertainty(t *testing.T) {
	a := mustCompile(t, Question{Name: "g", Kind: "number", Key: "9.81 m/s^2", Uncertainty: "asked", Within: "1 %"}, nil)
	checkTold(t, a, []told{
		{"9.81 m/s^2", Unreadable, "uncertainty missing", ""},
		{"9.84 ± 0.03 m/s^2", Right, "", ""}, {"9.84(3) m/s^2", Right, "", ""},
		{"9.95 ± 0.10 m/s^2", Right, "", ""}, // 1.4 standard uncertainties
		{"9.95 ± 0.02 m/s^2", Wrong, "uncertainty too small", ""},
		{"12 ± 3 m/s^2", Wrong, "uncertainty too large", ""},
	})
	b := mustCompile(t, Question{Name: "T", Kind: "number", Key: "1.00 s", Uncertainty: "0.02 s", Within: "0.01 s"}, nil)
	checkTold(t, b, []told{{"1.03 s", Right, "", ""}, {"1.05 s", Wrong, "", ""}, {"1.05 ± 0.02 s", Right, "", ""}})
}

// A number may be given as a calculation with the letters of the sheet.
func TestNumberAsCalculation(t *testing.T) {
	a := mustCompile(t, Question{Name: "ratio", Kind: "number", Key: "a/b"}, values("a", "3 m", "b", "4 m"))
	checkTold(t, a, []told{{"3/4", Right, "", ""}, {"0.75", Right, "", ""}, {"a/b", Right, "", ""}, {"sqrt(9/16)", Right, "", ""}, {"75 %", Right, "", ""}, {"4/3", Wrong, "inverse", ""}})
}

// A calculation with letters brings its unit along, one with numbers needs it.
func TestNumberAsCalculationWithUnits(t *testing.T) {
	a := mustCompile(t, Question{Name: "T", Kind: "number", Key: "2 pi sqrt(l/g)", Unit: "s"}, values("l", "310 mm"))
	checkTold(t, a, []told{
		{"2π√(0.31/9.81) s", Right, "", ""}, {"2 pi sqrt(l/g)", Right, "", ""}, {"2*pi*sqrt(0.31/9.81)", Unreadable, "unit missing", ""},
		{"2π√(9.81/0.31) s", Wrong, "inverse", ""}, {"2 pi sqrt(g/l)", Wrong, "dimension", ""}, {"2π√(0.31/9.81) m", Wrong, "dimension", ""},
		{"2 * 3 * s", Unreadable, "", ""},
	})
}

func TestNumberForeseenSlip(t *testing.T) {
	q := Question{Name: "cg", Kind: "number", Key: "(2 m h + M h/2)/(2 m + M)", Unit: "mm",
		Slips: []Slip{{Gives: "h", Say: "That holds for arms without mass.", Name: "arms"}}}
	a := mustCompile(t, q, values("m", "18 g", "h", "62 mm", "M", "21 g")) // 50.6 mm
	checkTold(t, a, []told{{"50.6 mm", Right, "", ""}, {"5.06 cm", Right, "", ""}, {"62 mm", Wrong, "arms", "without mass"}, {"506 mm", Wrong, "unit prefix", ""}})
}

// A key of letters is a formula even where the letters are units as well.
func TestNumberKeyIsFormulaFirst(t *testing.T) {
	a := mustCompile(t, Question{Name: "x", Kind: "number", Key: "2 m s"}, values("m", "3 kg", "s", "4 m"))
	checkTold(t, a, []told{{"24 kg m", Right, "", ""}, {"24 m s", Wrong, "dimension", ""}})
	b := mustCompile(t, Question{Name: "x", Kind: "number", Key: "2 m/s^2"}, values("m", "3 kg"))
	checkTold(t, b, []told{{"2 m/s^2", Right, "", ""}})
}

func TestNumberKeysAreChecked(t *testing.T) {
	for _, tt := range []struct {
		q    Question
		want string
	}{
		{Question{Name: "x", Kind: "number", Key: "2 m H"}, "key of x: uses H, which is neither a parameter nor a symbol: did you mean h?"},
		{Question{Name: "x", Kind: "number", Key: "m h", Unit: "s"}, "unit of x: s is that of time (s), the key is mass moment (kg m): mend one of them"},
		{Question{Name: "x", Kind: "number", Key: "m", Within: "0.05"}, `within of x: "0.05" is a bare number: write 2 % or 0.05 s, say`},
		{Question{Name: "x", Kind: "number", Key: "m - m"}, "within of x: a key of 0 has no percentage: give the tolerance in the unit, such as within: 0.05 s"},
		{Question{Name: "x", Kind: "number", Key: "m + h"}, "key of x:"},
		{Question{Name: "x", Kind: "number"}, "key of x: is empty: write the right answer as a formula"},
		{Question{Name: "x", Kind: "number", Key: "m y", Symbols: map[string]Symbol{"y": {Unit: "1"}}}, "key of x: y has no value: give it under params, or make the question an expression"},
	} {
		_, err := Compile(tt.q, values("m", "2 kg", "h", "3 m"))
		if err == nil || !strings.HasPrefix(err.Error(), tt.want) {
			t.Errorf("%+v: %v, want %q", tt.q, err, tt.want)
		}
	}
}

// What students write around a number: a range is no value, and per cent and
// bare numbers are told apart.
func TestNumberAsStudentsWriteIt(t *testing.T) {
	period := mustCompile(t, Question{Name: "period", Kind: "number", Key: "2 pi sqrt(l/g)", Unit: "s"}, values("l", "310 mm"))
	checkTold(t, period, []told{
		{"1.1 - 1.2 s", Unreadable, "range", "one value"}, {"1.1–1.2 s", Unreadable, "range", "one value"}, {"1.1 s to 1.2 s", Unreadable, "range", "±"},
		{"1.1..1.2 s", Unreadable, "range", ""}, {"1.1-1.2 s", Unreadable, "range", ""}, {"1.12 s or 2 s", Unreadable, "range", ""},
		{"1.117e0 s", Right, "", ""}, {"1117e-3 s", Right, "", ""}, {"1117 10^-3 s", Right, "", ""}, {"2 - 0.883 s", Right, "", ""},
		{"2π√(0.31 m/9.81 m/s²)", Unreadable, "", "bare numbers"}, {"T = 2π√(l/g) = 1.12 s", Right, "", ""},
		{"2 s", Wrong, "", "Not yet"}, {"1.12 S", Unreadable, "", "did you mean s?"},
	})
	share := mustCompile(t, Question{Name: "share", Kind: "number", Key: "12 %", Unit: "%"}, nil)
	checkTold(t, share, []told{
		{"12 %", Right, "", ""}, {"12 per cent", Right, "", ""}, {"0.12", Right, "", ""}, {"12", Unreadable, "unit missing", "not %"},
		{"0.12 %", Wrong, "per cent", "hundred"}, {"24", Wrong, "", ""}, {"12 s", Wrong, "dimension", ""},
	})
	drop := mustCompile(t, Question{Name: "drop", Kind: "number", Key: "0.843 m", Within: "1 %"}, nil)
	checkTold(t, drop, []told{{"0.8 m", Wrong, "figures", "more figures"}, {"0.84 m", Right, "", ""}, {"0.9 m", Wrong, "", ""}})
}
