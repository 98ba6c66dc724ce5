package quantity_test

import (
	"fmt"
	"log"
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"

	"counterpoise/mechanics/quantity"
	"counterpoise/testdata"
)

// gauge is the end gauge of GUM H.1 in nm and K: l = l_s + d - l_s(δα θ + α_s δθ).
func gauge() (func(x []float64) float64, []quantity.Input) {
	f := func(x []float64) float64 { return x[0] + x[1] + x[2] + x[3] - x[0]*(x[4]*(x[6]+x[7])+x[5]*x[8]) }
	degreesOfFreedom := func(in quantity.Input, nu float64) quantity.Input {
		in.Freedom = nu
		return in
	}
	cyclic := 0.5 / math.Sqrt2 // amplitude 0.5 °C of the room's heating, arcsine distribution
	return f, []quantity.Input{
		{Name: "l_s", Value: 50000623, Uncertainty: 25, Freedom: 18},
		{Name: "d", Value: 215, Uncertainty: 5.8, Freedom: 24},
		{Name: "d_1", Value: 0, Uncertainty: 3.9, Freedom: 5},
		{Name: "d_2", Value: 0, Uncertainty: 6.7, Freedom: 8},
		degreesOfFreedom(quantity.Within("δα", 0, 1e-6), 50),
		quantity.Within("α_s", 11.5e-6, 2e-6),
		{Name: "θ mean", Value: -0.1, Uncertainty: 0.2},
		{Name: "Δ", Value: 0, Uncertainty: cyclic},
		degreesOfFreedom(quantity.Within("δθ", 0, 0.05), 2),
	}
}

// GUM (JCGM 100:2008) H.1: 50 000 838 nm, u_c = 32 nm, ν_eff 16, U99 = 93 nm with
// k = 2.92 (from memory); inputs seen in the documentation of a calculator
// (check-values U1). Second order: 34 nm in all.
func TestEndGauge(t *testing.T) {
	f, inputs := gauge()
	p, err := quantity.Propagate(f, inputs, nil)
	if err != nil {
		t.Fatal(err)
	}
	testdata.Agrees(t, p.Value, "50 000 838")
	testdata.Agrees(t, p.Uncertainty, "31.66")
	testdata.Agrees(t, p.Freedom, "16.75")
	width, factor := p.Expanded(0.99)
	testdata.Agrees(t, factor, "2.92")
	testdata.Agrees(t, width, "92") // 92.5; the GUM has 93, from the rounded 32 nm
	testdata.Agrees(t, factor*32, "93")
	testdata.Agrees(t, p.SecondOrder, "11.8") // 11.7 and 1.7
	testdata.Agrees(t, math.Hypot(p.Uncertainty, p.SecondOrder), "34")
	for i, want := range map[int]string{0: "25", 4: "2.9", 8: "16.6"} { // GUM Table H.1
		testdata.Agrees(t, p.Contribution[i], want)
	}
}

// Monte Carlo on the same model sees the second order too.
func TestEndGaugeByMonteCarlo(t *testing.T) {
	f, inputs := gauge()
	for i := range inputs {
		inputs[i].Freedom = 0
	}
	trials, err := quantity.MonteCarlo(f, inputs, nil, 200_000, 7)
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(trials.Uncertainty-33.8) > 0.3 || math.Abs(trials.Mean-50000838) > 0.3 { // standard error 0.06
		t.Errorf("%.2f ± %.2f", trials.Mean, trials.Uncertainty)
	}
	from, to := trials.Interval(0.95)
	if got := (to - from) / 2; math.Abs(got-1.96*33.8) > 1.5 {
		t.Errorf("95 %% within ±%.1f", got)
	}
	again, err := quantity.MonteCarlo(f, inputs, nil, 200_000, 7)
	if err != nil || again.Mean != trials.Mean {
		t.Error("the same seed gives other trials")
	}
}

// GUM H.2: resistance, reactance and impedance measured together. Data as in the R
// package errors (seen); results of the GUM as check-values U2.
func TestImpedance(t *testing.T) {
	inputs, correlation, err := quantity.Means([]string{"V", "I", "φ"}, [][]float64{
		{5.007, 4.994, 5.005, 4.990, 4.999},
		{19.663e-3, 19.639e-3, 19.640e-3, 19.685e-3, 19.678e-3},
		{1.0456, 1.0438, 1.0468, 1.0428, 1.0433},
	})
	if err != nil {
		t.Fatal(err)
	}
	formulas := []func(x []float64) float64{
		func(x []float64) float64 { return x[0] / x[1] * math.Cos(x[2]) },
		func(x []float64) float64 { return x[0] / x[1] * math.Sin(x[2]) },
		func(x []float64) float64 { return x[0] / x[1] },
	}
	p, cov, err := quantity.PropagateTogether(formulas, inputs, correlation)
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range [][2]string{{"127.732", "0.071"}, {"219.847", "0.295"}, {"254.260", "0.236"}} { // GUM Table H.3
		testdata.Agrees(t, p[i].Value, want[0])
		if i > 0 {
			testdata.Agrees(t, p[i].Uncertainty, map[int]string{1: "0.296", 2: "0.236"}[i]) // 0.29558; the GUM cuts to 0.295
		} else {
			testdata.Agrees(t, p[i].Uncertainty, want[1])
		}
	}
	testdata.Agrees(t, p[0].Value, "127.73217")
	testdata.Agrees(t, p[0].Uncertainty, "0.07107")
	testdata.Agrees(t, p[1].Value, "219.84651")
	testdata.Agrees(t, p[1].Uncertainty, "0.29558")
	testdata.Agrees(t, p[2].Value, "254.25970")
	testdata.Agrees(t, p[2].Uncertainty, "0.23634")
	r := func(i, j int) float64 { return cov.At(i, j) / math.Sqrt(cov.At(i, i)*cov.At(j, j)) }
	testdata.Agrees(t, r(0, 1), "-0.588")
	testdata.Agrees(t, r(0, 2), "-0.485")
	testdata.Agrees(t, r(1, 2), "0.993")

	for i := range inputs {
		inputs[i].Freedom = 0
	}
	trials, err := quantity.MonteCarlo(formulas[0], inputs, correlation, 100_000, 3)
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(trials.Uncertainty/0.07107-1) > 0.01 { // standard error 0.2 %
		t.Errorf("by trials ± %v", trials.Uncertainty)
	}
}

// CODATA's way of writing (check-values G5, memory) and the GUM's impedance (U2).
func TestConcise(t *testing.T) {
	for text, want := range map[string]string{
		"0.84 ± 0.02 s": "0.84(2) s", "6.67430(15)e-11 m^3 kg^-1 s^-2": "6.67430(15)×10⁻¹¹ m³ kg⁻¹ s⁻²", "127.73217 ± 0.071 Ω": "127.732(71) Ω",
		"1200 ± 30 m": "1200(30) m", "0.84 s": "0.84 s", "0.00001234 ± 0.00000012 m": "1.234(12)×10⁻⁵ m", "-3.50(5) mm": "-3.50(5) mm",
	} {
		if got := quantity.MustParse(text).Concise(); got != want {
			t.Errorf("%s: %s, want %s", text, got, want)
		} else if again := quantity.MustParse(got); again.Uncertainty != quantity.MustParse(text).Uncertainty {
			t.Errorf("%s reads back as %v", got, again)
		}
	}
}

func TestArithmetic(t *testing.T) {
	// Figures of products and sums: ASME A112.18.1, Annex A.1 (check-values U8).
	q := func(text string) quantity.Quantity { return quantity.MustParse(text) }
	if p := q("2.5 m").Times(q("1.234 m")); p.String() != "3.1 m²" {
		t.Error(p)
	}
	if p := q("1/2").Times(q("1.234 m")); p.String() != "0.6170 m" {
		t.Error(p)
	}
	if s, err := q("12.3 cm").Plus(q("4 mm")); err != nil || s.String() != "12.7 cm" {
		t.Error(s, err)
	}
	if s, err := q("12.31 cm").Minus(q("12.0 cm")); err != nil || s.String() != "0.3 cm" {
		t.Error(s, err)
	}
	if _, err := q("1 m").Plus(q("1 s")); err == nil || !strings.Contains(err.Error(), "cannot be added: the one is a length, the other a time") {
		t.Error(err)
	}
	if v, err := q("9.0(3) m").Over(q("3.0(1) s")); err != nil || math.Abs(v.Uncertainty-3*math.Hypot(0.3/9, 0.1/3)) > 1e-15 {
		t.Error(v, err)
	}
	if _, err := q("9 m").Over(q("0 s")); err == nil {
		t.Error("a division by zero passes")
	}
}

func TestUncertaintyMistakes(t *testing.T) {
	f := func(x []float64) float64 { return math.Log(x[0]) }
	one := []quantity.Input{{Name: "l", Value: 1, Uncertainty: 0.1}}
	two := append(one, quantity.Input{Name: "m", Value: 1, Uncertainty: 0.1, Spread: quantity.Rectangular})
	half := mat.NewSymDense(2, []float64{1, 0.5, 0.5, 1})
	for want, run := range map[string]func() error{
		"no inputs": func() error { _, err := quantity.Propagate(f, nil, nil); return err },
		"value of l is NaN": func() error {
			_, err := quantity.Propagate(f, []quantity.Input{{Name: "l", Value: math.NaN()}}, nil)
			return err
		},
		"uncertainty of l is -1": func() error {
			_, err := quantity.Propagate(f, []quantity.Input{{Name: "l", Uncertainty: -1}}, nil)
			return err
		},
		"2×2, there are 1": func() error { _, err := quantity.Propagate(f, one, half); return err },
		"not both normal":  func() error { _, err := quantity.MonteCarlo(f, two, half, 10, 1); return err },
		"1 trials":         func() error { _, err := quantity.MonteCarlo(f, one, nil, 1, 1); return err },
		"check that it holds": func() error {
			_, err := quantity.Propagate(f, []quantity.Input{{Name: "l", Value: -1}}, nil)
			return err
		},
		"at least two":             func() error { _, err := quantity.Mean("l", []float64{1}); return err },
		"they must have been read": func() error { _, _, err := quantity.Means([]string{"a", "b"}, [][]float64{{1, 2}, {1}}); return err },
	} {
		if err := run(); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v, want %q", err, want)
		}
	}
}

func ExamplePropagate() {
	// A reed hung by its end: T = 2π √(2l/3g), with its length read to a millimetre
	// and g from a table.
	period := func(x []float64) float64 { return 2 * math.Pi * math.Sqrt(2*x[0]/(3*x[1])) }
	p, err := quantity.Propagate(period, []quantity.Input{
		quantity.Within("l", 1.000, 0.001),
		{Name: "g", Value: 9.81, Uncertainty: 0.005},
	}, nil)
	if err != nil {
		log.Fatal(err)
	}
	T := quantity.New(p.Value, quantity.MustUnit("s"))
	T.Uncertainty = p.Uncertainty
	fmt.Println(T)
	// Output: (1.63795 ± 0.00063) s
}

func ExampleParse() {
	for _, text := range []string{"840 ms", `8.4\times10^{-1}\,\mathrm{s}`, "0.84(2) s", "18 gr", "0,84 s"} {
		q, err := quantity.Parse(text)
		if err != nil {
			fmt.Println(err)
			continue
		}
		fmt.Println(q.Value, "±", q.Uncertainty, "from", q)
	}
	// Output:
	// 0.84 ± 0 from 840 ms
	// 0.84 ± 0 from 0.84 s
	// 0.84 ± 0.02 from (0.84 ± 0.02) s
	// column 4: unknown unit "gr": write g for grams
	// column 2: decimal comma: write a point, 0.84
}
