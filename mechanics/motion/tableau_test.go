package motion

import (
	"math"
	"math/big"
	"testing"
)

// A tableau is a Runge-Kutta method as Butcher writes it, rows and weights by
// stage number from 1.
type tableau struct {
	a map[int]map[int]float64
	b map[int]float64
	n int
}

var dop853Tableau = tableau{n: 12, a: map[int]map[int]float64{
	2:  {1: a2_1},
	3:  {1: a3_1, 2: a3_2},
	4:  {1: a4_1, 3: a4_3},
	5:  {1: a5_1, 3: a5_3, 4: a5_4},
	6:  {1: a6_1, 4: a6_4, 5: a6_5},
	7:  {1: a7_1, 4: a7_4, 5: a7_5, 6: a7_6},
	8:  {1: a8_1, 4: a8_4, 5: a8_5, 6: a8_6, 7: a8_7},
	9:  {1: a9_1, 4: a9_4, 5: a9_5, 6: a9_6, 7: a9_7, 8: a9_8},
	10: {1: a10_1, 4: a10_4, 5: a10_5, 6: a10_6, 7: a10_7, 8: a10_8, 9: a10_9},
	11: {1: a11_1, 4: a11_4, 5: a11_5, 6: a11_6, 7: a11_7, 8: a11_8, 9: a11_9, 10: a11_10},
	12: {1: a12_1, 4: a12_4, 5: a12_5, 6: a12_6, 7: a12_7, 8: a12_8, 9: a12_9, 10: a12_10, 11: a12_11},
}, b: map[int]float64{1: b1, 6: b6, 7: b7, 8: b8, 9: b9, 10: b10, 11: b11, 12: b12}}

var verner9Tableau = tableau{n: 16, a: map[int]map[int]float64{
	2:  {1: v2_1},
	3:  {1: v3_1, 2: v3_2},
	4:  {1: v4_1, 3: v4_3},
	5:  {1: v5_1, 3: v5_3, 4: v5_4},
	6:  {1: v6_1, 4: v6_4, 5: v6_5},
	7:  {1: v7_1, 4: v7_4, 5: v7_5, 6: v7_6},
	8:  {1: v8_1, 6: v8_6, 7: v8_7},
	9:  {1: v9_1, 6: v9_6, 7: v9_7, 8: v9_8},
	10: {1: v10_1, 6: v10_6, 7: v10_7, 8: v10_8, 9: v10_9},
	11: {1: v11_1, 6: v11_6, 7: v11_7, 8: v11_8, 9: v11_9, 10: v11_10},
	12: {1: v12_1, 6: v12_6, 7: v12_7, 8: v12_8, 9: v12_9, 10: v12_10, 11: v12_11},
	13: {1: v13_1, 6: v13_6, 7: v13_7, 8: v13_8, 9: v13_9, 10: v13_10, 11: v13_11, 12: v13_12},
	14: {1: v14_1, 6: v14_6, 7: v14_7, 8: v14_8, 9: v14_9, 10: v14_10, 11: v14_11, 12: v14_12, 13: v14_13},
	15: {1: v15_1, 6: v15_6, 7: v15_7, 8: v15_8, 9: v15_9, 10: v15_10, 11: v15_11, 12: v15_12, 13: v15_13, 14: v15_14},
	16: {1: v16_1, 6: v16_6, 7: v16_7, 8: v16_8, 9: v16_9, 10: v16_10, 11: v16_11, 12: v16_12, 13: v16_13},
}, b: map[int]float64{1: vb1, 8: vb8, 9: vb9, 10: vb10, 11: vb11, 12: vb12, 13: vb13, 14: vb14, 15: vb15}}

// A tree is a rooted tree by the subtrees at its root.
type tree []tree

func (t tree) order() int {
	n := 1
	for _, s := range t {
		n += s.order()
	}
	return n
}

// density is γ of Hairer, Nørsett and Wanner I, definition II.2.10.
func (t tree) density() float64 {
	g := float64(t.order())
	for _, s := range t {
		g *= s.density()
	}
	return g
}

// trees returns all rooted trees of order n: 1, 1, 2, 4, 9, 20, 48, 115, ...
func trees(n int) []tree {
	all := [][]tree{nil, {{}}}
	for k := 2; k <= n; k++ {
		var grown []tree
		// forests of order k-1, subtrees in falling place in the list
		var grow func(left, order, index int, so tree)
		grow = func(left, order, index int, so tree) {
			if left == 0 {
				grown = append(grown, append(tree(nil), so...))
				return
			}
			for o := min(order, left); o >= 1; o-- {
				for i := range all[o] {
					if o == order && i > index {
						break
					}
					grow(left-o, o, i, append(so, all[o][i]))
				}
			}
		}
		grow(k-1, k-1, math.MaxInt, nil)
		all = append(all, grown)
	}
	return all[n]
}

// An exactSum adds products with many digits, so that what is left is the
// rounding of the coefficients themselves and not that of the sum.
type exactSum struct{ sum big.Float }

func (s *exactSum) add(a, b float64) {
	if s.sum.Prec() == 0 {
		s.sum.SetPrec(256)
	}
	var x, y big.Float
	x.SetPrec(256).SetFloat64(a)
	y.SetPrec(256).SetFloat64(b)
	s.sum.Add(&s.sum, x.Mul(&x, &y))
}

func (s *exactSum) value() float64 {
	v, _ := s.sum.Float64()
	return v
}

// stages returns Σ_j a_ij Φ_j(subtrees) for every stage i of the tableau.
func (m tableau) stages(t tree) []float64 {
	v := make([]float64, m.n+1)
	for i := 1; i <= m.n; i++ {
		v[i] = 1
	}
	for _, s := range t {
		u := m.stages(s)
		for i := 1; i <= m.n; i++ {
			var terms exactSum
			for j, a := range m.a[i] { // a map: a plain sum would depend on its order
				terms.add(a, u[j])
			}
			v[i] *= terms.value()
		}
	}
	return v
}

// defect is the largest violation of the order conditions of order n.
func (m tableau) defect(n int) float64 {
	worst := 0.0
	for _, t := range trees(n) {
		var terms exactSum
		for i, v := range m.stages(t) {
			terms.add(m.b[i], v)
		}
		worst = math.Max(worst, math.Abs(terms.value()-1/t.density()))
	}
	return worst
}

// The numbers of rooted trees are those of OEIS A000081.
func TestTreesAreCounted(t *testing.T) {
	for i, want := range []int{1, 1, 2, 4, 9, 20, 48, 115, 286} {
		if got := len(trees(i + 1)); got != want {
			t.Errorf("%d trees of order %d, want %d", got, i+1, want)
		}
	}
}

// A method has order p if it satisfies Σ b_i Φ_i(t) = 1/γ(t) for every rooted
// tree t of order up to p, and no more if it fails one of order p+1.
//
// Source: Hairer, Nørsett and Wanner I, theorem II.2.13.
func TestOrderConditions(t *testing.T) {
	for _, tt := range []struct {
		name  string
		m     tableau
		order int
	}{
		{"Dormand-Prince 8", dop853Tableau, 8}, {"Verner 9", verner9Tableau, 9},
	} {
		for n := 1; n <= tt.order; n++ {
			if d := tt.m.defect(n); d > 2e-15 {
				t.Errorf("%s: conditions of order %d are violated by %.1e", tt.name, n, d)
			}
		}
		if d := tt.m.defect(tt.order + 1); d < 1e-8 {
			t.Errorf("%s: satisfies order %d as well (to %.1e): is it the method it says?", tt.name, tt.order+1, d)
		}
	}
}

// The times of the stages are the sums of the rows.
func TestNodesOfVerner9(t *testing.T) {
	for i, c := range []float64{vc2, vc3, vc4, vc5, vc6, vc7, vc8, vc9, vc10, vc11, vc12, vc13, vc14, 1, 1} {
		var row exactSum
		for _, a := range verner9Tableau.a[i+2] {
			row.add(a, 1)
		}
		if d := math.Abs(row.value() - c); d > 4e-15 {
			t.Errorf("stage %d: the row sums to %.17g, the time is %.17g", i+2, row.value(), c)
		}
	}
}
