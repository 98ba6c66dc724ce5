package equal_test

import (
	"math"
	"testing"

	"counterpoise/mechanics/expr/equal"
	"counterpoise/mechanics/expr/parse"
)

// Values that float64 loses to cancellation.
// Source of the values: mpmath 1.3.0 at 60 digits, at the float64 nearest to
// each argument; printed to 15 figures.
func TestReckonerKeepsFigures(t *testing.T) {
	for _, tt := range []struct {
		text string
		at   map[string]float64
		want float64
	}{
		{"1 - cos(x)", map[string]float64{"x": 1e-5}, 4.99999999995833e-11},
		{"sqrt(a^2 + b^2) - a", map[string]float64{"a": 1e6, "b": 0.001}, 5.0e-13},
		{"tan(x) - sin(x)", map[string]float64{"x": 1e-4}, 5.0000000125e-13},
		{"exp(x) - 1 - x", map[string]float64{"x": 1e-6}, 5.00000166666708e-13},
		{"ln(1 + x)", map[string]float64{"x": 1e-9}, 9.999999995e-10},
		{"1/(1/a - 1/b)", map[string]float64{"a": 1.0000001, "b": 1.0000002}, 10000003.016366},
		{"sin(x)^2 + cos(x)^2 - 1", map[string]float64{"x": 0.3}, 0},
		{"x - x^2/x", map[string]float64{"x": 0.3}, 0},
		{"sqrt(x)", map[string]float64{"x": -1}, math.NaN()},
		{"ln(sin(x)^2 + cos(x)^2 - 1 - y)", map[string]float64{"x": 0.3, "y": 1e-30}, math.NaN()},
		{"1/(x - y)", map[string]float64{"x": 0.5, "y": 0.5}, math.NaN()},
		{"x", map[string]float64{"x": math.NaN()}, math.NaN()},
	} {
		e, err := parse.Parse(tt.text, parse.Options{Symbols: []string{"x", "y", "a", "b"}})
		if err != nil {
			t.Fatal(err)
		}
		got := equal.NewReckoner(e).Value(func(s string) float64 { return tt.at[s] })
		if math.IsNaN(tt.want) != math.IsNaN(got) || math.Abs(got-tt.want) > 1e-12*math.Abs(tt.want) {
			t.Errorf("%s at %v is %.15g, want %.15g", tt.text, tt.at, got, tt.want)
		}
	}
}
