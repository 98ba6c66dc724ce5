package figure

import (
	"math"
	"strings"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// fit makes the numbers and the names of a chart's axes fit the canvas on which
// it will be drawn: numbers do not touch each other, and a name that is longer
// than its axis goes on in another line.
func fit(chart *plot.Plot, c draw.Canvas) {
	x, y := &chart.X.Label, &chart.Y.Label
	xText, yText := x.Text, y.Text
	width, height := c.Max.X-c.Min.X, c.Max.Y-c.Min.Y
	for range 3 { // each round tells how much the axes of the last take of either side
		left, below := folded(y.TextStyle, yText, height-4), folded(x.TextStyle, xText, width-4)
		chart.X.Tick.Marker = fitted(chart.X.Tick.Marker, width, true)
		chart.Y.Tick.Marker = fitted(chart.Y.Tick.Marker, height, false)
		x.Text, y.Text = "", ""
		data := chart.DataCanvas(draw.Crop(c, nameRoom(chart.Y, left), 0, nameRoom(chart.X, below), 0))
		x.Text, y.Text = below, left
		width, height = min(width, data.Max.X-data.Min.X), min(height, data.Max.Y-data.Min.Y)
	}
}

// nameRoom is how much the name of an axis takes beside its numbers.
func nameRoom(axis plot.Axis, name string) vg.Length {
	if name == "" {
		return 0
	}
	return axis.Label.TextStyle.Height(name) + axis.Label.TextStyle.FontExtents().Descent + axis.Label.Padding
}

func fitted(t plot.Ticker, room vg.Length, across bool) plot.Ticker {
	switch t := t.(type) {
	case ticks:
		t.room, t.across = room, across
		return t
	case logTicks:
		t.room, t.across = room, across
		return t
	}
	return t
}

// folded breaks a text into at most three lines that fit into room.
func folded(style text.Style, s string, room vg.Length) string {
	const most = 3
	all := fold(style, s, room)
	if len(all) > most {
		all = append(all[:most-1], strings.Join(all[most-1:], " "))
	}
	for i, line := range all {
		all[i] = shorten(style, line, room)
	}
	return strings.Join(all, "\n")
}

// drawChart draws a chart with its axes. The names of logarithmic axes it writes
// itself: gonum looks for room for them where the middle of the values lies, far
// towards the upper end, and leaves a margin there that stays empty.
func drawChart(chart *plot.Plot, c draw.Canvas) {
	fit(chart, c)
	x, y := chart.X.Label, chart.Y.Label
	if _, log := chart.X.Scale.(plot.LogScale); log && x.Text != "" {
		chart.X.Label.Text = ""
		c = draw.Crop(c, 0, 0, x.TextStyle.Height(x.Text)+x.Padding, 0)
	}
	if _, log := chart.Y.Scale.(plot.LogScale); log && y.Text != "" {
		chart.Y.Label.Text = ""
		c = draw.Crop(c, y.TextStyle.Height(y.Text)+y.TextStyle.FontExtents().Descent+y.Padding, 0, 0, 0)
	}
	chart.Draw(c)
	data := chart.DataCanvas(c)
	if chart.X.Label.Text != x.Text {
		down := x.TextStyle.Height(x.Text) + x.Padding - x.TextStyle.FontExtents().Descent
		c.FillText(x.TextStyle, vg.Point{X: data.Center().X, Y: c.Min.Y - down}, x.Text)
	}
	if chart.Y.Label.Text != y.Text {
		upright := y.TextStyle
		upright.Rotation += math.Pi / 2
		left := 2*y.TextStyle.FontExtents().Descent + y.Padding
		c.FillText(upright, vg.Point{X: c.Min.X - left, Y: data.Center().Y}, y.Text)
	}
}
