package figure

import (
	"math"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// markers tell series of points apart, also where two points coincide: the open
// square stands around the dot. Their strokes are as strong as a line
// needs to be seen in print: gonum's own outlines are half a pixel thin.
var markers = []draw.GlyphDrawer{
	draw.CircleGlyph{}, stroked{square}, draw.PyramidGlyph{},
	stroked{cross}, stroked{ring}, stroked{plus},
}

// markerStroke is the width of a marker's strokes in CSS pixels.
const markerStroke = 1.5

// A stroked marker is drawn as lines: paths about the origin for a radius.
type stroked struct{ paths func(r vg.Length) []vg.Path }

// DrawGlyph draws the marker at a point of the canvas.
func (s stroked) DrawGlyph(c *draw.Canvas, style draw.GlyphStyle, at vg.Point) {
	c.SetLineStyle(draw.LineStyle{Color: style.Color, Width: markerStroke})
	for _, p := range s.paths(style.Radius) {
		for i := range p {
			p[i].Pos = p[i].Pos.Add(at)
		}
		c.Stroke(p)
	}
}

func stroke(from, to vg.Point) vg.Path {
	var p vg.Path
	p.Move(from)
	p.Line(to)
	return p
}

func cross(r vg.Length) []vg.Path {
	return []vg.Path{
		stroke(vg.Point{X: -r, Y: -r}, vg.Point{X: r, Y: r}),
		stroke(vg.Point{X: -r, Y: r}, vg.Point{X: r, Y: -r}),
	}
}

func plus(r vg.Length) []vg.Path {
	return []vg.Path{
		stroke(vg.Point{X: -1.3 * r}, vg.Point{X: 1.3 * r}),
		stroke(vg.Point{Y: -1.3 * r}, vg.Point{Y: 1.3 * r}),
	}
}

func square(r vg.Length) []vg.Path {
	r *= 1.15
	var p vg.Path
	p.Move(vg.Point{X: -r, Y: -r})
	p.Line(vg.Point{X: r, Y: -r})
	p.Line(vg.Point{X: r, Y: r})
	p.Line(vg.Point{X: -r, Y: r})
	p.Close()
	return []vg.Path{p}
}

func ring(r vg.Length) []vg.Path {
	var p vg.Path
	p.Move(vg.Point{X: r})
	p.Arc(vg.Point{}, r, 0, 2*math.Pi)
	p.Close()
	return []vg.Path{p}
}
