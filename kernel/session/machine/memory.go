package machine

import (
	"go/types"
	"reflect"
	"sync"
	"unsafe"
)

// A class is how values of a type are copied.
type class uint8

const (
	classNone class = iota // no bytes
	class1                 // one byte without pointers, and so on
	class2
	class4
	class8
	class16
	classPointer
	classString
	classSlice
	classInterface
	classBig // by the type's descriptor
)

func classOf(t reflect.Type) class {
	switch t.Kind() {
	case reflect.String:
		return classString
	case reflect.Slice:
		return classSlice
	case reflect.Interface:
		return classInterface
	case reflect.Pointer, reflect.Map, reflect.Chan, reflect.Func, reflect.UnsafePointer:
		return classPointer
	}
	if t.Size() == 0 {
		return classNone
	}
	if descriptor(t).ptrBytes == 0 {
		a := t.Align()
		switch {
		case t.Size() == 1:
			return class1
		case t.Size() == 2 && a >= 2:
			return class2
		case t.Size() == 4 && a >= 4:
			return class4
		case t.Size() == 8 && a >= 8:
			return class8
		case t.Size() == 16 && a >= 8:
			return class16
		}
	}
	return classBig
}

// move copies a value with the layout of s.
func move(s slot, dst, src unsafe.Pointer) {
	switch s.cl {
	case classNone:
	case class1:
		*(*uint8)(dst) = *(*uint8)(src)
	case class2:
		*(*uint16)(dst) = *(*uint16)(src)
	case class4:
		*(*uint32)(dst) = *(*uint32)(src)
	case class8:
		*(*uint64)(dst) = *(*uint64)(src)
	case class16:
		*(*[2]uint64)(dst) = *(*[2]uint64)(src)
	case classPointer:
		*(*unsafe.Pointer)(dst) = *(*unsafe.Pointer)(src)
	case classString:
		*(*string)(dst) = *(*string)(src)
	case classSlice:
		*(*[]byte)(dst) = *(*[]byte)(src)
	case classInterface:
		*(*eface)(dst) = *(*eface)(src)
	default:
		if src == nil || dst == nil {
			nilPanic()
		}
		typedmemmove(unsafe.Pointer(s.typ), dst, src)
	}
}

func clearAt(s slot, dst unsafe.Pointer) {
	switch s.cl {
	case classNone:
	case class1:
		*(*uint8)(dst) = 0
	case class2:
		*(*uint16)(dst) = 0
	case class4:
		*(*uint32)(dst) = 0
	case class8:
		*(*uint64)(dst) = 0
	case classPointer:
		*(*unsafe.Pointer)(dst) = nil
	default:
		valueAt(s.rt, dst).SetZero()
	}
}

// moveOp copies within a frame.
func moveOp(s slot, d, a uintptr) op {
	switch s.cl {
	case classNone:
		return func(*frame, unsafe.Pointer) {}
	case class1:
		return copyOp[uint8](d, a)
	case class2:
		return copyOp[uint16](d, a)
	case class4:
		return copyOp[uint32](d, a)
	case class8:
		return copyOp[uint64](d, a)
	case class16:
		return copyOp[[2]uint64](d, a)
	case classPointer:
		return copyOp[unsafe.Pointer](d, a)
	case classString:
		return copyOp[string](d, a)
	case classSlice:
		return copyOp[[]byte](d, a)
	case classInterface:
		return copyOp[eface](d, a)
	}
	return func(_ *frame, m unsafe.Pointer) { typedmemmove(unsafe.Pointer(s.typ), add(m, d), add(m, a)) }
}

func copyOp[T any](d, a uintptr) op {
	return func(_ *frame, m unsafe.Pointer) { *(*T)(add(m, d)) = *(*T)(add(m, a)) }
}

// loadOp copies from the address at a to d.
func loadOp(s slot, d, a uintptr) op {
	switch s.cl {
	case classNone:
		return func(_ *frame, m unsafe.Pointer) {
			if *(*unsafe.Pointer)(add(m, a)) == nil {
				nilPanic()
			}
		}
	case class1:
		return fetchOp[uint8](d, a)
	case class2:
		return fetchOp[uint16](d, a)
	case class4:
		return fetchOp[uint32](d, a)
	case class8:
		return fetchOp[uint64](d, a)
	case class16:
		return fetchOp[[2]uint64](d, a)
	case classPointer:
		return fetchOp[unsafe.Pointer](d, a)
	case classString:
		return fetchOp[string](d, a)
	case classSlice:
		return fetchOp[[]byte](d, a)
	case classInterface:
		return fetchOp[eface](d, a)
	}
	return func(_ *frame, m unsafe.Pointer) {
		p := *(*unsafe.Pointer)(add(m, a))
		if p == nil {
			nilPanic()
		}
		typedmemmove(unsafe.Pointer(s.typ), add(m, d), p)
	}
}

func fetchOp[T any](d, a uintptr) op {
	return func(_ *frame, m unsafe.Pointer) { *(*T)(add(m, d)) = **(**T)(add(m, a)) }
}

// storeOp copies from v to the address at a.
func storeOp(s slot, a, v uintptr) op {
	switch s.cl {
	case classNone:
		return func(_ *frame, m unsafe.Pointer) {
			if *(*unsafe.Pointer)(add(m, a)) == nil {
				nilPanic()
			}
		}
	case class1:
		return putOp[uint8](a, v)
	case class2:
		return putOp[uint16](a, v)
	case class4:
		return putOp[uint32](a, v)
	case class8:
		return putOp[uint64](a, v)
	case class16:
		return putOp[[2]uint64](a, v)
	case classPointer:
		return putOp[unsafe.Pointer](a, v)
	case classString:
		return putOp[string](a, v)
	case classSlice:
		return putOp[[]byte](a, v)
	case classInterface:
		return putOp[eface](a, v)
	}
	return func(_ *frame, m unsafe.Pointer) {
		p := *(*unsafe.Pointer)(add(m, a))
		if p == nil {
			nilPanic()
		}
		typedmemmove(unsafe.Pointer(s.typ), p, add(m, v))
	}
}

func putOp[T any](a, v uintptr) op {
	return func(_ *frame, m unsafe.Pointer) { **(**T)(add(m, a)) = *(*T)(add(m, v)) }
}

// nilPanic panics as the use of a nil pointer does.
//
//go:noinline
func nilPanic() {
	var p *int
	*p = 0
}

// indexPanic panics as x[i] does where x has n elements.
func indexPanic(i, n int) {
	_ = make([]struct{}, n)[i]
	panic("machine: index in range")
}

// shapeOf returns a descriptor of memory that holds values at the given slots,
// for the garbage collector. Descriptors are shared by layout and never freed.
func shapeOf(slots []slot, size uintptr) *abiType {
	for _, s := range slots {
		size = max(size, s.off+s.typ.size)
	}
	size = align(max(size, 8), 8)
	words := size / 8
	mask := make([]byte, (words+7)/8+8)
	last := uintptr(0)
	for _, s := range slots {
		pointerWords(s.rt, s.off, func(off uintptr) {
			w := off / 8
			mask[w/8] |= 1 << (w % 8)
			last = max(last, w+1)
		})
	}
	key := shapeKey{size, string(mask)}
	shapes.Lock()
	defer shapes.Unlock()
	if d := shapes.m[key]; d != nil {
		return d
	}
	if shapes.m == nil {
		shapes.m = map[shapeKey]*abiType{}
	}
	proto := descriptor(reflect.TypeFor[struct{ _, _ uintptr }]())
	d := &abiType{size: size, ptrBytes: last * 8, hash: uint32(size), align: 8, fieldAlgn: 8, kind: proto.kind, gcdata: &mask[0], str: nameOff("frame", false)}
	shapes.m[key] = d
	return d
}

type shapeKey struct {
	size uintptr
	mask string
}

var shapes struct {
	sync.Mutex
	m map[shapeKey]*abiType
}

// pointerWords calls emit with the offset of every pointer in a value of type t.
func pointerWords(t reflect.Type, off uintptr, emit func(uintptr)) {
	if descriptor(t).ptrBytes == 0 {
		return
	}
	switch t.Kind() {
	case reflect.Pointer, reflect.Map, reflect.Chan, reflect.Func, reflect.UnsafePointer, reflect.String, reflect.Slice:
		emit(off)
	case reflect.Interface:
		emit(off)
		emit(off + 8)
	case reflect.Array:
		e := t.Elem()
		for i := range t.Len() {
			pointerWords(e, off+uintptr(i)*e.Size(), emit)
		}
	case reflect.Struct:
		for i := range t.NumField() {
			f := t.Field(i)
			pointerWords(f.Type, off+f.Offset, emit)
		}
	}
}

// tupleSlots lays out the values of a tuple one after another.
func (w *World) tupleSlots(t *types.Tuple) []slot {
	list := make([]slot, 0, t.Len())
	var off uintptr
	for v := range t.Variables() {
		var s slot
		s, off = w.slotAt(off, v.Type())
		list = append(list, s)
	}
	return list
}
