package figure

import (
	"image/color"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// A look tells one series from the others by colour, dash and marker at once.
type look struct {
	color  color.RGBA
	dashes []vg.Length
	shape  draw.GlyphDrawer // nil for a line
}

func lookOf(i int, points bool) look {
	l := look{color: lines[i%len(lines)], dashes: dashes[i%len(dashes)]}
	if points {
		l.shape = markers[i%len(markers)]
	}
	return l
}

func (l look) line() draw.LineStyle {
	return draw.LineStyle{Color: l.color, Width: 2, Dashes: l.dashes}
}

func (l look) glyph() draw.GlyphStyle {
	return draw.GlyphStyle{Color: l.color, Radius: 3.2, Shape: l.shape}
}

func addSeries(chart *plot.Plot, s Series, xs, ys float64, l look) {
	for _, run := range runs(s, xs, ys) {
		if l.shape != nil || len(run.at) == 1 {
			if l.shape == nil {
				l.shape = draw.CircleGlyph{}
			}
			points, err := plotter.NewScatter(run.at)
			if err == nil {
				points.GlyphStyle = l.glyph()
				chart.Add(points)
			}
		} else if line, err := plotter.NewLine(run.at); err == nil {
			line.LineStyle = l.line()
			chart.Add(line)
		}
		if s.Uncertainty != nil {
			bars, err := plotter.NewYErrorBars(run)
			if err == nil {
				bars.LineStyle = draw.LineStyle{Color: l.color, Width: 1.1}
				bars.CapWidth = 6
				chart.Add(bars)
			}
		}
	}
}

// A run is a stretch of a series without gaps, in the units of the axes.
type run struct {
	at     plotter.XYs
	around []float64
}

func (r run) Len() int                        { return len(r.at) }
func (r run) XY(i int) (float64, float64)     { return r.at[i].X, r.at[i].Y }
func (r run) YError(i int) (float64, float64) { return r.around[i], r.around[i] }

func runs(s Series, xs, ys float64) []run {
	var out []run
	var now run
	flush := func() {
		if len(now.at) > 0 {
			out = append(out, now)
		}
		now = run{}
	}
	for i := range s.X {
		if !isFinite(s.X[i]) || !isFinite(s.Y[i]) {
			flush()
			continue
		}
		now.at = append(now.at, plotter.XY{X: s.X[i] / xs, Y: s.Y[i] / ys})
		u := 0.0
		if s.Uncertainty != nil && isFinite(s.Uncertainty[i]) {
			u = s.Uncertainty[i] / ys
		}
		now.around = append(now.around, u)
	}
	flush()
	return out
}

// An entry is one series in the legend.
type entry struct {
	label string
	look
}

// heading writes the title and the legend along the top of the canvas, where
// they cannot cover data, and returns what is left below them.
func heading(c draw.Canvas, title string, legend []entry) draw.Canvas {
	top := c.Max.Y - 8
	titleStyle := lettering(sizeTitle, ink)
	titleStyle.Font = face(sizeTitle, true)
	if title != "" {
		for _, line := range wrap(title, 62) {
			top -= sizeTitle * 1.2
			c.FillText(titleStyle, vg.Point{X: c.Min.X + 14, Y: top}, line)
		}
		top -= 6
	}
	if len(legend) > 0 {
		style := lettering(sizeText, ink)
		const sample, gap = 30, 18
		x := c.Min.X + 14
		top -= sizeText * 1.3
		for _, e := range legend {
			need := sample + 6 + style.Width(e.label)
			if x > c.Min.X+14 && x+need > c.Max.X-8 {
				x, top = c.Min.X+14, top-sizeText*1.5
			}
			mid := top + sizeText*0.35
			if e.shape == nil {
				c.StrokeLine2(e.line(), x, mid, x+sample, mid)
			} else {
				c.DrawGlyph(e.glyph(), vg.Point{X: x + sample/2, Y: mid})
			}
			c.FillText(style, vg.Point{X: x + sample + 6, Y: top}, e.label)
			x += need + gap
		}
		top -= 6
	}
	return draw.Canvas{Canvas: c.Canvas, Rectangle: vg.Rectangle{Min: c.Min, Max: vg.Point{X: c.Max.X, Y: top}}}
}

// guide draws a Guide and its label inside the plot.
type guide struct {
	Guide
	xs, ys float64
}

func (g guide) Plot(c draw.Canvas, p *plot.Plot) {
	tx, ty := p.Transforms(&c)
	style := draw.LineStyle{Color: faint, Width: 1.3, Dashes: []vg.Length{5, 4}}
	words := lettering(sizeTick, faint)
	if g.Upright {
		x := tx(g.Level / g.xs)
		c.StrokeLine2(style, x, c.Min.Y, x, c.Max.Y)
		w := words.Width(g.Label)
		at := vg.Point{X: x + 5, Y: c.Max.Y - sizeTick}
		if at.X+w > c.Max.X {
			at.X = x - 5 - w
		}
		backed(c, words, at, g.Label)
		return
	}
	y := ty(g.Level / g.ys)
	c.StrokeLine2(style, c.Min.X, y, c.Max.X, y)
	at := vg.Point{X: c.Max.X - words.Width(g.Label) - 4, Y: y + 4}
	if at.Y+sizeTick > c.Max.Y {
		at.Y = y - sizeTick
	}
	backed(c, words, at, g.Label)
}

// DataRange keeps the guide inside the plot.
func (g guide) DataRange() (xmin, xmax, ymin, ymax float64) {
	if g.Upright {
		return g.Level / g.xs, g.Level / g.xs, inf, -inf
	}
	return inf, -inf, g.Level / g.ys, g.Level / g.ys
}

// spot draws a Mark: a ring, and its label beside it.
type spot struct {
	Mark
	xs, ys float64
}

func (s spot) Plot(c draw.Canvas, p *plot.Plot) {
	tx, ty := p.Transforms(&c)
	at := vg.Point{X: tx(s.X / s.xs), Y: ty(s.Y / s.ys)}
	c.DrawGlyph(draw.GlyphStyle{Color: ink, Radius: 4.5, Shape: draw.RingGlyph{}}, at)
	words := lettering(sizeTick, ink)
	to := vg.Point{X: at.X + 9, Y: at.Y + 5}
	if w := words.Width(s.Label); to.X+w > c.Max.X {
		to.X = at.X - 8 - w
	}
	if to.Y+sizeTick > c.Max.Y {
		to.Y = at.Y - sizeTick - 3
	}
	backed(c, words, to, s.Label)
}

// DataRange keeps the mark inside the plot.
func (s spot) DataRange() (xmin, xmax, ymin, ymax float64) {
	return s.X / s.xs, s.X / s.xs, s.Y / s.ys, s.Y / s.ys
}

// backed writes text on a patch of paper, so that lines beneath it do not
// cross the letters.
func backed(c draw.Canvas, style text.Style, at vg.Point, s string) {
	if s == "" {
		return
	}
	fill(c, vg.Rectangle{Min: vg.Point{X: at.X - 2, Y: at.Y - 2}, Max: vg.Point{X: at.X + style.Width(s) + 2, Y: at.Y + style.Font.Size}}, paper)
	c.FillText(style, at, s)
}
