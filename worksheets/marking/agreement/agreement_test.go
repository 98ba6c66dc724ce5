package agreement

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// table spreads a two-way table of counts into the marks of two markers.
func table(counts [][]int) (a, b []float64) {
	for i, row := range counts {
		for j, n := range row {
			for range n {
				a, b = append(a, float64(i)), append(b, float64(j))
			}
		}
	}
	return a, b
}

func TestKappaOfPublishedTables(t *testing.T) {
	for _, tt := range []struct {
		source string
		counts [][]int
		kappa  float64
		digits float64
	}{
		// Wikipedia, "Cohen's kappa", simple example. From memory, recomputed by hand.
		{"fifty proposals", [][]int{{20, 5}, {10, 15}}, 0.40, 0.005},
		// The same article, the pair of tables with equal observed agreement.
		// From memory, recomputed by hand.
		{"hundred, even", [][]int{{45, 15}, {25, 15}}, 0.1304, 0.00005},
		{"hundred, uneven", [][]int{{25, 35}, {5, 35}}, 0.2593, 0.00005},
	} {
		a, b := table(tt.counts)
		f, err := Kappa(a, b)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(f.Kappa-tt.kappa) > tt.digits {
			t.Errorf("%s: kappa %.5f, want %.4f", tt.source, f.Kappa, tt.kappa)
		}
	}
}

func TestFullAgreementIsOne(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		marks := rapid.SliceOfN(rapid.Float64Range(0, 4), 2, 30).Draw(t, "marks")
		f, err := Kappa(marks, marks)
		if err != nil {
			t.Fatal(err)
		}
		if !math.IsNaN(f.Kappa) && math.Abs(f.Kappa-1) > 1e-12 || f.Observed != 1 {
			t.Fatalf("%v", f)
		}
		if math.IsNaN(f.Kappa) && !strings.Contains(f.String(), "says nothing") {
			t.Fatalf("%v", f)
		}
	})
}

func TestUnequalListsAreRefused(t *testing.T) {
	if _, err := Kappa([]float64{1}, nil); err == nil {
		t.Error("no error")
	}
	if _, err := Kappa(nil, nil); err != ErrNothing {
		t.Errorf("%v, want ErrNothing", err)
	}
}
