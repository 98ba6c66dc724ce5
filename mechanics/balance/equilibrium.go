package balance

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"
)

// A Stability says what a figure does after a small push.
type Stability int

// The stabilities.
const (
	Unstable Stability = iota // it moves on
	Neutral                   // it stays where it was pushed
	Stable                    // it comes back
)

// String returns "unstable", "neutral" or "stable".
func (s Stability) String() string {
	return [...]string{"unstable", "neutral", "stable"}[max(0, min(s, Stable))]
}

// An Equilibrium is a tilt at which the weight has no torque.
type Equilibrium struct {
	Tilt      float64 // from the drawn pose, rad
	Stability Stability
	Stiffness float64 // slope of the restoring torque, N m/rad; +Inf or -Inf on a corner
	Energy    float64 // potential energy above the drawn pose, J
}

// ErrNoRest is returned where a figure has no stable equilibrium to rest in.
var ErrNoRest = errors.New("the figure does not come to rest on its stand: lower its weights, or raise or widen the stand")

const (
	// scanSteps divides a whole turn in the search for equilibria: two closer
	// than a quarter of a degree are taken for one.
	scanSteps = 1440
	// flatness is the share of the figure's size below which a lever arm counts
	// as none: well above rounding, well below what can be measured.
	flatness = 1e-10
)

// size is a length of the figure, to compare lever arms with.
func (b *Balance) size() float64 {
	return math.Sqrt(b.inertia/b.rigid.Mass) + r2.Norm(r2.Sub(b.centre, b.at)) + b.stand.Radius + b.stand.Dome*b.stand.Dome/(math.Abs(b.stand.Dome)+1e-300)
}

// span returns the tilts for which the stand makes sense: a whole turn for what
// hangs, as far as the curve reaches for what rolls on a curve, a quarter turn
// past the rim or the foot for what stands on a floor.
func (b *Balance) span() (from, to float64) {
	switch b.stand.Kind {
	case Foot:
		reach := b.stand.Half + math.Pi/2
		switch {
		case b.stand.Half >= math.Pi: // round all over: it never runs out of curve
			reach = math.Pi
		case b.stand.Dome != 0:
			reach = math.Abs(b.stand.Half * (b.stand.Dome + b.stand.Radius) / b.stand.Dome)
		}
		reach = min(reach, math.Pi)
		return -reach, reach
	case Base:
		d := r2.Sub(b.to, b.at)
		flat := -math.Atan2(d.Y, d.X)
		return flat - math.Pi/2, flat + math.Pi/2
	case Board:
		return -math.Pi / 2, math.Pi / 2
	}
	return -math.Pi, math.Pi
}

// Equilibria returns the tilts between -π and π at which the figure is in
// balance, in ascending order. A figure that is in balance at every tilt has one,
// the drawn pose, which is neutral.
//
// For a pivot they follow at once; elsewhere it scans the torque in steps of a
// quarter of a degree and closes in on each change of sign to the last bit or so.
func (b *Balance) Equilibria() []Equilibrium { return slices.Clone(b.equilibria()) }

func (b *Balance) equilibria() []Equilibrium {
	if b.found == nil { // a Balance that New did not make
		return nil
	}
	return b.found()
}

// hangs returns the equilibria about a fixed point: centre of gravity below it, and
// above.
func (b *Balance) hangs() []Equilibrium {
	d := r2.Sub(b.centre, b.at)
	if r2.Norm(d) <= flatness*b.size() {
		return []Equilibrium{{Stability: Neutral}}
	}
	below := math.Remainder(-math.Pi/2-math.Atan2(d.Y, d.X), 2*math.Pi)
	above := below + math.Pi
	if above > math.Pi {
		above -= 2 * math.Pi
	}
	var found []Equilibrium
	for _, tilt := range [2]float64{below, above} {
		if math.Abs(tilt) < 1e-15 {
			tilt = 0
		}
		found = append(found, b.equilibriumAt(tilt))
	}
	slices.SortFunc(found, func(e, f Equilibrium) int { return cmp.Compare(e.Tilt, f.Tilt) })
	return found
}

// scan looks for equilibria over all tilts that the stand allows.
func (b *Balance) scan() []Equilibrium {
	if b.turnsRound() {
		return b.hangs()
	}
	from, to := b.span()
	arm := func(tilt float64) float64 { a, _ := b.lever(tilt); return a.X }
	tiny := flatness * b.size()

	widest := 0.0
	for i := range scanSteps {
		widest = max(widest, math.Abs(arm(from+(to-from)*float64(i)/scanSteps)))
	}
	if widest <= tiny {
		return []Equilibrium{{Stability: Neutral}}
	}
	step := (to - from) / scanSteps
	var found []Equilibrium
	last := from
	for i := range scanSteps {
		next := from + float64(i+1)*step
		if a, z := arm(last), arm(next); a*z < 0 || z == 0 && i < scanSteps-1 {
			found = append(found, b.equilibriumBetween(last, next, arm))
			if z == 0 { // found; go on behind it
				next += 0.25 * step
			}
		}
		last = next
	}
	return found
}

// equilibriumBetween closes in on a change of sign of the arm by bisection.
func (b *Balance) equilibriumBetween(low, high float64, arm func(float64) float64) Equilibrium {
	sign := arm(low)
	for range 200 {
		middle := low + (high-low)/2
		if middle == low || middle == high {
			break
		}
		if a := arm(middle); a == 0 {
			low, high = middle, middle
		} else if a*sign > 0 {
			low = middle
		} else {
			high = middle
		}
	}
	tilt := high
	if math.Abs(low) < math.Abs(high) {
		tilt = low
	}
	if math.Abs(tilt) < 1e-15 {
		tilt = 0
	}
	// On a corner the arm jumps from one foot to the other.
	const beside = 1e-12 // rad
	if jump := math.Abs(arm(tilt+beside) - arm(tilt-beside)); jump > 1e-6*b.size() {
		e := Equilibrium{Tilt: tilt, Stability: b.byTrial(tilt, 1e-6), Energy: b.PotentialEnergy(tilt)}
		switch e.Stability {
		case Stable:
			e.Stiffness = math.Inf(1)
		case Unstable: // also where only one side gives way: the centre of gravity is over a foot
			e.Stiffness = math.Inf(-1)
		}
		return e
	}
	return b.equilibriumAt(tilt)
}

func (b *Balance) equilibriumAt(tilt float64) Equilibrium {
	e := Equilibrium{Tilt: tilt, Stiffness: b.stiffnessAt(tilt), Energy: b.PotentialEnergy(tilt)}
	switch limit := flatness * b.size() * b.weight(); {
	case e.Stiffness > limit:
		e.Stability = Stable
	case e.Stiffness >= -limit:
		e.Stability = b.byTrial(tilt, 0.02) // far enough for the fourth power to show
		e.Stiffness = 0
	}
	return e
}

// byTrial decides where the stiffness does not: by the torque a step in rad to both
// sides, which tells a flat place from the bottom of a steep or the top of a
// round one.
func (b *Balance) byTrial(tilt, step float64) Stability {
	left, right := b.Torque(tilt-step), b.Torque(tilt+step)
	limit := flatness * b.size() * b.weight()
	switch {
	case left > limit && right < -limit:
		return Stable
	case left < -limit || right > limit:
		return Unstable
	}
	return Neutral
}

// Rest returns the stable equilibrium into whose basin the drawn pose falls: the
// pose in which the figure comes to rest. A neutral figure rests as it is drawn.
// The error is [ErrNoRest] if there is none.
func (b *Balance) Rest() (Equilibrium, error) {
	all := b.equilibria()
	if len(all) == 1 && all[0].Stability == Neutral {
		return all[0], nil
	}
	best, gap := -1, math.Inf(1)
	for i, e := range all {
		if e.Stability == Unstable {
			continue
		}
		if b.stand.Kind != String && math.Abs(e.Tilt) > math.Pi/2 {
			continue // it falls off before it gets there
		}
		from, to := b.basin(all, i)
		const edge = 1e-9 // rad: balanced on the edge of a basin is not inside
		if from < -edge && edge < to && math.Abs(e.Tilt) < gap {
			best, gap = i, math.Abs(e.Tilt)
		}
	}
	if best < 0 {
		return Equilibrium{}, fmt.Errorf("%w: %s", ErrNoRest, b.why())
	}
	return all[best], nil
}

// why says how the centre of gravity lies to the support.
func (b *Balance) why() string {
	d := r2.Sub(b.centre, b.at)
	switch b.stand.Kind {
	case Foot:
		return fmt.Sprintf("its centre of gravity is %.3g mm above the point of contact, the foot's radius is %.3g mm", d.Y*1e3, b.stand.Radius*1e3)
	case Base:
		return "its centre of gravity is not over the ground between its feet"
	case Board:
		return fmt.Sprintf("its centre of gravity is %.3g mm above the log, whose radius is %.3g mm", d.Y*1e3, b.stand.Dome*1e3)
	}
	return fmt.Sprintf("its centre of gravity is %.3g mm above the pivot", d.Y*1e3)
}

// Stability tells what the figure does after a small push in its drawn pose: it
// is Unstable also where that pose is no equilibrium at all, unless it comes to
// rest within a lean of 45 degrees.
func (b *Balance) Stability() Stability {
	const lean = math.Pi / 4
	for _, e := range b.equilibria() {
		if math.Abs(e.Tilt) <= lean && e.Stability != Unstable {
			if from, to := b.basinOf(e); from <= 0 && 0 <= to {
				return e.Stability
			}
		}
	}
	return Unstable
}

// Stiffness returns the slope of the restoring torque at rest in N m/rad.
func (b *Balance) Stiffness() (float64, error) {
	e, err := b.Rest()
	return e.Stiffness, err
}

// Basin returns the tilts between which the figure, let go at rest, falls back
// to the pose in which it rests: from the last unstable equilibrium or end of
// the stand before it to the first one after.
func (b *Balance) Basin() (from, to float64, err error) {
	e, err := b.Rest()
	if err != nil {
		return 0, 0, err
	}
	from, to = b.basinOf(e)
	return from, to, nil
}

func (b *Balance) basinOf(e Equilibrium) (from, to float64) {
	all := b.equilibria()
	for i := range all {
		if all[i].Tilt == e.Tilt {
			return b.basin(all, i)
		}
	}
	return e.Tilt, e.Tilt
}

// basin looks for the neighbours of equilibrium i, round the turn where the
// stand allows it.
func (b *Balance) basin(all []Equilibrium, i int) (from, to float64) {
	low, high := b.span()
	if all[i].Stability == Neutral && len(all) == 1 {
		return low, high
	}
	from, to = low, high
	if high == math.Pi && b.turnsRound() { // the turn closes: look past the seam
		from, to = all[i].Tilt-2*math.Pi, all[i].Tilt+2*math.Pi
	}
	for _, e := range all {
		if e.Stability == Stable {
			continue
		}
		for _, round := range [3]float64{-2 * math.Pi, 0, 2 * math.Pi} {
			t := e.Tilt + round
			if round != 0 && !b.turnsRound() {
				continue
			}
			if t < all[i].Tilt {
				from = max(from, t)
			}
			if t > all[i].Tilt {
				to = min(to, t)
			}
		}
	}
	return from, to
}

func (b *Balance) turnsRound() bool {
	return b.stand.Kind == Pin || b.stand.Kind == Edge || b.stand.Kind == String
}

// TippingAngle returns how far the figure may lean from its rest to either side
// before it tips over, in rad: the smaller of the two sides of its basin.
func (b *Balance) TippingAngle() (float64, error) {
	e, err := b.Rest()
	if err != nil {
		return 0, err
	}
	from, to := b.basinOf(e)
	return min(e.Tilt-from, to-e.Tilt), nil
}
