package problems_test

import (
	"encoding/json"
	"math"
	"testing"

	"counterpoise/mechanics/problems"
	"counterpoise/testdata"

	"github.com/google/go-cmp/cmp"
)

// rk4 integrates with steps of the classical method, to check a problem without
// package motion.
func rk4(f func(d, y []float64, t float64), y []float64, until float64, steps int) []float64 {
	n := len(y)
	y = append([]float64(nil), y...)
	k, z := make([][]float64, 4), make([]float64, n)
	for i := range k {
		k[i] = make([]float64, n)
	}
	h := until / float64(steps)
	for s := range steps {
		t := h * float64(s)
		f(k[0], y, t)
		for j, c := range []float64{0.5, 0.5, 1} {
			for i := range z {
				z[i] = y[i] + c*h*k[j][i]
			}
			f(k[j+1], z, t+c*h)
		}
		for i := range y {
			y[i] += h / 6 * (k[0][i] + 2*k[1][i] + 2*k[2][i] + k[3][i])
		}
	}
	return y
}

func rates(t *testing.T, p problems.Problem) func(d, y []float64, t float64) {
	program, err := p.Program()
	if err != nil {
		t.Fatal(p.Name, err)
	}
	in, s := make([]float64, len(p.State)+1), program.NewScratch()
	return func(d, y []float64, time float64) {
		copy(in, y)
		in[len(y)] = time
		program.Eval(d, in, s)
	}
}

func TestEndStatesAreThePublishedOnes(t *testing.T) {
	var file struct {
		Problems map[string]struct{ Y []string }
	}
	if err := json.Unmarshal(testdata.Read(t, "motion-reference", "reference.json"), &file); err != nil {
		t.Fatal(err)
	}
	for name, want := range file.Problems {
		p, err := problems.Named(name)
		if err != nil {
			t.Fatal(err)
		}
		if d := cmp.Diff(want.Y, p.End); d != "" {
			t.Errorf("%s: %s", name, d)
		}
	}
}

// Short runs of a plain method go to the published end state, the closed form,
// or the same energy. Each tolerance is the method's error at that step, found
// by halving the step.
func TestProblemsGoWhereTheySay(t *testing.T) {
	for _, tt := range []struct {
		name      string
		until     float64 // 0: the problem's own
		steps     int
		tolerance float64
	}{
		{"pendulum", 0, 100000, 1e-4},
		{"double_pendulum", 0, 20000, 1e-5},
		{"spring_pendulum", 0, 20000, 1e-5},
		{"henon_heiles", 0, 40000, 1e-7},
		{"pleiades", 0, 30000, 2e-2},
		{"damped_oscillator", 0, 4000, 1e-9},
		{"beating_pendulums", 0, 20000, 1e-10},
		{"kepler", 0, 8000, 1e-8},
		{"chaotic_henon_heiles", 20, 8000, 1e-8},
		{"free_rigid_body", 0, 20000, 1e-9},
		{"arenstorf", 2, 40000, 1e-4},
	} {
		t.Run(tt.name, func(t *testing.T) {
			p, err := problems.Named(tt.name)
			if err != nil {
				t.Fatal(err)
			}
			until := tt.until
			if until == 0 {
				until = p.Until
			}
			y := rk4(rates(t, p), p.Start, until, tt.steps)
			switch {
			case p.End != nil && tt.until == 0:
				if d := p.Distance(y); !(d < tt.tolerance) {
					t.Errorf("error %g at the end", d)
				}
			case p.Solution != nil:
				for i, want := range p.Solution(until) {
					if math.Abs(y[i]-want) > tt.tolerance {
						t.Errorf("component %d is %g, want %g", i, y[i], want)
					}
				}
			}
			if p.Energy.IsZero() {
				return
			}
			e, err := p.EnergyProgram()
			if err != nil {
				t.Fatal(err)
			}
			a, b := make([]float64, 1), make([]float64, 1)
			e.Eval(a, append(append([]float64(nil), p.Start...), 0), nil)
			e.Eval(b, append(y, until), nil)
			if math.Abs(a[0]-b[0]) > tt.tolerance*math.Max(1, math.Abs(a[0])) {
				t.Errorf("energy went from %g to %g", a[0], b[0])
			}
		})
	}
}

func TestEveryProblemIsWhole(t *testing.T) {
	for _, p := range problems.All() {
		if p.Source == "" || p.Title == "" || len(p.Start) != len(p.State) || p.Until <= 0 {
			t.Errorf("%s lacks a source, a title, a start or an end", p.Name)
		}
		d := make([]float64, len(p.State))
		rates(t, p)(d, p.Start, 0)
		for i, v := range d {
			if v-v != 0 {
				t.Errorf("%s: rate %d is %v at the start", p.Name, i, v)
			}
		}
	}
	if _, err := problems.Named("heron"); err == nil {
		t.Error("an unknown name is found")
	}
}

func TestHenonHeilesStartsAsTheReference(t *testing.T) {
	// the start of the reference program, in hexadecimal as C prints it
	if v := problems.HenonHeiles().Start[2]; v != 0x1.962c1d785307ep-2 {
		t.Errorf("start %x", v)
	}
}
