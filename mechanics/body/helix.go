package body

import (
	"errors"
	"fmt"
	"math"
)

// A Helix is a round wire wound about the y axis: a corkscrew slide, or a coil
// spring. It starts at (Radius, 0, 0) and rises along y, right-handed like a common
// screw or, if Left is set, left-handed.
type Helix struct {
	Radius   float64 // of the wire's axis, m
	Pitch    float64 // rise for each turn, m
	Turns    float64
	Diameter float64 // of the wire, m; 0 for a thin line whose mass must be given
	Left     bool
}

// Check implements [Shape].
func (h Helix) Check() error {
	if err := measured("helix", "radius", h.Radius, "0pitch", h.Pitch, "0diameter", h.Diameter); err != nil {
		return err
	}
	switch {
	case !(h.Turns > 0) || math.IsInf(h.Turns, 0):
		return fmt.Errorf("the helix has %v turns: give a positive number", h.Turns)
	case h.Diameter > 2*h.Radius:
		return errors.New("the helix's wire is thicker than its circle: enlarge the radius")
	case h.Turns > 1e6:
		return fmt.Errorf("the helix has %v turns: give fewer than a million", h.Turns)
	}
	return nil
}

// Length returns the length of the wire's axis in m.
func (h Helix) Length() float64 {
	return 2 * math.Pi * h.Turns * math.Hypot(h.Radius, h.Pitch/(2*math.Pi))
}

// Geometry implements [Shape]: integrals along the wire's axis, with the wire's
// cross-section across it. That the outside of a bend is longer than its inside is
// left out, a share of (wire radius/helix radius)²/4.
func (h Helix) Geometry() Geometry {
	R, rise, end := h.Radius, h.Pitch/(2*math.Pi), 2*math.Pi*h.Turns
	sin, cos := math.Sincos(end)
	sin2 := math.Sin(2 * end)
	// Means over the angle φ of (R cos φ, rise φ, -R sin φ) and its products.
	c := V(R*sin/end, rise*end/2, -R*(1-cos)/end)
	second := Tensor{
		XX: R * R * (0.5 + sin2/(4*end)),
		ZZ: R * R * (0.5 - sin2/(4*end)),
		YY: rise * rise * end * end / 3,
		ZX: -R * R * sin * sin / (2 * end),
		XY: R * rise * (end*sin + cos - 1) / end,
		YZ: -R * rise * (sin - end*cos) / end,
	}.Plus(outer(c).Times(-1))
	// The cross-section spreads by r²/4 across the tangent (-R sin φ, rise, -R cos φ)/s.
	s2, r := R*R+rise*rise, h.Diameter/2
	along := Tensor{
		XX: R * R * (0.5 - sin2/(4*end)), ZZ: R * R * (0.5 + sin2/(4*end)), YY: rise * rise,
		ZX: R * R * sin * sin / (2 * end), XY: -R * rise * (1 - cos) / end, YZ: -R * rise * sin / end,
	}.Times(1 / s2)
	second = second.Plus(facing(1, 1, 1).Plus(along.Times(-1)).Times(r * r / 4))
	if h.Left {
		c.Z, second.ZX, second.YZ = -c.Z, -second.ZX, -second.YZ
	}
	return Geometry{math.Pi * r * r * h.Length(), c, second}
}

// maxCoilPoints bounds a drawing of very many turns.
const maxCoilPoints = 4000

// Drawing implements [Shape].
func (h Helix) Drawing() []Line {
	n := min(maxCoilPoints, max(16, int(36*h.Turns)))
	points := make([]Vec, n+1)
	for i := range points {
		turn := h.Turns * float64(i) / float64(n)
		sin, cos := math.Sincos(2 * math.Pi * turn)
		if h.Left {
			sin = -sin
		}
		points[i] = V(h.Radius*cos, h.Pitch*turn, -h.Radius*sin)
	}
	return []Line{{Kind: Stroke, Points: points, Width: h.Diameter}}
}
