package figure

import (
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// A placed plot knows the scales of its axes: SI for one unit of each.
type placed struct {
	of     Plot
	xs, ys float64
}

// guideLines draws the lines of a plot's guides, below the data.
type guideLines placed

// Plot implements plot.Plotter.
func (g guideLines) Plot(c draw.Canvas, p *plot.Plot) {
	tx, ty := p.Transforms(&c)
	style := draw.LineStyle{Color: faint, Width: 1.3, Dashes: []vg.Length{5, 4}}
	for _, g := range g.drawn(tx, ty) {
		if g.inside(c.Rectangle) {
			from, to := g.ends(c.Rectangle)
			c.StrokeLine2(style, from.X, from.Y, to.X, to.Y)
		}
	}
}

// A drawnGuide is a guide in its place on the canvas.
type drawnGuide struct {
	Guide
	at vg.Length // x of an upright guide, y of a level one
}

func (g guideLines) drawn(tx, ty func(float64) vg.Length) []drawnGuide {
	all := make([]drawnGuide, len(g.of.Guides))
	for i, one := range g.of.Guides {
		if one.Upright {
			all[i] = drawnGuide{one, tx(one.Level / g.xs)}
		} else {
			all[i] = drawnGuide{one, ty(one.Level / g.ys)}
		}
	}
	return all
}

func (g drawnGuide) inside(r vg.Rectangle) bool {
	if g.Upright {
		return g.at >= r.Min.X-1 && g.at <= r.Max.X+1
	}
	return g.at >= r.Min.Y-1 && g.at <= r.Max.Y+1
}

func (g drawnGuide) ends(r vg.Rectangle) (from, to vg.Point) {
	if g.Upright {
		return vg.Point{X: g.at, Y: r.Min.Y}, vg.Point{X: g.at, Y: r.Max.Y}
	}
	return vg.Point{X: r.Min.X, Y: g.at}, vg.Point{X: r.Max.X, Y: g.at}
}

// places lists where the label of a guide may stand: beside an upright one from
// the top down, above or below a level one from the right to the left.
func (g drawnGuide) places(r vg.Rectangle, size vg.Point) []vg.Rectangle {
	const off, steps = 5, 24
	var all []vg.Rectangle
	for k := range steps + 1 {
		along := vg.Length(k) / steps
		for _, side := range []vg.Length{1, -1} {
			centre := vg.Point{X: g.at + side*(off+size.X/2), Y: r.Max.Y - size.Y/2 - along*(r.Max.Y-r.Min.Y-size.Y)}
			if !g.Upright {
				centre = vg.Point{X: r.Max.X - size.X/2 - along*(r.Max.X-r.Min.X-size.X), Y: g.at + side*(off+size.Y/2)}
			}
			all = append(all, about(centre, size))
		}
	}
	return all
}

// DataRange keeps the guides inside the plot.
func (g guideLines) DataRange() (xmin, xmax, ymin, ymax float64) {
	xmin, xmax, ymin, ymax = inf, -inf, inf, -inf
	for _, one := range g.of.Guides {
		if v := one.Level / g.xs; one.Upright {
			xmin, xmax = math.Min(xmin, v), math.Max(xmax, v)
		} else {
			v = one.Level / g.ys
			ymin, ymax = math.Min(ymin, v), math.Max(ymax, v)
		}
	}
	return xmin, xmax, ymin, ymax
}

// notes writes what stands inside a plot, over the data: the labels of its
// guides, and its marks with theirs.
type notes placed

// Plot implements plot.Plotter.
func (n notes) Plot(c draw.Canvas, p *plot.Plot) {
	tx, ty := p.Transforms(&c)
	free := n.layout(c, tx, ty)
	across := guideLines(n).drawn(tx, ty)
	for _, g := range across {
		from, to := g.ends(c.Rectangle)
		free.line(1.3, from, to)
	}
	const radius = 4.5
	spots := make([]vg.Point, len(n.of.Marks))
	for i, m := range n.of.Marks {
		spots[i] = vg.Point{X: tx(m.X / n.xs), Y: ty(m.Y / n.ys)}
		free.take(about(spots[i], vg.Point{X: 2 * radius, Y: 2 * radius}))
	}
	words := lettering(sizeTick, faint)
	for _, g := range across {
		if g.Label == "" || !g.inside(c.Rectangle) {
			continue
		}
		text := shorten(words, g.Label, c.Max.X-c.Min.X)
		r := free.place(g.places(c.Rectangle, extent(words, text)), free.cost)
		fill(c, grow(r, 1), paper)
		write(c, words, r, text)
	}
	words = lettering(sizeTick, ink)
	for i, m := range n.of.Marks {
		if !c.Contains(spots[i]) {
			continue
		}
		c.DrawGlyph(draw.GlyphStyle{Color: ink, Radius: radius, Shape: stroked{ring}}, spots[i])
		free.label(c, words, shorten(words, m.Label, c.Max.X-c.Min.X), spots[i], radius+4)
	}
}

// layout notes where the data are.
func (n notes) layout(c draw.Canvas, tx, ty func(float64) vg.Length) *layout {
	free := &layout{frame: c.Rectangle}
	for _, s := range n.of.Series {
		for _, run := range runs(s, n.xs, n.ys) {
			at := make([]vg.Point, len(run.at))
			for i, v := range run.at {
				at[i] = vg.Point{X: tx(v.X), Y: ty(v.Y)}
				if s.Points || len(run.at) == 1 {
					free.line(6.4, at[i], at[i])
				}
				if s.Uncertainty != nil {
					free.line(1.1, vg.Point{X: at[i].X, Y: ty(v.Y - run.around[i])}, vg.Point{X: at[i].X, Y: ty(v.Y + run.around[i])})
				}
			}
			if !s.Points {
				free.line(2, at...)
			}
		}
	}
	return free
}

// DataRange keeps the marks inside the plot.
func (n notes) DataRange() (xmin, xmax, ymin, ymax float64) {
	xmin, xmax, ymin, ymax = inf, -inf, inf, -inf
	for _, m := range n.of.Marks {
		xmin, xmax = math.Min(xmin, m.X/n.xs), math.Max(xmax, m.X/n.xs)
		ymin, ymax = math.Min(ymin, m.Y/n.ys), math.Max(ymax, m.Y/n.ys)
	}
	return xmin, xmax, ymin, ymax
}
