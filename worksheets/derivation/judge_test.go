package derivation

import (
	"strings"
	"sync"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// statuses judges lines and lists what they are found to be.
func statuses(t *testing.T, p Problem, text string) (out []Status) {
	t.Helper()
	c, err := New(p)
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range c.Judge(text).Lines {
		out = append(out, l.Status)
	}
	return out
}

// Common practice, no source: how people write lines.
func TestLines(t *testing.T) {
	fall := Problem{Symbols: []string{"m", "g", "h", "v"}, Given: []string{"E_k = 1/2 m v^2", "E_p = m g h", "E_k = E_p"}, Target: "v = √(2 g h)"}
	swing := Problem{Symbols: []string{"m", "g", "l"}, Time: []string{"θ"}, Given: []string{"m l^2 θ'' = -m g l sin θ", "sin θ ≈ θ", "θ'' = -ω^2 θ"}, Target: "ω = √(g/l)"}
	spring := Problem{Symbols: []string{"m", "k"}, Time: []string{"x"}, Given: []string{"m x'' = -k x"}, Target: "ω = √(k/m)"}
	curve := Problem{Symbols: []string{"m", "v", "r", "g", "μ"}, Given: []string{"N = m g", "F ≤ μ N", "F = m v^2/r"}, Target: "v ≤ √(μ g r)"}
	tilt := Problem{Symbols: []string{"m", "g", "R", "h"}, Given: []string{"V(φ) = m g (R - h cos φ)", "h > 0"}, Target: "V''(0) > 0"}
	for _, tt := range []struct {
		name  string
		p     Problem
		lines string
		want  []Status
	}{
		{"words and numbers", fall, "Energy: 1/2 m v² = m g h\n(2) so v²/2 = g h   (mass cancels)\n\n⇒ v² = 2 g h\n# done\nv = √(2gh)   # root\n= √2 √g √h",
			[]Status{Follows, Follows, Follows, Given, Follows, Follows}},
		{"two on a line", fall, "E_k = 1/2 m v² and E_p = m g h\nWe use that energy is conserved.\nv² = 2 g h, where g = v²/(2 h)", []Status{Given, Given, Follows}},
		{"rounding", fall, "v ≈ 1.41 √(g h)\nv ≈ 1.45 √(g h)\nv = 1.41 √(g h)", []Status{Approximates, Not, Not}},
		{"given", fall, "E_k = E_p\nm g h = E_p\n1/2 m v^2 = E_k", []Status{Given, Given, Given}},
		{"unreadable", fall, "v = √(2 g h\nv² = 2 g h\nv", []Status{Unreadable, Follows, Unreadable}},
		{"definition", fall, "w = v/2\nw² = g h/2\nw = √(g h)", []Status{Defines, Follows, Not}},
		{"small by a given line", swing, "l θ'' = -g θ\nω² = g/l\nω² = l/g", []Status{Approximates, Follows, Not}},
		{"trial solution", spring, "x(t) = A cos(ω t)\nx' = -A ω sin(ω t)\nx'' = -A ω² cos(ω t)\nm ω² = k\nω = √(m/k)", []Status{Defines, Follows, Follows, Follows, Not}},
		{"inequalities", curve, "F ≤ μ m g\nm v²/r ≤ μ m g\nv² ≤ μ g r\nv ≤ √(μ g r)\nv ≥ √(μ g r)", []Status{Follows, Follows, Follows, Follows, Not}},
		{"both signs", fall, "v² = 2 g h\nv = ±√(2 g h)\nv = ±√(g h)", []Status{Follows, Follows, Not}},
		{"functions of a coordinate", tilt, "V'(φ) = m g h sin φ\nV' = m g h sin φ\nV''(φ) = m g h cos φ\nV'(0) = 0\nV''(0) = m g h\nV''(0) > 0\nV(0) = m g (R - h)\ndV/dφ = -m g h sin φ",
			[]Status{Follows, Follows, Follows, Follows, Follows, Follows, Follows, Not}},
		{"a new function", tilt, "W(φ) = V(φ) - V(0)\nW = m g h (1 - cos φ)\nW''(φ) = m g h cos φ\nW'(φ) = m g h cos φ", []Status{Defines, Follows, Follows, Not}},
		{"several on one line", fall, "E_k = m v²/2, E_p = m g h\nv² = 2 g h; v² = g h", []Status{Given, Not}},
		{"constant", Problem{Symbols: []string{"m", "k"}, Time: []string{"x"}, Given: []string{"E = 1/2 m x'^2 + 1/2 k x^2", "m x'' = -k x"}}, "E = const\nm x' x'' + k x x' = 0\nx = const", []Status{Follows, Follows, Not}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			if diff := cmp.Diff(tt.want, statuses(t, tt.p, tt.lines)); diff != "" {
				t.Errorf("(-want +got)\n%s", diff)
			}
		})
	}
}

func TestMarks(t *testing.T) {
	c, err := New(Problem{
		Symbols: []string{"m", "g", "h"}, Given: []string{"1/2 m v^2 = m g h", "p = m v"}, Target: "p = m √(2 g h)", Leap: 1,
		Milestones: []Milestone{{"v = √(2 g h)", 2}, {"p^2 = 2 m^2 g h", 1}},
	})
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		lines         string
		marks         float64
		reached, leap bool
	}{
		{"v^2 = 2 g h\np = m √(2 g h)", 3, true, false}, // the target squared is the second milestone
		{"v^2 = 2 g h", 2, false, false},
		{"v^2 = g h\np = m √(g h)", 0, false, false},
		{"", 0, false, false},
	} {
		r := c.Judge(tt.lines)
		if r.Marks != tt.marks || r.Of != 3 || r.Reached != tt.reached || r.Leap != tt.leap {
			t.Errorf("%q: %v of %v, reached %v, leap %v", tt.lines, r.Marks, r.Of, r.Reached, r.Leap)
		}
	}
}

func TestProblemMistakes(t *testing.T) {
	for _, tt := range []struct {
		p    Problem
		want string
	}{
		{Problem{Given: []string{"v = ("}}, `given "v = (": column 6`},
		{Problem{Given: []string{"m v"}}, `given "m v": a statement needs a relation`},
		{Problem{Target: "T = 2 π √("}, `target "T = 2 π √("`},
		{Problem{Milestones: []Milestone{{Line: "1,5 = x"}}}, `milestone "1,5 = x": column 2: a comma between digits`},
	} {
		if _, err := New(tt.p); err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("got %v, want %q", err, tt.want)
		}
	}
}

// A checker serves several goroutines at once.
func TestConcurrentUse(t *testing.T) {
	s := samples(t)[0]
	c, err := New(s.problem())
	if err != nil {
		t.Fatal(err)
	}
	want := c.Judge(s.Right[0])
	var group sync.WaitGroup
	for range 4 {
		group.Go(func() {
			if diff := cmp.Diff(want, c.Judge(s.Right[0])); diff != "" {
				t.Errorf("(-first +again)\n%s", diff)
			}
		})
	}
	group.Wait()
}

// A given statement written in another order is given; what takes an identity
// to see is a step of its own.
func TestOnlyRestatementsAreGiven(t *testing.T) {
	c, err := New(Problem{
		Symbols: []string{"A", "ω", "δ"},
		Given:   []string{"x = A/2 (cos((ω - δ) t) - cos((ω + δ) t))"},
		Target:  "x = A sin(ω t) sin(δ t)",
	})
	if err != nil {
		t.Fatal(err)
	}
	for line, want := range map[string]Status{
		"2 x = A cos((ω - δ) t) - A cos((ω + δ) t)":       Follows,
		"x = (A/2) cos((ω - δ) t) - (A/2) cos((ω + δ) t)": Given,
		"A/2 cos((ω - δ) t) - A/2 cos((ω + δ) t) - x = 0": Given,
		"x = A sin(ω t) sin(δ t)":                         Follows,
		"x = A cos(ω t) sin(δ t)":                         Not,
	} {
		if got := c.Judge(line).Lines[0].Status; got != want {
			t.Errorf("%s: %s, want %s", line, got, want)
		}
	}
}
