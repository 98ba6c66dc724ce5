package derivation

import (
	"slices"
	"testing"
)

// Whatever is typed, each line gets one status, an unreadable line changes
// nothing of what stands, and what was right before it is right after it.
func FuzzJudge(f *testing.F) {
	for _, text := range []string{
		"E = T + V\nθ' = 0", "= =\n((((", "v = const", "d/dt(E) = 0", "θ'' ≈ -(g/l) θ", "x = ±√x", "1/0 = x", "a < b ≤ c", "small θ", "T = V, V = T; x",
		"\\frac{d}{dt}\\left(\\right", "0 = 0", "E = E", "θ = 1e300 θ", "sin(θ)^-1 = 0", "= 3", "1 = 2\n2 = 3", "m = 0\ng = 1/m", "so E = 1 (given)",
	} {
		f.Add(text)
	}
	c, err := New(Problem{
		Symbols: []string{"m", "g", "l"}, Time: []string{"θ"}, Small: []string{"θ"},
		Given:  []string{"T = 1/2 m l^2 θ'^2", "V = m g l (1 - cos θ)", "E = T + V", "E' = 0", "θ'' = -ω^2 θ"},
		Target: "ω = √(g/l)",
	})
	if err != nil {
		f.Fatal(err)
	}
	all := []Status{Follows, Given, Defines, Approximates, Not, Unreadable}
	f.Fuzz(func(t *testing.T, text string) {
		if len(text) > 200 {
			return
		}
		r := c.Judge(text + "\nT = m l² θ'²/2\nω = √(g/l)")
		for _, l := range r.Lines {
			if !slices.Contains(all, l.Status) {
				t.Fatalf("%q: line %q has the status %q", text, l.Text, l.Status)
			}
		}
		if !r.Reached || r.Lines[len(r.Lines)-1].Status == Not {
			t.Fatalf("%q makes the target false: %+v", text, r.Lines)
		}
	})
}
