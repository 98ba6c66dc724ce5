package question

import (
	"strings"
	"testing"
)

// What was asked may stand on the left side as people name it.
// Common practice, no source.
func TestNameOfWhatIsAsked(t *testing.T) {
	rotor := map[string]Symbol{"g": {Unit: "m/s^2"}, "R": {Unit: "m"}, "Ω": {Unit: "rad/s"}}
	sway := map[string]Symbol{"W": {Unit: "N"}, "d": {Unit: "m"}, "θ": {Unit: "1"}}
	for _, c := range []struct {
		key     string
		symbols map[string]Symbol
		answers []told
	}{
		{"Ω^2 - g^2/(R^2 Ω^2)", rotor, []told{
			{"ω^2 = Ω^2 - g^2/(R^2 Ω^2)", Right, "", ""}, {"ω_0² = Ω^2 - (g/(R Ω))^2", Right, "", ""}, {`\(\omega^2=\Omega^2-\frac{g^2}{R^2\Omega^2}\)`, Right, "", ""}, {`$$\omega^2=\Omega^2-\frac{g^2}{R^2\Omega^2}$$`, Right, "", ""}, {"$ω^2 = Ω^2 - g^2/(R^2 Ω^2)$", Right, "", ""},
			{"ω^2 = Ω^2 + g^2/(R^2 Ω^2)", Wrong, "", ""}, {"2 ω = Ω^2 - g^2/(R^2 Ω^2)", Unreadable, "", ""}, {"1/ω = Ω^2 - g^2/(R^2 Ω^2)", Unreadable, "", ""},
		}},
		{"g/(R Ω^2)", rotor, []told{{"cos θ_0 = g/(R Ω^2)", Right, "", ""}, {`\cos\theta_0 = \frac{g}{R\Omega^2}`, Right, "", ""}, {"cos θ_0 = g R/Ω^2", Wrong, "", ""}}},
		{"W d (1 - cos θ)", sway, []told{
			{"ΔU = W d (1 - cos θ)", Right, "", ""}, {`\Delta U = W d (1 - \cos\theta)`, Right, "", ""}, {"U(θ) - U(0) = W d (1 - cos θ)", Right, "", ""},
			{"E_pot = W d - W d cos θ", Right, "", ""}, {"T/T_0 = W d (1 - cos θ)", Right, "", ""}, {"A(t) = W d (1 - cos θ) = W d - W d cos θ", Right, "", ""},
			{"ΔU = W d = W d (1 - cos θ)", Wrong, "", ""}, {"ΔU = W q", Unreadable, "", ""}, {"ΔU =", Unreadable, "", ""}, {"W θ = W d (1 - cos θ)", Wrong, "", ""},
			{"0", Wrong, "", "Not yet"},
		}},
		{"sqrt(g/R)", rotor, []told{{"ω^2 = g/R", Unreadable, "", "alone on the left"}, {"ω^2 = R/g", Wrong, "", ""}, {"ω = sqrt(g/R)", Right, "", ""}, {"$$ω=\\sqrt{g/R}$$", Right, "", ""}}},
		{"d", sway, []told{{"h → d", Right, "", ""}, {"h -> d", Right, "", ""}, {`h \to d`, Right, "", ""}, {"h + k -> d", Unreadable, "", ""}}},
	} {
		checkOutcomes(t, mustCompile(t, Question{Name: "left", Kind: "expression", Key: c.key, Symbols: c.symbols}, nil), c.answers)
	}
}

// Words around a value are passed over where it has the dimension asked for.
func TestNumberAmongWords(t *testing.T) {
	for _, c := range []struct {
		key, unit string
		answers   []told
	}{
		{"50.6 mm", "mm", []told{
			{"50.6 mm below the pin", Right, "", ""}, {"ca. 5.06 cm", Right, "", ""}, {"at least 50.6 mm", Right, "", ""}, {"d = about 50.6 mm", Right, "", ""},
			{"40 mm below the pin", Wrong, "", ""}, {"50.6 kg in all", Unreadable, "", ""}, {"50.6 swings", Unreadable, "", ""}, {"50.6 mm per", Unreadable, "", ""}, {"0", Wrong, "", "Not yet"},
		}},
		{"45.6", "1", []told{{"45.6 swings", Right, "", ""}, {"45.6 times", Right, "", ""}, {"45.6", Right, "", ""}, {"7.8 swings", Wrong, "", ""}, {"45.6 metrs", Unreadable, "", ""}, {"45.6 kg", Wrong, "dimension", ""}}},
		{"1.4 Hz", "Hz", []told{
			{"1.4 times a second", Right, "", ""}, {"84 swings per minute", Right, "", ""}, {"1.4 turns per second", Right, "", ""},
			{"2.1 swings a second", Wrong, "", ""}, {"1.4 swings a metre", Unreadable, "", ""},
		}},
		{"0.3 rad", "rad", []told{{"0.3 swings", Unreadable, "", ""}}},
		{"45.7 N/m", "N/m", []told{{"45.7 Nm^-1", Right, "spacing", ""}, {"4.57 Nm^-1", Wrong, "", ""}, {"45.7 Nm", Wrong, "dimension", ""}}},
	} {
		checkOutcomes(t, mustCompile(t, Question{Name: "words", Kind: "number", Key: c.key, Unit: c.unit}, nil), c.answers)
	}
}

// A factor that the key does not have, a second solution outside the range that
// the teacher gave, and a key that is solved through one function.
func TestEquationUnwrapped(t *testing.T) {
	for _, key := range []string{"φ = arcsin(8 sin(β)/3)", "sin φ = 8 sin(β)/3", "3 R^2 sin φ = 8 R^2 sin β"} {
		q := Question{Name: "tilt", Kind: "equation", Key: key, Params: map[string]string{"R": "40 mm"},
			Symbols: map[string]Symbol{"β": {Unit: "rad", From: 0.02, To: 0.3}, "φ": {Unit: "rad", From: 0.03, To: 1.2}}}
		checkOutcomes(t, mustCompile(t, q, nil), []told{
			{"R sin β = 3/8 R sin φ", Right, "", ""}, {"sin φ = 8/3 sin β", Right, "", ""}, {"R^2 sin β = 3/8 R^2 sin φ", Right, "", ""}, {"sin(β)/R = 3 sin(φ)/(8 R)", Right, "", ""},
			{"β = arcsin(3 sin(φ)/8)", Right, "", ""}, {"R sin β = 5/8 R sin φ", Wrong, "", ""}, {"sin β = 3/8 R sin φ", Wrong, "", ""}, {"R = R", Wrong, "", ""},
			{"sin φ = 3/8 sin β", Wrong, "", ""}, {"cos φ = 8/3 sin β", Wrong, "", ""},
		})
	}
}

// checkOutcomes checks the outcomes alone, and slips and words where they are
// given.
func checkOutcomes(t *testing.T, a *Asked, answers []told) {
	t.Helper()
	for _, c := range answers {
		v := a.Check(c.answer)
		if v.Outcome != c.outcome || c.slip != "" && v.Slip != c.slip || !strings.Contains(v.Say, c.say) {
			t.Errorf("%s: %q gets %v, slip %q, %q; want %v, slip %q, %q", a.Question.Key, c.answer, v.Outcome, v.Slip, v.Say, c.outcome, c.slip, c.say)
		}
	}
}
