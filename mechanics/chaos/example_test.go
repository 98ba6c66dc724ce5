package chaos_test

import (
	"fmt"
	"math"

	"counterpoise/mechanics/chaos"
	"counterpoise/mechanics/motion"
)

// Which starts of a two-armed reed turn over within 10 s?
func ExampleFlipTimesOf() {
	reed := func() motion.System { // arms of 1 m and equal weights at their ends
		return motion.Of(4, func(dst []float64, _ float64, y []float64) {
			s, c := math.Sincos(y[0] - y[1])
			r1 := -2*9.81*math.Sin(y[0]) - s*y[3]*y[3]
			r2 := s*y[2]*y[2] - 9.81*math.Sin(y[1])
			dst[0], dst[1] = y[2], y[3]
			dst[2], dst[3] = (r1-c*r2)/(2-c*c), (2*r2-c*r1)/(2-c*c)
		})
	}
	circle := chaos.Axis{From: -math.Pi, To: math.Pi, N: 16}
	m, err := chaos.FlipTimesOf(reed, func(y []float64, a, b float64) { y[0], y[1], y[2], y[3] = a, b, 0, 0 },
		circle, circle, chaos.FlipOptions{Limits: []float64{math.Pi, math.Pi, 0, 0}})
	if err != nil {
		fmt.Println(err)
		return
	}
	n, _ := m.Happened()
	fmt.Printf("more than a third of %d starts: %t\n", len(m.Value), 3*n > len(m.Value))
	fmt.Println("from hanging still:", m.At(8, 8))
	// Output:
	// more than a third of 256 starts: true
	// from hanging still: NaN
}
