package balance

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"

	"counterpoise/mechanics/body"
)

// A SpaceSwing is a way in which a figure on a pin swings when nothing keeps it in a
// plane.
type SpaceSwing struct {
	Period float64  // s
	Axis   body.Vec // horizontal unit vector about which it swings, as the figure hangs at rest
}

// SwingsOnPin returns both small swings of a body that is free to turn about a point
// in every direction, the slower first. Unlike [Balance.Period], which keeps to a
// plane, it lets the body turn about the vertical as it swings, as a figure that is
// not symmetric does. Gravity is in m/s²; 0 means standard gravity.
//
// The stiffness is m g d about every horizontal axis and none about the vertical, so
// that the vertical can be eliminated: the effective inertia is
// I_ij - I_iy I_jy/I_yy. Source: the linear equations of a rigid body about a fixed
// point; Common practice, no source.
func SwingsOnPin(r body.Rigid, pivot body.Vec, gravity float64) ([2]SpaceSwing, error) {
	var out [2]SpaceSwing
	if gravity == 0 {
		gravity = StandardGravity
	}
	if !(gravity > 0) || math.IsInf(gravity, 0) || !(r.Mass > 0) || math.IsInf(r.Mass, 0) {
		return out, fmt.Errorf("mass is %v kg and gravity %v m/s²: give positive numbers", r.Mass, gravity)
	}
	arm := r3.Sub(r.CentreOfGravity, pivot)
	d := r3.Norm(arm)
	if !(d > 0) || math.IsInf(d, 0) {
		return out, fmt.Errorf("%w: its centre of gravity lies in the pivot", ErrNoRest)
	}
	if arm.Y >= 0 {
		return out, fmt.Errorf("%w: its centre of gravity is %.3g mm above the pivot", ErrNoRest, arm.Y*1e3)
	}
	I := r.InertiaAbout(pivot).Turned(hang(arm))
	if !(I.YY > 0) { // nothing resists turning about the vertical: all mass on it
		I.YY = math.Inf(1)
	}
	e := mat.NewSymDense(2, []float64{I.XX - I.XY*I.XY/I.YY, I.ZX - I.XY*I.YZ/I.YY, I.ZX - I.XY*I.YZ/I.YY, I.ZZ - I.YZ*I.YZ/I.YY})
	var eigen mat.EigenSym
	if !eigen.Factorize(e, true) {
		return out, fmt.Errorf("the swings were not found: check the tensor of inertia %v", r.Inertia)
	}
	var v mat.Dense
	eigen.VectorsTo(&v)
	for k, value := range eigen.Values(nil) { // ascending: the fast swing first
		out[1-k] = SpaceSwing{2 * math.Pi * math.Sqrt(value/(r.Mass*gravity*d)), body.V(v.At(0, k), 0, v.At(1, k))}
	}
	return out, nil
}

// hang returns the rotation that brings an arm straight down.
func hang(arm body.Vec) r3.Rotation {
	down := body.V(0, -1, 0)
	axis := r3.Cross(arm, down)
	n := r3.Norm(axis)
	if n <= 1e-15*r3.Norm(arm) {
		return r3.Rotation{}
	}
	return r3.NewRotation(math.Atan2(n, r3.Dot(arm, down)), axis)
}
