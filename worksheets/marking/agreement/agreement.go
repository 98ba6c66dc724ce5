// Package agreement tells how far two markers agree.
package agreement

import (
	"errors"
	"fmt"
	"math"
)

// A Figure is the agreement of two markers over the same answers.
type Figure struct {
	Answers  int     // judged by both
	Same     int     // given the same mark
	Observed float64 // share given the same mark
	Expected float64 // share expected by chance, from how often each gives each mark
	Kappa    float64 // (Observed - Expected)/(1 - Expected); not a number if both gave one and the same mark throughout
}

// ErrNothing is returned where the two markers judged no answer in common.
var ErrNothing = errors.New("the two markers judged no answer in common")

// Kappa returns the agreement of two markers who gave the marks a[i] and b[i]
// to answer i: Cohen's kappa, in which each mark is a category of its own and
// 1 is full agreement, 0 what chance would give.
//
// Source: J. Cohen, "A coefficient of agreement for nominal scales",
// Educational and Psychological Measurement 20 (1960) 37, Eq. 1.
func Kappa(a, b []float64) (Figure, error) {
	if len(a) != len(b) {
		return Figure{}, fmt.Errorf("one marker has %d marks, the other %d: give the marks of the same answers", len(a), len(b))
	}
	if len(a) == 0 {
		return Figure{}, ErrNothing
	}
	f := Figure{Answers: len(a)}
	first, second := map[float64]int{}, map[float64]int{}
	for i := range a {
		if math.IsNaN(a[i]) || math.IsNaN(b[i]) {
			return Figure{}, fmt.Errorf("answer %d has no mark of one marker", i+1)
		}
		first[a[i]]++
		second[b[i]]++
		if a[i] == b[i] {
			f.Same++
		}
	}
	n := float64(f.Answers)
	f.Observed = float64(f.Same) / n
	byChance := 0
	for mark, count := range first {
		byChance += count * second[mark]
	}
	f.Expected = float64(byChance) / (n * n)
	f.Kappa = (f.Observed - f.Expected) / (1 - f.Expected)
	return f, nil
}

// String tells the figure in words.
func (f Figure) String() string {
	if math.IsNaN(f.Kappa) {
		return fmt.Sprintf("%d of %d the same; both gave one mark throughout, so kappa says nothing", f.Same, f.Answers)
	}
	return fmt.Sprintf("%d of %d the same (%.0f %%), Cohen's kappa %.2f", f.Same, f.Answers, 100*f.Observed, f.Kappa)
}
