package tape_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"sync"
	"testing"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/expr/tape"

	"pgregory.net/rapid"
)

var names = []string{"x", "y", "z"}

// formula draws an expression that has a value for every real x, y, z and is
// smooth there.
func formula(depth int) *rapid.Generator[expr.Expr] {
	return rapid.Custom(func(t *rapid.T) expr.Expr {
		if depth == 0 {
			if rapid.Bool().Draw(t, "number") {
				return expr.Rat(rapid.Int64Range(-5, 5).Draw(t, "p"), rapid.Int64Range(1, 4).Draw(t, "q"))
			}
			return expr.Sym(rapid.SampledFrom(names).Draw(t, "symbol"))
		}
		sub := formula(depth - 1)
		a, two := sub.Draw(t, "a"), expr.Int(2)
		positive := func() expr.Expr { return expr.Add(expr.Int(1), expr.Pow(sub.Draw(t, "b"), two)) }
		switch rapid.IntRange(0, 20).Draw(t, "operation") {
		case 0, 1, 2:
			return expr.Add(a, sub.Draw(t, "b"), sub.Draw(t, "c"))
		case 3, 4:
			return expr.Mul(a, sub.Draw(t, "b"))
		case 5:
			return expr.Sub(expr.Mul(a, sub.Draw(t, "b")), expr.Mul(sub.Draw(t, "c"), sub.Draw(t, "d")))
		case 6:
			return expr.Div(a, positive())
		case 7:
			return expr.Sin(a)
		case 8:
			return expr.Cos(a)
		case 9:
			return expr.Pow(a, expr.Int(rapid.Int64Range(2, 5).Draw(t, "n")))
		case 10:
			return expr.Pow(positive(), expr.Rat(rapid.Int64Range(-5, 5).Draw(t, "n"), 2))
		case 11:
			return expr.Exp(expr.Sin(a))
		case 12:
			return expr.Log(positive())
		case 13:
			return expr.Atan(a)
		case 14:
			return expr.Tanh(a)
		case 15:
			return expr.Sinh(expr.Sin(a))
		case 16:
			return expr.Asin(expr.Mul(expr.Rat(1, 2), expr.Sin(a)))
		case 17:
			return expr.Acos(expr.Mul(expr.Rat(1, 2), expr.Sin(a)))
		case 18:
			return expr.Atan2(a, positive())
		case 19:
			return expr.Pow(positive(), expr.Mul(expr.Rat(1, 3), expr.Cos(a)))
		}
		return expr.Tan(expr.Mul(expr.Rat(1, 2), expr.Sin(a)))
	})
}

func agree(got, want, scale float64) bool {
	return got == want || math.Abs(got-want) <= 1e-9*(1+math.Abs(want)+scale)
}

// A program, alone and in a batch, agrees with Expr.Eval; its Jacobian with
// Expr.Diff.
func TestProgramAgreesWithEval(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		outputs := []expr.Expr{formula(3).Draw(t, "f"), formula(2).Draw(t, "g"), expr.Sym("y")}
		p, err := tape.Compile(outputs, names, tape.Options{ExactAngles: rapid.Bool().Draw(t, "exact")})
		if err != nil {
			t.Skip(err)
		}
		j, err := p.Jacobian("z", "x")
		if err != nil {
			t.Fatal(err)
		}
		const points = 70
		in, dst := make([][]float64, 3), make([][]float64, 3)
		for i := range in {
			in[i], dst[i] = make([]float64, points), make([]float64, points)
			for k := range in[i] {
				in[i][k] = rapid.Float64Range(-1.5, 1.5).Draw(t, "value")
			}
		}
		p.EvalBatch(dst, in, p.NewBatchScratch())
		for _, k := range []int{0, 63, 64, 69} {
			at := []float64{in[0][k], in[1][k], in[2][k]}
			values := map[string]float64{"x": at[0], "y": at[1], "z": at[2]}
			got, partial := make([]float64, 3), make([]float64, 6)
			p.Eval(got, at, nil)
			j.Eval(partial, at, nil)
			for i, e := range outputs {
				want, err := e.Eval(values)
				if err != nil || math.Abs(want) > 1e6 {
					t.Skip("out of range")
				}
				if !agree(got[i], want, 1e3) || !agree(dst[i][k], got[i], 0) {
					t.Fatalf("%s at %v: tape %v, batch %v, Eval %v", e, at, got[i], dst[i][k], want)
				}
				for l, name := range []string{"z", "x"} {
					want, err := e.Diff(name).Eval(values)
					if err != nil || math.Abs(want) > 1e6 {
						t.Skip("out of range")
					}
					if !agree(partial[2*i+l], want, 1e3) {
						t.Fatalf("d/d%s %s at %v: tape %v, Diff %v", name, e, at, partial[2*i+l], want)
					}
				}
			}
		}
	})
}

// The Taylor coefficients of x(t) along x' = f, y' = g are those of repeated
// differentiation along time: x” = ∂f/∂x f + ∂f/∂y g, and so on.
func TestTaylorAgreesWithDifferentiation(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := formula(2).Draw(t, "f")
		g := formula(2).Draw(t, "g")
		p, err := tape.Compile([]expr.Expr{f, g}, []string{"x", "y", "z"}, tape.Options{})
		if err != nil {
			t.Skip(err)
		}
		const order = 4
		series, err := p.Taylor(2, order)
		if err != nil {
			t.Fatal(err)
		}
		at := []float64{rapid.Float64Range(-1, 1).Draw(t, "x"), rapid.Float64Range(-1, 1).Draw(t, "y"), 0.7}
		values := map[string]float64{"x": at[0], "y": at[1], "z": at[2]}
		series.Expand(at)
		for i, e := range []expr.Expr{expr.Sym("x"), expr.Sym("y")} {
			factorial := 1.0
			for k := 0; k <= order; k++ {
				if k > 0 {
					factorial *= float64(k)
					e = expr.Add(expr.Mul(e.Diff("x"), f), expr.Mul(e.Diff("y"), g))
				}
				want, err := e.Eval(values)
				if err != nil || math.Abs(want) > 1e6 {
					t.Skip("out of range")
				}
				if got := series.Coefficients(i)[k] * factorial; !agree(got, want, 1e3) {
					t.Fatalf("x' = %s, y' = %s at %v: derivative %d of %s is %v, want %v", f, g, at, k, "xy"[i:i+1], got, want)
				}
			}
		}
	})
}

// x' = x² + t: Hairer, Nørsett and Wanner I, section I.8, treat x' = x² + t²
// in the same way; here the first coefficients by hand. No source.
func TestTaylorKnowsTime(t *testing.T) {
	x, tm := expr.Sym("x"), expr.Sym("t")
	p, err := tape.Compile([]expr.Expr{expr.Add(expr.Pow(x, expr.Int(2)), tm)}, []string{"x", "t"}, tape.Options{})
	if err != nil {
		t.Fatal(err)
	}
	s, err := p.Taylor(1, 3)
	if err != nil {
		t.Fatal(err)
	}
	s.Expand([]float64{1, 0})
	// x = 1 + τ + 3/2 τ² + …: x' = x² + t, x'' = 2 x x' + 1 = 3, x''' = 2 x'² + 2 x x'' = 8
	want := []float64{1, 1, 1.5, 8. / 6}
	for k, c := range s.Coefficients(0) {
		if math.Abs(c-want[k]) > 1e-15 {
			t.Errorf("coefficient %d is %v, want %v", k, c, want[k])
		}
	}
}

// A variation follows the Jacobian times the displacement.
func TestVariationIsJacobianTimesDisplacement(t *testing.T) {
	x, y := expr.Sym("x"), expr.Sym("y")
	p, err := tape.Compile([]expr.Expr{y, expr.Neg(expr.Sin(expr.Mul(x, y)))}, []string{"x", "y"}, tape.Options{})
	if err != nil {
		t.Fatal(err)
	}
	v, err := p.Variation(2)
	if err != nil {
		t.Fatal(err)
	}
	j, err := p.Jacobian()
	if err != nil {
		t.Fatal(err)
	}
	got, J := make([]float64, 4), make([]float64, 4)
	v.Eval(got, []float64{0.3, 0.8, 2, -1}, nil)
	j.Eval(J, []float64{0.3, 0.8}, nil)
	for i := range 2 {
		if want := 2*J[2*i] - J[2*i+1]; math.Abs(got[2+i]-want) > 1e-15 {
			t.Errorf("variation of output %d is %v, want %v", i, got[2+i], want)
		}
	}
}

func TestWithoutLeavesOutUnusedInputs(t *testing.T) {
	x, z := expr.Sym("x"), expr.Sym("z")
	p, err := tape.Compile([]expr.Expr{expr.Sub(z, x), expr.Sin(z)}, []string{"x", "y", "z"}, tape.Options{})
	if err != nil {
		t.Fatal(err)
	}
	q, err := p.Without("y")
	if err != nil {
		t.Fatal(err)
	}
	j, err := q.Jacobian("z")
	if err != nil {
		t.Fatal(err)
	}
	out := make([]float64, 2)
	if q.Eval(out, []float64{2, 5}, nil); out[0] != 3 || math.Abs(out[1]-math.Sin(5)) > 1e-15 {
		t.Errorf("got %v", out)
	}
	if j.Eval(out, []float64{2, 5}, nil); out[0] != 1 || math.Abs(out[1]-math.Cos(5)) > 1e-15 {
		t.Errorf("derivatives %v", out)
	}
	if _, err := p.Without("x"); err == nil {
		t.Error("an input that is needed is left out")
	}
}

// Hundreds of inputs, constants and values that live at once do not fit 256
// registers; many outputs are written on the way.
func TestLargeProgramsSpill(t *testing.T) {
	const n = 300
	var inputs []string
	var xs, outputs []expr.Expr
	for i := range n {
		inputs = append(inputs, fmt.Sprintf("x_%d", i))
		xs = append(xs, expr.Sym(inputs[i]))
	}
	total := expr.Int(0)
	for i := range n {
		total = total.Plus(expr.Sin(xs[i].Times(xs[(i+1)%n])))
	}
	for i := range n { // all sines are needed again after the last sum
		outputs = append(outputs, expr.Sin(xs[i].Times(xs[(i+1)%n])).Times(total).Plus(expr.Rat(int64(i), 7)))
	}
	outputs = append(outputs, xs[0], xs[n-1], expr.Int(3))
	p, err := tape.Compile(outputs, inputs, tape.Options{})
	if err != nil {
		t.Fatal(err)
	}
	r := rand.New(rand.NewPCG(1, 1))
	in, values := make([]float64, n), map[string]float64{}
	batch := make([][]float64, n)
	for i := range in {
		in[i] = r.Float64()
		values[inputs[i]] = in[i]
		batch[i] = []float64{in[i]}
	}
	dst, lanes := make([]float64, n+3), make([][]float64, n+3)
	for i := range lanes {
		lanes[i] = make([]float64, 1)
	}
	s := p.NewScratch()
	for range 2 { // constants survive a run
		p.Eval(dst, in, s)
	}
	p.EvalBatch(lanes, batch, nil)
	for i, e := range outputs {
		want, err := e.Eval(values)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(dst[i]-want) > 1e-11 || dst[i] != lanes[i][0] {
			t.Fatalf("output %d is %v, in a batch %v, want %v", i, dst[i], lanes[i][0], want)
		}
	}
}

func TestEvalAllocatesNothing(t *testing.T) {
	p := doublePendulum(t)
	in, dst, s := []float64{2, 1, 0.5, -1}, make([]float64, 4), p.NewScratch()
	if n := testing.AllocsPerRun(100, func() { p.Eval(dst, in, s) }); n != 0 {
		t.Errorf("Eval allocates %v times", n)
	}
	lanes := make([][]float64, 4)
	out := make([][]float64, 4)
	for i := range lanes {
		lanes[i], out[i] = make([]float64, 200), make([]float64, 200)
	}
	b := p.NewBatchScratch()
	if n := testing.AllocsPerRun(100, func() { p.EvalBatch(out, lanes, b) }); n != 0 {
		t.Errorf("EvalBatch allocates %v times", n)
	}
	series, err := p.Taylor(4, 20)
	if err != nil {
		t.Fatal(err)
	}
	if n := testing.AllocsPerRun(100, func() { series.Expand(in) }); n != 0 {
		t.Errorf("Expand allocates %v times", n)
	}
}

func TestCompileSaysWhatIsWrong(t *testing.T) {
	x, h := expr.Sym("x"), expr.Sym("H")
	for _, tt := range []struct {
		name string
		e    expr.Expr
		in   []string
		o    tape.Options
		want string
	}{
		{"unknown symbol", x.Times(h), []string{"x"}, tape.Options{}, "compile output 1: H is neither an input nor a fixed value: add it to one of them"},
		{"input twice", x, []string{"x", "x"}, tape.Options{}, "compile: the input x is named twice: leave one out"},
		{"input and value", x, []string{"x"}, tape.Options{Values: map[string]float64{"x": 1}}, "compile: x is both an input and a fixed value: leave one out"},
		{"value not a number", x, nil, tape.Options{Values: map[string]float64{"x": math.NaN()}}, "compile: the value of x is NaN: give a finite number"},
		{"division by zero", expr.Div(expr.Int(1), h), []string{"x"}, tape.Options{Values: map[string]float64{"H": 0}}, "compile output 1: it has no finite value: a division by zero, or the root or logarithm of a negative number"},
	} {
		_, err := tape.Compile([]expr.Expr{tt.e}, tt.in, tt.o)
		if err == nil || err.Error() != tt.want {
			t.Errorf("%s: got %v, want %s", tt.name, err, tt.want)
		}
	}
	ragged := tape.System{Mass: [][]expr.Expr{{x}, {x}}, Force: []expr.Expr{x, x}, Coordinate: []string{"x", "y"}}
	if _, err := tape.CompileSystem(ragged, nil, tape.Options{}); err == nil || !strings.Contains(err.Error(), "row 2 of the mass matrix has 1 elements") {
		t.Errorf("a ragged mass matrix: %v", err)
	}
	p := doublePendulum(t)
	if _, err := p.Jacobian("u"); err == nil || !strings.Contains(err.Error(), "u is not an input") {
		t.Errorf("Jacobian along an unknown name: %v", err)
	}
	if _, err := p.Taylor(4, 1000); err == nil {
		t.Error("Taylor of order 1000 is accepted")
	}
}

// doublePendulum is two equal masses on equal rods of 1 m, as a system of
// second order whose mass matrix is factored in the program.
func doublePendulum(t testing.TB) *tape.Program {
	q1, q2, w1, w2 := expr.Sym("q_1"), expr.Sym("q_2"), expr.Sym("q_1'"), expr.Sym("q_2'")
	g := expr.Num(9.81)
	c, s := expr.Cos(q1.Minus(q2)), expr.Sin(q1.Minus(q2))
	two := expr.Int(2)
	p, err := tape.CompileSystem(tape.System{
		Mass: [][]expr.Expr{{two, c}, {c, expr.Int(1)}},
		Force: []expr.Expr{
			expr.Sub(expr.Mul(expr.Int(-2), g, expr.Sin(q1)), expr.Mul(s, w2, w2)),
			expr.Sub(expr.Mul(s, w1, w1), expr.Mul(g, expr.Sin(q2))),
		},
		Coordinate: []string{"q_1", "q_2"},
	}, nil, tape.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// The closed form of the accelerations: Source: the right-hand side of the
// project's own comparison programs, derived by hand from the textbook's two
// equations (Landau and Lifshitz, Mechanics, §5 Problem 1 for the Lagrangian).
func closedForm(y, d []float64) {
	s, c := math.Sincos(y[0] - y[1])
	r1 := -19.62*math.Sin(y[0]) - s*y[3]*y[3]
	r2 := s*y[2]*y[2] - 9.81*math.Sin(y[1])
	den := 2 - c*c
	d[0], d[1] = y[2], y[3]
	d[2] = (r1 - c*r2) / den
	d[3] = (2*r2 - c*r1) / den
}

func TestMassMatrixIsFactoredInTheProgram(t *testing.T) {
	p := doublePendulum(t)
	r := rand.New(rand.NewPCG(3, 3))
	for range 1000 {
		y := []float64{6 * (r.Float64() - .5), 6 * (r.Float64() - .5), 8 * (r.Float64() - .5), 8 * (r.Float64() - .5)}
		got, want := make([]float64, 4), make([]float64, 4)
		p.Eval(got, y, nil)
		closedForm(y, want)
		for i := range want {
			if math.Abs(got[i]-want[i]) > 1e-13*(1+math.Abs(want[i])) {
				t.Fatalf("at %v output %d is %v, want %v", y, i, got[i], want[i])
			}
		}
	}
	t.Logf("%d operations in %d instructions", p.Operations(), p.Instructions())
}

// Spherical coordinates lose the inertia of φ at the pole; two constraints that
// say the same cannot both be met.
func TestCheckNamesWhatIsSingular(t *testing.T) {
	θ, one := expr.Sym("θ"), expr.Int(1)
	pole, err := tape.CompileSystem(tape.System{
		Mass:  [][]expr.Expr{{one, expr.Expr{}}, {expr.Expr{}, expr.Pow(expr.Sin(θ), expr.Int(2))}},
		Force: []expr.Expr{expr.Expr{}, one}, Coordinate: []string{"θ", "φ"},
	}, nil, tape.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if err := pole.Check([]float64{1, 0, 0, 0}); err != nil {
		t.Error(err)
	}
	want := "the mass matrix is singular at this state: φ has no inertia of its own left (pivot 0 of 0); choose coordinates that are regular here, or check the masses"
	if err := pole.Check(make([]float64, 4)); err == nil || err.Error() != want {
		t.Errorf("got %v, want %s", err, want)
	}
	twice, err := tape.CompileSystem(tape.System{
		Mass: [][]expr.Expr{{one, expr.Expr{}}, {expr.Expr{}, one}}, Force: make([]expr.Expr, 2), Coordinate: []string{"x", "y"},
		Constraint: [][]expr.Expr{{one, expr.Sym("x")}, {one, expr.Sym("x")}}, Target: make([]expr.Expr, 2),
	}, nil, tape.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if err := twice.Check(make([]float64, 4)); err == nil || !strings.Contains(err.Error(), "constraints depend on each other") {
		t.Errorf("two equal constraints: %v", err)
	}
}

func states() [][4]float64 {
	r := rand.New(rand.NewPCG(1, 1))
	s := make([][4]float64, 1024)
	for i := range s {
		s[i] = [4]float64{6 * (r.Float64() - .5), 6 * (r.Float64() - .5), 8 * (r.Float64() - .5), 8 * (r.Float64() - .5)}
	}
	return s
}

// One evaluation of the double pendulum, 1024 states in turn.
func BenchmarkEval(b *testing.B) {
	p, s, d := doublePendulum(b), states(), make([]float64, 4)
	scratch := p.NewScratch()
	b.ReportAllocs()
	i := 0
	for b.Loop() {
		p.Eval(d, s[i&1023][:], scratch)
		i++
	}
}

// One trajectory's share of an evaluation of 1024 states at once.
func BenchmarkEvalBatch(b *testing.B) {
	p := doublePendulum(b)
	in, out := make([][]float64, 4), make([][]float64, 4)
	for k := range in {
		in[k], out[k] = make([]float64, 1024), make([]float64, 1024)
		for i, y := range states() {
			in[k][i] = y[k]
		}
	}
	scratch := p.NewBatchScratch()
	b.ReportAllocs()
	for b.Loop() {
		p.EvalBatch(out, in, scratch)
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/1024, "ns/trajectory")
}

// The same written by hand with the math package.
func BenchmarkByHand(b *testing.B) {
	s, d := states(), make([]float64, 4)
	i := 0
	for b.Loop() {
		closedForm(s[i&1023][:], d)
		i++
	}
}

// A program is shared between goroutines, each with its scratch or with none.
func TestOneProgramInManyGoroutines(t *testing.T) {
	p := doublePendulum(t)
	in := []float64{2, 1, 0.5, -1}
	want := make([]float64, 4)
	p.Eval(want, in, nil)
	var wg sync.WaitGroup
	for i := range 8 {
		wg.Go(func() {
			var s *tape.Scratch
			if i%2 == 0 {
				s = p.NewScratch()
			}
			got := make([]float64, 4)
			for range 100 {
				p.Eval(got, in, s)
				if got[2] != want[2] || got[3] != want[3] {
					t.Errorf("got %v, want %v", got, want)
					return
				}
			}
		})
	}
	wg.Wait()
}
