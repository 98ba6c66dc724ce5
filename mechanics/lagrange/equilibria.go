package lagrange

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/expr/tape"

	"gonum.org/v1/gonum/mat"
)

// Stability says what small disturbances of a place of rest do.
type Stability uint8

// The stabilities of a place of rest.
const (
	Undecided Stability = iota // the linear terms do not decide
	Stable
	Unstable
)

// String returns the word.
func (s Stability) String() string {
	return [...]string{"undecided", "stable", "unstable"}[s]
}

// An Equilibrium is a place where the system rests.
type Equilibrium struct {
	At        map[string]float64 // the coordinates
	Stability Stability
	// Eigenvalues are those of the linear motion, in 1/s: a growth rate as real
	// part, an angular frequency as imaginary part.
	Eigenvalues []complex128
}

// A Range is an interval of a coordinate.
type Range struct{ From, To float64 }

// searchStarts is the number of points from which Equilibria searches. Newton's
// method from points spread evenly finds every place of rest of the smooth
// potentials of toys; 200 starts a coordinate cost some milliseconds.
const searchStarts = 200

// Equilibria returns the places of rest that a search finds in the given
// ranges of the coordinates, sorted. A coordinate without a range is searched
// from -π to π if the system is periodic in it, and from -10 to 10 if not.
// Places further out are left out; for a system that rests everywhere along a
// line, some points of it come out. Parameters are as in Compile.
//
// It is a search by Newton's method from many starts: what it finds are places
// of rest to rounding, but it proves nothing about there being no others.
func (e *Equations) Equilibria(values map[string]float64, in map[string]Range) ([]Equilibrium, error) {
	if len(e.Rows) > 0 {
		return nil, wrong("Constraints", "the search for rest under constraints is not offered: choose coordinates that meet them, with In")
	}
	s, err := e.newSearch(values)
	if err != nil {
		return nil, err
	}
	if err := s.ranges(in); err != nil {
		return nil, err
	}
	var found [][]float64
	for k := range searchStarts * len(e.Coordinates) {
		q := s.start(k)
		if s.newton(q) && s.accept(q) && !slices.ContainsFunc(found, func(p []float64) bool { return s.same(p, q) }) {
			found = append(found, q)
		}
	}
	slices.SortFunc(found, slices.Compare)
	out := make([]Equilibrium, 0, len(found))
	for _, q := range found {
		eq, err := s.classify(q)
		if err != nil {
			return nil, err
		}
		out = append(out, eq)
	}
	return out, nil
}

// A search looks for zeros of the forces at rest.
type search struct {
	names    []string
	force    *tape.Program // F(q) at rest
	slope    *tape.Program // ∂F/∂q
	motion   *tape.Program // the rates, for the linear motion
	periodic []bool
	box      []Range
	f, j     []float64
}

func (e *Equations) newSearch(values map[string]float64) (*search, error) {
	rest := make(map[string]expr.Expr)
	for _, q := range e.Coordinates {
		rest[velocity(q)] = expr.Int(0)
	}
	var forces []expr.Expr
	for i, f := range e.Force {
		if f = f.Subs(rest); f.Has(expr.TimeName) {
			return nil, wrong("Forces", "the force on %s depends on time: a driven system does not rest; leave the drive out", e.Coordinates[i])
		}
		forces = append(forces, f)
	}
	force, err := tape.Compile(forces, e.Coordinates, tape.Options{Values: e.values(values), ExactAngles: true})
	if err != nil {
		return nil, err
	}
	slope, err := force.Jacobian()
	if err != nil {
		return nil, err
	}
	motion, err := e.Compile(values)
	if err != nil {
		return nil, err
	}
	n := len(e.Coordinates)
	s := &search{names: e.Coordinates, force: force, slope: slope, motion: motion,
		periodic: make([]bool, n), box: make([]Range, n), f: make([]float64, n), j: make([]float64, n*n)}
	for i := range n {
		s.periodic[i] = s.isPeriodic(i)
	}
	return s, nil
}

// isPeriodic reports whether the forces repeat after 2π of coordinate i.
func (s *search) isPeriodic(i int) bool {
	n := len(s.names)
	q, a, b := make([]float64, n), make([]float64, n), make([]float64, n)
	for k := range 5 {
		for j := range q {
			q[j] = math.Sin(float64(3*k+2*j+1)) + 0.5
		}
		s.force.Eval(a, q, nil)
		q[i] += 2 * math.Pi
		s.force.Eval(b, q, nil)
		for j := range a {
			if !(math.Abs(a[j]-b[j]) <= 1e-9*(1+math.Abs(a[j]))) {
				return false
			}
		}
	}
	return true
}

func (s *search) ranges(in map[string]Range) error {
	const far = 10
	for i := range s.box {
		s.box[i] = Range{-far, far}
		if s.periodic[i] {
			s.box[i] = Range{-math.Pi, math.Pi}
		}
	}
	for name, r := range in {
		i := slices.Index(s.names, expr.Canonical(name))
		if i < 0 {
			return wrong("Coordinates", "%s is not a coordinate to search: they are %v", name, s.names)
		}
		if !(r.From < r.To) || r.From-r.From != 0 || r.To-r.To != 0 {
			return wrong("Coordinates", "the range of %s from %g to %g is empty or endless: give two finite numbers in rising order", name, r.From, r.To)
		}
		s.box[i], s.periodic[i] = r, false
	}
	return nil
}

// start returns the k-th of points spread evenly over the box: the Halton
// sequence, whose bases are the first primes.
func (s *search) start(k int) []float64 {
	primes := [...]int{2, 3, 5, 7, 11, 13, 17, 19, 23, 29}
	q := make([]float64, len(s.names))
	for i := range q {
		b := primes[i%len(primes)]
		x, f := 0.0, 1.0
		for m := k + 1; m > 0; m /= b {
			f /= float64(b)
			x += f * float64(m%b)
		}
		q[i] = s.box[i].From + x*(s.box[i].To-s.box[i].From)
	}
	return q
}

// newton improves q and reports whether it came to rest.
func (s *search) newton(q []float64) bool {
	const most = 60
	n := len(q)
	for range most {
		s.force.Eval(s.f, q, nil)
		s.slope.Eval(s.j, q, nil)
		step := mat.NewVecDense(n, nil)
		err := step.SolveVec(mat.NewDense(n, n, slices.Clone(s.j)), mat.NewVecDense(n, slices.Clone(s.f)))
		if err != nil && !isCondition(err) {
			return norm(s.f) == 0
		}
		longest, size := 0.0, 1.0
		for i := range n {
			longest = math.Max(longest, math.Abs(step.AtVec(i)))
			size = math.Max(size, math.Abs(q[i]))
		}
		if !(longest < 1e6) {
			return false
		}
		cut := math.Min(1, 1/longest) // at most one rad or metre at a time
		for i := range n {
			q[i] -= cut * step.AtVec(i)
		}
		if longest <= 1e-14*size {
			return true
		}
	}
	return false
}

func isCondition(err error) bool { _, ok := err.(mat.Condition); return ok }

func norm(x []float64) float64 {
	s := 0.0
	for _, v := range x {
		s = math.Max(s, math.Abs(v))
	}
	return s
}

// accept brings angles into (-π, π] and reports whether q is in the box.
func (s *search) accept(q []float64) bool {
	const slack = 1e-9
	for i := range q {
		if s.periodic[i] {
			q[i] = math.Remainder(q[i], 2*math.Pi)
			if q[i] < -math.Pi+slack {
				q[i] += 2 * math.Pi
			}
		}
		if math.Abs(q[i]) < 1e-12 {
			q[i] = 0
		}
		if q[i] < s.box[i].From-slack || q[i] > s.box[i].To+slack {
			return false
		}
	}
	return true
}

func (s *search) same(p, q []float64) bool {
	for i := range p {
		if math.Abs(p[i]-q[i]) > 1e-7*(1+math.Abs(p[i])) {
			return false
		}
	}
	return true
}

// classify finds the eigenvalues of the linear motion about q.
func (s *search) classify(q []float64) (Equilibrium, error) {
	n := len(q)
	e := Equilibrium{At: make(map[string]float64, n)}
	for i, name := range s.names {
		e.At[name] = q[i]
	}
	j, err := s.motion.Jacobian(s.motion.Inputs()[:2*n]...)
	if err != nil {
		return e, err
	}
	in, a := make([]float64, 2*n+1), make([]float64, 4*n*n)
	copy(in, q)
	j.Eval(a, in, nil)
	for _, v := range a {
		if v-v != 0 {
			return e, fmt.Errorf("the linear motion about %v is not finite: the mass matrix is singular there", e.At)
		}
	}
	var eig mat.Eigen
	if !eig.Factorize(mat.NewDense(2*n, 2*n, a), mat.EigenNone) {
		return e, nil
	}
	e.Eigenvalues = eig.Values(nil)
	slices.SortFunc(e.Eigenvalues, func(x, y complex128) int {
		if c := cmp.Compare(imag(x), imag(y)); c != 0 {
			return c
		}
		return cmp.Compare(real(x), real(y))
	})
	e.Stability = s.judge(e.Eigenvalues, a)
	return e, nil
}

// judge decides from the eigenvalues: one that grows is unstable; all that
// decay, or all that swing in a potential well, stable.
func (s *search) judge(eigenvalues []complex128, a []float64) Stability {
	n := len(s.names)
	scale := 0.0
	for _, v := range eigenvalues {
		scale = math.Max(scale, math.Hypot(real(v), imag(v)))
	}
	const rounding = 1e-7 // eigenvalues of a double root are good to the root of 1e-16
	decays, swings := true, true
	for _, v := range eigenvalues {
		if real(v) > rounding*scale {
			return Unstable
		}
		decays = decays && real(v) < -rounding*scale
		swings = swings && math.Abs(imag(v)) > rounding*scale
	}
	velocityFree := true // no friction and no gyroscopic terms
	for i := range n {
		for j := range n {
			velocityFree = velocityFree && math.Abs(a[(n+i)*2*n+n+j]) <= rounding*scale
		}
	}
	if decays || swings && velocityFree {
		return Stable
	}
	return Undecided
}
