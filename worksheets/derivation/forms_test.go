package derivation

import (
	"strings"
	"testing"

	"counterpoise/mechanics/expr/equal"
)

// A result and the steps to it may be written in other forms than the teacher's:
// without the letter that the teacher gave it, with letters of the student's,
// times a factor. What is an identity once everything is put in is seen only in
// a line that says it. Computed by hand; common practice, no source.
func TestForms(t *testing.T) {
	ranges := func(names ...string) map[string]equal.Range {
		out := map[string]equal.Range{}
		for _, n := range names {
			out[n] = equal.Default
		}
		return out
	}
	kept := Problem{
		Symbols: []string{"c", "A", "B", "K"}, Time: []string{"A", "B"}, Ranges: ranges("c", "A", "B", "K"),
		Given:  []string{"A' = c A B", "B' = -c A^2/4", "K = A^2 + 4 B^2"},
		Target: "K' = 0", Milestones: []Milestone{{"K' = 2 A A' + 8 B B'", 1}, {"K' = 0", 3}}, Leap: 1,
	}
	product := Problem{
		Symbols: []string{"ω_1", "ω_2", "t", "x", "ω", "δ"}, Ranges: map[string]equal.Range{"ω_1": {From: 4, To: 6}, "ω_2": {From: 6.5, To: 9}, "t": {From: 0.1, To: 3}, "x": equal.Default, "ω": equal.Default, "δ": equal.Default},
		Given:  []string{"x = A cos(ω_1 t) + A cos(ω_2 t)", "ω = (ω_1 + ω_2)/2", "δ = (ω_2 - ω_1)/2"},
		Target: "x = 2 A cos(ω t) cos(δ t)", Milestones: []Milestone{{"ω_1 = ω - δ", 1}, {"ω_2 = ω + δ", 1}, {"x = 2 A cos(ω t) cos(δ t)", 2}}, Leap: 1,
	}
	ellipse := Problem{
		Symbols: []string{"p", "φ", "A", "B", "x", "y"}, Ranges: map[string]equal.Range{"p": {From: 0.2, To: 1.2}, "φ": {From: 0.3, To: 1.2}, "A": {From: 5.5, To: 7}, "B": {From: 3, To: 4.5}, "x": {From: 0.5, To: 5}, "y": {From: -4.5, To: 4.5}},
		Given:      []string{"x = A cos(p)", "y = B cos(p + φ)"},
		Target:     "x^2/A^2 + y^2/B^2 - 2 x y cos(φ)/(A B) = sin(φ)^2",
		Milestones: []Milestone{{"y/B - x cos(φ)/A = -sin(p) sin(φ)", 1}, {"x^2/A^2 + y^2/B^2 - 2 x y cos(φ)/(A B) = sin(φ)^2", 3}}, Leap: 1,
	}
	kinetic := Problem{
		Symbols: []string{"m_1", "m_2", "l_1", "l_2", "θ_1", "θ_2", "x_1", "y_1", "x_2", "y_2", "T"}, Time: []string{"θ_1", "θ_2"},
		Ranges: ranges("m_1", "m_2", "l_1", "l_2", "θ_1", "θ_2", "x_1", "y_1", "x_2", "y_2", "T"),
		Given:  []string{"x_1 = l_1 sin θ_1", "y_1 = -l_1 cos θ_1", "x_2 = x_1 + l_2 sin θ_2", "y_2 = y_1 - l_2 cos θ_2", "T = m_1/2 (x_1'^2 + y_1'^2) + m_2/2 (x_2'^2 + y_2'^2)"},
		Target: "T = (m_1 + m_2)/2 l_1^2 θ_1'^2 + m_2/2 l_2^2 θ_2'^2 + m_2 l_1 l_2 θ_1' θ_2' cos(θ_1 - θ_2)",
		Milestones: []Milestone{
			{"x_1'^2 + y_1'^2 = l_1^2 θ_1'^2", 1},
			{"x_2'^2 + y_2'^2 = l_1^2 θ_1'^2 + l_2^2 θ_2'^2 + 2 l_1 l_2 θ_1' θ_2' cos(θ_1 - θ_2)", 2},
			{"T = (m_1 + m_2)/2 l_1^2 θ_1'^2 + m_2/2 l_2^2 θ_2'^2 + m_2 l_1 l_2 θ_1' θ_2' cos(θ_1 - θ_2)", 1},
		}, Leap: 1,
	}
	narrow := kinetic
	narrow.Ranges = ranges("m_1", "m_2", "l_1", "l_2", "x_1", "y_1", "x_2", "y_2", "T")
	narrow.Ranges["θ_1"], narrow.Ranges["θ_2"] = equal.Range{From: -1.5, To: 1.5}, equal.Range{From: -1.5, To: 1.5}
	bob := Problem{
		Symbols: []string{"k", "a", "m", "g", "s", "ω_b", "ω_s"}, Ranges: ranges("k", "a", "m", "g", "s", "ω_b", "ω_s"),
		Given:  []string{"ω_b^2 = k/m", "ω_s^2 = g/(a + s)", "k s = m g", "ω_b = 2 ω_s"},
		Target: "s = a/3", Milestones: []Milestone{{"k/m = 4 g/(a + s)", 2}, {"s = a/3", 3}}, Leap: 1,
	}
	reed := Problem{
		Symbols: []string{"I", "M", "k", "y", "W", "ω", "f"}, Time: []string{"y"}, Ranges: ranges("I", "M", "k", "y", "W", "ω", "f"),
		Given:      []string{"W = (1/2) (m + (33/140) M) y'^2 + (1/2) k y^2", "k = 3 E I/L^3", "dW/dt = 0", "y'' = -ω^2 y", "f = ω/(2π)"},
		Target:     "f = √(3 E I/(L^3 (m + (33/140) M)))/(2π)",
		Milestones: []Milestone{{"(m + (33/140) M) y'' + k y = 0", 2}, {"ω^2 = 3 E I/(L^3 (m + (33/140) M))", 3}}, Leap: 1,
	}
	rocking := Problem{
		Symbols: []string{"I", "M", "d", "g", "θ", "E", "ω", "T", "A"}, Time: []string{"θ"}, Small: []string{"θ"}, Ranges: ranges("I", "M", "d", "g", "E", "ω", "T", "A"),
		Given:      []string{"E = I θ'^2/2 + M g d (1 - cos θ)", "dE/dt = 0", "θ'' = -ω^2 θ", "T = 2π/ω"},
		Target:     "T = 2π √(I/(M g d))",
		Milestones: []Milestone{{"I θ'' + M g d sin θ = 0", 2}, {"ω^2 = M g d/I", 3}}, Leap: 1,
	}
	turn := Problem{
		Symbols: []string{"W", "I", "D", "l", "θ", "F", "τ", "ω", "T"}, Time: []string{"θ"}, Ranges: ranges("W", "I", "D", "l", "F", "τ", "ω", "T"),
		Given:  []string{"F = (W/2) (D/2) θ/l", "τ = -2 F D/2", "I θ'' = τ", "θ'' = -ω^2 θ", "T = 2π/ω"},
		Target: "T = (4π/D) √(I l/W)", Milestones: []Milestone{{"I θ'' = -W D^2 θ/(4 l)", 3}, {"T = (4π/D) √(I l/W)", 2}}, Leap: 1,
	}
	twirl := Problem{
		Symbols: []string{"g", "m", "R", "Ω", "θ", "ω", "T", "V", "L"}, Time: []string{"θ"}, Small: []string{"θ"}, Ranges: ranges("g", "m", "R", "Ω", "ω", "T", "V", "L"),
		Given:  []string{"T = m/2 R^2 (θ'^2 + Ω^2 sin(θ)^2)", "V = -m g R cos θ", "L = T - V", "d/dt(∂L/∂θ') = ∂L/∂θ", "θ'' = -ω^2 θ"},
		Target: "ω = √(g/R - Ω^2)", Milestones: []Milestone{{"θ'' = sin θ (Ω^2 cos θ - g/R)", 3}, {"ω = √(g/R - Ω^2)", 2}}, Leap: 1,
	}
	friction := Problem{
		Symbols: []string{"I", "g", "a", "N", "α"}, Ranges: ranges("I", "g", "a", "N"),
		Given:  []string{"m a = m g - N (cos α + μ sin α)", "I a/(R tan α) = R N (sin α - μ cos α)"},
		Target: "a = g/(1 + I (cos α + μ sin α)/(m R^2 tan α (sin α - μ cos α)))",
		Milestones: []Milestone{
			{"N = I a/(R^2 tan α (sin α - μ cos α))", 2},
			{"a = g/(1 + I (cos α + μ sin α)/(m R^2 tan α (sin α - μ cos α)))", 2},
		}, Leap: 1,
	}
	corkscrew := Problem{
		Symbols: []string{"I", "g", "z", "φ", "T", "V"}, Time: []string{"z", "φ"}, Ranges: ranges("I", "g"),
		Given:      []string{"z = p φ/(2π)", "T = 1/2 m z'^2 + 1/2 I φ'^2", "V = -m g z", "T' + V' = 0"},
		Target:     "z'' = g/(1 + 4π^2 I/(m p^2))",
		Milestones: []Milestone{{"T = 1/2 (m + 4π^2 I/p^2) z'^2", 2}, {"z'' = g/(1 + 4π^2 I/(m p^2))", 2}}, Leap: 1,
	}
	for _, tt := range []struct {
		name    string
		p       Problem
		lines   string
		want    float64
		reached bool
	}{
		{"kept, without its letter", kept, "(A^2 + 4 B^2)' = 2 A A' + 8 B B'\n(A^2 + 4B^2)' = 2 c A^2 B - 2 c A^2 B\n(A^2 + 4B^2)' = 0", 4, true},
		{"kept, as derivatives", kept, "A A' = c A^2 B\nB B' = -c A^2 B/4\nd/dt(A^2) + d/dt(4 B^2) = 0", 3, true},
		{"kept, halved", kept, "A A' = c A^2 B\n4 B B' = -c A^2 B\nA A' + 4 B B' = 0", 3, true},
		{"kept, nothing of it", kept, "A A' = c A^2 B\nB B' = -c A^2 B/4", 0, false},
		{"product, without x", product, "ω_1 = ω - δ\nω_2 = ω + δ\nA cos(ω_1 t) + A cos(ω_2 t) = 2 A cos(δ t) cos(ω t)", 4, true},
		{"product, divided", product, "ω_1 = ω - δ\nω_2 = ω + δ\ncos(ω_1 t) + cos(ω_2 t) = 2 cos(δ t) cos(ω t)", 4, true},
		{"product, on one line", product, "\\omega_1 = \\omega - \\delta, \\omega_2 = \\omega + \\delta\nx = 2 A cos(ω t) cos(δ t)", 4, true},
		{"product, another identity", product, "ω_1 = ω - δ\ncos(ω t + δ t) = cos(ω t) cos(δ t) - sin(ω t) sin(δ t)", 1, false},
		{"ellipse", ellipse, "\\cos p = \\frac{x}{A}\n\\sin p = \\sqrt{1 - x^2/A^2}\ny/B = \\frac{x}{A}\\cos\\varphi - \\sqrt{1 - x^2/A^2}\\sin\\varphi\ny/B - x cos(φ)/A = -sin p sin φ\n(y/B - x\\cos\\varphi/A)^2 = (1-x^2/A^2)\\sin^2\\varphi\nx^2/A^2 + y^2/B^2 - 2xy\\cos\\varphi/(AB) = \\sin^2\\varphi", 4, true},
		{"ellipse, multiplied", ellipse, "cos p = x/A\ny/B - x cos(φ)/A = -sin p sin φ\nB^2 x^2 + A^2 y^2 - 2 A B x y cos φ = A^2 B^2 sin^2 φ", 4, true},
		{"ellipse, alone", ellipse, "x^2/A^2 + y^2/B^2 - 2xy\\cos\\varphi/(AB) = \\sin^2\\varphi", 1, true},
		{"ellipse, squares of sines", ellipse, "sin^2 p = 1 - x^2/A^2", 0, false},
		{"kinetic, first weight", kinetic, "x_1' = l_1 cos θ_1 θ_1'\ny_1' = l_1 sin θ_1 θ_1'\nx_1'^2 + y_1'^2 = l_1^2 θ_1'^2", 1, false},
		{"kinetic, first weight, narrow", narrow, "x_1' = l_1 cos θ_1 θ_1'\ny_1' = l_1 sin θ_1 θ_1'\nx_1'^2 + y_1'^2 = l_1^2 θ_1'^2", 1, false},
		{"kinetic, own letters", kinetic, "v_1^2 = x_1'^2 + y_1'^2\nv_1^2 = l_1^2 θ_1'^2\nv_2^2 = x_2'^2 + y_2'^2\nv_2^2 = l_1^2 θ_1'^2 + l_2^2 θ_2'^2 + 2 l_1 l_2 θ_1' θ_2' cos(θ_1 - θ_2)", 3, false},
		{"bob", bob, "ω_b^2 = 4 ω_s^2\n\\frac{g}{s} = \\frac{4g}{a+s}\na + s = 4 s\ns = a/3", 5, true},
		{"bob, frequency", bob, "ω_b^2 = \\frac{4g}{a+s}\n\\frac km = \\frac{4g}{a+s}\nk(a+s) = 4mg\nk(a+s) = 4ks\na = 3s\ns = \\frac{a}{3}", 5, true},
		{"friction, half way", friction, "N = I a/(R^2 tan α (sin α - μ cos α))", 2, false},
		{"friction, the other half", friction, "N = (m g - m a)/(cos α + μ sin α)", 0, false},
		{"corkscrew, energy written anew", corkscrew, "T = 1/2 m z'^2 + 2 π^2 I z'^2/p^2\nL = T + m g z\nd/dt(∂L/∂z') = ∂L/∂z\nm z'' + 4π^2 I z''/p^2 = m g\nz'' = g/(1 + 4π^2 I/(m p^2))", 4, true},
		{"reed", reed, "μ = m + 33M/140\nW = 1/2 μ y'^2 + 1/2 k y^2\nW' = μ y' y'' + k y y'\n0 = μ y'' + k y\ny'' = -(k/μ) y\nω = sqrt(k/μ)\nf = sqrt(k/μ)/(2π)\nk = 3EI/L^3\nf = 1/(2π) sqrt(3EI/(L^3 μ))", 5, true},
		{"rocking, trial solution", rocking, "I θ'' + M g d sin θ = 0\nθ = A cos(ω t)\nω^2 = M g d/I\nT = 2π √(I/(M g d))", 5, true},
		{"rocking, alone", rocking, "T = 2π √(I/(M g d))", 1, true},
		{"turn, by energy", turn, "1/2 I θ'^2 + W D^2 θ^2/(8 l) = E\ndE/dt = 0\nI θ'' = -W D^2 θ/(4 l)\nω^2 = W D^2/(4 I l)\nT = (4π/D) √(I l/W)", 5, true},
		{"twirl, small by and by", twirl, "m R^2 θ'' = m R^2 Ω^2 sin θ cos θ - m g R sin θ\nθ'' = sin θ (Ω^2 cos θ - g/R)\nθ'' ≈ -(g/R) sin θ + Ω^2 sin θ\nω^2 = g/R - Ω^2\nω = √(g/R - Ω^2)", 5, true},
	} {
		t.Run(tt.name, func(t *testing.T) {
			c, err := New(tt.p)
			if err != nil {
				t.Fatal(err)
			}
			if r := c.Judge(tt.lines); r.Marks != tt.want || r.Reached != tt.reached || r.FirstBad >= 0 {
				t.Errorf("%v marks, reached %v; %v and %v expected", r.Marks, r.Reached, tt.want, tt.reached)
				for _, l := range r.Lines {
					t.Logf("%s: %s %s", l.Text, l.Status, l.Say)
				}
			}
		})
	}
}

// A line that keeps its sines claims to be exact with =, and is told what to
// write if small values are meant. Common practice, no source.
func TestSaysApproximately(t *testing.T) {
	c, err := New(Problem{
		Symbols: []string{"g", "R", "Ω"}, Time: []string{"θ"}, Small: []string{"θ"},
		Given: []string{"θ'' = sin θ (Ω^2 cos θ - g/R)"}, Target: "θ'' ≈ (Ω^2 - g/R) θ",
	})
	if err != nil {
		t.Fatal(err)
	}
	for relation, want := range map[string]Status{"=": Not, "≈": Approximates} {
		r := c.Judge("θ'' " + relation + " -(g/R) sin θ + Ω^2 sin θ")
		if l := r.Lines[0]; l.Status != want || !strings.Contains(l.Say, "small values") {
			t.Errorf("with %s: %s, %s; %s expected", relation, l.Status, l.Say, want)
		}
	}
}
