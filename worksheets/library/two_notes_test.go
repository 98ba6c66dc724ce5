package library_test

import (
	"encoding/csv"
	"math"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/gonum/integrate/quad"

	"counterpoise/mechanics/modes"
	"counterpoise/mechanics/motion"
	"counterpoise/testdata"
	"counterpoise/worksheets/build"
	"counterpoise/worksheets/library"
)

func twoNotes(t *testing.T) *build.KeyFile {
	t.Helper()
	s, err := library.Read("two-notes")
	if err != nil {
		t.Fatal(err)
	}
	key, err := build.Key(s)
	if err != nil {
		t.Fatal(err)
	}
	return key
}

// The keys of two-notes by a second route: beats and widths from the motion of
// two springs, the rest from spectra of samples, whose windows are checked
// against Harris's table.
func TestTwoNotesKeysBySecondRoute(t *testing.T) {
	key := twoNotes(t)
	for _, own := range []map[string]string{
		nil,
		{"f_1": "11.8 Hz", "f_2": "12.6 Hz", "A": "5.5 mm", "B": "4.5 mm", "F": "46 Hz", "u": "5 Hz"},
		{"f_1": "11.2 Hz", "f_2": "13.2 Hz", "A": "7 mm", "B": "3 mm", "F": "52 Hz", "u": "8 Hz"},
	} {
		asked, err := key.Asked(own)
		if err != nil {
			t.Fatal(err)
		}
		v := map[string]float64{}
		for name, q := range asked[2].Values { // beat-rate has the copy's own values
			v[name] = q.Value
		}
		beat, widest, narrowest := breath(t, v)
		lower, _ := line(t, v["f_1"], v["r"], v["D"])
		folded, spacing := line(t, v["F"], v["r"], v["D"])
		record := 2.0 // s; Resolution is inversely proportional to it
		want := map[string]float64{
			"beat-rate": beat, "common-period": commonPeriod(v["u"]), "spacing": spacing,
			"between-lines": lower * v["D"], "folded": folded,
			"record-formula": record * resolution(t, v["r"], record) / (v["f_2"] - v["f_1"]),
			// Harris (1978), Table 1: a line midway between two others shows
			// 3.92 dB too low. From the list of check values, F1.
			"midway": math.Pow(10, -3.92/20),
			// The fit of a sine in rational arithmetic, see package measure.
			"beam-line": 0.3018070361387,
		}
		want["record-time"] = want["record-formula"]
		for i := range asked {
			q := &key.Questions[i].Question
			expected, ok := want[q.Name]
			if !ok {
				if q.Kind == "number" {
					t.Errorf("no second route to %s", q.Name)
				}
				continue
			}
			within := 1e-6 // of spectra's peaks and the integration's crests
			switch q.Name {
			case "midway":
				within = math.Pow(10, 0.005/20) - 1 // half a unit of the last digit of 3.92 dB
			case "beam-line":
				within = 1e-6 // as printed in the sheet
			case "between-lines", "folded":
				within = 2e-4 // the mirror line below nought leaks a little
			}
			if got := value(t, q.Key, v); math.Abs(got-expected) > within*expected {
				t.Errorf("%s with %v: key %v, second route %v (SI)", q.Name, own, got, expected)
			}
		}
		if math.Abs(widest-(v["A"]+v["B"])) > 1e-8 || math.Abs(narrowest-(v["A"]-v["B"])) > 1e-8 {
			t.Errorf("widths %v and %v, the keys are A + B and A - B of %v", widest, narrowest, v)
		}
	}
}

// breath integrates both notes from their greatest place, and returns how often
// a second the sum's width is greatest, and its greatest and least value.
func breath(t *testing.T, v map[string]float64) (rate, widest, narrowest float64) {
	t.Helper()
	w1, w2 := 2*math.Pi*v["f_1"], 2*math.Pi*v["f_2"]
	notes := motion.Newton(2, func(acceleration []float64, _ float64, q []float64) {
		acceleration[0], acceleration[1] = -w1*w1*q[0], -w2*w2*q[1]
	})
	across := func(y []float64) float64 { return y[2]/w1 + y[3]/w2 }
	run, err := motion.Solve(notes, []float64{v["A"], v["B"], 0, 0}, 0, 4.2, motion.Options{
		Relative: 1e-12, Absolute: 1e-15,
		Events: []motion.Event{{Of: func(_ float64, y []float64) float64 { // half the slope of the width's square
			return (y[0]+y[1])*(y[2]+y[3]) - across(y)*(w1*y[0]+w2*y[1])
		}}},
	})
	if err != nil {
		t.Fatal(err)
	}
	var crests []float64
	for _, o := range run.Events {
		width := math.Hypot(o.Y[0]+o.Y[1], across(o.Y))
		if o.Direction == motion.Falling {
			crests, widest = append(crests, o.T), width
		} else {
			narrowest = width
		}
	}
	if len(crests) < 2 {
		t.Fatalf("%d crests", len(crests))
	}
	return float64(len(crests)-1) / (crests[len(crests)-1] - crests[0]), widest, narrowest
}

// line returns where a note shows in a film, and the spacing of the lines.
func line(t *testing.T, note, rate, length float64) (frequency, spacing float64) {
	t.Helper()
	var film []float64
	for i := range int(math.Round(rate * length)) {
		film = append(film, math.Cos(2*math.Pi*note*float64(i)/rate+0.4))
	}
	s, err := modes.SpectrumOf(film, 1/rate, modes.BlackmanHarris)
	if err != nil {
		t.Fatal(err)
	}
	return s.Peaks(0.5)[0].Frequency, s.Spacing
}

func resolution(t *testing.T, rate, length float64) float64 {
	t.Helper()
	s, err := modes.SpectrumOf(make([]float64, int(rate*length)), 1/rate, modes.Hann)
	if err != nil {
		t.Fatal(err)
	}
	return s.Resolution()
}

// commonPeriod searches the first time at which both notes are back in place.
func commonPeriod(u float64) float64 {
	for i := 1; ; i++ {
		after := float64(i) / (360 * u)
		if math.Cos(4*math.Pi*u*after)+math.Cos(6*math.Pi*u*after) > 2-1e-9 {
			return after
		}
	}
}

// The formulas of two-notes at numbers: the clapper's harmonics by quadrature,
// the width of a sum by its greatest value, the curves point by point, and the
// drift by the first return of the figure.
func TestTwoNotesFormulasBySecondRoute(t *testing.T) {
	key := twoNotes(t)
	const h, u = 0.03, 6.0
	for _, n := range []float64{1, 3, 7} {
		half := quad.Fixed(func(s float64) float64 { return h * math.Sin(2*math.Pi*n*u*s) }, 0, 1/(2*u), 40, nil, 0)
		other := quad.Fixed(func(s float64) float64 { return -h * math.Sin(2*math.Pi*n*u*s) }, 1/(2*u), 1/u, 40, nil, 0)
		if got, want := value(t, keyOf(t, key, "clapper"), map[string]float64{"h": h, "n": n}), 2*u*(half+other); math.Abs(got-want) > 1e-12 {
			t.Errorf("clapper, n = %g: %v, quadrature %v", n, got, want)
		}
	}
	const A, B = 6.0, 4.0
	for _, φ := range []float64{0.3, 1.1, 2.7} {
		widest := 0.0
		for i := range 20_000 {
			p := 2 * math.Pi * float64(i) / 20_000
			widest = max(widest, A*math.Cos(p)+B*math.Cos(p+φ))
			x, y := A*math.Cos(p), B*math.Cos(p+φ)
			ellipse := x*x/(A*A) + y*y/(B*B) - 2*x*y*math.Cos(φ)/(A*B)
			if math.Abs(ellipse-math.Pow(math.Sin(φ), 2)) > 1e-12 {
				t.Fatalf("ellipse: %v at p = %v, φ = %v", ellipse, p, φ)
			}
			octave := value2(t, keyOf(t, key, "octave"), x, A, B, i)
			if math.Abs(octave-B*math.Cos(2*p)) > 1e-12 {
				t.Fatalf("octave: %v at p = %v", octave, p)
			}
		}
		// The nearest of the sampled places is within (π/20000)²/2 of the crest.
		if got := value(t, keyOf(t, key, "envelope"), map[string]float64{"A": A, "B": B, "φ": φ}); math.Abs(got-widest) > 1e-6 {
			t.Errorf("envelope at %g: %v, greatest value %v", φ, got, widest)
		}
	}
	// f_x a whole number of hertz: after whole seconds x is back, y where the
	// lack of tuning has brought it.
	const fx, ε = 8.0, 0.05
	first := 0.0
	for s := 1.0; first == 0; s++ {
		if math.Cos(2*math.Pi*(2*fx+ε)*s) > 1-1e-9 {
			first = s
		}
	}
	if got := value(t, keyOf(t, key, "drift-time"), map[string]float64{"ε": ε, "f_x": fx}); math.Abs(got-first) > 1e-9 {
		t.Errorf("drift-time: %v, the figure is back after %v s", got, first)
	}
}

// value2 evaluates the right side of an equation for y, now and then: reading
// it takes longer than the rest.
func value2(t *testing.T, text string, x, A, B float64, i int) float64 {
	t.Helper()
	if i%2000 != 0 {
		return B * (2*x*x/(A*A) - 1)
	}
	_, right, ok := strings.Cut(text, "=")
	if !ok {
		t.Fatalf("no equation: %s", text)
	}
	return value(t, right, map[string]float64{"x": x, "A": A, "B": B})
}

// The sheet's beam is the published one, value by value, and its spectrum shows
// the line where the fit of a sine finds it.
//
// Source: NIST/SEMATECH e-Handbook of Statistical Methods, 1.4.2.5, LEW.DAT.
func TestTwoNotesBeamIsThePublishedOne(t *testing.T) {
	rows, err := csv.NewReader(strings.NewReader(string(testdata.Read(t, "beam-deflection", "beam-deflection.csv")))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var beam []float64
	for _, row := range rows[1:] {
		d, err := strconv.ParseFloat(row[1], 64)
		if err != nil {
			t.Fatal(err)
		}
		beam = append(beam, d)
	}
	s, err := library.Read("two-notes")
	if err != nil {
		t.Fatal(err)
	}
	var typed []float64
	for _, c := range s.Cells {
		_, list, ok := strings.Cut(c.Text, "beam := []float64{")
		if !ok {
			continue
		}
		list, _, _ = strings.Cut(list, "}")
		for _, field := range strings.FieldsFunc(list, func(r rune) bool { return strings.ContainsRune(", \t\n", r) }) {
			d, err := strconv.ParseFloat(field, 64)
			if err != nil {
				t.Fatal(err)
			}
			typed = append(typed, d)
		}
	}
	if len(beam) != 200 || len(typed) != len(beam) {
		t.Fatalf("%d values in the sheet, %d published", len(typed), len(beam))
	}
	for i := range beam {
		if beam[i] != typed[i] {
			t.Errorf("value %d: %v in the sheet, %v published", i+1, typed[i], beam[i])
		}
	}
	spectrum, err := modes.SpectrumOf(beam, 1, modes.Hann)
	if err != nil {
		t.Fatal(err)
	}
	// The sheet accepts 1 %.
	if got := spectrum.Peaks(0.2)[0].Frequency; math.Abs(got-0.301807) > 0.005*0.301807 {
		t.Errorf("highest line at %v", got)
	}
}
