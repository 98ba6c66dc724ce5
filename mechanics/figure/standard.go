package figure

import (
	"fmt"
	"math"
)

// TimeSeries plots quantities against time. Each series of q brings its values
// of Y; t is their common X, s.
func TimeSeries(t []float64, y Axis, q ...Series) Plot {
	for i := range q {
		q[i].X = t
	}
	return Plot{X: Axis{Label: "time", Unit: "s"}, Y: y, Series: q}
}

// PhasePortrait plots a coordinate against its rate of change: closed curves
// are swings that repeat.
func PhasePortrait(q, rate Axis, orbits ...Series) Plot {
	return Plot{Title: "Phase portrait", X: q, Y: rate, Series: orbits}
}

// Section plots the points in which motions cross a Poincaré section: a few
// points for a motion that repeats, a curve for one that is regular, a cloud
// for one that is chaotic.
func Section(x, y Axis, orbits ...Series) Plot {
	for i := range orbits {
		orbits[i].Points = true
	}
	return Plot{Title: "Poincaré section", X: x, Y: y, Series: orbits}
}

// Energies plots the energies of the parts of a toy against time, s, with
// their sum; unit is the unit in which they are read, such as "mJ".
func Energies(t []float64, unit string, parts ...Series) Plot {
	total := make([]float64, len(t))
	for i := range parts {
		parts[i].X = t
		for k, e := range parts[i].Y {
			if k < len(total) {
				total[k] += e
			}
		}
	}
	if len(parts) > 1 {
		parts = append(parts, Series{Label: "sum", X: t, Y: total})
	}
	return Plot{Title: "Energy", X: Axis{Label: "time", Unit: "s"}, Y: Axis{Label: "energy", Unit: unit}, Series: parts}
}

// Spectrum plots amplitude against frequency, Hz, and marks the given peaks.
func Spectrum(frequency, amplitude []float64, y Axis, peaks ...Mark) Plot {
	return Plot{
		Title: "Spectrum", X: Axis{Label: "frequency", Unit: "Hz"}, Y: y,
		Series: []Series{{X: frequency, Y: amplitude}}, Marks: peaks,
	}
}

// ModeShapes plots how far each part of a toy moves in each normal mode:
// shapes[i] holds the displacements of the parts in mode i, of any scale (the
// largest is drawn as 1), and frequency[i] is the mode's frequency in Hz.
func ModeShapes(shapes [][]float64, frequency []float64) Plot {
	p := Plot{
		Title: "Normal modes", X: Axis{Label: "part", Whole: true}, Y: Axis{Label: "displacement, largest = 1"},
		Guides: []Guide{{Level: 0}},
	}
	for i, shape := range shapes {
		s := Series{Label: fmt.Sprintf("mode %d", i+1)}
		if i < len(frequency) {
			s.Label += fmt.Sprintf(", %.3g Hz", frequency[i])
		}
		largest := 0.0
		for _, a := range shape {
			if math.Abs(a) > math.Abs(largest) {
				largest = a
			}
		}
		for k, a := range shape {
			s.X = append(s.X, float64(k+1))
			if largest != 0 {
				a /= largest
			}
			s.Y = append(s.Y, a)
		}
		p.Series = append(p.Series, s)
	}
	return p
}
