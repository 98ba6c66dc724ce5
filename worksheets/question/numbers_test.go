package question

import (
	"fmt"
	"math"
	"testing"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/expr/parse"
	"counterpoise/mechanics/quantity"
)

// asNumber makes a number question of a published slip, with each letter at a
// place of its range, and returns the slipped value in the key's unit.
func (e slipEntry) asNumber(t testing.TB, place float64) (Question, Values, float64) {
	v, of, names := Values{}, map[string]float64{}, []string{}
	for i, s := range e.Symbols {
		u := quantity.MustUnit(s.Unit)
		f := math.Mod(place+0.381966*float64(i), 1)
		x := s.Range[0] + (s.Range[1]-s.Range[0])*(0.1+0.8*f)
		x = mustFloat(t, fmt.Sprintf("%.3g", x))
		v[expr.Canonical(s.Name)] = quantity.Of(x, u)
		of[expr.Canonical(s.Name)] = x * u.Scale()
		names = append(names, s.Name)
	}
	slipped, err := parse.Parse(e.Slipped, parse.Options{Symbols: names})
	if err != nil {
		t.Fatal(err)
	}
	value, err := slipped.Eval(of)
	if err != nil {
		t.Fatal(err)
	}
	return Question{Name: e.ID, Kind: "number", Key: e.Correct, Unit: e.Unit}, v, value
}

func mustFloat(t testing.TB, text string) float64 {
	var x float64
	if _, err := fmt.Sscan(text, &x); err != nil {
		t.Fatal(err)
	}
	return x
}

// The published slips as numbers: what a formula's slip is called, the number's
// is called too, mostly. One number fits more slips than a formula does, so
// four names in five are asked for here.
func TestNumbersAreToldLikeFormulas(t *testing.T) {
	n, same, named := 0, 0, 0
	for _, e := range slipEntries(t) {
		want := mustCompile(t, e.question(), nil).Check(e.Slipped).Slip
		for _, place := range []float64{0.2, 0.5, 0.77} {
			q, v, value := e.asNumber(t, place)
			a := mustCompile(t, q, v)
			answer := fmt.Sprintf("%.3g", value)
			if e.Unit != "1" {
				answer += " " + e.Unit
			}
			got := a.Check(answer)
			if got.Outcome != Wrong {
				t.Errorf("%s: %s gets %v", e.ID, answer, got.Outcome)
			}
			if e.Dimension == "differs" {
				continue // its number could only be met by chance
			}
			n++
			if got.Slip == want {
				same++
			}
			if got.Slip != "" {
				named++
			}
		}
	}
	if same < n*4/5 || named < n*9/10 {
		t.Errorf("of %d slips %d are named and %d named alike", n, named, same)
	}
}

// A wrong number that is no slip is seldom told as one.
func TestChanceIsSeldomToldAsSlip(t *testing.T) {
	told, wrong := 0, 0
	for _, e := range slipEntries(t) {
		q, v, _ := e.asNumber(t, 0.5)
		a := mustCompile(t, q, v)
		key, _ := a.Value()
		for k := range 20 {
			x := key.Value * math.Pow(10, -0.8+1.6*math.Mod(float64(k)*0.618+0.3, 1))
			answer := fmt.Sprintf("%.3g", x)
			if e.Unit != "1" {
				answer += " " + e.Unit
			}
			if got := a.Check(answer); got.Outcome == Wrong {
				wrong++
				if got.Slip != "" {
					told++
				}
			}
		}
	}
	if told > wrong/10 {
		t.Errorf("%d of %d wrong numbers are told as slips", told, wrong)
	}
	t.Logf("%d of %d wrong numbers are told as slips", told, wrong)
}
