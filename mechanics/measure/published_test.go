package measure

import (
	"bytes"
	"encoding/csv"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"gonum.org/v1/gonum/stat"
	"pgregory.net/rapid"

	"counterpoise/mechanics/quantity"
	"counterpoise/testdata"
)

// table returns the columns of a published table without its heading.
func table(t *testing.T, elements ...string) [][]float64 {
	t.Helper()
	rows, err := csv.NewReader(bytes.NewReader(testdata.Read(t, elements...))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	out := make([][]float64, len(rows[0]))
	for _, r := range rows[1:] {
		for j, cell := range r {
			out[j] = append(out[j], number(t, cell))
		}
	}
	return out
}

// Nelson and Olsson (1986), ten timings of 100 swings; results of check-values P6
// (computed; local gravity at Madison, Wisconsin, near 9.804, memory).
func TestHundredSwings(t *testing.T) {
	var timings []Timing
	times := table(t, "pendulum-100-cycles", "pendulum-100-cycles.csv")[0]
	for _, s := range times {
		timings = append(timings, Timing{100, s})
	}
	period, err := Period(timings)
	if err != nil {
		t.Fatal(err)
	}
	testdata.Agrees(t, period.Value*100, "347.880")
	testdata.Agrees(t, stat.StdDev(times, nil), "0.0533")
	testdata.Agrees(t, period.Uncertainty*100, "0.0169")
	if period.Freedom != 9 {
		t.Error(period.Freedom)
	}
	fit, err := PeriodFit(append(timings, Timing{100, 351.36})) // a swing miscounted
	if err != nil {
		t.Fatal(err)
	}
	if odd := fit.Outliers(); len(odd) != 1 || odd[0].Index != 10 || len(fit.Residuals) != 11 {
		t.Errorf("odd timings %+v", odd)
	}
	for want, thread := range map[string]Thread{
		"9.80073": {Length: 3.0044},
		"9.80450": {Length: 3.0044, Diameter: 0.0610, Amplitude: 3 * math.Pi / 180},
		"9.8061":  {Length: 3.0044, Diameter: 0.0610, Amplitude: 3 * math.Pi / 180, Density: 7208},
	} {
		g, err := thread.Gravity(period.Value)
		if err != nil {
			t.Fatal(err)
		}
		testdata.Agrees(t, g, want)
	}
}

// Yuningsih, Sardjito and Dewi (2020), results of check-values K3 (computed): the
// point at 0.350 m governs the fit and is told as such.
func TestRodAtThirteenPoints(t *testing.T) {
	columns := table(t, "rod-pendulum", "rod-pendulum-distance-period.csv")
	d, T := columns[0], columns[1]
	all, err := HungAtPoints(d, T)
	if err != nil {
		t.Fatal(err)
	}
	testdata.Agrees(t, all.Gravity.Value, "10.218")
	without, err := HungAtPoints(d[1:], T[1:])
	if err != nil {
		t.Fatal(err)
	}
	testdata.Agrees(t, without.Gravity.Value, "9.886")
	testdata.Agrees(t, without.Gyration.Value, "0.2189")
	if theory := 0.75 / math.Sqrt(12); math.Abs(without.Gyration.Value-theory) > 3*without.Gyration.Uncertainty {
		t.Errorf("k = %v ± %v, a thin rod has %v", without.Gyration.Value, without.Gyration.Uncertainty, theory)
	}
	outliers := all.Fit.Outliers()
	if len(outliers) != 1 || outliers[0].Index != 0 {
		t.Errorf("outliers %+v: the point at 0.350 m is one", outliers)
	}
	x, y, err := hungLine(d, T)
	if err != nil {
		t.Fatal(err)
	}
	influence, err := Influence(Line, x, y, 1)
	if err != nil || math.Abs(influence[0]) < 2 {
		t.Errorf("influence %v, %v", influence, err)
	}
	for _, v := range influence[1:] {
		if math.Abs(v) > math.Abs(influence[0]) {
			t.Errorf("influence %v", influence)
		}
	}
}

// Cressie, JASA 77 (1982) 754: gravity at Washington, eight series; results of
// check-values K5 (computed).
func TestEightSeries(t *testing.T) {
	columns := table(t, "gravity-reversible-pendulum", "gravity-reversible-pendulum.csv")
	series := map[int][]float64{}
	for i, s := range columns[0] {
		series[int(s)] = append(series[int(s)], columns[1][i])
	}
	var results []quantity.Input
	for i, want := range []string{"66.375", "89.909", "77.333", "81.375", "75.250", "78.909", "77.538", "80.385"} {
		mean, err := quantity.Mean("series", series[i+1])
		if err != nil {
			t.Fatal(err)
		}
		testdata.Agrees(t, mean.Value, want)
		results = append(results, mean)
	}
	pooled, err := Pool(results)
	if err != nil {
		t.Fatal(err)
	}
	testdata.Agrees(t, pooled.Value, "78.629")
	testdata.Agrees(t, pooled.Uncertainty, "0.590")
	testdata.Agrees(t, pooled.ChiSquared, "21.28")
	if pooled.Freedom != 7 || pooled.Chance > 0.005 || pooled.Widened < 1.7*pooled.Uncertainty {
		t.Errorf("%+v: the series scatter more than they say", pooled)
	}
}

// NIST StRD Lew: mean, standard deviation and lag-1 (memory; recomputed to all
// digits); least squares of a sine, check-values U6 (computed; lower by 14 % than
// the handbook's own set, D2).
func TestBeamDeflection(t *testing.T) {
	columns := table(t, "beam-deflection", "beam-deflection.csv")
	y := columns[1]
	mean, s := stat.MeanStdDev(y, nil)
	testdata.Agrees(t, mean, "-177.4350")
	testdata.Agrees(t, s, "277.332168044316")
	f, err := FitSine(columns[0], y)
	if err != nil {
		t.Fatal(err)
	}
	if f.Value[1] > 0 { // the same curve with the other sign and half a turn
		f.Value[1], f.Value[3] = -f.Value[1], f.Value[3]+math.Pi
	}
	phase := math.Mod(f.Value[3]+4*math.Pi, 2*math.Pi)
	testdata.Agrees(t, f.Value[0], "-178.768")
	testdata.Agrees(t, f.Value[1], "-343.289")
	// The list has 0.301807035; normal equations in rational arithmetic settle at
	// 0.3018070361387.
	testdata.Agrees(t, f.Value[2], "0.3018070361387")
	testdata.Agrees(t, phase, "1.82767")
	testdata.Agrees(t, f.Scatter, "134.0664")
}

// Check-values N1 ("Logarithmic decrement", seen) and N2 (problem text, seen).
func TestDecrement(t *testing.T) {
	for zeta, want := range map[float64][2]string{0.01: {"0.06283499", "11.0312"}, 0.05: {"0.31455270", "2.20360"}, 0.1: {"0.63148388", "1.09765"}} {
		d, err := DecrementAt(zeta)
		if err != nil {
			t.Fatal(err)
		}
		testdata.Agrees(t, d.Log, want[0])
		testdata.Agrees(t, d.SwingsToHalf(), want[1])
		if math.Abs(d.Ratio()-zeta) > 1e-15 {
			t.Errorf("ratio %v, want %v", d.Ratio(), zeta)
		}
	}
	d, err := DecrementOf(1, 0.13, 100)
	if err != nil {
		t.Fatal(err)
	}
	testdata.Agrees(t, d.Log, "0.020402")
	testdata.Agrees(t, d.Quality(), "153.98")
	if d, err = DecrementOf(1, 0.13, 99); err != nil {
		t.Fatal(err)
	}
	testdata.Agrees(t, d.Log, "0.020608")
}

// Check-values N3: dry friction takes the same from each swing. Amplitudes made
// by each law, with reading errors, are told apart.
func TestDecays(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for law, curve := range map[Friction]func(n float64) float64{
		Viscous: func(n float64) float64 { return 20 * math.Exp(-0.06*n) },
		Dry:     func(n float64) float64 { return 20 - 0.6*n },
		Drag:    func(n float64) float64 { return 20 / (1 + 20*0.004*n) },
	} {
		var a []float64
		for n := range 30 {
			a = append(a, curve(float64(n))+0.1*r.NormFloat64())
		}
		d, err := Decays(a)
		if err != nil || d[0].Law != law {
			t.Errorf("%v friction is read as %v (%v)", law, d, err)
			continue
		}
		want := map[Friction]float64{Viscous: 0.06, Dry: 0.6, Drag: 0.004}[law]
		if math.Abs(d[0].Rate-want) > 4*d[0].Fit.Uncertainty[1] {
			t.Errorf("%v: rate %v ± %v, made with %v", law, d[0].Rate, d[0].Fit.Uncertainty[1], want)
		}
	}
}

// A film of a swing gives back what it was made with, within its uncertainty; the
// share of hits is that of the normal law.
func TestFilm(t *testing.T) {
	hits, films := 0, 40
	for seed := range films {
		r := rand.New(rand.NewPCG(uint64(seed), 5))
		period, rate, phase := 0.5+r.Float64(), 0.05+0.2*r.Float64(), 6*r.Float64()-3
		var times, angles []float64
		for i := range 200 {
			at := 3 + float64(i)/30 + 0.002*r.Float64() // 30 frames a second, not quite even
			times = append(times, at)
			angles = append(angles, 0.02+0.15*math.Exp(-rate*(at-3))*math.Cos(2*math.Pi*(at-3)/period+phase)+0.003*r.NormFloat64())
		}
		s, err := FitSwing(times, angles)
		if err != nil {
			t.Fatalf("film %d: %v", seed, err)
		}
		if math.Abs(s.Period-period) > 5*s.PeriodUncertainty || math.Abs(s.Rate-rate) > 5*s.RateUncertainty || math.Abs(s.Rest-0.02) > 0.002 {
			t.Errorf("film %d: period %v ± %v, made with %v; rate %v ± %v, made with %v", seed, s.Period, s.PeriodUncertainty, period, s.Rate, s.RateUncertainty, rate)
		}
		if math.Abs(s.Period-period) < s.PeriodUncertainty {
			hits++
		}
	}
	if hits < 18 || hits > 36 { // 68 % of 40 is 27, ± 3
		t.Errorf("%d of %d periods within one uncertainty", hits, films)
	}
}

// Runs of different lengths, each stopped 0.2 s late: the delay is told apart from
// the period. Common practice, no source.
func TestPeriodAndDelay(t *testing.T) {
	var runs []Timing
	for _, n := range []int{5, 10, 20, 40} {
		runs = append(runs, Timing{n, 0.2 + 0.84*float64(n)})
	}
	f, err := PeriodAndDelay(runs)
	if err != nil {
		t.Fatal(err)
	}
	delay, _ := f.Of("delay")
	period, _ := f.Of("period")
	if math.Abs(delay-0.2) > 1e-12 || math.Abs(period-0.84) > 1e-13 {
		t.Errorf("%v", f)
	}
	if v, u := f.Of("mass"); !math.IsNaN(v) || !math.IsNaN(u) {
		t.Errorf("mass %v ± %v", v, u)
	}
}

// Computed beforehand: 0.05 s at each end of 20 swings is 0.0035 s.
func TestTimingUncertainty(t *testing.T) {
	testdata.Agrees(t, TimingUncertainty(0.05, 20), "0.0035")
}

// A toy's inertia from its swing: Y1 of the check values (computed by quadrature).
func TestInertiaFromSwings(t *testing.T) {
	p, err := InertiaFromSwings(
		quantity.Input{Name: "m", Value: 22.70586e-3, Uncertainty: 0.1e-3}, quantity.Input{Name: "d", Value: 39.72708e-3, Uncertainty: 0.5e-3},
		quantity.Input{Name: "T", Value: 0.818280, Uncertainty: 0.002}, quantity.Input{Name: "g", Value: 9.80665})
	if err != nil {
		t.Fatal(err)
	}
	testdata.Agrees(t, p.Value, "1.50034e-4")
	if want := p.Value * math.Sqrt(math.Pow(0.1/22.70586, 2)+math.Pow(0.5/39.72708, 2)+math.Pow(2*0.002/0.818280, 2)); math.Abs(p.Uncertainty/want-1) > 1e-9 {
		t.Errorf("± %v, by hand %v", p.Uncertainty, want)
	}
}

func TestSwingShapes(t *testing.T) {
	s := Swing{Period: 2, Rate: math.Pi} // ω = π: ζ = 1/√2
	testdata.Agrees(t, s.Ratio(), "0.70710678118655")
	testdata.Agrees(t, s.Undamped(), "1.41421356237310")
}

// GUM H.1's contributions as shares: the budget adds up.
func TestBudget(t *testing.T) {
	metre, g := quantity.MustUnit("m"), quantity.MustUnit("m/s²")
	b, err := NewBudget("T", quantity.MustUnit("s"), func(x []float64) float64 { return 2 * math.Pi * math.Sqrt(x[0]/x[1]) }, []Source{
		{Input: quantity.Within("l", 1, 0.001), Unit: metre},
		{Input: quantity.Input{Name: "g", Value: 9.81, Uncertainty: 0.01, Freedom: 4}, Unit: g},
	}, nil)
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(b.Share[0]+b.Share[1]-1) > 1e-12 || b.Largest() != 1 {
		t.Errorf("shares %v", b.Share)
	}
	// dT/T = dl/2l - dg/2g by hand.
	want := b.Propagation.Value / 2 * math.Hypot(0.001/math.Sqrt(3), 0.01/9.81)
	if math.Abs(b.Propagation.Uncertainty/want-1) > 1e-9 {
		t.Errorf("%v, want %v", b.Propagation.Uncertainty, want)
	}
	for _, want := range []string{"± 1.0 mm", "scatter of 5 readings (A)", "share", "k = 2"} {
		if text := strings.ReplaceAll(b.String(), "0.0010 m", "1.0 mm"); !strings.Contains(text, want) || !strings.Contains(b.Markdown(), "| l |") {
			t.Errorf("no %q in\n%s", want, b)
		}
	}
}

// A line through exact readings is found exactly; a reading moved far off is told.
func TestLawsOfLines(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := rapid.Float64Range(-10, 10).Draw(t, "a"), rapid.Float64Range(-10, 10).Draw(t, "b")
		n := rapid.IntRange(8, 30).Draw(t, "n")
		seed := rapid.Uint64().Draw(t, "seed")
		r := rand.New(rand.NewPCG(seed, 1))
		var x, y []float64
		for i := range n {
			x = append(x, float64(i))
			y = append(y, a+b*float64(i)+0.01*r.NormFloat64())
		}
		f, err := Line(x, y)
		if err != nil || math.Abs(f.Value[0]-a) > 0.05 || math.Abs(f.Value[1]-b) > 0.02 {
			t.Fatalf("%v: %v", f, err)
		}
		sum := 0.0
		for _, h := range f.leverage {
			sum += h
		}
		if math.Abs(sum-2) > 1e-9 { // as many as parameters
			t.Fatalf("leverages add up to %v", sum)
		}
		k := rapid.IntRange(0, n-1).Draw(t, "outlier")
		y[k] += 1
		if f, err = Line(x, y); err != nil {
			t.Fatal(err)
		}
		found := false
		for _, o := range f.Outliers() {
			found = found || o.Index == k
		}
		if !found {
			t.Fatalf("reading %d is not told: %+v", k, f.Outliers())
		}
		if len(f.Residuals) != n {
			t.Fatal("a reading was dropped")
		}
		// The search agrees with the straight solution.
		g, err := Curve(func(x float64, p []float64) float64 { return p[0] + p[1]*x }, x, y, []float64{1, 1}, nil)
		if err != nil || math.Abs(g.Value[1]-f.Value[1]) > 1e-8*(1+math.Abs(b)) {
			t.Fatalf("searched %v, solved %v, %v", g.Value, f.Value, err)
		}
	})
}

func TestMistakes(t *testing.T) {
	nan := math.NaN()
	line := func(x float64, p []float64) float64 { return p[0] + p[1]*x }
	ten := make([]float64, 10)
	for i := range ten {
		ten[i] = float64(i)
	}
	for want, run := range map[string]func() error{
		"give as many of each": func() error { _, err := Line(ten, ten[1:]); return err },
		"at least 3":           func() error { _, err := Line(ten[:2], ten[:2]); return err },
		"reading 1 is (NaN":    func() error { _, err := Line([]float64{nan, 1, 2}, ten[:3]); return err },
		"settle all":           func() error { _, err := Line([]float64{1, 1, 1}, ten[:3]); return err },
		"zero at every":        func() error { _, err := Proportional([]float64{0, 0, 0}, ten[:3]); return err },
		"degree 99":            func() error { _, err := Polynomial(ten, ten, 99); return err },
		"no parameters":        func() error { _, err := Curve(line, ten, ten, nil, nil); return err },
		"start of parameter 2": func() error { _, err := Curve(line, ten, ten, []float64{1, nan}, nil); return err },
		"not finite at the start": func() error {
			_, err := Curve(func(x float64, p []float64) float64 { return math.Log(-1 - p[0]) }, ten, ten, []float64{1}, nil)
			return err
		},
		"two of them do the same": func() error {
			_, err := Curve(func(x float64, p []float64) float64 { return (p[0] + p[1]) * x }, ten, ten, []float64{1, 1}, nil)
			return err
		},
		"timing 1 is 0 swings":      func() error { _, err := Period([]Timing{{0, 1}, {1, 1}}); return err },
		"needs at least two":        func() error { _, err := Period([]Timing{{1, 1}}); return err },
		"nothing to pool":           func() error { _, err := Pool(nil); return err },
		"result 2 is":               func() error { _, err := Pool([]quantity.Input{{Value: 1, Uncertainty: 1}, {Value: 1}}); return err },
		"amplitudes are 1 and 0":    func() error { _, err := DecrementOf(1, 0, 3); return err },
		"amplitude 2 is -1":         func() error { _, err := Decays([]float64{3, 2, -1, 1}); return err },
		"not later than":            func() error { _, err := FitSwing(make([]float64, 10), ten); return err },
		"do not swing":              func() error { _, err := FitSwing(ten, make([]float64, 10)); return err },
		"period is -1":              func() error { _, err := Thread{Length: 1}.Gravity(-1); return err },
		"length of the thread is 0": func() error { _, err := Thread{}.Gravity(1); return err },
		"the ball must be heavier":  func() error { _, err := Thread{Length: 1, Density: 1}.Gravity(1); return err },
		"reading 2 is 0 m":          func() error { _, err := HungAtPoints([]float64{1, 0, 1}, ten[1:4]); return err },
		"do not follow":             func() error { _, err := HungAtPoints([]float64{1, 2, 3}, []float64{3, 2, 1}); return err },
	} {
		if err := run(); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v, want %q", err, want)
		}
	}
}
