package body

import (
	"testing"

	"pgregory.net/rapid"
)

// A helix is the limit of a wire in many straight pieces, thin or thick; one flat turn
// is a ring (check-values I7) but for the bend of its cross-section.
func TestHelix(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := Helix{
			Radius: length(t, "radius"), Pitch: rapid.Float64Range(0, 0.3).Draw(t, "pitch"),
			Turns: rapid.Float64Range(0.1, 3).Draw(t, "turns"), Diameter: rapid.Float64Range(0, 1e-3).Draw(t, "diameter"),
			Left: rapid.Bool().Draw(t, "left"),
		}
		const n = 400
		var w Wire
		w.Diameter = h.Diameter
		for i := range n + 1 {
			piece := h
			piece.Turns = h.Turns * float64(i) / n
			lines := Helix{h.Radius, h.Pitch, max(piece.Turns, 1e-9), 0, h.Left}.Drawing()
			w.Points = append(w.Points, lines[0].Points[len(lines[0].Points)-1])
		}
		agree(t, Assembly{{Shape: h, Given: 1}}, Assembly{{Shape: w, Given: 1}}, 3e-4)
		ring := Helix{h.Radius, 0, 1, 0, false}
		agree(t, Assembly{{Shape: ring, Given: 1}}, Assembly{Part{Shape: Ring(h.Radius, 0), Given: 1}.Turned(1.5707963267948966, Vec{}, V(1, 0, 0))}, 1e-12)
	})
	for want, h := range map[string]Helix{"0 turns": {1, 1, 0, 0, false}, "radius of the helix": {0, 1, 1, 0, false}, "thicker": {1, 1, 1, 3, false}} {
		if err := h.Check(); err == nil {
			t.Errorf("%s passes", want)
		}
	}
}
