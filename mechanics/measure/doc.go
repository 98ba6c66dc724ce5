// Package measure answers what timings and films of a toy say: its period,
// damping, gravity and moments of inertia, each with its uncertainty, the
// residuals, and which readings do not fit the rest.
//
// Times are in s, lengths in m, angles in rad, frequencies in Hz. Outliers are
// told and never dropped. It knows nothing of drawings, questions or notebooks.
package measure

import (
	"fmt"
	"math"
)

// checked returns an error unless both columns are equally long, long enough and
// finite.
func checked(x, y []float64, least int) error {
	if len(x) != len(y) {
		return fmt.Errorf("there are %d values of x and %d of y: give as many of each", len(x), len(y))
	}
	if len(y) < least {
		return fmt.Errorf("there are %d readings: at least %d are needed", len(y), least)
	}
	for i := range y {
		if math.IsNaN(x[i]+y[i]) || math.IsInf(x[i]+y[i], 0) {
			return fmt.Errorf("reading %d is (%v, %v): give finite numbers", i+1, x[i], y[i])
		}
	}
	return nil
}
