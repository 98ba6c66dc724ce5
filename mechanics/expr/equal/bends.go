package equal

import (
	"math"

	"counterpoise/mechanics/expr"
)

// bends looks for points on the sides of branches (of |x|, sgn, min, max and
// cases) on which no point has fallen yet, since two expressions may differ
// there only.
func (c *comparison) bends() (r Result, done bool) {
	for _, k := range c.p.bends {
		for _, side := range [2]float64{1, -1} {
			if !c.find(k, side) {
				continue
			}
			if r, done := c.at(true); done {
				return r, true
			}
			for range 3 {
				from := append([]float64(nil), c.values...)
				c.sampler.near(c.values, from, 1e-3)
				if r, done := c.at(true); done {
					return r, true
				}
			}
		}
	}
	return c.oneSided()
}

// find looks for a point at which the switch of step k has the given sign, by
// moving downhill from the points seen. It reports false if all points seen
// have been there, or none was found.
func (c *comparison) find(k int, side float64) bool {
	best, at := math.Inf(-1), -1
	for i, p := range c.agreed {
		v, ok := c.bend(k, p)
		if ok && v*side > 0 {
			return false
		}
		if ok && v*side > best {
			best, at = v*side, i
		}
	}
	if at < 0 {
		return false
	}
	here := append([]float64(nil), c.agreed[at]...)
	try := make([]float64, len(here))
	step := 0.5
	const tries = 60
	for range tries {
		c.sampler.near(try, here, step)
		v, ok := c.bend(k, try)
		if !ok || v*side <= best {
			step *= 0.9
			continue
		}
		best = v * side
		copy(here, try)
		if best > 0 {
			copy(c.values, here)
			return true
		}
	}
	return false
}

// bend is the value whose sign decides the branch of step k.
func (c *comparison) bend(k int, at []float64) (float64, bool) {
	c.p.evalFloat(at, c.floats)
	s := &c.p.steps[k]
	a := c.floats[s.args[0]]
	if a.s != fine {
		return 0, false
	}
	switch s.fn {
	case expr.FnAbs, expr.FnSign, expr.FnAtan2:
		return a.v, true
	}
	if len(s.args) < 2 {
		return 0, false
	}
	b := c.floats[s.args[1]]
	return a.v - b.v, b.s == fine
}
