package chaos

import (
	"context"
	"errors"
	"fmt"
	"math"
	"runtime"
	"sync"
	"sync/atomic"

	"counterpoise/mechanics/expr/tape"
	"counterpoise/mechanics/motion"
)

// An Axis is N values of a quantity from From on, in equal intervals, without
// To itself: right for angles that close on themselves.
type Axis struct {
	From, To float64
	N        int
}

// At returns value i.
func (a Axis) At(i int) float64 { return a.From + (a.To-a.From)*float64(i)/float64(a.N) }

func (a Axis) check(name string) error {
	if a.N < 1 || a.N > maxSide || math.IsNaN(a.From-a.To) || math.IsInf(a.From-a.To, 0) {
		return fmt.Errorf("chaos: axis %s has %d values from %g to %g: give finite ends and 1 to %d values", name, a.N, a.From, a.To, maxSide)
	}
	return nil
}

// maxSide bounds a map: beyond 16384² points no screen shows it.
const maxSide = 16384

// FlipOptions say what counts as a flip and how the motions are followed.
type FlipOptions struct {
	Step  float64 // s, of the Runge-Kutta method of order 4; 0 means 0.01
	Until float64 // s; 0 means 10

	// Limits are the sizes of the components beyond which a motion counts as
	// flipped, for each component of the state; 0 means no limit.
	Limits []float64

	// Impossible, if not nil, says of a start that it cannot flip, by its energy
	// for instance, so that it need not be followed. It must be safe for
	// concurrent use.
	Impossible func(y []float64) bool

	Context context.Context
}

// A Map holds a value for each point of a grid.
type Map struct {
	A, B  Axis
	Value []float64 // of point (i, j) at i·B.N + j; NaN where nothing happened
	Steps int       // of all motions together
}

// At returns the value of point (i, j), NaN for a point outside the grid.
func (m *Map) At(i, j int) float64 {
	if i < 0 || i >= m.A.N || j < 0 || j >= m.B.N || i*m.B.N+j >= len(m.Value) {
		return math.NaN()
	}
	return m.Value[i*m.B.N+j]
}

// Happened returns the number of points where something happened and the mean
// of their values.
func (m *Map) Happened() (n int, mean float64) {
	sum, lost := 0.0, 0.0
	for _, v := range m.Value {
		if v == v {
			n++
			y := v - lost
			s := sum + y
			lost = (s - sum) - y
			sum = s
		}
	}
	return n, sum / float64(n)
}

// FlipTimes follows a motion from every point of a grid of starts and maps the
// time in s of the first step at whose end it has flipped. The program is that
// of the rates (package tape), with the state's names as inputs, and perhaps t;
// start turns the values of the two axes into a state and must be safe for
// concurrent use.
//
// Points are followed 64 at a time, each only until it flips.
func FlipTimes(program *tape.Program, start func(y []float64, a, b float64), a, b Axis, o FlipOptions) (*Map, error) {
	if program == nil || start == nil {
		return nil, errors.New("chaos: give the program of the rates and the function of the starts")
	}
	names := program.Inputs()
	n := len(names)
	timed := n > 0 && names[n-1] == "t"
	if timed {
		n--
	}
	if n == 0 || program.Outputs() < n {
		return nil, fmt.Errorf("chaos: the program has %d outputs for a state of %d: compile one rate for each component", program.Outputs(), n)
	}
	rates := make([]int, n)
	for i := range rates {
		rates[i] = i
	}
	program, err := program.Select(rates...)
	if err != nil {
		return nil, err
	}
	return flips(n, timed, func() batch {
		scratch := program.NewBatchScratch()
		return func(dst, in [][]float64) { program.EvalBatch(dst, in, scratch) }
	}, start, a, b, o)
}

// FlipTimesOf is [FlipTimes] for any system; system makes one for each core. A
// closure takes about as long as a program where its arithmetic is as good.
func FlipTimesOf(system func() motion.System, start func(y []float64, a, b float64), a, b Axis, o FlipOptions) (*Map, error) {
	if system == nil || start == nil {
		return nil, errors.New("chaos: give a function that makes the system and one of the starts")
	}
	first := system()
	if first == nil {
		return nil, errNoSystem
	}
	n := first.Dim()
	return flips(n, true, func() batch {
		s := system()
		y, rate := make([]float64, n), make([]float64, n)
		return func(dst, in [][]float64) {
			for l := range dst[0] {
				for c := range y {
					y[c] = in[c][l]
				}
				s.Rates(rate, in[n][l], y)
				for c, v := range rate {
					dst[c][l] = v
				}
			}
		}
	}, start, a, b, o)
}

// A batch computes rates for many states at once: in holds the components of
// the states, and the times after them.
type batch func(dst, in [][]float64)

func flips(n int, timed bool, make func() batch, start func([]float64, float64, float64), a, b Axis, o FlipOptions) (*Map, error) {
	if o.Step == 0 {
		o.Step = 0.01
	}
	if o.Until == 0 {
		o.Until = 10
	}
	if err := errors.Join(a.check("A"), b.check("B")); err != nil {
		return nil, err
	}
	if len(o.Limits) != n {
		return nil, fmt.Errorf("chaos: %d limits for a state of %d components: give one for each, 0 for none", len(o.Limits), n)
	}
	if !(o.Step > 0) || !(o.Until >= o.Step) || o.Until/o.Step > 1e8 {
		return nil, fmt.Errorf("chaos: steps of %g s up to %g s: give a positive step and at most 1e8 of them", o.Step, o.Until)
	}
	m := &Map{A: a, B: b, Value: newValues(a.N * b.N)}
	var next, steps atomic.Int64
	var wg sync.WaitGroup
	var once sync.Once
	var failure error
	for range runtime.GOMAXPROCS(0) {
		wg.Add(1)
		go func() {
			defer wg.Done()
			f := newFlock(n, timed, make(), &o)
			err := f.follow(m, start, &next)
			steps.Add(int64(f.steps))
			if err != nil {
				once.Do(func() { failure = err })
			}
		}()
	}
	wg.Wait()
	m.Steps = int(steps.Load())
	return m, failure
}

func newValues(n int) []float64 {
	v := make([]float64, n)
	for i := range v {
		v[i] = math.NaN()
	}
	return v
}

// width is the number of motions followed side by side: that of tape's lanes.
const width = 64

// A flock is the motions that one core follows side by side. A motion that is
// done leaves its lane to the next start, so that lanes are rarely empty.
type flock struct {
	rates  batch
	timed  bool
	n      int
	o      *FlipOptions
	limit  int // steps of one motion
	active int // lanes in use

	y, x     [][]float64    // [component][lane]: states and stage arguments, the times last
	k        [4][][]float64 // [stage][component][lane]: rates
	yw, xw   [][]float64    // windows on the active lanes
	kw       [4][][]float64
	point    [width]int // the grid's point in a lane
	began    [width]int // the round before its first step
	round    int        // steps taken by the flock
	due      int        // the round in which the first motion reaches its end
	flipped  [width]bool
	state    []float64
	from, to int // starts taken from the common list
	steps    int
}

func newFlock(n int, timed bool, rates batch, o *FlipOptions) *flock {
	f := &flock{rates: rates, timed: timed, n: n, o: o, limit: int(math.Round(o.Until / o.Step)), state: make([]float64, n)}
	lanes := func(rows int) [][]float64 {
		v := make([][]float64, rows)
		for i := range v {
			v[i] = make([]float64, width)
		}
		return v
	}
	f.y, f.x = lanes(n+1), lanes(n+1)
	for i := range f.k {
		f.k[i], f.kw[i] = lanes(n), make([][]float64, n)
	}
	inputs := n
	if timed {
		inputs++
	}
	f.yw, f.xw = make([][]float64, inputs), make([][]float64, inputs)
	return f
}

// portion is the number of starts that a core takes from the list at a time.
const portion = 32

// follow takes starts from the list until it is empty.
func (f *flock) follow(m *Map, start func([]float64, float64, float64), next *atomic.Int64) error {
	for f.active < width && f.fill(f.active, m, start, next) {
		f.active++
	}
	f.rewindow()
	f.foresee()
	for f.active > 0 {
		if f.round&15 == 0 {
			if err := stopped(f.o.Context); err != nil {
				return err
			}
		}
		f.step()
		f.harvest(m, start, next)
	}
	return nil
}

// fill puts the next start that may flip into a lane and reports whether there
// was one.
func (f *flock) fill(lane int, m *Map, start func([]float64, float64, float64), next *atomic.Int64) bool {
	for {
		if f.from == f.to {
			f.from = min(len(m.Value), int(next.Add(portion))-portion)
			f.to = min(len(m.Value), f.from+portion)
			if f.from == f.to {
				return false
			}
		}
		p := f.from
		f.from++
		start(f.state, m.A.At(p/m.B.N), m.B.At(p%m.B.N))
		if f.o.Impossible != nil && f.o.Impossible(f.state) {
			continue
		}
		for c, v := range f.state {
			f.y[c][lane] = v
		}
		f.y[f.n][lane] = 0
		f.point[lane], f.began[lane] = p, f.round
		return true
	}
}

func (f *flock) rewindow() {
	for c := range f.yw {
		f.yw[c], f.xw[c] = f.y[c][:f.active], f.x[c][:f.active]
	}
	for i := range f.k {
		for c := range f.k[i] {
			f.kw[i][c] = f.k[i][c][:f.active]
		}
	}
}

// step takes one step of the classical Runge-Kutta method in all lanes.
func (f *flock) step() {
	h := f.o.Step
	f.rates(f.kw[0], f.yw)
	f.ahead(f.kw[0], h/2)
	f.rates(f.kw[1], f.xw)
	f.ahead(f.kw[1], h/2)
	f.rates(f.kw[2], f.xw)
	f.ahead(f.kw[2], h)
	f.rates(f.kw[3], f.xw)
	sixth := h / 6
	for c, k1 := range f.kw[0] {
		n := len(k1)
		y, k2, k3, k4 := f.y[c][:n], f.kw[1][c][:n], f.kw[2][c][:n], f.kw[3][c][:n]
		for l, v := range k1 {
			y[l] += sixth * (v + 2*(k2[l]+k3[l]) + k4[l])
		}
	}
	f.round++
	f.steps += f.active
}

// ahead writes the next stage's arguments: the state moved on at the rates k for
// the time h.
func (f *flock) ahead(k [][]float64, h float64) {
	for c, k := range k {
		y, x := f.y[c][:len(k)], f.x[c][:len(k)]
		for l, v := range k {
			x[l] = y[l] + h*v
		}
	}
	if f.timed {
		t, now := f.x[f.n][:f.active], f.y[f.n]
		for l := range t {
			t[l] = now[l] + h
		}
	}
}

// harvest books the motions that flipped or reached the end and fills their
// lanes anew.
func (f *flock) harvest(m *Map, start func([]float64, float64, float64), next *atomic.Int64) {
	if f.timed {
		for l := range f.active {
			f.y[f.n][l] = float64(f.round-f.began[l]) * f.o.Step
		}
	}
	if !f.look() && f.round < f.due {
		return
	}
	before := f.active
	for l := 0; l < f.active; l++ {
		done := f.round - f.began[l]
		if f.flipped[l] {
			m.Value[f.point[l]] = float64(done) * f.o.Step
			f.flipped[l] = false
		} else if done < f.limit {
			continue
		}
		if f.fill(l, m, start, next) {
			continue
		}
		// no starts left: the last lane moves here and is looked at next
		f.active--
		for c := range f.y {
			f.y[c][l] = f.y[c][f.active]
		}
		f.point[l], f.began[l] = f.point[f.active], f.began[f.active]
		f.flipped[l], f.flipped[f.active] = f.flipped[f.active], false
		l--
	}
	if f.active != before {
		f.rewindow()
	}
	f.foresee()
}

// look notes which motions have flipped and reports whether any has.
func (f *flock) look() (any bool) {
	for c, limit := range f.o.Limits {
		if !(limit > 0) {
			continue
		}
		for l, v := range f.y[c][:f.active] {
			if math.Abs(v) > limit {
				f.flipped[l], any = true, true
			}
		}
	}
	return any
}

// foresee sets the round in which the next motion reaches its end.
func (f *flock) foresee() {
	f.due = math.MaxInt
	for _, began := range f.began[:f.active] {
		f.due = min(f.due, began+f.limit)
	}
}

// NoFlipBelow returns a rule for FlipOptions.Impossible: a start at rest whose
// potential energy in J is below the least that a flip needs cannot flip. The
// margin, in J, allows for the energy that the integration may add.
//
// Source: energy conservation; for the double pendulum of equal masses and
// rods this is 2 cos θ1 + cos θ2 > 1 (Wikipedia, "Double pendulum", from
// memory; computed from the potential).
func NoFlipBelow(potential func(y []float64) float64, needed, margin float64) func(y []float64) bool {
	return func(y []float64) bool { return potential(y) < needed-margin }
}
