package figure_test

import (
	"regexp"
	"strconv"
	"testing"

	"counterpoise/mechanics/figure"
)

// Every marker is seen in print: filled, or with strokes of a pixel and a half.
// Common practice, no source.
func TestMarkersAreStrongEnough(t *testing.T) {
	var p figure.Plot
	for i := range 6 {
		p.Series = append(p.Series, figure.Series{Label: strconv.Itoa(i), X: []float64{1, 2}, Y: []float64{float64(i), 3}, Points: true})
	}
	stroked := 0
	// Markers have the colours of series; the grid and the axes their own.
	for _, m := range regexp.MustCompile(`style="fill:none;stroke:#(?:0072B2|D55E00|008560|A6548A|8A6000|1B1F24);stroke-width:([0-9.]+)"`).FindAllStringSubmatch(p.SVG(), -1) {
		stroked++
		if width, err := strconv.ParseFloat(m[1], 64); err != nil || width < 1.5 {
			t.Errorf("a marker is drawn %s px thin", m[1])
		}
	}
	if stroked < 3*3 { // cross, ring and plus, two points and the legend each
		t.Errorf("%d stroked markers were found", stroked)
	}
}
