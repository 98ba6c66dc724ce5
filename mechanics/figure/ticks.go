package figure

import (
	"math"
	"strconv"
	"strings"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
)

// ticks puts numbers on an axis at steps that people count in: 1, 2 or 5 times
// a power of ten, and for degrees also 15, 30, 45, 60 and 90. The finest step is
// taken of which at most mostNumbers lie on the axis and do not touch.
type ticks struct {
	degrees, whole bool
	room           vg.Length // of the axis in CSS pixels; any if zero
	across         bool      // the numbers stand side by side, not above each other
	log            bool      // the axis is logarithmic
}

// mostNumbers is how many numbers an axis carries at most: enough to read
// between, few enough for the eye. Common practice, no source.
const mostNumbers = 8

// Ticks implements plot.Ticker.
func (t ticks) Ticks(min, max float64) []plot.Tick {
	if !(max > min) || !isFinite(max-min) {
		return nil
	}
	var ends []plot.Tick // of the finest step that leaves room for two: with fewer an axis cannot be read
	for step := t.step((max - min) / mostNumbers); ; step = t.step(step * 1.01) {
		all := numbers(min, max, step)
		if len(all) < 2 && ends != nil {
			return ends
		}
		if len(all) <= mostNumbers && (len(all) < 2 || t.apart(all, min, max)) {
			return all
		}
		if pair := []plot.Tick{all[0], all[len(all)-1]}; ends == nil && t.apart(pair, min, max) {
			ends = pair
		}
	}
}

// numbers lists the multiples of step from min to max.
func numbers(min, max, step float64) []plot.Tick {
	decimals := 0
	for s := step; decimals < 12 && math.Abs(s-math.Round(s)) > 1e-9*math.Max(1, math.Abs(s)); decimals++ {
		s = step * math.Pow(10, float64(decimals+1))
	}
	var all []plot.Tick
	first, last := math.Ceil(min/step-1e-9), math.Floor(max/step+1e-9)
	for k := 0.0; k <= math.Min(last-first, 3*mostNumbers); k++ {
		v := (first + k) * step
		all = append(all, plot.Tick{Value: v, Label: tickLabel(v, step, decimals)})
	}
	return all
}

// apart says whether the numbers of ticks keep clear of each other on the axis.
func (t ticks) apart(all []plot.Tick, min, max float64) bool {
	if t.log {
		return clear(all, logPlace(min, max), t.room, t.across)
	}
	return clear(all, func(v float64) float64 { return (v - min) / (max - min) }, t.room, t.across)
}

// logPlace gives where on a logarithmic axis a value stands, from 0 to 1.
func logPlace(min, max float64) func(v float64) float64 {
	low, high := math.Log10(min), math.Log10(max)
	return func(v float64) float64 { return (math.Log10(v) - low) / (high - low) }
}

// clear says whether numbers keep clear of each other on an axis that is room
// pixels long and on which where gives the place of a value, from 0 to 1.
func clear(all []plot.Tick, where func(float64) float64, room vg.Length, across bool) bool {
	if room <= 0 {
		return true
	}
	words := lettering(sizeTick, ink)
	last := -inf
	for _, t := range all {
		if t.Label == "" {
			continue
		}
		half := 0.75 * sizeTick
		if across {
			half = float64(words.Width(t.Label))/2 + 5
		}
		at := where(t.Value) * float64(room)
		if at-half < last {
			return false
		}
		last = at + half
	}
	return true
}

// step is the least step that people count in from the given one up.
func (t ticks) step(least float64) float64 {
	if t.degrees && least > 0.5 {
		for _, s := range []float64{1, 2, 5, 10, 15, 30, 45, 60, 90, 180, 360} {
			if s >= least*(1-1e-9) {
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

func tickLabel(v, step float64, decimals int) string {
	if math.Abs(v) < 1e-9*step {
		return "0"
	}
	if math.Abs(v) >= 1e6 || step < 1e-6 {
		return minus(strconv.FormatFloat(v, 'g', 4, 64))
	}
	return minus(strconv.FormatFloat(v, 'f', decimals, 64))
}

// minus writes numbers with a true minus sign.
func minus(s string) string { return strings.ReplaceAll(s, "-", "−") }

// logTicks numbers a logarithmic axis: every step, or 1, 2 and 5, or 1 of each
// decade, or only some decades, whichever is the first that gives no more than
// mostNumbers which do not touch. (Gonum's own go beyond the axis, for which the
// plot would keep a margin free, and miss steps below 1.)
type logTicks struct {
	room   vg.Length
	across bool
}

// Ticks implements plot.Ticker.
func (t logTicks) Ticks(min, max float64) []plot.Tick {
	if !(min > 0) || !(max > min) || math.IsInf(max, 0) {
		return nil
	}
	where := logPlace(min, max)
	for _, numbered := range []func(step, decade int) bool{
		func(int, int) bool { return true },
		func(step, _ int) bool { return step == 1 || step == 2 || step == 5 },
		func(step, _ int) bool { return step == 1 },
		func(step, decade int) bool { return step == 1 && decade%2 == 0 },
		func(step, decade int) bool { return step == 1 && decade%5 == 0 },
		func(step, decade int) bool { return step == 1 && decade%20 == 0 },
	} {
		all, n := steps(min, max, numbered)
		if n <= mostNumbers && clear(all, where, t.room, t.across) {
			if n < 2 { // within a step of one decade: as on a plain axis
				return ticks{room: t.room, across: t.across, log: true}.Ticks(min, max)
			}
			return all
		}
	}
	return []plot.Tick{{Value: min, Label: logLabel(min)}, {Value: max, Label: logLabel(max)}}
}

// steps lists the steps of the decades from min to max, and how many of them
// are numbered.
func steps(min, max float64, numbered func(step, decade int) bool) (all []plot.Tick, n int) {
	first, last := int(math.Floor(math.Log10(min)+1e-9)), int(math.Floor(math.Log10(max)+1e-9))
	for decade := first; decade <= last; decade++ {
		for step := 1; step < 10; step++ {
			t := plot.Tick{Value: float64(step) * math.Pow10(decade)}
			if t.Value < min*(1-1e-9) || t.Value > max*(1+1e-9) {
				continue
			}
			if numbered(step, decade) {
				t.Label = logLabel(t.Value)
				n++
			} else if last-first > 12 {
				continue // strokes for every step would be a blur
			}
			all = append(all, t)
		}
	}
	return all, n
}

func logLabel(v float64) string {
	if v >= 1e-5*(1-1e-9) && v < 1e6 {
		return strconv.FormatFloat(v, 'f', int(math.Max(0, math.Ceil(-math.Log10(v)-1e-9))), 64)
	}
	return minus(strconv.FormatFloat(v, 'g', 4, 64))
}
