package body

import (
	"errors"
	"fmt"
	"math"
)

// A Turned piece is a solid of revolution, as from a lathe: its outline, a
// polygon of (distance from the axis, height), is swept round the y axis.
type Turned struct {
	Outline []Spot // X is the radius in m, not negative; Y the height in m
}

// TurnedFrom returns the solid between two heights whose radius in m at height
// y is profile(y), drawn by n straight pieces, at least 1; its error falls with n².
// More corners than 1000 are refused by Check.
func TurnedFrom(profile func(y float64) float64, from, to float64, n int) Turned {
	n = min(max(n, 1), maxCorners)
	outline := []Spot{{X: 0, Y: from}}
	for i := range n + 1 {
		y := from + (to-from)*float64(i)/float64(n)
		outline = append(outline, Spot{X: profile(y), Y: y})
	}
	outline = append(outline, Spot{X: 0, Y: to})
	return Turned{withoutRepeats(outline)}
}

func withoutRepeats(in []Spot) []Spot {
	var out []Spot
	for _, s := range in {
		if len(out) == 0 || out[len(out)-1] != s {
			out = append(out, s)
		}
	}
	return out
}

// Check implements [Shape].
func (t Turned) Check() error {
	if err := checkOutline("outline of the turned piece", t.Outline); err != nil {
		return err
	}
	for i, s := range t.Outline {
		if s.X < 0 {
			return fmt.Errorf("corner %d of the turned piece has the negative radius %v m: give distances from the axis", i+1, s.X)
		}
	}
	return nil
}

// gauss3 is Gauss and Legendre's rule with three points on 0..1, exact to the
// fifth power. Source: Abramowitz and Stegun, Table 25.4.
var gauss3 = [3]struct{ at, weight float64 }{
	{0.5 - 0.5*0.774596669241483377, 5.0 / 18}, {0.5, 8.0 / 18}, {0.5 + 0.5*0.774596669241483377, 5.0 / 18},
}

// Geometry implements [Shape]. The integrals over the outline become integrals
// along its edges (Green) of at most fourth power, which the rule takes exactly.
func (t Turned) Geometry() Geometry {
	low := t.Outline[0].Y
	v, y, _, _ := t.sweep(low)
	up := y / v
	v, y, yy, rr := t.sweep(low + up)
	return Geometry{math.Abs(2 * math.Pi * v), V(0, low+up+y/v, 0), standing(rr/v/2, yy/v-y/v*y/v)}
}

// sweep returns ∫ρ, ∫ρy, ∫ρy² and ∫ρ³ over the outline, heights above o.
func (t Turned) sweep(o float64) (v, y, yy, rr float64) {
	for i, a := range t.Outline {
		b := t.Outline[(i+1)%len(t.Outline)]
		for _, g := range gauss3 {
			r, h := a.X+(b.X-a.X)*g.at, a.Y-o+(b.Y-a.Y)*g.at
			w := g.weight * (b.Y - a.Y) * r * r / 2
			v += w
			y += w * h
			yy += w * h * h
			rr += w * r * r / 2
		}
	}
	return v, y, yy, rr
}

// Drawing implements [Shape].
func (t Turned) Drawing() []Line { return sweptLines(t.Outline) }

// sweptLines draws the outline to the right and, reversed, to the left of the axis.
func sweptLines(outline []Spot) []Line {
	var right, left []Vec
	for _, s := range outline {
		right = append(right, V(s.X, s.Y, 0))
		left = append(left, V(-s.X, s.Y, 0))
	}
	return []Line{{Kind: Outline, Points: right, Closed: true}, {Kind: Outline, Points: left, Closed: true}}
}

// A Skin is a thin shell of revolution: a line of (distance from the axis,
// height) swept round the y axis. Its mass follows from the thickness, or is
// given.
type Skin struct {
	Profile   []Spot  // m
	Thickness float64 // m, thin beside the radii; 0 if the mass is given
}

// Check implements [Shape].
func (s Skin) Check() error {
	if len(s.Profile) < 2 {
		return errors.New("the skin's profile has fewer than two points: give at least two")
	}
	for i, p := range s.Profile {
		if p.X < 0 || math.IsNaN(p.X+p.Y) || math.IsInf(p.X+p.Y, 0) {
			return fmt.Errorf("point %d of the skin's profile is (%v, %v): give a radius that is not negative, and a height", i+1, p.X, p.Y)
		}
	}
	if area(s.Profile) == 0 {
		return errors.New("the skin has no area: give a profile off the axis with some length")
	}
	return measured("skin", "0thickness", s.Thickness)
}

func area(profile []Spot) float64 {
	total := 0.0
	for i := range len(profile) - 1 {
		a, b := profile[i], profile[i+1]
		total += math.Pi * (a.X + b.X) * math.Hypot(b.X-a.X, b.Y-a.Y)
	}
	return total
}

// Geometry implements [Shape]: integrals along the pieces, exact for straight
// ones (a cone's skin).
func (s Skin) Geometry() Geometry {
	var w, y, yy, rr float64
	base := s.Profile[0].Y
	for i := range len(s.Profile) - 1 {
		a, b := s.Profile[i], s.Profile[i+1]
		l := math.Hypot(b.X-a.X, b.Y-a.Y)
		for _, g := range gauss3 {
			r, h := a.X+(b.X-a.X)*g.at, a.Y-base+(b.Y-a.Y)*g.at
			k := g.weight * l * r
			w += k
			y += k * h
			yy += k * h * h
			rr += k * r * r
		}
	}
	return Geometry{area(s.Profile) * s.Thickness, V(0, base+y/w, 0), standing(rr/w/2, yy/w-y/w*y/w)}
}

// Drawing implements [Shape].
func (s Skin) Drawing() []Line {
	lines := sweptLines(s.Profile)
	for i := range lines {
		lines[i].Kind, lines[i].Closed, lines[i].Width = Stroke, false, s.Thickness
	}
	return lines
}
