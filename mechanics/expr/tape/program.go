package tape

import (
	"fmt"
	"slices"
	"sync"

	"counterpoise/mechanics/expr"
)

// Options choose how to compile. The zero value is the usual choice.
type Options struct {
	// Values fixes symbols to numbers, which are folded into the program.
	Values map[string]float64
	// ExactAngles computes each sine and cosine from its own argument, even
	// where that of a ± b would come cheaper from those of a and b. See the
	// package's comment on accuracy.
	ExactAngles bool
}

// A Program computes the values of expressions from those of its inputs.
type Program struct {
	inputs []string
	g      *graph
	out    []ref
	pivots []pivot // of the mass matrix, for Check
	opts   Options
	code   code
	pool   sync.Pool
}

// Compile returns the program for the values of the outputs, where the inputs
// are the named symbols in this order and o.Values fixes further ones. It
// returns a [*CompileError] that names a symbol which is neither, or an output
// without a value.
func Compile(outputs []expr.Expr, inputs []string, o Options) (*Program, error) {
	g := newGraph()
	l, err := newLowering(g, inputs, o.Values)
	if err != nil {
		return nil, err
	}
	l.surveyAll(outputs)
	out, err := l.all(outputs)
	if err != nil {
		return nil, err
	}
	return assemble(g, inputs, out, nil, o), nil
}

// all lowers several expressions; an error gets the number of its output.
func (l *lowering) all(es []expr.Expr) ([]ref, error) {
	out := make([]ref, len(es))
	for i, e := range es {
		r, err := l.lower(e)
		if err != nil {
			if c, ok := err.(*CompileError); ok {
				c.Output = i
			}
			return nil, err
		}
		if v, ok := l.g.isConst(r); ok && v-v != 0 {
			return nil, &CompileError{i, "it has no finite value: a division by zero, or the root or logarithm of a negative number"}
		}
		out[i] = r
	}
	return out, nil
}

// A System is a set of second-order equations of motion M q” = F with a
// symmetric positive definite M, perhaps under constraints A q” = B with
// independent rows.
type System struct {
	Mass       [][]expr.Expr // M, n×n; only the lower triangle is read
	Force      []expr.Expr   // F
	Constraint [][]expr.Expr // A, m×n, or nil
	Target     []expr.Expr   // B
	Coordinate []string      // q; their velocities are q'
	Extra      []expr.Expr   // further outputs, such as energies
}

// CompileSystem returns the program of the motion of s. Its inputs are the n
// coordinates, the n velocities, then the names in more (such as t); its
// outputs are the n velocities, the n accelerations, the m multipliers λ with
// M q” = F + Aᵀλ, then those of s.Extra. The mass matrix is factored inside
// the program; where it is singular the accelerations are not finite, see
// [Program.Check].
func CompileSystem(s System, more []string, o Options) (*Program, error) {
	n := len(s.Coordinate)
	if len(s.Mass) != n || len(s.Force) != n || len(s.Constraint) != len(s.Target) {
		return nil, &CompileError{-1, fmt.Sprintf("a mass matrix of %d rows and %d forces for %d coordinates: give one of each", len(s.Mass), len(s.Force), n)}
	}
	for i, row := range s.Mass {
		if len(row) <= i {
			return nil, &CompileError{-1, fmt.Sprintf("row %d of the mass matrix has %d elements: give at least those up to the diagonal", i+1, len(row))}
		}
	}
	for i, row := range s.Constraint {
		if len(row) != n {
			return nil, &CompileError{-1, fmt.Sprintf("constraint %d has %d elements for %d coordinates: give one for each", i+1, len(row), n)}
		}
	}
	var inputs []string
	for _, q := range s.Coordinate {
		inputs = append(inputs, expr.Canonical(q))
	}
	for _, q := range s.Coordinate {
		inputs = append(inputs, expr.Canonical(q)+"'")
	}
	inputs = append(inputs, more...)
	g := newGraph()
	l, err := newLowering(g, inputs, o.Values)
	if err != nil {
		return nil, err
	}
	out := make([]ref, 0, 2*n)
	for i := range n {
		out = append(out, g.input(n+i))
	}
	solution, pivots, err := l.system(s)
	if err != nil {
		return nil, err
	}
	extra, err := l.all(s.Extra)
	if err != nil {
		return nil, err
	}
	return assemble(g, inputs, append(append(out, solution...), extra...), pivots, o), nil
}

// system lowers and solves M q” - Aᵀλ = F, A q” = B.
func (l *lowering) system(s System) (solution []ref, pivots []pivot, err error) {
	l.surveyAll(append(append([][]expr.Expr{s.Force, s.Target, s.Extra}, s.Mass...), s.Constraint...)...)
	g, n := l.g, len(s.Coordinate)
	mass := make([][]ref, n)
	for i := range n {
		if mass[i], err = l.all(s.Mass[i][:i+1]); err != nil {
			return nil, nil, located(err, "mass matrix, row of "+s.Coordinate[i])
		}
	}
	f := make([]ref, n)
	for i, e := range s.Force {
		one, err := l.all([]expr.Expr{e})
		if err != nil {
			return nil, nil, located(err, "force on "+s.Coordinate[i])
		}
		f[i] = one[0]
	}
	lower, d := factorLDL(g, mass)
	free := solveFactored(g, lower, d, f)
	for i, p := range d {
		pivots = append(pivots, pivot{p.value, mass[i][i], s.Coordinate[i]})
	}
	if len(s.Constraint) == 0 {
		return free, pivots, nil
	}
	// With X = M⁻¹Aᵀ: (A X) λ = B - A q”_free, q” = q”_free + X λ.
	m := len(s.Constraint)
	a, x := make([][]ref, m), make([][]ref, m)
	for i := range m {
		if a[i], err = l.all(s.Constraint[i]); err != nil {
			return nil, nil, located(err, fmt.Sprintf("constraint %d", i+1))
		}
		x[i] = solveFactored(g, lower, d, a[i])
	}
	b, err := l.all(s.Target)
	if err != nil {
		return nil, nil, located(err, "constraints")
	}
	schur := make([][]ref, m)
	for i := range m {
		for j := range i + 1 {
			schur[i] = append(schur[i], g.dot(a[i], x[j]))
		}
		b[i] = g.sub(b[i], g.dot(a[i], free))
	}
	sl, sd := factorLDL(g, schur)
	λ := solveFactored(g, sl, sd, b)
	for k := range n {
		for i := range m {
			free[k] = g.add(free[k], g.mul(x[i][k], λ[i]))
		}
	}
	for i, p := range sd {
		pivots = append(pivots, pivot{p.value, schur[i][i], ""})
	}
	return append(free, λ...), pivots, nil
}

// located returns a CompileError with the place in a system put in front.
func located(err error, place string) error {
	if c, ok := err.(*CompileError); ok {
		return &CompileError{-1, place + ": " + c.Reason}
	}
	return err
}

func (g *graph) dot(a, b []ref) ref {
	s := g.constant(0)
	for i := range a {
		s = g.add(s, g.mul(a[i], b[i]))
	}
	return s
}

// assemble makes the program of a finished graph.
func assemble(g *graph, inputs []string, out []ref, pivots []pivot, o Options) *Program {
	p := &Program{g: g, out: out, pivots: pivots, opts: o}
	for _, name := range inputs {
		p.inputs = append(p.inputs, expr.Canonical(name))
	}
	p.code = schedule(g, len(inputs), out, o)
	p.pool.New = func() any { return p.NewScratch() }
	return p
}

// Inputs returns the names of the inputs in their order, in a new slice.
func (p *Program) Inputs() []string { return append([]string(nil), p.inputs...) }

// Outputs returns the number of outputs.
func (p *Program) Outputs() int { return len(p.out) }

// Instructions returns the number of instructions that one evaluation runs.
func (p *Program) Instructions() int { return len(p.code.ins) }

// Operations returns the number of arithmetic operations and function calls of
// the program before any are fused, each shared one counted once.
func (p *Program) Operations() int {
	n := 0
	for _, r := range reachable(p.g, p.out) {
		if v := p.g.values[r]; v.op != opConst && v.op != opInput {
			n++
		}
	}
	return n
}

// input returns the number of a named input.
func (p *Program) input(name string) (int, error) {
	name = expr.Canonical(name)
	for i, in := range p.inputs {
		if in == name {
			return i, nil
		}
	}
	return 0, &CompileError{-1, fmt.Sprintf("%s is not an input of the program: its inputs are %v", name, p.inputs)}
}

// Free reports whether no output is computed from any of the named inputs. It
// is certain when it says so; a dependence that only cancels counts as one.
func (p *Program) Free(of ...string) bool {
	for _, r := range reachable(p.g, p.out) {
		v := &p.g.values[r]
		if v.op != opInput || int(v.a) >= len(p.inputs) {
			continue
		}
		for _, name := range of {
			if p.inputs[v.a] == expr.Canonical(name) {
				return false
			}
		}
	}
	return true
}

// Without returns the program with the named inputs left out, on which no
// output may depend: so a state can be handed to a right-hand side without
// time as it is. It returns an error if an output depends on one.
func (p *Program) Without(inputs ...string) (*Program, error) {
	if !p.Free(inputs...) {
		return nil, &CompileError{-1, fmt.Sprintf("some output depends on one of %v: only inputs that nothing needs can be left out", inputs)}
	}
	to := make([]int, len(p.inputs)) // new number of each input, -1 if it is left out
	var kept []string
	for i, name := range p.inputs {
		to[i] = len(kept)
		if slices.ContainsFunc(inputs, func(out string) bool { return expr.Canonical(out) == name }) {
			to[i] = -1
		} else {
			kept = append(kept, name)
		}
	}
	g := &graph{values: slices.Clone(p.g.values), index: make(map[value]ref, len(p.g.index))}
	for r := range g.values {
		v := &g.values[r]
		switch {
		case v.op != opInput:
		case to[v.a] >= 0:
			v.a = ref(to[v.a])
		default: // nothing that is needed reads it
			*v = value{op: opConst, a: none, b: none, c: none}
		}
		if _, ok := g.index[*v]; !ok && v.v == v.v {
			g.index[*v] = ref(r)
		}
	}
	return assemble(g, kept, p.out, nil, p.opts), nil
}

// Jacobian returns the program for the partial derivatives of every output
// along the named inputs, row by row: output i·len(along)+j is that of output
// i along along[j]. Without names it takes all inputs. The derivatives are
// exact. An unknown name gives an error.
func (p *Program) Jacobian(along ...string) (*Program, error) {
	if len(along) == 0 {
		along = p.inputs
	}
	g := p.g.clone()
	columns := make([]*derivation, len(along))
	for j, name := range along {
		i, err := p.input(name)
		if err != nil {
			return nil, err
		}
		columns[j] = &derivation{g: g, seed: map[int]ref{i: g.constant(1)}, memo: map[ref]ref{}}
	}
	var out []ref
	for _, o := range p.out {
		for _, d := range columns {
			out = append(out, d.of(o))
		}
	}
	return assemble(g, p.inputs, out, nil, p.opts), nil
}

// Variation returns the program that follows a small displacement δ of the
// first k inputs, the state: its inputs are those of p, then δ_1 … δ_k; its
// outputs those of p, then the sums over j of (∂output i/∂input j) δ_j.
func (p *Program) Variation(k int) (*Program, error) {
	if k < 1 || k > len(p.inputs) {
		return nil, &CompileError{-1, fmt.Sprintf("a variation of %d inputs of %d: vary at least one and at most all", k, len(p.inputs))}
	}
	g := p.g.clone()
	inputs := p.Inputs()
	d := &derivation{g: g, seed: map[int]ref{}, memo: map[ref]ref{}}
	for j := range k {
		d.seed[j] = g.input(len(p.inputs) + j)
		inputs = append(inputs, fmt.Sprintf("δ_%d", j+1))
	}
	out := append([]ref(nil), p.out...)
	for _, o := range p.out {
		out = append(out, d.of(o))
	}
	return assemble(g, inputs, out, p.pivots, p.opts), nil
}

func (g *graph) clone() *graph {
	c := &graph{values: append([]value(nil), g.values...), index: make(map[value]ref, len(g.index))}
	for v, r := range g.index {
		c.index[v] = r
	}
	return c
}

// Select returns the program with only the named outputs of p, in that order.
func (p *Program) Select(outputs ...int) (*Program, error) {
	var out []ref
	for _, i := range outputs {
		if i < 0 || i >= len(p.out) {
			return nil, &CompileError{-1, fmt.Sprintf("there is no output %d: the program has %d", i, len(p.out))}
		}
		out = append(out, p.out[i])
	}
	return assemble(p.g, p.inputs, out, p.pivots, p.opts), nil
}
