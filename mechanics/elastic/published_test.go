package elastic

import (
	"encoding/json"
	"math"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/gonum/floats/scalar"
	"gonum.org/v1/gonum/spatial/r2"
	"pgregory.net/rapid"

	"counterpoise/mechanics/body"
	"counterpoise/testdata"
)

func ulps(got, want float64) float64 {
	return math.Abs(got-want) / (math.Nextafter(want, math.Inf(1)) - want)
}

// Reference values at 30 digits (testdata/published/reference-values), to 4 units
// in the last place.
func TestRootsAgainstReferenceValues(t *testing.T) {
	var reference struct {
		Bare struct{ Values []string }            `json:"cantilever_beta_L"`
		Tip  struct{ Values map[string][]string } `json:"cantilever_tip_mass_beta_L"`
	}
	if err := json.Unmarshal(testdata.Read(t, "reference-values", "reference_values.json"), &reference); err != nil {
		t.Fatal(err)
	}
	check := func(ratio float64, values []string) {
		if len(values) != 6 {
			t.Fatalf("%d values", len(values))
		}
		for i, text := range values {
			want, err := strconv.ParseFloat(text, 64)
			if err != nil {
				t.Fatal(err)
			}
			got, err := RootWithTip(ratio, i+1)
			if err != nil || ulps(got, want) > 4 {
				t.Errorf("ratio %v, mode %d: %.17g, want %s (%v)", ratio, i+1, got, text, err)
			}
		}
	}
	check(0, reference.Bare.Values)
	if len(reference.Tip.Values) != 6 {
		t.Fatalf("%d ratios", len(reference.Tip.Values))
	}
	for ratio, values := range reference.Tip.Values {
		r, err := strconv.ParseFloat(ratio, 64)
		if err != nil {
			t.Fatal(err)
		}
		check(r, values)
	}
}

// Blevins, Formulas for Natural Frequency and Mode Shape, Table 8-1 (check-values
// E2, memory; recomputed).
func TestRoots(t *testing.T) {
	for e, values := range map[Ends][]string{
		ClampedFree:    {"1.875104069", "4.694091133", "7.854757438", "10.995540735", "14.137168391"},
		ClampedClamped: {"4.730040745", "7.853204624", "10.995607838"},
		ClampedPinned:  {"3.926602312", "7.068582746"},
		Supported:      {"3.141592654"},
	} {
		for i, want := range values {
			got, err := Root(e, i+1)
			if err != nil {
				t.Fatal(err)
			}
			testdata.Agrees(t, got, want)
		}
	}
	// Math. Probl. Eng. 2017, 1568019, Table 1, last column (check-values E3, seen).
	for i, want := range []string{"1.557298", "16.25009", "50.89584", "105.1983", "179.2320"} {
		b, err := RootWithTip(1, i+1)
		if err != nil {
			t.Fatal(err)
		}
		testdata.Agrees(t, b*b, want)
	}
}

var steel = body.Material{Name: "steel", Density: 7850, Young: 207e9, Shear: 79.3e9, Yield: 250e6}

// Check-values E5 (computed): steel rod 1.5 mm thick, 150 mm long, 10 g at its end.
func TestSteelRod(t *testing.T) {
	rod := Rod{Length: 0.150, Section: Round(0.0015), Material: steel}
	testdata.Agrees(t, rod.Section.Weak, "2.485049e-13")
	testdata.Agrees(t, rod.Mass()*1e3, "2.080814")
	k, err := rod.Stiffness(ClampedFree)
	if err != nil {
		t.Fatal(err)
	}
	testdata.Agrees(t, k, "45.7249")
	testdata.Agrees(t, math.Sqrt(k/0.010)/(2*math.Pi), "10.7621")
	byRayleigh, err1 := rod.RayleighFrequency(0.010)
	exact, err2 := rod.Frequency(Tip{Mass: 0.010}, 1)
	bare, err3 := rod.Frequency(Tip{}, 1)
	twist, err4 := rod.TorsionStiffness()
	for _, err := range []error{err1, err2, err3, err4} {
		if err != nil {
			t.Fatal(err)
		}
	}
	testdata.Agrees(t, byRayleigh, "10.50749")
	testdata.Agrees(t, exact, "10.50716")
	testdata.Agrees(t, bare, "47.89277")
	testdata.Agrees(t, twist, "0.262753")
}

// Check-values E4 (computed): (βL)² and the error of 33/140. D8: a forum's 3.55
// for the bare rod is wrong.
func TestRayleighFrequency(t *testing.T) {
	rod := Rod{Length: 1, Section: Round(0.01), Material: steel}
	for _, tt := range []struct {
		ratio         float64
		square, error string
	}{{0, "3.516015", "1.465"}, {0.1, "2.967838", "0.725"}, {0.5, "2.016299", "0.150"}, {1, "1.557298", "0.053"}, {2, "1.158197", "0.016"}, {5, "0.756937", "0.003"}} {
		b, err1 := RootWithTip(tt.ratio, 1)
		exact, err2 := rod.Frequency(Tip{Mass: tt.ratio * rod.Mass()}, 1)
		approximate, err3 := rod.RayleighFrequency(tt.ratio * rod.Mass())
		if err1 != nil || err2 != nil || err3 != nil {
			t.Fatal(err1, err2, err3)
		}
		testdata.Agrees(t, b*b, tt.square)
		testdata.Agrees(t, (approximate/exact-1)*100, tt.error)
	}
}

// Rayleigh's method lies above the exact bare rod (check-values E2) by a little: with
// the static shapes by 1.5, 0.7, 1.6 and 1.8 %.
func TestFrequencyHeld(t *testing.T) {
	rod := Rod{Length: 0.3, Section: Round(0.002), Material: steel}
	for e, want := range map[Ends]string{ClampedFree: "1.5", Supported: "0.7", ClampedClamped: "1.6", ClampedPinned: "1.8"} {
		b, err1 := Root(e, 1)
		got, err2 := rod.FrequencyHeld(e, 0)
		if err1 != nil || err2 != nil {
			t.Fatal(err1, err2)
		}
		testdata.Agrees(t, 100*(got/(b*b*rod.scale()/(2*math.Pi))-1), want)
		k, _ := rod.Stiffness(e)
		if heavy, err := rod.FrequencyHeld(e, 1e3); err != nil || !scalar.EqualWithinRel(heavy, math.Sqrt(k/1e3)/(2*math.Pi), 1e-4) {
			t.Errorf("%v with a heavy mass: %v, %v", e, heavy, err)
		}
	}
}

// Roark, Table 8.1 (check-values E1, memory): in units of E I/L³.
func TestStiffnesses(t *testing.T) {
	rod := Rod{Length: 2, Section: Round(0.01), Material: steel}
	for e, want := range map[Ends]float64{ClampedFree: 3, Supported: 48, ClampedClamped: 192, ClampedPinned: 109.714285714285714} {
		k, err := rod.Stiffness(e)
		if err != nil || !scalar.EqualWithinRel(k*8/rod.bending(), want, 1e-14) {
			t.Errorf("%v: %v, %v", e, k*8/rod.bending(), err)
		}
	}
}

// Shigley, Example 10-1 (check-values E6, memory): 4.13 lbf/in; with unrounded D
// 4.116. Machinery's Handbook, Spring Deflections, Table 5 (E7, seen), whose rows
// all follow from G = 11.20 ± 0.02 Mpsi.
func TestCoils(t *testing.T) {
	const in, lbf, psi = 0.0254, 4.4482216152605, 6894.757293168361
	spring := Coil{Wire: 0.037 * in, Mean: 0.400 * in, Turns: 10.5, Material: body.Material{Density: 7860, Shear: 11.85e6 * psi}}
	k, err := spring.Stiffness()
	if err != nil {
		t.Fatal(err)
	}
	testdata.Agrees(t, k*in/lbf, "4.13")
	spring.Mean = (7.0/16 - 0.037) * in
	if k, err = spring.Stiffness(); err != nil {
		t.Fatal(err)
	}
	testdata.Agrees(t, k*in/lbf, "4.116")
	for _, tt := range []struct{ wire, deflection, load float64 }{{0.041, 0.1075, 6.82}, {0.0625, 0.0631, 25.6}, {0.080, 0.0448, 56.3}} {
		coil := Coil{Wire: tt.wire * in, Mean: (7.0/16 - tt.wire) * in, Turns: 1, Material: body.Material{Shear: 11.20e6 * psi}}
		k, err := coil.Stiffness()
		if err != nil {
			t.Fatal(err)
		}
		if got := tt.load * lbf / k / in; math.Abs(got/tt.deflection-1) > 0.02/11.20+0.0005 { // spread of G, and the last printed digit
			t.Errorf("wire %v in: %.4f in, the handbook has %v", tt.wire, got, tt.deflection)
		}
	}
	// Thomson, Example 2.4-1 (E8, seen): a third of the mass.
	if spring.EquivalentMass() != spring.Mass()/3 {
		t.Error(spring.EquivalentMass())
	}
	if InSeries(2, 2) != 1 || SideBySide(2, 3) != 5 || !scalar.EqualWithinRel(InSeries(2, 3), 1.2, 1e-15) {
		t.Error("springs in series and side by side")
	}
}

// A weight on an upright rod softens it to nothing at Euler's load, and the cubic
// shape's estimate 3EI/L³ - 6P/(5L) is near for small loads.
func TestUprightRod(t *testing.T) {
	rod := Rod{Length: 0.3, Section: Round(0.001), Material: steel}
	free, err1 := rod.Stiffness(ClampedFree)
	limit, err2 := rod.BucklingLoad()
	if err1 != nil || err2 != nil {
		t.Fatal(err1, err2)
	}
	last := math.Inf(1)
	for _, share := range []float64{-1, -0.1, -1e-7, 0, 1e-7, 0.01, 0.1, 0.5, 0.9, 0.999} {
		k, err := rod.StiffnessUnderLoad(share * limit)
		if err != nil || k >= last {
			t.Errorf("at %v of the load: %v after %v, %v", share, k, last, err)
		}
		last = k
		if near := free - 1.2*share*limit/rod.Length; math.Abs(share) <= 0.1 && math.Abs(k-near) > 0.02*math.Abs(share)*free {
			t.Errorf("at %v of the load: %v, estimate %v", share, k, near)
		}
	}
	if last > 0.002*free {
		t.Errorf("near Euler's load: %v of %v N/m", last, free)
	}
	if _, err := rod.StiffnessUnderLoad(limit * 1.001); err == nil || !strings.Contains(err.Error(), "buckles the rod") {
		t.Error(err)
	}
}

// A body with a size at the end: a light rod with a heavy ball has two modes, which
// follow from the 2×2 stiffness of the end; without size it is the point mass.
func TestBodyAtTheEnd(t *testing.T) {
	rod := Rod{Length: 0.2, Section: Round(0.002), Material: body.Material{Density: 1, Young: 207e9, Shear: 79e9}}
	const m, R = 0.05, 0.015
	tip := Tip{Mass: m, Inertia: 0.4 * m * R * R, Offset: R}
	EI, L := rod.bending(), rod.Length
	// K of the end (deflection, slope) = EI/L³ [12, -6L; -6L, 4L²]; M = [m, m e; m e, J + m e²].
	k11, k12, k22 := 12*EI/(L*L*L), -6*EI/(L*L), 4*EI/L
	m11, m12, m22 := m, m*R, tip.Inertia+m*R*R
	a := m11*m22 - m12*m12
	b := k11*m22 + k22*m11 - 2*k12*m12
	c := k11*k22 - k12*k12
	for i, sign := range []float64{-1, 1} {
		w2 := (b + sign*math.Sqrt(b*b-4*a*c)) / (2 * a)
		got, err := rod.Frequency(tip, i+1)
		if err != nil || math.Abs(got/(math.Sqrt(w2)/(2*math.Pi))-1) > 2e-4 { // the rod itself weighs a hundred-thousandth of the ball
			t.Errorf("mode %d: %v Hz, two degrees of freedom give %v, %v", i+1, got, math.Sqrt(w2)/(2*math.Pi), err)
		}
	}
	heavy := Rod{Length: 0.2, Section: Round(0.002), Material: steel}
	for n := 1; n <= 4; n++ {
		point, err1 := heavy.Frequency(Tip{Mass: 0.01}, n)
		small, err2 := heavy.Frequency(Tip{Mass: 0.01, Inertia: 1e-18}, n)
		if err1 != nil || err2 != nil || math.Abs(small/point-1) > 1e-9 {
			t.Errorf("mode %d: point %v, tiny body %v", n, point, small)
		}
	}
}

// Two equal rods with a link: k/m and (k + 2c)/m in the plane, as for two equal
// pendulums (check-values O1); across the link the rods do not know of each other.
func TestCoupledRods(t *testing.T) {
	rod := Rod{Length: 0.25, Section: Round(0.0015), Material: steel}
	k, err := rod.Stiffness(ClampedFree)
	if err != nil {
		t.Fatal(err)
	}
	m := 0.012 + rod.EquivalentMass()
	pair := Cluster{Stems: []Stem{{Rod: rod, Tip: 0.012}, {Rod: rod, Tip: 0.012, At: r2.Vec{X: 0.03, Y: 0.04}}}, Links: []Link{{From: 0, To: 1, Along: 0.5}}}
	f, err := pair.Frequencies()
	if err != nil {
		t.Fatal(err)
	}
	alone, coupled := math.Sqrt(k/m)/(2*math.Pi), math.Sqrt((k+2*0.5)/m)/(2*math.Pi)
	for i, want := range []float64{alone, alone, alone, coupled} {
		if math.Abs(f[i]/want-1) > 1e-12 {
			t.Errorf("mode %d: %v Hz, want %v", i+1, f[i], want)
		}
	}
	// A flat strip swings at two frequencies, whatever its direction.
	strip := Rod{Length: 0.25, Section: Strip(0.010, 0.001), Material: steel}
	f, err = Cluster{Stems: []Stem{{Rod: strip, Tip: 0.05, Easy: 0.7}}}.Frequencies()
	if err != nil || math.Abs(f[1]/f[0]-10) > 1e-9 {
		t.Errorf("%v, %v: ten times as wide as thick is ten times as fast the hard way", f, err)
	}
}

func TestStressAndCaution(t *testing.T) {
	rod := Rod{Length: 0.150, Section: Round(0.0015), Material: steel}
	k, _ := rod.Stiffness(ClampedFree)
	// The stress at the clamp is M c/I with M = F L. Common practice, no source.
	got, err := rod.BendingStress(0.02)
	if want := k * 0.02 * rod.Length * 0.00075 / rod.Section.Weak; err != nil || math.Abs(got/want-1) > 1e-12 {
		t.Errorf("%v, want %v, %v", got, want, err)
	}
	limit, err := rod.DeflectionAtYield()
	if err != nil {
		t.Fatal(err)
	}
	for share, want := range map[float64]string{0.5: "", 0.8: "80 % of the stress", 1.01: "bends for good (it yields at 250 MPa)"} {
		stress, _ := rod.BendingStress(share * limit)
		if c := Caution(stress, steel); want == "" && c != "" || !strings.Contains(c, want) || c != "" && !strings.Contains(c, "eye protection") {
			t.Errorf("%v: %q", share, c)
		}
	}
	if c := Caution(1, body.Material{Name: "reed"}); !strings.Contains(c, "not known") {
		t.Error(c)
	}
	twist, err := rod.TwistStress(0.1)
	torque, _ := rod.TorsionStiffness()
	if want := 16 * torque * 0.1 / (math.Pi * math.Pow(0.0015, 3)); err != nil || math.Abs(twist/want-1) > 1e-12 {
		t.Errorf("%v, want %v, %v", twist, want, err)
	}
	// Wahl's factor for a spring of index 8 is 1.184 (Shigley's chart, memory).
	coil := Coil{Wire: 1, Mean: 8, Turns: 1}
	testdata.Agrees(t, coil.Stress(math.Pi/64), "1.184")
}

func TestLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ratio := rapid.Float64Range(0, 100).Draw(t, "ratio")
		n := rapid.IntRange(1, maxMode).Draw(t, "mode")
		light, err1 := RootWithTip(ratio, n)
		heavy, err2 := RootWithTip(ratio+0.1, n)
		if err1 != nil || err2 != nil || heavy >= light {
			t.Fatalf("mode %d: more mass swings no slower: %v, %v", n, light, heavy)
		}
		if n > 1 {
			pinned, err := Root(ClampedPinned, n-1)
			if err != nil || light <= pinned {
				t.Fatalf("mode %d at %v: %v lies below that of a pinned end, %v", n, ratio, light, pinned)
			}
		}
		rod := Rod{Length: rapid.Float64Range(0.01, 1).Draw(t, "length"), Section: Round(rapid.Float64Range(1e-4, 1e-2).Draw(t, "diameter")), Material: steel}
		tip := rapid.Float64Range(0, 1).Draw(t, "tip")
		exact, err1 := rod.Frequency(Tip{Mass: tip}, 1)
		rayleigh, err2 := rod.RayleighFrequency(tip)
		if err1 != nil || err2 != nil || rayleigh < exact*(1-1e-9) || rayleigh > exact*1.0147 {
			t.Fatalf("Rayleigh's %v lies not just above %v", rayleigh, exact)
		}
	})
}

func TestMistakes(t *testing.T) {
	good := Rod{Length: 0.1, Section: Round(0.001), Material: steel}
	for want, run := range map[string]func() error{
		"length of the rod is 0": func() error { _, err := Rod{Section: Round(1), Material: steel}.Stiffness(ClampedFree); return err },
		"area of the section":    func() error { _, err := Rod{Length: 1, Material: steel}.Stiffness(ClampedFree); return err },
		"elasticity of putty": func() error {
			_, err := Rod{1, Round(1), body.Material{Name: "putty", Density: 1}}.BendingStress(1)
			return err
		},
		"rigidity of wood": func() error {
			_, err := Rod{1, Round(1), body.Material{Name: "wood", Density: 1, Young: 1}}.TorsionStiffness()
			return err
		},
		"mass on the rod is -1":   func() error { _, err := good.RayleighFrequency(-1); return err },
		"mass of the tip is -1":   func() error { _, err := good.Frequency(Tip{Mass: -1}, 1); return err },
		"mode 0 is out of range":  func() error { _, err := good.Frequency(Tip{}, 0); return err },
		"mode 99 is out of range": func() error { _, err := Root(ClampedClamped, 99); return err },
		"ratio of the masses":     func() error { _, err := RootWithTip(math.NaN(), 1); return err },
		"unknown way of holding":  func() error { _, err := good.Stiffness(77); return err },
		"is not larger than its":  func() error { _, err := Coil{1, 1, 1, steel}.Stiffness(); return err },
		"number of turns is 0":    func() error { _, err := Coil{1, 2, 0, steel}.Stiffness(); return err },
		"no stems":                func() error { _, err := Cluster{}.Frequencies(); return err },
		"link 1 joins stems 0 and": func() error {
			_, err := Cluster{Stems: []Stem{{Rod: good}}, Links: []Link{{}}}.Frequencies()
			return err
		},
		"yield stress of": func() error { r := good; r.Material.Yield = 0; _, err := r.DeflectionAtYield(); return err },
	} {
		if err := run(); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v, want %q", err, want)
		}
	}
}

// Torsion constants of rectangles, in units of width × thickness³: Timoshenko and
// Goodier, Theory of Elasticity, table of k₁ (from memory, unchecked).
func TestStripTorsion(t *testing.T) {
	for ratio, want := range map[float64]float64{1: 0.1406, 1.5: 0.196, 2: 0.229, 3: 0.263, 5: 0.291, 10: 0.312} {
		if got := Strip(ratio, 1).Twist / ratio; math.Abs(got/want-1) > 0.005 { // the formula's own half per cent
			t.Errorf("%v to 1: %v, the table has %v", ratio, got, want)
		}
	}
	tube, outer, inner := Tubular(0.02, 0.015), Round(0.02), Round(0.015)
	if !scalar.EqualWithinRel(tube.Weak, outer.Weak-inner.Weak, 1e-14) || !scalar.EqualWithinRel(tube.Area, outer.Area-inner.Area, 1e-14) {
		t.Errorf("a tube %+v is not a rod less a bore", tube)
	}
	rod := Rod{Length: 0.1, Section: Round(0.002), Material: steel}
	if f, err := rod.TwistFrequency(1e-5); err != nil || !scalar.EqualWithinRel(math.Pow(2*math.Pi*f, 2)*1e-5, steel.Shear*math.Pi*math.Pow(0.002, 4)/32/0.1, 1e-13) {
		t.Errorf("%v Hz, %v", f, err)
	}
}

// A bouncing spring: check-values A1's condition in other words. At rest the stretch is
// m g/k, and with a third of the spring's mass the period is 2π√((m + M/3)/k).
func TestCoilBounces(t *testing.T) {
	coil := Coil{Wire: 0.0005, Mean: 0.012, Turns: 60, Material: body.Material{Density: 7860, Shear: 81e9}}
	k, err := coil.Stiffness()
	if err != nil {
		t.Fatal(err)
	}
	f, err := coil.Frequency(0.05)
	if err != nil || !scalar.EqualWithinRel(1/f, 2*math.Pi*math.Sqrt((0.05+coil.Mass()/3)/k), 1e-14) {
		t.Errorf("%v Hz, %v", f, err)
	}
}
