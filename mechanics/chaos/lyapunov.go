package chaos

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"

	"counterpoise/mechanics/halt"
	"counterpoise/mechanics/motion"
)

// LyapunovOptions are the choices of a measurement of exponents; the zero
// value measures the largest one.
type LyapunovOptions struct {
	Count  int     // exponents, the largest first; 0 means 1
	Settle float64 // s, before the measurement; 0 means a tenth of Length
	Length float64 // s, of each measurement; 0 means 2000
	Every  float64 // s, between two renormalisations; 0 means 1

	// Tolerance of a step, relative and absolute; 0 means 1e-10. The shadowing
	// of a chaotic motion makes the exponents far less sensitive to it than any
	// single state.
	Tolerance float64

	// Angles are the components that may be reduced modulo 2π on the way.
	Angles []int

	// Floor leaves out orbits whose largest exponent is below it, in 1/s:
	// regular islands inside a chaotic sea. It has no effect on a single orbit.
	Floor float64

	Seed    uint64          // of the first displacements
	Context context.Context // stops the measurement when it is done
}

// Exponents are measured Lyapunov exponents with their standard errors.
type Exponents struct {
	Values        []float64 // 1/s, the largest first
	StandardError []float64 // 1/s
	Length        float64   // s, over which they were measured, all orbits together
	Orbits        int       // that count
	LeftOut       int       // below the floor
}

// String gives the exponents with their standard errors.
func (e Exponents) String() string {
	s := ""
	for i, v := range e.Values[:min(len(e.Values), len(e.StandardError))] {
		if i > 0 {
			s += ", "
		}
		s += fmt.Sprintf("%.5f ± %.5f", v, e.StandardError[i])
	}
	return s + fmt.Sprintf(" 1/s (%d orbits, %.6g s)", e.Orbits, e.Length)
}

// Sum returns the sum of the exponents: of all of them, it is the mean rate at
// which volumes in state space grow.
func (e Exponents) Sum() float64 {
	sum := 0.0
	for _, v := range e.Values {
		sum += v
	}
	return sum
}

// batches is the number of parts of one orbit from whose scatter the standard
// error is taken: parts must be long beside the motion's memory, and enough for
// an error of the error of 13 %.
const batches = 32

func (o *LyapunovOptions) fill(n int) error {
	if o.Count == 0 {
		o.Count = 1
	}
	if o.Length == 0 {
		o.Length = 2000
	}
	if o.Settle == 0 {
		o.Settle = o.Length / 10
	}
	if o.Every == 0 {
		o.Every = 1
	}
	if o.Tolerance == 0 {
		o.Tolerance = 1e-10
	}
	switch {
	case o.Count < 1 || o.Count > n:
		return fmt.Errorf("chaos: Count is %d for a state of %d components: ask for 1 to %d exponents", o.Count, n, n)
	case !(o.Length > 0) || math.IsInf(o.Length, 1):
		return fmt.Errorf("chaos: Length is %g s: give a positive time", o.Length)
	case !(o.Every > 0) || o.Length/o.Every < batches:
		return fmt.Errorf("chaos: Every is %g s in a Length of %g s: give a positive time, at most a part in %d of the length", o.Every, o.Length, batches)
	case !(o.Settle >= 0) || math.IsInf(o.Settle, 1):
		return fmt.Errorf("chaos: Settle is %g s: give a time of 0 or more", o.Settle)
	case !(o.Tolerance > 0) || o.Tolerance > 1e-3:
		return fmt.Errorf("chaos: Tolerance is %g: give something like 1e-10", o.Tolerance)
	}
	for _, i := range o.Angles {
		if i < 0 || i >= n {
			return fmt.Errorf("chaos: Angles names component %d of a state of %d components, counted from 0", i, n)
		}
	}
	return nil
}

// Lyapunov measures the largest exponents along the orbit from the state y at
// t = 0, by the variational equations. The standard error comes from the scatter
// of the exponents over 32 parts of the orbit; it does not see what one orbit
// never visits, for which [LyapunovOver] takes many.
//
// Source: G. Benettin, L. Galgani, A. Giorgilli and J.-M. Strelcyn, Lyapunov
// characteristic exponents for smooth dynamical systems, Meccanica 15 (1980)
// 9-30.
func Lyapunov(s motion.System, y []float64, o LyapunovOptions) (Exponents, error) {
	if s == nil {
		return Exponents{}, errors.New("chaos: no system given: make one with motion.Of or lagrange")
	}
	if err := o.fill(s.Dim()); err != nil {
		return Exponents{}, err
	}
	parts, err := orbit(s, y, &o, 0)
	if err != nil {
		return Exponents{}, err
	}
	return summary(parts, o.Length, 1), nil
}

// orbit returns the exponents over each part of one orbit: [part][exponent].
func orbit(s motion.System, y []float64, o *LyapunovOptions, number uint64) ([][]float64, error) {
	n, k := s.Dim(), o.Count
	if len(y) != n {
		return nil, fmt.Errorf("chaos: the start has %d values for a system of %d components: give one for each", len(y), n)
	}
	state := make([]float64, n*(1+k))
	copy(state, y)
	random := rand.New(rand.NewPCG(o.Seed, number))
	for i := n; i < len(state); i++ {
		state[i] = random.NormFloat64()
	}
	logs := make([]float64, k)
	orthonormalise(state[n:], n, k, logs)
	w, err := motion.NewWalker(vary(s, k), 0, state, motion.Options{Method: motion.DormandPrince8, Relative: o.Tolerance, Absolute: o.Tolerance, Context: o.Context})
	if err != nil {
		return nil, err
	}
	settle := int(math.Ceil(o.Settle / o.Every))
	steps := int(math.Round(o.Length / o.Every))
	parts := make([][]float64, batches)
	for i := range parts {
		parts[i] = make([]float64, k)
	}
	for i := -settle; i < steps; i++ {
		if err := stopped(o.Context); err != nil {
			return nil, err
		}
		if err := w.To(float64(i+settle+1) * o.Every); err != nil {
			return nil, err
		}
		_, now := w.State()
		copy(state, now)
		for _, a := range o.Angles {
			state[a] = math.Remainder(state[a], 2*math.Pi)
		}
		orthonormalise(state[n:], n, k, logs)
		if err := w.Set(state); err != nil {
			return nil, err
		}
		if i < 0 {
			continue
		}
		part := parts[i*batches/steps]
		for d, v := range logs {
			part[d] += v
		}
	}
	for i, part := range parts {
		// the steps that went into this part
		from, to := (i*steps+batches-1)/batches, ((i+1)*steps+batches-1)/batches
		for d := range part {
			part[d] /= float64(to-from) * o.Every
		}
	}
	return parts, nil
}

// stopped returns the reason to stop, if there is one.
func stopped(ctx context.Context) error {
	if err := halt.Err(); err != nil {
		return err
	}
	if ctx != nil {
		return ctx.Err()
	}
	return nil
}

// summary returns mean and standard error over samples of the exponents.
func summary(samples [][]float64, length float64, orbits int) Exponents {
	k, m := len(samples[0]), float64(len(samples))
	e := Exponents{Length: length, Orbits: orbits}
	for d := range k {
		mean, scatter := 0.0, 0.0
		for _, v := range samples {
			mean += v[d] / m
		}
		for _, v := range samples {
			scatter += (v[d] - mean) * (v[d] - mean)
		}
		e.Values = append(e.Values, mean)
		e.StandardError = append(e.StandardError, math.Sqrt(scatter/m/(m-1)))
	}
	return e
}

var errNoSystem = errors.New("chaos: the function that makes the system returned nil: give one that makes a system for each core")

// LyapunovOver measures the exponents over many independent orbits on all
// cores: system makes a system for each orbit, start gives orbit i its state.
// The standard error comes from the scatter between the orbits.
func LyapunovOver(system func() motion.System, start func(i int) []float64, orbits int, o LyapunovOptions) (Exponents, error) {
	if system == nil || start == nil {
		return Exponents{}, errors.New("chaos: give a function that makes the system and one that gives the starts")
	}
	if orbits < 2 {
		return Exponents{}, fmt.Errorf("chaos: %d orbits: a standard error needs at least 2", orbits)
	}
	first := system()
	if first == nil {
		return Exponents{}, errNoSystem
	}
	if err := o.fill(first.Dim()); err != nil {
		return Exponents{}, err
	}
	means := make([][]float64, orbits)
	err := onAllCores(orbits, func() func(i int) error {
		s := system()
		return func(i int) error {
			if s == nil {
				return errNoSystem
			}
			parts, err := orbit(s, start(i), &o, uint64(i))
			if err != nil {
				return fmt.Errorf("chaos: orbit %d: %w", i, err)
			}
			means[i] = summary(parts, 0, 1).Values
			return nil
		}
	})
	if err != nil {
		return Exponents{}, err
	}
	var counted [][]float64
	for _, m := range means {
		if o.Floor == 0 || m[0] >= o.Floor {
			counted = append(counted, m)
		}
	}
	if len(counted) < 2 {
		return Exponents{}, fmt.Errorf("chaos: %d of %d orbits lie above the floor of %g 1/s: start them elsewhere or lower the floor", len(counted), orbits, o.Floor)
	}
	e := summary(counted, o.Length*float64(len(counted)), len(counted))
	e.LeftOut = orbits - len(counted)
	return e, nil
}
