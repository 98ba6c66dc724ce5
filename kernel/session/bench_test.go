package session

import (
	"context"
	"runtime"
	"testing"
	"time"

	"counterpoise/kernel/server"
)

const usualCell = `import (
	"fmt"
	"math"
	"gonum.org/v1/gonum/mat"
)

type Bob struct{ Mass, Length float64 }

func (b Bob) Period(g float64) float64 { return 2 * math.Pi * math.Sqrt(b.Length/g) }

bobs := []Bob{{0.1, 0.5}, {0.2, 1}}
total := 0.0
for i, b := range bobs {
	total += b.Period(9.81) * float64(i+1)
}
m := mat.NewDense(2, 2, []float64{1, 2, 3, 4})
fmt.Sprint(total, mat.Det(m))`

// BenchmarkCheck measures the check of a cell of some length before it runs.
func BenchmarkCheck(b *testing.B) {
	nb := open(b)
	nb.run(usualCell)
	b.ReportAllocs()
	for b.Loop() {
		c, wrong := nb.check(usualCell, 2)
		if len(wrong) > 0 {
			b.Fatal(wrong)
		}
		nb.forget(c)
	}
}

// BenchmarkTrivialCell measures a cell of one sum, from text to result.
func BenchmarkTrivialCell(b *testing.B) {
	nb := open(b)
	out := new(recorder)
	b.ReportAllocs()
	for b.Loop() {
		if r := nb.Execute(context.Background(), server.Cell{Code: "1+1", Number: 1}, out); r.Value == nil {
			b.Fatal("no value")
		}
	}
}

// BenchmarkUsualCell measures a cell of some length, from text to result.
func BenchmarkUsualCell(b *testing.B) {
	nb := open(b)
	b.ReportAllocs()
	for b.Loop() {
		if r, _ := nb.run(usualCell); r.Fault != nil {
			b.Fatal(r.Fault)
		}
	}
}

// BenchmarkLoop measures interpreted code: one round of a counting loop.
func BenchmarkLoop(b *testing.B) {
	nb := open(b)
	nb.run("func loop(n int) (s int) {\n\tfor i := 0; i < n; i++ {\n\t\ts += i * i % 7\n\t}\n\treturn\n}")
	b.ResetTimer()
	nb.run("loop(" + itoa(b.N) + ")")
}

// BenchmarkCall measures one interpreted call, by the Fibonacci numbers.
func BenchmarkCall(b *testing.B) {
	nb := open(b)
	nb.run("func fib(n int) int { if n < 2 { return n }; return fib(n-1) + fib(n-2) }")
	for b.Loop() {
		nb.run("fib(22)") // 57313 calls
	}
}

// BenchmarkCallback measures compiled code that calls a cell's function.
func BenchmarkCallback(b *testing.B) {
	nb := open(b)
	nb.run("import \"sort\"\ns := make([]int, 1<<12)\nfor i := range s { s[i] = i * 7919 % 4099 }")
	for b.Loop() {
		nb.run("t := append([]int{}, s...)\nsort.Slice(t, func(i, j int) bool { return t[i] < t[j] })")
	}
}

func itoa(n int) string {
	s := ""
	for ; n > 0; n /= 10 {
		s = string(rune('0'+n%10)) + s
	}
	if s == "" {
		return "0"
	}
	return s
}

func BenchmarkComplete(b *testing.B) {
	nb := open(b)
	nb.run(usualCell)
	for _, text := range []string{"fmt.Pri", "math.", "bobs[0].Per", "tot", "optimize.Mini"} {
		b.Run(text, func(b *testing.B) {
			for b.Loop() {
				if c := nb.Complete(context.Background(), text, len(text)); len(c.Items) == 0 {
					b.Fatal("nothing")
				}
			}
		})
	}
}

func BenchmarkInspect(b *testing.B) {
	nb := open(b)
	nb.run(usualCell)
	for b.Loop() {
		if in := nb.Inspect(context.Background(), "fmt.Println", 11, 0); !in.Found {
			b.Fatal("nothing")
		}
	}
}

// BenchmarkNew measures a session's start, to its first result.
func BenchmarkNew(b *testing.B) {
	for b.Loop() {
		nb := open(b)
		nb.run("1+1")
	}
	runtime.GC()
}

// BenchmarkInterrupt measures the time from an interrupt to the end of the cell;
// the slowest of all is reported too.
func BenchmarkInterrupt(b *testing.B) {
	for _, bb := range []struct{ name, cell string }{
		{"loop", "for {\n}"},
		{"sleep", "time.Sleep(time.Hour)"},
		{"channel", "<-make(chan int)"},
		{"compiled", "var mu sync.Mutex\nmu.Lock()\nmu.Lock()"},
	} {
		b.Run(bb.name, func(b *testing.B) {
			nb := open(b)
			nb.run("import (\n\"time\"\n\"sync\"\n)")
			var total, worst time.Duration
			for range b.N {
				ctx, cancel := context.WithCancel(context.Background())
				done := make(chan server.Result, 1)
				go func() { done <- nb.Execute(ctx, server.Cell{Code: bb.cell, Number: 2}, new(recorder)) }()
				time.Sleep(5 * time.Millisecond) // let it get going
				start := time.Now()
				cancel()
				<-done
				d := time.Since(start)
				total += d
				worst = max(worst, d)
			}
			b.ReportMetric(float64(total.Microseconds())/float64(b.N)/1000, "ms/interrupt")
			b.ReportMetric(float64(worst.Microseconds())/1000, "ms-worst")
		})
	}
}
