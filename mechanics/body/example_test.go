package body_test

import (
	"fmt"
	"log"

	"counterpoise/mechanics/body"
)

func ExampleAssembly() {
	brass, err := body.MaterialNamed("brass")
	if err != nil {
		log.Fatal(err)
	}
	// A heron's two wings of bent wire, with a weight of 18 g at each tip.
	heron := body.Assembly{}
	for _, side := range []float64{-1, 1} {
		tip := body.V(side*0.090, -0.062, 0)
		heron = append(heron,
			body.Part{Name: "wing", Shape: body.Wire{Points: []body.Vec{{}, body.V(side*0.050, 0.010, 0), tip}, Diameter: 0.0025}, Material: brass},
			body.Part{Name: "weight", Shape: body.Point{}, Given: 0.018, At: tip})
	}
	if err := heron.Check(); err != nil {
		log.Fatal(err)
	}
	fmt.Printf("%.1f g, centre of gravity %.1f mm below the pin\n", heron.Mass()*1e3, -heron.CentreOfGravity().Y*1e3)
	fmt.Printf("about the pin, across the picture: %.3g kg m²\n", heron.MomentAbout(body.Vec{}, body.V(0, 0, 1)))
	// Output:
	// 47.1 g, centre of gravity 50.7 mm below the pin
	// about the pin, across the picture: 0.000476 kg m²
}
