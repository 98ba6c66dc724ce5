package quantity_test

import (
	"math"
	"testing"

	"counterpoise/mechanics/quantity"
)

// Rounding of numbers. ISO 80000-1:2009, Annex B (from memory, unchecked); ASME
// A112.18.1, Annex A, and a college rule sheet (both seen).
func TestRoundDecimals(t *testing.T) {
	for _, tt := range []struct {
		text     string
		decimals int
		even, up string
	}{
		{"12.223", 1, "12.2", "12.2"}, {"12.251", 1, "12.3", "12.3"}, {"12.275", 1, "12.3", "12.3"},
		{"12.25", 1, "12.2", "12.3"}, {"12.35", 1, "12.4", "12.4"},
		{"1.655000", 2, "1.66", "1.66"}, {"1.625000", 2, "1.62", "1.63"}, // ASME
		{"21.4501", 1, "21.5", "21.5"}, {"21.350", 1, "21.4", "21.4"}, {"21.45", 1, "21.4", "21.5"}, // college
		{"-12.25", 1, "-12.2", "-12.3"}, // our reading of rule B: greater in magnitude
		{"1225.0", -1, "1220", "1230"},  // ISO 80000-1, range 10
	} {
		for rule, want := range map[quantity.Rule]string{quantity.HalfEven: tt.even, quantity.HalfUp: tt.up} {
			got, err := quantity.RoundDecimals(tt.text, tt.decimals, rule)
			if err != nil || got != want {
				t.Errorf("%s to %d decimals by rule %d: %s (%v), want %s", tt.text, tt.decimals, rule, got, err, want)
			}
		}
	}
	for _, bad := range []string{"", "12,25", "1/2", "0x10", "many"} {
		if got, err := quantity.RoundDecimals(bad, 1, quantity.HalfEven); err == nil {
			t.Errorf("%q rounds to %s", bad, got)
		}
	}
}

// The same published cases as significant figures.
func TestRound(t *testing.T) {
	for _, tt := range []struct {
		x       float64
		figures int
		want    string
	}{
		{12.223, 3, "12.2"}, {12.251, 3, "12.3"}, {12.25, 3, "12.2"}, {12.35, 3, "12.4"},
		{1.655, 3, "1.66"}, {1.625, 3, "1.62"}, {21.4501, 3, "21.5"}, {21.35, 3, "21.4"}, {21.45, 3, "21.4"},
		{9.96, 2, "10"}, {0.0099951, 3, "0.0100"}, {1234, 2, "1.2×10³"}, {0, 3, "0.00"}, {-0.00001234, 2, "-1.2×10⁻⁵"},
	} {
		if got := quantity.Round(tt.x, tt.figures); got != tt.want {
			t.Errorf("%v to %d figures: %s, want %s", tt.x, tt.figures, got, tt.want)
		}
	}
}

// Nothing panics on numbers that are none, or on absurd figures.
func TestPrintingWithoutPanic(t *testing.T) {
	metre := quantity.MustUnit("m")
	for _, v := range []float64{math.NaN(), math.Inf(1), math.Inf(-1), 0, 5e-324, math.MaxFloat64, -1} {
		for _, u := range []float64{0, math.NaN(), math.Inf(1), 5e-324, math.MaxFloat64, -1} {
			for _, figures := range []int{-1, 0, 1, 17, 1 << 40} {
				q := quantity.Quantity{Value: v, Uncertainty: u, Unit: metre, Figures: figures, UncertaintyFigures: figures}
				if q.String() == "" || q.LaTeX() == "" || q.Format(figures, metre) == "" || quantity.Round(v, figures) == "" {
					t.Errorf("%v ± %v with %d figures prints nothing", v, u, figures)
				}
				q.Spaced(quantity.Mass)
				_, _ = q.Times(q), q.Unit
			}
		}
	}
}
