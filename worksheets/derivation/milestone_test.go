package derivation

import "testing"

// Who takes small values in the energy never writes the whole equation of
// motion, and who writes it whole may go on to the frequency at once: both have
// passed the milestone, however it is written. Common practice, no source.
func TestMilestonesForSmallValues(t *testing.T) {
	for _, milestone := range []string{"I θ'' + W d sin θ = 0", "I θ'' + W d θ ≈ 0"} {
		c, err := New(Problem{
			Symbols: []string{"I", "W", "d"}, Time: []string{"θ"}, Small: []string{"θ"},
			Given:      []string{"E = I θ'^2/2 + W d (1 - cos θ)", "dE/dt = 0", "θ'' = -ω^2 θ", "T = 2π/ω", "τ = -W d sin θ"},
			Target:     "T = 2π √(I/(W d))",
			Milestones: []Milestone{{milestone, 2}, {"τ = -W d θ", 1}}, Leap: 1,
		})
		if err != nil {
			t.Fatal(err)
		}
		for _, tt := range []struct {
			name, lines string
			want        float64
		}{
			{"small from the start", "E ≈ I θ'^2/2 + W d θ^2/2\nI θ' θ'' + W d θ θ' = 0\nI θ'' + W d θ = 0\nω = √(W d/I)\nT = 2π √(I/(W d))", 2},
			{"whole first", "I θ'' + W d sin θ = 0\nsin θ ≈ θ\nω^2 = W d/I\nT = 2π √(I/(W d))", 2},
			{"energy alone", "E ≈ I θ'^2/2 + W d θ^2/2", 0},
			{"nothing of it", "sin θ ≈ θ\nT = 2π √(I/(W d))", 1}, // a leap
		} {
			if r := c.Judge(tt.lines); r.Marks != tt.want || r.FirstBad >= 0 {
				t.Errorf("%s, milestone %q: %v marks, %v expected; %v", tt.name, milestone, r.Marks, tt.want, r.Lines)
			}
		}
	}
}
