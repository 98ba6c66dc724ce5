package tape

import (
	"fmt"

	"counterpoise/mechanics/expr"
)

// A Taylor computes the coefficients of a motion in powers of time, to a fixed
// order, by the recurrences for each operation. It is for one goroutine.
//
// The program's first outputs are the time derivatives of its first inputs,
// the state. An input named t is time, any other is constant. The cost is
// proportional to the square of the order.
//
// Source of the recurrences: Hairer, Nørsett and Wanner, Solving Ordinary
// Differential Equations I (2nd ed.), section I.8.
type Taylor struct {
	order  int
	state  int
	clock  int // the input that is time, -1 if none
	steps  []recurrence
	c      [][]float64 // coefficients of each value
	leaves []recurrence
	input  []int // row of each input, -1 if unused
	output []int // row of each output
	own    [][]float64
}

// A recurrence computes coefficient k of row d from lower ones and from those
// of its operands.
type recurrence struct {
	op         op
	fn         op  // of opHold
	d, a, b, s int // s: a third operand or a helper row
	e          int // the cosine of a sine
	v          float64
}

// MaxTaylorOrder bounds the order of a Taylor: 60 is beyond what float64 can
// use, and binds the memory.
const MaxTaylorOrder = 60

// Taylor returns the working memory for coefficients up to the given order of
// the motion of the first state inputs. It returns an error if the order is
// not from 1 to [MaxTaylorOrder], if the program has fewer outputs than the
// state, or if it holds an operation without a power series recurrence.
func (p *Program) Taylor(state, order int) (*Taylor, error) {
	if order < 1 || order > MaxTaylorOrder {
		return nil, &CompileError{-1, fmt.Sprintf("Taylor series of order %d: choose one from 1 to %d", order, MaxTaylorOrder)}
	}
	if state < 1 || state > len(p.inputs) || state > len(p.out) {
		return nil, &CompileError{-1, fmt.Sprintf("a state of %d for %d inputs and %d outputs: give at least one and at most each has", state, len(p.inputs), len(p.out))}
	}
	t := &Taylor{order: order, state: state, clock: -1, input: make([]int, len(p.inputs))}
	for i, name := range p.inputs {
		t.input[i] = -1
		if name == expr.TimeName && i >= state {
			t.clock = i
		}
	}
	b := taylorBuilder{t: t, g: p.g, row: map[ref]int{}}
	for _, r := range reachable(p.g, p.out) {
		b.add(r)
	}
	for _, o := range p.out {
		t.output = append(t.output, b.row[o])
	}
	b.prune()
	t.c = make([][]float64, len(b.fixed))
	all := make([]float64, len(b.fixed)*(order+1))
	for i := range t.c {
		t.c[i], all = all[:order+1:order+1], all[order+1:]
	}
	t.own = make([][]float64, state)
	for i := range t.own {
		t.own[i] = make([]float64, order+1)
	}
	return t, nil
}

// Operations that only a Taylor has.
const (
	opScale  op = 100 + iota // d = a b, where a is constant
	opSquare                 // d = a²
	opHold                   // d = f(a, b) of constants: coefficients beyond the first are 0
)

// A taylorBuilder turns the values of a graph into recurrences. Functions that
// have none of their own are written by those that have.
type taylorBuilder struct {
	t     *Taylor
	g     *graph
	row   map[ref]int
	fixed []bool // rows that do not change along the motion
}

func (b *taylorBuilder) newRow(fixed bool) int {
	b.fixed = append(b.fixed, fixed)
	return len(b.fixed) - 1
}

func (b *taylorBuilder) step(r recurrence) int {
	r.d = b.newRow(false)
	b.t.steps = append(b.t.steps, r)
	return r.d
}

func (b *taylorBuilder) constant(v float64) int {
	d := b.newRow(true)
	b.t.leaves = append(b.t.leaves, recurrence{op: opConst, d: d, v: v})
	return d
}

func (b *taylorBuilder) add(r ref) {
	if _, ok := b.row[r]; ok {
		return
	}
	v := b.g.values[r]
	switch v.op {
	case opConst:
		b.row[r] = b.constant(v.v)
		return
	case opInput:
		i := int(v.a)
		d := b.newRow(i >= b.t.state && i != b.t.clock)
		b.t.input[i] = d
		b.row[r] = d
		return
	}
	if b.hold(r, v) || b.power(r, v) {
		return
	}
	switch v.op {
	case opSin, opCos, opSinh, opCosh:
		b.pair(r, v)
	case opMul:
		b.row[r] = b.product(b.row[v.a], b.row[v.b])
	default:
		b.row[r] = b.function(v)
	}
}

// hold takes care of a value that does not change along the motion.
func (b *taylorBuilder) hold(r ref, v value) bool {
	rows := [3]int{}
	for i, x := range [...]ref{v.a, v.b, v.c} {
		if x == none {
			continue
		}
		if rows[i] = b.row[x]; !b.fixed[rows[i]] {
			return false
		}
	}
	d := b.step(recurrence{op: opHold, fn: v.op, a: rows[0], b: rows[1], s: rows[2]})
	b.fixed[d] = true
	b.row[r] = d
	return true
}

// power writes products of x and its root, and their reciprocals, as one power
// of x: one recurrence in place of three.
func (b *taylorBuilder) power(r ref, v value) bool {
	exponent, scale := 1.0, 1.0
	if v.op == opDiv {
		c, ok := b.g.isConst(v.a)
		if !ok {
			return false
		}
		exponent, scale = -1, c
		v = b.g.values[v.b]
	}
	var x ref
	switch v.op {
	case opSqrt:
		if exponent == 1 {
			return false // a root has its own recurrence
		}
		x, exponent = v.a, exponent*0.5
	case opMul:
		if w := b.g.values[v.b]; w.op == opSqrt && w.a == v.a {
			x = v.a
		} else if w := b.g.values[v.a]; w.op == opSqrt && w.a == v.b {
			x = v.b
		} else {
			return false
		}
		exponent *= 1.5
	default:
		return false
	}
	d := b.step(recurrence{op: opPow, a: b.row[x], v: exponent})
	if scale != 1 {
		d = b.product(b.constant(scale), d)
	}
	b.row[r] = d
	return true
}

func (b *taylorBuilder) product(x, y int) int {
	switch {
	case x == y:
		return b.step(recurrence{op: opSquare, a: x})
	case b.fixed[x]:
		return b.step(recurrence{op: opScale, a: x, b: y})
	case b.fixed[y]:
		return b.step(recurrence{op: opScale, a: y, b: x})
	}
	return b.step(recurrence{op: opMul, a: x, b: y})
}

// function adds the recurrence for one value and returns its row.
func (b *taylorBuilder) function(v value) int {
	a, c := b.row[v.a], 0
	if v.b != none {
		c = b.row[v.b]
	}
	one := func() int { return b.constant(1) }
	square := func(x int) int { return b.product(x, x) }
	switch v.op {
	case opTan, opTanh: // f' = h a', h = 1 ± f²
		h := b.newRow(false)
		return b.step(recurrence{op: v.op, a: a, s: h})
	case opAtan: // f' = a'/g, g = 1 + a²
		return b.step(recurrence{op: v.op, a: a, b: b.step(recurrence{op: opAdd, a: one(), b: square(a)})})
	case opAsin, opAcos: // f' = ±a'/g, g = √(1 - a²)
		g := b.step(recurrence{op: opSqrt, a: b.step(recurrence{op: opSub, a: one(), b: square(a)})})
		return b.step(recurrence{op: v.op, a: a, b: g})
	case opAtan2: // of y, x: f' = (x y' - y x')/g, g = x² + y²
		g := b.step(recurrence{op: opAdd, a: square(c), b: square(a)})
		return b.step(recurrence{op: opAtan2, a: a, b: c, s: g})
	case opPow:
		if k, ok := b.g.isConst(v.b); ok {
			return b.step(recurrence{op: opPow, a: a, v: k})
		}
		l := b.step(recurrence{op: opLog, a: a})
		return b.step(recurrence{op: opExp, a: b.product(l, c)})
	case opSelect:
		return b.step(recurrence{op: opSelect, a: a, b: c, s: b.row[v.c]})
	}
	return b.step(recurrence{op: v.op, a: a, b: c})
}

// pair computes a sine with its cosine, one of which may not be wanted.
func (b *taylorBuilder) pair(r ref, v value) {
	first, second := opSin, opCos
	if v.op == opSinh || v.op == opCosh {
		first, second = opSinh, opCosh
	}
	d, e := b.newRow(false), b.newRow(false)
	b.t.steps = append(b.t.steps, recurrence{op: first, d: d, e: e, a: b.row[v.a], s: b.newRow(false)})
	for o, row := range map[op]int{first: d, second: e} {
		if q, ok := b.g.index[value{op: o, a: v.a, b: none, c: none}]; ok {
			b.row[q] = row
		}
	}
	if v.op == second {
		b.row[r] = e
	} else {
		b.row[r] = d
	}
}

// prune drops the steps whose results nothing needs.
func (b *taylorBuilder) prune() {
	t := b.t
	needed := make([]bool, len(b.fixed))
	for _, o := range t.output {
		needed[o] = true
	}
	kept := t.steps[:0]
	for i := len(t.steps) - 1; i >= 0; i-- {
		s := t.steps[i]
		if paired := s.op == opSin || s.op == opSinh; !needed[s.d] && !(paired && needed[s.e]) {
			t.steps[i].op = opConst // dropped below
			continue
		}
		needed[s.a], needed[s.b], needed[s.s] = true, true, true
	}
	for _, s := range t.steps {
		if s.op != opConst {
			kept = append(kept, s)
		}
	}
	t.steps = kept
}

// Order returns the order of the series.
func (t *Taylor) Order() int { return t.order }

// Expand computes the coefficients of the motion from the given inputs of the
// program. It allocates nothing.
func (t *Taylor) Expand(in []float64) {
	if len(in) < len(t.input) {
		panic(fmt.Sprintf("tape: the program has %d inputs, the slice %d", len(t.input), len(in)))
	}
	for i := range t.state {
		t.own[i][0] = in[i]
	}
	for _, l := range t.leaves {
		t.c[l.d][0] = l.v
	}
	for i, row := range t.input {
		if row < 0 {
			continue
		}
		c := t.c[row]
		clear(c)
		c[0] = in[i]
		if i == t.clock {
			c[1] = 1
		}
	}
	for k := 0; k <= t.order; k++ {
		for i := range t.state {
			if row := t.input[i]; row >= 0 {
				t.c[row][k] = t.own[i][k]
			}
		}
		for i := range t.steps {
			t.advance(&t.steps[i], k)
		}
		if k < t.order {
			for i := range t.state {
				t.own[i][k+1] = t.c[t.output[i]][k] / float64(k+1)
			}
		}
	}
}

// Coefficients returns the coefficients of input i, one of the state, in
// powers of time from the point of Expand: x(τ) = Σ c[k] τᵏ. The slice is
// valid until the next Expand and must not be changed.
func (t *Taylor) Coefficients(i int) []float64 { return t.own[i] }

// Output returns the coefficients of output i, likewise.
func (t *Taylor) Output(i int) []float64 { return t.c[t.output[i]] }
