package measure_test

import (
	"fmt"
	"log"
	"math"

	"counterpoise/mechanics/measure"
	"counterpoise/mechanics/quantity"
)

func ExamplePeriod() {
	// Four students time twenty swings of the heron each.
	period, err := measure.Period([]measure.Timing{{20, 17.32}, {20, 17.22}, {20, 17.45}, {20, 17.28}})
	if err != nil {
		log.Fatal(err)
	}
	T := quantity.New(period.Value, quantity.MustUnit("s"))
	T.Uncertainty = period.Uncertainty
	fmt.Println(T)
	// Output: (0.8659 ± 0.0024) s
}

func ExampleNewBudget() {
	// The lantern's swing is predicted from its depth, weighed and measured.
	b, err := measure.NewBudget("T", quantity.MustUnit("s"),
		func(x []float64) float64 { return 2 * math.Pi * math.Sqrt(x[0]/(x[1]*9.81*x[2])) },
		[]measure.Source{
			{Input: quantity.Input{Name: "I", Value: 1.50e-4, Uncertainty: 0.02e-4}, Unit: quantity.MustUnit("g cm²")},
			{Input: quantity.Within("m", 0.0227, 0.0001), Unit: quantity.MustUnit("g")},
			{Input: quantity.Within("d", 0.0397, 0.0010), Unit: quantity.MustUnit("mm")},
		}, nil)
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(b)
	// Output:
	// quantity  estimate    how known                standard uncertainty  sensitivity          contribution  share
	// I         1500 g cm²  stated (B)               20 g cm²              2.73×10³ kg⁻¹ m⁻² s  0.0055 s      44.9 %
	// m         22.700 g    ± 0.10 g, rectangle (B)  0.058 g               -18.0 kg⁻¹ s         0.0010 s      1.6 %
	// d         39.70 mm    ± 1.0 mm, rectangle (B)  0.58 mm               -10.3 m⁻¹ s          0.0060 s      53.4 %
	// T = (0.8184 ± 0.0081) s, combined standard uncertainty; expanded with k = 2: ± 0.016 s
}
