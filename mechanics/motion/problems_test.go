package motion_test

import (
	"encoding/json"
	"fmt"
	"math"
	"strconv"
	"testing"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/expr/parse"
	"counterpoise/mechanics/motion"
	"counterpoise/testdata"
)

// A problem is an initial value problem whose end state is known to more than
// 30 digits.
type problem struct {
	name  string
	state []string
	rates []string // as typed
	start []float64
	end   float64
	want  []float64
}

// problems returns the seven problems of testdata/published/motion-reference.
func problems(t testing.TB) []problem {
	t.Helper()
	var file struct {
		Problems map[string]struct {
			T string
			Y []string
		}
	}
	if err := json.Unmarshal(testdata.Read(t, "motion-reference", "reference.json"), &file); err != nil {
		t.Fatal(err)
	}
	pleiades := problem{name: "pleiades", start: []float64{
		3, 3, -1, -3, 2, -2, 2, 3, -3, 2, 0, 0, -4, 4,
		0, 0, 0, 0, 0, 1.75, -1.5, 0, 0, 0, -1.25, 1, 0, 0,
	}}
	for _, c := range []string{"x", "z", "u", "w"} {
		for i := range 7 {
			pleiades.state = append(pleiades.state, fmt.Sprintf("%s_%d", c, i+1))
		}
	}
	for _, c := range []string{"u", "w"} {
		for i := range 7 {
			pleiades.rates = append(pleiades.rates, fmt.Sprintf("%s_%d", c, i+1))
		}
	}
	for _, c := range []string{"x", "z"} {
		for i := 1; i <= 7; i++ {
			sum := "0"
			for j := 1; j <= 7; j++ {
				lo, hi, sign := min(i, j), max(i, j), "+"
				if j < i {
					sign = "-"
				}
				if i != j {
					sum += fmt.Sprintf(" %s %d (%[3]s_%[5]d - %[3]s_%[4]d)/((x_%[5]d - x_%[4]d)^2 + (z_%[5]d - z_%[4]d)^2)^(3/2)", sign, j, c, lo, hi)
				}
			}
			pleiades.rates = append(pleiades.rates, sum)
		}
	}
	all := []problem{
		{name: "pendulum", state: []string{"a", "u"}, rates: []string{"u", "-9.81 sin(a)"}, start: []float64{2.5, 0}},
		{
			name: "double_pendulum", state: []string{"a", "b", "u", "v"},
			rates: []string{
				"u", "v",
				"(-2*9.81 sin(a) - sin(a-b) v^2 - cos(a-b) (sin(a-b) u^2 - 9.81 sin(b)))/(2 - cos(a-b)^2)",
				"(2 (sin(a-b) u^2 - 9.81 sin(b)) - cos(a-b) (-2*9.81 sin(a) - sin(a-b) v^2))/(2 - cos(a-b)^2)",
			},
			start: []float64{2, 1, 0, 0},
		},
		{
			name: "spring_pendulum", state: []string{"x", "z", "u", "v"},
			rates: []string{"u", "v", "-39.24 (1 - 0.75/sqrt(x^2+z^2)) x", "-39.24 (1 - 0.75/sqrt(x^2+z^2)) z - 9.81"},
			start: []float64{0.05, -1.2, 0, 0},
		},
		{
			name: "henon_heiles", state: []string{"x", "z", "u", "v"},
			rates: []string{"u", "v", "-x - 2 x z", "-z - x^2 + z^2"},
			start: []float64{0, 0.1, math.Sqrt(1.0/6 - 0.01 + 2*0.001/3), 0},
		},
		{
			name: "arenstorf", state: []string{"x", "z", "u", "v"},
			rates: []string{
				"u", "v",
				"x + 2 v - 0.987722529 (x + 0.012277471)/((x + 0.012277471)^2 + z^2)^(3/2) - 0.012277471 (x - 0.987722529)/((x - 0.987722529)^2 + z^2)^(3/2)",
				"z - 2 u - 0.987722529 z/((x + 0.012277471)^2 + z^2)^(3/2) - 0.012277471 z/((x - 0.987722529)^2 + z^2)^(3/2)",
			},
			start: []float64{0.994, 0, 0, -2.00158510637908252240537862224},
		},
		pleiades,
		{name: "van_der_pol", state: []string{"x", "u"}, rates: []string{"u", "1000 (1 - x^2) u - x"}, start: []float64{2, 0}},
	}
	for i := range all {
		p := &all[i]
		ref := file.Problems[p.name]
		p.end = number(t, ref.T)
		for _, v := range ref.Y {
			p.want = append(p.want, number(t, v))
		}
	}
	return all
}

func number(t testing.TB, text string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// system compiles the problem from the expressions as typed.
func (p problem) system(t testing.TB) motion.System {
	t.Helper()
	var rates []expr.Expr
	for _, text := range p.rates {
		e, err := parse.Parse(text, parse.Options{Symbols: p.state})
		if err != nil {
			t.Fatalf("%s: %v", p.name, err)
		}
		rates = append(rates, e)
	}
	s, err := motion.FromExpressions(rates, p.state, nil)
	if err != nil {
		t.Fatalf("%s: %v", p.name, err)
	}
	return s
}

// wrong is the error of an end state: the largest |y-ref|/(1+|ref|).
func (p problem) wrong(y []float64) float64 {
	worst := 0.0
	for i, v := range y {
		if d := math.Abs(v-p.want[i]) / (1 + math.Abs(p.want[i])); !(d <= worst) {
			worst = d
		}
	}
	return worst
}
