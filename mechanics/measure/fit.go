package measure

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
)

// A Fit is a curve laid through readings by least squares.
type Fit struct {
	Names       []string  // of the parameters
	Value       []float64 // of the parameters
	Uncertainty []float64 // their standard uncertainties, from the scatter of the residuals
	Covariance  *mat.SymDense
	Residuals   []float64 // reading minus curve
	Freedom     int       // readings less parameters
	Scatter     float64   // standard deviation of the residuals, √(sum of squares/freedom)
	Steps       int       // that the search took; 0 for a straight solution

	leverage []float64 // how much each reading draws the curve to itself
}

// SumOfSquares returns the sum of the squared residuals.
func (f Fit) SumOfSquares() float64 { return floats.Dot(f.Residuals, f.Residuals) }

// Of returns a parameter and its uncertainty by name, NaN for another name or in a Fit
// that no fit returned.
func (f Fit) Of(name string) (value, uncertainty float64) {
	for i, n := range f.Names[:f.parameters()] {
		if n == name {
			return f.Value[i], f.Uncertainty[i]
		}
	}
	return math.NaN(), math.NaN()
}

// parameters returns how many parameters have a name, a value and an uncertainty.
func (f Fit) parameters() int { return min(len(f.Names), len(f.Value), len(f.Uncertainty)) }

// String lists the parameters with their uncertainties, and the scatter.
func (f Fit) String() string {
	var b strings.Builder
	for i, n := range f.Names[:f.parameters()] {
		fmt.Fprintf(&b, "%s = %.6g ± %.2g\n", n, f.Value[i], f.Uncertainty[i])
	}
	fmt.Fprintf(&b, "scatter %.3g with %d degrees of freedom", f.Scatter, f.Freedom)
	return b.String()
}

// ErrNoFit is returned where a search for the best curve does not settle.
var ErrNoFit = errors.New("no best curve was found: start nearer to it, or use fewer parameters")

// Limits of a search.
const (
	maxSteps = 2000 // the hardest of NIST's sets takes about a hundred
	settled  = 1e-12
	// worstCondition is that of columns of one size beyond which a parameter is
	// lost to rounding.
	worstCondition = 1e13
	maxReadings    = 1_000_000 // a film of hours; the matrix holds a row for each
)

// Curve lays model(x, p) through the readings by least squares, starting from the
// parameters start, with the method of Levenberg and Marquardt: derivatives by
// differences, each step by QR. Names may be nil.
//
// On NIST's nonlinear reference sets it returns the certified parameters to at
// least eight figures from either of their starts.
//
// Source: Moré, The Levenberg-Marquardt algorithm, Lecture Notes in Mathematics
// 630 (1978) 105 (from memory, unchecked), with Nielsen's rule for the damping.
func Curve(model func(x float64, p []float64) float64, x, y, start []float64, names []string) (Fit, error) {
	if err := checked(x, y, len(start)+1); err != nil {
		return Fit{}, err
	}
	return Search(func(dst, p []float64) {
		for i := range dst {
			dst[i] = model(x[i], p)
		}
	}, y, start, names)
}

// Search is Curve for a model that fills dst with all readings that parameters p
// predict.
func Search(model func(dst, p []float64), y, start []float64, names []string) (Fit, error) {
	switch {
	case len(start) == 0:
		return Fit{}, errors.New("the curve has no parameters: give a start for each")
	case len(y) <= len(start):
		return Fit{}, fmt.Errorf("%d readings do not settle %d parameters: take more readings", len(y), len(start))
	case len(y) > maxReadings:
		return Fit{}, fmt.Errorf("%d readings are more than %d: thin them out", len(y), maxReadings)
	case names != nil && len(names) != len(start):
		return Fit{}, fmt.Errorf("%d names for %d parameters: give one for each", len(names), len(start))
	}
	for i, v := range start {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return Fit{}, fmt.Errorf("start of parameter %d is %v: give a finite number", i+1, v)
		}
	}
	var f Fit
	var err error
	for _, caution := range [...]float64{1e-3, 1, 100} { // bolder first; shorter steps where that leads astray
		s := newSearch(model, y, start)
		if !s.finite(s.residual) {
			return Fit{}, errors.New("the curve is not finite at the start: start with other parameters")
		}
		steps, ok := s.run(caution)
		s.polish()
		f, err = s.fit(names)
		f.Steps = steps
		if err == nil && !ok {
			err = ErrNoFit
		}
		if err == nil {
			break
		}
	}
	return f, err
}

// search is the state of the method.
type search struct {
	model          func(dst, p []float64)
	y, p           []float64
	residual       []float64
	jacobian       *mat.Dense
	slope          []float64 // norm of each column
	scale          []float64 // the largest so far
	trial, tried   []float64
	ahead, back    []float64
	farAhead, away []float64
}

func newSearch(model func(dst, p []float64), y, start []float64) *search {
	m, n := len(y), len(start)
	s := &search{model: model, y: y, p: append([]float64(nil), start...), jacobian: mat.NewDense(m, n, nil), slope: make([]float64, n), scale: make([]float64, n),
		residual: make([]float64, m), trial: make([]float64, n), tried: make([]float64, m),
		ahead: make([]float64, m), back: make([]float64, m), farAhead: make([]float64, m), away: make([]float64, m)}
	s.predict(s.residual, s.p)
	s.differentiate() // a first look at the slopes
	return s
}

// predict fills dst with the residuals at p.
func (s *search) predict(dst, p []float64) {
	s.model(dst, p)
	for i := range dst {
		dst[i] = s.y[i] - dst[i]
	}
}

func (s *search) finite(v []float64) bool {
	sum := floats.Dot(v, v)
	return !math.IsNaN(sum) && !math.IsInf(sum, 0)
}

// differentiate fills the Jacobian of the model by five-point differences, over
// steps that move the curve by a few ten-thousandths of the readings, as far as
// the last Jacobian tells: a frequency in a long record needs far shorter ones than
// a mass.
func (s *search) differentiate() {
	q := append([]float64(nil), s.p...)
	size := floats.Norm(s.y, 2)
	for j := range q {
		h := 1e-6 * math.Abs(s.p[j])
		if s.slope[j] > 0 && size > 0 {
			h = 3e-4 * size / s.slope[j]
			if limit := 1e-3 * math.Abs(s.p[j]); limit > 0 {
				h = min(h, limit)
			}
		}
		if h == 0 {
			h = 1e-6
		}
		for _, side := range [...]struct {
			dst   []float64
			steps float64
		}{{s.ahead, 1}, {s.back, -1}, {s.farAhead, 2}, {s.away, -2}} {
			q[j] = s.p[j] + side.steps*h
			s.model(side.dst, q)
		}
		q[j] = s.p[j]
		sum := 0.0
		for i := range s.y {
			d := (8*(s.ahead[i]-s.back[i]) - (s.farAhead[i] - s.away[i])) / (12 * h)
			if math.IsNaN(d) || math.IsInf(d, 0) {
				d = 0
			}
			s.jacobian.Set(i, j, d)
			sum += d * d
		}
		s.slope[j] = math.Sqrt(sum)
		s.scale[j] = max(s.scale[j], s.slope[j])
		if s.scale[j] == 0 {
			s.scale[j] = 1
		}
	}
}

// step solves (JᵀJ + λD²) δ = Jᵀr as a least-squares problem with J over √λ D.
func (s *search) step(lambda float64) (delta []float64, ok bool) {
	m, n := s.jacobian.Dims()
	a := mat.NewDense(m+n, n, nil)
	a.Copy(s.jacobian)
	b := mat.NewVecDense(m+n, nil)
	for i, r := range s.residual {
		b.SetVec(i, r)
	}
	for j := range n {
		a.Set(m+j, j, math.Sqrt(lambda)*s.scale[j])
	}
	// Columns are brought to one size, so that parameters of any size do.
	for j := range n {
		for i := range m + n {
			a.Set(i, j, a.At(i, j)/s.scale[j])
		}
	}
	var qr mat.QR
	qr.Factorize(a)
	var d mat.VecDense
	if err := qr.SolveVecTo(&d, false, b); err != nil {
		var condition mat.Condition
		if !errors.As(err, &condition) || math.IsInf(float64(condition), 1) {
			return nil, false
		}
	}
	delta = make([]float64, n)
	for j := range n {
		delta[j] = d.AtVec(j) / s.scale[j]
	}
	return delta, true
}

// polish takes undamped steps as long as they grow shorter. The sum of squares is
// flat to rounding there and can no longer tell better from worse.
func (s *search) polish() {
	last := math.Inf(1)
	for range 40 {
		s.differentiate()
		delta, ok := s.step(0)
		if !ok {
			return
		}
		size := 0.0
		for j, d := range delta {
			size = math.Hypot(size, d*s.slope[j])
			s.trial[j] = s.p[j] + d
		}
		s.predict(s.tried, s.trial)
		if !(size < 0.9*last) || size > 1e-2*floats.Norm(s.residual, 2) || !s.finite(s.tried) {
			return
		}
		last = size
		copy(s.p, s.trial)
		copy(s.residual, s.tried)
	}
}

// run searches until the parameters settle, with a first damping lambda.
func (s *search) run(lambda float64) (steps int, ok bool) {
	grow := 2.0
	sum := floats.Dot(s.residual, s.residual)
	s.differentiate()
	for steps = 1; steps <= maxSteps; steps++ {
		delta, solved := s.step(lambda)
		if !solved {
			lambda, grow = lambda*grow, grow*2
			continue
		}
		moved := 0.0
		for j, d := range delta {
			s.trial[j] = s.p[j] + d
			moved = max(moved, math.Abs(d)/(math.Abs(s.p[j])+1e-30))
		}
		s.predict(s.tried, s.trial)
		next := floats.Dot(s.tried, s.tried)
		switch {
		case !s.finite(s.tried) || next > sum:
			if moved < settled || lambda > 1e15 {
				return steps, s.flat()
			}
			lambda, grow = lambda*grow, grow*2
			continue
		}
		gain := (sum - next) / max(s.predicted(delta, lambda), 1e-300)
		copy(s.p, s.trial)
		copy(s.residual, s.tried)
		done := moved < settled || sum == 0 || next == 0
		sum = next
		if done {
			return steps, true
		}
		s.differentiate()
		lambda *= max(1.0/9, 1-math.Pow(2*gain-1, 3))
		lambda, grow = max(lambda, 1e-20), 2
	}
	return maxSteps, false
}

// predicted returns the drop in the sum of squares that the linear model
// foresees.
func (s *search) predicted(delta []float64, lambda float64) float64 {
	sum := 0.0
	for i, r := range s.residual {
		move := 0.0
		for j, d := range delta {
			move += s.jacobian.At(i, j) * d
		}
		sum += 2*r*move - move*move
	}
	return sum
}

// flat reports whether the residuals stand square on every column: a minimum, or
// a place where rounding allows no better.
func (s *search) flat() bool {
	size := floats.Norm(s.residual, 2)
	if size == 0 {
		return true
	}
	m, n := s.jacobian.Dims()
	for j := range n {
		dot, norm := 0.0, 0.0
		for i := range m {
			v := s.jacobian.At(i, j)
			dot += v * s.residual[i]
			norm += v * v
		}
		if norm > 0 && math.Abs(dot) > 1e-5*size*math.Sqrt(norm) {
			return false
		}
	}
	return true
}

// fit turns the end of the search into a result.
func (s *search) fit(names []string) (Fit, error) {
	s.differentiate()
	return fitOf(s.jacobian, s.residual, s.p, s.scale, names)
}

// fitOf computes the uncertainties from the Jacobian at the best parameters:
// scatter² (JᵀJ)⁻¹ by QR with columns of one size.
func fitOf(jacobian *mat.Dense, residual, p, scale []float64, names []string) (Fit, error) {
	m, n := jacobian.Dims()
	f := Fit{Names: parameterNames(names, n), Value: append([]float64(nil), p...), Uncertainty: make([]float64, n),
		Residuals: append([]float64(nil), residual...), Freedom: m - n, leverage: make([]float64, m)}
	f.Scatter = math.Sqrt(f.SumOfSquares() / float64(f.Freedom))
	scaled := mat.NewDense(m, n, nil)
	scaled.Apply(func(_, j int, v float64) float64 { return v / scale[j] }, jacobian)
	var qr mat.QR
	qr.Factorize(scaled)
	unsettled := fmt.Errorf("the readings do not settle all parameters: two of them do the same, or one does nothing (%w)", ErrNoFit)
	if c := qr.Cond(); !(c < worstCondition) {
		return f, unsettled
	}
	var r, inverse mat.Dense
	qr.RTo(&r)
	if err := inverse.Inverse(r.Slice(0, n, 0, n)); err != nil {
		return f, unsettled
	}
	f.Covariance = mat.NewSymDense(n, nil)
	for i := range n {
		for j := range i + 1 {
			sum := 0.0
			for k := range n {
				sum += inverse.At(i, k) * inverse.At(j, k)
			}
			f.Covariance.SetSym(i, j, f.Scatter*f.Scatter*sum/(scale[i]*scale[j]))
		}
		f.Uncertainty[i] = math.Sqrt(f.Covariance.At(i, i))
	}
	for i := range m { // rows of J R⁻¹ are rows of Q
		for k := range n {
			q := 0.0
			for j := range n {
				q += scaled.At(i, j) * inverse.At(j, k)
			}
			f.leverage[i] += q * q
		}
	}
	return f, nil
}

func parameterNames(names []string, n int) []string {
	if names != nil {
		return append([]string(nil), names...)
	}
	out := make([]string, n)
	for i := range out {
		out[i] = fmt.Sprintf("p%d", i+1)
	}
	return out
}
