package modes_test

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"counterpoise/mechanics/modes"
	"counterpoise/testdata"

	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"
)

// ulps tells by how many units of the last place got is off.
func ulps(got, want float64) float64 {
	if got == want {
		return 0
	}
	return math.Abs(got-want) / (math.Nextafter(math.Abs(want), math.Inf(1)) - math.Abs(want))
}

// Chains of equal masses and springs, and the double pendulum of equal masses
// and rods, to 4 units of the last place of 30 digits.
//
// Source: testdata/published/reference-values.
func TestFrequenciesToTheLastPlaces(t *testing.T) {
	var file struct {
		Chains struct {
			Values map[string][]json.Number
		} `json:"spring_chains"`
		Double struct {
			Squares []json.Number `json:"omega2_over_g_per_L"`
			Omega   []json.Number
			Shape   []json.Number `json:"shape_th2_over_th1"`
		} `json:"double_pendulum_modes"`
	}
	if err := json.Unmarshal(testdata.Read(t, "reference-values", "reference_values.json"), &file); err != nil {
		t.Fatal(err)
	}
	if len(file.Chains.Values) != 6 {
		t.Fatalf("%d chains, want 6", len(file.Chains.Values))
	}
	for name, want := range file.Chains.Values {
		n := len(want)
		k := mat.NewSymDense(n, nil)
		for i := range n {
			k.SetSym(i, i, 2)
			if i > 0 {
				k.SetSym(i-1, i, -1)
			}
		}
		if strings.HasSuffix(name, "_free") {
			k.SetSym(n-1, n-1, 1)
		}
		if strings.Contains(name, "free_free") {
			k.SetSym(0, 0, 1)
		}
		m, err := modes.Of(identity(n), k)
		if err != nil {
			t.Fatal(err)
		}
		for i, v := range want {
			w, _ := v.Float64()
			if got := m.AngularFrequency(i); ulps(got, w) > 4 {
				t.Errorf("%s: mode %d at %.17g, want %s", name, i+1, got, v)
			}
		}
	}
	m, err := modes.Of(mat.NewSymDense(2, []float64{2, 1, 1, 1}), mat.NewSymDense(2, []float64{2 * 9.81, 0, 0, 9.81}))
	if err != nil {
		t.Fatal(err)
	}
	for i := range 2 {
		w, _ := file.Double.Omega[i].Float64()
		s, _ := file.Double.Squares[i].Float64()
		shape, _ := file.Double.Shape[i].Float64()
		if ulps(m.AngularFrequency(i), w) > 4 || ulps(m.Squares[i], 9.81*s) > 4 {
			t.Errorf("double pendulum: %.17g rad/s, want %.17g", m.AngularFrequency(i), w)
		}
		if got := m.Shapes.At(1, i) / m.Shapes.At(0, i); math.Abs(got-shape) > 1e-15*4 {
			t.Errorf("double pendulum: shape %.17g, want %.17g", got, shape)
		}
	}
}

func identity(n int) *mat.SymDense {
	m := mat.NewSymDense(n, nil)
	for i := range n {
		m.SetSym(i, i, 1)
	}
	return m
}

// Double pendulum with an exact ratio of 2:1: upper 2 kg at 0.3 m, lower 1 kg
// at 0.2 m, g = 9.80665 m/s².
//
// Source: equation 11.21 of Kibble and Berkshire, Classical Mechanics; the
// figures computed from it.
func TestDoublePendulumTwoToOne(t *testing.T) {
	const upper, lower, long, short, g = 2, 1, 0.3, 0.2, 9.80665
	m, err := modes.Of(
		mat.NewSymDense(2, []float64{(upper + lower) * long * long, lower * long * short, lower * long * short, lower * short * short}),
		mat.NewSymDense(2, []float64{(upper + lower) * g * long, 0, 0, lower * g * short}),
	)
	if err != nil {
		t.Fatal(err)
	}
	testdata.Agrees(t, m.Squares[0], "24.516625")
	testdata.Agrees(t, m.Squares[1], "98.0665")
	testdata.Agrees(t, m.Frequency(0), "0.788044")
	testdata.Agrees(t, m.Frequency(1), "1.576088")
}

// Two equal uniform rods, one hung from the other: ω² = (3 ∓ 6/√7) g/L.
//
// Source: from memory, recomputed from the energies.
func TestTwoRods(t *testing.T) {
	m, err := modes.Of(mat.NewSymDense(2, []float64{4. / 3, 0.5, 0.5, 1. / 3}), mat.NewSymDense(2, []float64{1.5, 0, 0, 0.5}))
	if err != nil {
		t.Fatal(err)
	}
	testdata.Agrees(t, m.Squares[0], "0.732213162")
	testdata.Agrees(t, m.Squares[1], "5.267786838")
}

// pair is two equal pendulums of 0.300 m and 0.950 kg with a spring of
// 1.50 N/m between the masses, for small displacements of the masses.
func pair(t testing.TB) *modes.Modes {
	const l, mass, k, g = 0.300, 0.950, 1.50, 9.81
	m, err := modes.Of(mat.NewSymDense(2, []float64{mass, 0, 0, mass}), mat.NewSymDense(2, []float64{mass*g/l + k, -k, -k, mass*g/l + k}))
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// Beats of two coupled pendulums.
//
// Source: a problem of King, Vibrations and Waves (book from memory): 0.91011
// and 0.95304 Hz, first standstill after 11.646 s (recomputed).
func TestBeats(t *testing.T) {
	m := pair(t)
	testdata.Agrees(t, m.Frequency(0), "0.91011")
	testdata.Agrees(t, m.Frequency(1), "0.95304")
	testdata.Agrees(t, m.ExchangeTime(0, 1), "11.646")
	r, err := m.Response([]float64{0.01, 0}, nil)
	if err != nil {
		t.Fatal(err)
	}
	start := r.PartEnergies(0)
	later := r.PartEnergies(m.ExchangeTime(0, 1))
	whole := start[0] + start[1]
	// the coupling's energy is shared, so a hundredth may stay behind
	if later[1] < 0.99*whole || math.Abs(later[0]+later[1]-whole) > 1e-12*whole {
		t.Errorf("energies at first %v, at the exchange %v", start, later)
	}
	e := r.ModeEnergies()
	if math.Abs(e[0]+e[1]-whole) > 1e-12*whole {
		t.Errorf("modes hold %v, parts %g", e, whole)
	}
}

// Laws for all systems: modes are orthonormal under M, diagonalise K, rebuild
// any start, and keep the energy.
func TestLawsOfModes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 6).Draw(t, "n")
		random := func(name string) *mat.SymDense {
			a := mat.NewDense(n, n, nil)
			for i := range n {
				for j := range n {
					a.Set(i, j, rapid.Float64Range(-1, 1).Draw(t, name))
				}
			}
			var s mat.SymDense
			s.SymOuterK(1, a)
			for i := range n {
				s.SetSym(i, i, s.At(i, i)+0.3)
			}
			return &s
		}
		mass, stiffness := random("mass"), random("stiffness")
		m, err := modes.Of(mass, stiffness)
		if err != nil {
			t.Fatal(err)
		}
		var a, b mat.Dense
		a.Product(m.Shapes.T(), mass, m.Shapes)
		b.Product(m.Shapes.T(), stiffness, m.Shapes)
		for i := range n {
			for j := range n {
				one, square := 0.0, 0.0
				if i == j {
					one, square = 1, m.Squares[i]
				}
				if math.Abs(a.At(i, j)-one) > 1e-11 || math.Abs(b.At(i, j)-square) > 1e-10*(1+m.Squares[n-1]) {
					t.Fatalf("modes %d, %d: qᵀMq = %g, qᵀKq = %g (ω² %v)", i, j, a.At(i, j), b.At(i, j), m.Squares)
				}
			}
		}
		x, v := make([]float64, n), make([]float64, n)
		for i := range n {
			x[i], v[i] = rapid.Float64Range(-1, 1).Draw(t, "x"), rapid.Float64Range(-1, 1).Draw(t, "v")
		}
		r, err := m.Response(x, v)
		if err != nil {
			t.Fatal(err)
		}
		whole := 0.0
		for i, at := range []float64{0, 0.7, 31} {
			y, u := r.At(at)
			sum := 0.0
			for k, e := range r.PartEnergies(at) {
				sum += e
				if i == 0 && (math.Abs(y[k]-x[k]) > 1e-11 || math.Abs(u[k]-v[k]) > 1e-11) {
					t.Fatalf("starts at %v, %v; want %v, %v", y, u, x, v)
				}
			}
			if i == 0 {
				whole = sum
			}
			if math.Abs(sum-whole) > 1e-10*(1+whole) {
				t.Fatalf("energy %g at first, %g at t = %g", whole, sum, at)
			}
		}
	})
}

func TestUnstableAndFreeModes(t *testing.T) {
	m, err := modes.Of(identity(2), mat.NewSymDense(2, []float64{-4, 0, 0, 9}))
	if err != nil || m.Stable() || m.GrowthRate(0) != 2 || m.AngularFrequency(1) != 3 {
		t.Fatalf("%v, %v", m, err)
	}
	r, err := m.Response([]float64{1, 0}, []float64{0, 3})
	if err != nil {
		t.Fatal(err)
	}
	x, _ := r.At(1)
	if math.Abs(x[0]-math.Cosh(2)) > 1e-14 || math.Abs(x[1]-math.Sin(3)) > 1e-14 {
		t.Errorf("at 1 s: %v", x)
	}
	m, err = modes.Of(identity(2), mat.NewSymDense(2, []float64{1, -1, -1, 1}))
	if err != nil || m.Squares[0] != 0 || !math.IsInf(m.Period(0), 1) {
		t.Fatalf("%v, %v", m, err)
	}
	r, _ = m.Response([]float64{0, 0}, []float64{1, 1})
	if x, _ := r.At(3); math.Abs(x[0]-3) > 1e-14 || math.Abs(x[1]-3) > 1e-14 {
		t.Errorf("free motion: %v", x)
	}
}

// Figures of damping.
//
// Source: definitions as in any text on vibrations; ζ = 0.01 and 0.05 give the
// decrements 0.06283499 and 0.31455270, and 11.0312 and 2.20360 swings to half
// (computed).
func TestDampedModes(t *testing.T) {
	for _, tt := range []struct {
		zeta             float64
		decrement, swing string
	}{{0.01, "0.06283499", "11.0312"}, {0.05, "0.31455270", "2.20360"}, {0.1, "0.63148388", "1.09765"}} {
		const m, k = 0.2, 5.0
		list, err := modes.Damped(mat.NewSymDense(1, []float64{m}), mat.NewSymDense(1, []float64{k}), mat.NewDense(1, 1, []float64{2 * tt.zeta * math.Sqrt(k*m)}))
		if err != nil || len(list) != 1 {
			t.Fatalf("%v, %v", list, err)
		}
		testdata.Agrees(t, list[0].Decrement(), tt.decrement)
		testdata.Agrees(t, list[0].SwingsToHalf(), tt.swing)
		if math.Abs(list[0].Ratio()-tt.zeta) > 1e-14 || math.Abs(list[0].Natural()-5) > 1e-13 || math.Abs(list[0].Quality()-1/(2*tt.zeta)) > 1e-11 {
			t.Errorf("ζ = %g: %v", tt.zeta, list[0])
		}
	}
	// damping in proportion to the stiffness leaves the shapes alone and gives
	// each mode ζ = βω/2
	const beta = 0.02
	m := pair(t)
	var c mat.Dense
	c.Scale(beta, m.Stiffness)
	list, err := modes.Damped(m.Mass, m.Stiffness, &c)
	if err != nil || len(list) != 2 {
		t.Fatalf("%v, %v", list, err)
	}
	for i, d := range list {
		if w := m.AngularFrequency(i); math.Abs(d.Ratio()-beta*w/2) > 1e-12 || math.Abs(d.Natural()-w) > 1e-12*w {
			t.Errorf("mode %d: ζ = %g, want %g", i, d.Ratio(), beta*w/2)
		}
		if want := m.Shape(i)[1]; math.Abs(real(d.Shape[1])-want) > 1e-9 || math.Abs(imag(d.Shape[1])) > 1e-9 {
			t.Errorf("mode %d: shape %v, want 1, %g", i, d.Shape, want)
		}
	}
	// beyond critical damping: two time constants
	list, err = modes.Damped(identity(1), identity(1), mat.NewDense(1, 1, []float64{2.5}))
	if err != nil || len(list) != 2 || math.Abs(list[0].Decay-0.5) > 1e-14 || math.Abs(list[1].Decay-2) > 1e-14 {
		t.Errorf("%v, %v", list, err)
	}
}

func TestMistakenMatrices(t *testing.T) {
	two, one := identity(2), identity(1)
	nan := mat.NewSymDense(1, []float64{math.NaN()})
	if _, err := modes.Of(two, one); !errors.Is(err, modes.ErrDimension) {
		t.Error(err)
	}
	if _, err := modes.Of(mat.NewSymDense(2, []float64{1, 2, 2, 1}), two); !errors.Is(err, modes.ErrMass) {
		t.Error(err)
	}
	if _, err := modes.Of(one, nan); !errors.Is(err, modes.ErrNotFinite) {
		t.Error(err)
	}
	if _, err := modes.Damped(mat.NewSymDense(1, []float64{-1}), one, one); !errors.Is(err, modes.ErrMass) {
		t.Error(err)
	}
	if _, err := modes.Damped(one, one, two); !errors.Is(err, modes.ErrDimension) {
		t.Error(err)
	}
	m := pair(t)
	if _, err := m.Response([]float64{1}, nil); !errors.Is(err, modes.ErrDimension) {
		t.Error(err)
	}
	if _, err := m.PartEnergies([]float64{1, 0}, nil); !errors.Is(err, modes.ErrDimension) {
		t.Error(err)
	}
	if _, err := modes.SpectrumOf(make([]float64, 4), 1, modes.Hann); err == nil {
		t.Error("a spectrum of 4 samples")
	}
	if _, err := modes.SpectrumOf(make([]float64, 40), 0, modes.Hann); err == nil {
		t.Error("a spectrum with no sampling interval")
	}
	if _, err := modes.SpectrumOf(make([]float64, 40), 1, modes.Window(9)); err == nil {
		t.Error("a window that does not exist")
	}
}

func ExampleOf() {
	// two lanterns of 0.95 kg on strings of 0.3 m, a spring of 1.5 N/m between
	const l, mass, k, g = 0.300, 0.950, 1.50, 9.81
	m, err := modes.Of(
		mat.NewSymDense(2, []float64{mass, 0, 0, mass}),
		mat.NewSymDense(2, []float64{mass*g/l + k, -k, -k, mass*g/l + k}),
	)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(m)
	fmt.Printf("the swing passes over in %.1f s\n", m.ExchangeTime(0, 1))
	// Output:
	// mode 1: 0.9101 Hz, shape (1, 1)
	// mode 2: 0.953 Hz, shape (1, -1)
	// the swing passes over in 11.6 s
}

// One lantern is let go, the other hangs still: after the exchange time it is
// the other way round.
func ExampleModes_Response() {
	m := pair(nil)
	r, err := m.Response([]float64{0.01, 0}, nil) // m, released from rest
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, t := range []float64{0, m.ExchangeTime(0, 1) / 2, m.ExchangeTime(0, 1)} {
		e := r.PartEnergies(t)
		fmt.Printf("%5.2f s: %4.0f µJ and %4.0f µJ\n", t, e[0]*1e6, e[1]*1e6)
	}
	// Output:
	//  0.00 s: 1628 µJ and    0 µJ
	//  5.82 s:  814 µJ and  814 µJ
	// 11.65 s:    0 µJ and 1628 µJ
}
