package session

import (
	"context"
	"runtime"
	"testing"
	"time"

	"counterpoise/kernel/server"
)

// An interrupt also ends what runs in the compiled library, and the next cell
// may start another such computation. The motion below would take many minutes.
func TestInterruptEndsALibraryComputation(t *testing.T) {
	nb := open(t)
	if got := nb.plain("import \"counterpoise/mechanics/motion\"\nkept := 12321\nfree := motion.Of(2, func(dst []float64, t float64, y []float64) { dst[0], dst[1] = y[1], -y[0] })"); got != "" {
		t.Fatal(got)
	}
	before := runtime.NumGoroutine()
	for range 3 {
		ctx, stop := context.WithCancel(context.Background())
		go func() { time.Sleep(50 * time.Millisecond); stop() }()
		begun := make(chan server.Result, 1)
		go func() {
			begun <- nb.Execute(ctx, server.Cell{Code: "motion.Solve(free, []float64{1, 0}, 0, 1e9, motion.Options{})", Number: 9}, new(recorder))
		}()
		r := <-begun
		stop()
		if r.Fault == nil {
			t.Fatal("the interrupted cell ended well")
		}
	}
	for deadline := time.Now().Add(10 * time.Second); runtime.NumGoroutine() > before+2; time.Sleep(10 * time.Millisecond) {
		if time.Now().After(deadline) {
			t.Fatalf("%d goroutines after the interrupts, %d before: the computations go on", runtime.NumGoroutine(), before)
		}
	}
	if got := nb.plain("import \"fmt\"\nrun, err := motion.Solve(free, []float64{1, 0}, 0, 1, motion.Options{})\nfmt.Printf(\"%.6f %v %d\\n\", run.End()[0], err, kept)"); got != "0.540302 <nil> 12321\n" {
		t.Errorf("after the interrupts: %q", got)
	}
}

// A package may first be met as one that another package imports, in part, and
// be imported by a cell afterwards.
func TestPackagesMetInPartAreImportedWhole(t *testing.T) {
	for _, first := range []string{"mechanics/motion", "mechanics/figure", "mechanics/lagrange", "mechanics/measure", "worksheets/worksheet"} {
		nb := open(t)
		if got := nb.plain("import \"counterpoise/" + first + "\""); got != "" {
			t.Fatalf("%s: %s", first, got)
		}
		for _, tt := range []struct{ cell, want string }{
			{"import \"fmt\"\nfmt.Println(1)", "1\n"},
			{"import \"math\"\nfmt.Printf(\"%.3f\\n\", math.Hypot(3, 4))", "5.000\n"},
			{"import \"strings\"\nstrings.ToUpper(\"a\")", "= \"A\""},
			{"import (\n\t\"errors\"\n\t\"sort\"\n)\nx := []int{2, 1}\nsort.Ints(x)\nfmt.Println(x, errors.New(\"e\"))", "[1 2] e\n"},
			{"import \"counterpoise/mechanics/body\"\nbody.V(1, 2, 3).X", "= 1"},
			{"import \"gonum.org/v1/gonum/mat\"\nmat.NewDense(1, 1, []float64{2}).At(0, 0)", "= 2"},
			{"import \"time\"\ntime.Duration(1500) * time.Millisecond > time.Second", "= true"},
		} {
			if got := nb.plain(tt.cell); got != tt.want {
				t.Errorf("after %s: %q gives %q, want %q", first, tt.cell, got, tt.want)
			}
		}
	}
}
