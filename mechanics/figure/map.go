package figure

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/plot"
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
	for i, a := range []Axis{m.X, m.Y, m.Z} {
		name := "XYZ"[i : i+1]
		if _, err := scaleOf(a.Unit); err != nil {
			return fmt.Errorf("axis %s: unit: %w", name, err)
		}
		if a.Log || a.From != 0 || a.To != 0 {
			return fmt.Errorf("axis %s: a map's axes are plain and as long as its data: leave Log, From and To out", name)
		}
	}
	if err := errors.Join(grid("XS", m.XS, m.X), grid("YS", m.YS, m.Y)); err != nil {
		return err
	}
	low, high := m.span(1)
	if !(low <= high) {
		return errors.New("no value of the map is a finite number")
	}
	return errors.Join(m.Z.takes(low), m.Z.takes(high))
}

// grid reports places along a map's side that do not ascend in even steps.
func grid(name string, at []float64, a Axis) error {
	step := (at[len(at)-1] - at[0]) / float64(len(at)-1)
	if !(step > 0) || errors.Join(a.takes(at[0]), a.takes(at[len(at)-1])) != nil {
		return fmt.Errorf("%s runs from %g to %g: give finite values that ascend", name, at[0], at[len(at)-1])
	}
	for i, v := range at {
		if want := at[0] + float64(i)*step; !(math.Abs(v-want) <= 0.01*step) {
			return fmt.Errorf("%s has %g where even steps give %g: space the values evenly", name, v, want)
		}
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
	var legend []entry
	if m.blanks() > 0 {
		legend = []entry{{label: orWord(m.Blank, "no value"), blank: true}}
	}
	area := heading(c, m.Title, legend)
	zs, _ := scaleOf(m.Z.Unit)
	low, high := m.span(zs)
	if high-low <= 1e-9*math.Max(math.Abs(low), math.Abs(high)) || high-low < tiniest {
		half := math.Max(math.Abs(low)/2, 0.5)
		low, high = low-half, high+half
	}
	shades := moreland.ExtendedBlackBody()
	shades.SetMin(low)
	shades.SetMax(high)

	chart := newChart(m.X, m.Y)
	cells := plotter.NewHeatMap(m.inUnits(zs), shades.Palette(255))
	cells.Min, cells.Max = low, high
	cells.Rasterized = true
	chart.Add(hatching{}, cells) // seen where a cell has no value
	chart.X.Padding, chart.Y.Padding = 0, 0
	room := draw.Crop(area, 10, -m.scaleRoom(low, high), 8, -10)
	drawChart(chart, room)
	data := chart.DataCanvas(room)
	m.scale(draw.Canvas{Canvas: c.Canvas, Rectangle: vg.Rectangle{
		Min: vg.Point{X: data.Max.X + scaleGap, Y: data.Min.Y}, Max: vg.Point{X: c.Max.X, Y: data.Max.Y},
	}}, shades, low, high)
}

// hatching fills a chart with slanted lines.
type hatching struct{}

// Plot implements plot.Plotter.
func (hatching) Plot(c draw.Canvas, _ *plot.Plot) { hatched(c, c.Rectangle) }

// Of the scale of shades beside a map, in CSS pixels.
const (
	scaleGap  = 24 // from the map to the shades
	scaleWide = 14 // the shades themselves
	scaleText = 8  // from the shades to their numbers, and from those to the name
)

// scaleRoom is how much the scale takes at the right of a map.
func (m Map) scaleRoom(low, high float64) vg.Length {
	words, widest := lettering(sizeTick, ink), vg.Length(0)
	for _, t := range (ticks{}).Ticks(low, high) {
		widest = max(widest, words.Width(t.Label))
	}
	return scaleGap + scaleWide + scaleText + widest + scaleText + 1.3*sizeText + 8
}

// scale draws the shades beside their values, as high as the map.
func (m Map) scale(c draw.Canvas, shades palette.ColorMap, low, high float64) {
	const steps = 128
	left, bottom, top := c.Min.X, c.Min.Y, c.Max.Y
	step := (top - bottom) / steps
	for i := range steps {
		clr, err := shades.At(low + (float64(i)+0.5)/steps*(high-low))
		if err != nil {
			continue
		}
		y := bottom + vg.Length(i)*step
		fill(c, vg.Rectangle{Min: vg.Point{X: left, Y: y}, Max: vg.Point{X: left + scaleWide, Y: y + step + 0.3}}, clr)
	}
	edge := draw.LineStyle{Color: faint, Width: 0.8}
	c.StrokeLines(edge, []vg.Point{{X: left, Y: bottom}, {X: left + scaleWide, Y: bottom}, {X: left + scaleWide, Y: top}, {X: left, Y: top}, {X: left, Y: bottom}})
	words := lettering(sizeTick, ink)
	for _, t := range (ticks{room: top - bottom}).Ticks(low, high) {
		y := bottom + vg.Length((t.Value-low)/(high-low))*(top-bottom)
		c.StrokeLine2(edge, left+scaleWide, y, left+scaleWide+5, y)
		c.FillText(words, vg.Point{X: left + scaleWide + scaleText, Y: y - sizeTick*0.35}, t.Label)
	}
	words = lettering(sizeText, ink)
	words.Rotation = math.Pi / 2
	words.XAlign = -0.5
	c.FillText(words, vg.Point{X: c.Max.X - 10, Y: (top + bottom) / 2}, folded(words, m.Z.heading(), top-bottom))
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

func (m Map) inUnits(zs float64) plotter.GridXYZ {
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

// blanks counts the cells without a value.
func (m Map) blanks() int {
	n := 0
	for _, row := range m.Values {
		for _, v := range row {
			if !isFinite(v) {
				n++
			}
		}
	}
	return n
}

func (m Map) describe() string {
	x, y, z := m.X.reader(m.XS), m.Y.reader(m.YS), m.Z.reader(flat(m.Values))
	lowest, highest := 0, 0 // indices into the map, row by row
	value := func(k int) float64 { return m.Values[k/len(m.XS)][k%len(m.XS)] }
	for k := range len(m.XS) * len(m.YS) {
		if v := value(k); isFinite(v) {
			if !isFinite(value(lowest)) || v < value(lowest) {
				lowest = k
			}
			if !isFinite(value(highest)) || v > value(highest) {
				highest = k
			}
		}
	}
	where := func(k int) string {
		return fmt.Sprintf("%s at %s and %s", z(value(k)), x(m.XS[k%len(m.XS)]), y(m.YS[k/len(m.XS)]))
	}
	var b strings.Builder
	fmt.Fprintf(&b, "Map of %s", orWord(m.Z.Label, "a quantity"))
	if m.Title != "" {
		b.WriteString(": " + sentence(m.Title))
	} else {
		b.WriteString(".")
	}
	fmt.Fprintf(&b, " To the right: %s, from %s to %s. Upwards: %s, from %s to %s. Least: %s. Greatest: %s.",
		orWord(m.X.Label, "the first quantity"), x(m.XS[0]), x(m.XS[len(m.XS)-1]),
		orWord(m.Y.Label, "the second quantity"), y(m.YS[0]), y(m.YS[len(m.YS)-1]), where(lowest), where(highest))
	if n := m.blanks(); n > 0 {
		fmt.Fprintf(&b, " %.0f %% of the map is hatched: %s.", 100*float64(n)/float64(len(m.XS)*len(m.YS)), orWord(m.Blank, "no value"))
	}
	return b.String()
}

func flat(rows [][]float64) []float64 {
	var all []float64
	for _, row := range rows {
		all = append(all, row...)
	}
	return all
}
