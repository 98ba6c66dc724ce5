package worker

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"counterpoise/kernel/server"

	"github.com/google/go-cmp/cmp"
)

// asWorker makes the test program a worker with the evaluator below.
const asWorker = "COUNTERPOISE_TEST_WORKER"

func TestMain(m *testing.M) {
	if os.Getenv(asWorker) == "" {
		os.Exit(m.Run())
	}
	err := Serve(os.Stdin, os.Stdout, func() (server.Evaluator, error) { return &rough{}, nil })
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

// rough is an evaluator whose cells are words: they do what no recover can
// catch, or count.
type rough struct {
	count int
	kept  [][]byte
}

func (r *rough) Execute(ctx context.Context, cell server.Cell, out server.Output) server.Result {
	word, arg, _ := strings.Cut(cell.Code, " ")
	n, _ := strconv.Atoi(arg)
	switch word {
	case "count":
		r.count++
		return server.Result{Value: &server.Bundle{Data: map[string]any{"text/plain": strconv.Itoa(r.count)}}}
	case "print":
		for i := range n {
			out.Stream("stdout", fmt.Sprintln("line", i))
		}
	case "flood":
		for ctx.Err() == nil {
			out.Stream("stdout", "and on and on\n")
		}
	case "complain":
		fmt.Fprintln(os.Stderr, "a library complains")
		time.Sleep(50 * time.Millisecond)
	case "later":
		go func() {
			time.Sleep(time.Duration(n) * time.Millisecond)
			out.Stream("stdout", "late\n")
		}()
	case "show":
		out.Display(server.Bundle{Data: map[string]any{"image/png": []byte{1, 2}, "text/plain": "θ", "application/json": map[string]any{"a": []int{1}}}, Metadata: map[string]any{"w": 1}}, "d", true)
		out.ClearOutput(true)
		out.Comm(server.CommMessage{Kind: "open", ID: "c", Target: "t", Data: map[string]any{"x": 1}, Buffers: [][]byte{{9}}})
	case "fail":
		return server.Result{Fault: &server.Fault{Name: "TypeError", Value: "v", Traceback: []string{"t"}, Line: 3, Col: 4}, Values: map[string]server.UserValue{"u": {Fault: &server.Fault{Name: "n"}}}}
	case "ask":
		text, err := out.Input(ctx, "prompt", true)
		return server.Result{Value: &server.Bundle{Data: map[string]any{"text/plain": fmt.Sprint(text, err)}}}
	case "wait":
		<-ctx.Done()
		return server.Result{Fault: &server.Fault{Name: "Interrupted"}}
	case "stubborn":
		select {}
	case "goexit":
		runtime.Goexit()
	case "bug":
		panic("in the evaluator")
	case "exit":
		os.Exit(n)
	case "exit-later":
		go func() { time.Sleep(20 * time.Millisecond); os.Exit(n) }()
	case "panic":
		go func() { panic("in a goroutine\nwith two lines") }()
		select {}
	case "race":
		m := map[int]int{}
		for range 8 {
			go func() {
				for {
					m[1]++
				}
			}()
		}
		select {}
	case "recurse":
		fmt.Fprint(os.Stderr, recurse(0))
	case "keep":
		r.kept = append(r.kept, bytes.Repeat([]byte{1}, n<<20))
	case "hog":
		var all [][]byte
		for {
			b := make([]byte, 1<<20)
			for i := 0; i < len(b); i += 4096 {
				b[i] = 1
			}
			all = append(all, b)
			if len(all) > n {
				return server.Result{}
			}
		}
	}
	return server.Result{}
}

//lint:ignore SA5007 it is there to overflow the stack
func recurse(n int) int { return recurse(n+1) + 1 }

func (r *rough) Complete(ctx context.Context, code string, pos int) server.Completion {
	if code == "wait" {
		<-ctx.Done()
		return server.Completion{}
	}
	return server.Completion{Start: 1, End: pos, Items: []server.CompletionItem{{Text: code, Kind: "k", Signature: "s"}}}
}

func (r *rough) Inspect(_ context.Context, code string, pos, detail int) server.Inspection {
	return server.Inspection{Found: true, Bundle: server.Bundle{Data: map[string]any{"text/plain": fmt.Sprint(code, pos, detail)}}}
}

func (r *rough) IsComplete(code string) server.Completeness {
	return server.Completeness{Status: "incomplete", Indent: code}
}

func (r *rough) HandleComm(_ context.Context, m server.CommMessage, out server.Output) bool {
	out.Comm(m)
	return m.Target == "known"
}

func (r *rough) Close() error { return nil }

// A page keeps what a cell shows.
type page struct {
	mu      sync.Mutex
	text    string
	shown   []string
	comms   []server.CommMessage
	answer  func(context.Context, string, bool) (string, error)
	changed chan struct{}
}

func newPage() *page { return &page{changed: make(chan struct{}, 1)} }

func (p *page) note(f func()) {
	p.mu.Lock()
	defer p.mu.Unlock()
	f()
	select {
	case p.changed <- struct{}{}:
	default:
	}
}

func (p *page) Stream(name, text string) {
	p.note(func() {
		if name == "stderr" {
			text = "! " + text
		}
		p.text += text
	})
}

func (p *page) Display(b server.Bundle, id string, update bool) {
	p.note(func() { p.shown = append(p.shown, fmt.Sprintf("%q %s %v %v", b.Data, id, update, b.Metadata)) })
}

func (p *page) ClearOutput(wait bool) {
	p.note(func() { p.shown = append(p.shown, fmt.Sprint("clear ", wait)) })
}

func (p *page) Comm(m server.CommMessage) { p.note(func() { p.comms = append(p.comms, m) }) }

func (p *page) Input(ctx context.Context, prompt string, password bool) (string, error) {
	return p.answer(ctx, prompt, password)
}

func (p *page) String() string {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.text
}

// await waits for a text; that it comes at all is what is tested.
func (p *page) await(t *testing.T, text string) {
	t.Helper()
	limit := time.After(20 * time.Second)
	for !strings.Contains(p.String(), text) {
		select {
		case <-p.changed:
		case <-limit:
			t.Fatalf("%q never came; there is %q", text, p.String())
		}
	}
}

func start(t *testing.T, o Options) *Front {
	t.Helper()
	program, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	o.Command = func() *exec.Cmd {
		c := exec.Command(program)
		c.Env = append(os.Environ(), asWorker+"=1", "GORACE=halt_on_error=0 report_bugs=0")
		return c
	}
	f := Start(o)
	t.Cleanup(func() { f.Close() })
	return f
}

func do(f *Front, code string) (server.Result, *page) {
	p := newPage()
	return f.Execute(context.Background(), server.Cell{Code: code, Number: 1}, p), p
}

// counted expects the cell "count" to give a number.
func counted(t *testing.T, f *Front, want string) server.Result {
	t.Helper()
	r, _ := do(f, "count")
	if r.Fault != nil || r.Value.Data["text/plain"] != want {
		t.Fatalf("count: %+v %+v, want %s", r.Value, r.Fault, want)
	}
	return r
}

func TestResultsCrossThePipe(t *testing.T) {
	f := start(t, Options{})
	counted(t, f, "1")
	counted(t, f, "2")
	r, _ := do(f, "fail")
	want := server.Result{Fault: &server.Fault{Name: "TypeError", Value: "v", Traceback: []string{"t"}, Line: 3, Col: 4}, Values: map[string]server.UserValue{"u": {Bundle: server.Bundle{Data: map[string]any{}}, Fault: &server.Fault{Name: "n"}}}}
	if diff := cmp.Diff(want, r); diff != "" {
		t.Error(diff)
	}
	_, p := do(f, "show")
	wantShown := []string{`map["application/json":"{\"a\":[1]}" "image/png":"\x01\x02" "text/plain":"θ"] d true map[w:1]`, "clear true"}
	if diff := cmp.Diff(wantShown, p.shown); diff != "" {
		t.Error(diff)
	}
	if diff := cmp.Diff([]server.CommMessage{{Kind: "open", ID: "c", Target: "t", Data: map[string]any{"x": 1.0}, Buffers: [][]byte{{9}}}}, p.comms); diff != "" {
		t.Error(diff)
	}
	if diff := cmp.Diff(server.Completion{Start: 1, End: 2, Items: []server.CompletionItem{{Text: "ab", Kind: "k", Signature: "s"}}}, f.Complete(context.Background(), "ab", 2)); diff != "" {
		t.Error(diff)
	}
	if got := f.Inspect(context.Background(), "x", 1, 1); !got.Found || got.Data["text/plain"] != "x1 1" {
		t.Errorf("inspect: %+v", got)
	}
	if got := f.IsComplete("\t"); got != (server.Completeness{Status: "incomplete", Indent: "\t"}) {
		t.Errorf("is complete: %+v", got)
	}
	for _, target := range []string{"known", "unknown"} {
		p := newPage()
		if f.HandleComm(context.Background(), server.CommMessage{Kind: "open", ID: "i", Target: target}, p) != (target == "known") || len(p.comms) != 1 {
			t.Errorf("comm to %s: %v", target, p.comms)
		}
	}
}

func TestPrintedLinesKeepTheirOrder(t *testing.T) {
	f := start(t, Options{})
	const n = 10_000
	r, p := do(f, fmt.Sprint("print ", n))
	lines := strings.Split(p.String(), "\n")
	if r.Fault != nil || len(lines) != n+1 {
		t.Fatalf("%d lines, %+v", len(lines), r.Fault)
	}
	for i, line := range lines[:n] {
		if line != fmt.Sprint("line ", i) {
			t.Fatalf("line %d is %q", i, line)
		}
	}
}

func TestLateOutputFindsItsCell(t *testing.T) {
	f := start(t, Options{})
	_, first := do(f, "later 50")
	_, second := do(f, "print 1")
	first.await(t, "late\n")
	if second.String() != "line 0\n" {
		t.Errorf("the cell after it has %q", second.String())
	}
}

// Cells of which nothing can come any more are forgotten.
func TestCellsAreReleased(t *testing.T) {
	f := start(t, Options{})
	for range 300 {
		do(f, "hog 1") // two MiB of garbage each, so that the collector runs
		if r, _ := do(f, "print 1"); r.Fault != nil {
			t.Fatal(r.Fault)
		}
	}
	p := f.process
	until := time.Now().Add(20 * time.Second)
	for {
		p.mu.Lock()
		kept := len(p.outputs)
		p.mu.Unlock()
		if kept < 100 {
			break
		}
		if time.Now().After(until) {
			t.Fatalf("%d cells are still kept", kept)
		}
		do(f, "hog 1")
	}
}

func TestLibrariesComplainUnderTheCell(t *testing.T) {
	f := start(t, Options{})
	_, p := do(f, "complain")
	p.await(t, "! a library complains\n")
}

func TestAsk(t *testing.T) {
	f := start(t, Options{})
	p := newPage()
	p.answer = func(_ context.Context, prompt string, password bool) (string, error) {
		return fmt.Sprint(prompt, password), nil
	}
	r := f.Execute(context.Background(), server.Cell{Code: "ask"}, p)
	if r.Value == nil || r.Value.Data["text/plain"] != "prompttrue<nil>" {
		t.Errorf("answered: %+v", r)
	}
	p.answer = func(context.Context, string, bool) (string, error) { return "", errors.New("nobody here") }
	r = f.Execute(context.Background(), server.Cell{Code: "ask"}, p)
	if r.Value == nil || r.Value.Data["text/plain"] != "nobody here" {
		t.Errorf("refused: %+v", r)
	}
	ctx, cancel := context.WithCancel(context.Background())
	p.answer = func(ctx context.Context, _ string, _ bool) (string, error) {
		cancel()
		<-ctx.Done()
		return "", ctx.Err()
	}
	r = f.Execute(ctx, server.Cell{Code: "ask"}, p)
	if r.Value == nil || r.Value.Data["text/plain"] != "context canceled" {
		t.Errorf("interrupted: %+v", r)
	}
}

// run executes a cell and interrupts it once it has been sent.
func interrupted(f *Front, code string) (server.Result, *page) {
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	time.AfterFunc(30*time.Millisecond, cancel)
	p := newPage()
	return f.Execute(ctx, server.Cell{Code: code}, p), p
}

func TestInterrupt(t *testing.T) {
	f := start(t, Options{Grace: time.Minute})
	counted(t, f, "1")
	for _, code := range []string{"wait", "flood"} {
		if r, _ := interrupted(f, code); r.Lost {
			t.Errorf("%s: state is lost: %+v", code, r.Fault)
		}
	}
	ctx, cancel := context.WithCancel(context.Background())
	time.AfterFunc(30*time.Millisecond, cancel)
	f.Complete(ctx, "wait", 4)
	counted(t, f, "2")
}

// An interrupted cell that does not come to rest costs the state, and says so.
func TestStubbornCell(t *testing.T) {
	f := start(t, Options{Grace: 50 * time.Millisecond})
	counted(t, f, "1")
	r, _ := interrupted(f, "stubborn")
	if r.Fault == nil || !r.Lost || r.Fault.Name != "Interrupted" || !strings.Contains(r.Fault.Value, stateGone) {
		t.Fatalf("%+v %+v", r, r.Fault)
	}
	counted(t, f, "1")
}

// A cell that ends its goroutine, or a bug in the evaluator, costs the cell only.
func TestGoexitAndBug(t *testing.T) {
	f := start(t, Options{})
	counted(t, f, "1")
	for code, want := range map[string]string{"goexit": "Goexit", "bug": "Kernel"} {
		if r, _ := do(f, code); r.Lost || r.Fault == nil || r.Fault.Name != want {
			t.Errorf("%s: %+v", code, r)
		}
	}
	counted(t, f, "2")
}

// What no recover can catch is reported as the cell's error, says that the
// state is lost, and the next cell runs.
func TestDeaths(t *testing.T) {
	f := start(t, Options{Memory: 800 << 20})
	for code, want := range map[string]string{
		"exit 0":     "Exit: the cell ended its process with status 0",
		"exit 3":     "Exit: the cell ended its process with status 3",
		"panic":      "Panic: in a goroutine",
		"race":       "MapRace: two goroutines used one map",
		"recurse":    "StackOverflow: ",
		"hog 999999": "OutOfMemory: the cells took more than 800 MiB",
	} {
		if raceDetector && (code == "race" || code == "recurse") {
			continue // the detector's own reports and stacks come first
		}
		counted(t, f, "1")
		r, p := do(f, code)
		if r.Fault == nil || !r.Lost || !strings.HasPrefix(r.Fault.Name+": "+r.Fault.Value, want) || !strings.HasSuffix(r.Fault.Value, stateGone) {
			t.Errorf("%s: %+v %+v", code, r, r.Fault)
		}
		if last := r.Fault.Traceback; !slices.Contains(last, stateGone) {
			t.Errorf("%s: traceback %q", code, last)
		}
		if strings.Contains(p.String(), "goroutine ") {
			t.Errorf("%s: the runtime's own account is shown: %.200q", code, p.String())
		}
		counted(t, f, "1")
		do(f, "exit 0")
	}
}

// What a cell leaves behind is given back before the next one begins.
func TestMemoryIsGivenBack(t *testing.T) {
	f := start(t, Options{})
	do(f, "hog 400")
	counted(t, f, "1")
	most := int64(300 << 20)
	if raceDetector {
		most *= 2 // it keeps its own notes of all that memory
	}
	if got := resident(fmt.Sprintf("/proc/%d/statm", f.PID())); got > most {
		t.Errorf("%d MiB are still held", got>>20)
	}
}

// A cell that leaves too much behind loses the state, and not the next cell.
func TestFullMemory(t *testing.T) {
	memory := int64(1 << 30)
	if raceDetector {
		memory *= 2
	}
	f := start(t, Options{Memory: memory})
	counted(t, f, "1")
	if r, _ := do(f, "keep 100"); r.Fault != nil || r.Lost {
		t.Fatalf("a state of 100 MiB: %+v", r.Fault)
	}
	counted(t, f, "2")
	r, p := do(f, "keep 600")
	if r.Fault == nil || !r.Lost || r.Fault.Name != "OutOfMemory" || !strings.HasSuffix(r.Fault.Value, stateGone) {
		t.Fatalf("a state of 700 MiB: %+v", r.Fault)
	}
	if r := counted(t, f, "1"); r.Lost {
		t.Error("it is said twice")
	}
	if p.String() != "" {
		t.Errorf("it is said twice: %q", p)
	}
}

// A worker that dies between cells is reported under the last cell, and the
// next one says that the state is lost.
func TestDeathBetweenCells(t *testing.T) {
	f := start(t, Options{})
	counted(t, f, "1")
	_, p := do(f, "exit-later 4")
	p.await(t, "! Exit: the cell ended its process with status 4\n"+stateGone)
	if r := counted(t, f, "1"); !r.Lost {
		t.Error("the next cell does not say that the state is lost")
	}
	if r := counted(t, f, "2"); r.Lost {
		t.Error("it is said twice")
	}
}

func TestDeathsInARow(t *testing.T) {
	f := start(t, Options{})
	for range 10 {
		if r, _ := do(f, "exit 1"); r.Fault == nil || r.Fault.Name != "Exit" {
			t.Fatalf("%+v", r)
		}
	}
	counted(t, f, "1")
}

// A worker that cannot start is an error of the cell, not of the kernel.
func TestNoWorker(t *testing.T) {
	for _, command := range [][]string{{"/no/such/program"}, {"false"}} {
		f := Start(Options{Command: func() *exec.Cmd { return exec.Command(command[0]) }})
		for range 2 {
			if r, _ := do(f, "count"); r.Fault == nil {
				t.Errorf("%v: %+v", command, r)
			}
		}
		if c := f.Complete(context.Background(), "x", 1); len(c.Items) != 0 {
			t.Errorf("%v completes: %v", command, c)
		}
		f.Close()
	}
}

// The worker ends when the front does, even in the middle of a cell.
func TestWorkerEndsWithItsFront(t *testing.T) {
	f := start(t, Options{})
	go do(f, "stubborn")
	counting := make(chan struct{})
	go func() {
		<-f.process.dead
		close(counting)
	}()
	f.mu.Lock()
	f.closed = true
	f.mu.Unlock()
	<-f.process.ready
	f.process.sender.w.(interface{ Close() error }).Close()
	<-counting
}
