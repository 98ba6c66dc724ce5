package derivation

import (
	"math"
	"math/rand/v2"
	"slices"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/expr/equal"
	"counterpoise/mechanics/expr/tape"
)

// States are found by numbers where what stands cannot be solved step by step,
// as two periods that are equal: from a point drawn in the symbols' ranges,
// Newton's method goes the shortest way to where all equations hold.
//
// A line that holds in all of them follows. They are looked for only where the
// exact solution leaves an equation out.
type states struct {
	names []string
	at    []state
}

// A state is a point at which everything stands, and how well it is known.
type state struct {
	values map[string]float64
	error  float64 // relative
}

// Limits on the search for states.
const (
	enoughStates = 6  // a line that is false agrees in one by chance at most
	drawnStates  = 64 // points to start from
	newtonSteps  = 30
	maxUnknowns  = 40 // symbols, with their derivatives
	nearZero     = 0.02
	bluntState   = 1e-6 // how well a double root is found
	sharpState   = 1e-9
)

// states looks for states in which all of list holds. There are none in the
// result if few were found.
func (b *board) states(list []equation, where []expr.Expr, wanted []string) *states {
	s := &states{}
	var zeros []expr.Expr
	for _, q := range list {
		zeros = append(zeros, q.zero)
		s.names = append(s.names, q.zero.Symbols()...)
	}
	s.names = append(s.names, wanted...)
	slices.Sort(s.names)
	s.names = slices.Compact(s.names)
	if len(s.names) > maxUnknowns || len(zeros) > maxUnknowns || len(zeros) == 0 {
		return s
	}
	p, err := tape.Compile(zeros, s.names, tape.Options{})
	if err != nil {
		return s
	}
	slopes, err := p.Jacobian()
	if err != nil {
		return s
	}
	n := newton{p: p, slopes: slopes, m: len(zeros), n: len(s.names)}
	n.residual, n.jacobian = make([]float64, n.m), make([]float64, n.m*n.n)
	n.ps, n.ss = p.NewScratch(), slopes.NewScratch()
	ranges := b.ranges()
	random := rand.New(rand.NewPCG(b.c.p.Seed, 11))
	x := make([]float64, n.n)
	var negative []state
	for k := range drawnStates {
		if b.work.out() {
			break
		}
		for i, name := range s.names {
			r, ok := ranges[name]
			if !ok {
				r = equal.Default
			}
			x[i] = r.From + random.Float64()*(r.To-r.From)
			// Roots may be negative where nobody says otherwise.
			if (k%4 == 1 && !ok || k > drawnStates/2 && rough(r)) && random.IntN(2) == 0 {
				x[i] = -x[i]
			}
		}
		accuracy, ok := n.solve(x, b.work)
		if !ok {
			continue
		}
		at := make(map[string]float64, n.n)
		good, positive := true, true
		for i, name := range s.names {
			r, ok := ranges[name]
			if !ok {
				r = equal.Default
			}
			size := max(math.Abs(r.From), math.Abs(r.To))
			low, high := r.From-0.1*size, r.To+0.1*size
			if rough(r) { // what follows from others may lie far outside
				low, high = -100*size, 100*size
			}
			good = good && low < x[i] && x[i] < high && (b.zeroed(list, name) || math.Abs(x[i]) > nearZero*nearZero*size)
			positive = positive && (r.From < 0 || x[i] > 0)
			at[name] = x[i]
		}
		for _, c := range where {
			v, err := c.Eval(at)
			good = good && (err != nil || v > 0)
		}
		switch {
		case good && positive:
			s.at = append(s.at, state{at, accuracy})
		case good:
			negative = append(negative, state{at, accuracy})
		}
		if len(s.at) == enoughStates {
			return s
		}
	}
	if len(s.at) < 2 { // where there are no states with all signs as listed
		s.at = negative[:min(len(negative), enoughStates)]
	}
	if len(s.at) < 2 {
		s.at = nil
	}
	return s
}

// rough reports whether a range is too wide to be meant as a limit.
func rough(r equal.Range) bool { return r.From < 0 || r.To > 20*r.From }

// zeroed reports whether an equation says that a symbol is zero.
func (b *board) zeroed(list []equation, name string) bool {
	return slices.ContainsFunc(list, func(q equation) bool { return q.zero.Kind() == expr.KindSymbol && q.zero.Name() == name })
}

// A newton is Newton's method for fewer equations than unknowns.
type newton struct {
	p, slopes          *tape.Program
	m, n               int
	residual, jacobian []float64
	ps, ss             *tape.Scratch
}

// solve moves x to a nearby state. It reports whether it came there, and how
// close: to half the figures where two roots fall together.
func (n *newton) solve(x []float64, w *work) (float64, bool) {
	a := make([][]float64, n.m) // rows of the scaled Jacobian, of unit length
	for i := range a {
		a[i] = make([]float64, n.n)
	}
	r := make([]float64, n.m)
	scale := make([]float64, n.n)
	for step := range newtonSteps {
		n.p.Eval(n.residual, x, n.ps)
		n.slopes.Eval(n.jacobian, x, n.ss)
		for j := range x {
			scale[j] = math.Abs(x[j]) + nearZero
		}
		worst := 0.0
		for i := range a {
			length := 0.0
			for j := range x {
				a[i][j] = n.jacobian[i*n.n+j] * scale[j]
				length += a[i][j] * a[i][j]
			}
			length = math.Sqrt(length)
			if length == 0 || math.IsNaN(length) || math.IsInf(length, 0) || math.IsNaN(n.residual[i]) {
				if n.residual[i] == 0 && length == 0 {
					r[i] = 0
					continue
				}
				return 0, false
			}
			for j := range x {
				a[i][j] /= length
			}
			r[i] = n.residual[i] / length
			worst = max(worst, math.Abs(r[i]))
		}
		const arrived = 1e-13 // relative, of the unknowns
		switch {
		case worst < arrived && step < newtonSteps/2: // else the steps only halve the error
			return sharpState, true
		case worst < arrived:
			return 10 * bluntState, true
		case step == newtonSteps-1 && worst < bluntState:
			return 10 * bluntState, true
		}
		if !w.spend(n.m*n.m*(n.n+n.m)/30 + (n.p.Instructions()+n.slopes.Instructions())/20) {
			return 0, false
		}
		y, ok := leastSquares(a, r)
		if !ok {
			return 0, false
		}
		move := make([]float64, n.n)
		longest := 0.0
		for j := range move {
			for i := range a {
				move[j] -= a[i][j] * y[i]
			}
			longest = max(longest, math.Abs(move[j]))
		}
		const stride = 0.7 // of its own size at most, so that no unknown changes its sign at once
		part := min(1, stride/longest)
		for j := range x {
			x[j] += part * move[j] * scale[j]
		}
	}
	return 0, false
}

// leastSquares solves (a aᵀ + μ) w = r by elimination, with a μ small enough
// that equations which follow from others do no harm.
func leastSquares(a [][]float64, r []float64) ([]float64, bool) {
	m := len(a)
	const mu = 1e-12
	g := make([][]float64, m)
	for i := range g {
		g[i] = make([]float64, m+1)
		for k := range m {
			for j := range a[i] {
				g[i][k] += a[i][j] * a[k][j]
			}
		}
		g[i][i] += mu
		g[i][m] = r[i]
	}
	for c := range m {
		p := c
		for i := c + 1; i < m; i++ {
			if math.Abs(g[i][c]) > math.Abs(g[p][c]) {
				p = i
			}
		}
		g[c], g[p] = g[p], g[c]
		if g[c][c] == 0 || math.IsNaN(g[c][c]) {
			return nil, false
		}
		for i := c + 1; i < m; i++ {
			f := g[i][c] / g[c][c]
			for k := c; k <= m; k++ {
				g[i][k] -= f * g[c][k]
			}
		}
	}
	w := make([]float64, m)
	for i := m - 1; i >= 0; i-- {
		w[i] = g[i][m]
		for k := i + 1; k < m; k++ {
			w[i] -= g[i][k] * w[k]
		}
		w[i] /= g[i][i]
	}
	return w, true
}

// holdsAt reports whether a link holds in states, with one in which it does not.
// It is unsure where there are none. Where the states lie on several branches,
// as k² = a b or a = b for two equal periods, one is enough.
func (s *states) holdsAt(l link) (answer, equal.Result) {
	if len(s.at) == 0 || !l.equation() {
		return unsure, equal.Result{}
	}
	left, right := termsOf(l.a), termsOf(l.b)
	held := 0
	var counter equal.Result
	for _, st := range s.at {
		at := st.values
		x, err := l.a.Eval(at)
		y, err2 := l.b.Eval(at)
		if err != nil || err2 != nil {
			continue
		}
		noise := st.error * max(math.Abs(x), math.Abs(y), largest(left, at), largest(right, at))
		if !l.a.IsZero() && !l.b.IsZero() && max(math.Abs(x), math.Abs(y)) <= noise {
			continue // both sides vanish beside their own terms, as at rest: that tells nothing
		}
		if math.Abs(x-y) <= noise {
			held++
			continue
		}
		seen := map[string]float64{}
		for _, name := range wantedBy(l) {
			seen[name] = at[name]
		}
		counter = equal.Result{Verdict: equal.Different, At: seen, A: x, B: y}
	}
	switch {
	case held >= 2:
		return yes, equal.Result{Verdict: equal.Same}
	case len(counter.At) > 0:
		return no, counter
	}
	return unsure, equal.Result{}
}
