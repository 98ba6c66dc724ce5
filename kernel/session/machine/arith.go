package machine

import (
	"fmt"
	"go/token"
	"go/types"
	"reflect"
	"unsafe"

	"golang.org/x/tools/go/ssa"
)

type integer interface {
	~int | ~int8 | ~int16 | ~int32 | ~int64 | ~uint | ~uint8 | ~uint16 | ~uint32 | ~uint64 | ~uintptr
}

type number interface {
	integer | ~float32 | ~float64 | ~complex64 | ~complex128
}

type ordered interface {
	integer | ~float32 | ~float64 | ~string
}

func arith[T number](tok token.Token, d, a, b uintptr) op {
	switch tok {
	case token.ADD:
		return func(_ *frame, m unsafe.Pointer) { *(*T)(add(m, d)) = *(*T)(add(m, a)) + *(*T)(add(m, b)) }
	case token.SUB:
		return func(_ *frame, m unsafe.Pointer) { *(*T)(add(m, d)) = *(*T)(add(m, a)) - *(*T)(add(m, b)) }
	case token.MUL:
		return func(_ *frame, m unsafe.Pointer) { *(*T)(add(m, d)) = *(*T)(add(m, a)) * *(*T)(add(m, b)) }
	case token.QUO:
		return func(_ *frame, m unsafe.Pointer) { *(*T)(add(m, d)) = *(*T)(add(m, a)) / *(*T)(add(m, b)) }
	}
	return nil
}

func bits[T integer](tok token.Token, d, a, b uintptr) op {
	switch tok {
	case token.REM:
		return func(_ *frame, m unsafe.Pointer) { *(*T)(add(m, d)) = *(*T)(add(m, a)) % *(*T)(add(m, b)) }
	case token.AND:
		return func(_ *frame, m unsafe.Pointer) { *(*T)(add(m, d)) = *(*T)(add(m, a)) & *(*T)(add(m, b)) }
	case token.OR:
		return func(_ *frame, m unsafe.Pointer) { *(*T)(add(m, d)) = *(*T)(add(m, a)) | *(*T)(add(m, b)) }
	case token.XOR:
		return func(_ *frame, m unsafe.Pointer) { *(*T)(add(m, d)) = *(*T)(add(m, a)) ^ *(*T)(add(m, b)) }
	case token.AND_NOT:
		return func(_ *frame, m unsafe.Pointer) { *(*T)(add(m, d)) = *(*T)(add(m, a)) &^ *(*T)(add(m, b)) }
	}
	return nil
}

// shift shifts by a count that count reads; signed tells whether it may be negative.
func shift[T integer](tok token.Token, d, a uintptr, count func(unsafe.Pointer) uint64, signed bool) op {
	left := tok == token.SHL
	return func(_ *frame, m unsafe.Pointer) {
		n := count(m)
		if signed && int64(n) < 0 {
			s := int64(n)
			_ = 1 << s // panics: negative shift amount
		}
		if left {
			*(*T)(add(m, d)) = *(*T)(add(m, a)) << n
		} else {
			*(*T)(add(m, d)) = *(*T)(add(m, a)) >> n
		}
	}
}

func compare[T ordered](tok token.Token, d, a, b uintptr) op {
	switch tok {
	case token.LSS:
		return func(_ *frame, m unsafe.Pointer) { *(*bool)(add(m, d)) = *(*T)(add(m, a)) < *(*T)(add(m, b)) }
	case token.LEQ:
		return func(_ *frame, m unsafe.Pointer) { *(*bool)(add(m, d)) = *(*T)(add(m, a)) <= *(*T)(add(m, b)) }
	case token.GTR:
		return func(_ *frame, m unsafe.Pointer) { *(*bool)(add(m, d)) = *(*T)(add(m, a)) > *(*T)(add(m, b)) }
	case token.GEQ:
		return func(_ *frame, m unsafe.Pointer) { *(*bool)(add(m, d)) = *(*T)(add(m, a)) >= *(*T)(add(m, b)) }
	}
	return nil
}

func equal[T comparable](tok token.Token, d, a, b uintptr) op {
	if tok == token.EQL {
		return func(_ *frame, m unsafe.Pointer) { *(*bool)(add(m, d)) = *(*T)(add(m, a)) == *(*T)(add(m, b)) }
	}
	return func(_ *frame, m unsafe.Pointer) { *(*bool)(add(m, d)) = *(*T)(add(m, a)) != *(*T)(add(m, b)) }
}

func integerOp[T integer](tok token.Token, d, a, b uintptr) op {
	if o := arith[T](tok, d, a, b); o != nil {
		return o
	}
	if o := bits[T](tok, d, a, b); o != nil {
		return o
	}
	if o := compare[T](tok, d, a, b); o != nil {
		return o
	}
	return equal[T](tok, d, a, b)
}

func floatOp[T ~float32 | ~float64](tok token.Token, d, a, b uintptr) op {
	if o := arith[T](tok, d, a, b); o != nil {
		return o
	}
	if o := compare[T](tok, d, a, b); o != nil {
		return o
	}
	return equal[T](tok, d, a, b)
}

func complexOp[T ~complex64 | ~complex128](tok token.Token, d, a, b uintptr) op {
	if o := arith[T](tok, d, a, b); o != nil {
		return o
	}
	return equal[T](tok, d, a, b)
}

// unsignedReader returns how to read an integer of kind k as 64 bits, sign extended.
func integerReader(k reflect.Kind, off uintptr) (read func(unsafe.Pointer) uint64, signed bool) {
	switch k {
	case reflect.Int:
		return func(m unsafe.Pointer) uint64 { return uint64(*(*int)(add(m, off))) }, true
	case reflect.Int8:
		return func(m unsafe.Pointer) uint64 { return uint64(*(*int8)(add(m, off))) }, true
	case reflect.Int16:
		return func(m unsafe.Pointer) uint64 { return uint64(*(*int16)(add(m, off))) }, true
	case reflect.Int32:
		return func(m unsafe.Pointer) uint64 { return uint64(*(*int32)(add(m, off))) }, true
	case reflect.Int64:
		return func(m unsafe.Pointer) uint64 { return uint64(*(*int64)(add(m, off))) }, true
	case reflect.Uint, reflect.Uint64, reflect.Uintptr:
		return func(m unsafe.Pointer) uint64 { return *(*uint64)(add(m, off)) }, false
	case reflect.Uint8:
		return func(m unsafe.Pointer) uint64 { return uint64(*(*uint8)(add(m, off))) }, false
	case reflect.Uint16:
		return func(m unsafe.Pointer) uint64 { return uint64(*(*uint16)(add(m, off))) }, false
	case reflect.Uint32:
		return func(m unsafe.Pointer) uint64 { return uint64(*(*uint32)(add(m, off))) }, false
	}
	panic(fmt.Sprintf("machine: %v is no integer", k))
}

func (c *compiler) binary(in *ssa.BinOp, d slot) op {
	x, y := c.operand(in.X), c.operand(in.Y)
	tok, a, b := in.Op, x.off, y.off
	k := x.rt.Kind()
	if tok == token.SHL || tok == token.SHR {
		count, signed := integerReader(y.rt.Kind(), b)
		switch k {
		case reflect.Int:
			return shift[int](tok, d.off, a, count, signed)
		case reflect.Int8:
			return shift[int8](tok, d.off, a, count, signed)
		case reflect.Int16:
			return shift[int16](tok, d.off, a, count, signed)
		case reflect.Int32:
			return shift[int32](tok, d.off, a, count, signed)
		case reflect.Int64:
			return shift[int64](tok, d.off, a, count, signed)
		case reflect.Uint, reflect.Uint64, reflect.Uintptr:
			return shift[uint64](tok, d.off, a, count, signed)
		case reflect.Uint8:
			return shift[uint8](tok, d.off, a, count, signed)
		case reflect.Uint16:
			return shift[uint16](tok, d.off, a, count, signed)
		case reflect.Uint32:
			return shift[uint32](tok, d.off, a, count, signed)
		}
	}
	switch k {
	case reflect.Bool:
		return equal[bool](tok, d.off, a, b)
	case reflect.Int:
		return integerOp[int](tok, d.off, a, b)
	case reflect.Int8:
		return integerOp[int8](tok, d.off, a, b)
	case reflect.Int16:
		return integerOp[int16](tok, d.off, a, b)
	case reflect.Int32:
		return integerOp[int32](tok, d.off, a, b)
	case reflect.Int64:
		return integerOp[int64](tok, d.off, a, b)
	case reflect.Uint:
		return integerOp[uint](tok, d.off, a, b)
	case reflect.Uint8:
		return integerOp[uint8](tok, d.off, a, b)
	case reflect.Uint16:
		return integerOp[uint16](tok, d.off, a, b)
	case reflect.Uint32:
		return integerOp[uint32](tok, d.off, a, b)
	case reflect.Uint64, reflect.Uintptr:
		return integerOp[uint64](tok, d.off, a, b)
	case reflect.Float32:
		return floatOp[float32](tok, d.off, a, b)
	case reflect.Float64:
		return floatOp[float64](tok, d.off, a, b)
	case reflect.Complex64:
		return complexOp[complex64](tok, d.off, a, b)
	case reflect.Complex128:
		return complexOp[complex128](tok, d.off, a, b)
	case reflect.String:
		if tok == token.ADD {
			return func(_ *frame, m unsafe.Pointer) {
				*(*string)(add(m, d.off)) = *(*string)(add(m, a)) + *(*string)(add(m, b))
			}
		}
		if o := compare[string](tok, d.off, a, b); o != nil {
			return o
		}
		return equal[string](tok, d.off, a, b)
	case reflect.Interface:
		return c.equalInterfaces(tok, d.off, x, y)
	case reflect.Pointer, reflect.Chan, reflect.UnsafePointer, reflect.Func, reflect.Map, reflect.Slice:
		// Functions, maps and slices are only compared with nil.
		return equal[unsafe.Pointer](tok, d.off, a, b)
	}
	eq := x.typ.equal
	want := tok == token.EQL
	return func(_ *frame, m unsafe.Pointer) {
		*(*bool)(add(m, d.off)) = eq(add(m, a), add(m, b)) == want
	}
}

// asAny returns how to read an interface value of any type as an any.
func asAny(s slot) func(m unsafe.Pointer) any {
	if hasItab(s.rt) {
		return func(m unsafe.Pointer) (x any) {
			p := (*eface)(add(m, s.off))
			e := (*eface)(unsafe.Pointer(&x))
			e.typ = itabType(p.typ)
			e.data = p.data
			return x
		}
	}
	return func(m unsafe.Pointer) any { return *(*any)(add(m, s.off)) }
}

// hasItab tells whether values of interface type t carry a table of methods.
func hasItab(t reflect.Type) bool { return t.Kind() == reflect.Interface && t.NumMethod() > 0 }

func (c *compiler) equalInterfaces(tok token.Token, d uintptr, x, y slot) op {
	want := tok == token.EQL
	if y.rt.Kind() != reflect.Interface { // nil
		return func(_ *frame, m unsafe.Pointer) {
			*(*bool)(add(m, d)) = (*(*unsafe.Pointer)(add(m, x.off)) == nil) == want
		}
	}
	rx, ry := asAny(x), asAny(y)
	return func(_ *frame, m unsafe.Pointer) { *(*bool)(add(m, d)) = (rx(m) == ry(m)) == want }
}

func negate[T number](d, a uintptr) op {
	return func(_ *frame, m unsafe.Pointer) { *(*T)(add(m, d)) = -*(*T)(add(m, a)) }
}

func flip[T integer](d, a uintptr) op {
	return func(_ *frame, m unsafe.Pointer) { *(*T)(add(m, d)) = ^*(*T)(add(m, a)) }
}

func (c *compiler) unary(in *ssa.UnOp, d slot) op {
	x := c.operand(in.X)
	switch in.Op {
	case token.NOT:
		return func(_ *frame, m unsafe.Pointer) { *(*bool)(add(m, d.off)) = !*(*bool)(add(m, x.off)) }
	case token.MUL:
		return loadOp(d, d.off, x.off)
	case token.ARROW:
		return c.receive(in, d, x)
	case token.SUB:
		switch x.rt.Kind() {
		case reflect.Int, reflect.Int64:
			return negate[int64](d.off, x.off)
		case reflect.Uint, reflect.Uint64, reflect.Uintptr:
			return negate[uint64](d.off, x.off)
		case reflect.Int8, reflect.Uint8:
			return negate[uint8](d.off, x.off)
		case reflect.Int16, reflect.Uint16:
			return negate[uint16](d.off, x.off)
		case reflect.Int32, reflect.Uint32:
			return negate[uint32](d.off, x.off)
		case reflect.Float32:
			return negate[float32](d.off, x.off)
		case reflect.Float64:
			return negate[float64](d.off, x.off)
		case reflect.Complex64:
			return negate[complex64](d.off, x.off)
		case reflect.Complex128:
			return negate[complex128](d.off, x.off)
		}
	case token.XOR:
		switch x.typ.size {
		case 1:
			return flip[uint8](d.off, x.off)
		case 2:
			return flip[uint16](d.off, x.off)
		case 4:
			return flip[uint32](d.off, x.off)
		case 8:
			return flip[uint64](d.off, x.off)
		}
	}
	panic(fmt.Sprintf("machine: unary %v of %v", in.Op, x.rt))
}

type realNumber interface {
	integer | ~float32 | ~float64
}

func fromInt[T realNumber](d uintptr, read func(unsafe.Pointer) uint64, signed bool) op {
	if signed {
		return func(_ *frame, m unsafe.Pointer) { *(*T)(add(m, d)) = T(int64(read(m))) }
	}
	return func(_ *frame, m unsafe.Pointer) { *(*T)(add(m, d)) = T(read(m)) }
}

func fromFloat[T realNumber](d, a uintptr, single bool) op {
	if single {
		return func(_ *frame, m unsafe.Pointer) { *(*T)(add(m, d)) = T(*(*float32)(add(m, a))) }
	}
	return func(_ *frame, m unsafe.Pointer) { *(*T)(add(m, d)) = T(*(*float64)(add(m, a))) }
}

func toNumber[T realNumber](d slot, x slot) op {
	switch x.rt.Kind() {
	case reflect.Float32:
		return fromFloat[T](d.off, x.off, true)
	case reflect.Float64:
		return fromFloat[T](d.off, x.off, false)
	}
	read, signed := integerReader(x.rt.Kind(), x.off)
	return fromInt[T](d.off, read, signed)
}

func isNumber(k reflect.Kind) bool { return k >= reflect.Int && k <= reflect.Float64 }

func (c *compiler) convert(in *ssa.Convert, d slot) op {
	x := c.operand(in.X)
	from, to := x.rt.Kind(), d.rt.Kind()
	if isNumber(from) {
		switch to {
		case reflect.Int:
			return toNumber[int](d, x)
		case reflect.Int8:
			return toNumber[int8](d, x)
		case reflect.Int16:
			return toNumber[int16](d, x)
		case reflect.Int32:
			return toNumber[int32](d, x)
		case reflect.Int64:
			return toNumber[int64](d, x)
		case reflect.Uint:
			return toNumber[uint](d, x)
		case reflect.Uint8:
			return toNumber[uint8](d, x)
		case reflect.Uint16:
			return toNumber[uint16](d, x)
		case reflect.Uint32:
			return toNumber[uint32](d, x)
		case reflect.Uint64:
			return toNumber[uint64](d, x)
		case reflect.Uintptr:
			return toNumber[uintptr](d, x)
		case reflect.Float32:
			return toNumber[float32](d, x)
		case reflect.Float64:
			return toNumber[float64](d, x)
		case reflect.String:
			read, _ := integerReader(from, x.off)
			return func(_ *frame, m unsafe.Pointer) {
				n := read(m)
				r := rune(n)
				if uint64(r) != n {
					r = '\uFFFD'
				}
				*(*string)(add(m, d.off)) = string(r)
			}
		}
	}
	if from == to && (from == reflect.String || from == reflect.UnsafePointer || from == reflect.Pointer) {
		return moveOp(d, d.off, x.off)
	}
	if _, ok := types.Unalias(in.Type().Underlying()).(*types.Pointer); ok && from == reflect.UnsafePointer {
		return moveOp(d, d.off, x.off)
	}
	if o := textConversion(d, x); o != nil {
		return o
	}
	if d.cl == x.cl && d.cl == classPointer || from == reflect.UnsafePointer && to == reflect.Uintptr || from == reflect.Uintptr && to == reflect.UnsafePointer {
		return copyOp[uintptr](d.off, x.off)
	}
	rt := d.rt
	return func(_ *frame, m unsafe.Pointer) {
		valueAt(rt, add(m, d.off)).Set(valueAt(x.rt, add(m, x.off)).Convert(rt))
	}
}

// textConversion converts between strings and slices of bytes or runes, whose
// element types may be a cell's own.
func textConversion(d, x slot) op {
	bytes, runes := reflect.TypeFor[[]byte](), reflect.TypeFor[[]rune]()
	plain := func(t reflect.Type) reflect.Type {
		if t.Kind() == reflect.Slice {
			switch t.Elem().Kind() {
			case reflect.Uint8:
				return bytes
			case reflect.Int32:
				return runes
			}
		}
		return nil
	}
	switch {
	case d.rt.Kind() == reflect.String && plain(x.rt) == bytes:
		return func(_ *frame, m unsafe.Pointer) { *(*string)(add(m, d.off)) = string(*(*[]byte)(add(m, x.off))) }
	case d.rt.Kind() == reflect.String && plain(x.rt) == runes:
		return func(_ *frame, m unsafe.Pointer) { *(*string)(add(m, d.off)) = string(*(*[]rune)(add(m, x.off))) }
	case x.rt.Kind() == reflect.String && plain(d.rt) == bytes:
		return func(_ *frame, m unsafe.Pointer) { *(*[]byte)(add(m, d.off)) = []byte(*(*string)(add(m, x.off))) }
	case x.rt.Kind() == reflect.String && plain(d.rt) == runes:
		return func(_ *frame, m unsafe.Pointer) { *(*[]rune)(add(m, d.off)) = []rune(*(*string)(add(m, x.off))) }
	}
	return nil
}
