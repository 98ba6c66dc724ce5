package balance

import (
	"errors"
	"fmt"
	"math"
	"sync"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	"counterpoise/mechanics/body"
)

// Options are choices for [New]; zero values mean the defaults.
type Options struct {
	Gravity float64  // m/s²; 0 = StandardGravity
	Axis    body.Vec // horizontal axis of tilt; zero = z, out of the picture
}

// A Balance is a figure on its stand, in the plane across its axis of tilt.
type Balance struct {
	rigid   body.Rigid
	stand   Stand
	axis    body.Vec
	gravity float64

	inertia float64 // about the axis through the centre of gravity
	centre  r2.Vec  // of gravity: to the right, up
	at, to  r2.Vec

	found func() []Equilibrium // the equilibria, looked for once
}

// New puts an assembly on its stand. The error says what is wrong with either.
func New(a body.Assembly, s Stand, o Options) (*Balance, error) {
	if err := a.Check(); err != nil {
		return nil, err
	}
	return NewRigid(a.Rigid(), s, o)
}

// NewRigid is New for a body of which mass, centre of gravity and inertia are
// known.
func NewRigid(r body.Rigid, s Stand, o Options) (*Balance, error) {
	if err := s.Check(); err != nil {
		return nil, err
	}
	if o.Gravity == 0 {
		o.Gravity = StandardGravity
	}
	if o.Axis == (body.Vec{}) {
		o.Axis = body.V(0, 0, 1)
	}
	n := r3.Unit(o.Axis)
	switch {
	case !(o.Gravity > 0) || math.IsInf(o.Gravity, 0):
		return nil, fmt.Errorf("gravity is %v m/s²: give a positive number", o.Gravity)
	case !(math.Abs(n.Y) < 1e-9):
		return nil, fmt.Errorf("axis of tilt %v is not horizontal: give one without y", o.Axis)
	case !(r.Mass > 0) || math.IsInf(r.Mass, 0):
		return nil, fmt.Errorf("mass of the figure is %v kg: give a positive mass", r.Mass)
	}
	b := &Balance{rigid: r, stand: s, axis: n, gravity: o.Gravity, inertia: r.Inertia.Along(n)}
	b.centre, b.at, b.to = b.plane(r.CentreOfGravity), b.plane(s.At), b.plane(s.To)
	if !(b.inertia >= 0) || math.IsNaN(b.centre.X+b.centre.Y) {
		return nil, errors.New("the figure's inertia or centre of gravity is not a number: check its parts")
	}
	if b.stand.Half == 0 {
		b.stand.Half = math.Pi / 2
	}
	if s.Kind == Base && b.at.X > b.to.X {
		b.at, b.to = b.to, b.at
	}
	if s.Kind == Base && b.at == b.to {
		return nil, errors.New("the two feet lie one behind the other for this axis of tilt: choose an axis across them")
	}
	b.found = sync.OnceValue(b.scan)
	return b, nil
}

// plane drops the coordinate along the axis of tilt: for the z axis (x, y).
func (b *Balance) plane(v body.Vec) r2.Vec {
	right := r3.Cross(body.V(0, 1, 0), b.axis)
	return r2.Vec{X: r3.Dot(right, v), Y: v.Y}
}

// Stand returns the stand.
func (b *Balance) Stand() Stand { return b.stand }

// Rigid returns the figure's mass, centre of gravity and inertia.
func (b *Balance) Rigid() body.Rigid { return b.rigid }

// weight returns m g in N.
func (b *Balance) weight() float64 { return b.rigid.Mass * b.gravity }

func rotated(v r2.Vec, angle float64) r2.Vec {
	sin, cos := math.Sincos(angle)
	return r2.Vec{X: v.X*cos - v.Y*sin, Y: v.X*sin + v.Y*cos}
}

// lever returns the vector from the point of contact to the centre of gravity at
// a tilt, and the height of the centre of gravity above a fixed level.
func (b *Balance) lever(tilt float64) (arm r2.Vec, height float64) {
	switch b.stand.Kind {
	case Foot:
		return b.rolling(tilt)
	case Base:
		left, right := rotated(r2.Sub(b.centre, b.at), tilt), rotated(r2.Sub(b.centre, b.to), tilt)
		if left.Y > right.Y { // the lower foot carries: the one farther below the centre
			return left, left.Y
		}
		return right, right.Y
	case Board: // at tilt t it touches the log at t, and R t to the left on itself
		R := b.stand.Dome
		arm = rotated(r2.Add(r2.Sub(b.centre, b.at), r2.Vec{X: R * tilt}), tilt)
		return arm, R*math.Cos(tilt) + arm.Y
	}
	arm = rotated(r2.Sub(b.centre, b.at), tilt)
	return arm, arm.Y
}

// rolling is lever for a round foot. It touches at the angle `roll` of the dome,
// to the left for a positive tilt; past the rim it turns about the rim.
func (b *Balance) rolling(tilt float64) (arm r2.Vec, height float64) {
	r := b.stand.Radius
	middle := r2.Vec{X: b.at.X, Y: b.at.Y + r}
	if b.stand.Dome != 0 {
		roll := tilt * r / (b.stand.Dome + r)
		c := rotated(r2.Sub(b.centre, middle), tilt)
		sin, cos := math.Sincos(roll)
		return r2.Vec{X: c.X - r*sin, Y: c.Y + r*cos}, (b.stand.Dome+r)*cos + c.Y
	}
	if rim := math.Copysign(b.stand.Half, tilt); math.Abs(tilt) > b.stand.Half {
		sin, cos := math.Sincos(rim)
		edge := r2.Add(middle, r2.Vec{X: -r * sin, Y: -r * cos})
		arm = rotated(r2.Sub(b.centre, edge), tilt)
		return arm, arm.Y
	}
	c := rotated(r2.Sub(b.centre, middle), tilt)
	return r2.Vec{X: c.X, Y: c.Y + r}, r + c.Y
}

// PotentialEnergy returns the figure's potential energy in J at a tilt in rad,
// above that in its drawn pose.
func (b *Balance) PotentialEnergy(tilt float64) float64 {
	_, h := b.lever(tilt)
	_, h0 := b.lever(0)
	return b.weight() * (h - h0)
}

// Torque returns the torque of the weight about the point of contact in N m at
// a tilt in rad: a negative torque at a positive tilt restores. It is minus the
// slope of the potential energy.
func (b *Balance) Torque(tilt float64) float64 {
	arm, _ := b.lever(tilt)
	return -b.weight() * arm.X
}

// InertiaAt returns the moment of inertia in kg m² about the point of contact at
// a tilt in rad.
func (b *Balance) InertiaAt(tilt float64) float64 {
	arm, _ := b.lever(tilt)
	return b.inertia + b.rigid.Mass*r2.Norm2(arm)
}

// stiffnessAt returns the slope of the restoring torque in N m/rad.
func (b *Balance) stiffnessAt(tilt float64) float64 {
	arm, _ := b.lever(tilt)
	slope := -arm.Y // of arm.X, for a fixed point of contact
	switch b.stand.Kind {
	case Foot:
		r := b.stand.Radius
		switch {
		case b.stand.Dome != 0:
			share := r / (b.stand.Dome + r)
			slope += r * math.Cos(tilt*share) * (1 - share)
		case math.Abs(tilt) <= b.stand.Half:
			slope += r
		}
	case Board:
		slope += b.stand.Dome * math.Cos(tilt)
	}
	return b.weight() * slope
}
