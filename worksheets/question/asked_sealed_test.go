package question_test

import (
	"testing"

	"counterpoise/worksheets/question"
	"counterpoise/worksheets/seal"
)

// A sealed key judges what was asked, unwrapped equations and words around
// numbers as the key itself does.
func TestSealedJudgesTheNameOfWhatIsAsked(t *testing.T) {
	tilt := map[string]question.Symbol{"β": {Unit: "rad", From: 0.02, To: 0.3}, "φ": {Unit: "rad", From: 0.03, To: 1.2}}
	sway := map[string]question.Symbol{"W": {Unit: "N"}, "d": {Unit: "m"}, "θ": {Unit: "1"}}
	for _, c := range []struct {
		q       question.Question
		answers []string
	}{
		{question.Question{Name: "a", Kind: "equation", Key: "sin φ = 8 sin(β)/3", Params: map[string]string{"R": "40 mm"}, Symbols: tilt}, []string{"R sin β = 3/8 R sin φ", "sin φ = 8/3 sin β", "φ = arcsin(8 sin(β)/3)", "β = arcsin(3 sin(φ)/8)", "sin φ = 3/8 sin β", "R sin β = 5/8 R sin φ", "3 R^2 sin φ = 8 R^2 sin β"}},
		{question.Question{Name: "a", Kind: "equation", Key: "φ = arcsin(8 sin(β)/3)", Params: map[string]string{"R": "40 mm"}, Symbols: tilt}, []string{"R sin β = 3/8 R sin φ", "sin φ = 8/3 sin β", "φ = arcsin(8 sin(β)/3)", "sin φ = 3/8 sin β", "R sin β = 5/8 R sin φ"}},
		{question.Question{Name: "a", Kind: "equation", Key: "R sin β = 3 R sin(φ)/8", Params: map[string]string{"R": "40 mm"}, Symbols: tilt}, []string{"R sin β = 3/8 R sin φ", "sin φ = 8/3 sin β", "φ = arcsin(8 sin(β)/3)", "sin φ = 3/8 sin β"}},
		{question.Question{Name: "b", Kind: "expression", Key: "W d (1 - cos θ)", Symbols: sway}, []string{"ΔU = W d (1 - cos θ)", "U(θ) - U(0) = W d - W d cos θ", "U^2 = W d", "0"}},
		{question.Question{Name: "b", Kind: "number", Key: "45.7 N/m", Unit: "N/m"}, []string{"45.7 Nm^-1", "45.7 N/m or so", "0", "4.57 Nm^-1"}},
		{question.Question{Name: "b", Kind: "number", Key: "1.4 Hz", Unit: "Hz"}, []string{"1.4 swings a second", "0", "ca. 1.4 Hz"}},
	} {
		a, err := question.Compile(c.q, nil)
		if err != nil {
			t.Error(err)
			continue
		}
		box, err := seal.Seal(a, seal.Options{Memory: 64})
		if err != nil {
			t.Error(err)
			continue
		}
		b, err := seal.Open(box)
		if err != nil {
			t.Error(err)
			continue
		}
		for _, x := range c.answers {
			v, w := a.Check(x), b.Check(x)
			if v.Outcome != w.Outcome || v.Slip != w.Slip {
				t.Errorf("%s: %q gets %v, %q with the key and %v, %q sealed", c.q.Key, x, v.Outcome, v.Slip, w.Outcome, w.Slip)
			}
		}
	}
}
