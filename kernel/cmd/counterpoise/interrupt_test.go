package main

import (
	"flag"
	"slices"
	"testing"
	"time"
)

var interrupts = flag.Int("interrupts", 3, "how many times TestInterrupts interrupts each kind of cell")

// interruptible are the cells of the bar "idle within 50 ms at p99".
var interruptible = []struct{ name, code string }{
	{"loop", "for {\n\tkept = kept\n}"},
	{"sleep", "time.Sleep(time.Hour)"},
	{"channel", "<-make(chan int)"},
	{"simulation", `motion.Solve(swing, []float64{1, 0}, 0, 1e12, motion.Options{})`},
	{"own simulation", "x, v := 1.0, 0.0\nfor {\n\tv -= 1e-6 * x\n\tx += 1e-6 * v\n}"},
}

// An interrupt ends a loop, a sleep, a wait and a computation of the library,
// and what earlier cells declared is kept. How long it takes is printed:
//
//	go test ./kernel/cmd/counterpoise -run TestInterrupts -v -interrupts 100
func TestInterrupts(t *testing.T) {
	c := startClient(t)
	if r := c.run("import (\n\t\"time\"\n\n\t\"counterpoise/mechanics/motion\"\n)\n\nvar kept = 12321\n\nswing := motion.Of(2, func(dst []float64, t float64, y []float64) { dst[0], dst[1] = y[1], -y[0] })\n_ = time.Now"); r.Status != "ok" {
		t.Fatalf("%+v", r)
	}
	for _, tt := range interruptible {
		var took []time.Duration
		for range *interrupts {
			c.forget()
			id := c.execute(tt.code)
			time.Sleep(20 * time.Millisecond) // so that it has begun
			began := time.Now()
			answered := c.interrupt()
			r := c.outcome(id)
			took = append(took, time.Since(began))
			answered()
			if r.Ename != "Interrupted" {
				t.Errorf("%s: %+v", tt.name, r)
			}
			if r := c.run("kept"); r.shown != "12321" {
				t.Fatalf("%s: state afterwards: %+v", tt.name, r)
			}
		}
		slices.Sort(took)
		t.Logf("%-15s %d interrupts, to idle: p50 %v, p99 %v, longest %v", tt.name, len(took), took[len(took)/2].Round(time.Microsecond), took[(99*len(took)+99)/100-1].Round(time.Microsecond), took[len(took)-1].Round(time.Microsecond))
	}
}
