package symbols

import (
	"flag"
	"fmt"
	"maps"
	"math"
	"math/rand/v2"
	"reflect"
	"runtime/debug"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"
)

var rounds = flag.Int("rounds", 15, "calls of each function with data of no sense")

// Nothing in the mechanics library panics or hangs on data of no sense: all that cells can
// call is called with numbers that are no numbers, names that are no names, empty and
// missing lists, and what other calls returned.
//
// Left out are calls whose documentation says that they panic: Must…, and the steps of a
// compiled motion where slices have the wrong length.
func TestNothingPanicsOnData(t *testing.T) {
	for path := range maps.Keys(ownTables) {
		if !strings.HasPrefix(path, "counterpoise/mechanics/") {
			continue
		}
		t.Run(strings.TrimPrefix(path, "counterpoise/mechanics/"), func(t *testing.T) {
			g := &garbage{t: t, random: rand.New(rand.NewPCG(1, 2)), made: map[reflect.Type][]reflect.Value{}}
			g.learn()
			calls := g.callsOf(path)
			if len(calls) == 0 {
				t.Skip("it has no functions")
			}
			for range *rounds {
				for _, c := range calls {
					g.try(c)
				}
			}
		})
	}
}

// maxCall is far above what any call on a handful of numbers takes, and far below a hang.
const maxCall = 30 * time.Second

// panicsByContract are the calls that say in their documentation when they panic.
var panicsByContract = []string{
	"quantity.MustParse", "quantity.MustUnit", "parse.Must", "problems.Problem",
	"tape.Program", "tape.Taylor", "lagrange.Motion", "motion.CompiledSystem", "Geometry", "Drawing",
}

// A call is a function or a method with its receiver as first argument.
type call struct {
	name     string
	function reflect.Value
	receiver reflect.Type // nil for a function
}

// A garbage maker calls functions with data of no sense.
type garbage struct {
	t      *testing.T
	random *rand.Rand
	types  []reflect.Type                   // of the whole library, to fill interfaces
	made   map[reflect.Type][]reflect.Value // by earlier calls
	called sync.Mutex                       // held while a function of ours makes what it returns
}

func (g *garbage) learn() {
	for _, path := range slices.Sorted(maps.Keys(ownTables)) {
		if strings.HasPrefix(path, "counterpoise/mechanics/") {
			types := ownTables[path]().types
			for _, name := range slices.Sorted(maps.Keys(types)) {
				g.types = append(g.types, types[name])
			}
		}
	}
}

func (g *garbage) callsOf(path string) []call {
	table, base := ownTables[path](), path[strings.LastIndex(path, "/")+1:]
	var calls []call
	add := func(c call) {
		for _, part := range panicsByContract {
			if strings.Contains(c.name, part) {
				return
			}
		}
		calls = append(calls, c)
	}
	for _, name := range slices.Sorted(maps.Keys(table.values)) {
		if v := table.values[name]; v.Kind() == reflect.Func {
			add(call{base + "." + name, v, nil})
		}
	}
	for _, name := range slices.Sorted(maps.Keys(table.types)) {
		of := table.types[name]
		if of.Kind() == reflect.Interface {
			continue
		}
		pointer := reflect.PointerTo(of)
		for i := range pointer.NumMethod() {
			receiver := pointer
			if _, ok := of.MethodByName(pointer.Method(i).Name); ok {
				receiver = of
			}
			m, _ := receiver.MethodByName(pointer.Method(i).Name)
			add(call{base + "." + name + "." + m.Name, m.Func, receiver})
		}
	}
	return calls
}

// try makes one call and keeps what it returns, if there was no error, for later ones.
func (g *garbage) try(c call) {
	of := c.function.Type()
	var in []reflect.Value
	for i := range of.NumIn() {
		v := g.value(of.In(i), 0)
		if i == 0 && c.receiver != nil && c.receiver.Kind() == reflect.Pointer {
			// behind a pointer stands what a constructor made, or nothing is called
			made := g.made[c.receiver]
			if len(made) == 0 {
				return
			}
			v = made[g.random.IntN(len(made))]
		}
		in = append(in, v)
	}
	arguments := described(in)
	watch := time.AfterFunc(maxCall, func() {
		panic(fmt.Sprintf("%s takes more than %v for %s", c.name, maxCall, arguments))
	})
	defer watch.Stop()
	defer func() {
		if e := recover(); e != nil {
			g.t.Errorf("%s panics: %v\n%s\n%s", c.name, e, arguments, debug.Stack())
		}
	}()
	var out []reflect.Value
	if of.IsVariadic() {
		out = c.function.CallSlice(in)
	} else {
		out = c.function.Call(in)
	}
	for _, v := range out {
		if v.Type() == reflect.TypeFor[error]() && !v.IsNil() {
			return
		}
	}
	for _, v := range out {
		if v.Kind() == reflect.Pointer && !v.IsNil() || v.Kind() == reflect.Struct {
			if made := g.made[v.Type()]; len(made) < 40 {
				g.made[v.Type()] = append(made, v)
			} else {
				made[g.random.IntN(len(made))] = v
			}
		}
	}
}

func described(in []reflect.Value) string {
	var parts []string
	for _, v := range in {
		s := fmt.Sprintf("%+v", v)
		parts = append(parts, s[:min(len(s), 500)])
	}
	return strings.Join(parts, "; ")
}

var (
	oddNumbers = []float64{math.NaN(), math.Inf(1), math.Inf(-1), -1, 0, 1, 1e308, 1e-308, -0.01, math.Pi, 9.81}
	oddCounts  = []int64{-1, 0, 1, 2, 3, 100, math.MaxInt32, math.MinInt64}
	oddTexts   = []string{"", "x", "θ", "θ'", "\x00", "sin", "m g L", "1/0", "brass", "x'^2/2", "9.81 m/s^2", "a: [", "\xff"}
)

// value makes something of a type: often of little sense.
func (g *garbage) value(of reflect.Type, depth int) reflect.Value {
	v := reflect.New(of).Elem()
	if depth > 5 {
		return v
	}
	if made := g.made[of]; len(made) > 0 && g.random.IntN(2) == 0 {
		return made[g.random.IntN(len(made))]
	}
	switch of.Kind() {
	case reflect.Float32, reflect.Float64:
		v.SetFloat(3 * g.random.Float64())
		if g.random.IntN(3) == 0 {
			v.SetFloat(oddNumbers[g.random.IntN(len(oddNumbers))])
		}
	case reflect.Int, reflect.Int8, reflect.Int16, reflect.Int32, reflect.Int64:
		v.SetInt(g.random.Int64N(4))
		if g.random.IntN(3) == 0 {
			v.SetInt(oddCounts[g.random.IntN(len(oddCounts))])
		}
	case reflect.Uint, reflect.Uint8, reflect.Uint16, reflect.Uint32, reflect.Uint64:
		v.SetUint(uint64(g.random.IntN(256)))
	case reflect.Bool:
		v.SetBool(g.random.IntN(2) == 0)
	case reflect.String:
		v.SetString(oddTexts[g.random.IntN(len(oddTexts))])
	case reflect.Slice:
		if n := g.random.IntN(6); n > 0 {
			v.Set(reflect.MakeSlice(of, n-1, n-1))
			for i := range n - 1 {
				v.Index(i).Set(g.value(of.Elem(), depth+1))
			}
		}
	case reflect.Array:
		for i := range of.Len() {
			v.Index(i).Set(g.value(of.Elem(), depth+1))
		}
	case reflect.Map:
		if n := g.random.IntN(4); n > 0 {
			v.Set(reflect.MakeMap(of))
			for range n - 1 {
				v.SetMapIndex(g.value(of.Key(), depth+1), g.value(of.Elem(), depth+1))
			}
		}
	case reflect.Pointer:
		v.Set(reflect.New(of.Elem()))
		v.Elem().Set(g.value(of.Elem(), depth+1))
	case reflect.Struct:
		for i := range of.NumField() {
			if of.Field(i).IsExported() && g.random.IntN(5) > 0 {
				v.Field(i).Set(g.value(of.Field(i).Type, depth+1))
			}
		}
	case reflect.Interface:
		g.fill(v, depth)
	case reflect.Func:
		v.Set(reflect.MakeFunc(of, func([]reflect.Value) []reflect.Value {
			g.called.Lock() // some calls use all cores
			defer g.called.Unlock()
			out := make([]reflect.Value, of.NumOut())
			for i := range out {
				out[i] = reflect.Zero(of.Out(i))
				if of.Out(i).Kind() != reflect.Interface {
					out[i] = g.value(of.Out(i), depth+1)
				}
			}
			return out
		}))
	}
	return v
}

// fill puts a value of the library's own into an interface, or leaves it nil.
func (g *garbage) fill(v reflect.Value, depth int) {
	var can []reflect.Type
	for _, t := range g.types {
		switch {
		case t.Kind() == reflect.Interface:
		case t.Implements(v.Type()):
			can = append(can, t)
		case reflect.PointerTo(t).Implements(v.Type()):
			can = append(can, reflect.PointerTo(t))
		}
	}
	if len(can) > 0 {
		v.Set(g.value(can[g.random.IntN(len(can))], depth+1))
	}
}
