package design

import (
	"errors"
	"fmt"
	"maps"
	"math"
	"math/rand/v2"
	"slices"
	"sort"
	"strings"

	"gonum.org/v1/gonum/stat"

	"counterpoise/mechanics/balance"
	"counterpoise/mechanics/quantity"
	"counterpoise/mechanics/toy"
)

// A Class is a grade of workmanship.
type Class int

// The classes of general tolerances for lengths.
const (
	Fine Class = iota
	Medium
	Coarse
	VeryCoarse // hand-bent wire lies between coarse and this
)

// generalTolerances are ± mm by size, up to and including the given one. Source: ISO
// 2768-1, Table 1, for 6 to 400 mm (as reproduced on makers' pages, seen); below that and for 400 to
// 1000 mm from memory, unchecked. Very coarse has none up to 3 mm.
var generalTolerances = []struct {
	upTo float64 // mm
	plus [4]float64
}{
	{3, [4]float64{0.05, 0.1, 0.2, math.NaN()}},
	{6, [4]float64{0.05, 0.1, 0.3, 0.5}},
	{30, [4]float64{0.1, 0.2, 0.5, 1}},
	{120, [4]float64{0.15, 0.3, 0.8, 1.5}},
	{400, [4]float64{0.2, 0.5, 1.2, 2.5}},
	{1000, [4]float64{0.3, 0.8, 2, 4}},
}

// General returns the general tolerance ± in m of a length in m, for a class. It
// holds for 0.5 mm to 1 m.
func General(length float64, c Class) (float64, error) {
	if c < Fine || c > VeryCoarse {
		return 0, fmt.Errorf("unknown class %d: use Fine, Medium, Coarse or VeryCoarse", c)
	}
	mm := length * 1000
	if !(mm >= 0.5*(1-1e-9)) {
		return 0, fmt.Errorf("a length of %v m has no general tolerance: give one from 0.5 mm", length)
	}
	for _, row := range generalTolerances {
		if mm <= row.upTo*(1+1e-9) {
			if math.IsNaN(row.plus[c]) {
				return 0, fmt.Errorf("very coarse has no tolerance for %v m: give one of your own", length)
			}
			return row.plus[c] / 1000, nil
		}
	}
	return 0, fmt.Errorf("a length of %v m is beyond the table: give a tolerance of your own", length)
}

// A Tolerance is how far a parameter of a toy may be off, built by hand.
type Tolerance struct {
	Name   string          // of the parameter
	Half   float64         // ± in SI units
	Spread quantity.Spread // Rectangular: anywhere within ± Half; Normal: Half is two standard deviations; Triangular: mostly near the middle
}

// draw returns a deviation.
func (t Tolerance) draw(r *rand.Rand) float64 {
	switch t.Spread {
	case quantity.Rectangular:
		return t.Half * (2*r.Float64() - 1)
	case quantity.Triangular:
		return t.Half * (r.Float64() - r.Float64())
	}
	return t.Half / 2 * r.NormFloat64()
}

// A Study says what becomes of many toys built with tolerances.
type Study struct {
	Trials   int
	Balance  int                // of these toys come to rest near the drawn pose
	Lean     float64            // limit of the lean that counts as balancing, rad
	Periods  []float64          // of those that balance and swing, s, ascending
	Leans    []float64          // tilt at rest of those that come to rest, rad, ascending
	Mean     float64            // period, s
	Spread   float64            // standard deviation of the period, s
	Broken   int                // toys that could not be built: a length became negative
	ByReason map[string]float64 // share of the variance of the period, by parameter alone
}

// Limits of a study.
const (
	maxTrials   = 1_000_000 // about ten minutes
	defaultLean = 10 * math.Pi / 180
)

// StudyOptions are choices for [Tolerances]; zero values mean the defaults.
type StudyOptions struct {
	Trials int     // 0 = 2000
	Seed   uint64  // the same seed builds the same toys
	Lean   float64 // a toy that rests farther from its drawn pose than this does not count as balancing, rad; 0 = 10°
}

// Tolerances builds toys with random deviations of their parameters and tells how
// many balance, and how their periods spread.
func Tolerances(d *toy.Description, params toy.Params, tolerances []Tolerance, o StudyOptions) (Study, error) {
	if o.Trials == 0 {
		o.Trials = 2000
	}
	if o.Lean == 0 {
		o.Lean = defaultLean
	}
	if err := checkStudy(params, tolerances, o); err != nil {
		return Study{}, err
	}
	if _, err := d.Build(params); err != nil {
		return Study{}, err
	}
	s := Study{Trials: o.Trials, Lean: o.Lean, ByReason: map[string]float64{}}
	r := rand.New(rand.NewPCG(o.Seed, 0x5bd1e995))
	for range o.Trials {
		s.add(d, params, tolerances, r)
	}
	sort.Float64s(s.Periods)
	sort.Float64s(s.Leans)
	if len(s.Periods) > 1 {
		s.Mean, s.Spread = stat.MeanStdDev(s.Periods, nil)
	}
	s.blame(d, params, tolerances)
	return s, nil
}

func checkStudy(params toy.Params, tolerances []Tolerance, o StudyOptions) error {
	if o.Trials < 2 || o.Trials > maxTrials {
		return fmt.Errorf("%d trials are asked for: give from 2 to %d", o.Trials, maxTrials)
	}
	if !(o.Lean > 0 && o.Lean <= math.Pi) {
		return fmt.Errorf("limit of the lean is %v rad: give one above 0 and up to π", o.Lean)
	}
	if len(tolerances) == 0 {
		return errors.New("no tolerances are given: name at least one parameter")
	}
	for _, t := range tolerances {
		if _, ok := params[t.Name]; !ok {
			return fmt.Errorf("tolerance of %q: it is no parameter; use one of %s", t.Name, strings.Join(slices.Sorted(maps.Keys(params)), ", "))
		}
		if !(t.Half >= 0) || math.IsInf(t.Half, 0) {
			return fmt.Errorf("tolerance of %s is ± %v: give a number that is not negative", t.Name, t.Half)
		}
	}
	return nil
}

// add builds one toy and counts it.
func (s *Study) add(d *toy.Description, params toy.Params, tolerances []Tolerance, r *rand.Rand) {
	changed := maps.Clone(params)
	for _, t := range tolerances {
		q := changed[t.Name]
		changed[t.Name] = quantity.New(q.Value+t.draw(r), q.Unit)
	}
	made, err := d.Build(changed)
	if err != nil {
		s.Broken++
		return
	}
	b, err := made.Balance()
	if err != nil {
		s.Broken++
		return
	}
	rest, err := b.Rest()
	if err != nil {
		return
	}
	s.Leans = append(s.Leans, rest.Tilt)
	if math.Abs(rest.Tilt) > s.Lean || rest.Stability != balance.Stable {
		return
	}
	s.Balance++
	if T, err := b.Period(); err == nil {
		s.Periods = append(s.Periods, T)
	}
}

// blame finds how the period's variance shares out over the parameters, each moved
// alone by a small part of its tolerance.
func (s *Study) blame(d *toy.Description, params toy.Params, tolerances []Tolerance) {
	total := 0.0
	for _, t := range tolerances {
		toys, err := Vary(d, params, t.Name)
		if err != nil {
			continue
		}
		x, h := params[t.Name].Value, t.Half/10
		period := toys.Period()
		up, err1 := period(x + h)
		down, err2 := period(x - h)
		if err1 != nil || err2 != nil || h == 0 {
			continue
		}
		slope := (up - down) / (2 * h)
		v := slope * slope * t.variance()
		s.ByReason[t.Name] += v
		total += v
	}
	if total > 0 {
		for name := range s.ByReason {
			s.ByReason[name] /= total
		}
	}
}

func (t Tolerance) variance() float64 {
	switch t.Spread {
	case quantity.Rectangular:
		return t.Half * t.Half / 3
	case quantity.Triangular:
		return t.Half * t.Half / 6
	}
	return t.Half * t.Half / 4
}

// OfHundred returns how many toys of a hundred balance, and the standard
// uncertainty of that number from the number of trials.
func (s Study) OfHundred() (number, uncertainty float64) {
	n := float64(s.Trials)
	p := float64(s.Balance) / n
	q := (float64(s.Balance) + 1) / (n + 2) // keeps the uncertainty from vanishing at none and all
	return 100 * p, 100 * math.Sqrt(q*(1-q)/n)
}

// PeriodBetween returns the periods in s between which the share level, such as 0.9,
// of the toys that balance lies; NaN if fewer than two swing.
func (s Study) PeriodBetween(level float64) (from, to float64) {
	if len(s.Periods) < 2 || !(level > 0 && level < 1) {
		return math.NaN(), math.NaN()
	}
	periods := slices.Sorted(slices.Values(s.Periods))
	return stat.Quantile((1-level)/2, stat.Empirical, periods, nil), stat.Quantile((1+level)/2, stat.Empirical, periods, nil)
}

// String says how many toys of a hundred balance, and how their periods spread.
func (s Study) String() string {
	n, u := s.OfHundred()
	var b strings.Builder
	fmt.Fprintf(&b, "of 100 toys %.0f balance (± %.1g, from %d trials)", n, u, s.Trials)
	if len(s.Periods) > 1 {
		from, to := s.PeriodBetween(0.9)
		fmt.Fprintf(&b, "; their period is %s s with a spread of %.1f %%, nine of ten between %s and %s s",
			quantity.Round(s.Mean, 3), 100*s.Spread/s.Mean, quantity.Round(from, 3), quantity.Round(to, 3))
	}
	if s.Broken > 0 {
		fmt.Fprintf(&b, "; %d could not be built, because a measure became negative", s.Broken)
	}
	return b.String()
}
