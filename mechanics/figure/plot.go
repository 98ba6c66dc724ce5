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
	Height      float64 // CSS pixels, 360 if zero; more where a long legend would leave no room
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
		if err := a.check(); err != nil {
			return fmt.Errorf("axis %s: %w", a.name, err)
		}
	}
	if err := checkSize(p.Width, p.Height); err != nil {
		return err
	}
	if p.SameScale && (p.X.Log || p.Y.Log) {
		return errors.New("a logarithmic axis cannot have the same scale as the other: leave one of the two out")
	}
	if err := p.checkNotes(); err != nil {
		return err
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
			if err := errors.Join(p.X.takes(s.X[k]), p.Y.takes(s.Y[k])); err != nil {
				return fmt.Errorf("series %s, point %d is (%g, %g): %w", name, k+1, s.X[k], s.Y[k], err)
			}
			if s.Uncertainty == nil || !isFinite(s.Uncertainty[k]) {
				continue
			}
			if err := errors.Join(p.Y.takes(s.Y[k]-s.Uncertainty[k]), p.Y.takes(s.Y[k]+s.Uncertainty[k])); err != nil || s.Uncertainty[k] < 0 {
				return fmt.Errorf("series %s, point %d is %g with uncertainty %g: give one from 0 up that the axis can show", name, k+1, s.Y[k], s.Uncertainty[k])
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
	if room := pic.height - headed(pic.width, p.Title, p.legend()); room < leastRoom {
		pic.height += leastRoom - room
	}
	pic.paint = p.paint
	return pic
}

func (p Plot) paint(c draw.Canvas) {
	fill(c, c.Rectangle, paper)
	xs, _ := scaleOf(p.X.Unit)
	ys, _ := scaleOf(p.Y.Unit)
	chart := newChart(p.X, p.Y)
	grid := plotter.NewGrid()
	grid.Horizontal.Color, grid.Vertical.Color = ruled, ruled
	grid.Horizontal.Width, grid.Vertical.Width = 0.7, 0.7
	chart.Add(grid, guideLines{p, xs, ys})
	dotted := false
	for i, s := range p.Series {
		look := lookOf(i, s.Points)
		if dotted = dotted || s.Points; !s.Points {
			addSeries(chart, s, xs, ys, look)
		}
	}
	for i := len(p.Series) - 1; i >= 0; i-- { // points over lines, which would hide them, and the smallest on top
		if p.Series[i].Points {
			addSeries(chart, p.Series[i], xs, ys, lookOf(i, true))
		}
	}
	chart.Add(notes{p, xs, ys})
	limits(&chart.X, p.X, xs, dotted)
	limits(&chart.Y, p.Y, ys, true)
	area := draw.Crop(heading(c, p.Title, p.legend()), 10, -18, 8, -4)
	if p.SameScale {
		equalise(chart, area)
	}
	drawChart(chart, area)
}

// legend lists the series that have a name.
func (p Plot) legend() []entry {
	var legend []entry
	for i, s := range p.Series {
		if s.Label != "" {
			legend = append(legend, entry{label: s.Label, look: lookOf(i, s.Points)})
		}
	}
	return legend
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
	unit := unitText(a.Unit)
	if unit == "" {
		return a.Label
	}
	if strings.ContainsAny(unit, " /·") {
		unit = "(" + unit + ")"
	}
	const space = "\u00a0" // that keeps the unit in the line of the last word
	return strings.TrimSpace(a.Label + space + "/" + space + strings.ReplaceAll(unit, " ", space))
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

// limits sets from where to where an axis runs, in its unit, with room around
// what would else lie on the frame.
func limits(axis *plot.Axis, a Axis, scale float64, room bool) {
	if a.From != 0 || a.To != 0 {
		axis.Min, axis.Max = a.From/scale, a.To/scale
	}
	size := math.Max(math.Abs(axis.Min), math.Abs(axis.Max))
	switch span := axis.Max - axis.Min; {
	case span <= 1e-9*size || span < tiniest: // one value, but for rounding
		if a.Log {
			axis.Min, axis.Max = axis.Min/2, axis.Max*2
			return
		}
		half := math.Max(size*0.05, 1e-9)
		axis.Min, axis.Max = axis.Min-half, axis.Max+half
	case a.From == 0 && a.To == 0 && room && a.Log:
		by := math.Pow(axis.Max/axis.Min, 0.03)
		axis.Min, axis.Max = axis.Min/by, axis.Max*by
	case a.From == 0 && a.To == 0 && room:
		axis.Min, axis.Max = axis.Min-span*0.04, axis.Max+span*0.04
	}
}

// equalise widens the axis that has room to spare until both have one scale.
func equalise(chart *plot.Plot, area draw.Canvas) {
	fit(chart, area)
	data := chart.DataCanvas(area)
	w, h := float64(data.Max.X-data.Min.X), float64(data.Max.Y-data.Min.Y)
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
