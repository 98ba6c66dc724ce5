package session

import (
	"context"
	"strings"
	"testing"
	"time"

	"counterpoise/kernel/server"
)

// An interrupt ends whatever runs, and leaves the state as it was. How soon is
// what BenchmarkInterrupt measures.
func TestInterrupt(t *testing.T) {
	for name, cell := range map[string]string{
		"loop":        "for { kept = kept }",
		"empty loop":  "for {\n}",
		"sleep":       "time.Sleep(600 * time.Second)",
		"channel":     "<-make(chan int)",
		"send":        "make(chan int) <- 1",
		"select":      "select {}",
		"select two":  "a, b := make(chan int), make(chan int)\nselect {\ncase <-a:\ncase b <- 1:\n}",
		"nil channel": "var c chan int\n<-c",
		"range":       "for range make(chan int) {\n}",
		"group":       "var wg sync.WaitGroup\nwg.Add(1)\nwg.Wait()",
		"mutex":       "var mu sync.Mutex\nmu.Lock()\nmu.Lock()",
		"recursion":   "func spin(n int) int {\n\tif n == 0 {\n\t\treturn 1\n\t}\n\treturn spin(n-1) + spin(n-1)\n}\nspin(60)",
		"callback":    "sort.Slice(make([]int, 1e7), func(i, j int) bool { return i*7919%1000 < j*7919%1000 })",
		"library":     "optimize.Minimize(optimize.Problem{Func: func(x []float64) float64 { time.Sleep(time.Millisecond); return math.Sin(x[0]) + x[0]*1e-9 }}, []float64{1}, &optimize.Settings{Converger: optimize.NeverTerminate{}}, &optimize.NelderMead{})",
		"compiled":    "m := mat.NewDense(3000, 3000, nil)\nm.Mul(m, m)",
		"recovering":  "func stubborn() {\n\tdefer func() { recover() }()\n\tfor {\n\t}\n}\nfor { stubborn() }",
		"goroutines":  "go func() { for { kept = kept } }()\nfor {\n}",
		"generator":   "for range slices.Repeat([]int{1}, 1e7) { for i := range 1000000000 { _ = i } }",
		"regexp":      "for { regexp.MustCompile(\"a+b\").MatchString(strings.Repeat(\"a\", 1000)) }",
	} {
		if name == "goroutines" && raceDetector {
			continue // its two goroutines race on purpose
		}
		t.Run(name, func(t *testing.T) {
			nb := open(t)
			nb.plain("import (\n\"time\"; \"sync\"; \"sort\"; \"math\"; \"slices\"; \"regexp\"; \"strings\"\n\"gonum.org/v1/gonum/optimize\"; \"gonum.org/v1/gonum/mat\"\n)\nvar kept = 12321")
			ctx, cancel := context.WithCancel(context.Background())
			done := make(chan server.Result, 1)
			go func() { done <- nb.Execute(ctx, server.Cell{Code: cell, Number: 2}, new(recorder)) }()
			select {
			case r := <-done:
				t.Fatalf("ended by itself: %+v", r.Fault)
			case <-time.After(30 * time.Millisecond):
			}
			cancel()
			r := <-done
			if r.Fault == nil || r.Fault.Name != "Interrupted" {
				t.Errorf("fault %+v", r.Fault)
			}
			if got := nb.plain("kept"); got != "= 12321" {
				t.Errorf("state after: %s", got)
			}
		})
	}
}

// Whatever a cell does, its fault says what and where, and the next cell runs.
func TestHostileCells(t *testing.T) {
	for _, tt := range []struct {
		name, cell, want string
		line             int
	}{
		{"panic", "x := 1\n_ = x\npanic(\"stop\")", "Panic: stop", 3},
		{"panic with an error", "import \"errors\"\npanic(errors.New(\"bad\"))", "Panic: bad", 2},
		{"division", "z := 0\nw := 1\nw / z", "RuntimeError: runtime error: integer divide by zero", 3},
		{"nil map", "var m map[string]int\n\nm[\"a\"] = 1", "RuntimeError: assignment to entry in nil map", 3},
		{"goroutine", "import \"time\"\ngo func() {\n\tpanic(\"in a goroutine\")\n}()\ntime.Sleep(time.Second)", "Panic: in a goroutine", 3},
		{"goroutine of a library", "import \"time\"\ntime.AfterFunc(0, func() {\n\tvar p *int\n\t*p = 1\n})\ntime.Sleep(time.Second)", "RuntimeError: runtime error: invalid memory address or nil pointer dereference", 4},
		{"callback", "import \"sort\"\nsort.Slice([]int{3, 2, 1}, func(i, j int) bool {\n\tpanic(\"in less\")\n})", "Panic: in less", 3},
		{"function of an earlier line", "func deep(n int) int {\n\tif n == 0 {\n\t\tvar a []int\n\t\treturn a[n]\n\t}\n\treturn deep(n - 1)\n}\ndeep(3)", "RuntimeError: runtime error: index out of range [0] with length 0", 4},
		{"recursion", "func down(n int) int { return down(n+1) + 1 }\ndown(0)", "StackOverflow: stack overflow: calls nested too deep", 1},
		{"recursion through a library", "import \"fmt\"\ntype P struct{ n int }\nfunc (p P) String() string { return fmt.Sprint(p) }\nfmt.Println(P{1})", "StackOverflow: stack overflow: calls nested too deep", 3},
		{"exit", "import \"os\"\nos.Exit(3)", "Exit: exit status 3: os.Exit ends the cell, not the kernel", 2},
		{"exit in a goroutine", "import (\n\"os\"; \"time\"\n)\ngo os.Exit(4)\ntime.Sleep(time.Second)", "Exit: exit status 4: os.Exit ends the cell, not the kernel", 0},
		{"fatal log", "import \"log\"\nlog.Fatal(\"no\")", "Exit: exit status 1: os.Exit ends the cell, not the kernel", 2},
		{"fatal logger", "import (\n\"log\"; \"os\"\n)\nl := log.New(os.Stdout, \"\", 0)\nl.Fatalf(\"no %d\", 1)", "Exit: exit status 1: os.Exit ends the cell, not the kernel", 5},
		{"goexit", "import \"runtime\"\nruntime.Goexit()", "Panic: runtime.Goexit ended the cell", 0},
		{"memory", "var hog [][]byte\nfor {\n\thog = append(hog, make([]byte, 1<<24))\n\tfor i := 0; i < 1<<24; i += 4096 { hog[len(hog)-1][i] = 1 }\n}", "OutOfMemory: ", 0},
		{"huge slice", "n := 1 << 60\n_ = make([]int, n)", "RuntimeError: runtime error: makeslice: len out of range", 2},
		{"custom panic value", "type E struct{ Code int }\npanic(E{4})", "Panic: main.E{Code:4}", 2},
		{"wrapped re-panic", "func f() {\n\tdefer func() {\n\t\tr := recover()\n\t\tpanic(r)\n\t}()\n\tpanic(\"one\")\n}\nf()", "Panic: one", 4},
		{"method on nil", "type T struct{ x int }\nfunc (t *T) Get() int {\n\treturn t.x\n}\nvar p *T\np.Get()", "RuntimeError: runtime error: invalid memory address or nil pointer dereference", 3},
		{"closed channel", "c := make(chan int)\nclose(c)\nc <- 1", "RuntimeError: send on closed channel", 3},
		{"many goroutines", "for range 10000 { go func() { select {} }() }", "", 0},
		{"bad template", "import \"text/template\"\ntemplate.Must(template.New(\"\").Parse(\"{{\"))", "Panic: template: :1: unclosed action", 2},
		{"gonum", "import \"gonum.org/v1/gonum/mat\"\na := mat.NewDense(2, 2, nil)\nb := mat.NewDense(3, 3, nil)\na.Mul(a, b)", "Panic: mat: dimension mismatch", 4},
	} {
		t.Run(tt.name, func(t *testing.T) {
			nb := open(t)
			nb.limit = 256 << 20
			nb.plain("kept := 12321")
			r, _ := nb.run(tt.cell)
			got := ""
			if r.Fault != nil {
				got = r.Fault.Name + ": " + r.Fault.Value
			}
			if !strings.HasPrefix(got, tt.want) || tt.want == "" && got != "" {
				t.Errorf("got %q, want %q\n%s", got, tt.want, strings.Join(tracebackOf(r), "\n"))
			} else if r.Fault != nil && tt.line != 0 && r.Fault.Line != tt.line {
				t.Errorf("line %d, want %d\n%s", r.Fault.Line, tt.line, strings.Join(tracebackOf(r), "\n"))
			}
			if got := nb.plain("kept"); got != "= 12321" {
				t.Errorf("the next cell gives %s", got)
			}
		})
	}
}

func tracebackOf(r server.Result) []string {
	if r.Fault == nil {
		return nil
	}
	return r.Fault.Traceback
}

// What a goroutine prints or says after its cell has ended belongs to its cell.
func TestLateOutput(t *testing.T) {
	nb := open(t)
	_, first := nb.run("import (\n\"fmt\"; \"time\"\n)\ngo func() { time.Sleep(20 * time.Millisecond); fmt.Println(\"late\"); println(\"err\"); panic(\"later still\") }()")
	_, second := nb.run("fmt.Println(\"second\")\ntime.Sleep(60 * time.Millisecond)")
	said := func() string {
		first.mu.Lock()
		defer first.mu.Unlock()
		return first.errText.String()
	}
	// the goroutine wakes when a busy machine lets it
	for end := time.Now().Add(20 * time.Second); !strings.Contains(said(), "later still") && time.Now().Before(end); {
		time.Sleep(5 * time.Millisecond)
	}
	if first.String() != "late\n" || second.String() != "second\n" {
		t.Errorf("first %q, second %q", first, second)
	}
	first.mu.Lock()
	defer first.mu.Unlock()
	if e := first.errText.String(); !strings.HasPrefix(e, "err\n") || !strings.Contains(e, "later still") || !strings.Contains(e, "cell 1:4") {
		t.Errorf("stderr %q", e)
	}
}
