package machine

import (
	"reflect"
	"unsafe"
)

// The five functions below belong to the Go runtime. Each is marked there as
// reached by linkname from packages in wide use, with the promise "do not
// remove or change the type signature" (go.dev/issue/67401).

//go:linkname addReflectOff reflect.addReflectOff
//go:noescape
func addReflectOff(ptr unsafe.Pointer) int32

//go:linkname typedmemmove runtime.typedmemmove
//go:noescape
func typedmemmove(typ, dst, src unsafe.Pointer)

//go:linkname mallocgc runtime.mallocgc
func mallocgc(size uintptr, typ unsafe.Pointer, needzero bool) unsafe.Pointer

//go:linkname profLabel runtime/pprof.runtime_getProfLabel
func profLabel() unsafe.Pointer

//go:linkname setProfLabel runtime/pprof.runtime_setProfLabel
func setProfLabel(labels unsafe.Pointer)

// getg identifies the running goroutine (stubs_*.s).
func getg() unsafe.Pointer

// The head of every type descriptor, as in internal/abi.Type of Go 1.26.
type abiType struct {
	size      uintptr
	ptrBytes  uintptr
	hash      uint32
	flag      uint8
	align     uint8
	fieldAlgn uint8
	kind      uint8
	equal     func(unsafe.Pointer, unsafe.Pointer) bool
	gcdata    *byte
	str       int32
	ptrToThis int32
}

const (
	flagUncommon    = 1 << 0
	flagExtraStar   = 1 << 1
	flagNamed       = 1 << 2
	flagRegular     = 1 << 3
	flagGCOnDemand  = 1 << 4
	flagDirectIface = 1 << 5
)

type abiUncommon struct {
	pkgPath int32
	mcount  uint16
	xcount  uint16
	moff    uint32
	_       uint32
}

type abiMethod struct {
	name, mtyp, ifn, tfn int32
}

type abiStructField struct {
	name   *byte
	typ    *abiType
	offset uintptr
}

type (
	abiPtr struct {
		abiType
		elem *abiType
	}
	abiSlice struct {
		abiType
		elem *abiType
	}
	abiArray struct {
		abiType
		elem, slice *abiType
		len         uintptr
	}
	abiChan struct {
		abiType
		elem *abiType
		dir  int
	}
	abiFunc struct {
		abiType
		in, out uint16
	}
	abiInterface struct {
		abiType
		pkgPath *byte
		methods []struct{ name, typ int32 }
	}
	abiMap struct {
		abiType
		key, elem, group             *abiType
		hasher                       func(unsafe.Pointer, uintptr) uintptr
		groupSize, slotSize, elemOff uintptr
		flags                        uint32
	}
	abiStruct struct {
		abiType
		pkgPath *byte
		fields  []abiStructField
	}
)

// An eface is an interface value of a type without methods, and (with an itab
// in place of the type) of one with methods.
type eface struct {
	typ, data unsafe.Pointer
}

// descriptor returns the runtime's descriptor of t.
func descriptor(t reflect.Type) *abiType {
	return (*abiType)((*eface)(unsafe.Pointer(&t)).data)
}

// typeOf returns the reflect.Type of a descriptor.
func typeOf(d unsafe.Pointer) reflect.Type {
	var x any
	(*eface)(unsafe.Pointer(&x)).typ = d
	return reflect.TypeOf(x)
}

// itabType returns the dynamic type in an itab.
func itabType(itab unsafe.Pointer) unsafe.Pointer {
	if itab == nil {
		return nil
	}
	return *(*unsafe.Pointer)(unsafe.Add(itab, 8))
}

func add(p unsafe.Pointer, off uintptr) unsafe.Pointer { return unsafe.Add(p, off) }

// newOf allocates a zero value of t.
func newOf(t *abiType) unsafe.Pointer {
	if t.size == 0 {
		return unsafe.Pointer(&zeroBase)
	}
	return mallocgc(t.size, unsafe.Pointer(t), true)
}

var zeroBase [1]uintptr

// valueAt returns the variable of type t at p.
func valueAt(t reflect.Type, p unsafe.Pointer) reflect.Value {
	return reflect.NewAt(t, p).Elem()
}

// pointerOf returns the pointer word of a value that is one (a pointer, map,
// channel or function).
func pointerOf(v reflect.Value) unsafe.Pointer {
	x := v.Interface()
	return (*eface)(unsafe.Pointer(&x)).data
}
