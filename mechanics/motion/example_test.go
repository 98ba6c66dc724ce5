package motion_test

import (
	"fmt"
	"math"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/expr/parse"
	"counterpoise/mechanics/motion"
)

// Ask for an accuracy and get it: a heron that rocks through a right angle for
// a quarter of an hour, wanted to a millionth of a radian.
func ExampleOptions_accuracy() {
	heron := motion.Newton(1, func(dst []float64, _ float64, q []float64) { dst[0] = -59.0 * math.Sin(q[0]) })
	run, err := motion.Solve(heron, []float64{math.Pi / 2, 0}, 0, 900, motion.Options{Accuracy: 1e-6})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("after 900 s at %.5f rad, error below 1e-6: %t\n", run.End()[0], run.Error < 1e-6)
	// Output: after 900 s at 1.03441 rad, error below 1e-6: true
}

// Rates may be typed; they are compiled, and differentiated exactly where a
// method needs it.
func ExampleFromExpressions() {
	state := []string{"θ", "ω"}
	var rates []expr.Expr
	for _, text := range []string{"ω", "-9.81 sin θ / L - 0.2 ω"} {
		e, err := parse.Parse(text, parse.Options{Symbols: []string{"θ", "ω", "L"}})
		if err != nil {
			fmt.Println(err)
			return
		}
		rates = append(rates, e)
	}
	s, err := motion.FromExpressions(rates, state, map[string]float64{"L": 0.5}) // m
	if err != nil {
		fmt.Println(err)
		return
	}
	run, err := motion.Solve(s, []float64{1, 0}, 0, 10, motion.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	times, states, err := run.Sample(6)
	if err != nil {
		fmt.Println(err)
		return
	}
	for i, y := range states {
		fmt.Printf("%4.1f s %7.4f rad\n", times[i], y[0])
	}
	// Output:
	//  0.0 s  1.0000 rad
	//  2.0 s -0.4110 rad
	//  4.0 s -0.2228 rad
	//  6.0 s  0.4824 rad
	//  8.0 s -0.4278 rad
	// 10.0 s  0.2260 rad
}

// A walker is stopped and changed on the way: a carousel pushed once a second.
func ExampleWalker() {
	carousel := motion.Of(1, func(dst []float64, _ float64, y []float64) { dst[0] = -0.3 * y[0] }) // rad/s
	w, err := motion.NewWalker(carousel, 0, []float64{0}, motion.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	for second := 1; second <= 3; second++ {
		_, y := w.State()
		if err := w.Set([]float64{y[0] + 1}); err != nil {
			fmt.Println(err)
			return
		}
		if err := w.To(float64(second)); err != nil {
			fmt.Println(err)
			return
		}
		t, y := w.State()
		fmt.Printf("%g s: %.4f rad/s\n", t, y[0])
	}
	// Output:
	// 1 s: 0.7408 rad/s
	// 2 s: 1.2896 rad/s
	// 3 s: 1.6962 rad/s
}
