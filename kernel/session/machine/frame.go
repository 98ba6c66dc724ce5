package machine

import (
	"fmt"
	"reflect"
	"runtime"
	"strconv"
	"sync"
	"sync/atomic"
	"unsafe"
)

// An op is one step of a function: it works on the frame's memory m.
type op func(fr *frame, m unsafe.Pointer)

// code is a compiled function.
type code struct {
	fn        *Func
	ops       []op
	pos       []Position
	shape     *abiType
	template  unsafe.Pointer // constants in place
	hasDefer  bool
	recoverPC int // where to go on after a recovered panic, -1 for the caller
	results   []slot
	pool      sync.Pool
}

// A frame is one activation of a function.
type frame struct {
	mem       unsafe.Pointer
	pc        int
	code      *code
	th        *thread
	caller    *frame
	ret       unsafe.Pointer // where the results go
	defers    []deferred
	panicking *panicking
	deferOf   *frame // of a copy that runs a deferred call: whose it is
	depth     int
}

type deferred struct {
	call op
	fr   *frame
}

// A panicking is a panic on its way.
type panicking struct {
	value     any
	trace     []Position
	names     []string
	recovered bool
	goexit    bool
}

// A thread is the state of one goroutine that runs interpreted code. Its head
// has the layout of an empty set of profiler labels, since that is where the
// goroutine keeps it.
type thread struct {
	labels [3]uintptr
	g      unsafe.Pointer
	run    *Run
	top    *frame
	depth  int
	last   *panicking
}

// maxDepth bounds nested calls. One costs about 600 bytes of stack and frame:
// the limit keeps an endless recursion within some 150 MB, where the Go
// runtime would end the process at 1 GB.
const maxDepth = 250_000

// throughNative is how many calls one counts for that goes through compiled
// code, such as fmt calling a String method.
const throughNative = 15

// A Run is one execution that can be stopped as a whole, with the goroutines
// that it starts.
type Run struct {
	Number    int
	Tag       any // the owner's
	stop      atomic.Bool
	done      chan struct{}
	once      sync.Once
	overflown atomic.Pointer[Panic]
	// Report takes panics of goroutines, when not nil.
	Report func(*Panic)
}

// NewRun returns a run that has not been stopped.
func NewRun(number int, tag any) *Run {
	return &Run{Number: number, Tag: tag, done: make(chan struct{})}
}

// Stop ends every computation of the run at its next step.
func (r *Run) Stop() {
	r.once.Do(func() {
		r.stop.Store(true)
		close(r.done)
	})
}

// Done is closed when the run has been stopped.
func (r *Run) Done() <-chan struct{} { return r.done }

// Stopped tells whether the run has been stopped.
func (r *Run) Stopped() bool { return r.stop.Load() }

// interrupted is the panic that unwinds a stopped run. Cells cannot recover it.
type interrupted struct{}

func (interrupted) Error() string { return "interrupted" }

// A Panic is a panic that nothing recovered.
type Panic struct {
	Value       any
	Trace       []Position // innermost first
	Names       []string
	Interrupted bool
	Overflow    bool
	Exit        bool
	Code        int
}

// An exit is the panic of os.Exit.
type exit struct{ code int }

func (exit) Error() string { return "exit" }

// Exit ends the calling run as os.Exit would end a program.
func Exit(code int) { panic(exit{code}) }

// A stackOverflow is the panic of calls nested too deep.
type stackOverflow struct{}

func (stackOverflow) Error() string { return "stack overflow" }
func (stackOverflow) RuntimeError() {}

// overflow ends the run: compiled code in between, such as fmt, must not recover
// what ends a program.
func (th *thread) overflow() {
	p := th.remember(stackOverflow{})
	th.run.overflown.CompareAndSwap(nil, &Panic{Value: p.value, Trace: p.trace, Names: p.names, Overflow: true})
	th.run.Stop()
	panic(stackOverflow{})
}

// Overflow returns the stack overflow that stopped the run, or nil.
func (r *Run) Overflow() *Panic { return r.overflown.Load() }

// current returns the thread of the running goroutine, or nil.
func current() *thread {
	th := (*thread)(profLabel())
	if th == nil {
		return nil
	}
	return th
}

// Current returns the run that the calling goroutine works for, or nil.
func Current() *Run {
	if th := current(); th != nil {
		return th.run
	}
	return nil
}

// Call runs fn, which has no parameters, and returns the panic that ended it.
// The results go to the memory that results points to, if any.
func (w *World) Call(fn *Func, run *Run) (p *Panic) {
	w.run.Store(run)
	th := &thread{run: run, g: getg()}
	old := profLabel()
	setProfLabel(unsafe.Pointer(th))
	defer setProfLabel(old)
	done := false
	defer func() {
		if done {
			return
		}
		r := recover()
		p = th.fault(r)
	}()
	fn = fn.resolve()
	c := fn.compiled()
	fr := c.get(th, nil)
	var ret [64]uintptr
	fr.ret = unsafe.Pointer(&ret)
	fr.call()
	done = true
	return nil
}

// fault describes the panic with value r of the thread.
func (th *thread) fault(r any) *Panic {
	if r == nil {
		return &Panic{Value: "runtime.Goexit ended the cell", Interrupted: th.run.Stopped()}
	}
	p := &Panic{Value: r}
	if th.last != nil {
		p.Trace, p.Names = th.last.trace, th.last.names
	} else {
		p.Trace, p.Names = th.trace()
	}
	switch r := r.(type) {
	case interrupted:
		p.Interrupted = true
	case stackOverflow:
		p.Overflow = true
	case exit:
		p.Exit, p.Code = true, r.code
	}
	if th.run.Stopped() && !p.Exit && !p.Overflow {
		p.Interrupted = true
	}
	return p
}

// maxTrace bounds the calls listed of a panic.
const maxTrace = 40

func (th *thread) trace() (list []Position, names []string) {
	for fr := th.top; fr != nil && len(list) < maxTrace; fr = fr.caller {
		if fr.deferOf != nil || fr.code == nil {
			continue
		}
		pos := fr.position()
		if pos == (Position{}) {
			continue
		}
		list = append(list, pos)
		names = append(names, fr.code.fn.name)
	}
	return list, names
}

func (fr *frame) position() Position {
	for pc := fr.pc - 1; pc >= 0 && pc < len(fr.code.pos); pc-- {
		if p := fr.code.pos[pc]; p != (Position{}) {
			return p
		}
	}
	return Position{}
}

// get returns a frame for c with its constants in place.
func (c *code) get(th *thread, caller *frame) *frame {
	fr, _ := c.pool.Get().(*frame)
	if fr == nil {
		fr = &frame{code: c, mem: newOf(c.shape)}
		if c.template != nil {
			typedmemmove(unsafe.Pointer(c.shape), fr.mem, c.template)
		}
	}
	fr.pc = 0
	fr.th = th
	fr.caller = caller
	return fr
}

// clone copies a frame for a call that happens later.
func (fr *frame) clone() *frame {
	n := &frame{code: fr.code, mem: newOf(fr.code.shape), th: fr.th, pc: fr.pc}
	typedmemmove(unsafe.Pointer(fr.code.shape), n.mem, fr.mem)
	return n
}

// call runs the frame to its end and gives it back.
func (fr *frame) call() {
	th := fr.th
	th.depth++
	fr.depth = th.depth
	th.top = fr
	if th.depth > maxDepth {
		th.overflow()
	}
	if th.run.stop.Load() {
		panic(interrupted{})
	}
	if fr.code.hasDefer {
		fr.guarded()
	} else {
		fr.loop()
	}
	th.top = fr.caller
	th.depth--
	fr.caller = nil
	fr.ret = nil
	fr.panicking = nil
	fr.defers = nil
	fr.code.pool.Put(fr)
}

// loop runs steps until the function returns, which sets pc below zero.
func (fr *frame) loop() {
	ops, m := fr.code.ops, fr.mem
	for pc := fr.pc; pc >= 0; pc = fr.pc {
		fr.pc = pc + 1
		ops[pc](fr, m)
	}
}

// guarded runs a function that has deferred calls.
func (fr *frame) guarded() {
	for !fr.attempt() {
		fr.panicking = nil
		fr.th.last = nil
		if fr.code.recoverPC < 0 {
			for _, s := range fr.code.results {
				clearAt(s, add(fr.ret, s.off))
			}
			return
		}
		fr.pc = fr.code.recoverPC
	}
}

// attempt runs the frame. It reports false if a panic was recovered, and goes
// on panicking if it was not.
func (fr *frame) attempt() (finished bool) {
	normal := false
	defer func() {
		if normal {
			finished = true
			return
		}
		r := recover()
		th := fr.th
		switch r.(type) {
		case interrupted, stackOverflow, exit:
			th.remember(r)
			panic(r)
		}
		p := th.remember(r)
		if r == nil {
			p.goexit = true
		}
		fr.panicking = p
		th.top = fr
		th.depth = fr.depth
		fr.runDefers()
		if fr.panicking != nil && !fr.panicking.recovered {
			if fr.panicking.goexit {
				return // Goexit goes on by itself
			}
			th.last = fr.panicking
			panic(fr.panicking.value)
		}
		finished = false
	}()
	fr.loop()
	normal = true
	return true
}

// remember notes where the panic with value r was raised, the first time.
func (th *thread) remember(r any) *panicking {
	if th.last != nil && same(th.last.value, r) {
		return th.last
	}
	p := &panicking{value: r}
	p.trace, p.names = th.trace()
	th.last = p
	return p
}

func same(a, b any) (eq bool) {
	defer func() { _ = recover() }()
	return a == b
}

// runDefers runs the deferred calls, last first. A panic of one of them takes
// the place of the one under way.
func (fr *frame) runDefers() {
	for len(fr.defers) > 0 {
		d := fr.defers[len(fr.defers)-1]
		fr.defers = fr.defers[:len(fr.defers)-1]
		fr.runDeferred(d)
	}
}

func (fr *frame) runDeferred(d deferred) {
	normal := false
	defer func() {
		if normal {
			return
		}
		r := recover()
		switch r.(type) {
		case interrupted, stackOverflow, exit:
			panic(r)
		case nil:
			return // Goexit
		}
		fr.th.last = nil
		fr.panicking = fr.th.remember(r)
		fr.th.top = fr
		fr.th.depth = fr.depth
	}()
	d.fr.th = fr.th
	d.fr.caller = fr
	d.fr.deferOf = fr
	fr.th.top = d.fr
	d.call(d.fr, d.fr.mem)
	fr.th.top = fr
	normal = true
}

// recoverValue is the builtin recover, called in fr.
func (fr *frame) recoverValue() any {
	c := fr.caller
	if c == nil || c.deferOf == nil {
		return nil
	}
	p := c.deferOf.panicking
	if p == nil || p.recovered || p.goexit {
		return nil
	}
	p.recovered = true
	fr.th.last = nil
	return p.value
}

// A funcval is a Go function value whose code is interpreted: it begins like
// the value that reflect.MakeFunc makes, and carries the function and its
// captured variables behind that.
type funcval struct {
	fn      uintptr
	stack   unsafe.Pointer
	argLen  uintptr
	regPtrs uintptr
	ftyp    unsafe.Pointer
	call    func([]reflect.Value) []reflect.Value
	code    *Func
	env     unsafe.Pointer
	run     *Run
}

// makeFuncHead is the part of a funcval that reflect knows.
type makeFuncHead struct {
	fn      uintptr
	stack   unsafe.Pointer
	argLen  uintptr
	regPtrs uintptr
	ftyp    unsafe.Pointer
	call    unsafe.Pointer
}

var (
	funcHeads    sync.Map // *abiType to *makeFuncHead
	makeFuncPC   uintptr
	dispatchPC   uintptr
	dispatchOnce sync.Once
)

func newFuncval(rt reflect.Type, code *Func, env unsafe.Pointer, run *Run) *funcval {
	d := descriptor(rt)
	h, ok := funcHeads.Load(d)
	if !ok {
		proto := reflect.MakeFunc(rt, func([]reflect.Value) []reflect.Value { return nil })
		h, _ = funcHeads.LoadOrStore(d, (*makeFuncHead)(pointerOf(proto)))
	}
	head := h.(*makeFuncHead)
	f := &funcval{fn: head.fn, stack: head.stack, argLen: head.argLen, regPtrs: head.regPtrs, ftyp: head.ftyp, code: code, env: env, run: run}
	f.call = f.dispatch
	dispatchOnce.Do(func() {
		makeFuncPC = head.fn
		dispatchPC = **(**uintptr)(unsafe.Pointer(&f.call))
	})
	return f
}

// interpreted returns the funcval at p, or nil if p is compiled code.
func interpreted(p unsafe.Pointer) *funcval {
	if *(*uintptr)(p) != makeFuncPC || makeFuncPC == 0 {
		return nil
	}
	call := *(*unsafe.Pointer)(add(p, unsafe.Offsetof(makeFuncHead{}.call)))
	if *(*uintptr)(call) != dispatchPC {
		return nil
	}
	return (*funcval)(p)
}

// dispatch is how compiled code calls f.
func (f *funcval) dispatch(args []reflect.Value) []reflect.Value {
	return f.code.callFromNative(args, f)
}

// callFromNative calls f with args from compiled code.
func (f *Func) callFromNative(args []reflect.Value, fv *funcval) (out []reflect.Value) {
	f = f.resolve()
	th := current()
	foreign := false
	if th == nil || th.g != getg() {
		// A goroutine that compiled code has started.
		foreign = true
		nt := &thread{g: getg()}
		switch {
		case th != nil:
			nt.run = th.run
		case fv != nil && fv.run != nil:
			nt.run = fv.run
		default:
			nt.run = f.world.run.Load()
		}
		if nt.run == nil {
			nt.run = NewRun(0, nil)
		}
		old := profLabel()
		setProfLabel(unsafe.Pointer(nt))
		defer setProfLabel(old)
		th = nt
	}
	results := newResults(f.sig.Results().Len())
	res := f.resultSlots()
	shape := shapeOf(res, 0)
	ret := newOf(shape)
	if foreign {
		defer func() {
			if r := recover(); r != nil {
				p := th.fault(r)
				if th.run.Report != nil {
					th.run.Report(p)
				}
				out = results[:0]
				for _, s := range res {
					out = append(out, reflect.Zero(s.rt))
				}
			}
		}()
	}
	if f.native.IsValid() {
		if f.sig.Variadic() {
			return f.native.CallSlice(args)
		}
		return f.native.Call(args)
	}
	top := th.top
	// Compiled code in between takes more stack than a call of a cell.
	th.depth += throughNative
	if th.depth > maxDepth {
		th.overflow()
	}
	fr := f.compiled().get(th, top)
	for i, s := range f.params {
		setSlot(s, add(fr.mem, s.off), args[i])
	}
	if fv != nil {
		f.captured(fr, fv.env)
	}
	fr.ret = ret
	fr.call()
	th.top = top
	th.depth -= throughNative
	for _, s := range res {
		results = append(results, valueAt(s.rt, add(ret, s.off)))
	}
	return results
}

func newResults(n int) []reflect.Value { return make([]reflect.Value, 0, n) }

// setSlot stores v at p, which has the layout of s.
func setSlot(s slot, p unsafe.Pointer, v reflect.Value) {
	if s.rt.Kind() == reflect.Interface {
		storeInterface(s, p, v)
		return
	}
	reflect.NewAt(v.Type(), p).Elem().Set(v)
}

// storeInterface stores v, whatever interface or concrete type it has.
func storeInterface(s slot, p unsafe.Pointer, v reflect.Value) {
	dst := reflect.NewAt(s.rt, p).Elem()
	if v.Kind() == reflect.Interface {
		v = v.Elem()
	}
	if !v.IsValid() {
		dst.SetZero()
		return
	}
	dst.Set(v)
}

func (f *Func) captured(fr *frame, env unsafe.Pointer) {
	if len(f.free) == 0 {
		return
	}
	base := f.free[0].off
	for _, s := range f.free {
		move(s, add(fr.mem, s.off), add(env, s.off-base))
	}
}

// resultSlots lays out results one after another.
func (f *Func) resultSlots() []slot {
	return f.world.tupleSlots(f.sig.Results())
}

// start runs a call on a goroutine of its own.
func (fr *frame) start(call op) {
	c := fr.clone()
	th := &thread{run: fr.th.run}
	c.th = th
	go func() {
		th.g = getg()
		setProfLabel(unsafe.Pointer(th))
		normal := false
		defer func() {
			if normal {
				return
			}
			r := recover()
			if r == nil {
				return // Goexit
			}
			p := th.fault(r)
			if p.Interrupted {
				return
			}
			if th.run.Report != nil {
				th.run.Report(p)
			}
		}()
		call(c, c.mem)
		normal = true
	}()
}

// Text returns what the Go runtime prints of the panic's value.
func (p *Panic) Text() string {
	switch v := p.Value.(type) {
	case interrupted:
		return "interrupted"
	case stackOverflow:
		return "stack overflow: calls nested too deep"
	case runtime.Error:
		return v.Error()
	case error:
		return v.Error()
	case fmt.Stringer:
		return v.String()
	case string:
		return v
	}
	return printPanic(p.Value)
}

// printPanic writes a value as the runtime's printpanicval does.
func printPanic(v any) string {
	rv := reflect.ValueOf(v)
	if !rv.IsValid() {
		return "nil"
	}
	t := rv.Type()
	text := ""
	switch rv.Kind() {
	case reflect.Bool, reflect.Int, reflect.Int8, reflect.Int16, reflect.Int32, reflect.Int64,
		reflect.Uint, reflect.Uint8, reflect.Uint16, reflect.Uint32, reflect.Uint64, reflect.Uintptr:
		text = fmt.Sprint(rv)
	case reflect.Float32, reflect.Float64:
		text = runtimeFloat(rv.Float())
	case reflect.Complex64, reflect.Complex128:
		c := rv.Complex()
		text = runtimeComplex(c)
	case reflect.String:
		if t.PkgPath() != "" {
			return fmt.Sprintf("%s(%q)", t, rv.String())
		}
		return rv.String()
	default:
		return fmt.Sprintf("%#v", v)
	}
	return fmt.Sprintf("%s(%s)", t, text)
}

// runtimeFloat writes x as the builtin println does.
func runtimeFloat(x float64) string { return strconv.FormatFloat(x, 'g', -1, 64) }

func runtimeComplex(z complex128) string { return strconv.FormatComplex(z, 'g', -1, 128) }
