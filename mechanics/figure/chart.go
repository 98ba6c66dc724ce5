package figure

import (
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// drawChart draws a chart with its axes. The names of logarithmic axes it writes
// itself: gonum looks for room for them where the middle of the values lies, far
// towards the upper end, and leaves a margin there that stays empty.
func drawChart(chart *plot.Plot, c draw.Canvas) {
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
