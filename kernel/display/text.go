package display

import (
	"fmt"
	"reflect"
	"sort"
	"strconv"
	"strings"
	"unicode/utf8"
)

// Limits of what is written of one value: enough to look at, not to scroll.
const (
	maxText     = 20_000 // bytes
	maxElements = 1_000  // of one slice, array or map
	maxDepth    = 12     // pointers and containers inside one another
)

// cut shortens a text and says what it left out.
func cut(s string) string {
	if len(s) <= maxText {
		return s
	}
	at := maxText
	for at > 0 && !utf8.RuneStart(s[at]) {
		at--
	}
	return fmt.Sprintf("%s … (%d of %d bytes left out)", s[:at], len(s)-at, len(s))
}

func isNilPointer(v any) bool {
	rv := reflect.ValueOf(v)
	return rv.Kind() == reflect.Pointer && rv.IsNil()
}

// Text writes a value as Go would write it: []int{1, 4, 9}, "text", 6,
// P{X: 3, Y: 4}. Types of cells have the names that the student gave them.
func Text(v any) string {
	if v == nil {
		return "nil"
	}
	w := &writer{seen: map[uintptr]bool{}}
	w.value(reflect.ValueOf(v), false, 0)
	return w.b.String()
}

type writer struct {
	b    strings.Builder
	seen map[uintptr]bool
}

// TypeName writes a type as a cell would: without main.
func TypeName(t reflect.Type) string {
	s := strings.ReplaceAll(t.String(), "main.", "")
	s = strings.ReplaceAll(s, "interface {}", "any")
	return strings.ReplaceAll(s, "[]uint8", "[]byte")
}

// value writes v; elided tells that the type is clear from around it.
func (w *writer) value(v reflect.Value, elided bool, depth int) {
	if w.b.Len() > maxText*2 || depth > maxDepth {
		w.b.WriteString("…")
		return
	}
	t := v.Type()
	switch v.Kind() {
	case reflect.Bool:
		w.b.WriteString(strconv.FormatBool(v.Bool()))
	case reflect.Int, reflect.Int8, reflect.Int16, reflect.Int32, reflect.Int64:
		w.b.WriteString(strconv.FormatInt(v.Int(), 10))
	case reflect.Uint, reflect.Uint8, reflect.Uint16, reflect.Uint32, reflect.Uint64, reflect.Uintptr:
		w.b.WriteString(strconv.FormatUint(v.Uint(), 10))
	case reflect.Float32:
		w.b.WriteString(strconv.FormatFloat(v.Float(), 'g', -1, 32))
	case reflect.Float64:
		w.b.WriteString(strconv.FormatFloat(v.Float(), 'g', -1, 64))
	case reflect.Complex64, reflect.Complex128:
		w.b.WriteString(fmt.Sprint(v.Complex()))
	case reflect.String:
		w.b.WriteString(strconv.Quote(v.String()))
	case reflect.Pointer:
		w.pointer(v, elided, depth)
	case reflect.Interface:
		if v.IsNil() {
			w.b.WriteString("nil")
			return
		}
		w.value(v.Elem(), false, depth)
	case reflect.Slice, reflect.Array:
		if v.Kind() == reflect.Slice && v.IsNil() {
			w.null(t, elided)
			return
		}
		if !elided {
			w.b.WriteString(TypeName(t))
		}
		w.b.WriteByte('{')
		e := t.Elem().Kind() != reflect.Interface
		for i := range v.Len() {
			if i > 0 {
				w.b.WriteString(", ")
			}
			if i == maxElements {
				fmt.Fprintf(&w.b, "… (%d more of %d)", v.Len()-i, v.Len())
				break
			}
			w.value(v.Index(i), e, depth+1)
		}
		w.b.WriteByte('}')
	case reflect.Map:
		w.mapping(v, elided, depth)
	case reflect.Struct:
		if !elided {
			w.b.WriteString(TypeName(t))
		}
		w.b.WriteByte('{')
		for i := range v.NumField() {
			if i > 0 {
				w.b.WriteString(", ")
			}
			w.b.WriteString(t.Field(i).Name)
			w.b.WriteString(": ")
			w.value(v.Field(i), false, depth+1)
		}
		w.b.WriteByte('}')
	case reflect.Func, reflect.Chan, reflect.UnsafePointer:
		if v.IsNil() {
			w.null(t, elided)
			return
		}
		w.b.WriteString(TypeName(t))
	default:
		fmt.Fprint(&w.b, v)
	}
}

func (w *writer) null(t reflect.Type, elided bool) {
	if elided {
		w.b.WriteString("nil")
		return
	}
	name := TypeName(t)
	if strings.HasPrefix(name, "*") || strings.HasPrefix(name, "func") || strings.HasPrefix(name, "<-") || strings.HasPrefix(name, "chan") {
		name = "(" + name + ")"
	}
	w.b.WriteString(name + "(nil)")
}

func (w *writer) pointer(v reflect.Value, elided bool, depth int) {
	t := v.Type()
	if v.IsNil() {
		if depth > 0 {
			w.b.WriteString("nil")
			return
		}
		w.null(t, elided)
		return
	}
	switch t.Elem().Kind() {
	case reflect.Struct, reflect.Slice, reflect.Array, reflect.Map:
		if w.seen[v.Pointer()] {
			w.b.WriteString("(" + TypeName(t) + " again)")
			return
		}
		w.seen[v.Pointer()] = true
		if !elided {
			w.b.WriteByte('&')
		}
		w.value(v.Elem(), elided, depth+1)
		delete(w.seen, v.Pointer())
	default:
		fmt.Fprintf(&w.b, "(%s)(%#x)", TypeName(t), v.Pointer())
	}
}

func (w *writer) mapping(v reflect.Value, elided bool, depth int) {
	t := v.Type()
	if v.IsNil() {
		w.null(t, elided)
		return
	}
	if w.seen[v.Pointer()] {
		w.b.WriteString("(" + TypeName(t) + " again)")
		return
	}
	w.seen[v.Pointer()] = true
	defer delete(w.seen, v.Pointer())
	if !elided {
		w.b.WriteString(TypeName(t))
	}
	keys := v.MapKeys()
	sort.Slice(keys, func(i, j int) bool { return lessKey(keys[i], keys[j]) })
	w.b.WriteByte('{')
	for i, k := range keys {
		if i > 0 {
			w.b.WriteString(", ")
		}
		if i == maxElements {
			fmt.Fprintf(&w.b, "… (%d more of %d)", v.Len()-i, v.Len())
			break
		}
		w.value(k, t.Key().Kind() != reflect.Interface, depth+1)
		w.b.WriteString(": ")
		w.value(v.MapIndex(k), t.Elem().Kind() != reflect.Interface, depth+1)
	}
	w.b.WriteByte('}')
}

// lessKey orders keys as fmt does, as far as it matters for reading.
func lessKey(a, b reflect.Value) bool {
	for a.Kind() == reflect.Interface && !a.IsNil() {
		a = a.Elem()
	}
	for b.Kind() == reflect.Interface && !b.IsNil() {
		b = b.Elem()
	}
	if a.Kind() != b.Kind() {
		return a.Kind() < b.Kind()
	}
	switch {
	case a.CanInt():
		return a.Int() < b.Int()
	case a.CanUint():
		return a.Uint() < b.Uint()
	case a.CanFloat():
		return a.Float() < b.Float()
	case a.Kind() == reflect.String:
		return a.String() < b.String()
	case a.Kind() == reflect.Bool:
		return !a.Bool() && b.Bool()
	}
	return fmt.Sprint(a) < fmt.Sprint(b)
}
