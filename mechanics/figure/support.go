package figure

import (
	"math"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"counterpoise/mechanics/body"
)

// paintSupport draws what holds the toy up, behind it.
func (s sketch) paintSupport(c draw.Canvas) {
	p := s.at(s.Support.At)
	line := draw.LineStyle{Color: ink, Width: 1.4}
	switch s.Support.Kind {
	case "point":
		post(c, p, 5)
	case "edge":
		post(c, p, 16)
	case "foot":
		s.table(c, p.Y)
	case "base":
		s.table(c, p.Y)
		half := vg.Length(s.Support.Extent * s.scale)
		if half > 0 {
			for _, x := range []vg.Length{p.X - half, p.X + half} {
				c.FillPolygon(ink, []vg.Point{{X: x, Y: p.Y}, {X: x - 4, Y: p.Y - 7}, {X: x + 4, Y: p.Y - 7}})
			}
		}
	case "string":
		top := s.at(body.V(s.Support.At.X, s.Support.At.Y+math.Min(s.Support.Extent, 1), 0))
		if top.Y > c.Max.Y-roomTitle-12 || top.Y == p.Y {
			top.Y = c.Max.Y - roomTitle - 12
		}
		c.StrokeLine2(line, p.X, p.Y, top.X, top.Y)
		hatch(c, top.X-40, top.X+40, top.Y, 1)
	}
}

// post draws a stand that ends in a point, or with width in a short edge, at p.
func post(c draw.Canvas, p vg.Point, width vg.Length) {
	foot := c.Min.Y + roomBelow
	neck := p.Y - 14
	if neck < foot+4 {
		neck = foot + 4
	}
	half := width / 2
	tip := half
	if width < 10 {
		tip = 0.4
	}
	c.FillPolygon(ruled, []vg.Point{{X: p.X - tip, Y: p.Y}, {X: p.X + tip, Y: p.Y}, {X: p.X + half, Y: neck}, {X: p.X + half, Y: foot}, {X: p.X - half, Y: foot}, {X: p.X - half, Y: neck}})
	edge := draw.LineStyle{Color: faint, Width: 1}
	c.StrokeLines(edge, []vg.Point{{X: p.X - half, Y: foot}, {X: p.X - half, Y: neck}, {X: p.X - tip, Y: p.Y}, {X: p.X + tip, Y: p.Y}, {X: p.X + half, Y: neck}, {X: p.X + half, Y: foot}})
	hatch(c, p.X-46, p.X+46, foot, -1)
}

// table draws the ground from side to side.
func (s sketch) table(c draw.Canvas, y vg.Length) {
	hatch(c, c.Min.X+rim, c.Max.X-rim, y, -1)
}

// hatch draws a fixed surface: a line with strokes on the side where the
// ground is, below it (-1) or above it (+1).
func hatch(c draw.Canvas, x0, x1, y vg.Length, side vg.Length) {
	line := draw.LineStyle{Color: faint, Width: 1.3}
	c.StrokeLine2(line, x0, y, x1, y)
	line.Width = 0.8
	for x := x0 + 6; x <= x1; x += 9 {
		c.StrokeLine2(line, x, y, x-6, y+6*side)
	}
}
