package balance

import (
	"errors"
	"math"
	"sort"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"counterpoise/mechanics/body"
	"counterpoise/testdata"
)

// Y1 of the check values (computed by quadrature): symmetric, so that both swings
// are those in their planes.
func TestY1SwingsInSpace(t *testing.T) {
	y1 := body.Assembly{{Shape: body.Sphere{Radius: 0.005}, Material: body.Material{Density: 1200}, At: body.V(0, 0.008, 0)}}
	for _, x := range []float64{-0.08, 0.08} {
		y1 = append(y1, body.Part{Shape: body.Rod{To: body.V(x, -0.05, 0), Diameter: 0.0025}, Material: body.Material{Density: 8500}},
			body.Part{Shape: body.Sphere{Radius: 0.006}, Material: body.Material{Density: 7850}, At: body.V(x, -0.05, 0)})
	}
	swings, err := SwingsOnPin(y1.Rigid(), body.Vec{}, 0)
	if err != nil {
		t.Fatal(err)
	}
	testdata.Agrees(t, swings[0].Period, "0.818280")
	testdata.Agrees(t, swings[1].Period, "0.434638")
	if math.Abs(swings[0].Axis.Z) < 0.999999 || math.Abs(swings[1].Axis.X) < 0.999999 {
		t.Errorf("axes %v, %v", swings[0].Axis, swings[1].Axis)
	}
}

// For any body gonum's eigenvalues of I⁻¹K, with K for all three axes, are the same:
// two swings and a free turn.
func TestSwingsInSpaceAgainstGonum(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := func(name string) float64 { return rapid.Float64Range(-0.1, 0.1).Draw(t, name) }
		var a body.Assembly
		for range 4 {
			a = append(a, body.Part{Shape: body.Sphere{Radius: 0.01}, Given: 0.02 + math.Abs(f("mass")), At: body.V(f("x"), f("y")-0.12, f("z"))})
		}
		r := a.Rigid()
		swings, err := SwingsOnPin(r, body.Vec{}, 9.81)
		if err != nil {
			t.Fatal(err)
		}
		d := r3.Norm(r.CentreOfGravity)
		down := r3.Scale(1/d, r.CentreOfGravity)
		I, K := mat.NewDense(3, 3, nil), mat.NewDense(3, 3, nil)
		k := r.Mass * 9.81 * d
		n := [3]float64{down.X, down.Y, down.Z}
		for i, row := range r.InertiaAbout(body.Vec{}).Rows() {
			for j, v := range row {
				I.Set(i, j, v)
				K.Set(i, j, -k*n[i]*n[j])
			}
			K.Set(i, i, K.At(i, i)+k)
		}
		var x mat.Dense
		var eigen mat.Eigen
		if err := x.Solve(I, K); err != nil || !eigen.Factorize(&x, mat.EigenNone) {
			t.Fatal(err)
		}
		var w []float64
		for _, v := range eigen.Values(nil) {
			w = append(w, real(v))
		}
		sort.Float64s(w)
		for i, s := range swings {
			if want := 2 * math.Pi / math.Sqrt(w[i+1]); math.Abs(s.Period/want-1) > 1e-9 {
				t.Fatalf("swing %d: %v s, by eigenvalues %v", i, s.Period, want)
			}
		}
	})
}

func TestSwingsOnPinMistakes(t *testing.T) {
	if _, err := SwingsOnPin(body.Rigid{Mass: 1, CentreOfGravity: body.V(0, 0.1, 0)}, body.Vec{}, 0); !errors.Is(err, ErrNoRest) {
		t.Error(err)
	}
	if _, err := SwingsOnPin(body.Rigid{Mass: 1}, body.Vec{}, 0); !errors.Is(err, ErrNoRest) {
		t.Error(err)
	}
	if _, err := SwingsOnPin(body.Rigid{CentreOfGravity: body.V(0, -1, 0)}, body.Vec{}, 0); err == nil {
		t.Error("no mass")
	}
}
