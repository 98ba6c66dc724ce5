package machine

import (
	"fmt"
	"go/constant"
	"go/token"
	"go/types"
	"reflect"
	"unsafe"

	"golang.org/x/tools/go/ssa"
)

// A compiler turns one function into code.
type compiler struct {
	w      *World
	f      *Func
	fn     *ssa.Function
	code   *code
	slots  []slot // everything in the frame
	size   uintptr
	regs   map[ssa.Value]slot
	tuples map[ssa.Value][]slot
	consts []func(m unsafe.Pointer)
	// where each block's code begins, and the jumps to be aimed once known
	starts map[*ssa.BasicBlock]int
	aims   []func()
	at     token.Pos
	// deferStack: closures of the function defer calls on its behalf
	deferStack bool
}

// compiled returns the code of f, made at the first call.
func (f *Func) compiled() *code {
	if c := f.code.Load(); c != nil {
		return c
	}
	f.mu.Lock()
	defer f.mu.Unlock()
	if c := f.code.Load(); c != nil {
		return c
	}
	if f.src == nil {
		panic(MissingError{f.name})
	}
	c := &compiler{
		w: f.world, f: f, fn: f.src,
		code:   &code{fn: f, recoverPC: -1},
		regs:   map[ssa.Value]slot{},
		tuples: map[ssa.Value][]slot{},
		starts: map[*ssa.BasicBlock]int{},
	}
	c.compile()
	f.code.Store(c.code)
	f.src = nil
	return c.code
}

func (c *compiler) compile() {
	fn := c.fn
	if fn.Blocks == nil {
		panic(MissingError{fn.String()})
	}
	c.size = c.f.size
	for i, p := range fn.Params {
		c.regs[p] = c.f.params[i]
		c.slots = append(c.slots, c.f.params[i])
	}
	for i, p := range fn.FreeVars {
		c.regs[p] = c.f.free[i]
		c.slots = append(c.slots, c.f.free[i])
	}
	c.code.results = c.f.resultSlots()
	for _, b := range fn.Blocks {
		for _, in := range b.Instrs {
			switch in := in.(type) {
			case *ssa.Defer:
				c.code.hasDefer = true
			case ssa.Value:
				c.reg(in)
			}
			if call, ok := in.(*ssa.Call); ok {
				if b, ok := call.Call.Value.(*ssa.Builtin); ok && b.Name() == "ssa:deferstack" {
					c.code.hasDefer, c.deferStack = true, true
				}
			}
		}
	}
	blocks := fn.Blocks
	for _, b := range blocks {
		c.block(b)
	}
	if fn.Recover != nil {
		if _, ok := c.starts[fn.Recover]; !ok {
			c.block(fn.Recover)
		}
		c.code.recoverPC = c.starts[fn.Recover]
	}
	for _, aim := range c.aims {
		aim()
	}
	c.code.shape = shapeOf(c.slots, c.size)
	if len(c.consts) > 0 {
		c.code.template = newOf(c.code.shape)
		for _, set := range c.consts {
			set(c.code.template)
		}
	}
}

// space reserves room in the frame for a value of type t.
func (c *compiler) space(t types.Type) slot {
	s, end := c.w.slotAt(c.size, t)
	c.size = end
	c.slots = append(c.slots, s)
	return s
}

// spaceOf does the same for a type of the runtime.
func (c *compiler) spaceOf(rt reflect.Type) slot {
	d := descriptor(rt)
	off := align(c.size, uintptr(d.align))
	s := slot{off: off, typ: d, rt: rt, cl: classOf(rt)}
	c.size = off + max(d.size, 1)
	c.slots = append(c.slots, s)
	return s
}

var pointerType = reflect.TypeFor[unsafe.Pointer]()

// reg returns the place of an instruction's value.
func (c *compiler) reg(v ssa.Value) slot {
	if s, ok := c.regs[v]; ok {
		return s
	}
	var s slot
	switch t := v.Type().(type) {
	case *types.Tuple:
		// A tuple's parts lie as in tupleSlots, from an aligned start.
		list := c.tuple(t)
		c.tuples[v] = list
		if len(list) > 0 {
			s = list[0]
		} else {
			s = slot{off: 0, cl: classNone, rt: reflect.TypeFor[struct{}](), typ: descriptor(reflect.TypeFor[struct{}]())}
		}
	default:
		switch v.(type) {
		case *ssa.Range:
			s = c.spaceOf(pointerType)
		default:
			if isOpaque(t) {
				s = c.spaceOf(pointerType)
			} else {
				s = c.space(t)
			}
		}
	}
	c.regs[v] = s
	return s
}

func isOpaque(t types.Type) bool {
	switch t := t.(type) {
	case *types.Basic, *types.Named, *types.Alias, *types.Pointer, *types.Slice, *types.Array, *types.Map, *types.Chan, *types.Signature, *types.Struct, *types.Interface, *types.TypeParam:
		if p, ok := t.(*types.Pointer); ok {
			return isOpaque(p.Elem())
		}
		return false
	}
	return true
}

// tuple reserves consecutive room for the parts of a tuple.
func (c *compiler) tuple(t *types.Tuple) []slot {
	var list []slot
	c.size = align(c.size, 16)
	base := c.size
	var off uintptr
	for i := range t.Len() {
		pt := t.At(i).Type()
		if b, ok := pt.(*types.Basic); ok && b.Kind() == types.Invalid {
			pt = types.Typ[types.UnsafePointer]
		}
		s, end := c.w.slotAt(off, pt)
		off = end
		s.off += base
		c.slots = append(c.slots, s)
		list = append(list, s)
	}
	c.size = base + off
	return list
}

// operand returns the place of any value: a register or a constant.
func (c *compiler) operand(v ssa.Value) slot {
	if s, ok := c.regs[v]; ok {
		return s
	}
	switch v := v.(type) {
	case *ssa.Const:
		s := c.space(v.Type())
		c.constant(s, v)
		c.regs[v] = s
		return s
	case *ssa.Global:
		s := c.space(v.Type())
		var p unsafe.Pointer
		if obj, ok := v.Object().(*types.Var); ok && obj != nil {
			p = c.w.globalAt(obj)
		} else {
			p = newOf(descriptor(c.w.Type(v.Type().(*types.Pointer).Elem())))
		}
		c.consts = append(c.consts, func(m unsafe.Pointer) { *(*unsafe.Pointer)(add(m, s.off)) = p })
		c.regs[v] = s
		return s
	case *ssa.Function:
		s := c.space(v.Type())
		f := c.w.Func(v).latest()
		if f.native.IsValid() {
			c.consts = append(c.consts, func(m unsafe.Pointer) { valueAt(s.rt, add(m, s.off)).Set(f.native) })
		} else {
			fv := newFuncval(s.rt, f, nil, c.w.run.Load())
			c.consts = append(c.consts, func(m unsafe.Pointer) { *(*unsafe.Pointer)(add(m, s.off)) = unsafe.Pointer(fv) })
		}
		c.regs[v] = s
		return s
	}
	if _, ok := v.(ssa.Instruction); ok {
		return c.reg(v)
	}
	panic(fmt.Sprintf("machine: operand %T %v", v, v))
}

// constant sets a constant in the frame's template.
func (c *compiler) constant(s slot, v *ssa.Const) {
	if v.Value == nil {
		return // zero value
	}
	rt := s.rt
	val := v.Value
	c.consts = append(c.consts, func(m unsafe.Pointer) { setConstant(valueAt(rt, add(m, s.off)), val) })
}

func setConstant(dst reflect.Value, val constant.Value) {
	switch dst.Kind() {
	case reflect.Bool:
		dst.SetBool(constant.BoolVal(val))
	case reflect.Int, reflect.Int8, reflect.Int16, reflect.Int32, reflect.Int64:
		n, _ := constant.Int64Val(constant.ToInt(val))
		dst.SetInt(n)
	case reflect.Uint, reflect.Uint8, reflect.Uint16, reflect.Uint32, reflect.Uint64, reflect.Uintptr:
		n, _ := constant.Uint64Val(constant.ToInt(val))
		dst.SetUint(n)
	case reflect.Float32:
		x, _ := constant.Float32Val(constant.ToFloat(val))
		dst.SetFloat(float64(x))
	case reflect.Float64:
		x, _ := constant.Float64Val(constant.ToFloat(val))
		dst.SetFloat(x)
	case reflect.Complex64, reflect.Complex128:
		val = constant.ToComplex(val)
		re, _ := constant.Float64Val(constant.Real(val))
		im, _ := constant.Float64Val(constant.Imag(val))
		dst.SetComplex(complex(re, im))
	case reflect.String:
		if val.Kind() == constant.String {
			dst.SetString(constant.StringVal(val))
		} else {
			n, _ := constant.Int64Val(constant.ToInt(val))
			dst.SetString(string(rune(n)))
		}
	case reflect.Interface:
		// A constant in an interface: its default type.
		switch val.Kind() {
		case constant.Bool:
			dst.Set(reflect.ValueOf(constant.BoolVal(val)))
		case constant.String:
			dst.Set(reflect.ValueOf(constant.StringVal(val)))
		case constant.Int:
			n, _ := constant.Int64Val(val)
			dst.Set(reflect.ValueOf(int(n)))
		default:
			x, _ := constant.Float64Val(val)
			dst.Set(reflect.ValueOf(x))
		}
	}
}

// emit adds a step at the position in hand.
func (c *compiler) emit(o op) {
	c.code.ops = append(c.code.ops, o)
	var p Position
	if c.at.IsValid() {
		p = c.w.position(c.at)
	}
	c.code.pos = append(c.code.pos, p)
}

func (c *compiler) block(b *ssa.BasicBlock) {
	c.starts[b] = len(c.code.ops)
	for _, in := range b.Instrs {
		if _, ok := in.(*ssa.Phi); ok {
			continue
		}
		if p := in.Pos(); p.IsValid() {
			c.at = p
		}
		c.instr(in)
	}
}

// edge emits what happens between a block and its i-th successor, and a jump.
func (c *compiler) edge(b *ssa.BasicBlock, i int) {
	to := b.Succs[i]
	c.phis(b, i)
	n := len(c.code.ops)
	back := to.Index <= b.Index
	c.emit(nil)
	c.aims = append(c.aims, func() {
		pc := c.starts[to]
		if back {
			c.code.ops[n] = func(fr *frame, _ unsafe.Pointer) {
				if fr.th.run.stop.Load() {
					panic(interrupted{})
				}
				fr.pc = pc
			}
		} else {
			c.code.ops[n] = func(fr *frame, _ unsafe.Pointer) { fr.pc = pc }
		}
	})
}

// predecessor returns which of its predecessors' edges the i-th edge of b is.
func predecessor(b *ssa.BasicBlock, i int) int {
	to := b.Succs[i]
	nth := 0
	for j := range i {
		if b.Succs[j] == to {
			nth++
		}
	}
	for j, p := range to.Preds {
		if p == b {
			if nth == 0 {
				return j
			}
			nth--
		}
	}
	panic("machine: edge without a predecessor")
}

func hasPhis(b *ssa.BasicBlock) bool {
	if len(b.Instrs) == 0 {
		return false
	}
	_, ok := b.Instrs[0].(*ssa.Phi)
	return ok
}

// phis emits the copies of an edge, which happen all at once.
func (c *compiler) phis(b *ssa.BasicBlock, i int) {
	to := b.Succs[i]
	if !hasPhis(to) {
		return
	}
	p := predecessor(b, i)
	type mv struct{ dst, src slot }
	var moves []mv
	for _, in := range to.Instrs {
		phi, ok := in.(*ssa.Phi)
		if !ok {
			break
		}
		dst := c.reg(phi)
		src := c.operand(phi.Edges[p])
		if dst.off != src.off {
			moves = append(moves, mv{dst, src})
		}
	}
	// A copy may go as soon as no other copy still reads what it overwrites.
	for len(moves) > 0 {
		done := false
		for k, m := range moves {
			blocked := false
			for j, o := range moves {
				if j != k && o.src.off == m.dst.off {
					blocked = true
				}
			}
			if !blocked {
				c.emit(moveOp(m.dst, m.dst.off, m.src.off))
				moves = append(moves[:k], moves[k+1:]...)
				done = true
				break
			}
		}
		if !done { // a cycle: set one source aside
			m := &moves[0]
			tmp := c.spaceOf(m.src.rt)
			c.emit(moveOp(tmp, tmp.off, m.src.off))
			old := m.src.off
			for j := range moves {
				if moves[j].src.off == old {
					moves[j].src = tmp
				}
			}
		}
	}
}

func (c *compiler) instr(in ssa.Instruction) {
	switch in := in.(type) {
	case *ssa.DebugRef:
	case *ssa.Jump:
		c.edge(in.Block(), 0)
	case *ssa.If:
		c.branch(in)
	case *ssa.Return:
		c.ret(in)
	case *ssa.Panic:
		s := c.operand(in.X)
		c.emit(func(_ *frame, m unsafe.Pointer) { panic(*(*any)(add(m, s.off))) })
	case *ssa.RunDefers:
		c.emit(runDefersOp)
	case *ssa.Defer:
		call := c.call(&in.Call, slot{}, nil)
		if in.Call.IsInvoke() {
			x := c.operand(in.Call.Value)
			c.emit(func(_ *frame, m unsafe.Pointer) {
				if *(*unsafe.Pointer)(add(m, x.off)) == nil {
					nilPanic()
				}
			})
		}
		if in.DeferStack != nil {
			st := c.operand(in.DeferStack)
			c.emit(func(fr *frame, m unsafe.Pointer) {
				owner := *(**frame)(add(m, st.off))
				owner.defers = append(owner.defers, deferred{call, fr.clone()})
			})
			return
		}
		c.emit(func(fr *frame, _ unsafe.Pointer) {
			fr.defers = append(fr.defers, deferred{call, fr.clone()})
		})
	case *ssa.Go:
		call := c.call(&in.Call, slot{}, nil)
		var fnSlot *slot
		if !in.Call.IsInvoke() {
			if _, ok := in.Call.Value.(*ssa.Builtin); !ok && in.Call.StaticCallee() == nil {
				s := c.operand(in.Call.Value)
				fnSlot = &s
			}
		}
		c.emit(func(fr *frame, m unsafe.Pointer) {
			if fnSlot != nil && *(*unsafe.Pointer)(add(m, fnSlot.off)) == nil {
				nilPanic()
			}
			fr.start(call)
		})
	case *ssa.Store:
		v := c.operand(in.Val)
		c.emit(storeOp(v, c.operand(in.Addr).off, v.off))
	case *ssa.MapUpdate:
		c.mapUpdate(in)
	case *ssa.Send:
		c.send(in)
	case ssa.Value:
		c.value(in)
	default:
		panic(fmt.Sprintf("machine: instruction %T", in))
	}
}

// runDefersOp runs the deferred calls before a function returns.
func runDefersOp(fr *frame, _ unsafe.Pointer) {
	fr.runDefers()
	p := fr.panicking
	if p == nil {
		return
	}
	if !p.recovered {
		fr.th.last = p
		panic(p.value)
	}
	fr.panicking = nil
	fr.th.last = nil
	if fr.code.recoverPC >= 0 {
		fr.pc = fr.code.recoverPC
	}
}

// lateDefers emits what go/ssa leaves out where the only defer statements of a
// function stand in the body of a range over a function.
func (c *compiler) lateDefers(in *ssa.Return) {
	if !c.deferStack || in.Block() == c.fn.Recover {
		return
	}
	for _, i := range in.Block().Instrs {
		if _, ok := i.(*ssa.RunDefers); ok {
			return
		}
	}
	c.emit(runDefersOp)
	for _, r := range in.Results {
		if load, ok := r.(*ssa.UnOp); ok && load.Op == token.MUL {
			if _, ok := load.X.(*ssa.Alloc); ok {
				c.instr(load)
			}
		}
	}
}

func (c *compiler) ret(in *ssa.Return) {
	c.lateDefers(in)
	type mv struct {
		s   slot
		dst uintptr
	}
	var moves []mv
	for i, r := range in.Results {
		moves = append(moves, mv{c.operand(r), c.code.results[i].off})
	}
	switch len(moves) {
	case 0:
		c.emit(func(fr *frame, _ unsafe.Pointer) { fr.pc = -1 })
	case 1:
		s := moves[0].s
		switch s.cl {
		case class8:
			c.emit(func(fr *frame, m unsafe.Pointer) {
				if fr.ret != nil {
					*(*uint64)(fr.ret) = *(*uint64)(add(m, s.off))
				}
				fr.pc = -1
			})
		default:
			c.emit(func(fr *frame, m unsafe.Pointer) {
				if fr.ret != nil {
					move(s, fr.ret, add(m, s.off))
				}
				fr.pc = -1
			})
		}
	default:
		c.emit(func(fr *frame, m unsafe.Pointer) {
			if fr.ret != nil {
				for i := range moves {
					move(moves[i].s, add(fr.ret, moves[i].dst), add(m, moves[i].s.off))
				}
			}
			fr.pc = -1
		})
	}
}

func (c *compiler) branch(in *ssa.If) {
	b := in.Block()
	cond := c.operand(in.Cond).off
	n := len(c.code.ops)
	c.emit(nil)
	// The true edge follows; the false edge comes after it.
	c.edge(b, 0)
	elseAt := len(c.code.ops)
	c.edge(b, 1)
	thenAt := n + 1
	aim := func(at int, i int) func() int {
		// Skip a lone forward jump.
		to := b.Succs[i]
		single := (i == 0 && elseAt == at+1) || (i == 1 && len(c.code.ops) == at+1)
		return func() int {
			if single && to.Index > b.Index {
				return c.starts[to]
			}
			return at
		}
	}
	t, e := aim(thenAt, 0), aim(elseAt, 1)
	c.aims = append(c.aims, func() {
		tp, ep := t(), e()
		c.code.ops[n] = func(fr *frame, m unsafe.Pointer) {
			if *(*bool)(add(m, cond)) {
				fr.pc = tp
			} else {
				fr.pc = ep
			}
		}
	})
}
