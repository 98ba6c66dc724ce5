package machine

import (
	"fmt"
	"go/token"
	"go/types"
	"reflect"
	"runtime"
	"sync"
	"unicode/utf8"
	"unsafe"

	"golang.org/x/tools/go/ssa"
)

// value emits an instruction that has a value.
func (c *compiler) value(in ssa.Value) {
	d := c.reg(in)
	switch in := in.(type) {
	case *ssa.Alloc:
		c.alloc(in, d)
	case *ssa.BinOp:
		c.emit(c.binary(in, d))
	case *ssa.UnOp:
		if in.Op == token.MUL && onlyMeasured(in) {
			return // len(*p) does not look at *p
		}
		c.emit(c.unary(in, d))
	case *ssa.Call:
		c.emit(c.call(&in.Call, d, in))
	case *ssa.ChangeType:
		x := c.operand(in.X)
		c.emit(moveOp(x, d.off, x.off))
	case *ssa.Convert:
		c.emit(c.convert(in, d))
	case *ssa.ChangeInterface:
		x := c.operand(in.X)
		c.emit(c.changeInterface(x, d))
	case *ssa.MakeInterface:
		x := c.operand(in.X)
		c.w.noteMethods(in.X.Type(), x)
		c.emit(makeInterface(x, d))
	case *ssa.TypeAssert:
		c.typeAssert(in, d)
	case *ssa.MakeClosure:
		c.makeClosure(in, d)
	case *ssa.MakeMap:
		rt := d.rt
		var size func(unsafe.Pointer) uint64
		if in.Reserve != nil {
			s := c.operand(in.Reserve)
			size, _ = integerReader(s.rt.Kind(), s.off)
		}
		c.emit(func(_ *frame, m unsafe.Pointer) {
			n := 0
			if size != nil {
				n = int(size(m))
			}
			*(*unsafe.Pointer)(add(m, d.off)) = reflect.MakeMapWithSize(rt, max(n, 0)).UnsafePointer()
		})
	case *ssa.MakeChan:
		s := c.operand(in.Size)
		size, _ := integerReader(s.rt.Kind(), s.off)
		rt := d.rt
		c.emit(func(_ *frame, m unsafe.Pointer) {
			n := int(size(m))
			if n < 0 {
				_ = make(chan struct{}, n) // panics
			}
			both := rt
			if rt.ChanDir() != reflect.BothDir {
				both = reflect.ChanOf(reflect.BothDir, rt.Elem())
			}
			*(*unsafe.Pointer)(add(m, d.off)) = reflect.MakeChan(both, n).UnsafePointer()
		})
	case *ssa.MakeSlice:
		c.makeSlice(in, d)
	case *ssa.Slice:
		c.slice(in, d)
	case *ssa.SliceToArrayPointer:
		x := c.operand(in.X)
		n := d.rt.Elem().Len()
		c.emit(func(_ *frame, m unsafe.Pointer) {
			h := (*sliceHeader)(add(m, x.off))
			if h.len < n {
				panic(plainError(fmt.Sprintf("cannot convert slice with length %d to array or pointer to array with length %d", h.len, n)))
			}
			*(*unsafe.Pointer)(add(m, d.off)) = h.data
		})
	case *ssa.FieldAddr:
		x := c.operand(in.X)
		off := fieldOffset(x.rt.Elem(), in.Field)
		c.emit(func(_ *frame, m unsafe.Pointer) {
			p := *(*unsafe.Pointer)(add(m, x.off))
			if p == nil {
				nilPanic()
			}
			*(*unsafe.Pointer)(add(m, d.off)) = add(p, off)
		})
	case *ssa.Field:
		x := c.operand(in.X)
		c.emit(moveOp(d, d.off, x.off+fieldOffset(x.rt, in.Field)))
	case *ssa.IndexAddr:
		c.indexAddr(in, d)
	case *ssa.Index:
		c.index(in, d)
	case *ssa.Lookup:
		c.lookup(in, d)
	case *ssa.Range:
		c.rangeOver(in, d)
	case *ssa.Next:
		c.next(in)
	case *ssa.Select:
		c.selectOp(in)
	case *ssa.Extract:
		parts := c.tuples[in.Tuple]
		c.emit(moveOp(d, d.off, parts[in.Index].off))
	case *ssa.MultiConvert:
		x := c.operand(in.X)
		rt := d.rt
		c.emit(func(_ *frame, m unsafe.Pointer) {
			valueAt(rt, add(m, d.off)).Set(valueAt(x.rt, add(m, x.off)).Convert(rt))
		})
	default:
		panic(fmt.Sprintf("machine: value %T", in))
	}
}

func fieldOffset(t reflect.Type, i int) uintptr {
	s := (*abiStruct)(unsafe.Pointer(descriptor(t)))
	return s.fields[i].offset
}

func (c *compiler) alloc(in *ssa.Alloc, d slot) {
	elem := in.Type().Underlying().(*types.Pointer).Elem()
	if in.Heap && !onlyAppended(in) {
		t := descriptor(c.w.Type(elem))
		if t.size == 0 {
			c.emit(func(_ *frame, m unsafe.Pointer) { *(*unsafe.Pointer)(add(m, d.off)) = newOf(t) })
			return
		}
		c.emit(func(_ *frame, m unsafe.Pointer) {
			*(*unsafe.Pointer)(add(m, d.off)) = mallocgc(t.size, unsafe.Pointer(t), true)
		})
		return
	}
	// A variable whose address stays inside the function lives in the frame.
	s := c.space(elem)
	c.emit(func(_ *frame, m unsafe.Pointer) {
		p := add(m, s.off)
		clearAt(s, p)
		*(*unsafe.Pointer)(add(m, d.off)) = p
	})
}

// onlyMeasured tells whether all that is wanted of an array is its length.
func onlyMeasured(in *ssa.UnOp) bool {
	if _, ok := in.Type().Underlying().(*types.Array); !ok {
		return false
	}
	for _, r := range *in.Referrers() {
		switch r := r.(type) {
		case *ssa.DebugRef:
		case *ssa.Call:
			if b, ok := r.Call.Value.(*ssa.Builtin); !ok || b.Name() != "len" && b.Name() != "cap" {
				return false
			}
		default:
			return false
		}
	}
	return true
}

// onlyAppended tells whether in holds the elements of an append, which copies
// them.
func onlyAppended(in *ssa.Alloc) bool {
	if in.Comment != "varargs" {
		return false
	}
	for _, r := range *in.Referrers() {
		switch r := r.(type) {
		case *ssa.IndexAddr:
			for _, u := range *r.Referrers() {
				if st, ok := u.(*ssa.Store); !ok || st.Addr != r {
					return false
				}
			}
		case *ssa.Slice:
			for _, u := range *r.Referrers() {
				call, ok := u.(*ssa.Call)
				if !ok {
					return false
				}
				b, ok := call.Call.Value.(*ssa.Builtin)
				if !ok || b.Name() != "append" || call.Call.Args[0] == ssa.Value(r) {
					return false
				}
			}
		default:
			return false
		}
	}
	return true
}

// makeInterface boxes x, of a concrete type, into the interface at d.
func makeInterface(x, d slot) op {
	t := x.typ
	box := func(m unsafe.Pointer) unsafe.Pointer {
		if t.flag&flagDirectIface != 0 {
			return *(*unsafe.Pointer)(add(m, x.off))
		}
		p := newOf(t)
		move(x, p, add(m, x.off))
		return p
	}
	if !hasItab(d.rt) {
		return func(_ *frame, m unsafe.Pointer) {
			p := box(m)
			e := (*eface)(add(m, d.off))
			e.typ, e.data = unsafe.Pointer(t), p
		}
	}
	var itab unsafe.Pointer
	return func(_ *frame, m unsafe.Pointer) {
		if itab == nil {
			itab = itabOf(d.rt, unsafe.Pointer(t))
		}
		p := box(m)
		e := (*eface)(add(m, d.off))
		e.typ, e.data = itab, p
	}
}

type itabKey struct {
	iface *abiType
	typ   unsafe.Pointer
}

var itabs sync.Map

// itabOf returns the table of methods of a dynamic type for a compiled
// interface type that it implements.
func itabOf(iface reflect.Type, typ unsafe.Pointer) unsafe.Pointer {
	key := itabKey{descriptor(iface), typ}
	if p, ok := itabs.Load(key); ok {
		return p.(unsafe.Pointer)
	}
	v := reflect.New(iface)
	v.Elem().Set(reflect.Zero(typeOf(typ)))
	p := (*eface)(v.UnsafePointer()).typ
	itabs.Store(key, p)
	return p
}

// toInterface writes the dynamic value x as an interface of type d.
func toInterface(d slot, dst unsafe.Pointer, x eface) {
	e := (*eface)(dst)
	if x.typ != nil && hasItab(d.rt) {
		x.typ = itabOf(d.rt, x.typ)
	}
	*e = x
}

func (c *compiler) changeInterface(x, d slot) op {
	if hasItab(x.rt) == hasItab(d.rt) && (x.rt == d.rt || !hasItab(d.rt)) {
		return moveOp(d, d.off, x.off)
	}
	read := asAny(x)
	return func(_ *frame, m unsafe.Pointer) {
		v := read(m)
		toInterface(d, add(m, d.off), *(*eface)(unsafe.Pointer(&v)))
	}
}

// typeAssertionError lays out runtime.TypeAssertionError.
type typeAssertionError struct {
	iface, concrete, asserted unsafe.Pointer
	missing                   string
}

func assertPanic(iface, concrete, asserted unsafe.Pointer, missing string) {
	e := new(runtime.TypeAssertionError)
	*(*typeAssertionError)(unsafe.Pointer(e)) = typeAssertionError{iface, concrete, asserted, missing}
	panic(e)
}

func (c *compiler) typeAssert(in *ssa.TypeAssert, d slot) {
	x := c.operand(in.X)
	read := asAny(x)
	iface := unsafe.Pointer(x.typ)
	target := d
	var okOff uintptr
	commaOk := in.CommaOk
	if commaOk {
		parts := c.tuples[in]
		target, okOff = parts[0], parts[1].off
	}
	if types.IsInterface(in.AssertedType) {
		implements := c.implements(in.AssertedType)
		asserted := unsafe.Pointer(target.typ)
		c.emit(func(_ *frame, m unsafe.Pointer) {
			v := read(m)
			e := *(*eface)(unsafe.Pointer(&v))
			ok, missing := false, ""
			if e.typ != nil {
				ok, missing = implements(e.typ)
			}
			if commaOk {
				*(*bool)(add(m, okOff)) = ok
				if !ok {
					e = eface{}
				}
			} else if !ok {
				assertPanic(iface, e.typ, asserted, missing)
			}
			toInterface(target, add(m, target.off), e)
		})
		return
	}
	want := unsafe.Pointer(target.typ)
	direct := target.typ.flag&flagDirectIface != 0
	w := c.w
	c.emit(func(_ *frame, m unsafe.Pointer) {
		v := read(m)
		e := *(*eface)(unsafe.Pointer(&v))
		ok := e.typ == want || w.sameType(e.typ, want)
		if commaOk {
			*(*bool)(add(m, okOff)) = ok
		} else if !ok {
			assertPanic(iface, e.typ, want, "")
		}
		dst := add(m, target.off)
		switch {
		case !ok:
			clearAt(target, dst)
		case direct:
			if target.cl == classPointer {
				*(*unsafe.Pointer)(dst) = e.data
			} else {
				typedmemmove(want, dst, unsafe.Pointer(&e.data))
			}
		default:
			move(target, dst, e.data)
		}
	})
}

// implements returns how to tell whether a dynamic type implements interface t,
// and the first method that it lacks.
func (c *compiler) implements(t types.Type) func(unsafe.Pointer) (bool, string) {
	it := t.Underlying().(*types.Interface)
	rt := c.w.Type(t)
	w := c.w
	type answer struct {
		ok      bool
		missing string
		epoch   int64
	}
	var cache sync.Map
	if it.NumMethods() == 0 {
		return func(unsafe.Pointer) (bool, string) { return true, "" }
	}
	return func(typ unsafe.Pointer) (bool, string) {
		if a, ok := cache.Load(typ); ok && (a.(answer).ok || a.(answer).epoch == w.epoch.Load()) {
			return a.(answer).ok, a.(answer).missing
		}
		a := answer{ok: true, epoch: w.epoch.Load()}
		if src := w.dynamic(typ); src != nil {
			if m, _ := types.MissingMethod(src, it, true); m != nil {
				a = answer{false, m.Name(), w.epoch.Load()}
			}
		} else if hasItab(rt) {
			if !typeOf(typ).Implements(rt) {
				a = answer{false, missingMethod(typeOf(typ), it), w.epoch.Load()}
			}
		} else if m := w.lacks(typeOf(typ), it); m != "" {
			a = answer{false, m, w.epoch.Load()}
		}
		cache.Store(typ, a)
		return a.ok, a.missing
	}
}

func missingMethod(r reflect.Type, it *types.Interface) string {
	for m := range it.Methods() {
		if _, ok := r.MethodByName(m.Name()); !ok {
			return m.Name()
		}
	}
	return ""
}

// lacks names a method of it that the compiled type r does not have.
func (w *World) lacks(r reflect.Type, it *types.Interface) string {
	for m := range it.Methods() {
		rm, ok := r.MethodByName(m.Name())
		if !ok {
			return m.Name()
		}
		sig := m.Type().(*types.Signature)
		if rm.Type.NumIn()-1 != sig.Params().Len() || rm.Type.NumOut() != sig.Results().Len() {
			return m.Name()
		}
		for i := range sig.Params().Len() {
			if rm.Type.In(i+1) != w.Type(sig.Params().At(i).Type()) {
				return m.Name()
			}
		}
		for i := range sig.Results().Len() {
			if rm.Type.Out(i) != w.Type(sig.Results().At(i).Type()) {
				return m.Name()
			}
		}
	}
	return ""
}

// extra maps unnamed types of cells that have methods by embedding.
var extra sync.Map // unsafe.Pointer to types.Type

// noteMethods remembers a type that is not named but has methods.
func (w *World) noteMethods(t types.Type, x slot) {
	switch t := types.Unalias(t).(type) {
	case *types.Named, *types.Basic:
		return
	case *types.Pointer:
		if _, ok := types.Unalias(t.Elem()).(*types.Named); ok {
			return
		}
	}
	if w.methodSet(t).Len() > 0 {
		extra.Store(unsafe.Pointer(x.typ), t)
	}
}

// dynamic returns the type of go/types of a dynamic type that cells declared.
func (w *World) dynamic(typ unsafe.Pointer) types.Type {
	if f := w.sourceType(typ); f != nil {
		return f.t
	}
	if t, ok := extra.Load(typ); ok {
		return t.(types.Type)
	}
	return nil
}

func (c *compiler) makeClosure(in *ssa.MakeClosure, d slot) {
	f := c.w.Func(in.Fn.(*ssa.Function))
	rt := d.rt
	type mv struct {
		s   slot
		dst uintptr
	}
	var moves []mv
	var env []slot
	for i, b := range in.Bindings {
		s := f.free[i]
		s.off -= f.free[0].off
		env = append(env, s)
		moves = append(moves, mv{c.operand(b), s.off})
	}
	shape := shapeOf(env, 0)
	c.emit(func(fr *frame, m unsafe.Pointer) {
		p := newOf(shape)
		for i := range moves {
			move(moves[i].s, add(p, moves[i].dst), add(m, moves[i].s.off))
		}
		*(*unsafe.Pointer)(add(m, d.off)) = unsafe.Pointer(newFuncval(rt, f, p, fr.th.run))
	})
}

func (c *compiler) makeSlice(in *ssa.MakeSlice, d slot) {
	ls, cs := c.operand(in.Len), c.operand(in.Cap)
	length, _ := integerReader(ls.rt.Kind(), ls.off)
	capacity, _ := integerReader(cs.rt.Kind(), cs.off)
	rt := d.rt
	size := max(rt.Elem().Size(), 1)
	c.emit(func(_ *frame, m unsafe.Pointer) {
		l, k := int(length(m)), int(capacity(m))
		if l < 0 || l > k || uint64(k) > (1<<47)/uint64(size) {
			makeSlicePanic(l, k, size)
		}
		v := reflect.MakeSlice(rt, l, k)
		h := (*sliceHeader)(add(m, d.off))
		h.data, h.len, h.cap = v.UnsafePointer(), l, k
	})
}

type sliceHeader struct {
	data     unsafe.Pointer
	len, cap int
}

// makeSlicePanic panics as make([]T, l, k) does.
func makeSlicePanic(l, k int, size uintptr) {
	if l < 0 || uint64(l) > (1<<47)/uint64(size) {
		s := make([]struct{ _ [64]byte }, l)
		_ = s
	}
	panic(plainError("makeslice: cap out of range"))
}

type plainError string

func (e plainError) Error() string { return "runtime error: " + string(e) }
func (plainError) RuntimeError()   {}

// intOr returns how to read an optional integer operand.
func (c *compiler) intOr(v ssa.Value) func(unsafe.Pointer) int {
	if v == nil {
		return nil
	}
	s := c.operand(v)
	read, _ := integerReader(s.rt.Kind(), s.off)
	return func(m unsafe.Pointer) int { return int(read(m)) }
}

func (c *compiler) slice(in *ssa.Slice, d slot) {
	x := c.operand(in.X)
	low, high, limit := c.intOr(in.Low), c.intOr(in.High), c.intOr(in.Max)
	if x.rt.Kind() == reflect.String {
		c.emit(func(_ *frame, m unsafe.Pointer) {
			s := *(*string)(add(m, x.off))
			lo, hi := 0, len(s)
			if low != nil {
				lo = low(m)
			}
			if high != nil {
				hi = high(m)
			}
			*(*string)(add(m, d.off)) = s[lo:hi]
		})
		return
	}
	array := x.rt.Kind() == reflect.Pointer
	made := false // by make with a constant capacity
	if a, ok := in.X.(*ssa.Alloc); ok {
		made = a.Comment == "makeslice"
	}
	size := d.rt.Elem().Size()
	n := 0
	if array {
		n = x.rt.Elem().Len()
	}
	c.emit(func(_ *frame, m unsafe.Pointer) {
		var h sliceHeader
		if array {
			h = sliceHeader{*(*unsafe.Pointer)(add(m, x.off)), n, n}
			if h.data == nil {
				nilPanic()
			}
		} else {
			h = *(*sliceHeader)(add(m, x.off))
		}
		lo, hi, mx := 0, h.len, h.cap
		if low != nil {
			lo = low(m)
		}
		if high != nil {
			hi = high(m)
		}
		if limit != nil {
			mx = limit(m)
		}
		if lo < 0 || hi < lo || mx < hi || mx > h.cap {
			if made {
				makeSlicePanic(hi, mx, size)
			}
			slicePanic(h, lo, hi, mx, limit != nil, array)
		}
		out := (*sliceHeader)(add(m, d.off))
		data := h.data
		if lo < h.cap && mx > lo {
			data = add(h.data, uintptr(lo)*size)
		}
		out.data, out.len, out.cap = data, hi-lo, mx-lo
	})
}

// slicePanic panics as x[lo:hi:mx] does.
func slicePanic(h sliceHeader, lo, hi, mx int, three, array bool) {
	s := make([]struct{}, h.len, h.cap)
	switch {
	case three:
		_ = s[lo:hi:mx]
	case array:
		_ = string(make([]byte, h.len))[lo:hi]
	default:
		_ = s[lo:hi]
	}
	panic("machine: slice in range")
}

func (c *compiler) indexAddr(in *ssa.IndexAddr, d slot) {
	x, is := c.operand(in.X), c.operand(in.Index)
	index, _ := integerReader(is.rt.Kind(), is.off)
	if x.rt.Kind() == reflect.Pointer {
		n := x.rt.Elem().Len()
		size := x.rt.Elem().Elem().Size()
		c.emit(func(_ *frame, m unsafe.Pointer) {
			i := int(index(m))
			p := *(*unsafe.Pointer)(add(m, x.off))
			if p == nil {
				nilPanic()
			}
			if uint(i) >= uint(n) {
				indexPanic(i, n)
			}
			*(*unsafe.Pointer)(add(m, d.off)) = add(p, uintptr(i)*size)
		})
		return
	}
	size := x.rt.Elem().Size()
	if is.rt.Kind() == reflect.Int {
		c.emit(func(_ *frame, m unsafe.Pointer) {
			i := *(*int)(add(m, is.off))
			h := (*sliceHeader)(add(m, x.off))
			if uint(i) >= uint(h.len) {
				indexPanic(i, h.len)
			}
			*(*unsafe.Pointer)(add(m, d.off)) = add(h.data, uintptr(i)*size)
		})
		return
	}
	c.emit(func(_ *frame, m unsafe.Pointer) {
		i := int(index(m))
		h := (*sliceHeader)(add(m, x.off))
		if uint(i) >= uint(h.len) {
			indexPanic(i, h.len)
		}
		*(*unsafe.Pointer)(add(m, d.off)) = add(h.data, uintptr(i)*size)
	})
}

func (c *compiler) index(in *ssa.Index, d slot) {
	x, is := c.operand(in.X), c.operand(in.Index)
	index, _ := integerReader(is.rt.Kind(), is.off)
	if x.rt.Kind() == reflect.String {
		c.emit(stringIndex(x, d, index))
		return
	}
	n, size := x.rt.Len(), x.rt.Elem().Size()
	c.emit(func(_ *frame, m unsafe.Pointer) {
		i := int(index(m))
		if uint(i) >= uint(n) {
			indexPanic(i, n)
		}
		move(d, add(m, d.off), add(m, x.off+uintptr(i)*size))
	})
}

func stringIndex(x, d slot, index func(unsafe.Pointer) uint64) op {
	return func(_ *frame, m unsafe.Pointer) {
		s := *(*string)(add(m, x.off))
		i := int(index(m))
		if uint(i) >= uint(len(s)) {
			indexPanic(i, len(s))
		}
		*(*byte)(add(m, d.off)) = s[i]
	}
}

// An iterator is the state of a range over a map or string.
type iterator struct {
	entries *reflect.MapIter
	text    string
	at      int
}

func (c *compiler) rangeOver(in *ssa.Range, d slot) {
	x := c.operand(in.X)
	if x.rt.Kind() == reflect.String {
		c.emit(func(_ *frame, m unsafe.Pointer) {
			*(**iterator)(add(m, d.off)) = &iterator{text: *(*string)(add(m, x.off))}
		})
		return
	}
	c.emit(func(_ *frame, m unsafe.Pointer) {
		v := valueAt(x.rt, add(m, x.off))
		*(**iterator)(add(m, d.off)) = &iterator{entries: reflect.ValueOf(v.Interface()).MapRange()}
	})
}

func (c *compiler) next(in *ssa.Next) {
	it := c.operand(in.Iter).off
	parts := c.tuples[in]
	ok, k, v := parts[0].off, parts[1], parts[2]
	t := in.Type().(*types.Tuple)
	used := func(i int) bool {
		b, isBasic := t.At(i).Type().(*types.Basic)
		return !isBasic || b.Kind() != types.Invalid
	}
	useKey, useValue := used(1), used(2)
	if in.IsString {
		c.emit(func(_ *frame, m unsafe.Pointer) {
			s := *(**iterator)(add(m, it))
			more := s.at < len(s.text)
			*(*bool)(add(m, ok)) = more
			if !more {
				return
			}
			r, n := utf8.DecodeRuneInString(s.text[s.at:])
			if useKey {
				*(*int)(add(m, k.off)) = s.at
			}
			if useValue {
				*(*rune)(add(m, v.off)) = r
			}
			s.at += n
		})
		return
	}
	c.emit(func(_ *frame, m unsafe.Pointer) {
		e := (*(**iterator)(add(m, it))).entries
		more := e.Next()
		*(*bool)(add(m, ok)) = more
		if !more {
			return
		}
		if useKey {
			valueAt(k.rt, add(m, k.off)).SetIterKey(e)
		}
		if useValue {
			valueAt(v.rt, add(m, v.off)).SetIterValue(e)
		}
	})
}
