package elastic_test

import (
	"fmt"
	"log"

	"counterpoise/mechanics/body"
	"counterpoise/mechanics/elastic"
)

func ExampleRod_Frequency() {
	// A reed of music wire, 0.8 mm thick and 220 mm long, with a dragonfly of 4 g.
	wire, err := body.MaterialNamed("music wire")
	if err != nil {
		log.Fatal(err)
	}
	reed := elastic.Rod{Length: 0.220, Section: elastic.Round(0.0008), Material: wire}
	f, err := reed.Frequency(elastic.Tip{Mass: 0.004}, 1)
	if err != nil {
		log.Fatal(err)
	}
	stress, err := reed.BendingStress(0.060)
	if err != nil {
		log.Fatal(err)
	}
	fmt.Printf("%.2f Hz; bent aside by 60 mm: %.0f MPa\n", f, stress/1e6)
	if c := elastic.Caution(stress, wire); c != "" {
		fmt.Println(c)
	}
	// Output: 2.61 Hz; bent aside by 60 mm: 298 MPa
}
