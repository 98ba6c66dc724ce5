package library_test

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
	"testing"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/expr/parse"
	"counterpoise/worksheets/build"
	"counterpoise/worksheets/library"
	"counterpoise/worksheets/question"
)

// A route is what a key must be, found in another way than by its formula.
type route struct {
	value   float64            // of a number or an expression, SI
	entries []float64          // of a vector or a matrix, row by row, SI
	letters map[string]float64 // values at which an equation, or a derivation's target, must hold
	within  float64            // of the value; 1e-9 if zero
	test    string             // the test that follows the route, if not this one
}

// A secondRoute finds routes to all keys of a sheet from the values of a copy's
// parameters, in SI. It adds to these the values of the letters at which it wants
// the formulas compared.
type secondRoute func(t *testing.T, v map[string]float64) map[string]route

// checkKeys compares every key of a sheet, and every target of a derivation,
// with its second route: for the printed values and for each corner of the
// parameters' ranges. A key without a route is an error.
func checkKeys(t *testing.T, sheet string, corners []map[string]string, second secondRoute) {
	t.Helper()
	s, err := library.Read(sheet)
	if err != nil {
		t.Fatal(err)
	}
	key, err := build.Key(s)
	if err != nil {
		t.Fatal(err)
	}
	for _, own := range append([]map[string]string{nil}, corners...) {
		asked, err := key.Asked(own)
		if err != nil {
			t.Fatal(err)
		}
		v := map[string]float64{}
		for i, a := range asked {
			if key.Questions[i].Kind != "number" {
				continue // formulas are compared at other values than the copy's own
			}
			for name, q := range a.Values {
				v[name] = q.Value
			}
		}
		routes := second(t, v)
		for i, a := range asked {
			q := &key.Questions[i].Question
			r, known := routes[q.Name]
			delete(routes, q.Name)
			switch {
			case q.Kind == "choice" || q.Kind == "prose" || r.test != "":
			case !known:
				t.Errorf("no second route to %s", q.Name)
			default:
				if err := r.disagrees(a, q, v); err != nil {
					t.Errorf("%s with %v: %v", q.Name, own, err)
				}
			}
		}
		for name := range routes {
			t.Errorf("a second route leads to %s, which is not asked", name)
		}
	}
}

// disagrees says how a key differs from its route.
func (r route) disagrees(a *question.Asked, q *question.Question, v map[string]float64) error {
	at := maps.Clone(v)
	maps.Copy(at, r.letters)
	var got, want []float64
	var err error
	switch q.Kind {
	case "number":
		value, ok := a.Value()
		if !ok {
			return fmt.Errorf("the key has no value")
		}
		got, want = []float64{value.Value}, []float64{r.value}
	case "expression":
		got, err = sides(q.Key, q.Time, at)
		want = []float64{r.value}
	case "vector", "matrix":
		for _, entry := range entries(q.Key) {
			x, err := sides(entry, q.Time, at)
			if err != nil {
				return err
			}
			got = append(got, x...)
		}
		want = r.entries
	case "equation", "derivation":
		if len(r.letters) == 0 {
			return fmt.Errorf("the route gives no letters")
		}
		got, err = sides(q.Key+q.Target, q.Time, at) // one of them is empty
		if err == nil {
			got, want = got[:1], got[1:]
		}
	}
	if err != nil {
		return err
	}
	if len(got) != len(want) {
		return fmt.Errorf("the key has %d values, the second route %d", len(got), len(want))
	}
	within := r.within
	if within == 0 {
		within = 1e-9
	}
	largest := 0.0
	for _, x := range want {
		largest = math.Max(largest, math.Abs(x))
	}
	if largest == 0 {
		largest = 1 // nought on the right side of an equation: SI itself is the measure
	}
	for i := range got {
		if !(math.Abs(got[i]-want[i]) <= within*largest) {
			return fmt.Errorf("key %v, second route %v (SI)", got, want)
		}
	}
	return nil
}

// sides evaluates a formula, or both sides of an equation.
func sides(text string, time []string, at map[string]float64) ([]float64, error) {
	readings, err := parse.Readings(text, parse.Options{Symbols: slices.Collect(maps.Keys(at)), Time: time})
	if err != nil {
		return nil, err
	}
	var values []float64
	for _, side := range readings[0].Sides {
		x, err := side.Eval(canonical(at))
		if err != nil {
			return nil, err
		}
		values = append(values, x)
	}
	return values, nil
}

// canonical names the letters as trees do: θ for theta.
func canonical(at map[string]float64) map[string]float64 {
	named := make(map[string]float64, len(at))
	for name, x := range at {
		named[expr.Canonical(name)] = x
	}
	return named
}

// entries splits a vector, or a matrix row by row, at its outermost commas.
func entries(text string) []string {
	text = strings.TrimSpace(text)
	if !strings.HasPrefix(text, "(") || !strings.HasSuffix(text, ")") {
		return []string{text}
	}
	var parts []string
	depth, from := 0, 1
	for i, c := range text {
		switch {
		case c == '(':
			depth++
		case c == ')':
			depth--
		}
		if c == ',' && depth == 1 || i == len(text)-1 {
			parts = append(parts, text[from:i])
			from = i + 1
		}
	}
	if len(parts) == 1 {
		return []string{text} // brackets around a formula
	}
	var all []string
	for _, p := range parts {
		all = append(all, entries(p)...)
	}
	return all
}
