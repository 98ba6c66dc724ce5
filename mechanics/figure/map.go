package figure

import (
	"errors"
	"fmt"
	"image/color"
	"math"

	"gonum.org/v1/plot/palette"
	"gonum.org/v1/plot/palette/moreland"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// A Map shows a quantity over a grid of two others as shades, such as the time
// until a double pendulum turns over, against the two angles of its start.
// Shades run from dark to light, so that a map reads in grey as well.
type Map struct {
	Title       string
	X, Y, Z     Axis
	XS, YS      []float64   // SI, ascending and evenly spaced
	Values      [][]float64 // Values[j][i] belongs to XS[i], YS[j]; SI; not a number = no value, left blank
	Blank       string      // what a blank cell means, for the legend and the alternative text
	Description string      // in place of the alternative text written from the data
}

// The most cells along either side of a map: more are not seen.
const maxCells = 2048

// Check reports what keeps the map from being drawn: nil if nothing does.
func (m Map) Check() error {
	if len(m.XS) < 2 || len(m.YS) < 2 || len(m.XS) > maxCells || len(m.YS) > maxCells {
		return fmt.Errorf("the map has %d by %d cells: give 2 to %d each way", len(m.XS), len(m.YS), maxCells)
	}
	if len(m.Values) != len(m.YS) {
		return fmt.Errorf("the map has %d rows of values for %d values of Y: give as many of both", len(m.Values), len(m.YS))
	}
	for j, row := range m.Values {
		if len(row) != len(m.XS) {
			return fmt.Errorf("row %d of the map has %d values for %d values of X: give as many of both", j+1, len(row), len(m.XS))
		}
	}
	for _, a := range []Axis{m.X, m.Y, m.Z} {
		if _, err := scaleOf(a.Unit); err != nil {
			return err
		}
	}
	if low, high := m.span(1); !(low <= high) {
		return errors.New("no value of the map is a finite number")
	}
	return nil
}

// SVG returns the map as a complete <svg> element.
func (m Map) SVG() string { return m.picture().svg() }

// PNG returns the map in pixels.
func (m Map) PNG() []byte { return m.picture().png() }

// Alt says what the map shows.
func (m Map) Alt() string { return m.picture().alt }

// String returns the same as Alt.
func (m Map) String() string { return m.Alt() }

func (m Map) picture() picture {
	if err := m.Check(); err != nil {
		return problem(err)
	}
	alt := m.Description
	if alt == "" {
		alt = m.describe()
	}
	title := m.Title
	if title == "" {
		title = "Map of " + m.Z.Label
	}
	return picture{title: title, alt: alt, width: 560, height: 460, paint: m.paint}
}

func (m Map) paint(c draw.Canvas) {
	fill(c, c.Rectangle, paper)
	area := heading(c, m.Title, nil)
	zs, _ := scaleOf(m.Z.Unit)
	low, high := m.span(zs)
	if low == high {
		high = low + 1
	}
	shades := moreland.ExtendedBlackBody()
	shades.SetMin(low)
	shades.SetMax(high)

	chart := newChart(m.X, m.Y)
	cells := plotter.NewHeatMap(m.grid(zs), shades.Palette(255))
	cells.Min, cells.Max = low, high
	cells.NaN = color.RGBA{R: 0xd8, G: 0xde, B: 0xe4, A: 255}
	cells.Rasterized = true
	chart.Add(cells)
	const bar = 104 // room for the scale of shades at the right
	chart.X.Padding, chart.Y.Padding = 0, 0
	drawChart(chart, draw.Crop(area, 10, -bar-6, 8, -10))
	m.scale(area, bar, shades, low, high)
}

// scale draws the shades beside their values, as high as the map.
func (m Map) scale(c draw.Canvas, room vg.Length, shades palette.ColorMap, low, high float64) {
	const steps, wide, below = 128, 14, 46
	left, bottom, top := c.Max.X-room+20, c.Min.Y+below, c.Max.Y-14
	step := (top - bottom) / steps
	for i := range steps {
		clr, err := shades.At(low + (float64(i)+0.5)/steps*(high-low))
		if err != nil {
			continue
		}
		y := bottom + vg.Length(i)*step
		fill(c, vg.Rectangle{Min: vg.Point{X: left, Y: y}, Max: vg.Point{X: left + wide, Y: y + step + 0.3}}, clr)
	}
	words := lettering(sizeTick, ink)
	for _, t := range (ticks{}).Ticks(low, high) {
		y := bottom + vg.Length((t.Value-low)/(high-low))*(top-bottom)
		c.StrokeLine2(draw.LineStyle{Color: faint, Width: 0.8}, left+wide, y, left+wide+5, y)
		c.FillText(words, vg.Point{X: left + wide + 8, Y: y - sizeTick*0.35}, t.Label)
	}
	words = lettering(sizeText, ink)
	words.Rotation = math.Pi / 2
	words.XAlign = -0.5
	c.FillText(words, vg.Point{X: c.Max.X - 10, Y: (top + bottom) / 2}, m.Z.heading())
}

func (m Map) span(scale float64) (low, high float64) {
	low, high = inf, -inf
	for _, row := range m.Values {
		for _, v := range row {
			if isFinite(v) {
				low, high = math.Min(low, v/scale), math.Max(high, v/scale)
			}
		}
	}
	return low, high
}

func (m Map) grid(zs float64) plotter.GridXYZ {
	xs, _ := scaleOf(m.X.Unit)
	ys, _ := scaleOf(m.Y.Unit)
	return cells{m, xs, ys, zs}
}

// cells is a map in the units of its axes.
type cells struct {
	Map
	xs, ys, zs float64
}

func (c cells) Dims() (int, int) { return len(c.XS), len(c.YS) }
func (c cells) X(i int) float64  { return c.XS[i] / c.xs }
func (c cells) Y(j int) float64  { return c.YS[j] / c.ys }
func (c cells) Z(i, j int) float64 {
	if v := c.Values[j][i]; isFinite(v) {
		return v / c.zs
	}
	return math.NaN()
}

func (m Map) describe() string {
	xs, _ := scaleOf(m.X.Unit)
	ys, _ := scaleOf(m.Y.Unit)
	zs, _ := scaleOf(m.Z.Unit)
	low, high := m.span(zs)
	blank, all := 0, 0
	for _, row := range m.Values {
		for _, v := range row {
			all++
			if !isFinite(v) {
				blank++
			}
		}
	}
	text := fmt.Sprintf("Map of %s over %s from %s to %s and %s from %s to %s. Values run from %s to %s.",
		m.Z.Label,
		m.X.Label, reading(m.XS[0]/xs, m.X.Unit), reading(m.XS[len(m.XS)-1]/xs, m.X.Unit),
		m.Y.Label, reading(m.YS[0]/ys, m.Y.Unit), reading(m.YS[len(m.YS)-1]/ys, m.Y.Unit),
		reading(low, m.Z.Unit), reading(high, m.Z.Unit))
	if blank > 0 {
		text += fmt.Sprintf(" %.0f %% of the map is grey: %s.", 100*float64(blank)/float64(all), orWord(m.Blank, "no value"))
	}
	return text
}
