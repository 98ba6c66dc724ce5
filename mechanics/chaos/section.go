package chaos

import (
	"context"
	"errors"
	"fmt"
	"math"

	"counterpoise/mechanics/motion"
)

// SectionOptions are the choices of a Poincaré section.
type SectionOptions struct {
	Points int // wanted; 0 means 500
	Skip   int // left out first, until the motion has settled

	// Longest is the longest time in s to wait for all points; 0 means 1e6.
	Longest float64

	Tolerance float64 // of a step; 0 means 1e-10
	Angles    []int   // components reduced to (-π, π]
	Context   context.Context
}

func (o *SectionOptions) fill(n int) error {
	if o.Points == 0 {
		o.Points = 500
	}
	if o.Longest == 0 {
		o.Longest = 1e6
	}
	if o.Tolerance == 0 {
		o.Tolerance = 1e-10
	}
	if o.Points < 1 || o.Skip < 0 || o.Points > maxPoints || o.Skip > maxPoints {
		return fmt.Errorf("chaos: %d points after %d left out: ask for 1 to %d", o.Points, o.Skip, maxPoints)
	}
	if !(o.Longest > 0) || !(o.Tolerance > 0) {
		return fmt.Errorf("chaos: Longest is %g s, Tolerance %g: give positive values", o.Longest, o.Tolerance)
	}
	for _, i := range o.Angles {
		if i < 0 || i >= n {
			return fmt.Errorf("chaos: Angles names component %d of a state of %d components, counted from 0", i, n)
		}
	}
	return nil
}

// maxPoints bounds a section: a million points are more than any plot shows.
const maxPoints = 1_000_000

func (o *SectionOptions) reduced(y []float64) []float64 {
	y = append([]float64(nil), y...)
	for _, a := range o.Angles {
		y[a] = math.Remainder(y[a], 2*math.Pi)
	}
	return y
}

// Section returns the states at which the motion from y at t = 0 passes through
// a surface in state space, where the function through is zero, in the given
// direction: a Poincaré section. It returns the points found and an error if
// the motion does not pass often enough in the longest time.
func Section(s motion.System, y []float64, through func(t float64, y []float64) float64, direction motion.Direction, o SectionOptions) ([][]float64, error) {
	if s == nil || through == nil {
		return nil, errors.New("chaos: give a system and the function that is zero on the surface")
	}
	if err := o.fill(s.Dim()); err != nil {
		return nil, err
	}
	run, err := motion.Solve(s, y, 0, o.Longest, motion.Options{
		Relative: o.Tolerance, Absolute: o.Tolerance, Context: o.Context, EndOnly: true, Unchecked: true,
		Events: []motion.Event{{Name: "section", Of: through, Direction: direction, Stop: true, StopAt: o.Points + o.Skip}},
	})
	if run == nil {
		return nil, err
	}
	var points [][]float64
	for i, e := range run.Events {
		if i >= o.Skip {
			points = append(points, o.reduced(e.Y))
		}
	}
	if err == nil && len(points) < o.Points {
		err = fmt.Errorf("chaos: the motion passes %d times in %g s, %d were wanted: raise Longest, or choose a surface that it does pass", len(run.Events), o.Longest, o.Points+o.Skip)
	}
	return points, err
}

// Strobe returns the states of the motion from y at t = 0 once in every period
// in s: the section of a driven system.
func Strobe(s motion.System, y []float64, period float64, o SectionOptions) ([][]float64, error) {
	if s == nil {
		return nil, errors.New("chaos: no system given: make one with motion.Of or lagrange")
	}
	if !(period > 0) || math.IsInf(period, 1) {
		return nil, fmt.Errorf("chaos: a period of %g s: give that of the drive", period)
	}
	if err := o.fill(s.Dim()); err != nil {
		return nil, err
	}
	w, err := motion.NewWalker(s, 0, y, motion.Options{Relative: o.Tolerance, Absolute: o.Tolerance, Context: o.Context})
	if err != nil {
		return nil, err
	}
	var points [][]float64
	for i := 1; i <= o.Skip+o.Points; i++ {
		if err := stopped(o.Context); err != nil {
			return points, err
		}
		if err := w.To(float64(i) * period); err != nil {
			return points, err
		}
		_, now := w.State()
		if i > o.Skip {
			points = append(points, o.reduced(now))
		}
	}
	return points, nil
}
