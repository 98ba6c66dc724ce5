package machine

import (
	"fmt"
	"go/types"
	"reflect"
	"sync/atomic"
	"unsafe"

	"golang.org/x/tools/go/ssa"
)

// An argument is copied from a frame to the frame of the function called.
type argument struct {
	slot
	dst uintptr
}

// call returns the step that makes a call and puts its results at d. (A go or
// defer statement runs the step later, on a copy of the frame.)
func (c *compiler) call(cc *ssa.CallCommon, d slot, at ssa.Value) op {
	dest := d.off
	if at == nil {
		// Nobody wants the results: room for them all the same.
		res := cc.Signature().Results()
		if res.Len() > 0 {
			dest = c.tuple(res)[0].off
		}
	} else if parts := c.tuples[at]; len(parts) > 0 {
		dest = parts[0].off
	}
	if cc.IsInvoke() {
		return c.invoke(cc, dest)
	}
	if b, ok := cc.Value.(*ssa.Builtin); ok {
		return c.builtin(b, cc, d, at)
	}
	var args []slot
	for _, a := range cc.Args {
		args = append(args, c.operand(a))
	}
	if fn, ok := cc.Value.(*ssa.Function); ok {
		f := c.w.Func(fn)
		if fn == c.fn {
			f = c.f
		}
		if o := c.w.intrinsic(fn, args, dest); o != nil {
			return o
		}
		if f.native.IsValid() {
			return c.native(f.native, cc.Signature(), args, dest)
		}
		return interpretedCall(f, args, dest)
	}
	return c.dynamicCall(cc, args, dest)
}

func arguments(args []slot, params []slot) []argument {
	list := make([]argument, len(args))
	for i, a := range args {
		list[i] = argument{a, params[i].off}
	}
	return list
}

func interpretedCall(f *Func, args []slot, dest uintptr) op {
	moves := arguments(args, f.params)
	return func(fr *frame, m unsafe.Pointer) {
		f := f
		if f.newer.Load() != nil {
			f = f.latest()
		}
		cd := f.code.Load()
		if cd == nil {
			if f.native.IsValid() {
				panic(MissingError{f.name})
			}
			cd = f.compiled()
		}
		nf := cd.get(fr.th, fr)
		for i := range moves {
			a := &moves[i]
			if a.cl == class8 {
				*(*uint64)(add(nf.mem, a.dst)) = *(*uint64)(add(m, a.off))
			} else {
				move(a.slot, add(nf.mem, a.dst), add(m, a.off))
			}
		}
		nf.ret = add(m, dest)
		nf.call()
	}
}

// dynamicCall calls a function value.
func (c *compiler) dynamicCall(cc *ssa.CallCommon, args []slot, dest uintptr) op {
	fs := c.operand(cc.Value)
	native := c.nativeArgs(cc.Signature(), args, dest)
	var params []slot
	var off uintptr
	for v := range cc.Signature().Params().Variables() {
		var s slot
		s, off = c.w.slotAt(off, v.Type())
		params = append(params, s)
	}
	moves := arguments(args, params)
	return func(fr *frame, m unsafe.Pointer) {
		p := *(*unsafe.Pointer)(add(m, fs.off))
		if p == nil {
			nilPanic()
		}
		fv := interpreted(p)
		if fv == nil {
			native(fr, m, valueAt(fs.rt, add(m, fs.off)))
			return
		}
		nf := fv.code.compiled().get(fr.th, fr)
		for i := range moves {
			move(moves[i].slot, add(nf.mem, moves[i].dst), add(m, moves[i].off))
		}
		fv.code.captured(nf, fv.env)
		nf.ret = add(m, dest)
		nf.call()
	}
}

// invoke calls a method of an interface value.
func (c *compiler) invoke(cc *ssa.CallCommon, dest uintptr) op {
	x := c.operand(cc.Value)
	var args []slot
	for _, a := range cc.Args {
		args = append(args, c.operand(a))
	}
	sig := cc.Signature()
	native := c.nativeArgs(sig, args, dest)
	name := cc.Method.Name()
	pkg := cc.Method.Pkg()
	read := asAny(x)
	w := c.w
	type target struct {
		typ    unsafe.Pointer
		f      *Func
		recv   slot
		moves  []argument
		method int // of a compiled type
	}
	var cache atomic.Pointer[target]
	find := func(typ unsafe.Pointer) *target {
		t := &target{typ: typ}
		if src := w.dynamic(typ); src != nil {
			if fy := w.sourceType(typ); fy != nil && fy.byName[name] != nil {
				t.f = fy.byName[name].resolve()
			} else if sel := w.methodSet(src).Lookup(pkg, name); sel != nil {
				t.f = w.methodFunc(sel).resolve()
			}
			if t.f != nil && !t.f.native.IsValid() {
				t.recv = t.f.params[0]
				t.moves = arguments(args, t.f.params[1:])
				return t
			}
		}
		m, ok := typeOf(typ).MethodByName(name)
		if !ok {
			panic(MissingError{typeOf(typ).String() + "." + name})
		}
		t.f, t.method = nil, m.Index
		return t
	}
	return func(fr *frame, m unsafe.Pointer) {
		v := read(m)
		e := (*eface)(unsafe.Pointer(&v))
		if e.typ == nil {
			nilPanic()
		}
		t := cache.Load()
		if t == nil || t.typ != e.typ {
			t = find(e.typ)
			cache.Store(t)
		}
		if t.f == nil {
			native(fr, m, reflect.ValueOf(v).Method(t.method))
			return
		}
		nf := t.f.latest().compiled().get(fr.th, fr)
		dst := add(nf.mem, t.recv.off)
		if t.recv.typ.flag&flagDirectIface != 0 {
			if t.recv.cl == classPointer {
				*(*unsafe.Pointer)(dst) = e.data
			} else {
				typedmemmove(unsafe.Pointer(t.recv.typ), dst, unsafe.Pointer(&e.data))
			}
		} else {
			move(t.recv, dst, e.data)
		}
		for i := range t.moves {
			move(t.moves[i].slot, add(nf.mem, t.moves[i].dst), add(m, t.moves[i].off))
		}
		nf.ret = add(m, dest)
		nf.call()
	}
}

// nativeArgs returns how to call a compiled function of the given signature.
func (c *compiler) nativeArgs(sig *types.Signature, args []slot, dest uintptr) func(*frame, unsafe.Pointer, reflect.Value) {
	results := c.w.tupleSlots(sig.Results())
	variadic := sig.Variadic()
	return func(fr *frame, m unsafe.Pointer, fn reflect.Value) {
		in := make([]reflect.Value, len(args))
		ft := fn.Type()
		for i, a := range args {
			v := valueAt(a.rt, add(m, a.off))
			if want := ft.In(i); want != a.rt {
				v = reshape(v, want)
			}
			in[i] = v
		}
		var out []reflect.Value
		if variadic {
			out = fn.CallSlice(in)
		} else {
			out = fn.Call(in)
		}
		fr.th.top = fr
		if fr.th.run.stop.Load() {
			panic(interrupted{})
		}
		for i, s := range results {
			setSlot(s, add(m, dest+s.off), out[i])
		}
	}
}

// reshape gives v the type want, which has the same underlying type or is an
// interface.
func reshape(v reflect.Value, want reflect.Type) reflect.Value {
	if want.Kind() == reflect.Interface {
		if v.Kind() == reflect.Interface {
			v = v.Elem()
		}
		n := reflect.New(want).Elem()
		if v.IsValid() {
			n.Set(v)
		}
		return n
	}
	if v.Type().ConvertibleTo(want) {
		return v.Convert(want)
	}
	return reflect.NewAt(want, v.Addr().UnsafePointer()).Elem()
}

// native returns the step that calls a compiled function.
func (c *compiler) native(fn reflect.Value, sig *types.Signature, args []slot, dest uintptr) op {
	if o := fastNative(fn, args, dest); o != nil {
		return o
	}
	call := c.nativeArgs(sig, args, dest)
	return func(fr *frame, m unsafe.Pointer) { call(fr, m, fn) }
}

// fastNative covers the commonest signatures without reflection.
func fastNative(fn reflect.Value, args []slot, dest uintptr) op {
	if fn.Type().PkgPath() != "" {
		return nil
	}
	switch f := fn.Interface().(type) {
	case func(float64) float64:
		a := args[0].off
		return func(_ *frame, m unsafe.Pointer) { *(*float64)(add(m, dest)) = f(*(*float64)(add(m, a))) }
	case func(float64, float64) float64:
		a, b := args[0].off, args[1].off
		return func(_ *frame, m unsafe.Pointer) {
			*(*float64)(add(m, dest)) = f(*(*float64)(add(m, a)), *(*float64)(add(m, b)))
		}
	case func(string) string:
		a := args[0].off
		return func(_ *frame, m unsafe.Pointer) { *(*string)(add(m, dest)) = f(*(*string)(add(m, a))) }
	case func(int) string:
		a := args[0].off
		return func(_ *frame, m unsafe.Pointer) { *(*string)(add(m, dest)) = f(*(*int)(add(m, a))) }
	case func(string, string) bool:
		a, b := args[0].off, args[1].off
		return func(_ *frame, m unsafe.Pointer) {
			*(*bool)(add(m, dest)) = f(*(*string)(add(m, a)), *(*string)(add(m, b)))
		}
	case func(rune) bool:
		a := args[0].off
		return func(_ *frame, m unsafe.Pointer) { *(*bool)(add(m, dest)) = f(*(*rune)(add(m, a))) }
	case func(float64) bool:
		a := args[0].off
		return func(_ *frame, m unsafe.Pointer) { *(*bool)(add(m, dest)) = f(*(*float64)(add(m, a))) }
	case func() float64:
		return func(_ *frame, m unsafe.Pointer) { *(*float64)(add(m, dest)) = f() }
	case func(int) int:
		a := args[0].off
		return func(_ *frame, m unsafe.Pointer) { *(*int)(add(m, dest)) = f(*(*int)(add(m, a))) }
	}
	return nil
}

func (c *compiler) builtin(b *ssa.Builtin, cc *ssa.CallCommon, d slot, at ssa.Value) op {
	var args []slot
	for _, a := range cc.Args {
		args = append(args, c.operand(a))
	}
	wanted := at != nil
	switch b.Name() {
	case "append":
		if !wanted {
			d = c.space(cc.Args[0].Type())
		}
		return c.appendOp(args, d)
	case "copy":
		dst, src := args[0], args[1]
		return func(_ *frame, m unsafe.Pointer) {
			n := reflect.Copy(valueAt(dst.rt, add(m, dst.off)), valueAt(src.rt, add(m, src.off)))
			if wanted {
				*(*int)(add(m, d.off)) = n
			}
		}
	case "len", "cap":
		x := args[0]
		switch x.rt.Kind() {
		case reflect.String:
			return func(_ *frame, m unsafe.Pointer) { *(*int)(add(m, d.off)) = len(*(*string)(add(m, x.off))) }
		case reflect.Slice:
			if b.Name() == "cap" {
				return func(_ *frame, m unsafe.Pointer) { *(*int)(add(m, d.off)) = (*sliceHeader)(add(m, x.off)).cap }
			}
			return func(_ *frame, m unsafe.Pointer) { *(*int)(add(m, d.off)) = (*sliceHeader)(add(m, x.off)).len }
		case reflect.Map:
			return func(_ *frame, m unsafe.Pointer) { *(*int)(add(m, d.off)) = len(*(*map[int]int)(add(m, x.off))) }
		case reflect.Chan:
			if b.Name() == "cap" {
				return func(_ *frame, m unsafe.Pointer) { *(*int)(add(m, d.off)) = cap(*(*chan int)(add(m, x.off))) }
			}
			return func(_ *frame, m unsafe.Pointer) { *(*int)(add(m, d.off)) = len(*(*chan int)(add(m, x.off))) }
		case reflect.Pointer:
			n := x.rt.Elem().Len()
			return func(_ *frame, m unsafe.Pointer) { *(*int)(add(m, d.off)) = n }
		case reflect.Array:
			n := x.rt.Len()
			return func(_ *frame, m unsafe.Pointer) { *(*int)(add(m, d.off)) = n }
		}
	case "delete":
		mp, k := args[0], args[1]
		return func(_ *frame, m unsafe.Pointer) {
			v := valueAt(mp.rt, add(m, mp.off))
			if v.IsNil() {
				// The key must still be one that can be compared.
				reflect.MakeMap(mp.rt).MapIndex(valueAt(k.rt, add(m, k.off)))
				return
			}
			v.SetMapIndex(valueAt(k.rt, add(m, k.off)), reflect.Value{})
		}
	case "clear":
		x := args[0]
		return func(_ *frame, m unsafe.Pointer) { valueAt(x.rt, add(m, x.off)).Clear() }
	case "close":
		x := args[0]
		return func(_ *frame, m unsafe.Pointer) { close(*(*chan int)(add(m, x.off))) }
	case "panic":
		x := args[0]
		return func(_ *frame, m unsafe.Pointer) { panic(*(*any)(add(m, x.off))) }
	case "print", "println":
		return c.printOp(b.Name() == "println", args)
	case "recover":
		return func(fr *frame, m unsafe.Pointer) {
			v := fr.recoverValue()
			if wanted {
				*(*any)(add(m, d.off)) = v
			}
		}
	case "min", "max":
		return c.extreme(b.Name() == "max", args, d)
	case "real", "imag":
		x := args[0]
		im := b.Name() == "imag"
		return func(_ *frame, m unsafe.Pointer) {
			z := valueAt(x.rt, add(m, x.off)).Complex()
			v := realPart(z)
			if im {
				v = imagPart(z)
			}
			valueAt(d.rt, add(m, d.off)).SetFloat(v)
		}
	case "complex":
		re, im := args[0], args[1]
		return func(_ *frame, m unsafe.Pointer) {
			valueAt(d.rt, add(m, d.off)).SetComplex(complex(valueAt(re.rt, add(m, re.off)).Float(), valueAt(im.rt, add(m, im.off)).Float()))
		}
	case "ssa:wrapnilchk":
		x := args[0]
		return func(_ *frame, m unsafe.Pointer) {
			p := *(*unsafe.Pointer)(add(m, x.off))
			if p == nil {
				panic(plainError(fmt.Sprintf("value method %s.%s called using nil %s pointer",
					*(*string)(add(m, args[1].off)), *(*string)(add(m, args[2].off)), *(*string)(add(m, args[1].off)))))
			}
			*(*unsafe.Pointer)(add(m, d.off)) = p
		}
	case "ssa:deferstack":
		return func(fr *frame, m unsafe.Pointer) { *(**frame)(add(m, d.off)) = fr }
	}
	panic(MissingError{"builtin " + b.Name()})
}

func realPart(z complex128) float64 { return real(z) }
func imagPart(z complex128) float64 { return imag(z) }

func (c *compiler) appendOp(args []slot, d slot) op {
	s := args[0]
	rt := s.rt
	size := rt.Elem().Size()
	elem := slot{rt: rt.Elem(), typ: descriptor(rt.Elem()), cl: classOf(rt.Elem())}
	var t slot
	if len(args) > 1 {
		t = args[1]
	} else {
		return moveOp(d, d.off, s.off)
	}
	isString := t.rt.Kind() == reflect.String
	return func(_ *frame, m unsafe.Pointer) {
		h := *(*sliceHeader)(add(m, s.off))
		var src sliceHeader
		if isString {
			str := *(*string)(add(m, t.off))
			src = sliceHeader{unsafe.Pointer(unsafe.StringData(str)), len(str), len(str)}
		} else {
			src = *(*sliceHeader)(add(m, t.off))
		}
		if h.len+src.len > h.cap {
			tmp := h
			v := reflect.NewAt(rt, unsafe.Pointer(&tmp)).Elem()
			v.Grow(src.len)
			h = tmp
		}
		if src.len > 0 && size > 0 {
			dst := add(h.data, uintptr(h.len)*size)
			if src.len == 1 {
				move(elem, dst, src.data)
			} else {
				copyElements(elem, dst, src.data, src.len)
			}
		}
		h.len += src.len
		*(*sliceHeader)(add(m, d.off)) = h
	}
}

// copyElements copies n values; the ranges may overlap.
func copyElements(s slot, dst, src unsafe.Pointer, n int) {
	size := s.typ.size
	if s.typ.ptrBytes == 0 {
		copy(unsafe.Slice((*byte)(dst), uintptr(n)*size), unsafe.Slice((*byte)(src), uintptr(n)*size))
		return
	}
	a, b := sliceHeader{dst, n, n}, sliceHeader{src, n, n}
	st := reflect.SliceOf(s.rt)
	reflect.Copy(reflect.NewAt(st, unsafe.Pointer(&a)).Elem(), reflect.NewAt(st, unsafe.Pointer(&b)).Elem())
}

func (c *compiler) extreme(largest bool, args []slot, d slot) op {
	less := func(a, b reflect.Value) bool { return false }
	switch {
	case d.rt.Kind() == reflect.String:
		less = func(a, b reflect.Value) bool { return a.String() < b.String() }
	case d.rt.Kind() == reflect.Float32, d.rt.Kind() == reflect.Float64:
		return func(_ *frame, m unsafe.Pointer) {
			x := valueAt(args[0].rt, add(m, args[0].off)).Float()
			for _, a := range args[1:] {
				y := valueAt(a.rt, add(m, a.off)).Float()
				if largest {
					x = max(x, y)
				} else {
					x = min(x, y)
				}
			}
			valueAt(d.rt, add(m, d.off)).SetFloat(x)
		}
	case d.rt.Kind() >= reflect.Uint && d.rt.Kind() <= reflect.Uintptr:
		less = func(a, b reflect.Value) bool { return a.Uint() < b.Uint() }
	default:
		less = func(a, b reflect.Value) bool { return a.Int() < b.Int() }
	}
	return func(_ *frame, m unsafe.Pointer) {
		x := valueAt(args[0].rt, add(m, args[0].off))
		for _, a := range args[1:] {
			y := valueAt(a.rt, add(m, a.off))
			if largest && less(x, y) || !largest && less(y, x) {
				x = y
			}
		}
		move(d, add(m, d.off), x.Addr().UnsafePointer())
	}
}

// Print is where the builtins print and println write.
var Print = func(run *Run, text string) {}

func (c *compiler) printOp(line bool, args []slot) op {
	return func(fr *frame, m unsafe.Pointer) {
		text := ""
		for i, a := range args {
			if line && i > 0 {
				text += " "
			}
			v := valueAt(a.rt, add(m, a.off))
			switch v.Kind() {
			case reflect.Float32, reflect.Float64:
				text += runtimeFloat(v.Float())
			case reflect.Complex64, reflect.Complex128:
				text += runtimeComplex(v.Complex())
			case reflect.Interface:
				e := (*eface)(add(m, a.off))
				text += fmt.Sprintf("(%#x,%#x)", uintptr(e.typ), uintptr(e.data))
			case reflect.Pointer, reflect.Map, reflect.Chan, reflect.Func, reflect.UnsafePointer:
				text += fmt.Sprintf("%#x", uintptr(*(*unsafe.Pointer)(add(m, a.off))))
			case reflect.Slice:
				h := (*sliceHeader)(add(m, a.off))
				text += fmt.Sprintf("[%d/%d]%#x", h.len, h.cap, uintptr(h.data))
			default:
				text += fmt.Sprint(v)
			}
		}
		if line {
			text += "\n"
		}
		Print(fr.th.run, text)
	}
}
