package machine

import (
	"fmt"
	"go/types"
	"maps"
	"reflect"
	"sort"
	"sync"
	"sync/atomic"
	"unsafe"

	"golang.org/x/tools/go/types/typeutil"
)

// This file makes types of the Go runtime out of types of go/types. Unnamed
// types come from package reflect. A type that a cell declares is a copy of the
// descriptor of its underlying type with a name, a package path and a table of
// methods, whose entries are stubs in assembly that jump into functions made by
// reflect.MakeFunc. Such descriptors are never freed: values of the type may
// live anywhere.
//
// Interface types of cells are, to the runtime, named interfaces without
// methods: the checker has already made sure of theirs.

// methodRoom is how many methods a forged type may have.
const (
	methodRoom = 256
	fewMethods = 8 // enough for most
)

type forgery struct {
	t       types.Type // a *types.Named, or a pointer to one
	d       *abiType
	u       *abiUncommon
	methods []abiMethod
	kept    any
	stubs   map[string][2]int32 // by method
	byName  map[string]*Func
}

// typeTable maps types of go/types to those of the runtime and back.
type typeTable struct {
	mu      sync.Mutex
	world   *World
	known   typeutil.Map
	forged  map[unsafe.Pointer]*forgery
	pending []*forgery // methods still to be filled in
	fixes   []func()   // fields whose type was not complete
	open    map[*types.Named]bool
	depth   int
	hash    uint32
	before  map[*types.Named]*forgery // descriptors that newer ones replace
	renewed atomic.Bool
}

var emptyInterface = reflect.TypeFor[any]()

// Type returns the runtime's type for t.
func (w *World) Type(t types.Type) reflect.Type {
	tt := &w.types
	tt.mu.Lock()
	defer tt.mu.Unlock()
	return tt.of(t)
}

func (tt *typeTable) of(t types.Type) reflect.Type {
	if r, ok := tt.known.At(t).(reflect.Type); ok {
		return r
	}
	tt.depth++
	r := tt.build(t)
	tt.depth--
	tt.known.Set(t, r)
	if tt.depth == 0 {
		for len(tt.pending)+len(tt.fixes) > 0 {
			fixes := tt.fixes
			tt.fixes = nil
			for _, f := range fixes {
				f()
			}
			if len(tt.pending) > 0 {
				f := tt.pending[0]
				tt.pending = tt.pending[1:]
				tt.depth++
				tt.fillMethods(f)
				tt.depth--
			}
		}
	}
	return r
}

var basicTypes = map[types.BasicKind]reflect.Type{
	types.Bool: reflect.TypeFor[bool](), types.Int: reflect.TypeFor[int](), types.Int8: reflect.TypeFor[int8](),
	types.Int16: reflect.TypeFor[int16](), types.Int32: reflect.TypeFor[int32](), types.Int64: reflect.TypeFor[int64](),
	types.Uint: reflect.TypeFor[uint](), types.Uint8: reflect.TypeFor[uint8](), types.Uint16: reflect.TypeFor[uint16](),
	types.Uint32: reflect.TypeFor[uint32](), types.Uint64: reflect.TypeFor[uint64](), types.Uintptr: reflect.TypeFor[uintptr](),
	types.Float32: reflect.TypeFor[float32](), types.Float64: reflect.TypeFor[float64](),
	types.Complex64: reflect.TypeFor[complex64](), types.Complex128: reflect.TypeFor[complex128](),
	types.String: reflect.TypeFor[string](), types.UnsafePointer: reflect.TypeFor[unsafe.Pointer](),
	types.UntypedBool: reflect.TypeFor[bool](), types.UntypedInt: reflect.TypeFor[int](), types.UntypedRune: reflect.TypeFor[rune](),
	types.UntypedFloat: reflect.TypeFor[float64](), types.UntypedComplex: reflect.TypeFor[complex128](),
	types.UntypedString: reflect.TypeFor[string](), types.UntypedNil: reflect.TypeFor[unsafe.Pointer](),
	types.Invalid: reflect.TypeFor[unsafe.Pointer](),
}

func (tt *typeTable) build(t types.Type) reflect.Type {
	switch t := t.(type) {
	case *types.Basic:
		return basicTypes[t.Kind()]
	case *types.Alias:
		return tt.of(types.Unalias(t))
	case *types.Pointer:
		if n, ok := types.Unalias(t.Elem()).(*types.Named); ok {
			// A forged type's pointer type is made with it.
			r := tt.of(n)
			return reflect.PointerTo(r)
		}
		return reflect.PointerTo(tt.of(t.Elem()))
	case *types.Slice:
		return reflect.SliceOf(tt.of(t.Elem()))
	case *types.Array:
		return reflect.ArrayOf(int(t.Len()), tt.complete(t.Elem()))
	case *types.Map:
		return reflect.MapOf(tt.complete(t.Key()), tt.complete(t.Elem()))
	case *types.Chan:
		dir := map[types.ChanDir]reflect.ChanDir{types.SendRecv: reflect.BothDir, types.SendOnly: reflect.SendDir, types.RecvOnly: reflect.RecvDir}[t.Dir()]
		return reflect.ChanOf(dir, tt.of(t.Elem()))
	case *types.Signature:
		return reflect.FuncOf(tt.tuple(t.Params()), tt.tuple(t.Results()), t.Variadic())
	case *types.Tuple:
		panic("machine: a tuple has no type")
	case *types.Interface:
		return emptyInterface
	case *types.Struct:
		s, _ := tt.structOf(t)
		return s
	case *types.Named:
		return tt.named(t)
	}
	panic(fmt.Sprintf("machine: no runtime type for %v (%T)", t, t))
}

// An incompleteType is the panic of a type that contains itself by value in a
// place where its size is needed at once.
type incompleteType struct{ name string }

func (e incompleteType) Error() string {
	return fmt.Sprintf("type %s contains itself inside a map or array element: use a pointer, as in map[string]*%s", e.name, e.name)
}

func (tt *typeTable) complete(t types.Type) reflect.Type {
	if n, ok := types.Unalias(t).(*types.Named); ok && tt.open[n] {
		panic(incompleteType{n.Obj().Name()})
	}
	return tt.of(t)
}

func (tt *typeTable) tuple(t *types.Tuple) []reflect.Type {
	var list []reflect.Type
	for v := range t.Variables() {
		list = append(list, tt.of(v.Type()))
	}
	return list
}

// structOf returns the struct type, and which fields are embedded.
func (tt *typeTable) structOf(t *types.Struct) (reflect.Type, []bool) {
	var fields []reflect.StructField
	embedded := make([]bool, t.NumFields())
	for i := range t.NumFields() {
		v := t.Field(i)
		f := reflect.StructField{Name: v.Name(), Type: tt.field(v.Type()), Tag: reflect.StructTag(t.Tag(i))}
		if !v.Exported() {
			f.PkgPath = "main"
			if v.Pkg() != nil {
				f.PkgPath = v.Pkg().Path()
			}
		}
		embedded[i] = v.Embedded()
		fields = append(fields, f)
	}
	return reflect.StructOf(fields), embedded
}

// field returns the type of a struct field. A map whose element is still being
// made (type Trie struct{ next map[rune]Trie }) is replaced by another map.
func (tt *typeTable) field(t types.Type) reflect.Type {
	if m, ok := types.Unalias(t).(*types.Map); ok {
		if n, ok := types.Unalias(m.Elem()).(*types.Named); ok && tt.open[n] {
			return reflect.TypeFor[map[int]int]()
		}
	}
	return tt.of(t)
}

func nameBytes(name, tag string, exported, embedded bool) *byte {
	var bits byte
	if exported {
		bits |= 1
	}
	if tag != "" {
		bits |= 2
	}
	if embedded {
		bits |= 8
	}
	b := []byte{bits}
	b = appendVarint(b, len(name))
	b = append(b, name...)
	if tag != "" {
		b = appendVarint(b, len(tag))
		b = append(b, tag...)
	}
	keep(&b[0])
	return &b[0]
}

func appendVarint(b []byte, n int) []byte {
	for n >= 0x80 {
		b = append(b, byte(n)|0x80)
		n >>= 7
	}
	return append(b, byte(n))
}

var kept struct {
	sync.Mutex
	list  []any
	names map[string]int32
}

// keep holds p for good: the runtime knows it only as a number.
func keep(p any) {
	kept.Lock()
	kept.list = append(kept.list, p)
	kept.Unlock()
}

func nameOff(name string, exported bool) int32 {
	kept.Lock()
	off, ok := kept.names[name]
	kept.Unlock()
	if ok {
		return off
	}
	off = addReflectOff(unsafe.Pointer(nameBytes(name, "", exported, false)))
	kept.Lock()
	if kept.names == nil {
		kept.names = map[string]int32{}
	}
	kept.names[name] = off
	kept.Unlock()
	return off
}

func (tt *typeTable) named(t *types.Named) reflect.Type {
	obj := t.Obj()
	if obj.Pkg() == nil {
		if obj.Name() == "error" {
			return reflect.TypeFor[error]()
		}
		return tt.of(t.Underlying())
	}
	if r := tt.world.nativeType(t); r != nil {
		return r
	}
	return tt.forge(t)
}

// typeName returns the name of t as the compiler writes it.
func typeName(t *types.Named, full bool) string {
	name := t.Obj().Name()
	if p := t.Obj().Pkg(); p != nil {
		q := p.Name()
		if full {
			q = p.Path()
		}
		name = q + "." + name
	}
	if args := t.TypeArgs(); args.Len() > 0 {
		name += "["
		for i := range args.Len() {
			if i > 0 {
				name += ","
			}
			name += types.TypeString(args.At(i), func(p *types.Package) string { return p.Path() })
		}
		name += "]"
	}
	return name
}

// A forgedBlock is a type descriptor of any kind followed by what the runtime
// looks for behind it. body holds the descriptor, words of it as pointers where
// the runtime's own types say so: it is allocated as one of the structs below.
type (
	forgedBase struct {
		abiType
		u abiUncommon
	}
	forgedPtr struct {
		abiPtr
		u abiUncommon
	}
	forgedSlice struct {
		abiSlice
		u abiUncommon
	}
	forgedArray struct {
		abiArray
		u abiUncommon
	}
	forgedChan struct {
		abiChan
		u abiUncommon
	}
	forgedInterface struct {
		abiInterface
		u abiUncommon
	}
	forgedMap struct {
		abiMap
		u abiUncommon
	}
	forgedStruct struct {
		abiStruct
		u abiUncommon
	}
	forgedFunc struct {
		abiFunc
		u  abiUncommon
		io [32]*abiType
	}
	withFewMethods[T any] struct {
		head    T
		methods [fewMethods]abiMethod
	}
	withMethods[T any] struct {
		head    T
		methods [methodRoom]abiMethod
	}
)

func newForgery[T any](copyHead func(*T), u func(*T) *abiUncommon, room int) (unsafe.Pointer, *abiUncommon, []abiMethod, any) {
	switch {
	case room == 0:
		h := new(T)
		copyHead(h)
		return unsafe.Pointer(h), u(h), nil, h
	case room <= fewMethods:
		h := new(withFewMethods[T])
		copyHead(&h.head)
		un := u(&h.head)
		un.moff = uint32(uintptr(unsafe.Pointer(&h.methods)) - uintptr(unsafe.Pointer(un)))
		return unsafe.Pointer(h), un, h.methods[:], h
	}
	h := new(withMethods[T])
	copyHead(&h.head)
	un := u(&h.head)
	un.moff = uint32(uintptr(unsafe.Pointer(&h.methods)) - uintptr(unsafe.Pointer(un)))
	return unsafe.Pointer(h), un, h.methods[:], h
}

// forgeDescriptor copies the descriptor of r with room for methods.
func forgeDescriptor(r reflect.Type, room int) *forgery {
	src := unsafe.Pointer(descriptor(r))
	f := &forgery{}
	var p unsafe.Pointer
	switch r.Kind() {
	case reflect.Struct:
		p, f.u, f.methods, f.kept = newForgery(func(h *forgedStruct) { h.abiStruct = *(*abiStruct)(src) }, func(h *forgedStruct) *abiUncommon { return &h.u }, room)
		s := (*abiStruct)(p)
		s.fields = append([]abiStructField(nil), s.fields...)
	case reflect.Pointer:
		p, f.u, f.methods, f.kept = newForgery(func(h *forgedPtr) { h.abiPtr = *(*abiPtr)(src) }, func(h *forgedPtr) *abiUncommon { return &h.u }, room)
	case reflect.Slice:
		p, f.u, f.methods, f.kept = newForgery(func(h *forgedSlice) { h.abiSlice = *(*abiSlice)(src) }, func(h *forgedSlice) *abiUncommon { return &h.u }, room)
	case reflect.Array:
		p, f.u, f.methods, f.kept = newForgery(func(h *forgedArray) { h.abiArray = *(*abiArray)(src) }, func(h *forgedArray) *abiUncommon { return &h.u }, room)
	case reflect.Chan:
		p, f.u, f.methods, f.kept = newForgery(func(h *forgedChan) { h.abiChan = *(*abiChan)(src) }, func(h *forgedChan) *abiUncommon { return &h.u }, room)
	case reflect.Interface:
		p, f.u, f.methods, f.kept = newForgery(func(h *forgedInterface) { h.abiInterface = *(*abiInterface)(src) }, func(h *forgedInterface) *abiUncommon { return &h.u }, room)
	case reflect.Map:
		p, f.u, f.methods, f.kept = newForgery(func(h *forgedMap) { h.abiMap = *(*abiMap)(src) }, func(h *forgedMap) *abiUncommon { return &h.u }, room)
	case reflect.Func:
		p, f.u, f.methods, f.kept = newForgery(func(h *forgedFunc) {
			h.abiFunc = *(*abiFunc)(src)
			for i := range r.NumIn() {
				h.io[i] = descriptor(r.In(i))
			}
			for i := range r.NumOut() {
				h.io[r.NumIn()+i] = descriptor(r.Out(i))
			}
		}, func(h *forgedFunc) *abiUncommon { return &h.u }, room)
	default:
		p, f.u, f.methods, f.kept = newForgery(func(h *forgedBase) { h.abiType = *(*abiType)(src) }, func(h *forgedBase) *abiUncommon { return &h.u }, room)
	}
	f.d = (*abiType)(p)
	keep(f.kept)
	return f
}

func (tt *typeTable) forge(t *types.Named) reflect.Type {
	under := t.Underlying()
	iface := types.IsInterface(t)
	if tt.open == nil {
		tt.open = map[*types.Named]bool{}
		tt.forged = map[unsafe.Pointer]*forgery{}
	}
	var kindOnly reflect.Type
	switch u := under.(type) {
	case *types.Struct:
		kindOnly = reflect.TypeFor[struct{}]()
	case *types.Slice:
		kindOnly = reflect.TypeFor[[]int]()
	case *types.Array:
		kindOnly = reflect.TypeFor[[1]int]()
	case *types.Map:
		kindOnly = reflect.TypeFor[map[int]int]()
	case *types.Chan:
		kindOnly = reflect.TypeFor[chan int]()
	case *types.Signature:
		kindOnly = reflect.TypeFor[func()]()
	case *types.Pointer:
		kindOnly = reflect.TypeFor[*int]()
	case *types.Interface:
		kindOnly = emptyInterface
	default:
		kindOnly = tt.of(u)
	}
	ms := types.NewMethodSet(types.NewPointer(t))
	room := 0
	if !iface {
		room = ms.Len()
		if declaredInCell(t) {
			room += 2 // for methods of later cells
		}
	}
	f := forgeDescriptor(kindOnly, room)
	f.t = t
	f.d.str = nameOff(typeName(t, false), t.Obj().Exported())
	tt.hash = tt.hash*16777619 + 2166136261
	f.d.hash = tt.hash
	f.d.flag = f.d.flag&^flagExtraStar | flagNamed | flagUncommon
	f.d.ptrToThis = 0
	f.u.pkgPath = nameOff(t.Obj().Pkg().Path(), true)

	// The pointer type comes first, for types that point to themselves.
	proto := reflect.TypeFor[*unsafe.Pointer]()
	pf := forgeDescriptor(proto, room)
	pf.t = types.NewPointer(t)
	pf.d.str = nameOff("*"+typeName(t, false), t.Obj().Exported())
	pf.d.hash = f.d.hash*16777619 ^ '*'
	pf.d.flag = pf.d.flag&^(flagExtraStar|flagNamed) | flagUncommon
	pf.d.ptrToThis = 0
	pf.u.pkgPath = f.u.pkgPath
	(*abiPtr)(unsafe.Pointer(pf.d)).elem = f.d
	f.d.ptrToThis = addReflectOff(unsafe.Pointer(pf.d))

	r := typeOf(unsafe.Pointer(f.d))
	tt.known.Set(t, r)
	tt.forged[unsafe.Pointer(f.d)] = f
	tt.forged[unsafe.Pointer(pf.d)] = pf
	if old := tt.before[t]; old != nil {
		f.stubs = maps.Clone(old.stubs)
		if op := (*abiType)(unsafe.Pointer(descriptor(reflect.PointerTo(typeOf(unsafe.Pointer(old.d)))))); op != nil {
			if g := tt.forged[unsafe.Pointer(op)]; g != nil {
				pf.stubs = maps.Clone(g.stubs)
			}
		}
	}

	if !iface {
		tt.open[t] = true
		tt.fillHead(f, under)
		delete(tt.open, t)
		tt.pending = append(tt.pending, f, pf)
	}
	return r
}

// fillHead copies the description of the underlying type into f.
func (tt *typeTable) fillHead(f *forgery, under types.Type) {
	head := *f.d
	var r reflect.Type
	var embedded []bool
	if s, ok := under.(*types.Struct); ok {
		r, embedded = tt.structOf(s)
	} else {
		r = tt.of(under)
	}
	src := descriptor(r)
	switch r.Kind() {
	case reflect.Struct:
		dst := (*abiStruct)(unsafe.Pointer(f.d))
		*dst = *(*abiStruct)(unsafe.Pointer(src))
		dst.fields = append([]abiStructField(nil), dst.fields...)
		s := under.(*types.Struct)
		for i := range dst.fields {
			v := s.Field(i)
			if embedded[i] {
				dst.fields[i].name = nameBytes(v.Name(), s.Tag(i), v.Exported(), true)
			}
			if m, ok := types.Unalias(v.Type()).(*types.Map); ok {
				if n, ok := types.Unalias(m.Elem()).(*types.Named); ok && tt.open[n] {
					tt.fixes = append(tt.fixes, func() { dst.fields[i].typ = descriptor(tt.of(m)) })
				}
			}
		}
		dst.pkgPath = nameBytes("main", "", true, false)
	case reflect.Pointer:
		*(*abiPtr)(unsafe.Pointer(f.d)) = *(*abiPtr)(unsafe.Pointer(src))
	case reflect.Slice:
		*(*abiSlice)(unsafe.Pointer(f.d)) = *(*abiSlice)(unsafe.Pointer(src))
	case reflect.Array:
		*(*abiArray)(unsafe.Pointer(f.d)) = *(*abiArray)(unsafe.Pointer(src))
	case reflect.Chan:
		*(*abiChan)(unsafe.Pointer(f.d)) = *(*abiChan)(unsafe.Pointer(src))
	case reflect.Map:
		*(*abiMap)(unsafe.Pointer(f.d)) = *(*abiMap)(unsafe.Pointer(src))
	case reflect.Func:
		*(*abiFunc)(unsafe.Pointer(f.d)) = *(*abiFunc)(unsafe.Pointer(src))
		io := &(*forgedFunc)(unsafe.Pointer(f.d)).io
		for i := range r.NumIn() {
			io[i] = descriptor(r.In(i))
		}
		for i := range r.NumOut() {
			io[r.NumIn()+i] = descriptor(r.Out(i))
		}
	default:
		*f.d = *src
	}
	const kept = flagUncommon | flagNamed
	f.d.str, f.d.hash, f.d.ptrToThis = head.str, head.hash, head.ptrToThis
	f.d.flag = f.d.flag&^(flagExtraStar|kept) | head.flag&kept
}

// fillMethods gives a forged type its methods, those of embedded fields too.
func (tt *typeTable) fillMethods(f *forgery) {
	ms := tt.world.methodSet(f.t)
	type entry struct {
		name     string
		exported bool
		sel      *types.Selection
	}
	var list []entry
	for i := range ms.Len() {
		sel := ms.At(i)
		list = append(list, entry{sel.Obj().Name(), sel.Obj().Exported(), sel})
	}
	// Exported methods first, each group by name: the order that the runtime searches by.
	sort.Slice(list, func(i, j int) bool {
		if list[i].exported != list[j].exported {
			return list[i].exported
		}
		return list[i].name < list[j].name
	})
	if len(list) > len(f.methods) {
		list = list[:len(f.methods)]
	}
	f.byName = map[string]*Func{}
	n, x := 0, 0
	for _, e := range list {
		fn := tt.world.methodFunc(e.sel)
		f.byName[e.name] = fn
		sig := e.sel.Type().(*types.Signature)
		mtyp := reflect.FuncOf(tt.tuple(sig.Params()), tt.tuple(sig.Results()), sig.Variadic())
		off, ok := f.stubs[e.name]
		if !ok {
			if off, ok = tt.methodStub(f, fn, sig); !ok {
				continue
			}
			if f.stubs == nil {
				f.stubs = map[string][2]int32{}
			}
			f.stubs[e.name] = off
		}
		m := &f.methods[n]
		m.name = nameOff(e.name, e.exported)
		if !e.exported {
			m.name = unexportedName(e.name, e.sel.Obj().Pkg())
		}
		m.mtyp = addReflectOff(unsafe.Pointer(descriptor(mtyp)))
		m.ifn, m.tfn = off[0], off[1]
		n++
		if e.exported {
			x++
		}
	}
	f.u.mcount, f.u.xcount = uint16(n), uint16(x)
}

var unexported sync.Map

func unexportedName(name string, _ *types.Package) int32 {
	if off, ok := unexported.Load(name); ok {
		return off.(int32)
	}
	off := addReflectOff(unsafe.Pointer(nameBytes(name, "", false, false)))
	unexported.Store(name, off)
	return off
}

// methodStub makes the two entries of a method: as compiled code calls it through
// an interface, with the receiver as one word (the value itself if it is a
// pointer, else its address), and as it calls the method of a value.
func (tt *typeTable) methodStub(f *forgery, fn *Func, sig *types.Signature) (off [2]int32, ok bool) {
	rt := typeOf(unsafe.Pointer(f.d))
	in := append([]reflect.Type{rt}, tt.tuple(sig.Params())...)
	out := tt.tuple(sig.Results())
	direct := f.d.flag&flagDirectIface != 0
	typed := reflect.MakeFunc(reflect.FuncOf(in, out, sig.Variadic()), func(args []reflect.Value) []reflect.Value {
		return fn.callFromNative(args, nil)
	})
	if off[1], ok = tt.stub(typed); !ok || direct {
		return [2]int32{off[1], off[1]}, ok
	}
	in[0] = reflect.TypeFor[unsafe.Pointer]()
	off[0], ok = tt.stub(reflect.MakeFunc(reflect.FuncOf(in, out, sig.Variadic()), func(args []reflect.Value) []reflect.Value {
		args[0] = valueAt(rt, args[0].UnsafePointer())
		return fn.callFromNative(args, nil)
	}))
	return off, ok
}

// stubsUsed counts the stubs given out to all worlds of the process. None is
// taken back: a value of its type may live anywhere. When all are used, further
// types of cells have their methods in cells but not in compiled code.
var stubsUsed atomic.Int64

// stub returns code that calls the function value v.
func (tt *typeTable) stub(v reflect.Value) (int32, bool) {
	slot := int(stubsUsed.Add(1)) - 1
	if slot >= stubCount {
		return 0, false
	}
	contexts[slot] = pointerOf(v)
	keep(v)
	return addReflectOff(unsafe.Add(stubBase, slot*16)), true
}

// declaredInCell tells whether t may be given further methods by later cells.
func declaredInCell(t *types.Named) bool {
	return t.Obj().Pkg().Path() == "main" && t.TypeArgs().Len() == 0
}

// sourceType returns the type of go/types that a forged type stands for.
func (w *World) sourceType(d unsafe.Pointer) *forgery {
	w.types.mu.Lock()
	defer w.types.mu.Unlock()
	return w.types.forged[d]
}

// MethodsChanged tells that a type of an earlier cell has a further method.
func (w *World) MethodsChanged() {
	w.methodSets.Store(new(typeutil.MethodSetCache))
	w.epoch.Add(1)
}

// MethodsBound tells that types have got methods that they lacked. The runtime
// may have noted already which interfaces the types do not implement, so from
// now on they and the types that contain them have new descriptors; values in
// interfaces keep the old ones, and both count as the same type.
func (w *World) MethodsBound(changed []*types.Named) {
	tt := &w.types
	tt.mu.Lock()
	defer tt.mu.Unlock()
	tt.depth++
	for _, f := range tt.forged {
		if len(f.methods) > 0 && tt.world.methodSet(f.t).Len() != len(f.byName) {
			tt.fillMethods(f)
		}
	}
	tt.depth--
	mentions := map[types.Type]bool{}
	for _, n := range changed {
		mentions[n] = true
	}
	var stale []types.Type
	tt.known.Iterate(func(t types.Type, _ any) {
		if mentioned(t, mentions, map[types.Type]bool{}) {
			stale = append(stale, t)
		}
	})
	for _, t := range stale {
		if n, ok := t.(*types.Named); ok {
			r, _ := tt.known.At(t).(reflect.Type)
			if old := tt.forged[unsafe.Pointer(descriptor(r))]; old != nil {
				if tt.before == nil {
					tt.before = map[*types.Named]*forgery{}
				}
				tt.before[n] = old
			}
		}
		tt.known.Delete(t)
	}
	tt.renewed.Store(true)
}

// mentioned tells whether t contains one of some types.
func mentioned(t types.Type, found map[types.Type]bool, seen map[types.Type]bool) bool {
	if t == nil || seen[t] {
		return false
	}
	seen[t] = true
	if found[t] {
		return true
	}
	in := func(u types.Type) bool { return mentioned(u, found, seen) }
	switch t := t.(type) {
	case *types.Alias:
		return in(types.Unalias(t))
	case *types.Named:
		if t.Obj().Pkg() == nil || t.Obj().Pkg().Path() != "main" {
			return false
		}
		for a := range t.TypeArgs().Types() {
			if in(a) {
				return true
			}
		}
		return in(t.Underlying())
	case *types.Pointer:
		return in(t.Elem())
	case *types.Slice:
		return in(t.Elem())
	case *types.Array:
		return in(t.Elem())
	case *types.Chan:
		return in(t.Elem())
	case *types.Map:
		return in(t.Key()) || in(t.Elem())
	case *types.Struct:
		for f := range t.Fields() {
			if in(f.Type()) {
				return true
			}
		}
	case *types.Signature:
		for v := range t.Params().Variables() {
			if in(v.Type()) {
				return true
			}
		}
		for v := range t.Results().Variables() {
			if in(v.Type()) {
				return true
			}
		}
	}
	return false
}

// sameType tells whether two descriptors stand for one type, an older and a
// newer one.
func (w *World) sameType(a, b unsafe.Pointer) bool {
	if !w.types.renewed.Load() || a == nil || b == nil {
		return false
	}
	f, g := w.sourceType(a), w.sourceType(b)
	return f != nil && g != nil && types.Identical(f.t, g.t)
}
