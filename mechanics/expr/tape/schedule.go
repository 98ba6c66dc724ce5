package tape

// An opcode is an instruction of the flat program: several operations of the
// graph fused into one.
type opcode uint8

const (
	iAdd       opcode = iota // d = a + b
	iSub                     // d = a - b
	iMul                     // d = a b
	iDiv                     // d = a / b
	iNeg                     // d = -a
	iSqrt                    // d = √a
	iOverRoot                // d = a / √b
	iOverCube                // d = a / (b √b): the pull of a mass at the squared distance b
	iAdd3                    // d = a + b + c
	iMul3                    // d = a b c
	iMulAdd                  // d = a b + c
	iMulSub                  // d = a b - c
	iSubMul                  // d = c - a b
	iMulMulAdd               // d = a b + c e
	iMulMulSub               // d = a b - c e
	iMul3Add                 // d = a b c + e
	iMul3Sub                 // d = a b c - e
	iSubMul3                 // d = e - a b c
	iSin                     // d = sin a
	iCos                     // d = cos a
	iSincos                  // d = sin a, e = cos a
	iSelect                  // d = b where a is not 0, else c
	iFunction1               // d = op(extra) of a
	iFunction2               // d = op(extra) of a and b
	iLoad                    // d = memory[extra]
	iStore                   // memory[extra] = a
	iOutput                  // output[extra] = a
)

// An instruction works on registers.
type instruction struct {
	op            opcode
	d, a, b, c, e uint8
	extra         uint16
}

// A word is an instruction packed for run: one load and shifts are quicker
// than six loads.
type word uint64

func (in instruction) word() word {
	return word(in.op) | word(in.d)<<8 | word(in.a)<<16 | word(in.b)<<24 | word(in.c)<<32 | word(in.e)<<40 | word(in.extra)<<48
}

func (w word) op() opcode    { return opcode(w) }
func (w word) d() uint8      { return uint8(w >> 8) }
func (w word) a() uint8      { return uint8(w >> 16) }
func (w word) b() uint8      { return uint8(w >> 24) }
func (w word) c() uint8      { return uint8(w >> 32) }
func (w word) e() uint8      { return uint8(w >> 40) }
func (w word) extra() uint16 { return uint16(w >> 48) }

// registers is the number of registers of a program: as many as a byte can
// name, so that no access needs a bounds check.
const registers = 256

// A code is a flat program and what it needs before it runs.
type code struct {
	ins      []instruction
	words    []word // the same packed, for run
	inputs   int
	resident int             // inputs 0 … resident-1 are copied to the registers of that number
	memory   int             // size of the memory: inputs that are not resident, then spilled values
	constant []registerValue // constants, set once
	constMem []registerValue // constants in memory
	result   []uint8         // the registers of the outputs at the end; nil if iOutput writes them
	distant  []distant       // outputs that are in memory: their register in result means nothing
	used     int             // registers used
}

type registerValue struct {
	at int
	v  float64
}

// A distant output is an input or constant that stands in memory.
type distant struct{ output, at int }

// reachable returns the values that the outputs need, each after what it needs.
func reachable(g *graph, out []ref) []ref {
	seen := make([]bool, len(g.values))
	var order []ref
	var visit func(r ref)
	visit = func(r ref) {
		if r == none || seen[r] {
			return
		}
		seen[r] = true
		v := &g.values[r]
		if v.op != opInput {
			visit(v.a)
			visit(v.b)
			visit(v.c)
		}
		order = append(order, r)
	}
	for _, o := range out {
		visit(o)
	}
	return order
}

// A fused instruction whose operands are still values.
type fused struct {
	op            opcode
	fn            op // of iFunction1 and iFunction2
	d, a, b, c, e ref
}

// A scheduler turns a graph into instructions.
type scheduler struct {
	g        *graph
	order    []ref
	uses     []int
	absorbed []bool
	list     []fused
}

// schedule makes the flat program for the outputs.
func schedule(g *graph, inputs int, out []ref, o Options) code {
	if !o.ExactAngles {
		g, out = joinAngles(g, out)
	}
	s := scheduler{g: g, order: reachable(g, out), uses: make([]int, len(g.values)), absorbed: make([]bool, len(g.values))}
	for _, r := range s.order {
		if v := &g.values[r]; v.op != opInput {
			for _, x := range [...]ref{v.a, v.b, v.c} {
				if x != none {
					s.uses[x]++
				}
			}
		}
	}
	for _, r := range out {
		s.uses[r] += 2 // an output needs its own instruction
	}
	chosen := make(map[ref]fused, len(s.order))
	for i := len(s.order) - 1; i >= 0; i-- {
		if r := s.order[i]; !s.absorbed[r] && g.values[r].op != opConst && g.values[r].op != opInput {
			chosen[r] = s.fuse(r)
		}
	}
	done := make([]bool, len(g.values))
	for _, r := range s.order {
		f, ok := chosen[r]
		if !ok || done[r] {
			continue
		}
		done[r] = true
		if f.op == iSincos {
			done[f.d], done[f.e] = true, true
		}
		s.list = append(s.list, f)
	}
	return allocate(g, inputs, s.list, out)
}

// once returns the value at r if it is o, used only once and not absorbed.
func (s *scheduler) once(r ref, o op) (value, bool) {
	v := s.g.values[r]
	return v, v.op == o && s.uses[r] == 1 && !s.absorbed[r]
}

// fuse chooses the instruction for the value at r and absorbs operands into it.
func (s *scheduler) fuse(r ref) fused {
	v := s.g.values[r]
	f := fused{d: r, a: v.a, b: v.b, c: v.c, e: none}
	switch v.op {
	case opAdd:
		return s.fuseAdd(f, v)
	case opSub:
		return s.fuseSub(f, v)
	case opMul:
		f.op = iMul
		for _, pair := range [...][2]ref{{v.a, v.b}, {v.b, v.a}} {
			if m, ok := s.once(pair[0], opMul); ok {
				s.absorbed[pair[0]] = true
				return fused{op: iMul3, d: r, a: m.a, b: m.b, c: pair[1], e: none}
			}
		}
	case opDiv:
		return s.fuseDiv(f, v)
	case opNeg:
		f.op = iNeg
	case opSqrt:
		f.op = iSqrt
	case opSin, opCos:
		return s.sincos(r, v)
	case opSelect:
		f.op = iSelect
	case opAtan2, opMin, opMax, opPow, opLess, opLessEqual:
		f.op, f.fn = iFunction2, v.op
	default:
		f.op, f.fn = iFunction1, v.op
	}
	return f
}

func (s *scheduler) fuseAdd(f fused, v value) fused {
	ma, oka := s.once(v.a, opMul)
	mb, okb := s.once(v.b, opMul)
	switch {
	case oka && okb && v.a != v.b:
		s.absorbed[v.a], s.absorbed[v.b] = true, true
		return fused{op: iMulMulAdd, d: f.d, a: ma.a, b: ma.b, c: mb.a, e: mb.b}
	case oka:
		return s.mulAdd(f.d, v.a, ma, v.b)
	case okb:
		return s.mulAdd(f.d, v.b, mb, v.a)
	}
	for _, pair := range [...][2]ref{{v.a, v.b}, {v.b, v.a}} {
		if m, ok := s.once(pair[0], opAdd); ok && !s.wantsProduct(m) {
			s.absorbed[pair[0]] = true
			return fused{op: iAdd3, d: f.d, a: m.a, b: m.b, c: pair[1], e: none}
		}
	}
	f.op = iAdd
	return f
}

// wantsProduct reports whether a sum would rather absorb a product itself.
func (s *scheduler) wantsProduct(v value) bool {
	_, a := s.once(v.a, opMul)
	_, b := s.once(v.b, opMul)
	return a || b
}

// mulAdd is m + x, where m is the product at r.
func (s *scheduler) mulAdd(d, r ref, m value, x ref) fused {
	s.absorbed[r] = true
	if a, b, c, ok := s.triple(m); ok {
		return fused{op: iMul3Add, d: d, a: a, b: b, c: c, e: x}
	}
	return fused{op: iMulAdd, d: d, a: m.a, b: m.b, c: x, e: none}
}

// triple returns the three factors of a product one of whose factors is a
// product that can be absorbed.
func (s *scheduler) triple(m value) (a, b, c ref, ok bool) {
	for _, pair := range [...][2]ref{{m.a, m.b}, {m.b, m.a}} {
		if n, ok := s.once(pair[0], opMul); ok {
			s.absorbed[pair[0]] = true
			return n.a, n.b, pair[1], true
		}
	}
	return
}

func (s *scheduler) fuseSub(f fused, v value) fused {
	ma, oka := s.once(v.a, opMul)
	mb, okb := s.once(v.b, opMul)
	switch {
	case oka && okb:
		s.absorbed[v.a], s.absorbed[v.b] = true, true
		return fused{op: iMulMulSub, d: f.d, a: ma.a, b: ma.b, c: mb.a, e: mb.b}
	case okb:
		s.absorbed[v.b] = true
		if a, b, c, ok := s.triple(mb); ok {
			return fused{op: iSubMul3, d: f.d, a: a, b: b, c: c, e: v.a}
		}
		return fused{op: iSubMul, d: f.d, a: mb.a, b: mb.b, c: v.a, e: none}
	case oka:
		s.absorbed[v.a] = true
		if a, b, c, ok := s.triple(ma); ok {
			return fused{op: iMul3Sub, d: f.d, a: a, b: b, c: c, e: v.b}
		}
		return fused{op: iMulSub, d: f.d, a: ma.a, b: ma.b, c: v.b, e: none}
	}
	f.op = iSub
	return f
}

// fuseDiv takes a root below the stroke into the division.
func (s *scheduler) fuseDiv(f fused, v value) fused {
	f.op = iDiv
	if root, ok := s.once(v.b, opSqrt); ok {
		s.absorbed[v.b] = true
		return fused{op: iOverRoot, d: f.d, a: v.a, b: root.a, c: none, e: none}
	}
	if m, ok := s.once(v.b, opMul); ok {
		for _, pair := range [...][2]ref{{m.a, m.b}, {m.b, m.a}} {
			if root, ok := s.once(pair[1], opSqrt); ok && root.a == pair[0] {
				s.absorbed[v.b], s.absorbed[pair[1]] = true, true
				return fused{op: iOverCube, d: f.d, a: v.a, b: root.a, c: none, e: none}
			}
		}
	}
	return f
}

// sincos makes one instruction of a sine and a cosine of the same argument.
func (s *scheduler) sincos(r ref, v value) fused {
	f := fused{op: iSin, d: r, a: v.a, b: none, c: none, e: none}
	other := opCos
	if v.op == opCos {
		f.op, other = iCos, opSin
	}
	o, ok := s.g.index[value{op: other, a: v.a, b: none, c: none}]
	if !ok || s.uses[o] == 0 {
		return f
	}
	if v.op == opCos {
		return fused{op: iSincos, d: o, a: v.a, b: none, c: none, e: r}
	}
	return fused{op: iSincos, d: r, a: v.a, b: none, c: none, e: o}
}

// joinAngles rewrites sines and cosines of a ± b by those of a and b, if that
// needs no more evaluations of sine and cosine. It returns a new graph, or g.
func joinAngles(g *graph, out []ref) (*graph, []ref) {
	order := reachable(g, out)
	compound, bases, have := map[ref]bool{}, map[ref]bool{}, map[ref]bool{}
	for _, r := range order {
		v := g.values[r]
		if v.op != opSin && v.op != opCos {
			continue
		}
		u := g.values[v.a]
		if (u.op == opAdd || u.op == opSub) && g.values[u.a].op != opConst && g.values[u.b].op != opConst {
			compound[v.a] = true
			bases[u.a], bases[u.b] = true, true
		} else {
			have[v.a] = true
		}
	}
	extra := 0
	for b := range bases {
		if !have[b] {
			extra++
		}
		if compound[b] {
			return g, out // sums of sums: leave them
		}
	}
	if len(compound) == 0 || extra > len(compound) {
		return g, out
	}
	n := g.clone()
	to := make(map[ref]ref, len(order))
	for _, r := range order {
		v := g.values[r]
		if v.op == opConst || v.op == opInput {
			to[r] = r
			continue
		}
		if (v.op == opSin || v.op == opCos) && compound[v.a] {
			u := g.values[v.a]
			to[r] = n.angleSum(v.op, to[u.a], to[u.b], u.op == opSub)
			continue
		}
		to[r] = n.again(v, to)
	}
	moved := make([]ref, len(out))
	for i, r := range out {
		moved[i] = to[r]
	}
	return n, moved
}

// angleSum returns the sine or cosine of a + b, or of a - b.
func (g *graph) angleSum(o op, a, b ref, minus bool) ref {
	sa, ca := g.unary(opSin, a), g.unary(opCos, a)
	sb, cb := g.unary(opSin, b), g.unary(opCos, b)
	if o == opSin {
		x, y := g.mul(sa, cb), g.mul(ca, sb)
		if minus {
			return g.sub(x, y)
		}
		return g.add(x, y)
	}
	x, y := g.mul(ca, cb), g.mul(sa, sb)
	if minus {
		return g.add(x, y)
	}
	return g.sub(x, y)
}

// again builds v with its operands replaced.
func (g *graph) again(v value, to map[ref]ref) ref {
	switch v.op {
	case opSelect:
		return g.choose(to[v.a], to[v.b], to[v.c])
	case opAdd, opSub, opMul, opDiv, opAtan2, opMin, opMax, opPow, opLess, opLessEqual:
		return g.binary(v.op, to[v.a], to[v.b])
	}
	return g.unary(v.op, to[v.a])
}
