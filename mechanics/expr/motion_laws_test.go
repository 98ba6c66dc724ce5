package expr_test

import (
	"math"
	"testing"

	. "counterpoise/mechanics/expr"
	"counterpoise/mechanics/quantity"

	"pgregory.net/rapid"
)

// d/dt agrees with differences along a motion in which x and y are known
// functions of time and z stands still.
func TestTimeDerivativeFollowsTheMotion(t *testing.T) {
	along := func(t float64) map[string]float64 {
		return map[string]float64{"t": t, "z": 0.7, "w": 1.3,
			"x": 0.3 + math.Sin(t), "x'": math.Cos(t), "x''": -math.Sin(t), "y": math.Cos(2 * t), "y'": -2 * math.Sin(2*t)}
	}
	rapid.Check(t, func(t *rapid.T) {
		e := formula(2).Draw(t, "e").Times(rapid.SampledFrom([]Expr{Int(1), Sym("x'"), Sym("t"), Sym("x'").Power(Int(2))}).Draw(t, "factor"))
		now := rapid.Float64Range(0, 3).Draw(t, "now")
		value := func(f Expr, at float64) float64 {
			v, err := f.Eval(along(at))
			if err != nil {
				t.Skip(err)
			}
			return v
		}
		d := e.TimeDiff("x", "y")
		difference := func(h float64) float64 {
			return (8*(value(e, now+h)-value(e, now-h)) - value(e, now+2*h) + value(e, now-2*h)) / (12 * h)
		}
		a, b := difference(1e-3), difference(2e-3) // as for Diff
		if tolerance := 2*math.Abs(a-b) + 1e-10*(1+size(t, e, along(now))); math.Abs(value(d, now)-a) > tolerance {
			t.Fatalf("d/dt %s = %s gives %g, differences %g ± %g", e, d, value(d, now), a, tolerance)
		}
	})
}

// What Series leaves out shrinks with a power beyond its order: half the step,
// at most an eleventh of the error for order 3.
func TestSeriesMeetsItsFunction(t *testing.T) {
	const order, h = 3, 1.0 / 64
	rapid.Check(t, func(t *rapid.T) {
		e := formula(2).Draw(t, "e")
		s, err := e.Series("x", Rat(1, 5), order)
		if err != nil {
			t.Skip(err)
		}
		at := point(t)
		fault := func(h float64) float64 {
			at["x"] = 0.2 + h
			a, errA := e.Eval(at)
			b, errB := s.Eval(at)
			if errA != nil || errB != nil {
				t.Skip(errA, errB)
			}
			return math.Abs(a - b)
		}
		wide, narrow := fault(h), fault(h/2)
		if rounding := 1e-12 * (1 + size(t, e, at)); narrow > rounding && narrow > wide/11 {
			// A large next term may hide the power: look closer.
			wide, narrow = fault(h/8), fault(h/16)
			if narrow > rounding && narrow > wide/11 {
				t.Fatalf("%s about 1/5 is %s: errors %g and %g", e, s, wide, narrow)
			}
		}
	})
}

// The solutions of a linear system fulfil it.
func TestSolutionsHold(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 3).Draw(t, "n")
		names := []string{"u", "v", "s"}[:n]
		entry := rapid.OneOf(rapid.Map(rapid.Int64Range(-3, 3), Int), rapid.SampledFrom([]Expr{Sym("x"), Sym("y"), Sym("x").Times(Sym("y")), Cos(Sym("z")), Sin(Sym("z"))}))
		equations := make([]Expr, n)
		for i := range equations {
			equations[i] = entry.Draw(t, "right")
			for _, name := range names {
				equations[i] = equations[i].Plus(entry.Draw(t, "entry").Times(Sym(name)))
			}
		}
		solutions, err := Solve(equations, names)
		if err != nil {
			t.Skip(err)
		}
		at := map[string]float64{"x": 1.37, "y": 0.61, "z": 0.83}
		for i, s := range solutions {
			v, err := s.Eval(at)
			if err != nil {
				t.Skip(err)
			}
			at[names[i]] = v
		}
		for _, e := range equations {
			if v, err := e.Eval(at); err != nil || math.Abs(v) > 1e-9*size(t, e, at) {
				t.Fatalf("%v with %v is %v (%v)", e, solutions, v, err)
			}
		}
	})
}

// A quantity of a dimension changes with the units as the dimension says.
func TestDimensionsScale(t *testing.T) {
	units := map[string]quantity.Dimension{"m": quantity.Mass, "l": quantity.Length, "g": quantity.Acceleration, "k": quantity.MustUnit("N/m").Dimension(), "q": quantity.One}
	values := map[string]float64{"m": 1.3, "l": 0.7, "g": 9.81, "k": 23, "q": 0.4}
	kg, m, s := 3.0, 5.0, 7.0 // how many new units make an old one
	factor := func(d quantity.Dimension) float64 {
		// d = kg^a m^b s^c: tell the exponents apart by trying them.
		for a := -24; a <= 24; a++ {
			for b := -24; b <= 24; b++ {
				for c := -24; c <= 24; c++ {
					if quantity.Mass.Pow(a, 2).Mul(quantity.Length.Pow(b, 2)).Mul(quantity.Time.Pow(c, 2)) == d {
						return math.Pow(kg, float64(a)/2) * math.Pow(m, float64(b)/2) * math.Pow(s, float64(c)/2)
					}
				}
			}
		}
		return math.NaN()
	}
	scaled := map[string]float64{}
	for name, v := range values {
		scaled[name] = v * factor(units[name])
	}
	names := rapid.SampledFrom([]string{"m", "l", "g", "k", "q"})
	rapid.Check(t, func(t *rapid.T) {
		e := Sym(names.Draw(t, "first"))
		for range rapid.IntRange(0, 6).Draw(t, "steps") {
			other := Sym(names.Draw(t, "other"))
			switch rapid.IntRange(0, 5).Draw(t, "operation") {
			case 0:
				e = e.Times(other)
			case 1:
				e = e.Over(other)
			case 2:
				e = e.Plus(other)
			case 3:
				e = Sqrt(e)
			case 4:
				e = e.Plus(e.Times(Sin(Sym("q"))))
			case 5:
				e = Abs(e.Times(Int(2)).Plus(other.Times(Sym("l"))))
			}
		}
		d, err := Dimension(e, units)
		if err != nil {
			t.Skip(err)
		}
		a, err1 := e.Eval(values)
		b, err2 := e.Eval(scaled)
		if f := factor(d); err1 == nil && err2 == nil && !math.IsNaN(f) && math.Abs(b-a*f) > 1e-9*math.Abs(b) {
			t.Fatalf("%v has the dimension %v, and %g becomes %g in other units, want %g", e, d, a, b, a*f)
		}
	})
}
