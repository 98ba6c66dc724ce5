package tape

import (
	"fmt"
	"math"
)

// lanes is the number of points that a batch works on at a time: enough to
// spread the cost of decoding an instruction, few enough that the registers of
// usual programs stay in the first-level cache (64 lanes are 512 bytes each).
const lanes = 64

// A BatchScratch is the working memory of a program for batches, for one
// goroutine.
type BatchScratch struct {
	owner    *Program
	block    []float64   // registers and memory, lanes each
	register [][]float64 // windows of block, or of the caller's inputs
	memory   [][]float64
	result   [][]float64 // the windows of dst for the present block
}

// NewBatchScratch returns working memory for batches of p.
func (p *Program) NewBatchScratch() *BatchScratch {
	c := &p.code
	s := &BatchScratch{owner: p, block: make([]float64, (c.used+c.memory)*lanes),
		register: make([][]float64, c.used), memory: make([][]float64, c.memory), result: make([][]float64, len(p.out))}
	for i := range s.register {
		s.register[i] = s.block[i*lanes : (i+1)*lanes]
	}
	for i := range s.memory {
		s.memory[i] = s.block[(c.used+i)*lanes : (c.used+i+1)*lanes]
	}
	for _, k := range c.constant {
		fill(s.register[k.at], k.v)
	}
	for _, k := range c.constMem {
		fill(s.memory[k.at], k.v)
	}
	return s
}

func fill(x []float64, v float64) {
	for i := range x {
		x[i] = v
	}
}

// EvalBatch evaluates the program at n = len(dst[0]) points: input i of point
// j is in[i][j], output i goes to dst[i][j]. An input of length 1 is the same
// for all points. dst may not overlap in. Given a scratch of p it allocates
// nothing. EvalBatch panics if the lengths differ.
func (p *Program) EvalBatch(dst, in [][]float64, s *BatchScratch) {
	if s == nil {
		s = p.NewBatchScratch()
	}
	c := &p.code
	if s.owner != p || len(in) < c.inputs || len(dst) < len(p.out) {
		panic(p.misuse(len(dst), len(in), s.owner == p))
	}
	if len(dst) == 0 {
		return
	}
	n := len(dst[0])
	for i, x := range in[:c.inputs] {
		if len(x) == 1 && n != 1 {
			fill(s.own(i, c), x[0])
		} else if len(x) != n {
			panic(fmt.Sprintf("tape: a batch of %d points, but input %d has %d", n, i, len(x)))
		}
	}
	for from := 0; from < n; from += lanes {
		w := min(lanes, n-from)
		for i, x := range in[:c.inputs] {
			switch {
			case len(x) == 1 && n != 1:
				s.window(i, c, s.own(i, c)[:w])
			default:
				s.window(i, c, x[from:from+w])
			}
		}
		for i := range p.out {
			s.result[i] = dst[i][from : from+w]
		}
		runBatch(c.ins, s, w)
		for i, o := range c.result {
			copy(s.result[i], s.register[o])
		}
		for _, o := range c.distant {
			copy(s.result[o.output], s.memory[o.at])
		}
	}
}

// own returns the block's own lanes of input i.
func (s *BatchScratch) own(i int, c *code) []float64 {
	if i >= c.resident {
		i += c.used - c.resident
	}
	return s.block[i*lanes : (i+1)*lanes]
}

// window makes x the lanes of input i.
func (s *BatchScratch) window(i int, c *code, x []float64) {
	if i < c.resident {
		s.register[i] = x
	} else {
		s.memory[i-c.resident] = x
	}
}

// runWide executes one instruction over a multiple of four lanes with wide
// arithmetic, with the same results, and reports whether it did. It is nil
// where there is none; see batch_simd.go.
var runWide func(op opcode, d, a, b, c, e []float64) bool

// runBatch executes instructions over w lanes.
func runBatch(ins []instruction, s *BatchScratch, w int) {
	for i := range ins {
		in := &ins[i]
		switch in.op {
		case iLoad:
			copy(s.register[in.d][:w], s.memory[in.extra])
			continue
		case iStore:
			copy(s.memory[in.extra][:w], s.register[in.a])
			continue
		case iOutput:
			copy(s.result[in.extra], s.register[in.a])
			continue
		}
		d, a := s.register[in.d][:w], s.register[in.a][:w]
		b, c, e := s.register[in.b][:w], s.register[in.c][:w], s.register[in.e][:w]
		if runWide != nil && w%4 == 0 && runWide(in.op, d, a, b, c, e) {
			continue
		}
		switch in.op {
		case iAdd:
			for j := range d {
				d[j] = a[j] + b[j]
			}
		case iSub:
			for j := range d {
				d[j] = a[j] - b[j]
			}
		case iMul:
			for j := range d {
				d[j] = a[j] * b[j]
			}
		case iDiv:
			for j := range d {
				d[j] = a[j] / b[j]
			}
		case iNeg:
			for j := range d {
				d[j] = -a[j]
			}
		case iSqrt:
			for j := range d {
				d[j] = math.Sqrt(a[j])
			}
		case iOverRoot:
			for j := range d {
				d[j] = a[j] / math.Sqrt(b[j])
			}
		case iOverCube:
			for j := range d {
				d[j] = a[j] / (b[j] * math.Sqrt(b[j]))
			}
		case iAdd3:
			for j := range d {
				d[j] = a[j] + b[j] + c[j]
			}
		case iMul3:
			for j := range d {
				d[j] = a[j] * b[j] * c[j]
			}
		case iMulAdd:
			for j := range d {
				d[j] = a[j]*b[j] + c[j]
			}
		case iMulSub:
			for j := range d {
				d[j] = a[j]*b[j] - c[j]
			}
		case iSubMul:
			for j := range d {
				d[j] = c[j] - a[j]*b[j]
			}
		case iMulMulAdd:
			for j := range d {
				d[j] = a[j]*b[j] + c[j]*e[j]
			}
		case iMulMulSub:
			for j := range d {
				d[j] = a[j]*b[j] - c[j]*e[j]
			}
		case iMul3Add:
			for j := range d {
				d[j] = a[j]*b[j]*c[j] + e[j]
			}
		case iMul3Sub:
			for j := range d {
				d[j] = a[j]*b[j]*c[j] - e[j]
			}
		case iSubMul3:
			for j := range d {
				d[j] = e[j] - a[j]*b[j]*c[j]
			}
		default:
			runBatchCall(in, d, a, b, c, e)
		}
	}
}

// runBatchCall executes the instructions that call functions.
func runBatchCall(in *instruction, d, a, b, c, e []float64) {
	switch in.op {
	case iSin:
		for j, x := range a {
			d[j], _ = sincos(x)
		}
	case iCos:
		for j, x := range a {
			_, d[j] = sincos(x)
		}
	case iSincos:
		sincosBatch(d, e, a)
	case iSelect:
		for j, x := range a {
			if x != 0 {
				d[j] = b[j]
			} else {
				d[j] = c[j]
			}
		}
	case iFunction1:
		for j, x := range a {
			d[j] = apply(op(in.extra), x, 0)
		}
	case iFunction2:
		for j, x := range a {
			d[j] = apply(op(in.extra), x, b[j])
		}
	}
}
