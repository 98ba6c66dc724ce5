package motion_test

import (
	"math"
	"testing"

	"counterpoise/mechanics/motion"
)

// Walking from stop to stop, there and back, is the same motion.
func TestWalkerKeepsToTheMotion(t *testing.T) {
	circle := motion.Newton(1, func(dst []float64, _ float64, q []float64) { dst[0] = -q[0] })
	for _, m := range []motion.Method{motion.Auto, motion.DormandPrince8, motion.DormandPrince5, motion.Radau} {
		w, err := motion.NewWalker(circle, 0, []float64{0, 1}, motion.Options{Method: m})
		if err != nil {
			t.Fatal(err)
		}
		for _, at := range []float64{0.1, 0.1, 3, 50, 20, -4, 0} {
			if err := w.To(at); err != nil {
				t.Fatal(err)
			}
			now, y := w.State()
			if now != at || math.Abs(y[0]-math.Sin(at)) > 2e-6 {
				t.Errorf("%v: at %g (%g) the sine is %.9f, want %.9f", m, at, now, y[0], math.Sin(at))
			}
		}
		if err := w.Set([]float64{1, 0}); err != nil {
			t.Fatal(err)
		}
		if err := w.To(math.Pi); err != nil {
			t.Fatal(err)
		}
		if _, y := w.State(); math.Abs(y[0]+1) > 1e-6 {
			t.Errorf("%v: after Set the cosine of π is %g", m, y[0])
		}
		next := math.Pi
		if n := testing.AllocsPerRun(20, func() { next += 0.5; _ = w.To(next) }); n != 0 {
			t.Errorf("%v: %g allocations from stop to stop", m, n)
		}
	}
	if _, err := motion.NewWalker(circle, 0, []float64{0, 1}, motion.Options{Method: motion.Verlet, Step: 0.1}); err == nil {
		t.Error("a walker with a fixed step")
	}
}
