package tape_test

import (
	"bufio"
	"bytes"
	"encoding/json"
	"flag"
	"os/exec"
	"slices"
	"testing"
	"time"
)

// peer is the compiled program that measures one right-hand side of the double
// pendulum in C++; see the developers' notes for how it is built.
var peer = flag.String("peer", "", "program of the C++ right-hand side to measure beside the tape")

// cost returns the time in ns of f per unit: the second smallest of many short
// runs, since other work may run on the machine.
func cost(units int, f func()) float64 {
	const runs, run = 40, 3 * time.Millisecond
	f()
	var ns []float64
	for range runs {
		n, start := 0, time.Now()
		for time.Since(start) < run {
			for range 8 {
				f()
			}
			n += 8
		}
		ns = append(ns, float64(time.Since(start).Nanoseconds())/float64(n*units))
	}
	slices.Sort(ns)
	return ns[1]
}

// TestCostBesidePeer prints what one right-hand side of the double pendulum
// costs on the tape and in C++, both measured now. It asserts nothing about
// time: clocks differ. Bars: scalar at most 2.0, batch at most 0.85 of C++.
func TestCostBesidePeer(t *testing.T) {
	if *peer == "" {
		t.Skip("give -peer PROGRAM to measure")
	}
	run := func() map[string]float64 {
		out, err := exec.Command(*peer).Output()
		if err != nil {
			t.Fatal(err)
		}
		ns := map[string]float64{}
		for sc := bufio.NewScanner(bytes.NewReader(out)); sc.Scan(); {
			var line struct {
				Evaluator string
				NS        float64
			}
			if err := json.Unmarshal(sc.Bytes(), &line); err != nil {
				t.Fatal(err)
			}
			ns[line.Evaluator] = line.NS
		}
		return ns
	}
	p, s := doublePendulum(t), states()
	d, scratch := make([]float64, 4), p.NewScratch()
	cpp := run()["cpp_native"]
	again := func() { // the peer prints medians: take the quietest of several runs, before and after
		for range 3 {
			cpp = min(cpp, run()["cpp_native"])
		}
	}
	again()
	scalar := cost(len(s), func() {
		for i := range s {
			p.Eval(d, s[i][:], scratch)
		}
	})
	hand := cost(len(s), func() {
		for i := range s {
			closedForm(s[i][:], d)
		}
	})
	in, out := make([][]float64, 4), make([][]float64, 4)
	for k := range in {
		in[k], out[k] = make([]float64, len(s)), make([]float64, len(s))
		for i, y := range s {
			in[k][i] = y[k]
		}
	}
	batchScratch := p.NewBatchScratch()
	batch := cost(len(s), func() { p.EvalBatch(out, in, batchScratch) })
	again()
	t.Logf("C++ %.1f ns; scalar tape %.1f ns (%.2f of it), batch %.1f ns (%.2f), Go by hand %.1f ns (%.2f)",
		cpp, scalar, scalar/cpp, batch, batch/cpp, hand, hand/cpp)
}
