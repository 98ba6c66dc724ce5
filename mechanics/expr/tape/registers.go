package tape

import "math"

// maxResident bounds the registers that inputs and constants hold for good, so
// that enough are left for values on the way.
const maxResident = 160

// maxCopied bounds the outputs that stay in registers until the end; more are
// written as soon as they are known.
const maxCopied = 32

// never is a next use later than all.
const never = math.MaxInt32

// An allocator gives each value of a list of instructions a register, and a
// slot of memory where registers run out.
type allocator struct {
	g        *graph
	code     code
	list     []fused
	next     [][]int32 // for each value, where it is used, in order
	register []int16   // for each value, its register, or -1
	slot     []int32   // for each value, its slot of memory, or -1
	holds    [registers]ref
	fixed    [registers]bool
	free     []uint8
	pinned   map[ref]bool
}

// allocate lays a list of fused instructions out on registers.
func allocate(g *graph, inputs int, list []fused, out []ref) code {
	a := &allocator{g: g, list: list, pinned: map[ref]bool{},
		next: make([][]int32, len(g.values)), register: make([]int16, len(g.values)), slot: make([]int32, len(g.values))}
	for i := range a.register {
		a.register[i], a.slot[i] = -1, -1
	}
	for i, f := range list {
		for _, r := range f.operands() {
			a.next[r] = append(a.next[r], int32(i))
		}
	}
	copied := len(out) <= maxCopied
	writes := map[ref][]uint16{}
	for i, r := range out {
		if copied {
			a.pinned[r] = true
		} else {
			writes[r] = append(writes[r], uint16(i))
		}
	}
	a.placeLeaves(inputs, out)
	for r := registers - 1; r >= 0; r-- {
		if !a.fixed[r] {
			a.free = append(a.free, uint8(r))
		}
		a.holds[r] = none
	}
	if !copied {
		for i, r := range out {
			if v := g.values[r]; v.op == opInput || v.op == opConst {
				a.emit(instruction{op: iOutput, a: a.fetch(r, -1, nil), extra: uint16(i)})
				a.release(r, -1)
			}
		}
	}
	for i, f := range list {
		a.step(i, f, writes)
	}
	if copied {
		for i, r := range out {
			if a.register[r] < 0 {
				a.code.distant = append(a.code.distant, distant{i, int(a.slot[r])})
			}
			a.code.result = append(a.code.result, uint8(max(a.register[r], 0)))
		}
	}
	for _, in := range a.code.ins {
		a.code.words = append(a.code.words, in.word())
	}
	return a.code
}

// operands returns the values that an instruction reads.
func (f *fused) operands() []ref {
	var out []ref
	for i, r := range [...]ref{f.a, f.b, f.c, f.e} {
		if r != none && !(i == 3 && f.op == iSincos) {
			out = append(out, r)
		}
	}
	return out
}

// placeLeaves puts inputs and constants into registers, and into memory those
// for which there is no room.
func (a *allocator) placeLeaves(inputs int, out []ref) {
	a.code.inputs = inputs
	a.code.resident = min(inputs, maxResident/2)
	used := a.code.resident
	a.code.memory = inputs - a.code.resident
	for r, v := range a.g.values {
		if v.op == opInput {
			if i := int(v.a); i < a.code.resident {
				a.register[r], a.fixed[i] = int16(i), true
			} else {
				a.slot[r] = int32(i - a.code.resident)
			}
		}
	}
	for i := range a.code.resident {
		a.fixed[i] = true
	}
	wanted := map[ref]bool{}
	for _, r := range out {
		wanted[r] = true
	}
	for r, v := range a.g.values {
		if v.op != opConst || len(a.next[r]) == 0 && !wanted[ref(r)] {
			continue
		}
		if used < maxResident {
			a.register[r], a.fixed[used] = int16(used), true
			a.code.constant = append(a.code.constant, registerValue{used, v.v})
			used++
		} else {
			a.slot[r] = int32(a.code.memory)
			a.code.constMem = append(a.code.constMem, registerValue{a.code.memory, v.v})
			a.code.memory++
		}
	}
	a.code.used = used
}

func (a *allocator) emit(i instruction) { a.code.ins = append(a.code.ins, i) }

// nextUse returns the next instruction after i that reads r.
func (a *allocator) nextUse(r ref, i int) int32 {
	for len(a.next[r]) > 0 && a.next[r][0] <= int32(i) {
		a.next[r] = a.next[r][1:]
	}
	if len(a.next[r]) > 0 {
		return a.next[r][0]
	}
	return never
}

// take returns a free register, after spilling the value that is needed last.
// It does not take the registers of the values in keep.
func (a *allocator) take(i int, keep []ref) uint8 {
	if n := len(a.free); n > 0 {
		r := a.free[n-1]
		a.free = a.free[:n-1]
		a.code.used = max(a.code.used, int(r)+1)
		return r
	}
	worst, at := -1, int32(-1)
search:
	for r := range a.holds {
		v := a.holds[r]
		if a.fixed[r] || v == none || a.pinned[v] {
			continue
		}
		for _, k := range keep {
			if k == v {
				continue search
			}
		}
		if use := a.nextUse(v, i-1); use > at {
			worst, at = r, use
		}
	}
	v := a.holds[worst]
	if a.slot[v] < 0 {
		a.slot[v] = int32(a.code.memory)
		a.code.memory++
		a.emit(instruction{op: iStore, a: uint8(worst), extra: uint16(a.slot[v])})
	}
	a.register[v] = -1
	return uint8(worst)
}

// fetch returns the register of a value, loading it if it is in memory.
func (a *allocator) fetch(r ref, i int, keep []ref) uint8 {
	if a.register[r] >= 0 {
		return uint8(a.register[r])
	}
	to := a.take(i, keep)
	a.emit(instruction{op: iLoad, d: to, extra: uint16(a.slot[r])})
	a.register[r], a.holds[to] = int16(to), r
	return to
}

// release frees the register of a value that is not needed after i.
func (a *allocator) release(r ref, i int) {
	reg := a.register[r]
	if reg < 0 || a.fixed[reg] || a.pinned[r] || a.nextUse(r, i) != never {
		return
	}
	a.free = append(a.free, uint8(reg))
	a.register[r], a.holds[reg] = -1, none
}

// step lays out one instruction.
func (a *allocator) step(i int, f fused, writes map[ref][]uint16) {
	keep := f.operands()
	in := instruction{op: f.op, extra: uint16(f.fn)}
	for k, to := range [...]*uint8{&in.a, &in.b, &in.c, &in.e} {
		r := [...]ref{f.a, f.b, f.c, f.e}[k]
		if r != none && !(k == 3 && f.op == iSincos) {
			*to = a.fetch(r, i, keep)
		}
	}
	if f.op == iSincos { // results must not fall on the argument
		in.d = a.define(f.d, i, keep)
		in.e = a.define(f.e, i, append(keep, f.d))
		a.emit(in)
		a.releaseAll(keep, i)
	} else {
		a.releaseAll(keep, i)
		in.d = a.define(f.d, i, nil)
		a.emit(in)
	}
	for _, r := range [...]ref{f.d, f.e} {
		if r == none || r == f.e && f.op != iSincos {
			continue
		}
		for _, k := range writes[r] {
			a.emit(instruction{op: iOutput, a: uint8(a.register[r]), extra: k})
		}
		a.release(r, i)
	}
}

func (a *allocator) releaseAll(rs []ref, i int) {
	for _, r := range rs {
		a.release(r, i)
	}
}

// define gives a new value its register.
func (a *allocator) define(r ref, i int, keep []ref) uint8 {
	to := a.take(i, keep)
	a.register[r], a.holds[to] = int16(to), r
	return to
}
