package lagrange_test

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"os/exec"
	"slices"
	"strings"
	"testing"
	"time"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/expr/tape"
	"counterpoise/mechanics/lagrange"
)

var (
	ginac    = flag.String("ginac", "", "program that times GiNaC on chains of pendulums, to measure beside")
	python   = flag.String("python", "", "Python with SymPy, to measure beside")
	sympyMax = flag.Int("sympy-max", 3, "longest chain to give to SymPy; it needs minutes from 4 on")
)

// operations returns the operations of mass matrix and forces of a chain after
// sharing, parameters as symbols.
func operations(t testing.TB, e *lagrange.Equations) int {
	var outputs []expr.Expr
	for i, row := range e.Mass {
		outputs = append(outputs, row[:i+1]...)
	}
	outputs = append(outputs, e.Force...)
	seen := map[string]bool{}
	var inputs []string
	for _, o := range outputs {
		for _, name := range o.Symbols() {
			if !seen[name] {
				seen[name] = true
				inputs = append(inputs, name)
			}
		}
	}
	p, err := tape.Compile(outputs, inputs, tape.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return p.Operations()
}

// Operations of mass matrix and forces after common subexpressions are shared,
// against those of SymPy 1.11.1 (LagrangesMethod, then cse and count_ops):
// measured for this project.
func TestOperationsAfterSharing(t *testing.T) {
	for n, most := range []int{1: 15, 2: 91, 3: 179, 4: 292, 5: 431} {
		if n == 0 {
			continue
		}
		e, err := lagrange.NLinkPendulum(n).Derive()
		if err != nil {
			t.Fatal(err)
		}
		got := operations(t, e)
		t.Logf("N = %d: %d operations, SymPy %d", n, got, most)
		if got > most {
			t.Errorf("N = %d: %d operations, SymPy needs %d", n, got, most)
		}
	}
}

// derive is what the benchmark times: energies to a compiled program.
func derive(t testing.TB, n int) {
	e, err := lagrange.NLinkPendulum(n).Derive()
	if err != nil {
		t.Fatal(err)
	}
	if _, err := e.Compile(nil); err != nil {
		t.Fatal(err)
	}
}

func BenchmarkDerive(b *testing.B) {
	for n := 1; n <= 5; n++ {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				derive(b, n)
			}
		})
	}
}

// ours returns the seconds to derive, simplify and compile: the second
// smallest of 15, since other work may run on the machine.
func ours(t *testing.T, n int) float64 {
	var s []float64
	for range 15 {
		start := time.Now()
		derive(t, n)
		s = append(s, time.Since(start).Seconds())
	}
	slices.Sort(s)
	return s[1]
}

// sympy derives and simplifies the same chain and prints the seconds.
const sympy = `
import sys, time, sympy as sp
from sympy.physics.mechanics import dynamicsymbols, LagrangesMethod
N = int(sys.argv[1]); t = dynamicsymbols._t; q = dynamicsymbols("q1:%d" % (N + 1))
m = sp.symbols("m1:%d" % (N + 1), positive=True); l = sp.symbols("l1:%d" % (N + 1), positive=True); g = sp.symbols("g", positive=True)
x = y = sp.Integer(0); L = sp.Integer(0)
for i in range(N):
    x = x + l[i]*sp.sin(q[i]); y = y - l[i]*sp.cos(q[i]); L += m[i]*(x.diff(t)**2 + y.diff(t)**2)/2 - m[i]*g*y
s = time.perf_counter()
LM = LagrangesMethod(L, q); LM.form_lagranges_equations(); M, F = LM.mass_matrix, LM.forcing
d = time.perf_counter(); sp.simplify(M); sp.simplify(F); e = time.perf_counter()
c, r = sp.cse([M, F]); ops = sum(sp.count_ops(v) for _, v in c) + sum(sp.count_ops(v) for v in r)
print(d - s, e - d, int(ops))
`

// TestDeriveBesidePeers prints the time from energies to a compiled program
// beside GiNaC's bare derivation and SymPy's derivation and simplification,
// all measured now. Bars: at most twice GiNaC, at most 1/100 of SymPy.
func TestDeriveBesidePeers(t *testing.T) {
	if *ginac == "" && *python == "" {
		t.Skip("give -ginac PROGRAM or -python PROGRAM to measure")
	}
	bare := map[int]float64{}
	if *ginac != "" {
		out, err := exec.Command(*ginac).Output()
		if err != nil {
			t.Fatal(err)
		}
		for sc := bufio.NewScanner(bytes.NewReader(out)); sc.Scan(); {
			var line struct {
				N      int
				Derive float64 `json:"derive_s"`
			}
			if err := json.Unmarshal(sc.Bytes(), &line); err != nil {
				t.Fatal(err)
			}
			bare[line.N] = line.Derive
		}
	}
	for n := 1; n <= 5; n++ {
		s := ours(t, n)
		text := fmt.Sprintf("N = %d: %.3g ms", n, s*1e3)
		if g, ok := bare[n]; ok {
			text += fmt.Sprintf("; GiNaC derives in %.3g ms (ratio %.2f)", g*1e3, s/g)
		}
		if *python != "" && n <= *sympyMax {
			ctx, cancel := context.WithTimeout(context.Background(), 5*time.Minute)
			out, err := exec.CommandContext(ctx, *python, "-c", sympy, fmt.Sprint(n)).Output()
			cancel()
			if err != nil {
				text += "; SymPy: no result within 5 minutes"
			} else {
				var d, simplify float64
				var ops int
				if _, err := fmt.Sscan(strings.TrimSpace(string(out)), &d, &simplify, &ops); err != nil {
					t.Fatal(err)
				}
				text += fmt.Sprintf("; SymPy derives and simplifies in %.3g ms (ratio 1/%.0f), %d operations after cse", (d+simplify)*1e3, (d+simplify)/s, ops)
			}
		}
		t.Log(text)
	}
}
