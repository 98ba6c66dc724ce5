package lagrange_test

import (
	"math"
	"strings"
	"testing"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/lagrange"
	"counterpoise/mechanics/problems"
)

// Landau and Lifshitz, Mechanics (3rd ed.), §5 and §21: a pendulum hangs
// stably and stands unstably; §23 Problem 1 has the frequencies of two coupled
// oscillators, here 1 and 3 for k = 1.
func TestEquilibria(t *testing.T) {
	find := func(s lagrange.System, in map[string]lagrange.Range) []lagrange.Equilibrium {
		t.Helper()
		e, err := s.Derive()
		if err != nil {
			t.Fatal(err)
		}
		found, err := e.Equilibria(nil, in)
		if err != nil {
			t.Fatal(err)
		}
		return found
	}
	p := find(lagrange.PhysicalPendulum(), nil)
	if len(p) != 2 || p[0].At["θ"] != 0 || p[0].Stability != lagrange.Stable ||
		math.Abs(p[1].At["θ"]-math.Pi) > 1e-12 || p[1].Stability != lagrange.Unstable {
		t.Errorf("pendulum: %v", p)
	}
	d := find(lagrange.NLinkPendulum(2), nil)
	if len(d) != 4 || d[0].Stability != lagrange.Stable {
		t.Errorf("double pendulum: %v", d)
	}
	for _, e := range d[1:] {
		if e.Stability != lagrange.Unstable {
			t.Errorf("double pendulum: %v is not unstable", e)
		}
	}
	// A piece that turns fast enough leaves the vertical: cos θ = g/(Ω² r) with
	// r = (I_2-I_3)/(m d); Goldstein, Poole and Safko, chapter 2, exercise on the
	// bead on a rotating hoop. From memory, unchecked.
	s := lagrange.RockingInRotatingFrame()
	s.Values["Ω"] = 20
	r := find(s, nil)
	v := s.Values
	want := math.Acos(v["m"] * v["g"] * v["d"] / (v["Ω"] * v["Ω"] * (v["I_2"] - v["I_3"])))
	stable := 0
	for _, e := range r {
		if e.Stability == lagrange.Stable {
			stable++
			if math.Abs(math.Abs(e.At["θ"])-want) > 1e-10 {
				t.Errorf("rests at %v, want ±%v", e.At["θ"], want)
			}
		}
	}
	if stable != 2 || len(r) != 4 {
		t.Errorf("rocking piece: %v", r)
	}
	// Friction makes the eigenvalues of the hanging pendulum decay.
	f := lagrange.DrivenDampedPendulum()
	f.Forces = nil
	for _, e := range find(f, nil)[:1] {
		if e.Stability != lagrange.Stable || math.Abs(real(e.Eigenvalues[0])+0.25) > 1e-12 {
			t.Errorf("damped pendulum: %v", e)
		}
	}
	// A spring pendulum hangs at l + m g/k.
	h := find(lagrange.SpringPendulum(), map[string]lagrange.Range{"r": {From: 0.1, To: 3}})
	if len(h) != 2 || h[1].Stability != lagrange.Stable || math.Abs(h[1].At["r"]-1) > 1e-12 || h[0].Stability != lagrange.Unstable {
		t.Errorf("spring pendulum: %v", h)
	}
}

// Mass and stiffness of small swings: French, Vibrations and Waves, chapter 5,
// for two coupled pendulums. From memory, unchecked.
func TestLinearise(t *testing.T) {
	e, err := lagrange.CoupledPendulums().Derive()
	if err != nil {
		t.Fatal(err)
	}
	l, err := e.Linearise(nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		got  expr.Expr
		want string
	}{
		{l.Mass[0][0], "l^2*m"}, {l.Mass[0][1], "0"},
		{l.Stiffness[0][0], "a^2*k + g*l*m"}, {l.Stiffness[0][1], "-a^2*k"},
		{l.Damping[0][0], "0"},
	} {
		if tt.got.String() != tt.want {
			t.Errorf("got %s, want %s", tt.got, tt.want)
		}
	}
	k, err := l.StiffnessMatrix(map[string]float64{"g": 10})
	if err != nil {
		t.Fatal(err)
	}
	if k.At(0, 0) != 10.25 || k.At(1, 0) != -0.25 {
		t.Errorf("stiffness %v", k)
	}
	// The spring pendulum about its rest, given as a formula.
	e, err = lagrange.SpringPendulum().Derive()
	if err != nil {
		t.Fatal(err)
	}
	hangs := expr.Sym("l").Plus(expr.Div(expr.Mul(expr.Sym("m"), expr.Sym("g")), expr.Sym("k")))
	l, err = e.Linearise(map[string]expr.Expr{"r": hangs})
	if err != nil {
		t.Fatal(err)
	}
	if l.Stiffness[0][0].String() != "k" || !l.Stiffness[0][1].IsZero() {
		t.Errorf("stiffness %v", l.Stiffness)
	}
	if _, err := e.Linearise(nil); err == nil || !strings.Contains(err.Error(), "does not rest there: the force on r is") {
		t.Errorf("linearised where it does not rest: %v", err)
	}
	if _, err := e.Linearise(map[string]expr.Expr{"x": hangs}); err == nil {
		t.Error("an unknown coordinate is accepted")
	}
	e, err = lagrange.DrivenDampedPendulum().Derive()
	if err != nil {
		t.Fatal(err)
	}
	if _, err := e.Linearise(nil); err == nil || !strings.Contains(err.Error(), "driven") {
		t.Errorf("a driven system is linearised: %v", err)
	}
}

// A spherical pendulum in polar angles has a pole where it hangs.
func TestPoleIsNamed(t *testing.T) {
	θ, φ, l := expr.Sym("θ"), expr.Sym("φ"), expr.Sym("l")
	x := expr.Mul(l, expr.Sin(θ), expr.Cos(φ))
	y := expr.Mul(l, expr.Sin(θ), expr.Sin(φ))
	z := expr.Neg(expr.Mul(l, expr.Cos(θ)))
	s := lagrange.System{
		Coordinates: []string{"θ", "φ"},
		Kinetic:     lagrange.Kinetic(expr.Sym("m"), []expr.Expr{x, y, z}, "θ", "φ"),
		Potential:   expr.Mul(expr.Sym("m"), expr.Sym("g"), z),
		Values:      map[string]float64{"m": 1, "l": 1, "g": 9.81},
	}
	e, err := s.Derive()
	if err != nil {
		t.Fatal(err)
	}
	// Landau and Lifshitz, Mechanics (3rd ed.), §14 Problem 1: E and M_z.
	if got := e.Mass[1][1].String(); got != "l^2*m*sin(θ)^2" {
		t.Errorf("inertia of φ is %s", got)
	}
	m, err := e.Motion(nil)
	if err != nil {
		t.Fatal(err)
	}
	if err := m.Check(0, []float64{1, 0, 0, 0}); err != nil {
		t.Error(err)
	}
	if err := m.Check(0, make([]float64, 4)); err == nil || !strings.Contains(err.Error(), "φ has no inertia") {
		t.Errorf("at the pole: %v", err)
	}
}

func TestVelocityFree(t *testing.T) {
	for _, tt := range []struct {
		p    problems.Problem
		want bool
	}{{problems.Pendulum(), true}, {problems.DoublePendulum(), false}, {problems.Arenstorf(), false}, {problems.Kepler(), true}, {problems.DampedOscillator(), false}} {
		e, err := tt.p.Equations()
		if err != nil {
			t.Fatal(err)
		}
		m, err := e.Motion(tt.p.Values)
		if err != nil {
			t.Fatal(err)
		}
		if m.VelocityFree() != tt.want {
			t.Errorf("%s: velocity free is %v", tt.p.Name, m.VelocityFree())
		}
	}
}

// A pendulum on a cart that runs freely rests wherever the cart stands: neutral
// below, unstable above.
func TestCyclicCoordinatesAreNeutral(t *testing.T) {
	M, m, l, g := expr.Sym("M"), expr.Sym("m"), expr.Sym("l"), expr.Sym("g")
	x, θ := expr.Sym("x"), expr.Sym("θ")
	bob := []expr.Expr{x.Plus(expr.Mul(l, expr.Sin(θ))), expr.Neg(expr.Mul(l, expr.Cos(θ)))}
	s := lagrange.System{
		Coordinates: []string{"x", "θ"},
		Kinetic:     lagrange.Kinetic(M, []expr.Expr{x}, "x").Plus(lagrange.Kinetic(m, bob, "x", "θ")),
		Potential:   expr.Mul(m, g, bob[1]),
		Values:      map[string]float64{"M": 2, "m": 1, "l": 0.5, "g": 9.81},
	}
	e, err := s.Derive()
	if err != nil {
		t.Fatal(err)
	}
	found, err := e.Equilibria(nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	if len(found) != 2 || found[0].String() != "x = 0, θ = 0: neutral" || found[1].Stability != lagrange.Unstable {
		t.Errorf("got %v", found)
	}
	// ω² = (g/l)(M + m)/M. Common practice, no source: follows from the two
	// equations with the cart's acceleration eliminated.
	v := found[0].Eigenvalues
	if ω := imag(v[len(v)-1]); math.Abs(ω-math.Sqrt(9.81/0.5*3/2)) > 1e-9 {
		t.Errorf("it swings at %v rad/s", ω)
	}
}

// A pendulum as a point on a rod rests and swings as the one in the angle:
// stable below with ω² = g/l, unstable above.
func TestRestUnderConstraints(t *testing.T) {
	x, y, l := expr.Sym("x"), expr.Sym("y"), expr.Sym("l")
	s := lagrange.System{
		Coordinates: []string{"x", "y"},
		Kinetic:     lagrange.Kinetic(expr.Sym("m"), []expr.Expr{x, y}, "x", "y"),
		Potential:   expr.Mul(expr.Sym("m"), expr.Sym("g"), y),
		Constraints: []expr.Expr{expr.Sub(expr.Add(expr.Pow(x, expr.Int(2)), expr.Pow(y, expr.Int(2))), expr.Pow(l, expr.Int(2)))},
		Values:      map[string]float64{"m": 0.3, "g": 9, "l": 4},
	}
	e, err := s.Derive()
	if err != nil {
		t.Fatal(err)
	}
	found, err := e.Equilibria(nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	if len(found) != 2 || math.Abs(found[0].At["y"]+4) > 1e-12 || found[0].Stability != lagrange.Stable ||
		math.Abs(imag(found[0].Eigenvalues[1])-1.5) > 1e-12 || found[1].Stability != lagrange.Unstable {
		t.Errorf("got %v with %v", found, found[0].Eigenvalues)
	}
	lin, err := e.Linearise(map[string]expr.Expr{"y": expr.Neg(l)})
	if err != nil {
		t.Fatal(err)
	}
	if got, want := lin.String(), "M = [[m]]\nK = [[m g/l]]"; got != want || len(lin.Coordinates) != 1 || lin.Coordinates[0] != "x" {
		t.Errorf("got %s of %v, want %s of x", got, lin.Coordinates, want)
	}
	if _, err := e.Linearise(nil); err == nil || !strings.Contains(err.Error(), "constraint 1 is -l^2 there") {
		t.Errorf("a place off the constraint: %v", err)
	}
	if _, err := e.Linearise(map[string]expr.Expr{"x": l}); err == nil || !strings.Contains(err.Error(), "does not rest there") && !strings.Contains(err.Error(), "depend on each other") {
		t.Errorf("a place without rest: %v", err)
	}
}

// The linear motion keeps the textbook frequencies of a chain of two equal
// pendulums, ω² = (2 ± √2) g/l: Landau and Lifshitz, Mechanics (3rd ed.), §23
// Problem 2.
func TestDoublePendulumModes(t *testing.T) {
	s := lagrange.NLinkPendulum(2)
	s.Values["g"] = 1
	e, err := s.Derive()
	if err != nil {
		t.Fatal(err)
	}
	found, err := e.Equilibria(nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	v := found[0].Eigenvalues
	for i, want := range []float64{-math.Sqrt(2 + math.Sqrt2), -math.Sqrt(2 - math.Sqrt2)} {
		if math.Abs(imag(v[i])-want) > 1e-12 {
			t.Errorf("eigenvalue %v, want ±%v i", v[i], want)
		}
	}
}

func TestMotion(t *testing.T) {
	p := problems.SpringPendulum()
	e, err := p.Equations()
	if err != nil {
		t.Fatal(err)
	}
	m, err := e.Motion(nil)
	if err != nil {
		t.Fatal(err)
	}
	// A Taylor step of order 30 and its energy; then back.
	y := append([]float64(nil), p.Start...)
	const order, steps = 30, 25
	c := make([]float64, (order+1)*m.Dim())
	e0 := m.Energy(0, y)
	for _, h := range []float64{0.04, -0.04} {
		for range steps {
			m.Series(c, order, 0, y)
			for i := range y {
				y[i] = 0
				for k := order; k >= 0; k-- {
					y[i] = y[i]*h + c[k*m.Dim()+i]
				}
			}
		}
		if d := math.Abs(m.Energy(0, y) - e0); d > 1e-13 {
			t.Errorf("energy drifts by %g", d)
		}
	}
	for i := range y {
		if math.Abs(y[i]-p.Start[i]) > 1e-12 {
			t.Errorf("component %d comes back to %v, started at %v", i, y[i], p.Start[i])
		}
	}
	a, d2 := make([]float64, 2), make([]float64, 4)
	m.Accelerations(a, 0, p.Start)
	if m.Rates(d2, 0, p.Start); !m.VelocityFree() || a[0] != d2[2] || a[1] != d2[3] {
		t.Errorf("accelerations %v, rates %v", a, d2)
	}
	j := make([]float64, 16)
	m.Copy().Jacobian(j, 0, p.Start)
	d, f, g := 1e-6, make([]float64, 4), make([]float64, 4)
	up, down := append([]float64(nil), p.Start...), append([]float64(nil), p.Start...)
	up[1] += d
	down[1] -= d
	m.Rates(f, 0, up)
	m.Rates(g, 0, down)
	for i := range f { // a central difference: error d² times the third derivative
		if math.Abs((f[i]-g[i])/(2*d)-j[4*i+1]) > 1e-6 {
			t.Errorf("∂rate %d/∂y is %v, a difference says %v", i, j[4*i+1], (f[i]-g[i])/(2*d))
		}
	}
}
