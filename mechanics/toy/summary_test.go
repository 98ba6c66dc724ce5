package toy_test

import (
	"fmt"
	"log"
	"strings"
	"testing"

	"counterpoise/mechanics/body"
	"counterpoise/mechanics/toy"
)

// The reference toys of the check values in words (Y1, Y2, computed by quadrature).
func ExampleToy_String() {
	for _, text := range []string{y1, y2} {
		t, err := toy.Read([]byte(text), nil)
		if err != nil {
			log.Fatal(err)
		}
		fmt.Println(t)
	}
	// Output:
	// mass 22.71 g
	// centre of gravity at x 0.00 mm, y -39.73 mm, z 0.00 mm
	// moment of inertia about the support, across the picture, 1500 g cm²
	// stable on its stand (point), at rest with a lean of 0.00°
	// tips over beyond a lean of 180°
	// swings in 0.8183 s in the picture, in 0.4346 s fore and aft
	// mass 13.47 g
	// centre of gravity at x 0.00 mm, y 9.28 mm, z 0.00 mm
	// moment of inertia about the support, across the picture, 284.6 g cm²
	// it falls: the figure does not come to rest on its stand: lower its weights, or raise or widen the stand: its centre of gravity is 9.28 mm above the pivot
}

func TestCautions(t *testing.T) {
	made, err := toy.Read([]byte(y1), nil)
	if err != nil {
		t.Fatal(err)
	}
	all := strings.Join(made.Cautions(), "\n")
	for _, want := range []string{"eye protection", "no lead", "Blunt the pin", "under three", "person in charge"} {
		if !strings.Contains(all, want) {
			t.Errorf("no %q in\n%s", want, all)
		}
	}
	if strings.Contains(all, "tray") {
		t.Error("22 g hurt no foot")
	}
	broken := toy.Toy{Assembly: body.Assembly{{}}}
	if !strings.Contains(broken.String(), "cannot be computed") || len(broken.Values()) > 3 {
		t.Errorf("%v %v", broken, broken.Values())
	}
}
