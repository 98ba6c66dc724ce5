package session

import (
	"fmt"
	"go/token"
	"go/types"
	"io"
	"log"
	"reflect"
	"sync"
	"sync/atomic"

	"github.com/google/uuid"

	"counterpoise/kernel/display"
	"counterpoise/kernel/display/cell"
	cellos "counterpoise/kernel/symbols/os"

	"counterpoise/kernel/session/machine"
)

// showFunc is the function that takes the last expression's values.
var (
	kernelPackage = types.NewPackage("counterpoise/kernel", "kernel")
	showFunc      = func() *types.Func {
		v := types.NewVar(token.NoPos, kernelPackage, "v", types.NewSlice(types.Universe.Lookup("any").Type()))
		f := types.NewFunc(token.NoPos, kernelPackage, showName, types.NewSignatureType(nil, nil, nil, types.NewTuple(v), nil, true))
		kernelPackage.Scope().Insert(f)
		return f
	}()
)

// replaced are functions of compiled packages that know of cells.
var replaced = map[string]reflect.Value{
	"counterpoise/kernel." + showName: reflect.ValueOf(show),
	"fmt.Print":                       reflect.ValueOf(func(a ...any) (int, error) { return fmt.Fprint(stdout, a...) }),
	"fmt.Printf":                      reflect.ValueOf(func(f string, a ...any) (int, error) { return fmt.Fprintf(stdout, f, a...) }),
	"fmt.Println":                     reflect.ValueOf(func(a ...any) (int, error) { return fmt.Fprintln(stdout, a...) }),
	"log.Fatal":                       reflect.ValueOf(func(a ...any) { log.Output(2, fmt.Sprint(a...)); machine.Exit(1) }),
	"log.Fatalf":                      reflect.ValueOf(func(f string, a ...any) { log.Output(2, fmt.Sprintf(f, a...)); machine.Exit(1) }),
	"log.Fatalln":                     reflect.ValueOf(func(a ...any) { log.Output(2, fmt.Sprintln(a...)); machine.Exit(1) }),
	"log.(*Logger).Fatal":             reflect.ValueOf(func(l *log.Logger, a ...any) { _ = l.Output(2, fmt.Sprint(a...)); machine.Exit(1) }),
	"log.(*Logger).Fatalf":            reflect.ValueOf(func(l *log.Logger, f string, a ...any) { _ = l.Output(2, fmt.Sprintf(f, a...)); machine.Exit(1) }),
	"log.(*Logger).Fatalln":           reflect.ValueOf(func(l *log.Logger, a ...any) { _ = l.Output(2, fmt.Sprintln(a...)); machine.Exit(1) }),
	"time.Sleep":                      reflect.ValueOf(machine.Sleep),
}

// show keeps the values of the last expression of the calling cell.
func show(v ...any) {
	e := executing()
	if e == nil {
		return
	}
	e.mu.Lock()
	defer e.mu.Unlock()
	e.values, e.shown = v, true
}

// executing returns the execution that the calling goroutine works for.
func executing() *execution {
	if run := machine.Current(); run != nil {
		e, _ := run.Tag.(*execution)
		return e
	}
	return nil
}

// A stream is a standard stream of whichever cell writes to it.
type stream string

var (
	stdout io.Writer = stream("stdout")
	stderr io.Writer = stream("stderr")
)

// Write sends p to the calling cell's output.
func (s stream) Write(p []byte) (int, error) {
	if e := executing(); e != nil {
		e.out.Stream(string(s), string(p))
	}
	return len(p), nil
}

var (
	hostOnce  sync.Once
	processID string
)

// host points what compiled packages share to the running cell.
func host() {
	hostOnce.Do(func() {
		cellos.Write = func(name string, p []byte) { _, _ = stream(name).Write(p) }
		cellos.Quit = machine.Exit
		log.SetOutput(stderr)
		cell.SetHost(cellHost{})
		processID = uuid.NewString()
		machine.Print = func(run *machine.Run, text string) {
			if e, ok := run.Tag.(*execution); ok && e != nil {
				e.out.Stream("stderr", text)
			}
		}
	})
}

// A cellHost shows and asks for the calling cell.
type cellHost struct{}

// lastID counts what was shown, so that each has an id of its own.
var lastID atomic.Int64

// NewID returns an id for something shown.
func (cellHost) NewID() string { return fmt.Sprintf("%s-%d", processID, lastID.Add(1)) }

// Display shows v in the calling cell's output.
func (cellHost) Display(v any, id string, update bool) {
	if e := executing(); e != nil {
		e.out.Display(display.Of(v), id, update)
	}
}

// ClearOutput clears the calling cell's output.
func (cellHost) ClearOutput(wait bool) {
	if e := executing(); e != nil {
		e.out.ClearOutput(wait)
	}
}

// Ask asks at the calling cell's front end. An interrupt ends the wait.
func (cellHost) Ask(prompt string, secret bool) string {
	e := executing()
	if e == nil {
		return ""
	}
	if !e.cell.AllowInput {
		panic(inputError("this front end cannot ask: Ask needs somebody at the notebook"))
	}
	answer, err := e.out.Input(e.ctx, prompt, secret)
	if err != nil {
		if e.ctx.Err() != nil {
			machine.Interrupt()
		}
		panic(inputError(err.Error()))
	}
	return answer
}

// An inputError is the panic of Ask where nobody can be asked.
type inputError string

func (e inputError) Error() string { return string(e) }
