package figure

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg/draw"

	"counterpoise/mechanics/quantity"
)

// A Plot shows one or more series of points against common axes. Its zero
// value with at least one series is ready to show.
type Plot struct {
	Title       string
	X, Y        Axis
	Series      []Series
	Guides      []Guide
	Marks       []Mark
	Description string  // in place of the alternative text written from the data
	SameScale   bool    // one unit of X is as long as one unit of Y
	Width       float64 // CSS pixels, 560 if zero
	Height      float64 // CSS pixels, 360 if zero
}

// An Axis says what is plotted along it and in which unit it is read.
type Axis struct {
	Label    string
	Unit     string  // such as "mm" or "deg"; empty for a pure number
	From, To float64 // SI; chosen from the data if both are zero
	Log      bool    // logarithmic; all values must be positive
	Whole    bool    // counts things: whole numbers only
}

// A Series is a line through points, or the points alone. A value that is not
// a number breaks the line.
type Series struct {
	Label       string
	X, Y        []float64 // SI
	Uncertainty []float64 // of each Y, SI; drawn as a bar either way if given
	Points      bool      // show markers and no line
}

// A Guide is a straight line across the whole plot: at Y = Level, or with
// Upright at X = Level.
type Guide struct {
	Label   string
	Level   float64 // SI
	Upright bool
}

// A Mark is a labelled point.
type Mark struct {
	Label string
	X, Y  float64 // SI
}

// The most points that one plot takes: a picture of more helps nobody and
// makes a notebook slow.
const maxPoints = 200_000

// Check reports what keeps the plot from being drawn: nil if nothing does.
func (p Plot) Check() error {
	if len(p.Series) == 0 {
		return errors.New("the plot has no series: give it at least one")
	}
	for _, a := range []struct {
		name string
		Axis
	}{{"X", p.X}, {"Y", p.Y}} {
		if _, err := scaleOf(a.Unit); err != nil {
			return fmt.Errorf("unit of axis %s: %w", a.name, err)
		}
		if a.From > a.To || math.IsNaN(a.From+a.To) || math.IsInf(a.From+a.To, 0) {
			return fmt.Errorf("axis %s runs from %g to %g: From must be less than To", a.name, a.From, a.To)
		}
	}
	points, finite := 0, 0
	for i, s := range p.Series {
		name := s.Label
		if name == "" {
			name = fmt.Sprint(i + 1)
		}
		if len(s.X) != len(s.Y) {
			return fmt.Errorf("series %s has %d values of X and %d of Y: give as many of both", name, len(s.X), len(s.Y))
		}
		if s.Uncertainty != nil && len(s.Uncertainty) != len(s.Y) {
			return fmt.Errorf("series %s has %d values of Y and %d uncertainties: give as many of both", name, len(s.Y), len(s.Uncertainty))
		}
		points += len(s.X)
		for k := range s.X {
			if !isFinite(s.X[k]) || !isFinite(s.Y[k]) {
				continue
			}
			finite++
			if p.X.Log && s.X[k] <= 0 || p.Y.Log && s.Y[k] <= 0 {
				return fmt.Errorf("series %s, point %d is (%g, %g): a logarithmic axis takes positive values only", name, k+1, s.X[k], s.Y[k])
			}
		}
	}
	if points > maxPoints {
		return fmt.Errorf("the plot has %d points, more than the %d that a picture can show: thin them out", points, maxPoints)
	}
	if finite == 0 {
		return errors.New("no point of the plot is a finite number")
	}
	return nil
}

// SVG returns the plot as a complete <svg> element.
func (p Plot) SVG() string { return p.picture().svg() }

// PNG returns the plot in pixels.
func (p Plot) PNG() []byte { return p.picture().png() }

// Alt says what the plot shows: its axes, and for each series where it runs.
func (p Plot) Alt() string { return p.picture().alt }

// String returns the same as Alt.
func (p Plot) String() string { return p.Alt() }

func (p Plot) picture() picture {
	if err := p.Check(); err != nil {
		return problem(err)
	}
	alt := p.Description
	if alt == "" {
		alt = p.describe()
	}
	pic := picture{title: p.Title, alt: alt, width: orDefault(p.Width, 560), height: orDefault(p.Height, 360)}
	if pic.title == "" {
		pic.title = "Plot of " + p.Y.Label + " against " + p.X.Label
	}
	pic.paint = p.paint
	return pic
}

func (p Plot) paint(c draw.Canvas) {
	fill(c, c.Rectangle, paper)
	xs, _ := scaleOf(p.X.Unit)
	ys, _ := scaleOf(p.Y.Unit)
	chart := newChart(p.X, p.Y)
	var legend []entry
	grid := plotter.NewGrid()
	grid.Horizontal.Color, grid.Vertical.Color = ruled, ruled
	grid.Horizontal.Width, grid.Vertical.Width = 0.7, 0.7
	chart.Add(grid)
	for i, s := range p.Series {
		look := lookOf(i, s.Points)
		addSeries(chart, s, xs, ys, look)
		if s.Label != "" {
			legend = append(legend, entry{s.Label, look})
		}
	}
	for _, g := range p.Guides {
		chart.Add(guide{g, xs, ys})
	}
	for _, m := range p.Marks {
		chart.Add(spot{m, xs, ys})
	}
	limits(chart, p.X, xs, &chart.X.Min, &chart.X.Max)
	limits(chart, p.Y, ys, &chart.Y.Min, &chart.Y.Max)
	area := heading(c, p.Title, legend)
	if p.SameScale {
		equalise(chart, area)
	}
	drawChart(chart, draw.Crop(area, 10, -18, 8, -4))
}

func newChart(x, y Axis) *plot.Plot {
	chart := plot.New()
	chart.BackgroundColor = nil
	for _, a := range []struct {
		axis *plot.Axis
		Axis
	}{{&chart.X, x}, {&chart.Y, y}} {
		a.axis.Label.Text = a.heading()
		a.axis.Label.TextStyle.Color, a.axis.Label.TextStyle.Font = ink, face(sizeText, false)
		a.axis.Tick.Label.Color, a.axis.Tick.Label.Font = ink, face(sizeTick, false)
		a.axis.LineStyle.Color, a.axis.Tick.LineStyle.Color = faint, faint
		a.axis.Label.Padding = 4
		a.axis.Tick.Marker = ticks{degrees: a.Unit == "deg" || a.Unit == "°", whole: a.Whole}
		if a.Log {
			a.axis.Scale = plot.LogScale{}
			a.axis.Tick.Marker = logTicks{}
		}
	}
	chart.X.Padding, chart.Y.Padding = 4, 4
	return chart
}

// heading is the axis's label with its unit as a quotient, after ISO 80000-1,
// 7.1.4: numbers on an axis are values divided by the unit.
func (a Axis) heading() string {
	if a.Unit == "" || a.Unit == "1" {
		return a.Label
	}
	unit := a.Unit
	if u, err := quantity.ParseUnit(a.Unit); err == nil {
		unit = u.String()
	}
	if strings.ContainsAny(unit, " /·") {
		unit = "(" + unit + ")"
	}
	return a.Label + " / " + unit
}

func scaleOf(unit string) (float64, error) {
	if unit == "" {
		return 1, nil
	}
	u, err := quantity.ParseUnit(unit)
	if err != nil {
		return 0, err
	}
	return u.Scale(), nil
}

func limits(chart *plot.Plot, a Axis, scale float64, min, max *float64) {
	if a.From != 0 || a.To != 0 {
		*min, *max = a.From/scale, a.To/scale
	}
	if *min == *max {
		room := math.Max(math.Abs(*min)*0.05, 1e-9)
		*min, *max = *min-room, *max+room
		return
	}
	if a.From == 0 && a.To == 0 && !a.Log && min == &chart.Y.Min {
		room := (*max - *min) * 0.04
		*min, *max = *min-room, *max+room
	}
}

// equalise widens the axis that has room to spare until both have one scale.
func equalise(chart *plot.Plot, area draw.Canvas) {
	const frame = 60 // what labels and ticks take of either side, roughly
	w := float64(area.Max.X-area.Min.X) - frame
	h := float64(area.Max.Y-area.Min.Y) - frame
	dx, dy := chart.X.Max-chart.X.Min, chart.Y.Max-chart.Y.Min
	if dx/w > dy/h {
		mid, half := (chart.Y.Max+chart.Y.Min)/2, dx/w*h/2
		chart.Y.Min, chart.Y.Max = mid-half, mid+half
	} else {
		mid, half := (chart.X.Max+chart.X.Min)/2, dy/h*w/2
		chart.X.Min, chart.X.Max = mid-half, mid+half
	}
}

func isFinite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }

func orDefault(x, otherwise float64) float64 {
	if x > 0 && isFinite(x) {
		return x
	}
	return otherwise
}
