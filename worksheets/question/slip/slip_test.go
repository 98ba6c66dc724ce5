package slip_test

import (
	"encoding/json"
	"os"
	"strings"
	"testing"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/expr/parse"
	"counterpoise/mechanics/quantity"
	"counterpoise/worksheets/question/slip"
)

// An entry of testdata/published/student-slips.
type entry struct {
	ID, Unit, Correct, Slipped, Slip string
	Symbols                          []struct {
		Name, Meaning, Unit string
		Range               [2]float64
	}
}

func entries(t testing.TB) []entry {
	b, err := os.ReadFile("../../../testdata/published/student-slips/slips.json")
	if err != nil {
		t.Fatal(err)
	}
	var es []entry
	if err := json.Unmarshal(b, &es); err != nil {
		t.Fatal(err)
	}
	return es
}

func (e entry) finder(t testing.TB, means bool) (*slip.Finder, func(string) expr.Expr) {
	o := slip.Options{Symbols: map[string]slip.Symbol{}, Asked: quantity.MustUnit(e.Unit).Dimension(), Unit: e.Unit}
	var names []string
	for _, s := range e.Symbols {
		names = append(names, s.Name)
		sym := slip.Symbol{Range: slip.Range{From: s.Range[0], To: s.Range[1]}, Dimension: quantity.MustUnit(s.Unit).Dimension(), Unit: s.Unit}
		if means {
			sym.Means = s.Meaning
		}
		o.Symbols[expr.Canonical(s.Name)] = sym
	}
	read := func(text string) expr.Expr {
		x, err := parse.Parse(text, parse.Options{Symbols: names})
		if err != nil {
			t.Fatalf("%s: %v", e.ID, err)
		}
		return x
	}
	return slip.New(read(e.Correct), o), read
}

// fitting is what each published slip may be called. Several names fit where
// the entry's own feedback points at more than one thing.
var fitting = map[string]string{
	"cg-rod-neglected": "term missing", "cg-one-weight": "half for whole", "cg-arm-at-tip": "term doubled",
	"cg-not-divided": "not divided", "cg-plain-average": "equal weights", "cg-wrong-datum": "wrong reference point",
	"cg-above-counted-below": "sign of a term", "cg-arc-as-lamina": "table value of another body",
	"cg-arc-full-angle": "half for whole", "cg-hemisphere-as-shell": "table value of another body",
	"mass-ball-diameter": "radius for diameter", "mass-wire-diameter": "radius for diameter",
	"mass-density-g-cm3": "unit prefix", "inertia-rod-centre-for-end": "table value of another body",
	"inertia-no-parallel-axis": "parallel-axis term", "inertia-parallel-axis-not-squared": "square",
	"inertia-parallel-axis-minus": "sign of a term", "inertia-disc-as-hoop": "table value of another body",
	"inertia-ball-diameter": "radius for diameter", "inertia-ball-hollow": "table value of another body",
	"inertia-sum-then-square": "square of a sum", "inertia-millimetres": "unit prefix",
	"pendulum-f-for-T": "frequency for period", "pendulum-omega-for-f": "angular frequency for frequency",
	"pendulum-upside-down": "inverse", "pendulum-no-root": "square root", "pendulum-g-two-pi-not-squared": "factor 2π",
	"pendulum-g-in-cm": "unit prefix", "timing-fence-post": "off by one", "pendulum-ball-radius": "term missing",
	"pendulum-amplitude-degrees": "degrees for radians", "pendulum-amplitude-sign": "sign of a term",
	"small-angle-wrong-series": "sine for cosine", "torque-degrees": "degrees for radians", "torque-cosine": "sine for cosine",
	"compound-cg-inertia": "parallel-axis term", "compound-as-simple": "point mass for a body",
	"rocker-stiffness-sign": "sign", "rocker-inertia-about-cg": "parallel-axis term",
	"rocker-curvature-diameter": "radius for diameter", "rocker-curvatures-added": "series for parallel",
	"plank-full-thickness": "half for whole", "bowl-sliding": "rolling body", "rolling-energy": "term missing",
	"tip-inverted": "inverse|symbols exchanged", "cantilever-supported-both-ends": "table value of another support",
	"cantilever-length-squared": "exponent", "cantilever-radius-in-diameter-formula": "radius for diameter",
	"torsion-wrong-modulus": "symbol in another's place", "end-mass-rod-neglected": "term missing",
	"end-mass-whole-rod": "constant", "tuning-mass-two-pi": "frequency for angular frequency",
	"springs-series-as-parallel": "series for parallel", "springs-parallel-as-series": "series for parallel",
	"springs-cut-in-half": "inverse", "springs-coil-radius": "radius for diameter", "spring-sag-total-length": "sum for a part",
	"two-to-one-not-squared": "factor 2", "coupled-single-k": "half for whole|term halved",
	"coupled-lever": "symbol in another's place", "beat-half-difference": "factor 2", "beat-mean-frequency": "mean for difference",
	"two-bodies-total-mass": "total for reduced mass", "decrement-not-divided": "factor missing", "Q-factor-two": "factor 2",
	"damping-rate-factor-two": "factor 2", "damped-frequency-sign": "sign of a term",
	"precession-revolutions": "frequency for angular frequency", "sleeping-not-rooted": "square root",
	"conical-no-cosine": "function missing|term missing", "rpm-not-divided": "minutes for seconds",
	"uncertainty-linear-sum": "square of a sum", "uncertainty-power-forgotten": "exponent in an uncertainty",
	"uncertainty-mean-not-divided": "factor missing|not averaged", "spectrum-bin": "factor missing",
}

// With and without the meanings of the letters, every published slip is
// recognised as what it is.
func TestPublishedSlips(t *testing.T) {
	for _, means := range []bool{true, false} {
		for _, e := range entries(t) {
			f, read := e.finder(t, means)
			got, ok := f.Find(read(e.Slipped), read(e.Slipped).Has)
			want, listed := fitting[e.ID]
			if !listed {
				t.Errorf("%s: no fitting name is listed", e.ID)
			}
			if !ok || !strings.Contains("|"+want+"|", "|"+got.Name()+"|") {
				t.Errorf("%s (meanings %v): %s for %s is called %q (%s %s), want %q: %s", e.ID, means, e.Slipped, e.Correct, got.Name(), got.A, got.B, want, e.Slip)
			}
		}
	}
}

func BenchmarkFind(b *testing.B) {
	for _, e := range entries(b) {
		if e.ID != "compound-as-simple" {
			continue
		}
		f, read := e.finder(b, true)
		slipped := read(e.Slipped)
		b.ReportAllocs()
		for b.Loop() {
			f.Find(slipped, slipped.Has)
		}
	}
}
