package toy

import (
	"fmt"
	"math"
	"strings"

	"counterpoise/mechanics/balance"
	"counterpoise/mechanics/body"
	"counterpoise/mechanics/quantity"
)

// String says in a few lines what the toy weighs, where its centre of gravity lies,
// whether it balances and how fast it swings.
func (t Toy) String() string {
	if err := t.Assembly.Check(); err != nil {
		return "the toy cannot be computed: " + err.Error()
	}
	v := t.Values()
	show := func(name string, figures int) string {
		q := v[name]
		return q.Format(figures, q.Unit)
	}
	lines := []string{
		fmt.Sprintf("mass %s", show("mass", 4)),
		fmt.Sprintf("centre of gravity at x %s, y %s, z %s", place(v["cg.x"]), place(v["cg.y"]), place(v["cg.z"])),
		fmt.Sprintf("moment of inertia about the support, across the picture, %s", show("inertia", 4)),
	}
	return strings.Join(append(lines, t.onStand(v, show)...), "\n")
}

// place prints a coordinate to a hundredth of a millimetre.
func place(q quantity.Quantity) string {
	text := fmt.Sprintf("%.2f mm", q.Value*1e3)
	if text == "-0.00 mm" {
		return "0.00 mm"
	}
	return text
}

func (t Toy) onStand(v map[string]quantity.Quantity, show func(string, int) string) []string {
	b, err := t.Balance()
	if err != nil {
		return []string{"on its stand: " + err.Error()}
	}
	rest, err := b.Rest()
	if err != nil {
		return []string{"it falls: " + err.Error()}
	}
	lines := []string{fmt.Sprintf("%v on its stand (%v), at rest with a lean of %.2f°", rest.Stability, t.Stand.Kind, math.Abs(rest.Tilt)*180/math.Pi)}
	if _, ok := v["tip"]; ok {
		lines = append(lines, fmt.Sprintf("tips over beyond a lean of %s", show("tip", 3)))
	}
	if _, ok := v["period"]; ok {
		line := fmt.Sprintf("swings in %s", show("period", 4))
		if _, ok := v["period.z"]; ok {
			line += fmt.Sprintf(" in the picture, in %s fore and aft", show("period.z", 4))
		}
		lines = append(lines, line)
	}
	return lines
}

// Cautions returns the usual warnings for building and handling this toy, the ones
// that its parts and stand call for. They are general: the rules of the school or
// workshop and the person in charge decide.
//
// Source: trade practice (common practice, no source); the cylinder for small parts
// is that of 16 CFR 1501.4, figure from memory, unchecked.
func (t Toy) Cautions() []string {
	var wires, cut, weights, small bool
	for _, p := range t.Assembly {
		switch s := p.Shape.(type) {
		case body.Rod, body.Wire, body.Arc, body.Helix, body.Torus:
			wires = true
		case body.Sphere:
			weights = true
			small = small || 2*s.Radius < 0.0317
		case body.Point:
			weights = true
		default:
			cut = true
		}
		cut = cut || p.Hole
	}
	var out []string
	add := func(when bool, text string) {
		if when {
			out = append(out, text)
		}
	}
	add(wires, "Wear eye protection whenever a rod or wire is cut, bent, or can flick; hold both pieces when cutting, file the ends and close them to a loop.")
	add(cut, "Clamp what is drilled or sawn, keep hair and sleeves away, and deburr every edge.")
	add(weights, "Fix weights so that they cannot fly off, pull at them before the first swing, and use no lead.")
	add(t.Stand.Kind == balance.Pin, "Blunt the pin and keep points in a cork.")
	add(t.Assembly.Mass() > 0.2, "It is heavy enough to hurt a foot: work over a tray with a rim.")
	add(small, "Small parts are a choking hazard: not for children under three.")
	return append(out, "The rules of your school or workshop, and the person in charge there, come before this list.")
}
