package balance

import (
	"errors"
	"fmt"
	"math"

	"counterpoise/mechanics/body"
)

// A Kind is a way in which a figure can be held up.
type Kind int

// The kinds of stand.
const (
	Pin    Kind = iota // a point that stays where it is, such as a pin in a cup
	Edge               // a knife edge: the same, about one axis only
	Foot               // a round foot that rolls on the floor or on a dome
	Base               // two feet side by side
	String             // a thread
	Board              // a flat board that rocks on a round log
)

var kindNames = [...]string{"point", "edge", "foot", "base", "string", "board"}

// String returns the kind's name in a toy's text: "point", "edge", "foot",
// "base", "string" or "board".
func (k Kind) String() string {
	if k < 0 || int(k) >= len(kindNames) {
		return fmt.Sprintf("kind %d", int(k))
	}
	return kindNames[k]
}

// KindNamed returns the kind of that name.
func KindNamed(name string) (Kind, error) {
	for i, n := range kindNames {
		if n == name {
			return Kind(i), nil
		}
	}
	if name == "pin" {
		return Pin, nil
	}
	return 0, fmt.Errorf("unknown kind of stand %q: use point, edge, foot, base, string or board", name)
}

// A Stand is what a figure rests on or hangs from. At is a place on the figure,
// as it is drawn, before it tilts.
type Stand struct {
	Kind   Kind
	At     body.Vec // Pin, Edge: the pivot; Foot: its lowest point; Base: one foot; String: where it is tied; Board: where it lies on the log, m
	To     body.Vec // Base: the other foot, m
	Radius float64  // Foot: of its curve, m
	Half   float64  // Foot: half the angle of its curve, up to the rim, rad; 0 = π/2
	Dome   float64  // Foot, Board: radius of what it rolls on, m: 0 = flat floor, negative = a hollow
	Length float64  // String: of the thread, m
}

// Check returns an error that names the measure that cannot be, and the remedy.
func (s Stand) Check() error {
	for name, v := range map[string]float64{"at.x": s.At.X, "at.y": s.At.Y, "at.z": s.At.Z, "to.x": s.To.X, "to.y": s.To.Y, "to.z": s.To.Z,
		"radius": s.Radius, "half angle": s.Half, "dome": s.Dome, "length": s.Length} {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return fmt.Errorf("the stand's %s is %v: give a finite number", name, v)
		}
	}
	switch s.Kind {
	case Pin, Edge:
	case Foot:
		return s.checkFoot()
	case Base:
		if s.At.X == s.To.X && s.At.Y == s.To.Y {
			return errors.New("both feet of the stand are in the same place: move them apart")
		}
	case String:
		if s.Length <= 0 {
			return fmt.Errorf("length of the thread is %v m: give a positive length", s.Length)
		}
	case Board:
		if s.Dome <= 0 {
			return fmt.Errorf("radius of the log under the board (dome) is %v m: give a positive length", s.Dome)
		}
	default:
		return fmt.Errorf("unknown %v of stand: use Pin, Edge, Foot, Base, String or Board", s.Kind)
	}
	return nil
}

func (s Stand) checkFoot() error {
	switch {
	case s.Radius <= 0:
		return fmt.Errorf("radius of the round foot is %v m: give a positive length; a pointed foot is a pin", s.Radius)
	case s.Half < 0 || s.Half > math.Pi:
		return fmt.Errorf("half angle of the round foot is %v: give one between 0 and π (180°)", s.Half)
	case s.Dome < 0 && -s.Dome <= s.Radius:
		return fmt.Errorf("the hollow (radius %v m) is not wider than the foot (%v m): it must be to let the foot roll", -s.Dome, s.Radius)
	}
	return nil
}

// Pivot returns the point about which the figure begins to turn when it tilts
// from its drawn pose: the point that touches the support.
func (s Stand) Pivot() body.Vec { return s.At }
