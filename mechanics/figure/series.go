package figure

import (
	"image/color"
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
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
		} else {
			chart.Add(curve{run.at, l.line()})
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

// A curve draws a line through points.
type curve struct {
	plotter.XYs
	style draw.LineStyle
}

// Plot implements plot.Plotter.
func (l curve) Plot(c draw.Canvas, p *plot.Plot) {
	tx, ty := p.Transforms(&c)
	at := make([]vg.Point, len(l.XYs))
	for i, v := range l.XYs {
		at[i] = vg.Point{X: tx(v.X), Y: ty(v.Y)}
	}
	if l.style.Dashes != nil {
		at = onceRound(at)
	}
	c.StrokeLines(l.style, c.ClipLinesXY(at)...)
}

// DataRange implements plot.DataRanger.
func (l curve) DataRange() (xmin, xmax, ymin, ymax float64) { return plotter.XYRange(l.XYs) }

// onceRound ends a line that goes round again and again in its own track, within
// a pixel, after the first round: the dashes of the second would fill the gaps
// of the first.
func onceRound(at []vg.Point) []vg.Point {
	const track, away, most = 1.0, 8.0, 20_000
	if len(at) > most {
		return at
	}
	far := func(p, q vg.Point) float64 { return math.Hypot(float64(p.X-q.X), float64(p.Y-q.Y)) }
	left := false
	for i := 1; i < len(at); i++ {
		if left = left || far(at[i], at[0]) > away; !left || beside(at[0], at[i-1], at[i]) > track {
			continue
		}
		k := 1 // walks along the first round beside the rest of the line
		for _, p := range at[i:] {
			for steps := 0; beside(p, at[k-1], at[k]) > track; steps++ {
				if k = k%i + 1; steps == i {
					return at
				}
			}
		}
		return at[:i+1]
	}
	return at
}

// beside is how far a point is from a straight line between two others.
func beside(p, from, to vg.Point) float64 {
	d := to.Sub(from)
	f := vg.Length(0)
	if square := d.Dot(d); square > 0 {
		f = clamp(p.Sub(from).Dot(d)/square, 0, 1)
	}
	q := from.Add(d.Scale(f))
	return math.Hypot(float64(p.X-q.X), float64(p.Y-q.Y))
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
