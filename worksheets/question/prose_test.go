package question

import "testing"

// A question of prose is worth what its points add up to, also in the student's
// copy, which does not hold them.
func TestProseIsWorthItsPoints(t *testing.T) {
	q := Question{Name: "own", Kind: "prose", Points: []Point{{"both periods", 2}, {"a cause", 1}}}
	if got := q.Worth(); got != 3 {
		t.Errorf("worth %g, want 3", got)
	}
	if got := q.stripped(); got.Worth() != 3 || got.Points != nil {
		t.Errorf("the student's copy is worth %g", got.Worth())
	}
	q.Marks = 4
	if got := q.Worth(); got != 4 {
		t.Errorf("worth %g, want the 4 that it says", got)
	}
}
