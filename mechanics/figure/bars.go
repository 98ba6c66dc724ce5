package figure

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// Bars shows how often values fall into classes, such as the periods of a
// hundred toys built by hand. Class i runs from Edges[i] to Edges[i+1].
type Bars struct {
	Title       string
	X, Y        Axis
	Edges       []float64 // SI, ascending; one more than there are Heights
	Heights     []float64 // from 0 up
	Description string    // in place of the alternative text written from the data
}

// Check reports what keeps the bars from being drawn: nil if nothing does.
func (b Bars) Check() error {
	if len(b.Heights) == 0 || len(b.Edges) != len(b.Heights)+1 {
		return fmt.Errorf("%d heights and %d edges: give one edge more than heights", len(b.Heights), len(b.Edges))
	}
	if len(b.Heights) > maxCells {
		return fmt.Errorf("%d bars, more than the %d that a picture can show", len(b.Heights), maxCells)
	}
	for i, h := range b.Heights {
		if !(h >= 0) || math.IsInf(h, 0) {
			return fmt.Errorf("height %d is %g: give finite numbers from 0 up", i+1, h)
		}
		if !(b.Edges[i+1] > b.Edges[i]) || !isFinite(b.Edges[i]) || !isFinite(b.Edges[i+1]) {
			return errors.New("the edges must be finite and ascend")
		}
	}
	for i, a := range []Axis{b.X, b.Y} {
		name := "XY"[i : i+1]
		if _, err := scaleOf(a.Unit); err != nil {
			return fmt.Errorf("axis %s: unit: %w", name, err)
		}
		if a.Log || a.From != 0 || a.To != 0 {
			return fmt.Errorf("axis %s: the axes of bars are plain and as long as the data: leave Log, From and To out", name)
		}
	}
	top := 0.0
	for _, h := range b.Heights {
		top = math.Max(top, h)
	}
	return errors.Join(b.X.takes(b.Edges[0]), b.X.takes(b.Edges[len(b.Edges)-1]), b.Y.takes(top))
}

// SVG returns the bars as a complete <svg> element.
func (b Bars) SVG() string { return b.picture().svg() }

// PNG returns the bars in pixels.
func (b Bars) PNG() []byte { return b.picture().png() }

// Alt says what the bars show.
func (b Bars) Alt() string { return b.picture().alt }

// String returns the same as Alt.
func (b Bars) String() string { return b.Alt() }

func (b Bars) picture() picture {
	if err := b.Check(); err != nil {
		return problem(err)
	}
	alt := b.Description
	if alt == "" {
		alt = b.describe()
	}
	return picture{title: orWord(b.Title, "Distribution of "+b.X.Label), alt: alt, width: 560, height: 320, paint: b.paint}
}

func (b Bars) paint(c draw.Canvas) {
	fill(c, c.Rectangle, paper)
	chart := newChart(b.X, b.Y)
	grid := plotter.NewGrid()
	grid.Horizontal.Color, grid.Horizontal.Width, grid.Vertical.Width = ruled, 0.7, 0
	chart.Add(grid, barPlot(b))
	limits(&chart.X, b.X, 1, false)
	chart.Y.Min = 0
	if chart.Y.Max *= 1.05; chart.Y.Max < tiniest {
		chart.Y.Max = 1
	}
	chart.Y.Padding = 0
	drawChart(chart, draw.Crop(heading(c, b.Title, nil), 10, -18, 8, -4))
}

// barPlot draws the bars into a chart.
type barPlot Bars

func (b barPlot) Plot(c draw.Canvas, p *plot.Plot) {
	tx, ty := p.Transforms(&c)
	xs, _ := scaleOf(b.X.Unit)
	ys, _ := scaleOf(b.Y.Unit)
	edge := draw.LineStyle{Color: paper, Width: 1.2}
	for i, h := range b.Heights {
		if h == 0 {
			continue
		}
		x0, x1 := tx(b.Edges[i]/xs), tx(b.Edges[i+1]/xs)
		y0, y1 := ty(0), ty(h/ys)
		corners := []vg.Point{{X: x0, Y: y0}, {X: x1, Y: y0}, {X: x1, Y: y1}, {X: x0, Y: y1}}
		c.FillPolygon(lines[0], corners)
		c.StrokeLines(edge, append(corners, corners[0]))
	}
}

// DataRange implements plot.DataRanger.
func (b barPlot) DataRange() (xmin, xmax, ymin, ymax float64) {
	xs, _ := scaleOf(b.X.Unit)
	ys, _ := scaleOf(b.Y.Unit)
	for _, h := range b.Heights {
		ymax = math.Max(ymax, h/ys)
	}
	return b.Edges[0] / xs, b.Edges[len(b.Edges)-1] / xs, 0, ymax
}

func (b Bars) describe() string {
	xs, _ := scaleOf(b.X.Unit)
	total, top := 0.0, 0
	for i, h := range b.Heights {
		total += h
		if h > b.Heights[top] {
			top = i
		}
	}
	text := "Bar chart"
	if b.Title != "" {
		text += ": " + b.Title
	}
	return text + fmt.Sprintf(". %s from %s to %s; %s in all. The tallest bar, %s, is between %s and %s.",
		orWord(b.X.Label, "Values"), reading(b.Edges[0]/xs, b.X.Unit), reading(b.Edges[len(b.Edges)-1]/xs, b.X.Unit),
		reading(total, ""), reading(b.Heights[top], ""), reading(b.Edges[top]/xs, b.X.Unit), reading(b.Edges[top+1]/xs, b.X.Unit))
}
