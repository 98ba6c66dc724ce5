package body

import (
	"log"
	"testing"

	"counterpoise/testdata"
)

func named(name string) Material {
	m, err := MaterialNamed(name)
	if err != nil {
		log.Fatal(err)
	}
	return m
}

// The reference toys Y1 to Y3 of the check values, computed by quadrature over
// their volumes; masses in g, lengths in mm.
func TestReferenceToys(t *testing.T) {
	mm := func(x, y, z float64) Vec { return V(x/1e3, y/1e3, z/1e3) }
	brass, steel, light := named("brass"), Material{Density: 7850}, Material{Density: 1200}

	y1 := Assembly{{Shape: Sphere{0.005}, Material: light, At: mm(0, 8, 0)}}
	y2 := Assembly{
		{Shape: Rod{From: mm(0, 0, 0), To: mm(0, 20, 0), Diameter: 0.004}, Material: light},
		{Shape: Sphere{0.010}, Material: light, At: mm(0, 30, 0)},
	}
	for _, side := range []float64{-1, 1} {
		y1 = append(y1, Part{Shape: Rod{From: mm(0, 0, 0), To: mm(80*side, -50, 0), Diameter: 0.0025}, Material: brass},
			Part{Shape: Sphere{0.006}, Material: steel, At: mm(80*side, -50, 0)})
		y2 = append(y2, Part{Shape: Rod{From: mm(0, 0, 0), To: mm(80*side, -6, 0), Diameter: 0.0025}, Material: brass},
			Part{Shape: Sphere{0.004}, Material: named("aluminium"), At: mm(80*side, -6, 0)})
	}
	testdata.Agrees(t, y1.Mass()*1e3, "22.70586")
	testdata.Agrees(t, -y1.CentreOfGravity().Y*1e3, "39.72708")
	testdata.Agrees(t, y1.MomentAbout(o, z), "1.5003399e-4")
	testdata.Agrees(t, y1.MomentAbout(o, x), "4.2329332e-5")
	testdata.Agrees(t, y1.MomentAbout(o, y), "1.0792165e-4")
	testdata.Agrees(t, y2.Mass()*1e3, "13.47042")
	testdata.Agrees(t, y2.CentreOfGravity().Y*1e3, "9.28275")

	// Y3 stands on the table at y = 0: half ball with its dome down.
	half := Part{Shape: Hemisphere(0.040), Material: named("wood")}.Turned(3.141592653589793, o, x).Moved(mm(0, 40, 0))
	y3 := Assembly{
		half,
		{Shape: Rod{From: mm(0, 40, 0), To: mm(0, 100, 0), Diameter: 0.003}, Material: steel},
		{Shape: Sphere{0.004}, Material: steel, At: mm(0, 100, 0)},
	}
	testdata.Agrees(t, y3.Mass()*1e3, "92.56059")
	testdata.Agrees(t, y3.CentreOfGravity().Y*1e3, "28.32379")
	testdata.Agrees(t, y3.MomentAbout(y3.CentreOfGravity(), z), "5.4728556e-5")
	testdata.Agrees(t, y3.MomentAbout(o, z), "1.2898411e-4")
}
