package figure

import (
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/recorder"
)

// An entry is one series in the legend, or with blank what an empty cell of a
// map means.
type entry struct {
	label string
	look
	blank bool
}

const (
	headingRim   = 14    // left and right of the title and the legend
	sampleLength = 30    // of a line in the legend
	leastRoom    = 180.0 // CSS pixels in height that a chart with its axes needs
)

// headed is how high the title and the legend are on a picture of that width.
func headed(width float64, title string, legend []entry) float64 {
	const high = 1e5
	c := draw.NewCanvas(new(recorder.Canvas), vg.Length(width), high)
	return high - float64(heading(c, title, legend).Max.Y)
}

// heading writes the title and the legend along the top of the canvas, where
// they cannot cover data, and returns what is left below them.
func heading(c draw.Canvas, title string, legend []entry) draw.Canvas {
	top := c.Max.Y - 8
	bold := lettering(sizeTitle, ink)
	bold.Font = face(sizeTitle, true)
	left, right := c.Min.X+headingRim, c.Max.X-headingRim
	if title != "" {
		for _, line := range fold(bold, title, right-left) {
			top -= sizeTitle * 1.2
			c.FillText(bold, vg.Point{X: left, Y: top}, shorten(bold, line, right-left))
		}
		top -= 6
	}
	if len(legend) > 0 {
		style := lettering(sizeText, ink)
		const gap = 18
		x := left
		top -= sizeText * 1.3
		for _, e := range legend {
			need := sampleLength + 6 + style.Width(e.label)
			if x > left && x+need > right {
				x, top = left, top-sizeText*1.5
			}
			e.sample(c, x, top+sizeText*0.35)
			for i, line := range fold(style, e.label, right-left-sampleLength-6) {
				if i > 0 {
					top -= sizeText * 1.3
				}
				c.FillText(style, vg.Point{X: x + sampleLength + 6, Y: top}, shorten(style, line, right-left-sampleLength-6))
			}
			x += need + gap
		}
		top -= 8
	}
	return draw.Canvas{Canvas: c.Canvas, Rectangle: vg.Rectangle{Min: c.Min, Max: vg.Point{X: c.Max.X, Y: top}}}
}

// sample draws how a series looks, from x on at the height mid.
func (e entry) sample(c draw.Canvas, x, mid vg.Length) {
	switch {
	case e.blank:
		r := vg.Rectangle{Min: vg.Point{X: x + 6, Y: mid - 6}, Max: vg.Point{X: x + sampleLength - 2, Y: mid + 6}}
		hatched(c, r)
		edge := []vg.Point{r.Min, {X: r.Max.X, Y: r.Min.Y}, r.Max, {X: r.Min.X, Y: r.Max.Y}, r.Min}
		c.StrokeLines(draw.LineStyle{Color: faint, Width: 1}, edge)
	case e.shape == nil:
		c.StrokeLine2(e.line(), x, mid, x+sampleLength, mid)
	default:
		c.DrawGlyph(e.glyph(), vg.Point{X: x + sampleLength/2, Y: mid})
	}
}

// hatched fills a rectangle with slanted lines: nothing that is drawn in shades
// looks like it, on light paper, on dark and in print.
func hatched(c draw.Canvas, r vg.Rectangle) {
	fill(c, r, paper)
	const apart = 7
	style := draw.LineStyle{Color: faint, Width: 0.8}
	high := r.Max.Y - r.Min.Y
	for x := r.Min.X - high; x < r.Max.X; x += apart {
		from, to := max(x, r.Min.X), min(x+high, r.Max.X)
		if from < to {
			c.StrokeLine2(style, from, r.Min.Y+from-x, to, r.Min.Y+to-x)
		}
	}
}
