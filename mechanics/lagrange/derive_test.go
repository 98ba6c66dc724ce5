package lagrange_test

import (
	"encoding/json"
	"fmt"
	"math"
	"math/big"
	"strings"
	"testing"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/lagrange"
	"counterpoise/testdata"
)

// A reference is a state of a chain of pendulums and its accelerations.
type reference struct {
	Q, QD, M, L []float64
	QDD         []string
}

func references(t testing.TB) map[string][]reference {
	t.Helper()
	var file struct{ N map[string][]reference }
	if err := json.Unmarshal(testdata.Read(t, "n-link-pendulum", "eom_reference.json"), &file); err != nil {
		t.Fatal(err)
	}
	return file.N
}

// Accelerations of chains of one to five pendulums against a mass matrix and
// forces written by hand and solved at 30 digits: testdata/published/
// n-link-pendulum. The worst error allowed is 1e-12 relative to 1 + |q”|; the
// condition of the mass matrices times 1e-16 is below that.
func TestChainsOfPendulums(t *testing.T) {
	worst := 0.0
	for n := 1; n <= 5; n++ {
		e, err := lagrange.NLinkPendulum(n).Derive()
		if err != nil {
			t.Fatal(err)
		}
		for k, ref := range references(t)[fmt.Sprint(n)] {
			values := map[string]float64{"g": 9.81}
			for i := range n {
				values[fmt.Sprintf("m_%d", i+1)], values[fmt.Sprintf("l_%d", i+1)] = ref.M[i], ref.L[i]
			}
			p, err := e.Compile(values)
			if err != nil {
				t.Fatal(err)
			}
			out := make([]float64, p.Outputs())
			p.Eval(out, append(append(append([]float64(nil), ref.Q...), ref.QD...), 0), nil)
			for i, printed := range ref.QDD {
				want, ok := new(big.Float).SetString(printed)
				if !ok {
					t.Fatal(printed)
				}
				w, _ := want.Float64()
				err := math.Abs(out[n+i]-w) / (1 + math.Abs(w))
				worst = max(worst, err)
				if !(err < 1e-12) {
					t.Errorf("N = %d, state %d: acceleration %d is %v, want %s", n, k, i, out[n+i], printed)
				}
			}
		}
	}
	t.Logf("worst error %.1e", worst)
}

// Equations of motion as books print them.
func TestTextbookEquations(t *testing.T) {
	x, y := expr.Sym("x"), expr.Sym("y")
	for _, tt := range []struct {
		name   string
		system lagrange.System
		want   []string // accelerations
	}{
		// Landau and Lifshitz, Mechanics (3rd ed.), §11 Problem 1.
		{"physical pendulum", lagrange.PhysicalPendulum(), []string{"-d*g*m*sin(θ)/I"}},
		// Goldstein, Poole and Safko, Classical Mechanics (3rd ed.), chapter 1,
		// derivation for the spring pendulum. From memory, unchecked.
		{"spring pendulum", lagrange.SpringPendulum(), []string{
			"g*cos(θ) + k*(l - r)/m + r*θ'^2", "-(g*sin(θ) + 2*r'*θ')/r"}},
		// A bead on a helix: sliding down with g sin α sin α; French, Newtonian
		// Mechanics, follows from energy. Common practice, no source.
		{"bead on a helix", lagrange.BeadOnHelix(), []string{"-2*π*b*g/(b^2 + 4*π^2*R^2)"}},
		// A free point in the plane in polar coordinates: Goldstein (1-51 f.).
		{"polar", lagrange.System{
			Coordinates: []string{"r", "φ"},
			Kinetic: lagrange.Kinetic(expr.Sym("m"), []expr.Expr{
				expr.Mul(expr.Sym("r"), expr.Cos(expr.Sym("φ"))), expr.Mul(expr.Sym("r"), expr.Sin(expr.Sym("φ")))}, "r", "φ"),
		}, []string{"r*φ'^2", "-2*r'*φ'/r"}},
		// Projectile.
		{"projectile", lagrange.System{
			Coordinates: []string{"x", "y"},
			Kinetic:     lagrange.Kinetic(expr.Sym("m"), []expr.Expr{x, y}, "x", "y"),
			Potential:   expr.Mul(expr.Sym("m"), expr.Sym("g"), y),
		}, []string{"0", "-g"}},
		// Hand and Finch, Analytical Mechanics: bead on a wire that turns at Ω.
		// From memory, unchecked.
		{"bead on a turning rod", lagrange.System{
			Coordinates: []string{"r"},
			Kinetic: lagrange.Kinetic(expr.Sym("m"), []expr.Expr{
				expr.Mul(expr.Sym("r"), expr.Cos(expr.Mul(expr.Sym("Ω"), expr.Sym("t")))),
				expr.Mul(expr.Sym("r"), expr.Sin(expr.Mul(expr.Sym("Ω"), expr.Sym("t"))))}, "r"),
		}, []string{"r*Ω^2"}},
	} {
		e, err := tt.system.Derive()
		if err != nil {
			t.Fatal(tt.name, err)
		}
		a, err := e.Accelerations()
		if err != nil {
			t.Fatal(tt.name, err)
		}
		for i, want := range tt.want {
			if a[i].String() != want {
				t.Errorf("%s: acceleration %d is %s, want %s", tt.name, i+1, a[i], want)
			}
		}
	}
}

// The double pendulum's Lagrangian in Landau and Lifshitz, Mechanics (3rd
// ed.), §5 Problem 1, gives this mass matrix.
func TestDoublePendulumMassMatrix(t *testing.T) {
	e, err := lagrange.NLinkPendulum(2).Derive()
	if err != nil {
		t.Fatal(err)
	}
	for i, row := range [][]string{
		{"l_1^2*(m_1 + m_2)", "l_1*l_2*m_2*cos(θ_1 - θ_2)"},
		{"l_1*l_2*m_2*cos(θ_1 - θ_2)", "l_2^2*m_2"},
	} {
		for j, want := range row {
			if got := e.Mass[i][j].String(); got != want {
				t.Errorf("M[%d][%d] is %s, want %s", i, j, got, want)
			}
		}
	}
}

// A pendulum in Cartesian coordinates with the rod as constraint moves as the
// one in the angle; its multiplier is the rod's force over its length (f is
// half the squared length): the tension m g cos θ + m l θ'².
func TestMultipliersGiveTheTension(t *testing.T) {
	m, l, g := 2.0, 0.5, 9.81
	x, y := expr.Sym("x"), expr.Sym("y")
	half := expr.Rat(1, 2)
	s := lagrange.System{
		Coordinates: []string{"x", "y"},
		Kinetic:     lagrange.Kinetic(expr.Sym("m"), []expr.Expr{x, y}, "x", "y"),
		Potential:   expr.Mul(expr.Sym("m"), expr.Sym("g"), y),
		Constraints: []expr.Expr{expr.Mul(half, expr.Sub(expr.Add(expr.Pow(x, expr.Int(2)), expr.Pow(y, expr.Int(2))), expr.Pow(expr.Sym("l"), expr.Int(2))))},
		Values:      map[string]float64{"m": m, "l": l, "g": g},
	}
	e, err := s.Derive()
	if err != nil {
		t.Fatal(err)
	}
	p, err := e.Compile(nil)
	if err != nil {
		t.Fatal(err)
	}
	θ, w := 0.7, 1.3
	sin, cos := math.Sincos(θ)
	in := []float64{l * sin, -l * cos, l * w * cos, l * w * sin, 0}
	out := make([]float64, p.Outputs())
	p.Eval(out, in, nil)
	a := -g / l * sin
	want := []float64{in[2], in[3], l * (a*cos - w*w*sin), l * (a*sin + w*w*cos), -(m*g*cos + m*l*w*w) / l}
	for i := range want {
		if math.Abs(out[i]-want[i]) > 1e-12 {
			t.Errorf("output %d is %v, want %v", i, out[i], want[i])
		}
	}

	// The same by a choice of coordinates.
	θs := expr.Sym("θ")
	in2, err := s.In([]string{"θ"}, map[string]expr.Expr{
		"x": expr.Mul(expr.Sym("l"), expr.Sin(θs)), "y": expr.Neg(expr.Mul(expr.Sym("l"), expr.Cos(θs)))})
	if err != nil {
		t.Fatal(err)
	}
	if len(in2.Constraints) != 0 {
		t.Errorf("the constraint stays: %v", in2.Constraints)
	}
	e2, err := in2.Derive()
	if err != nil {
		t.Fatal(err)
	}
	acc, err := e2.Accelerations()
	if err != nil || acc[0].String() != "-g*sin(θ)/l" {
		t.Errorf("got %v, %v", acc, err)
	}
}

func TestConserved(t *testing.T) {
	names := func(s lagrange.System) string {
		e, err := s.Derive()
		if err != nil {
			t.Fatal(err)
		}
		var out []string
		for _, c := range e.Conserved() {
			out = append(out, c.Name+": "+c.Quantity.String())
		}
		return strings.Join(out, "; ")
	}
	r, φ, m := expr.Sym("r"), expr.Sym("φ"), expr.Sym("m")
	central := lagrange.System{
		Coordinates: []string{"r", "φ"},
		Kinetic:     lagrange.Kinetic(m, []expr.Expr{expr.Mul(r, expr.Cos(φ)), expr.Mul(r, expr.Sin(φ))}, "r", "φ").JoinAngles(),
		Potential:   expr.Neg(expr.Div(expr.Sym("k"), r)),
	}
	// Landau and Lifshitz, Mechanics (3rd ed.), §14: energy and angular momentum.
	if got, want := names(central), "energy: m*r^2*φ'^2/2 - k/r + m*r'^2/2; momentum of φ: m*r^2*φ'"; got != want {
		t.Errorf("central force: %s, want %s", got, want)
	}
	if got := names(lagrange.DrivenDampedPendulum()); got != "" {
		t.Errorf("driven pendulum conserves %s", got)
	}
	// In a turning frame Jacobi's integral is not T + V: Landau and Lifshitz, §39.
	if got := names(lagrange.RockingInRotatingFrame()); !strings.HasPrefix(got, "energy integral: ") {
		t.Errorf("rocking piece: %s", got)
	}
}

func TestMistakesAreNamed(t *testing.T) {
	x, v, m := expr.Sym("x"), expr.Sym("x'"), expr.Sym("m")
	T := expr.Mul(m, v, v)
	for _, tt := range []struct {
		s    lagrange.System
		want string
	}{
		{lagrange.System{}, "lagrange: Coordinates: there is none: name at least one"},
		{lagrange.System{Coordinates: []string{"x", "x"}}, "lagrange: Coordinates: x is named twice: leave one out"},
		{lagrange.System{Coordinates: []string{"x"}, Kinetic: x}, "lagrange: Kinetic: the coordinate x has no inertia: the kinetic energy does not hold x'"},
		{lagrange.System{Coordinates: []string{"x"}, Kinetic: expr.Pow(v, expr.Int(4))}, "lagrange: Kinetic: it is not quadratic in the velocities: its second derivative along x' and x' holds x'"},
		{lagrange.System{Coordinates: []string{"y"}, Kinetic: T}, "lagrange: Kinetic: x' is the derivative of x, which is not a coordinate: add it to the coordinates [y]"},
		{lagrange.System{Coordinates: []string{"x"}, Kinetic: T, Forces: map[string]expr.Expr{"F": x}}, "lagrange: Forces: F is not a coordinate: the coordinates are [x]"},
		{lagrange.System{Coordinates: []string{"x", "y"}, Kinetic: expr.Pow(v.Plus(expr.Sym("y'")), expr.Int(2))},
			"lagrange: Kinetic: the mass matrix is singular: some combination of the velocities of [x y] carries no kinetic energy; leave out a coordinate or add its inertia"},
	} {
		if _, err := tt.s.Derive(); err == nil || err.Error() != tt.want {
			t.Errorf("got %v, want %s", err, tt.want)
		}
	}
	e, err := lagrange.System{Coordinates: []string{"x"}, Kinetic: T, Potential: expr.Sym("H").Times(x)}.Derive()
	if err != nil {
		t.Fatal(err)
	}
	if _, err := e.Compile(map[string]float64{"m": 1}); err == nil || !strings.Contains(err.Error(), "compile: force on x: H is neither an input nor a fixed value") {
		t.Errorf("a parameter without value: %v", err)
	}
	if _, err := e.Compile(map[string]float64{"m": 1, "H": math.NaN()}); err == nil || !strings.Contains(err.Error(), "H is NaN") {
		t.Errorf("a parameter that is no number: %v", err)
	}
}
