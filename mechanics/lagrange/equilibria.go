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
	Neutral // it rests anywhere along some coordinate, and is stable but for that
)

// String returns the word.
func (s Stability) String() string {
	words := [...]string{"undecided", "stable", "unstable", "neutral"}
	if int(s) >= len(words) {
		return fmt.Sprintf("no stability (%d)", uint8(s))
	}
	return words[s]
}

// An Equilibrium is a place where the system rests.
type Equilibrium struct {
	At        map[string]float64 // the coordinates
	Stability Stability
	// Doubt says why the stability is undecided where there is no linear
	// motion, as at the pole of polar angles; empty otherwise.
	Doubt string
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
// Places further out are left out; a coordinate on which no force depends, such
// as the place of a cart on a level track, is put to 0. Parameters are as in
// Compile.
//
// It is a search by Newton's method from many starts: what it finds are places
// of rest to rounding, but it proves nothing about there being no others.
func (e *Equations) Equilibria(values map[string]float64, in map[string]Range) ([]Equilibrium, error) {
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
		out = append(out, s.classify(q))
	}
	return out, nil
}

// A search looks for zeros of the forces at rest, F + Aᵀλ = 0 with the
// constraints f = 0. Its unknowns are the coordinates, then the multipliers λ.
type search struct {
	names    []string
	force    *tape.Program // the functions that are to vanish
	slope    *tape.Program // their derivatives along the unknowns
	linear   *tape.Program // M, C, K and A of the linear motion
	m        int           // the number of constraints
	periodic []bool
	cyclic   []bool // no force depends on it
	box      []Range
	f, j     []float64
}

// unknownMultiplier is a name that no parameter has by accident.
func unknownMultiplier(k int) string { return fmt.Sprintf("multiplier.%d", k+1) }

// totalForces returns F + Aᵀλ, velocities not yet put to zero.
func (e *Equations) totalForces() []expr.Expr {
	total := make([]expr.Expr, len(e.Force))
	for i, f := range e.Force {
		for k, row := range e.Rows {
			f = f.Plus(expr.Mul(row[i], expr.Sym(unknownMultiplier(k))))
		}
		total[i] = f
	}
	return total
}

// still returns the replacement of all velocities by zero.
func (e *Equations) still() map[string]expr.Expr {
	rest := make(map[string]expr.Expr)
	for _, q := range e.Coordinates {
		rest[velocity(q)] = expr.Int(0)
	}
	return rest
}

func (e *Equations) newSearch(values map[string]float64) (*search, error) {
	rest, total := e.still(), e.totalForces()
	var zero, linear []expr.Expr
	for i, f := range total {
		if f = f.Subs(rest); f.Has(expr.TimeName) {
			return nil, wrong("Forces", "the force on %s depends on time: a driven system does not rest; leave the drive out", e.Coordinates[i])
		}
		zero = append(zero, f)
	}
	for _, f := range e.Constraints {
		if f.Has(expr.TimeName) {
			return nil, wrong("Constraints", "%s depends on time: a driven system does not rest; leave the drive out", f)
		}
		zero = append(zero, f)
	}
	for _, row := range e.Mass {
		linear = append(linear, row...)
	}
	for _, along := range []func(string) string{velocity, func(q string) string { return q }} {
		for _, f := range total {
			for _, q := range e.Coordinates {
				linear = append(linear, expr.Neg(f.Diff(along(q)).Subs(rest)))
			}
		}
	}
	for _, row := range e.Rows {
		linear = append(linear, row...)
	}
	n, m := len(e.Coordinates), len(e.Rows)
	unknowns := slices.Clone(e.Coordinates)
	for k := range m {
		unknowns = append(unknowns, unknownMultiplier(k))
	}
	o := tape.Options{Values: e.values(values), ExactAngles: true}
	s := &search{names: e.Coordinates, m: m, periodic: make([]bool, n), box: make([]Range, n),
		f: make([]float64, n+m), j: make([]float64, (n+m)*(n+m))}
	var err error
	if s.force, err = tape.Compile(zero, unknowns, o); err != nil {
		return nil, err
	}
	if s.slope, err = s.force.Jacobian(); err != nil {
		return nil, err
	}
	if s.linear, err = tape.Compile(linear, unknowns, o); err != nil {
		return nil, err
	}
	for i, q := range e.Coordinates {
		s.cyclic = append(s.cyclic, s.force.Free(q))
		s.periodic[i] = s.isPeriodic(i)
	}
	return s, nil
}

// isPeriodic reports whether the forces repeat after 2π of coordinate i.
func (s *search) isPeriodic(i int) bool {
	n := len(s.names) + s.m
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
	q := make([]float64, len(s.names)+s.m)
	for i := range s.names {
		if s.cyclic[i] {
			continue
		}
		b := primes[i%len(primes)]
		x, f := 0.0, 1.0
		for m := k + 1; m > 0; m /= b {
			f /= float64(b)
			x += f * float64(m%b)
		}
		q[i] = s.box[i].From + x*(s.box[i].To-s.box[i].From)
	}
	s.startMultipliers(q)
	return q
}

// startMultipliers puts those multipliers that balance the forces at q as well
// as they can, by least squares.
func (s *search) startMultipliers(q []float64) {
	n := len(s.names)
	if s.m == 0 || s.m > n {
		return
	}
	v := make([]float64, s.linear.Outputs())
	s.linear.Eval(v, q, nil)
	s.force.Eval(s.f, q, nil)
	a := mat.NewDense(s.m, n, v[3*n*n:])
	f := mat.NewVecDense(n, nil)
	f.ScaleVec(-1, mat.NewVecDense(n, s.f[:n]))
	λ := mat.NewVecDense(s.m, q[n:])
	if err := λ.SolveVec(a.T(), f); err != nil {
		clear(q[n:])
	}
}

// newton improves q and reports whether it came to rest.
func (s *search) newton(q []float64) bool {
	const most = 60
	n := len(q)
	for range most {
		s.force.Eval(s.f, q, nil)
		s.slope.Eval(s.j, q, nil)
		step, ok := leastStep(mat.NewDense(n, n, slices.Clone(s.j)), mat.NewVecDense(n, slices.Clone(s.f)))
		if !ok {
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
			s.force.Eval(s.f, q, nil)
			return norm(s.f) <= 1e-9*s.scale(q)
		}
	}
	return false
}

// leastStep returns the shortest x that solves a x = f as well as can be, and
// false if a is zero.
func leastStep(a *mat.Dense, f *mat.VecDense) (*mat.VecDense, bool) {
	const rounding = 1e-13
	x := mat.NewVecDense(f.Len(), nil)
	if err := x.SolveVec(a, f); err == nil {
		return x, true
	}
	var svd mat.SVD
	if !svd.Factorize(a, mat.SVDThin) {
		return nil, false
	}
	rank := svd.Rank(rounding)
	if rank == 0 {
		return nil, false
	}
	svd.SolveVecTo(x, f, rank)
	return x, true
}

// scale returns how large the forces near q are: their change over one unit of
// each unknown.
func (s *search) scale(q []float64) float64 {
	s.slope.Eval(s.j, q, nil)
	return math.Max(norm(s.j), math.SmallestNonzeroFloat64)
}

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
	for i := range s.names {
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
	for i := range s.names {
		if math.Abs(p[i]-q[i]) > 1e-7*(1+math.Abs(p[i])) {
			return false
		}
	}
	return true
}

// classify judges the place q by the linear motion about it.
func (s *search) classify(q []float64) Equilibrium {
	e := Equilibrium{At: make(map[string]float64, len(s.names))}
	for i, name := range s.names {
		e.At[name] = q[i]
	}
	if err := s.linearMotion(&e, q); err != nil {
		e.Stability, e.Doubt = Undecided, err.Error()
	}
	return e
}

// linearMotion finds the eigenvalues of the linear motion about q, in the
// directions that the constraints leave, and the stability.
func (s *search) linearMotion(e *Equilibrium, q []float64) error {
	n := len(s.names)
	v := make([]float64, 3*n*n+s.m*n)
	s.linear.Eval(v, q, nil)
	for _, x := range v {
		if x-x != 0 {
			return fmt.Errorf("the linear motion is not finite here: choose coordinates that are regular")
		}
	}
	mass, damping, stiffness := mat.NewDense(n, n, v[:n*n]), mat.NewDense(n, n, v[n*n:2*n*n]), mat.NewDense(n, n, v[2*n*n:3*n*n])
	if s.m > 0 {
		z, err := freeDirections(mat.NewDense(s.m, n, v[3*n*n:]))
		if err != nil {
			return err
		}
		mass, damping, stiffness = projected(mass, z), projected(damping, z), projected(stiffness, z)
	}
	a, err := firstOrder(mass, damping, stiffness)
	if err != nil {
		return err
	}
	var eig mat.Eigen
	if !eig.Factorize(a, mat.EigenNone) {
		return fmt.Errorf("the eigenvalues of the linear motion were not found")
	}
	e.Eigenvalues = eig.Values(nil)
	slices.SortFunc(e.Eigenvalues, func(x, y complex128) int {
		if c := cmp.Compare(imag(x), imag(y)); c != 0 {
			return c
		}
		return cmp.Compare(real(x), real(y))
	})
	cyclic := 0
	for _, c := range s.cyclic {
		if c {
			cyclic++
		}
	}
	e.Stability = judge(e.Eigenvalues, cyclic, mat.Norm(damping, 1) <= 1e-12*(mat.Norm(mass, 1)+mat.Norm(stiffness, 1)))
	return nil
}

// freeDirections returns a basis of the displacements that the constraints
// allow, as columns: the null space of A.
func freeDirections(a *mat.Dense) (*mat.Dense, error) {
	m, n := a.Dims()
	var svd mat.SVD
	if m >= n || !svd.Factorize(a, mat.SVDFull) {
		return nil, fmt.Errorf("the constraints leave nothing to move: leave one out")
	}
	if s := svd.Values(nil); s[m-1] <= 1e-12*s[0] {
		return nil, fmt.Errorf("the constraints depend on each other: leave one out")
	}
	var v mat.Dense
	svd.VTo(&v)
	return mat.DenseCopyOf(v.Slice(0, n, m, n)), nil
}

// projected returns zᵀ x z.
func projected(x, z *mat.Dense) *mat.Dense {
	var out mat.Dense
	out.Product(z.T(), x, z)
	return &out
}

// firstOrder returns the matrix of the linear motion of (x, x').
func firstOrder(mass, damping, stiffness *mat.Dense) (*mat.Dense, error) {
	n, _ := mass.Dims()
	var k, c mat.Dense
	if err := k.Solve(mass, stiffness); err != nil {
		return nil, fmt.Errorf("the mass matrix is singular here: choose coordinates that are regular")
	}
	if err := c.Solve(mass, damping); err != nil {
		return nil, err
	}
	a := mat.NewDense(2*n, 2*n, nil)
	for i := range n {
		a.Set(i, n+i, 1)
		for j := range n {
			a.Set(n+i, j, -k.At(i, j))
			a.Set(n+i, n+j, -c.At(i, j))
		}
	}
	return a, nil
}

// judge decides from the eigenvalues: one that grows is unstable; all that
// decay, or all that swing in a potential well, stable. Each cyclic coordinate
// accounts for two eigenvalues that are zero, or with friction for one. Free
// of velocities means that there is neither friction nor a gyroscopic term.
func judge(eigenvalues []complex128, cyclic int, velocityFree bool) Stability {
	scale := 0.0
	for _, v := range eigenvalues {
		scale = math.Max(scale, math.Hypot(real(v), imag(v)))
	}
	const rounding = 1e-7 // eigenvalues of a double root are good to the root of 1e-16
	zero, decays, swings := 0, 0, 0
	for _, v := range eigenvalues {
		switch {
		case real(v) > rounding*scale:
			return Unstable
		case math.Hypot(real(v), imag(v)) <= rounding*scale:
			zero++
		case real(v) < -rounding*scale:
			decays++
		default:
			swings++
		}
	}
	switch n := len(eigenvalues); {
	case decays == n || swings == n && velocityFree:
		return Stable
	case cyclic > 0 && scale > 0 && (velocityFree && zero == 2*cyclic && zero+swings == n || zero == cyclic && zero+decays == n):
		return Neutral
	}
	return Undecided
}
