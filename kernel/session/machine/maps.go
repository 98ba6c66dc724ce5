package machine

import (
	"go/types"
	"reflect"
	"unsafe"

	"golang.org/x/tools/go/ssa"
)

//go:linkname mapaccess2 runtime.mapaccess2
//go:noescape
func mapaccess2(t, m, key unsafe.Pointer) (unsafe.Pointer, bool)

//go:linkname mapassign runtime.mapassign
func mapassign(t, m, key unsafe.Pointer) unsafe.Pointer

func (c *compiler) mapUpdate(in *ssa.MapUpdate) {
	mp, k, v := c.operand(in.Map), c.operand(in.Key), c.operand(in.Value)
	t := unsafe.Pointer(mp.typ)
	if mp.rt.Key() == reflect.TypeFor[string]() && v.cl == class8 {
		c.emit(func(_ *frame, m unsafe.Pointer) {
			(*(*map[string]uint64)(add(m, mp.off)))[*(*string)(add(m, k.off))] = *(*uint64)(add(m, v.off))
		})
		return
	}
	c.emit(func(_ *frame, m unsafe.Pointer) {
		// mapassign keeps the key: it must not be the frame's own memory.
		h := *(*unsafe.Pointer)(add(m, mp.off))
		p := mapassign(t, h, add(m, k.off))
		move(v, p, add(m, v.off))
	})
}

func (c *compiler) lookup(in *ssa.Lookup, d slot) {
	x, k := c.operand(in.X), c.operand(in.Index)
	if x.rt.Kind() == reflect.String {
		index, _ := integerReader(k.rt.Kind(), k.off)
		c.emit(stringIndex(x, d, index))
		return
	}
	t := unsafe.Pointer(x.typ)
	v := d
	var okOff uintptr
	if in.CommaOk {
		parts := c.tuples[in]
		v, okOff = parts[0], parts[1].off
	}
	commaOk := in.CommaOk
	_ = types.Typ
	c.emit(func(_ *frame, m unsafe.Pointer) {
		p, ok := mapaccess2(t, *(*unsafe.Pointer)(add(m, x.off)), add(m, k.off))
		if ok {
			move(v, add(m, v.off), p)
		} else {
			clearAt(v, add(m, v.off))
		}
		if commaOk {
			*(*bool)(add(m, okOff)) = ok
		}
	})
}
