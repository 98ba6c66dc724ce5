package chaos

import (
	"errors"
	"fmt"
	"math"
	"sort"

	"counterpoise/mechanics/motion"
)

// Branches strobes a driven system for each value of a parameter, on all cores:
// the points of a bifurcation diagram. For parameters[i], system(parameters[i])
// makes the system and period its drive's period in s; each motion starts from
// y at t = 0. The result holds, for each parameter, o.Points states after
// o.Skip left out.
func Branches(system func(parameter float64) (motion.System, error), period float64, y []float64, parameters []float64, o SectionOptions) ([][][]float64, error) {
	if system == nil {
		return nil, errors.New("chaos: give a function that makes the system of a parameter")
	}
	if len(parameters) == 0 || len(parameters) > maxPoints {
		return nil, fmt.Errorf("chaos: %d parameters: give 1 to %d", len(parameters), maxPoints)
	}
	all := make([][][]float64, len(parameters))
	err := onAllCores(len(parameters), func() func(i int) error {
		return func(i int) error {
			s, err := system(parameters[i])
			if err != nil {
				return fmt.Errorf("chaos: parameter %g: %w", parameters[i], err)
			}
			if all[i], err = Strobe(s, y, period, o); err != nil {
				return fmt.Errorf("chaos: parameter %g: %w", parameters[i], err)
			}
			return nil
		}
	})
	return all, err
}

// Distinct returns how many different values there are, where values closer
// than within count as one: the number of branches, or of periods after which a
// settled motion repeats itself.
func Distinct(values []float64, within float64) int {
	sorted := append([]float64(nil), values...)
	sort.Float64s(sorted)
	n := 0
	for i, v := range sorted {
		if i == 0 || v-sorted[i-1] > within {
			n++
		}
	}
	return n
}

// A Parting is how far two motions that start a little apart have come apart.
type Parting struct {
	T        []float64 // s
	Distance []float64 // between the states
	// Doubling is the mean time in s in which the distance doubles, from the
	// start until it exceeds a tenth of the motion's size; infinite if it does
	// not grow.
	Doubling float64
	// Horizon is the time in s at which the distance first exceeds a tenth of
	// the motion's size, infinite if it never does: what happens later cannot
	// be told from a start known this well.
	Horizon float64
}

// Sensitivity follows the motion from y at t = 0 and another one from y+dy, to
// the time until, at n equal intervals.
func Sensitivity(s motion.System, y, dy []float64, until float64, n int) (Parting, error) {
	if s == nil {
		return Parting{}, errors.New("chaos: no system given: make one with motion.Of or lagrange")
	}
	if len(dy) != len(y) {
		return Parting{}, fmt.Errorf("chaos: a displacement of %d values for a state of %d", len(dy), len(y))
	}
	if !(until > 0) || n < 2 || n > maxPoints {
		return Parting{}, fmt.Errorf("chaos: %d intervals up to t = %g s: give a positive time and 2 to %d", n, until, maxPoints)
	}
	other := make([]float64, len(y))
	first := 0.0
	for i := range y {
		other[i] = y[i] + dy[i]
		first += (other[i] - y[i]) * (other[i] - y[i])
	}
	if first = math.Sqrt(first); !(first > 0) {
		return Parting{}, errors.New("chaos: the two starts are the same: give a displacement that float64 can tell")
	}
	o := motion.Options{Relative: 1e-12, Absolute: 1e-12 * math.Min(1, first)}
	a, err := motion.NewWalker(s, 0, y, o)
	if err != nil {
		return Parting{}, err
	}
	b, err := motion.NewWalker(s, 0, other, o)
	if err != nil {
		return Parting{}, err
	}
	p := Parting{Doubling: math.Inf(1), Horizon: math.Inf(1)}
	size := 0.0
	for i := range n + 1 {
		t := until * float64(i) / float64(n)
		if err := errors.Join(a.To(t), b.To(t)); err != nil {
			return p, err
		}
		_, ya := a.State()
		_, yb := b.State()
		d, r := 0.0, 0.0
		for k := range ya {
			d += (ya[k] - yb[k]) * (ya[k] - yb[k])
			r += ya[k] * ya[k]
		}
		p.T, p.Distance = append(p.T, t), append(p.Distance, math.Sqrt(d))
		size = math.Max(size, math.Sqrt(r))
	}
	last := len(p.T) - 1
	for i, d := range p.Distance {
		if d > size/10 {
			p.Horizon = p.T[i]
			last = i
			break
		}
	}
	if growth := math.Log2(p.Distance[last] / first); growth > 0 && last > 0 {
		p.Doubling = p.T[last] / growth
	}
	return p, nil
}
