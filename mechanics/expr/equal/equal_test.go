package equal_test

import (
	"encoding/json"
	"math"
	"testing"
	"time"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/expr/equal"
	"counterpoise/mechanics/expr/parse"
	"counterpoise/mechanics/expr/typeset"
	"counterpoise/testdata"
)

// read parses a formula that is part of a test.
func read(t testing.TB, text string, o parse.Options) expr.Expr {
	t.Helper()
	e, err := parse.Parse(text, o)
	if err != nil {
		t.Fatalf("%s: %v", text, err)
	}
	return e
}

// A pair of the table in testdata/published/equality-pairs.
type pair struct {
	ID, A, B string
	Equal    bool

	// What SymPy says, and its seconds: simplify(a - b) == 0, and equals.
	Simplify        *bool   `json:"sympy_simplify"`
	SimplifySeconds float64 `json:"sympy_simplify_s"`
	Equals          *bool   `json:"sympy_equals"`
	EqualsSeconds   float64 `json:"sympy_equals_s"`
}

func pairs(t testing.TB) (list []pair, positive map[string]bool) {
	var file struct {
		Positive []string
		Pairs    []pair
	}
	if err := json.Unmarshal(testdata.Read(t, "equality-pairs", "pairs.json"), &file); err != nil {
		t.Fatal(err)
	}
	positive = map[string]bool{}
	for _, name := range file.Positive {
		positive[expr.Canonical(name)] = true
	}
	return file.Pairs, positive
}

func ranges(positive map[string]bool, sides ...expr.Expr) equal.Options {
	o := equal.Options{Ranges: map[string]equal.Range{}}
	for _, e := range sides {
		for _, name := range e.Symbols() {
			if o.Ranges[name] = (equal.Range{From: -2.5, To: 2.5}); positive[name] {
				o.Ranges[name] = equal.Range{From: 0.2, To: 2.5}
			}
		}
	}
	return o
}

// testdata/published/equality-pairs: forty pairs, truth checked with mpmath. With
// -v it prints a general computer-algebra library's verdict and time beside ours.
func TestPublishedPairs(t *testing.T) {
	list, positive := pairs(t)
	said := func(b *bool) string {
		switch {
		case b == nil:
			return "undecided"
		case *b:
			return "same"
		}
		return "different"
	}
	t.Logf("%-8s %-10s %9s   %-10s %9s   %-10s %9s", "pair", "here", "ms", "simplify", "ms", "equals", "ms")
	for _, p := range list {
		a, b := read(t, p.A, parse.Options{}), read(t, p.B, parse.Options{})
		want := equal.Different
		if p.Equal {
			want = equal.Same
		}
		begun := time.Now()
		r := equal.Compare(a, b, ranges(positive, a, b))
		took := time.Since(begun)
		if r.Verdict != want {
			t.Errorf("%s: %v, want %v (%+v)", p.ID, r.Verdict, want, r)
		}
		t.Logf("%-8s %-10v %9.3f   %-10s %9.1f   %-10s %9.1f", p.ID, r.Verdict, float64(took)/1e6, said(p.Simplify), 1e3*p.SimplifySeconds, said(p.Equals), 1e3*p.EqualsSeconds)
	}
}

// testdata/published/student-slips: every formula is read, compared and
// typeset; the right ones equal themselves in another form, the slipped ones
// do not equal the right ones.
func TestPublishedSlips(t *testing.T) {
	var list []struct {
		ID, Correct, Slipped string
		Symbols              []struct {
			Name  string
			Range [2]float64
		}
	}
	if err := json.Unmarshal(testdata.Read(t, "student-slips", "slips.json"), &list); err != nil {
		t.Fatal(err)
	}
	for _, s := range list {
		names := parse.Options{}
		o := equal.Options{Ranges: map[string]equal.Range{}}
		for _, x := range s.Symbols {
			names.Symbols = append(names.Symbols, x.Name)
			o.Ranges[expr.Canonical(x.Name)] = equal.Range{From: x.Range[0], To: x.Range[1]}
		}
		correct, slipped := read(t, s.Correct, names), read(t, s.Slipped, names)
		for _, e := range []expr.Expr{correct, slipped} {
			for _, text := range []string{typeset.Text(e), typeset.TeX(e)} {
				if again := read(t, text, names); !again.Equal(e) {
					t.Errorf("%s: %v is written %s and reads back as %v", s.ID, e, text, again)
				}
			}
		}
		for _, form := range []expr.Expr{correct.Expand(), correct.Simplify(), read(t, typeset.TeX(correct), names)} {
			if r := equal.Compare(correct, form, o); r.Verdict != equal.Same {
				t.Errorf("%s: %v and %v: %+v", s.ID, correct, form, r)
			}
		}
		if r := equal.Compare(correct, slipped, o); r.Verdict != equal.Different {
			t.Errorf("%s: %+v", s.ID, r)
		}
	}
}

// Laws of the elementary functions; the ranges decide which hold.
func TestDomains(t *testing.T) {
	both, positive := equal.Range{From: -2, To: 2}, equal.Range{From: 0.1, To: 2}
	for _, tt := range []struct {
		a, b string
		x    equal.Range
		want equal.Verdict
	}{
		{"sqrt(x^2)", "x", positive, equal.Same},
		{"sqrt(x^2)", "x", both, equal.Different},
		{"sqrt(x^2)", "abs(x)", both, equal.Same},
		{"ln(x^2)", "2 ln(x)", positive, equal.Same},
		{"ln(x^2)", "2 ln(x)", both, equal.Different},
		{"asin(sin(x))", "x", equal.Range{From: -1.5, To: 1.5}, equal.Same},
		{"asin(sin(x))", "x", both, equal.Different},
		{"atan(x)+atan(1/x)", "pi/2", positive, equal.Same},
		{"atan(x)+atan(1/x)", "pi/2", both, equal.Different},
		{"atan(x)+atan(1/x)", "pi/2*sgn(x)", both, equal.Same},
		{"max(x,-x)", "abs(x)", both, equal.Same},
		{"max(x,0)", "(x+abs(x))/2", both, equal.Same},
		{"ifless(x,1.99,x,2*x)", "x", both, equal.Different},
		{"ifless(x,0,-x,x)", "sqrt(x^2)", both, equal.Same},
		{"ifless(x,1.234,x,0)+ifleq(1.234,x,x,0)", "x", both, equal.Same},
		{"x/abs(x)", "sgn(x)", both, equal.Same},
		{"(x^2-1)/(x-1)", "x+1", both, equal.Same},
		{"cosh(x)^2-sinh(x)^2", "1", both, equal.Same},
		{"asinh(sinh(x))", "x", both, equal.Same},
		{"acosh(cosh(x))", "x", both, equal.Different},
		{"acosh(cosh(x))", "|x|", both, equal.Same},
		{"tan(x/2)", "sin(x)/(1+cos(x))", both, equal.Same},
		{"sqrt(1-x^2)", "cos(asin(x))", both, equal.Same},
		{"sqrt(-1-x^2)", "2*sqrt(-1-x^2)", both, equal.Undecided}, // no value anywhere
		{"ln(-x)", "x", positive, equal.Different},                // one side has none
		{"exp(-1000*x)", "0", positive, equal.Different},
		{"exp(300*x)*exp(300*x)*exp(200*x)", "exp(800*x)", positive, equal.Same}, // beyond a float64
		{"(1+x*10^-20)-1", "x*10^-20", positive, equal.Same},
		{"(1+x*10^-20)-1", "x*10^-20*(1+10^-12)", positive, equal.Different},
		{"sin(x)^2+cos(x)^2", "1+10^-30", both, equal.Different},
		{"x*1.000001", "x", both, equal.Different},
		{"x*1.000000000001", "x", both, equal.Different},
		{"x*(1+10^-25)", "x", both, equal.Different},
		{"tan(10^30*x)+sin(10^200*x)", "(tan(10^30*x)+sin(10^200*x))*1.000001", positive, equal.Different},
		{"sin(10^30*x)^2+cos(10^30*x)^2", "1", positive, equal.Same},
		{"sin(x)", "x-x^3/6+x^5/120-x^7/5040+x^9/362880-x^11/39916800", equal.Range{From: -0.1, To: 0.1}, equal.Different},
	} {
		a, b := read(t, tt.a, parse.Options{}), read(t, tt.b, parse.Options{})
		o := equal.Options{Ranges: map[string]equal.Range{"x": tt.x}}
		for seed := range uint64(5) {
			o.Seed = seed
			if r := equal.Compare(a, b, o); r.Verdict != tt.want {
				t.Errorf("%s and %s on %v: %v, want %v: %+v", tt.a, tt.b, tt.x, r.Verdict, tt.want, r)
			}
		}
	}
}

// A counterexample is one: the values differ there.
func TestCounterexample(t *testing.T) {
	a, b := read(t, "m*g*l*(1-cos(θ))", parse.Options{}), read(t, "m*g*l*θ^2/2", parse.Options{})
	r := equal.Compare(a, b, equal.Options{})
	if r.Verdict != equal.Different {
		t.Fatalf("got %+v", r)
	}
	for e, v := range map[*expr.Expr]float64{&a: r.A, &b: r.B} {
		if got, err := e.Eval(r.At); err != nil || math.Abs(got-v) > 1e-12*math.Abs(v) {
			t.Errorf("%v at %v is %v (%v), reported %v", *e, r.At, got, err, v)
		}
	}
}

func TestZeroAndFixed(t *testing.T) {
	e := read(t, "x^2-4+y*0.3-0.3*y", parse.Options{})
	if r := equal.Zero(e, equal.Options{Fixed: map[string]float64{"x": 2}}); r.Verdict != equal.Same {
		t.Errorf("got %+v", r)
	}
	if r := equal.Zero(e, equal.Options{}); r.Verdict != equal.Different {
		t.Errorf("got %+v", r)
	}
	if r := equal.Zero(e, equal.Options{Ranges: map[string]equal.Range{"x": {From: 2, To: 1}}}); r.Verdict != equal.Undecided || r.Reason == "" {
		t.Errorf("got %+v", r)
	}
}

func BenchmarkCompare(b *testing.B) {
	list, positive := pairs(b)
	for _, p := range list {
		x, y := read(b, p.A, parse.Options{}), read(b, p.B, parse.Options{})
		o := ranges(positive, x, y)
		b.Run(p.ID, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				equal.Compare(x, y, o)
			}
		})
	}
}
