package machine

import (
	"go/token"
	"go/types"
	"reflect"
	"sync"
	"sync/atomic"
	"unsafe"

	"golang.org/x/tools/go/ssa"
	"golang.org/x/tools/go/types/typeutil"
)

// Natives gives access to compiled packages.
type Natives interface {
	// Value returns a function, or a variable (addressable), of a package.
	Value(path, name string) (reflect.Value, bool)
	// Type returns a type that is not generic.
	Type(path, name string) (reflect.Type, bool)
}

// A Position is a place in a cell; the zero Position is unknown.
type Position struct {
	Cell      int32
	Line, Col int32
}

// A World holds everything that outlives a cell: functions, variables, types.
type World struct {
	natives    Natives
	position   func(token.Pos) Position
	types      typeTable
	epoch      atomic.Int64        // counts changes of method sets
	run        atomic.Pointer[Run] // the one called last
	methodSets atomic.Pointer[typeutil.MethodSetCache]

	mu      sync.Mutex
	prog    *ssa.Program
	ssaFns  map[*ssa.Function]*Func
	decls   map[*types.Func]*Func         // functions and methods that cells declared, not generic
	inst    map[*types.Func][]*Func       // instances of generic functions of earlier programs
	globals map[*types.Var]unsafe.Pointer // variables
	learnt  map[*types.Named]reflect.Type
	learned map[*types.Package]bool
}

// NewWorld returns an empty world. The function position tells where in a cell
// a position is.
func NewWorld(natives Natives, position func(token.Pos) Position) *World {
	w := &World{
		natives:  natives,
		position: position,
		decls:    map[*types.Func]*Func{},
		inst:     map[*types.Func][]*Func{},
		globals:  map[*types.Var]unsafe.Pointer{},
		learnt:   map[*types.Named]reflect.Type{},
		learned:  map[*types.Package]bool{},
	}
	w.types.world = w
	w.methodSets.Store(new(typeutil.MethodSetCache))
	return w
}

// Use makes prog the program that further cells are built in.
func (w *World) Use(prog *ssa.Program) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.prog = prog
	w.ssaFns = map[*ssa.Function]*Func{}
}

// A Func is a function that can be run: interpreted, or compiled (native).
type Func struct {
	world  *World
	name   string
	sig    *types.Signature
	params []slot // receiver first
	free   []slot
	size   uintptr // of params and free in a frame

	src    *ssa.Function // until compiled
	mu     sync.Mutex
	code   atomic.Pointer[code]
	native reflect.Value
	newer  atomic.Pointer[Func] // what it was redefined as
}

// A slot is a place in a frame.
type slot struct {
	off uintptr
	typ *abiType
	rt  reflect.Type
	cl  class
}

func align(n, a uintptr) uintptr {
	if a == 0 {
		return n
	}
	return (n + a - 1) &^ (a - 1)
}

func (w *World) slotAt(off uintptr, t types.Type) (slot, uintptr) {
	rt := w.Type(t)
	d := descriptor(rt)
	off = align(off, uintptr(d.align))
	s := slot{off: off, typ: d, rt: rt, cl: classOf(rt)}
	return s, off + max(d.size, 1)
}

// latest follows redefinitions.
func (f *Func) latest() *Func {
	for {
		n := f.newer.Load()
		if n == nil {
			return f
		}
		f = n
	}
}

// Redefine makes calls of the function old, of the same signature, run new.
func (w *World) Redefine(old, new *types.Func) {
	w.mu.Lock()
	defer w.mu.Unlock()
	o, n := w.decls[old], w.decls[new]
	if o == nil || n == nil || o == n {
		return
	}
	o.newer.Store(n)
}

// Bind makes method obj of an earlier cell's type run fn, a function whose
// first parameter is the receiver.
func (w *World) Bind(obj, fn *types.Func) {
	w.mu.Lock()
	defer w.mu.Unlock()
	n := w.decls[fn]
	if o := w.decls[obj]; o != nil && o != n {
		o.newer.Store(n)
		return
	}
	w.decls[obj] = n
}

// Func returns the function for fn.
func (w *World) Func(fn *ssa.Function) *Func {
	obj, _ := fn.Object().(*types.Func)
	declared := obj != nil && fn.Origin() == nil && (fn.Synthetic == "" || fn.Blocks == nil)
	known := func() *Func {
		if f := w.ssaFns[fn]; f != nil {
			return f
		}
		if declared {
			if f := w.decls[obj]; f != nil {
				w.ssaFns[fn] = f
				return f
			}
		}
		return nil
	}
	w.mu.Lock()
	f := known()
	w.mu.Unlock()
	if f != nil {
		return f
	}
	f = &Func{world: w, name: fn.RelString(nil), sig: fn.Signature}
	if fn.Blocks == nil {
		f.native = w.nativeFunc(fn)
	} else {
		f.src = fn
	}
	f.layout(fn)
	w.mu.Lock()
	defer w.mu.Unlock()
	if g := known(); g != nil {
		return g
	}
	w.ssaFns[fn] = f
	if declared {
		w.decls[obj] = f
	}
	return f
}

// layout places parameters and free variables at the start of the frame.
func (f *Func) layout(fn *ssa.Function) {
	var off uintptr
	var s slot
	if fn.Params == nil && fn.Blocks == nil {
		if r := fn.Signature.Recv(); r != nil {
			s, off = f.world.slotAt(off, r.Type())
			f.params = append(f.params, s)
		}
		for p := range fn.Signature.Params().Variables() {
			s, off = f.world.slotAt(off, p.Type())
			f.params = append(f.params, s)
		}
	}
	for _, p := range fn.Params {
		s, off = f.world.slotAt(off, p.Type())
		f.params = append(f.params, s)
	}
	off = align(off, 16)
	for _, p := range fn.FreeVars {
		s, off = f.world.slotAt(off, p.Type())
		f.free = append(f.free, s)
	}
	f.size = off
}

// A MissingError is the panic of a use of something that is not compiled in.
type MissingError struct{ Name string }

func (e MissingError) Error() string { return e.Name + " is not available in cells" }

func (w *World) nativeFunc(fn *ssa.Function) reflect.Value {
	obj, _ := fn.Object().(*types.Func)
	if obj == nil {
		return reflect.Value{}
	}
	if recv := fn.Signature.Recv(); recv != nil {
		if obj.Pkg() != nil && obj.Pkg().Path() == "main" {
			return reflect.Value{} // the type's own method would call itself
		}
		rt := w.Type(recv.Type())
		if rt.Kind() == reflect.Pointer && obj.Pkg() != nil {
			if v, ok := w.natives.Value(obj.Pkg().Path(), "(*"+rt.Elem().Name()+")."+obj.Name()); ok {
				return v
			}
		}
		if m, ok := rt.MethodByName(obj.Name()); ok {
			return m.Func
		}
		return reflect.Value{}
	}
	if obj.Pkg() == nil {
		return reflect.Value{}
	}
	v, _ := w.natives.Value(obj.Pkg().Path(), obj.Name())
	return v
}

// methodSet returns the method set of t.
func (w *World) methodSet(t types.Type) *types.MethodSet {
	return w.methodSets.Load().MethodSet(t)
}

// methodFunc returns the function of a method selection.
func (w *World) methodFunc(sel *types.Selection) *Func {
	w.mu.Lock()
	prog := w.prog
	w.mu.Unlock()
	fn := prog.MethodValue(sel)
	if fn == nil {
		return nil
	}
	w.mu.Lock()
	f := w.ssaFns[fn]
	w.mu.Unlock()
	if f != nil {
		return f
	}
	// Laying the function out would ask for types: do it when it is called.
	return &Func{world: w, name: fn.RelString(nil), sig: fn.Signature, src: fn, params: nil, size: lazySize}
}

// lazySize marks a Func that stands for another one not yet asked for.
const lazySize = ^uintptr(0)

func (f *Func) resolve() *Func {
	if f.size == lazySize {
		f.mu.Lock()
		defer f.mu.Unlock()
		if f.newer.Load() == nil {
			f.newer.Store(f.world.Func(f.src))
			f.src = nil
		}
	}
	return f.latest()
}

// Global returns the storage of a variable that a cell declared.
func (w *World) Global(v *types.Var) (unsafe.Pointer, bool) {
	w.mu.Lock()
	defer w.mu.Unlock()
	p, ok := w.globals[v]
	return p, ok
}

// Alias makes v another name for the storage of old.
func (w *World) Alias(v, old *types.Var) {
	p := w.globalAt(old)
	w.mu.Lock()
	defer w.mu.Unlock()
	w.globals[v] = p
}

// AliasFunc makes f another name for old.
func (w *World) AliasFunc(f, old *types.Func) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if o := w.decls[old]; o != nil {
		w.decls[f] = o
	}
}

// Value returns the variable v.
func (w *World) Value(v *types.Var) reflect.Value {
	return valueAt(w.Type(v.Type()), w.globalAt(v))
}

func (w *World) globalAt(v *types.Var) unsafe.Pointer {
	w.mu.Lock()
	p, ok := w.globals[v]
	w.mu.Unlock()
	if ok {
		return p
	}
	if v.Pkg() != nil && v.Pkg().Path() != "main" {
		if nv, ok := w.natives.Value(v.Pkg().Path(), v.Name()); ok && nv.CanAddr() {
			p = nv.Addr().UnsafePointer()
		}
	}
	if p == nil {
		p = newOf(descriptor(w.Type(v.Type())))
	}
	w.mu.Lock()
	defer w.mu.Unlock()
	if q, ok := w.globals[v]; ok {
		return q
	}
	w.globals[v] = p
	return p
}

// nativeType returns the compiled type for t, or nil if cells declared it.
func (w *World) nativeType(t *types.Named) reflect.Type {
	obj := t.Obj()
	pkg := obj.Pkg()
	if t.TypeArgs().Len() > 0 || pkg.Path() == "main" {
		return nil
	}
	if r, ok := w.learnt[t]; ok {
		return r
	}
	if obj.Parent() != nil && obj.Parent() != pkg.Scope() {
		return nil
	}
	if r, ok := w.natives.Type(pkg.Path(), obj.Name()); ok {
		return r
	}
	if !obj.Exported() && !w.learned[pkg] {
		w.learned[pkg] = true
		w.learn(pkg)
		if r, ok := w.learnt[t]; ok {
			return r
		}
	}
	return nil
}

// learn finds the runtime's types for unexported types of a compiled package by
// walking its variables and functions beside their descriptions.
func (w *World) learn(pkg *types.Package) {
	for _, name := range pkg.Scope().Names() {
		obj := pkg.Scope().Lookup(name)
		if !obj.Exported() {
			continue
		}
		switch obj := obj.(type) {
		case *types.Var, *types.Func:
			if v, ok := w.natives.Value(pkg.Path(), name); ok {
				w.walk(obj.Type(), v.Type(), 4)
			}
		case *types.TypeName:
			if r, ok := w.natives.Type(pkg.Path(), name); ok {
				w.walk(obj.Type().Underlying(), r, 4)
				w.walkMethods(obj.Type(), r)
				w.walkMethods(types.NewPointer(obj.Type()), reflect.PointerTo(r))
			}
		}
	}
}

func (w *World) walkMethods(t types.Type, r reflect.Type) {
	ms := types.NewMethodSet(t)
	for i := range ms.Len() {
		if m, ok := r.MethodByName(ms.At(i).Obj().Name()); ok {
			sig := ms.At(i).Type().(*types.Signature)
			skip := 1
			if r.Kind() == reflect.Interface {
				skip = 0
			}
			for j := range sig.Results().Len() {
				w.walk(sig.Results().At(j).Type(), m.Type.Out(j), 3)
			}
			for j := range sig.Params().Len() {
				w.walk(sig.Params().At(j).Type(), m.Type.In(j+skip), 3)
			}
		}
	}
}

func (w *World) walk(t types.Type, r reflect.Type, depth int) {
	if depth == 0 {
		return
	}
	if n, ok := t.(*types.Named); ok {
		if n.Obj().Pkg() != nil && !n.Obj().Exported() && n.TypeArgs().Len() == 0 && r.Name() == n.Obj().Name() {
			if _, ok := w.learnt[n]; ok {
				return
			}
			w.learnt[n] = r
			w.walkMethods(n, r)
		}
		if n.Obj().Exported() {
			return
		}
		t = n.Underlying()
	}
	switch t := t.(type) {
	case *types.Pointer:
		if r.Kind() == reflect.Pointer {
			w.walk(t.Elem(), r.Elem(), depth)
		}
	case *types.Slice:
		if r.Kind() == reflect.Slice {
			w.walk(t.Elem(), r.Elem(), depth-1)
		}
	case *types.Struct:
		for i := range min(t.NumFields(), r.NumField()) {
			if r.Kind() == reflect.Struct {
				w.walk(t.Field(i).Type(), r.Field(i).Type, depth-1)
			}
		}
	case *types.Signature:
		if r.Kind() == reflect.Func {
			for i := range min(t.Params().Len(), r.NumIn()) {
				w.walk(t.Params().At(i).Type(), r.In(i), depth-1)
			}
			for i := range min(t.Results().Len(), r.NumOut()) {
				w.walk(t.Results().At(i).Type(), r.Out(i), depth-1)
			}
		}
	}
}
