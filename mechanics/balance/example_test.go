package balance_test

import (
	"fmt"
	"log"
	"math"

	"counterpoise/mechanics/balance"
	"counterpoise/mechanics/body"
)

func ExamplePendulum_Period() {
	const m, l = 0.120, 1.0 // a reed hung by its end: kg, m
	reed := balance.Pendulum{Mass: m, Drop: l / 2, Inertia: m * l * l / 3}
	period, err := reed.Period(0, 9.80665)
	if err != nil {
		log.Fatal(err)
	}
	fmt.Printf("%.3f s\n", period)
	// Output: 1.638 s
}

func ExampleBalance() {
	// A lantern seller of wood on a round foot of 40 mm, a brass lantern on her head.
	wood, err1 := body.MaterialNamed("beech")
	brass, err2 := body.MaterialNamed("brass")
	if err1 != nil || err2 != nil {
		log.Fatal(err1, err2)
	}
	seller := body.Assembly{
		body.Part{Shape: body.Hemisphere(0.040), Material: wood}.Turned(math.Pi, body.Vec{}, body.V(1, 0, 0)).Moved(body.V(0, 0.040, 0)),
		{Shape: body.Cone{Radius: 0.022, Height: 0.070}, Material: wood, At: body.V(0, 0.040, 0)},
	}
	for _, lantern := range []float64{0.004, 0.008} { // radius, m
		with := append(append(body.Assembly{}, seller...), body.Part{Shape: body.Sphere{Radius: lantern}, Material: brass, At: body.V(0, 0.112, 0)})
		b, err := balance.New(with, balance.Stand{Kind: balance.Foot, Radius: 0.040}, balance.Options{})
		if err != nil {
			log.Fatal(err)
		}
		period, err := b.Period()
		if err != nil {
			fmt.Printf("lantern %.0f mm: %v, %v\n", 2000*lantern, b.Stability(), err)
			continue
		}
		fmt.Printf("lantern %.0f mm: %v, rocks in %.2f s\n", 2000*lantern, b.Stability(), period)
	}
	// Output:
	// lantern 8 mm: stable, rocks in 1.03 s
	// lantern 16 mm: unstable, the figure does not come to rest on its stand: lower its weights, or raise or widen the stand: its centre of gravity is 42.2 mm above the point of contact, the foot's radius is 40 mm
}
