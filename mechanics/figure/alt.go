package figure

import (
	"fmt"
	"math"
	"strings"
)

var inf = math.Inf(1)

// describe writes the alternative text of a plot from its data: what the axes
// are and how each series runs, to two figures, as somebody would say it.
func (p Plot) describe() string {
	xs, _ := scaleOf(p.X.Unit)
	ys, _ := scaleOf(p.Y.Unit)
	var b strings.Builder
	fmt.Fprintf(&b, "Plot of %s against %s", orWord(p.Y.Label, "the second quantity"), orWord(p.X.Label, "the first quantity"))
	if p.Title != "" {
		fmt.Fprintf(&b, ": %s", p.Title)
	}
	b.WriteString(".")
	for i, s := range p.Series {
		name := s.Label
		if name == "" && len(p.Series) == 1 {
			name = "The line"
			if s.Points {
				name = "The points"
			}
		} else if name == "" {
			name = fmt.Sprintf("Series %d", i+1)
		}
		if t := s.course(p.X.Unit, p.Y.Unit, xs, ys); t != "" {
			fmt.Fprintf(&b, " %s: %s.", name, t)
		}
	}
	for _, g := range p.Guides {
		if g.Label == "" {
			continue
		}
		axis, unit, scale := p.Y.Label, p.Y.Unit, ys
		if g.Upright {
			axis, unit, scale = p.X.Label, p.X.Unit, xs
		}
		fmt.Fprintf(&b, " A guide line marks %s at %s %s.", g.Label, axis, reading(g.Level/scale, unit))
	}
	for _, m := range p.Marks {
		if m.Label != "" {
			fmt.Fprintf(&b, " Marked: %s.", m.Label)
		}
	}
	return b.String()
}

// course says how a series runs: its ends, and its greatest and least values
// where they lie between.
func (s Series) course(xUnit, yUnit string, xs, ys float64) string {
	first, last, low, high := -1, -1, -1, -1
	n := 0
	for i := range s.X {
		if !isFinite(s.X[i]) || !isFinite(s.Y[i]) {
			continue
		}
		n++
		if first < 0 {
			first, low, high = i, i, i
		}
		last = i
		if s.Y[i] < s.Y[low] {
			low = i
		}
		if s.Y[i] > s.Y[high] {
			high = i
		}
	}
	switch {
	case n == 0:
		return ""
	case n == 1:
		return fmt.Sprintf("one point at %s, %s", reading(s.X[first]/xs, xUnit), reading(s.Y[first]/ys, yUnit))
	}
	where := func(i int) string {
		return fmt.Sprintf("%s at %s", reading(s.Y[i]/ys, yUnit), reading(s.X[i]/xs, xUnit))
	}
	turns := s.turns(high, low)
	text := fmt.Sprintf("from %s to %s", where(first), where(last))
	if s.Points {
		text = fmt.Sprintf("%d points, %s", n, text)
	}
	if turns > 6 {
		return text + fmt.Sprintf(", swinging %d times between %s and %s", turns/2, reading(s.Y[low]/ys, yUnit), reading(s.Y[high]/ys, yUnit))
	}
	span := s.Y[high] - s.Y[low]
	if span > 0 {
		if s.Y[high]-math.Max(s.Y[first], s.Y[last]) > 0.02*span {
			text += ", greatest " + where(high)
		}
		if math.Min(s.Y[first], s.Y[last])-s.Y[low] > 0.02*span {
			text += ", least " + where(low)
		}
	}
	return text
}

// turns counts how often the series changes direction by more than a tenth of
// its range.
func (s Series) turns(high, low int) int {
	step := (s.Y[high] - s.Y[low]) / 10
	if step <= 0 {
		return 0
	}
	count, direction, reached := 0, 0.0, math.NaN()
	for _, y := range s.Y {
		switch {
		case !isFinite(y):
		case math.IsNaN(reached):
			reached = y
		case direction == 0:
			if math.Abs(y-reached) > step {
				direction, reached = math.Copysign(1, y-reached), y
			}
		case direction*(y-reached) > 0:
			reached = y
		case math.Abs(y-reached) > step:
			count++
			direction, reached = -direction, y
		}
	}
	return count
}

func reading(v float64, unit string) string {
	s := minus(fmt.Sprintf("%.3g", v))
	if s == "−0" {
		s = "0"
	}
	if unit == "" || unit == "1" {
		return s
	}
	return s + " " + unit
}

func orWord(s, otherwise string) string {
	if s == "" {
		return otherwise
	}
	return s
}
