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
	d, a, b, s int // s: the partner of a sine, or a helper row
	e          int
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
	t.c = make([][]float64, b.rows)
	all := make([]float64, b.rows*(order+1))
	for i := range t.c {
		t.c[i], all = all[:order+1:order+1], all[order+1:]
	}
	t.own = make([][]float64, state)
	for i := range t.own {
		t.own[i] = make([]float64, order+1)
	}
	return t, nil
}

// A taylorBuilder turns the values of a graph into recurrences. Functions that
// have none of their own are written by those that have.
type taylorBuilder struct {
	t    *Taylor
	g    *graph
	row  map[ref]int
	rows int
}

func (b *taylorBuilder) newRow() int { b.rows++; return b.rows - 1 }

func (b *taylorBuilder) step(r recurrence) int {
	r.d = b.newRow()
	b.t.steps = append(b.t.steps, r)
	return r.d
}

func (b *taylorBuilder) constant(v float64) int {
	d := b.newRow()
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
		d := b.newRow()
		b.t.input[v.a] = d
		b.row[r] = d
		return
	case opSin, opCos, opSinh, opCosh:
		b.pair(r, v)
		return
	}
	a := b.row[v.a]
	c := 0
	if v.b != none {
		c = b.row[v.b]
	}
	one := func() int { return b.constant(1) }
	square := func(x int) int { return b.step(recurrence{op: opMul, a: x, b: x}) }
	switch v.op {
	case opTan, opTanh: // f' = (1 ± f²) a'
		d := b.newRow()
		h := b.newRow()
		b.t.steps = append(b.t.steps, recurrence{op: v.op, d: d, a: a, s: h})
		b.row[r] = d
	case opAsin, opAcos, opAtan: // f' = a'/g
		var g int
		if v.op == opAtan {
			g = b.step(recurrence{op: opAdd, a: one(), b: square(a)})
		} else {
			g = b.step(recurrence{op: opSqrt, a: b.step(recurrence{op: opSub, a: one(), b: square(a)})})
		}
		b.row[r] = b.step(recurrence{op: v.op, a: a, b: g})
	case opAtan2: // of y, x: as atan(y/x), where that is the right branch at order 0
		y, x := a, c
		g := b.step(recurrence{op: opAdd, a: square(x), b: square(y)})
		b.row[r] = b.step(recurrence{op: opAtan2, a: y, b: x, s: g})
	case opPow:
		if k, ok := b.g.isConst(v.b); ok {
			b.row[r] = b.step(recurrence{op: opPow, a: a, v: k})
			return
		}
		l := b.step(recurrence{op: opLog, a: a})
		b.row[r] = b.step(recurrence{op: opExp, a: b.step(recurrence{op: opMul, a: l, b: c})})
	case opSelect:
		b.row[r] = b.step(recurrence{op: opSelect, a: a, b: c, s: b.row[v.c]})
	default:
		b.row[r] = b.step(recurrence{op: v.op, a: a, b: c})
	}
}

// pair computes a sine with its cosine, one of which may not be wanted.
func (b *taylorBuilder) pair(r ref, v value) {
	first, second := opSin, opCos
	if v.op == opSinh || v.op == opCosh {
		first, second = opSinh, opCosh
	}
	d, e := b.newRow(), b.newRow()
	b.t.steps = append(b.t.steps, recurrence{op: first, d: d, e: e, a: b.row[v.a]})
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
