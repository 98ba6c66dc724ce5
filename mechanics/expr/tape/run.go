package tape

import (
	"fmt"
	"math"
)

// A Scratch is the working memory of a program for one goroutine.
type Scratch struct {
	owner    *Program
	register [registers]float64
	memory   []float64
}

// NewScratch returns working memory for p.
func (p *Program) NewScratch() *Scratch {
	s := &Scratch{owner: p, memory: make([]float64, p.code.memory)}
	for _, c := range p.code.constant {
		s.register[c.at] = c.v
	}
	for _, c := range p.code.constMem {
		s.memory[c.at] = c.v
	}
	return s
}

// Eval writes the values of the outputs to dst for the given inputs, in the
// order of Compile. It allocates nothing if it is given a scratch of p; with
// nil it borrows one. A value may come out as NaN or infinite where the
// expression has none. Eval panics if a slice is too short or the scratch is
// another program's.
func (p *Program) Eval(dst, in []float64, s *Scratch) {
	if s == nil {
		s = p.pool.Get().(*Scratch)
		defer p.pool.Put(s)
	}
	if s.owner != p || len(in) < p.code.inputs || len(dst) < len(p.out) {
		panic(p.misuse(len(dst), len(in), s.owner == p))
	}
	c := &p.code
	r := &s.register
	for i, v := range in[:c.resident] {
		r[uint8(i)] = v
	}
	if c.resident < c.inputs {
		copy(s.memory, in[c.resident:c.inputs])
	}
	run(c.words, r, s.memory, dst)
	dst = dst[:len(c.result)]
	for i, o := range c.result {
		dst[i] = r[o]
	}
	for _, o := range c.distant {
		dst[o.output] = s.memory[o.at]
	}
}

func (p *Program) misuse(dst, in int, own bool) string {
	if !own {
		return "tape: the scratch was made for another program: make one with NewScratch of this program"
	}
	return fmt.Sprintf("tape: the program has %d inputs and %d outputs, but the slices have %d and %d", p.code.inputs, len(p.out), in, dst)
}

// run executes instructions on the registers.
func run(words []word, r *[registers]float64, memory, dst []float64) {
	_ = r[0] // checked once, not in each instruction
	for _, w := range words {
		switch w.op() {
		case iAdd:
			r[w.d()] = r[w.a()] + r[w.b()]
		case iSub:
			r[w.d()] = r[w.a()] - r[w.b()]
		case iMul:
			r[w.d()] = r[w.a()] * r[w.b()]
		case iDiv:
			r[w.d()] = r[w.a()] / r[w.b()]
		case iNeg:
			r[w.d()] = -r[w.a()]
		case iSqrt:
			r[w.d()] = math.Sqrt(r[w.a()])
		case iOverRoot:
			r[w.d()] = r[w.a()] / math.Sqrt(r[w.b()])
		case iOverCube:
			x := r[w.b()]
			r[w.d()] = r[w.a()] / (x * math.Sqrt(x))
		case iAdd3:
			r[w.d()] = r[w.a()] + r[w.b()] + r[w.c()]
		case iMul3:
			r[w.d()] = r[w.a()] * r[w.b()] * r[w.c()]
		case iMulAdd:
			r[w.d()] = r[w.a()]*r[w.b()] + r[w.c()]
		case iMulSub:
			r[w.d()] = r[w.a()]*r[w.b()] - r[w.c()]
		case iSubMul:
			r[w.d()] = r[w.c()] - r[w.a()]*r[w.b()]
		case iMulMulAdd:
			r[w.d()] = r[w.a()]*r[w.b()] + r[w.c()]*r[w.e()]
		case iMulMulSub:
			r[w.d()] = r[w.a()]*r[w.b()] - r[w.c()]*r[w.e()]
		case iMul3Add:
			r[w.d()] = r[w.a()]*r[w.b()]*r[w.c()] + r[w.e()]
		case iMul3Sub:
			r[w.d()] = r[w.a()]*r[w.b()]*r[w.c()] - r[w.e()]
		case iSubMul3:
			r[w.d()] = r[w.e()] - r[w.a()]*r[w.b()]*r[w.c()]
		case iSin:
			r[w.d()], _ = sincos(r[w.a()])
		case iCos:
			_, r[w.d()] = sincos(r[w.a()])
		case iSincos:
			r[w.d()], r[w.e()] = sincos(r[w.a()])
		case iSelect:
			if r[w.a()] != 0 {
				r[w.d()] = r[w.b()]
			} else {
				r[w.d()] = r[w.c()]
			}
		case iFunction1:
			r[w.d()] = apply(op(w.extra()), r[w.a()], 0)
		case iFunction2:
			r[w.d()] = apply(op(w.extra()), r[w.a()], r[w.b()])
		case iLoad:
			r[w.d()] = memory[w.extra()]
		case iStore:
			memory[w.extra()] = r[w.a()]
		case iOutput:
			dst[w.extra()] = r[w.a()]
		}
	}
}
