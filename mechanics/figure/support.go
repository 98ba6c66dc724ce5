package figure

import (
	"math"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"counterpoise/mechanics/balance"
	"counterpoise/mechanics/body"
)

// paintSupport draws what holds the toy up, behind it.
func (s sketch) paintSupport(c draw.Canvas, free *layout) {
	if s.Free {
		return
	}
	at := s.Stand.Pivot()
	p := s.at(at)
	line := draw.LineStyle{Color: ink, Width: 1.4}
	switch s.Stand.Kind {
	case balance.Pin:
		post(c, p, 5)
		free.line(5, p, vg.Point{X: p.X, Y: c.Min.Y + roomBelow})
	case balance.Edge:
		post(c, p, 16)
		free.line(16, p, vg.Point{X: p.X, Y: c.Min.Y + roomBelow})
	case balance.Foot:
		s.ground(c, p, free)
	case balance.Base:
		q := s.at(s.Stand.To)
		for _, foot := range []vg.Point{p, q} {
			c.FillPolygon(ink, []vg.Point{foot, {X: foot.X - 5, Y: foot.Y - 8}, {X: foot.X + 5, Y: foot.Y - 8}})
		}
		s.table(c, min(p.Y, q.Y)-8, free)
	case balance.String:
		top := s.at(body.V(at.X, at.Y+s.Stand.Length, 0))
		if room := c.Max.Y - roomTitle - 12; top.Y > room {
			top.Y = room
		}
		c.StrokeLine2(line, p.X, p.Y, top.X, top.Y)
		hatch(c, top.X-40, top.X+40, top.Y, 1)
		free.line(2, p, top)
		free.take(vg.Rectangle{Min: vg.Point{X: top.X - 46, Y: top.Y}, Max: vg.Point{X: top.X + 40, Y: top.Y + 6}})
	case balance.Board:
		s.ground(c, p, free)
	}
}

// ground draws what a foot or a board rolls on, touching it at p: the flat
// floor, or the top of a dome, or a hollow.
func (s sketch) ground(c draw.Canvas, p vg.Point, free *layout) {
	if s.Stand.Dome == 0 {
		s.table(c, p.Y, free)
		return
	}
	radius := s.Stand.Dome * s.scale
	var pts []vg.Point
	for k := -60; k <= 60; k++ {
		angle := float64(k) / 60 * math.Pi / 2
		x := p.X + vg.Length(radius*math.Sin(angle))
		y := p.Y - vg.Length(radius*(1-math.Cos(angle)))
		if x > c.Min.X+8 && x < c.Max.X-8 && y > c.Min.Y+roomBelow-6 && y < c.Max.Y-roomTitle {
			pts = append(pts, vg.Point{X: x, Y: y})
		}
	}
	c.StrokeLines(draw.LineStyle{Color: faint, Width: 1.6}, pts)
	free.line(1.6, pts...)
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
func (s sketch) table(c draw.Canvas, y vg.Length, free *layout) {
	hatch(c, c.Min.X+rim, c.Max.X-rim, y, -1)
	free.line(12, vg.Point{X: c.Min.X + rim, Y: y - 3}, vg.Point{X: c.Max.X - rim, Y: y - 3})
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
