package expr

import (
	"fmt"
	"math"
	"math/rand/v2"
)

// A SolveError says why a linear system was not solved.
type SolveError struct {
	Equation int    // its number from 0, -1 if it is the system
	Reason   string // what is wrong and the way out
}

func (e *SolveError) Error() string {
	if e.Equation < 0 {
		return "the equations " + e.Reason
	}
	return fmt.Sprintf("equation %d %s", e.Equation+1, e.Reason)
}

// Solve returns the values of the unknowns, in their order, for which every
// equation, an expression that is to be 0, holds. There must be as many
// equations as unknowns and each must be linear in them. It returns a
// [*SolveError] if they are not, or if the system is singular.
//
// It eliminates without fractions (Bareiss) and simplifies the results. Use it
// for a handful of unknowns: the entries grow fast.
func Solve(equations []Expr, unknowns []string) ([]Expr, error) {
	n := len(unknowns)
	if len(equations) != n {
		return nil, &SolveError{-1, fmt.Sprintf("are %d for %d unknowns: give one for each", len(equations), n)}
	}
	m := make([][]*node, n)
	for i, e := range equations {
		c, rest, ok := e.Linear(unknowns...)
		if !ok {
			return nil, &SolveError{i, "is not linear in the unknowns: solve it for a power or function of one first"}
		}
		for _, a := range c {
			m[i] = append(m[i], a.JoinAngles().node())
		}
		m[i] = append(m[i], rest.Simplify().Expand().JoinAngles().Neg().node())
	}
	if err := eliminate(m); err != nil {
		return nil, err
	}
	out := make([]Expr, n)
	for i := range out {
		out[i] = Expr{mul(m[i][n], pow(m[i][i], negNode))}.Simplify()
	}
	return out, nil
}

// Neg returns -e.
func (e Expr) Neg() Expr { return Neg(e) }

// eliminate brings an n×(n+1) matrix to diagonal form without fractions, each
// division exact. Source: Bareiss, Sylvester's identity and multistep
// integer-preserving Gaussian elimination, Mathematics of Computation 22
// (1968), 565-578, here carried to the Jordan form.
func eliminate(m [][]*node) error {
	n := len(m)
	last := oneNode
	for k := range n {
		p := pivot(m, k)
		if p < 0 {
			return &SolveError{-1, "do not determine the unknowns: one follows from the others or contradicts them"}
		}
		m[k], m[p] = m[p], m[k]
		for i := range n {
			if i == k {
				continue
			}
			for j := n; j >= 0; j-- {
				if j == k || i > k && j < k {
					continue
				}
				if i < k && j != i && j <= k {
					continue
				}
				a := add(mul(m[k][k], m[i][j]), neg(mul(m[i][k], m[k][j])))
				m[i][j] = divideExactly(Expr{a}.JoinAngles().node(), last)
			}
			m[i][k] = zeroNode
		}
		last = m[k][k]
	}
	return nil
}

// divideExactly returns a/b with b divided out where that can be done.
func divideExactly(a, b *node) *node {
	if b == oneNode || a == zeroNode {
		return a
	}
	if q := quotient(a, b); q != nil {
		return q
	}
	x := expander{}
	num, den := reduceFraction(a, b)
	return mul(x.expand(num), pow(den, negNode))
}

// pivot returns the row from k on with the shortest entry in column k that is
// not zero, -1 if there is none.
func pivot(m [][]*node, k int) int {
	best := -1
	for i := k; i < len(m); i++ {
		if e := m[i][k]; !zeroSomewhere(e) && (best < 0 || ops(e) < ops(m[best][k])) {
			best = i
		}
	}
	return best
}

// zeroSomewhere reports whether n is the number 0, or vanishes to rounding at
// several random points where it has a value: a zero that does not show.
func zeroSomewhere(n *node) bool {
	if n.op == opNumber {
		return n.num.isZero()
	}
	names := Expr{n}.Symbols()
	r := rand.New(rand.NewPCG(1, 2))
	points := 0
	for range 12 {
		values := make(map[string]float64, len(names))
		for _, name := range names {
			values[name] = 0.3 + r.Float64()
		}
		v, err := Expr{n}.Eval(values)
		if err != nil {
			continue
		}
		points++
		if math.Abs(v) > 1e-9*magnitude(n, values) {
			return false
		}
	}
	return points > 0
}

// magnitude returns the sum of the sizes of the terms of n.
func magnitude(n *node, values map[string]float64) float64 {
	s := 0.0
	for _, t := range n.terms() {
		if v, err := (Expr{t}).Eval(values); err == nil {
			s += math.Abs(v)
		}
	}
	return s
}
