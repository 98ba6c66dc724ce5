package balance

import (
	"encoding/json"
	"errors"
	"math"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mathext"
	"pgregory.net/rapid"

	"counterpoise/mechanics/body"
	"counterpoise/testdata"
)

const deg = math.Pi / 180

// on puts a shape of one kilogram on a stand.
func on(t *testing.T, s Stand, o Options, parts ...body.Part) *Balance {
	t.Helper()
	b, err := New(parts, s, o)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func smallPeriod(t *testing.T, b *Balance) float64 {
	t.Helper()
	T, err := b.Period()
	if err != nil {
		t.Fatal(err)
	}
	return T
}

func kilo(s body.Shape, x, y float64) body.Part {
	return body.Part{Shape: s, Given: 1, At: body.V(x, y, 0)}
}

// Abramowitz and Stegun, Handbook of Mathematical Functions (1964), Table 17.2:
// K at modular angle α, here half the amplitude.
func TestPendulumPeriodByTable(t *testing.T) {
	unit := Pendulum{Mass: 1, Drop: 1, Inertia: 1}
	for _, tt := range []struct {
		degrees float64
		k       string // as printed
	}{{60, "1.685750354812596"}, {90, "1.854074677301372"}, {120, "2.156515647499643"}} {
		got, err := unit.Period(tt.degrees*deg, 1)
		if err != nil {
			t.Fatal(err)
		}
		testdata.Agrees(t, got/4, tt.k)
	}
}

// The amplitude at which a pendulum takes twice the time of a small swing.
//
// Source: OEIS A256514 (check-values P2, seen).
func TestTwiceThePeriod(t *testing.T) {
	if got := LargeSwing(2.78823112410720430); math.Abs(got-2) > 2e-15 {
		t.Errorf("%.17g, want 2", got)
	}
}

// Reference values at 30 digits (testdata/published/reference-values; DLMF 19.2.8
// and 22.19(i)), to 4 units in the last place; gonum's complete elliptic integral
// beside them.
func TestLargeSwing(t *testing.T) {
	var reference struct {
		Ratio struct{ Values map[string]string } `json:"pendulum_period_ratio"`
	}
	if err := json.Unmarshal(testdata.Read(t, "reference-values", "reference_values.json"), &reference); err != nil {
		t.Fatal(err)
	}
	if len(reference.Ratio.Values) != 9 {
		t.Fatalf("%d values", len(reference.Ratio.Values))
	}
	for degrees, text := range reference.Ratio.Values {
		d, err1 := strconv.ParseFloat(degrees, 64)
		want, err2 := strconv.ParseFloat(text, 64)
		if err := errors.Join(err1, err2); err != nil {
			t.Fatal(err)
		}
		got := LargeSwing(d * deg)
		limit := 4 * (math.Nextafter(want, 2*want) - want)
		if d > 175 { // here the ratio's own slope turns the rounding of 179° to rad into more
			limit += 1e-14
		}
		if math.Abs(got-want) > limit {
			t.Errorf("%s°: %.17g, want %s", degrees, got, text)
		}
		k := math.Sin(d * deg / 2)
		if by := 2 / math.Pi * mathext.CompleteK(k*k); math.Abs(got/by-1) > 2e-12 {
			t.Errorf("%s°: %.17g, gonum %.17g", degrees, got, by)
		}
	}
	// OEIS A256514 (seen): the period is twice the small one at this amplitude.
	testdata.Agrees(t, LargeSwing(2.78823112410720430), "2.00000000000000")
	// Check-values P1, values that the file above lacks: Nelson and Olsson, Am. J.
	// Phys. 54, 112 (1986) (memory), recomputed to 25 digits.
	for d, want := range map[float64]string{20: "1.00766902579", 45: "1.0399733432"} {
		testdata.Agrees(t, LargeSwing(d*deg), want)
	}
	if !math.IsNaN(LargeSwing(math.Pi)) || !math.IsNaN(LargeSwing(math.NaN())) || LargeSwing(0) != 1 {
		t.Error("at the ends of the range")
	}
}

// Check-values P3 (memory; recomputed by Taylor expansion): the series with
// powers up to the fourth gives 1.07284504 at 60°, the whole 1.07318.
func TestLargeSwingSeries(t *testing.T) {
	series := func(a float64) float64 {
		return 1 + a*a/16 + 11*math.Pow(a, 4)/3072 + 173*math.Pow(a, 6)/737280 + 22931*math.Pow(a, 8)/1321205760
	}
	for _, d := range []float64{1, 5, 10, 20, 30} {
		if a := d * deg; math.Abs(LargeSwing(a)-series(a)) > 2e-6*math.Pow(a, 10) {
			t.Errorf("%v°: %v, series %v", d, LargeSwing(a), series(a))
		}
	}
}

// OpenStax, College Physics, Example 16.5 (as quoted); check-values P5 (computed).
func TestSimplePendulum(t *testing.T) {
	testdata.Agrees(t, 4*math.Pi*math.Pi*0.75000/(1.7357*1.7357), "9.8281")
	T, err := Simple(0.1, 0.75).Period(0, 9.8281)
	if err != nil {
		t.Fatal(err)
	}
	testdata.Agrees(t, T, "1.7357")
	for d, want := range map[float64]string{10: "2.00989263", 45: "2.08625587", 90: "2.36784195"} {
		T, err := Simple(2, 1).Period(d*deg, 9.81)
		if err != nil {
			t.Fatal(err)
		}
		testdata.Agrees(t, T, want)
	}
	testdata.Agrees(t, StandardGravity/(math.Pi*math.Pi), "0.993621386") // G5: the seconds pendulum
	seconds, err := Simple(1, 0.993621386).Period(0, StandardGravity)
	if err != nil {
		t.Fatal(err)
	}
	testdata.Agrees(t, seconds, "2.00000000")
}

// Check-values K2 (Bessel's formula seen; numbers computed).
func TestReversiblePendulum(t *testing.T) {
	const k = 0.30
	period := func(h float64) float64 {
		T, err := Pendulum{Mass: 1, Drop: h, Inertia: k*k + h*h}.Period(0, StandardGravity)
		if err != nil {
			t.Fatal(err)
		}
		return T
	}
	testdata.Agrees(t, period(0.60), "1.7376014178")
	testdata.Agrees(t, period(0.16), "1.7054478987")
	g, err := ReversibleGravity(period(0.60), period(0.16), 0.60, 0.16)
	if err != nil || math.Abs(g-StandardGravity) > 1e-13 {
		t.Errorf("%v, %v", g, err)
	}
	if p := (Pendulum{1, 0.2, 0.08}); math.Abs(p.EquivalentLength()-0.4) > 1e-15 {
		t.Error(p.EquivalentLength())
	}
	if _, err := ReversibleGravity(1, 1, 0.3, 0.3); err == nil || !strings.Contains(err.Error(), "unequal") {
		t.Error(err)
	}
}

// Check-values K3: a rod's period is shortest at L/√12 from its centre, where it
// is 2π√(2d/g). Common practice.
func TestRodSwingsFastestAtItsGyration(t *testing.T) {
	const L = 0.75
	at := func(d float64) float64 {
		return smallPeriod(t, on(t, Stand{Kind: Edge, At: body.V(0, d, 0)}, Options{}, kilo(body.Rod{From: body.V(0, -L/2, 0), To: body.V(0, L/2, 0)}, 0, 0)))
	}
	best := L / math.Sqrt(12)
	if math.Abs(at(best)-2*math.Pi*math.Sqrt(2*best/StandardGravity)) > 1e-14 {
		t.Error(at(best))
	}
	if at(best*1.01) < at(best) || at(best*0.99) < at(best) {
		t.Error("not the shortest")
	}
}

// Check-values K4 (computed; well known): a thin arc hung from its middle has the
// period 2π√(2R/g) whatever its length.
func TestArcHungFromItsMiddle(t *testing.T) {
	for _, half := range []float64{60, 90, 10} {
		arc := body.Part{Shape: body.Arc{Radius: 0.1, From: 90*deg - half*deg, To: 90*deg + half*deg}, Given: 0.02}
		testdata.Agrees(t, smallPeriod(t, on(t, Stand{Kind: Pin, At: body.V(0, 0.1, 0)}, Options{}, arc)), "0.897293514")
	}
}

// Check-values S1, S2 (formulas seen, numbers computed).
func TestThreads(t *testing.T) {
	T, err := TwoThreads(0.050, 0.050*0.2*0.2/12, 0.4, 0.16, StandardGravity)
	if err != nil {
		t.Fatal(err)
	}
	testdata.Agrees(t, T, "0.915796")
	T, err = ThreeThreads(0.3, 0.3*0.1*0.1/2, 0.5, 0.09, StandardGravity)
	if err != nil {
		t.Fatal(err)
	}
	testdata.Agrees(t, T, "1.114672")
	if _, err := TwoThreads(0.05, 1, 0, 1, 9.81); err == nil || !strings.Contains(err.Error(), "length is 0") {
		t.Error(err)
	}
}

// dome returns half a ball of radius a, dome down, on the floor.
func dome(t *testing.T, a float64) *Balance {
	half := body.Part{Shape: body.Hemisphere(a), Given: 1}.Turned(math.Pi, body.Vec{}, body.V(1, 0, 0)).Moved(body.V(0, a, 0))
	return on(t, Stand{Kind: Foot, Radius: a}, Options{}, half)
}

// Cambridge Tripos IA 2003, 4.II.11E (check-values R2, seen): a hemisphere that
// rolls from its base vertical has (dθ/dt)² = 15 g cos θ/((28 - 15 cos θ) a).
func TestHemisphereFromVertical(t *testing.T) {
	const a = 0.03
	b := dome(t, a)
	for _, d := range []float64{0, 20, 45, 70} {
		tilt := d * deg
		got := 2 * (b.PotentialEnergy(90*deg) - b.PotentialEnergy(tilt)) / b.InertiaAt(tilt)
		want := 15 * StandardGravity * math.Cos(tilt) / ((28 - 15*math.Cos(tilt)) * a)
		if math.Abs(got/want-1) > 1e-12 {
			t.Errorf("%v°: %v, want %v", d, got, want)
		}
	}
}

// Check-values R3 (computed from R2, confirmed by quadrature).
func TestHemisphereRocks(t *testing.T) {
	b := dome(t, 0.030)
	small := smallPeriod(t, b)
	testdata.Agrees(t, small, "0.457531714")
	for d, want := range map[float64]string{30: "1.05598", 90: "1.49292"} {
		T, err := b.PeriodAt(d * deg * (1 - 1e-12))
		if err != nil {
			t.Fatal(err)
		}
		testdata.Agrees(t, T/small, want)
	}
}

// Check-values R1 (common practice; the dome's condition from Routh, memory).
func TestRoundBaseOnDome(t *testing.T) {
	const r, R = 0.04, 0.10
	limit := r * R / (r + R)
	for h, want := range map[float64]Stability{limit * 0.99: Stable, limit * 1.01: Unstable} {
		b := on(t, Stand{Kind: Foot, Radius: r, Dome: R}, Options{}, kilo(body.Point{}, 0, h))
		if got := b.Stability(); got != want {
			t.Errorf("height %v: %v, want %v", h, got, want)
		}
	}
	for h, want := range map[float64]Stability{r * 0.99: Stable, r: Neutral, r * 1.01: Unstable} { // flat floor
		b := on(t, Stand{Kind: Foot, Radius: r}, Options{}, kilo(body.Sphere{Radius: 0.01}, 0, h))
		if got := b.Stability(); got != want {
			t.Errorf("flat, height %v: %v, want %v", h, got, want)
		}
	}
}

// STEP (check-values R4, seen): a cone of height u a on a hemisphere of radius a,
// one material, rights itself if u < √3.
func TestConeOnHemisphere(t *testing.T) {
	const a = 0.03
	for u, want := range map[float64]Stability{1.73: Stable, 1.74: Unstable} {
		wood := body.Material{Density: 650}
		b := on(t, Stand{Kind: Foot, Radius: a}, Options{},
			body.Part{Shape: body.Hemisphere(a), Material: wood}.Turned(math.Pi, body.Vec{}, body.V(1, 0, 0)).Moved(body.V(0, a, 0)),
			body.Part{Shape: body.Cone{Radius: a, Height: u * a}, Material: wood, At: body.V(0, a, 0)})
		if got := b.Stability(); got != want {
			t.Errorf("u = %v: %v, want %v", u, got, want)
		}
	}
}

// Thomson, Theory of Vibration, sec. 2.3, p. 24; Serway P15.56 (check-values R5,
// both seen): cylinder and ball that roll in a hollow.
func TestRollingInAHollow(t *testing.T) {
	const r, R, g = 0.02, 0.1, StandardGravity
	roll := func(s body.Shape, y, R float64) float64 {
		return smallPeriod(t, on(t, Stand{Kind: Foot, Radius: r, Dome: -R, Half: math.Pi}, Options{}, kilo(s, 0, y)))
	}
	// The cylinder's axis is z: a disc.
	if got, want := roll(body.Disc{Radius: r}, r, R), 2*math.Pi/math.Sqrt(2*g/(3*(R-r))); math.Abs(got/want-1) > 1e-14 {
		t.Errorf("cylinder %v, want %v", got, want)
	}
	if got, want := roll(body.Sphere{Radius: r}, r, R), 2*math.Pi*math.Sqrt(7*(R-r)/(5*g)); math.Abs(got/want-1) > 1e-14 {
		t.Errorf("ball %v, want %v", got, want)
	}
	if got, want := roll(body.Sphere{Radius: r}, r, 5*r), 2*math.Pi*math.Sqrt(28*r/(5*g)); math.Abs(got/want-1) > 1e-14 {
		t.Errorf("ball in a trough of five times its radius %v, want %v", got, want)
	}
}

// The same cylinder at any amplitude is a pendulum exactly: (3/2)(R - r) φ” = -g sin φ
// (Thomson, as above), so that its period grows by the elliptic integral. The tilt of
// the cylinder is φ (1 - R/r).
func TestRollingInAHollowAtLargeAmplitude(t *testing.T) {
	const r, R = 0.02, 0.1
	b := on(t, Stand{Kind: Foot, Radius: r, Dome: -R, Half: math.Pi}, Options{}, kilo(body.Disc{Radius: r}, 0, r))
	small := smallPeriod(t, b)
	for _, phi := range []float64{5, 20, 40} {
		T, err := b.PeriodAt(phi * deg * (R/r - 1))
		if err != nil || math.Abs(T/small/LargeSwing(phi*deg)-1) > 1e-9 {
			t.Errorf("%v°: %v times the small period, want %v, %v", phi, T/small, LargeSwing(phi*deg), err)
		}
	}
}

// Kleppner and Kolenkow 6.35 (check-values R6, discussion seen; number computed).
func TestPlankOnLog(t *testing.T) {
	plank := func(thick float64) *Balance {
		return on(t, Stand{Kind: Board, Dome: 0.050}, Options{}, kilo(body.Block{X: 0.200, Y: thick, Z: 0.04}, 0, thick/2))
	}
	testdata.Agrees(t, smallPeriod(t, plank(0.020)), "0.590671")
	if plank(0.099).Stability() != Stable || plank(0.101).Stability() != Unstable {
		t.Error("stable if half its thickness is less than the log's radius")
	}
	if plank(0.100).Stability() != Unstable { // at the limit the fourth power decides
		t.Error("half as thick as the log's radius:", plank(0.100).Stability())
	}
}

// Housner, Bull. Seism. Soc. Am. 53 (1963) 403 (check-values T1 seen, T2 memory,
// numbers computed), and the same block on two feet at any angle.
func TestRockingBlock(t *testing.T) {
	block := Block{Half: 0.020, Height: 0.060}
	alpha := block.TippingAngle()
	testdata.Agrees(t, alpha/deg, "18.4349")
	testdata.Agrees(t, block.Rate(StandardGravity), "10.78390") // listed as 10.783902, cut off after 10.7839029
	T, err := block.Period(alpha/2, StandardGravity)
	if err != nil {
		t.Fatal(err)
	}
	testdata.Agrees(t, T, "0.488490")
	testdata.Agrees(t, block.EnergyKept(), "0.7225")
	if a := block.TippingAcceleration(9); math.Abs(a-3) > 1e-15 {
		t.Error(a)
	}

	stand := Stand{Kind: Base, At: body.V(-0.020, 0, 0), To: body.V(0.020, 0, 0)}
	b := on(t, stand, Options{}, kilo(body.Block{X: 0.040, Y: 0.120, Z: 0.01}, 0, 0.060))
	if lean, err := b.TippingAngle(); err != nil || math.Abs(lean-alpha) > 1e-12 {
		t.Errorf("tips at %v, %v", lean, err)
	}
	if _, err := b.Period(); !errors.Is(err, ErrCorner) {
		t.Errorf("small swings: %v", err)
	}
	// Housner's small angles are good to a few per cent here and better for a
	// slender block.
	exact, err := b.PeriodAt(alpha / 2)
	if err != nil || math.Abs(exact/T-1) > 0.02 {
		t.Errorf("exactly %v, Housner %v, %v", exact, T, err)
	}
	slender := on(t, Stand{Kind: Base, At: body.V(-0.002, 0, 0), To: body.V(0.002, 0, 0)}, Options{}, kilo(body.Block{X: 0.004, Y: 0.4, Z: 0.01}, 0, 0.2))
	thin := Block{Half: 0.002, Height: 0.2}
	want, err1 := thin.Period(thin.TippingAngle()/2, StandardGravity)
	got, err2 := slender.PeriodAt(thin.TippingAngle() / 2)
	if errors.Join(err1, err2) != nil || math.Abs(got/want-1) > 1e-4 {
		t.Errorf("slender: %v, Housner %v", got, want)
	}
}

// A body on a thread: a long thread and a point give the simple pendulum, and the
// two squared frequencies have the sum and product of the equations of motion
// (check-values O4 for two points: M = 2, m = 1 kg is Kibble and Berkshire 11.21;
// here the upper mass is none).
func TestHangingByAThread(t *testing.T) {
	const g = StandardGravity
	b := on(t, Stand{Kind: String, Length: 1}, Options{}, kilo(body.Sphere{Radius: 0.01}, 0, -0.02))
	slow, fast, err := b.Periods()
	if err != nil {
		t.Fatal(err)
	}
	k2, d := 0.4*0.01*0.01, 0.02
	w1, w2 := math.Pow(2*math.Pi/slow, 2), math.Pow(2*math.Pi/fast, 2)
	// Equal-parameter check by energies: M = [l², l d; l d, d²+k²], K = g [l, d].
	sum, product := g*(d*d+k2+d)/(k2), g*g*d/k2
	if math.Abs((w1+w2)/sum-1) > 1e-12 || math.Abs(w1*w2/product-1) > 1e-12 {
		t.Errorf("sum %v, want %v; product %v, want %v", w1+w2, sum, w1*w2, product)
	}
	if simple := 2 * math.Pi * math.Sqrt(1.02/g); math.Abs(slow/simple-1) > 1e-4 {
		t.Errorf("slow mode %v, simple pendulum %v", slow, simple)
	}
}

// Two uniform things known from statics: a figure on a pin tips only upside
// down; one on two feet when its centre of gravity is over a foot.
func TestBasin(t *testing.T) {
	b := on(t, Stand{Kind: Base, At: body.V(-0.03, 0, 0), To: body.V(0.05, 0, 0)}, Options{}, kilo(body.Point{}, 0, 0.04))
	from, to, err := b.Basin()
	if err != nil || math.Abs(from+math.Atan2(0.05, 0.04)) > 1e-9 || math.Abs(to-math.Atan2(0.03, 0.04)) > 1e-9 {
		t.Errorf("%v to %v, %v", from, to, err)
	}
	rim := on(t, Stand{Kind: Foot, Radius: 0.04, Half: 30 * deg}, Options{}, kilo(body.Point{}, 0, 0.035))
	// Past the rim at (R sin 30°, R (1 - cos 30°)) it turns about the rim.
	want := math.Atan2(0.02, 0.035-0.04*(1-math.Cos(30*deg)))
	if lean, err := rim.TippingAngle(); err != nil || math.Abs(lean-want) > 1e-9 {
		t.Errorf("with a rim: %v, want %v, %v", lean, want, err)
	}
	overFoot := on(t, Stand{Kind: Base, To: body.V(0.05, 0, 0)}, Options{}, kilo(body.Point{}, 0, 0.04))
	if got := overFoot.Stability(); got != Unstable {
		t.Errorf("centre of gravity over a foot: %v", got)
	}
	off := on(t, Stand{Kind: Pin}, Options{}, kilo(body.Point{}, 0.01, -0.03))
	if e, err := off.Rest(); err != nil || math.Abs(e.Tilt+math.Atan2(0.01, 0.03)) > 1e-12 || e.Stability != Stable {
		t.Errorf("hangs at %+v, %v", e, err)
	}
	if _, err := on(t, Stand{Kind: Base, At: body.V(-0.03, 0, 0), To: body.V(0.05, 0, 0)}, Options{}, kilo(body.Point{}, 0.06, 0.04)).Rest(); !errors.Is(err, ErrNoRest) {
		t.Errorf("outside its feet: %v", err)
	}
}

// Laws: the torque is minus the slope of the energy; stiffness is minus the slope
// of the torque; equilibria alternate; small swings are the limit of large ones.
func TestLaws(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		f := func(name string, from, to float64) float64 { return rapid.Float64Range(from, to).Draw(rt, name) }
		s := Stand{At: body.V(f("x", -0.02, 0.02), f("y", -0.02, 0.02), 0), Radius: f("radius", 0.01, 0.1), Length: f("length", 0.1, 1)}
		s.Kind = rapid.SampledFrom([]Kind{Pin, Edge, Foot, Base, String, Board}).Draw(rt, "kind")
		s.To = body.V(s.At.X+f("apart", 0.01, 0.1), s.At.Y, 0)
		s.Half = f("half", 0.3, 1.5)
		if s.Kind == Board || s.Kind == Foot && rapid.Bool().Draw(rt, "on a dome") {
			s.Dome = f("dome", 0.05, 0.5)
		}
		b, err := New(body.Assembly{
			{Shape: body.Block{X: 0.02, Y: 0.05, Z: 0.01}, Given: f("m", 0.01, 1), At: body.V(f("u", -0.05, 0.05), f("v", -0.05, 0.1), 0)},
			{Shape: body.Sphere{Radius: 0.01}, Given: 0.1, At: body.V(f("p", -0.1, 0.1), f("q", -0.1, 0.1), 0)},
		}, s, Options{})
		if err != nil {
			rt.Fatal(err)
		}
		tilt := f("tilt", -0.25, 0.25)
		if s.Kind == Base && math.Abs(tilt) < 1e-4 {
			tilt = 0.1
		}
		const h = 1e-5
		scale := b.weight() * b.size()
		if slope := (b.PotentialEnergy(tilt+h) - b.PotentialEnergy(tilt-h)) / (2 * h); math.Abs(slope+b.Torque(tilt)) > 1e-7*scale {
			rt.Fatalf("torque %v, slope of the energy %v", b.Torque(tilt), slope)
		}
		if slope := (b.Torque(tilt+h) - b.Torque(tilt-h)) / (2 * h); math.Abs(slope+b.stiffnessAt(tilt)) > 1e-7*scale {
			rt.Fatalf("stiffness %v, slope of the torque %v", b.stiffnessAt(tilt), slope)
		}
		all := b.Equilibria()
		for i, e := range all {
			if math.Abs(b.Torque(e.Tilt)) > 1e-9*scale && s.Kind != Base {
				rt.Fatalf("torque %v at equilibrium %+v", b.Torque(e.Tilt), e)
			}
			if i > 0 && all[i-1].Stability == e.Stability && e.Stability != Neutral {
				rt.Fatalf("equilibria do not alternate: %+v", all)
			}
		}
		small, err := b.Period()
		if err != nil || s.Kind == String || s.Kind == Base { // on two feet a swing may meet the other foot
			return
		}
		from, to, err := b.Basin()
		rest, _ := b.Rest()
		if err != nil || from > rest.Tilt || to < rest.Tilt {
			rt.Fatalf("basin %v to %v about %v, %v", from, to, rest.Tilt, err)
		}
		if a := 1e-4; a < 0.01*(to-rest.Tilt) && a < 0.01*(rest.Tilt-from) && b.stiffnessAt(rest.Tilt) > 0.05*scale {
			if T, err := b.PeriodAt(a); err != nil || math.Abs(T/small-1) > 1e-3 {
				rt.Fatalf("period %v at %v rad, small %v, %v", T, a, small, err)
			}
		}
	})
}

func TestMistakes(t *testing.T) {
	one := body.Assembly{kilo(body.Point{}, 0, -0.1)}
	nan := math.NaN()
	for _, tt := range []struct {
		a    body.Assembly
		s    Stand
		o    Options
		want string
	}{
		{nil, Stand{}, Options{}, "no parts"},
		{one, Stand{Kind: 9}, Options{}, "unknown kind 9 of stand"},
		{one, Stand{At: body.V(nan, 0, 0)}, Options{}, "at.x is NaN"},
		{one, Stand{Kind: Foot}, Options{}, "radius of the round foot is 0 m: give a positive length"},
		{one, Stand{Kind: Foot, Radius: 1, Half: 4}, Options{}, "half angle"},
		{one, Stand{Kind: Foot, Radius: 1, Dome: -0.5}, Options{}, "not wider than the foot"},
		{one, Stand{Kind: Base}, Options{}, "move them apart"},
		{one, Stand{Kind: Base, To: body.V(0, 0, 1)}, Options{}, "same place"},
		{one, Stand{Kind: String}, Options{}, "length of the thread"},
		{one, Stand{Kind: Board}, Options{}, "radius of the log"},
		{one, Stand{}, Options{Gravity: -1}, "gravity is -1"},
		{one, Stand{}, Options{Axis: body.V(0, 1, 0)}, "not horizontal"},
	} {
		if _, err := New(tt.a, tt.s, tt.o); err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%+v: %v, want %q", tt.s, err, tt.want)
		}
	}
	var zero Balance
	if _, err := zero.Period(); !errors.Is(err, ErrNoRest) || zero.Stability() != Unstable || len(zero.Equilibria()) != 0 {
		t.Errorf("a balance that was not made: %v", err)
	}
	for want, p := range map[string]Pendulum{"mass": {Drop: 1, Inertia: 1}, "inertia": {Mass: 1, Drop: 1}, "drop": {1, nan, 1}, "come to rest": {1, -0.01, 1}} {
		if _, err := p.Period(0, 9.81); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%+v: %v", p, err)
		}
	}
	if _, err := Simple(1, 1).Period(4, 9.81); err == nil || !strings.Contains(err.Error(), "amplitude 4 rad is out of range") {
		t.Error(err)
	}
	if _, err := dome(t, 1).PeriodAt(3); err == nil || !strings.Contains(err.Error(), "out of range") {
		t.Error(err)
	}
}
