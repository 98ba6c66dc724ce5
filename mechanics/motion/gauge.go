package motion

import "math"

// A gauge watches conserved quantities.
type gauge struct {
	energy      func(t float64, y []float64) float64
	constraints Constrained
	start       float64
	drift       float64
	breach      float64
	values      []float64
}

func newGauge(s System, o *Options) *gauge {
	g := &gauge{energy: o.Energy, drift: math.NaN(), breach: math.NaN()}
	if e, ok := s.(Energetic); ok && g.energy == nil {
		g.energy = e.Energy
	}
	if c, ok := s.(Constrained); ok && c.ConstraintCount() > 0 {
		g.constraints = c
		g.values = make([]float64, c.ConstraintCount())
	}
	return g
}

// begin takes the quantities at the start.
func (g *gauge) begin(t float64, y []float64) {
	if g.energy != nil {
		g.start, g.drift = g.energy(t, y), 0
	}
	if g.constraints != nil {
		g.breach = 0
	}
	g.look(t, y)
}

func (g *gauge) look(t float64, y []float64) {
	if g.energy != nil {
		g.drift = math.Max(g.drift, math.Abs(g.energy(t, y)-g.start))
	}
	if g.constraints != nil {
		g.constraints.Constraints(g.values, t, y)
		for _, v := range g.values {
			g.breach = math.Max(g.breach, math.Abs(v))
		}
	}
}
