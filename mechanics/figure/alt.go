package figure

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"counterpoise/mechanics/quantity"
)

var inf = math.Inf(1)

// describe writes the alternative text of a plot from its data: what the axes
// are and how each series runs, as finely as the picture shows it.
func (p Plot) describe() string {
	var xs, ys []float64 // what is drawn
	for _, s := range p.Series {
		for i := range s.X {
			if isFinite(s.X[i]) && isFinite(s.Y[i]) {
				xs, ys = append(xs, s.X[i]), append(ys, s.Y[i])
			}
		}
	}
	d := describer{x: p.X.reader(xs), y: p.Y.reader(ys), xName: p.X.Label, yName: p.Y.Label, flat: p.Y.resolution(ys)}
	var b strings.Builder
	fmt.Fprintf(&b, "Plot of %s against %s", orWord(p.Y.Label, "the second quantity"), orWord(p.X.Label, "the first quantity"))
	if p.Title != "" {
		b.WriteString(": " + sentence(p.Title))
	} else {
		b.WriteString(".")
	}
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
		if t := d.course(s); t != "" {
			fmt.Fprintf(&b, " %s: %s.", name, t)
		}
	}
	for _, g := range p.Guides {
		switch {
		case g.Label == "":
		case g.Upright:
			fmt.Fprintf(&b, " A guide line marks %s at %s %s.", g.Label, p.X.Label, d.x(g.Level))
		default:
			fmt.Fprintf(&b, " A guide line marks %s at %s %s.", g.Label, p.Y.Label, d.y(g.Level))
		}
	}
	for _, m := range p.Marks {
		if m.Label != "" {
			fmt.Fprintf(&b, " Marked: %s, %s at %s.", m.Label, d.y(m.Y), d.x(m.X))
		}
	}
	return b.String()
}

// A describer tells the course of series in the words of their axes.
type describer struct {
	x, y         func(float64) string // a value with its unit
	xName, yName string
	flat         float64 // what the height of the picture does not show, SI
}

// course says how a series runs: its ends, and its greatest and least values
// where they lie between; for a curve that turns back, how far it reaches.
func (d describer) course(s Series) string {
	first, last, low, high := -1, -1, -1, -1
	left, right := inf, -inf
	n, up, down, level := 0, 0, 0, 0
	for i := range s.X {
		if !isFinite(s.X[i]) || !isFinite(s.Y[i]) {
			continue
		}
		n++
		if first < 0 {
			first, low, high, last = i, i, i, i
		}
		if s.X[i] > s.X[last] {
			up++
		} else if s.X[i] < s.X[last] {
			down++
		} else if s.Y[i] != s.Y[last] {
			level++
		}
		last = i
		left, right = math.Min(left, s.X[i]), math.Max(right, s.X[i])
		if s.Y[i] < s.Y[low] {
			low = i
		}
		if s.Y[i] > s.Y[high] {
			high = i
		}
	}
	where := func(i int) string { return d.y(s.Y[i]) + " at " + d.x(s.X[i]) }
	span := 0.0
	if n > 0 {
		span = s.Y[high] - s.Y[low]
	}
	points := ""
	if s.Points {
		points = fmt.Sprintf("%d points, ", n)
	}
	switch {
	case n == 0:
		return ""
	case n == 1:
		return "one point, " + where(first)
	case up > 0 && down > 0 || level > 0 && s.Points:
		what := points
		if closed := math.Abs(s.X[first]-s.X[last]) < 0.02*(right-left) && math.Abs(s.Y[first]-s.Y[last]) < 0.02*span; closed && !s.Points {
			what = "a closed curve, "
		}
		return fmt.Sprintf("%s%s from %s to %s, %s from %s to %s", what,
			orWord(d.xName, "across"), d.x(left), d.x(right), orWord(d.yName, "up"), d.y(s.Y[low]), d.y(s.Y[high]))
	case span <= d.flat:
		return fmt.Sprintf("%sstays at %s from %s to %s", points, d.y((s.Y[low]+s.Y[high])/2), d.x(s.X[first]), d.x(s.X[last]))
	}
	text := fmt.Sprintf("%sfrom %s to %s", points, where(first), where(last))
	if turns := s.turns(high, low); turns > 6 {
		return text + fmt.Sprintf(", swinging %d times between %s and %s", turns/2, d.y(s.Y[low]), d.y(s.Y[high]))
	}
	if s.Y[high]-math.Max(s.Y[first], s.Y[last]) > 0.02*span {
		text += ", greatest " + where(high)
	}
	if math.Min(s.Y[first], s.Y[last])-s.Y[low] > 0.02*span {
		text += ", least " + where(low)
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

// resolution is what a picture of the values along an axis just shows, SI: a
// five-hundredth of their range, hardly a pixel.
func (a Axis) resolution(values []float64) float64 {
	low, high := a.From, a.To
	if low == 0 && high == 0 {
		low, high = inf, -inf
		for _, v := range values {
			if isFinite(v) {
				low, high = math.Min(low, v), math.Max(high, v)
			}
		}
	}
	if a.Log || !(high > low) {
		return 0
	}
	return (high - low) / 500
}

// reader writes SI values in the unit of the axis, to three figures, or to as
// many as tell apart what the picture of the given values does; what it does not
// tell from zero is 0.
func (a Axis) reader(values []float64) func(float64) string {
	scale, err := scaleOf(a.Unit)
	if err != nil {
		scale = 1
	}
	unit := unitText(a.Unit)
	fine := a.resolution(values) / scale
	return func(v float64) string {
		v /= scale
		figures := 3
		if fine > tiniest && v != 0 {
			place := func(of float64) float64 { return math.Pow(10, math.Floor(math.Log10(of))) }
			v = math.Round(v/place(fine)) * place(fine)
			told := place(5 * fine) // in figures that tell a hundredth of the range
			figures = int(math.Max(3, math.Min(9, 1+math.Floor(math.Log10(math.Max(math.Abs(v), told)/told)+1e-9))))
		}
		if unit == "" {
			return number(v, figures)
		}
		return number(v, figures) + " " + unit
	}
}

// unitText is a unit as it is printed, empty for a pure number.
func unitText(unit string) string {
	if unit == "" || unit == "1" {
		return ""
	}
	if u, err := quantity.ParseUnit(unit); err == nil {
		return u.String()
	}
	return unit
}

// number writes a value to so many figures, without an exponent where people
// would write none.
func number(v float64, figures int) string {
	s := strconv.FormatFloat(v, 'g', figures, 64)
	mantissa, exponent, ok := strings.Cut(s, "e")
	if e, err := strconv.Atoi(exponent); ok && err == nil {
		if e >= -6 && e < 9 {
			v, _ = strconv.ParseFloat(s, 64) // rounded
			s = strconv.FormatFloat(v, 'f', -1, 64)
		} else {
			s = mantissa + "×10" + superscript(strconv.Itoa(e))
		}
	}
	if strings.Trim(s, "-0.") == "" {
		return "0"
	}
	return minus(s)
}

func superscript(digits string) string {
	return strings.NewReplacer("-", "⁻", "0", "⁰", "1", "¹", "2", "²", "3", "³", "4", "⁴", "5", "⁵", "6", "⁶", "7", "⁷", "8", "⁸", "9", "⁹").Replace(digits)
}

// reading writes a value with its unit to three figures.
func reading(v float64, unit string) string {
	s := number(v, 3)
	if unit = unitText(unit); unit == "" {
		return s
	}
	return s + " " + unit
}

// sentence ends a title with a full stop unless it has an end of its own.
func sentence(title string) string {
	if strings.HasSuffix(title, "?") || strings.HasSuffix(title, "!") || strings.HasSuffix(title, ".") {
		return title
	}
	return title + "."
}

func orWord(s, otherwise string) string {
	if s == "" {
		return otherwise
	}
	return s
}
