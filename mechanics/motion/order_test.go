package motion

import (
	"math"
	"testing"
)

// bob is a pendulum as a system of second order, with its energy.
type bob struct{ System }

func newBob() System {
	return bob{Newton(1, func(dst []float64, _ float64, q []float64) { dst[0] = -math.Sin(q[0]) })}
}

func (b bob) Accelerations(dst []float64, t float64, q []float64) {
	b.System.(Accelerator).Accelerations(dst, t, q)
}
func (b bob) Energy(_ float64, y []float64) float64 { return y[1]*y[1]/2 - math.Cos(y[0]) }

// Halving the steps must divide the error by 2^p, neither less nor (or the
// method is not the one it says) much more. The reference is another method of
// the package at its tightest, which the 30-digit problems vouch for.
func TestOrderOfConvergence(t *testing.T) {
	s := newBob()
	y, to := []float64{1.5, 0.5}, 6.0
	exact, err := Solve(s, y, 0, to, Options{Relative: 1e-15, Absolute: 1e-15, Unchecked: true})
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		m     Method
		n     int // steps of the coarser run
		order float64
	}{
		{Euler, 4000, 1}, {SymplecticEuler, 1000, 1}, {Verlet, 200, 2}, {RungeKutta4, 100, 4}, {BlanesMoan4, 24, 4},
		{KahanLi6, 24, 6}, {KahanLi8, 24, 8}, {Gauss4, 60, 4}, {Gauss6, 24, 6},
		{DormandPrince5, 60, 5}, {DormandPrince8, 24, 8}, {Verner9, 16, 9}, {Nystrom12, 4, 12},
	} {
		wrong := func(n int) float64 {
			o := Options{Unchecked: true, EndOnly: true, Step: to / float64(n)}
			run, err := along(s, y, &o, tt.m, uniformMesh(0, to, o.Step))
			if err != nil {
				t.Fatalf("%v: %v", tt.m, err)
			}
			if run.Steps != n {
				t.Fatalf("%v: %d steps, want %d", tt.m, run.Steps, n)
			}
			return apart(run.End(), exact.End())
		}
		a, b := wrong(tt.n), wrong(2*tt.n)
		if order := math.Log2(a / b); math.Abs(order-tt.order) > 0.12*tt.order {
			t.Errorf("%v: order %.2f (errors %.2g, %.2g), want %g", tt.m, order, a, b, tt.order)
		}
	}
}

// The collocation methods of few stages have closed coefficients.
//
// Source: Hairer and Wanner II, tables IV.5.1 (Gauss of order 4) and IV.5.6
// (Radau IIA of order 5).
func TestCollocationCoefficients(t *testing.T) {
	r3, r6 := math.Sqrt(3), math.Sqrt(6)
	for _, tt := range []struct {
		name string
		got  collocation
		a    [][]float64
		b, c []float64
	}{
		{"Gauss 4", gaussCollocation(2), [][]float64{{1. / 4, 1./4 - r3/6}, {1./4 + r3/6, 1. / 4}}, []float64{1. / 2, 1. / 2}, []float64{1./2 - r3/6, 1./2 + r3/6}},
		{
			"Radau IIA 5", radauCollocation(3), [][]float64{
				{(88 - 7*r6) / 360, (296 - 169*r6) / 1800, (-2 + 3*r6) / 225},
				{(296 + 169*r6) / 1800, (88 + 7*r6) / 360, (-2 - 3*r6) / 225},
				{(16 - r6) / 36, (16 + r6) / 36, 1. / 9},
			}, []float64{(16 - r6) / 36, (16 + r6) / 36, 1. / 9}, []float64{(4 - r6) / 10, (4 + r6) / 10, 1},
		},
	} {
		for i := range tt.a {
			for k := range tt.a[i] {
				if math.Abs(tt.got.a[i][k]-tt.a[i][k]) > 4e-16 {
					t.Errorf("%s: a_%d%d = %.17g, want %.17g", tt.name, i+1, k+1, tt.got.a[i][k], tt.a[i][k])
				}
			}
			if math.Abs(tt.got.b[i]-tt.b[i]) > 4e-16 || math.Abs(tt.got.c[i]-tt.c[i]) > 4e-16 {
				t.Errorf("%s: b_%d = %.17g, c = %.17g, want %.17g, %.17g", tt.name, i+1, tt.got.b[i], tt.got.c[i], tt.b[i], tt.c[i])
			}
		}
	}
	// order conditions of the larger ones, by rooted trees
	for _, tt := range []struct {
		name  string
		m     collocation
		order int
	}{
		{"Gauss 6", gaussCollocation(3), 6}, {"Radau IIA 5", radauCollocation(3), 5},
		{"Radau IIA 9", radauCollocation(5), 9}, {"Radau IIA 13", radauCollocation(7), 9},
	} {
		m := tableau{n: len(tt.m.c), a: map[int]map[int]float64{}, b: map[int]float64{}}
		for i := range tt.m.c {
			m.a[i+1], m.b[i+1] = map[int]float64{}, tt.m.b[i]
			for k := range tt.m.c {
				m.a[i+1][k+1] = tt.m.a[i][k]
			}
		}
		for n := 1; n <= tt.order; n++ {
			if d := m.defect(n); d > 1e-14 {
				t.Errorf("%s: conditions of order %d are violated by %.1e", tt.name, n, d)
			}
		}
	}
	// the real eigenvalue of the inverse matrix of Radau IIA 5, equation
	// (IV.8.2) and text: 6 + 81^(1/3) - 9^(1/3) all over 30 is its inverse
	if want := 30 / (6 + math.Cbrt(81) - math.Cbrt(9)); math.Abs(radauTables[3].gamma-want) > 1e-14 {
		t.Errorf("γ = %.17g, want %.17g", radauTables[3].gamma, want)
	}
}

// The Nyström weights integrate powers exactly: Σ b'_i c_i^k = 1/(k+1) and
// Σ b_i c_i^k = 1/((k+1)(k+2)).
//
// Source: Hairer, Nørsett and Wanner I, section II.14 (quadrature conditions).
func TestNystromQuadrature(t *testing.T) {
	c := [...]float64{7: nc7, 8: nc8, 9: nc9, 10: nc10, 11: nc11, 12: nc12, 13: nc13, 14: nc14, 15: nc15, 16: 1, 17: 1}
	q := [...]float64{1: nq1, 7: nq7, 8: nq8, 9: nq9, 10: nq10, 11: nq11, 12: nq12, 13: nq13, 14: nq14, 15: nq15, 17: 0}
	v := [...]float64{1: nv1, 7: nv7, 8: nv8, 9: nv9, 10: nv10, 11: nv11, 12: nv12, 13: nv13, 14: nv14, 15: nv15, 16: nv16, 17: nv17}
	for k := range 13 {
		sq, sv := 0.0, 0.0
		for i := 1; i <= 17; i++ {
			power := math.Pow(c[i], float64(k))
			sq += q[i] * power
			sv += v[i] * power
		}
		if d := sv - 1/float64(k+1); k < 12 && math.Abs(d) > 1e-15 || k == 12 && math.Abs(d) < 1e-9 {
			t.Errorf("velocities, power %d: off by %.1e", k, d)
		}
		if d := sq - 1/float64((k+1)*(k+2)); k < 11 && math.Abs(d) > 1e-15 {
			t.Errorf("coordinates, power %d: off by %.1e", k, d)
		}
	}
}

// A step allocates nothing, whatever the method.
func TestStepsAllocateNothing(t *testing.T) {
	s := newBob()
	tol := []float64{1e-9, 1e-9}
	for m := DormandPrince8; m <= Euler; m++ {
		if m == Taylor {
			continue // see the example with a compiled system
		}
		st, err := newStepper(m, s, &Options{}, tol, tol)
		if err != nil {
			t.Fatal(err)
		}
		st.begin(0, []float64{1, 0})
		h := 1e-3
		at := 0.0
		if n := testing.AllocsPerRun(100, func() {
			st.attempt(h)
			at += h
			st.accept(at)
		}); n != 0 {
			t.Errorf("%v: %g allocations a step", m, n)
		}
	}
}

// The dense output joins the steps smoothly and is as good as its order.
func TestDenseOutput(t *testing.T) {
	s := Of(2, func(dst []float64, _ float64, y []float64) { dst[0], dst[1] = y[1], -y[0] })
	for _, tt := range []struct {
		m    Method
		h    float64
		good float64 // largest error inside the run
	}{{DormandPrince8, 0, 2e-9}, {DormandPrince5, 0, 1e-7}, {Radau, 0, 1e-6}, {RungeKutta4, 0.01, 1e-8}} {
		run, err := Solve(s, []float64{0, 1}, 0, 10, Options{Method: tt.m, Step: tt.h, Unchecked: true})
		if err != nil {
			t.Fatal(err)
		}
		for k := range 1001 {
			at := 10 * float64(k) / 1000
			y, err := run.At(at)
			if err != nil {
				t.Fatal(err)
			}
			if d := math.Max(math.Abs(y[0]-math.Sin(at)), math.Abs(y[1]-math.Cos(at))); d > tt.good {
				t.Errorf("%v: at %g off by %.1e", tt.m, at, d)
				break
			}
		}
		// before and after a knot
		k := len(run.T) / 2
		before, _ := run.At(run.T[k] - 1e-13)
		after, _ := run.At(run.T[k] + 1e-13)
		if apart(before, after) > 1e-12 || apart(before, run.Y[k]) > 1e-12 {
			t.Errorf("%v: a jump at a knot: %v, %v, %v", tt.m, before, run.Y[k], after)
		}
	}
}

// log2 and exp2 stand in for math.Pow in the step control; a step size needs
// a per cent.
func TestRoughPowers(t *testing.T) {
	for x := 1e-30; x < 1e30; x *= 1.37 {
		if d := log2(x) - math.Log2(x); math.Abs(d) > 0.01 {
			t.Fatalf("log2(%g) is off by %g", x, d)
		}
	}
	for x := -100.0; x < 100; x += 0.0137 {
		if d := exp2(x)/math.Exp2(x) - 1; math.Abs(d) > 0.005 {
			t.Fatalf("exp2(%g) is off by %g", x, d)
		}
	}
}
