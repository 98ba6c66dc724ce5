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
	for i := 0; i < c.resident; i++ {
		r[uint8(i)] = in[i]
	}
	copy(s.memory, in[c.resident:c.inputs])
	run(c.ins, r, s.memory, dst)
	for i, o := range c.out {
		if o.memory {
			dst[i] = s.memory[o.at]
		} else {
			dst[i] = r[uint8(o.at)]
		}
	}
}

func (p *Program) misuse(dst, in int, own bool) string {
	if !own {
		return "tape: the scratch was made for another program: make one with NewScratch of this program"
	}
	return fmt.Sprintf("tape: the program has %d inputs and %d outputs, but the slices have %d and %d", p.code.inputs, len(p.out), in, dst)
}

// run executes instructions on the registers.
func run(ins []instruction, r *[registers]float64, memory, dst []float64) {
	for i := range ins {
		in := &ins[i]
		switch in.op {
		case iAdd:
			r[in.d] = r[in.a] + r[in.b]
		case iSub:
			r[in.d] = r[in.a] - r[in.b]
		case iMul:
			r[in.d] = r[in.a] * r[in.b]
		case iDiv:
			r[in.d] = r[in.a] / r[in.b]
		case iNeg:
			r[in.d] = -r[in.a]
		case iSqrt:
			r[in.d] = math.Sqrt(r[in.a])
		case iAdd3:
			r[in.d] = r[in.a] + r[in.b] + r[in.c]
		case iMul3:
			r[in.d] = r[in.a] * r[in.b] * r[in.c]
		case iMulAdd:
			r[in.d] = r[in.a]*r[in.b] + r[in.c]
		case iMulSub:
			r[in.d] = r[in.a]*r[in.b] - r[in.c]
		case iSubMul:
			r[in.d] = r[in.c] - r[in.a]*r[in.b]
		case iMulMulAdd:
			r[in.d] = r[in.a]*r[in.b] + r[in.c]*r[in.e]
		case iMulMulSub:
			r[in.d] = r[in.a]*r[in.b] - r[in.c]*r[in.e]
		case iMul3Add:
			r[in.d] = r[in.a]*r[in.b]*r[in.c] + r[in.e]
		case iSubMul3:
			r[in.d] = r[in.e] - r[in.a]*r[in.b]*r[in.c]
		case iSin:
			r[in.d], _ = sincos(r[in.a])
		case iCos:
			_, r[in.d] = sincos(r[in.a])
		case iSincos:
			r[in.d], r[in.e] = sincos(r[in.a])
		case iSelect:
			if r[in.a] != 0 {
				r[in.d] = r[in.b]
			} else {
				r[in.d] = r[in.c]
			}
		case iFunction1:
			r[in.d] = apply(op(in.extra), r[in.a], 0)
		case iFunction2:
			r[in.d] = apply(op(in.extra), r[in.a], r[in.b])
		case iLoad:
			r[in.d] = memory[in.extra]
		case iStore:
			memory[in.extra] = r[in.a]
		case iOutput:
			dst[in.extra] = r[in.a]
		}
	}
}
