package motion

import "math"

// EventTolerance is the coarsest tolerance of a run that looks for events: an
// event is as good as the state that shows it, and a swing that grazes a mark
// is lost when its amplitude is not kept. Coarser tolerances are tightened.
const EventTolerance = 1e-10

// An Event is something that happens where a function of the state passes
// through zero. Every zero inside a step is found, also two in one step: the
// function is interpolated on the step's own polynomial and its extrema are
// isolated, so nothing depends on where steps end.
type Event struct {
	Name string

	// Of is the function whose zeros are the events, continuous along the
	// motion. It must not change y. Where it starts within a billionth of its
	// size from zero it counts as starting there, which is no event.
	Of func(t float64, y []float64) float64

	// Direction keeps only zeros passed upwards (Rising) or downwards
	// (Falling); the zero value keeps both.
	Direction Direction

	// Touching also reports zeros that are touched and not passed (to about a
	// hundred times the tolerance), with direction 0. Two zeros between which
	// the function stays that close to zero then count as one touch; without
	// Touching they count as the two passages that the numbers show.
	Touching bool

	// Stop ends the run at the StopAt-th such event; StopAt 0 means the first.
	Stop   bool
	StopAt int

	// Then, if not nil, may change the state at the event (a bounce, a kick).
	// The run starts anew from what it leaves. What it does must depend on t and
	// y alone, since the run that tells the error calls it as well; to count or
	// collect, use Run.Events.
	Then func(t float64, y []float64)
}

// A Direction is the way a function passes through zero along time.
type Direction int

const (
	Any     Direction = 0
	Rising  Direction = 1
	Falling Direction = -1
)

// An Occurrence is one event that happened.
type Occurrence struct {
	Event     int       // index into Options.Events
	Name      string    // of the event
	T         float64   // s
	Y         []float64 // the state there, before Then
	Direction Direction // 0 where the function only touches zero
}

// maxOccurrences bounds the events of one run: a ball that comes to rest
// bounces without end.
const maxOccurrences = 1_000_000

// A zero is a place in a step where an event's function vanishes.
type zero struct {
	theta     float64
	direction Direction
}

// A watcher follows one event's function from step to step. What it carries is
// the side of zero on which the function was last clearly seen; a crossing is a
// change of side. So a zero at the border of two steps counts once.
type watcher struct {
	event     *Event
	index     int
	tolerance float64 // of the run, relative

	side  Direction // 0: not yet seen clearly
	away  bool      // from zero, at some time since the motion started (anew)
	last  float64   // the function at the end of the last step
	seen  int       // events counted towards StopAt
	zeros []zero    // in the step last scanned, in order along the step
	marks []mark

	y []float64 // scratch
	f interpolant
}

// A mark is a place where the function's sign is looked at: between two marks
// it is monotone.
type mark struct {
	theta, g float64
	extremum bool
}

func newWatcher(e *Event, index, n int, tolerance float64) *watcher {
	return &watcher{event: e, index: index, tolerance: tolerance, y: make([]float64, n)}
}

// restart tells w that the motion starts, or starts anew, at a state whose
// derivative along the coming motion is slope. A function that vanishes there
// (to rounding, against its size scale) is taken to be on the side to which it
// moves: a ball put on the floor by Then is above it if it moves up.
func (w *watcher) restart(t float64, y, slope []float64, forward, scale float64) {
	w.last = w.event.Of(t, y)
	w.side, w.away = 0, false
	if math.Abs(w.last) > restartNoise*scale {
		w.side, w.away = sign(w.last), true
		return
	}
	size, speed := 1.0, 0.0
	for i, v := range y {
		size = math.Max(size, math.Abs(v))
		speed = math.Max(speed, math.Abs(slope[i]))
	}
	if !(speed > 0) {
		return
	}
	dt := forward * math.Sqrt(restartNoise) * size / speed
	for i, v := range y {
		w.y[i] = v + dt*slope[i]
	}
	change := w.event.Of(t+dt, w.y) - w.last
	if math.Abs(change) > 1e-12*scale {
		w.side = sign(change)
	}
}

// restartNoise is what of a function's size counts as zero where a motion
// starts anew: enough for the rounding of a state put on the zero by Then.
const restartNoise = 1e-9

func sign(x float64) Direction {
	switch {
	case x > 0:
		return Rising
	case x < 0:
		return Falling
	}
	return 0
}

// scan finds the zeros in the step p, which ends at (t, y).
func (w *watcher) scan(p *polynomial, t float64, y []float64) {
	w.zeros = w.zeros[:0]
	end := w.event.Of(t, y)
	start := w.last
	w.last = end
	g := func(theta float64) float64 {
		switch theta {
		case 0:
			return start
		case 1:
			return end
		}
		p.at(w.y, theta)
		return w.event.Of(p.t+theta*p.h, w.y)
	}
	w.marks = append(w.marks[:0], mark{theta: 0, g: start})
	scale := w.isolate(g, 0, 1, 0)
	w.marks = append(w.marks, mark{theta: 1, g: end})
	if len(w.marks) == 2 && w.side != 0 && sign(end) == w.side {
		return
	}
	w.walk(g, scale, p.h < 0)
}

// isolate appends marks inside (a, b) such that g is monotone between two
// marks, or far from zero, and returns the size of g.
func (w *watcher) isolate(g func(float64) float64, a, b float64, depth int) float64 {
	f := &w.f
	resolved := f.fit(g, a, b)
	if math.IsNaN(f.size) {
		return 0 // the function is not defined all along: only the ends count
	}
	if !resolved && depth < maxHalvings {
		m := (a + b) / 2
		left := w.isolate(g, a, m, depth+1)
		w.marks = append(w.marks, mark{theta: m, g: g(m)})
		return math.Max(left, w.isolate(g, m, b, depth+1))
	}
	size := f.size
	f.extrema(a, b, w.touch(size), func(theta float64, isExtremum bool) {
		w.marks = append(w.marks, mark{theta: theta, g: g(theta), extremum: isExtremum})
	})
	return size
}

// maxHalvings bounds how often a step is halved for a function that no
// polynomial of degree 32 follows: one with a kink, say.
const maxHalvings = 5

// touch is how near to zero an extremum counts as touching it.
func (w *watcher) touch(size float64) float64 {
	if !w.event.Touching {
		return 1e-14 * size
	}
	return 100 * w.tolerance * size
}

// walk goes along the marks, turns changes of side into zeros, and keeps the
// side at the end.
func (w *watcher) walk(g func(float64) float64, size float64, backwards bool) {
	near := w.touch(size)
	from := w.marks[0]
	for i := 1; i < len(w.marks); i++ {
		m := w.marks[i]
		if m.extremum && math.Abs(m.g) <= near && i+1 < len(w.marks) && w.touches(m, w.marks[i+1]) {
			if w.away {
				w.zeros = append(w.zeros, zero{theta: m.theta})
			}
			from = w.marks[i+1]
			continue
		}
		w.away = w.away || math.Abs(m.g) > near
		s := sign(m.g)
		if w.side == 0 {
			if math.Abs(m.g) > restartNoise*size {
				w.side = s
			}
			from = m
			continue
		}
		if s == -w.side {
			theta := locate(g, from, m)
			d := s
			if backwards {
				d = -d
			}
			w.zeros = append(w.zeros, zero{theta: theta, direction: d})
			w.side = s
		}
		if s != 0 {
			from = m
		}
	}
}

// touches reports whether the function comes back from the extremum m to the
// side on which it was.
func (w *watcher) touches(m, after mark) bool {
	return w.side != 0 && sign(after.g) == w.side && math.Abs(after.g) > math.Abs(m.g)
}

// wanted reports whether the zero is one that the event asks for.
func (w *watcher) wanted(z zero) bool {
	if z.direction == 0 {
		return w.event.Touching
	}
	return w.event.Direction == Any || w.event.Direction == z.direction
}

// locate returns the zero between two marks of opposite sign, to rounding.
func locate(g func(float64) float64, from, to mark) float64 {
	a, fa, b, fb := from.theta, from.g, to.theta, to.g
	if fa == 0 {
		return a
	}
	// Anderson and Björck's variant of false position with a bisection whenever
	// three steps have not halved the bracket.
	width := math.Abs(b - a)
	for i := 0; i < 200 && fb != 0 && math.Abs(b-a) > 4e-16; i++ {
		c := b - fb*(b-a)/(fb-fa)
		if i%4 == 3 {
			if math.Abs(b-a) > width/2 || !(c > math.Min(a, b) && c < math.Max(a, b)) {
				c = a + (b-a)/2
			}
			width = math.Abs(b - a)
		}
		if c == a || c == b {
			c = a + (b-a)/2
			if c == a || c == b {
				break
			}
		}
		fc := g(c)
		if (fc < 0) != (fb < 0) || fc == 0 {
			a, fa = b, fb
		} else {
			m := 1 - fc/fb
			if m <= 0 {
				m = 0.5
			}
			fa *= m
		}
		b, fb = c, fc
	}
	return b
}
