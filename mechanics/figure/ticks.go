package figure

import (
	"math"
	"strconv"
	"strings"

	"gonum.org/v1/plot"
)

// ticks puts numbers on an axis at steps that people count in: 1, 2 or 5 times
// a power of ten, and for degrees also 15, 30, 45 and 90.
type ticks struct{ degrees, whole bool }

// wanted is how many numbers an axis should carry: enough to read between,
// few enough not to touch each other.
const wanted = 6

// Ticks implements plot.Ticker.
func (t ticks) Ticks(min, max float64) []plot.Tick {
	if !(max > min) || !isFinite(max-min) {
		return plot.DefaultTicks{}.Ticks(min, max)
	}
	step := t.step((max - min) / wanted)
	var all []plot.Tick
	decimals := 0
	for s := step; decimals < 12 && math.Abs(s-math.Round(s)) > 1e-9*math.Max(1, math.Abs(s)); decimals++ {
		s = step * math.Pow(10, float64(decimals+1))
	}
	first := math.Ceil(min/step - 1e-9)
	for k := first; k*step <= max+1e-9*step; k++ {
		all = append(all, plot.Tick{Value: k * step, Label: tickLabel(k*step, decimals)})
	}
	return all
}

func (t ticks) step(least float64) float64 {
	if t.degrees {
		for _, s := range []float64{1, 2, 5, 10, 15, 30, 45, 90, 180, 360} {
			if s >= least {
				return s
			}
		}
	}
	if t.whole {
		least = math.Max(least, 1)
	}
	power := math.Pow(10, math.Floor(math.Log10(least)))
	for _, m := range []float64{1, 2, 5} {
		if m*power >= least*(1-1e-9) {
			return m * power
		}
	}
	return 10 * power
}

func tickLabel(v float64, decimals int) string {
	if math.Abs(v) >= 1e6 {
		return minus(strconv.FormatFloat(v, 'g', 4, 64))
	}
	s := strconv.FormatFloat(v, 'f', decimals, 64)
	if s == "-0" || strings.Trim(s, "-0.") == "" {
		s = "0"
	}
	return minus(s)
}

// minus writes numbers with a true minus sign.
func minus(s string) string { return strings.ReplaceAll(s, "-", "−") }

// logTicks numbers the decades of a logarithmic axis, and where fewer than two
// lie on it, the steps between them as well. (Gonum's own go beyond the axis, for
// which the plot would keep a margin free, and miss steps below 1.)
type logTicks struct{}

// Ticks implements plot.Ticker.
func (logTicks) Ticks(min, max float64) []plot.Tick {
	var all []plot.Tick
	numbers := 0
	for decade := math.Floor(math.Log10(min) + 1e-9); decade <= math.Log10(max)+1e-9; decade++ {
		for step := 1.0; step < 10; step++ {
			t := plot.Tick{Value: step * math.Pow10(int(decade))}
			if t.Value < min*(1-1e-9) || t.Value > max*(1+1e-9) {
				continue
			}
			if step == 1 {
				t.Label = logLabel(t.Value)
				numbers++
			}
			all = append(all, t)
		}
	}
	if numbers < 2 {
		for i := range all {
			all[i].Label = logLabel(all[i].Value)
		}
	}
	return all
}

func logLabel(v float64) string { return minus(strconv.FormatFloat(v, 'g', 4, 64)) }
