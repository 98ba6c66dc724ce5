package motion

import (
	"errors"
	"fmt"
	"math"
)

// along integrates over a given mesh.
func along(s System, y []float64, o *Options, m Method, ends mesh) (*Run, error) {
	o.Method = m
	j, err := newJourney(s, y, ends.from, ends.end(ends.n-1), o)
	if err != nil {
		return nil, err
	}
	err = j.march(ends)
	j.finish()
	return j.run, err
}

// An estimated error must be margin times below what is asked before it is
// believed; a refinement aims at a part in aim, so as to be believed at once.
const (
	margin = 3
	aim    = 5
)

// passes bounds how often a run is refined towards an accuracy.
const passes = 8

// accurately makes runs of increasing care until the estimated error is at
// most what is asked. Where rounding stops the method that an automatic run
// takes, the Taylor series, which round least, have a try.
func accurately(s System, y []float64, from, to float64, o *Options) (*Run, error) {
	run, err := approach(s, y, from, to, o)
	if _, ok := asSeries(s); !ok || o.Method != Auto || !errors.Is(err, ErrAccuracy) || run != nil && run.Method == Radau {
		return run, err
	}
	second := *o
	second.Method = Taylor
	if closer, failed := approach(s, y, from, to, &second); failed == nil {
		if run != nil {
			closer.Evaluations += run.Evaluations
		}
		return closer, nil
	}
	return run, err
}

// approach is accurately with one method.
func approach(s System, y []float64, from, to float64, o *Options) (*Run, error) {
	asked := o.Accuracy
	pilot := *o
	pilot.Accuracy, pilot.RelativeEach, pilot.AbsoluteEach = 0, nil, nil
	// Coarse enough that the pilot costs little beside the run that is returned,
	// fine enough that its error follows the law. The factors are the best of many
	// tried on the problems of the tests: with them an accuracy costs 1.8 to 2.9
	// times the run that just reaches it.
	pilot.Relative = math.Max(math.Min(2*asked, 3e-8), leastTolerance)
	if firstMethod(s, o) == Nystrom12 {
		times := 15.0
		if asked < fine {
			times = 3 // near rounding the law holds less well
		}
		pilot.Relative = math.Max(math.Min(times*asked, 1e-5), leastTolerance)
	}
	pilot.Absolute = pilot.Relative
	spent := 0
	for range passes {
		j, err := newJourney(s, y, from, to, &pilot)
		if err != nil {
			return nil, err
		}
		if !j.eventful() {
			j.watchers, j.options.Events = nil, nil
		}
		if from != to {
			err = j.travel(from)
		}
		j.finish()
		pilot.Events = o.Events
		j.run.Evaluations += spent
		if err != nil {
			return j.run, err
		}
		if len(j.ends) < 2 {
			j.run.Error, j.run.Errors = 0, make([]float64, len(y))
			return j.run, nil
		}
		var run *Run
		if j.byMesh() {
			run, err = refine(j, o, asked)
		} else {
			run, err = tighten(j, o, asked)
		}
		if run == nil || !errors.Is(err, errConfused) {
			return run, err
		}
		spent = run.Evaluations
		pilot.Relative = math.Max(pilot.Relative/100, leastTolerance)
		pilot.Absolute = pilot.Relative
	}
	return nil, fmt.Errorf("motion: %w: the motion is too sensitive to its start over %g s: shorten the run or ask for less than %g", ErrAccuracy, math.Abs(to-from), asked)
}

// leastTolerance is the tightest tolerance that float64 serves.
const leastTolerance = 2e-15

// errConfused says that the error does not follow the law of small errors yet.
var errConfused = errors.New("errors are not small yet")

// eventful reports whether events end the run or change its state.
func (j *journey) eventful() bool {
	for _, e := range j.options.Events {
		if e.Then != nil || e.Stop {
			return true
		}
	}
	return false
}

// refine runs over ever finer meshes of the pilot's shape. On such meshes the
// error of a method of order p falls as the p-th power of the number of steps,
// with little else: two runs tell the error of both, and which mesh is needed.
func refine(pilot *journey, o *Options, asked float64) (*Run, error) {
	p := float64(pilot.stepper.order())
	worse, n, spent := pilot.run.End(), len(pilot.ends)-1, pilot.run.Evaluations
	first := float64(stride)
	if asked < fine {
		first = notch // a difference smaller than rounding says nothing
	}
	finer := int(math.Ceil(float64(n) * refinement(first, pilot.stepper.order())))
	before := math.Inf(1) // estimate of the last pass
	for range passes {
		full := *o
		full.RelativeEach, full.AbsoluteEach = nil, nil
		full.Relative, full.Absolute = pilot.relative[0], pilot.relative[0] // they set the order of Taylor series
		run, err := along(pilot.system, pilot.run.Y[0], &full, pilot.method, similar(pilot.ends, finer))
		if err != nil || run == nil {
			return run, err
		}
		spent += run.Evaluations
		run.Evaluations = spent
		law := math.Pow(float64(finer)/float64(n), p)
		difference := apart(worse, run.End())
		if difference > confused {
			return run, errConfused
		}
		run.setErrors(worse, law-1)
		if stuck := before / 30; run.Error > before || difference > 30*before && run.Error < stuck {
			// the difference is rounding, which no finer mesh removes
			run.setErrors(worse, 1)
			if run.Error > asked {
				return run, fmt.Errorf("motion: %w: rounding leaves an error of about %.1e where %.1e was asked: ask for less or shorten the run", ErrAccuracy, run.Error, asked)
			}
			return run, nil
		}
		if run.Error <= asked/margin {
			return run, roundingAllows(run, pilot, o, asked)
		}
		before = run.Error
		worse, n = run.End(), finer
		finer = int(math.Ceil(float64(n) * math.Pow(math.Max(aim, run.Error/(asked/aim)), 1/p)))
	}
	return nil, fmt.Errorf("motion: %w after %d refinements: ask for less than %g", ErrAccuracy, passes, asked)
}

// fine is the accuracy from which on rounding may matter.
const fine = 1e-9

// rounding is the rounding error of a step: half a unit of the last place of the
// increment, which is a thirtieth of the state or so, since the state itself is
// summed with compensation; an eighth where steps are as long as those of the
// Nyström pair. The factors are measured on the problems of the tests.
func rounding(m Method) float64 {
	if m == Nystrom12 {
		return 1.1e-16 / 8
	}
	return 1.1e-16 / 30
}

// roundingAllows raises the run's estimated error to what rounding leaves, and
// returns an error if that is more than was asked. Rounding errors are carried to
// the end as a small change of the start is, and add up like a random walk. Only
// for accuracies so fine that it may matter: it costs another run over the
// pilot's mesh.
func roundingAllows(run *Run, pilot *journey, o *Options, asked float64) error {
	if asked >= fine {
		return nil
	}
	const shift = 1e-8
	y := append([]float64(nil), pilot.run.Y[0]...)
	for i := range y {
		y[i] += shift * (1 + math.Abs(y[i])) * float64(1-2*(i%2))
	}
	other := *o
	other.Relative, other.Absolute = pilot.relative[0], pilot.relative[0]
	other.RelativeEach, other.AbsoluteEach, other.EndOnly, other.Events, other.Energy = nil, nil, true, nil, nil
	moved, err := along(pilot.system, y, &other, pilot.method, similar(pilot.ends, len(pilot.ends)-1))
	if err != nil {
		return err
	}
	run.Evaluations += moved.Evaluations
	carried := apart(moved.End(), pilot.run.End()) / shift
	floor := carried * rounding(pilot.method) * math.Sqrt(float64(run.Steps))
	if floor <= run.Error {
		return nil
	}
	for i, v := range run.End() {
		run.Errors[i] = math.Max(run.Errors[i], floor*(1+math.Abs(v)))
	}
	run.Error = floor
	if floor > asked/1.5 {
		return fmt.Errorf("motion: %w: rounding leaves an error of about %.1e where %.1e was asked: ask for less or shorten the run", ErrAccuracy, floor, asked)
	}
	return nil
}

// tighten runs with ever tighter tolerances.
func tighten(pilot *journey, o *Options, asked float64) (*Run, error) {
	full := *o
	full.Accuracy, full.RelativeEach, full.AbsoluteEach = 0, nil, nil
	worse, tolerance, spent := pilot.run.End(), pilot.relative[0], pilot.run.Evaluations
	for range passes {
		next := math.Max(leastTolerance, tolerance/notch)
		full.Relative, full.Absolute = next, next
		run, err := integrate(pilot.system, pilot.run.Y[0], pilot.run.T[0], pilot.to, &full)
		if err != nil {
			return run, err
		}
		spent += run.Evaluations
		run.Evaluations = spent
		if apart(worse, run.End()) > confused {
			return run, errConfused
		}
		run.setErrors(worse, math.Pow(tolerance/next, 0.8))
		if run.Error <= asked/margin {
			return run, nil
		}
		if next == leastTolerance {
			return run, fmt.Errorf("motion: %w: the estimated error is %.1e where %.1e was asked: ask for less or shorten the run", ErrAccuracy, run.Error, asked)
		}
		worse, tolerance = run.End(), next
	}
	return nil, fmt.Errorf("motion: %w after %d passes: ask for less than %g", ErrAccuracy, passes, asked)
}
