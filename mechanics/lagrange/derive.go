package lagrange

import (
	"math"
	"math/rand/v2"

	"counterpoise/mechanics/expr"
)

// Equations are the equations of motion M q” = F + Aᵀλ of a system, with the
// constraints A q” = B differentiated twice.
type Equations struct {
	System
	Mass    [][]expr.Expr // M, n×n, symmetric: the mass matrix
	Force   []expr.Expr   // F, everything else
	Momenta []expr.Expr   // p = ∂L/∂q', the generalised momenta
	Rows    [][]expr.Expr // A = ∂f/∂q, one row for each constraint
	Target  []expr.Expr   // B
}

// Derive returns the equations of motion of s, simplified. It returns an
// [*Error] that names the field at fault: a velocity of something that is no
// coordinate, a kinetic energy that is not quadratic in the velocities, a
// coordinate without inertia.
func (s System) Derive() (*Equations, error) {
	s, err := s.canonical()
	if err != nil {
		return nil, err
	}
	e := &Equations{System: s}
	l := lagrangian(s)
	n := len(s.Coordinates)
	for _, q := range s.Coordinates {
		e.Momenta = append(e.Momenta, l.Diff(velocity(q)))
	}
	e.Mass = make([][]expr.Expr, n)
	for i := range n {
		e.Mass[i] = make([]expr.Expr, n)
		for j := range i + 1 {
			m := shorter(e.Momenta[i].Diff(velocity(s.Coordinates[j])))
			e.Mass[i][j], e.Mass[j][i] = m, m
		}
	}
	if err := e.checkMass(); err != nil {
		return nil, err
	}
	for i, q := range s.Coordinates {
		e.Force = append(e.Force, shorter(e.force(l, i, q)))
	}
	e.constrain()
	return e, nil
}

// lagrangian returns T - V with angles joined if that is shorter: what is
// simplified before it is differentiated need not be simplified so often
// afterwards.
func lagrangian(s System) expr.Expr {
	l := s.Kinetic.Minus(s.Potential)
	if joined := l.JoinAngles(); joined.Ops() < l.Ops() {
		return joined
	}
	return l
}

// shorter returns the shorter of e and its expanded and factored form.
func shorter(e expr.Expr) expr.Expr {
	e = flat(e)
	f := e.JoinAngles().Factor()
	if f.Ops() < e.Ops() {
		return f
	}
	return e
}

// flat returns e with sums that stand times a number in a sum opened: a - (b -
// c) becomes a - b + c.
func flat(e expr.Expr) expr.Expr {
	if e.Kind() != expr.KindSum {
		return e
	}
	var terms []expr.Expr
	for _, t := range e.Args() {
		c, rest := t.Coefficient()
		if rest.Kind() != expr.KindSum {
			terms = append(terms, t)
			continue
		}
		for _, u := range rest.Args() {
			terms = append(terms, c.Times(u))
		}
	}
	return expr.Add(terms...)
}

// force returns ∂L/∂q_i - (dp_i/dt without accelerations) - ∂D/∂q_i' + Q_i.
func (e *Equations) force(l expr.Expr, i int, q string) expr.Expr {
	terms := []expr.Expr{l.Diff(q)}
	p := e.Momenta[i]
	for _, r := range e.Coordinates {
		if d := p.Diff(r); !d.IsZero() {
			terms = append(terms, expr.Neg(expr.Mul(d, expr.Sym(velocity(r)))))
		}
	}
	if d := p.Diff(expr.TimeName); !d.IsZero() {
		terms = append(terms, expr.Neg(d))
	}
	if d := e.Damping.Diff(velocity(q)); !d.IsZero() {
		terms = append(terms, expr.Neg(d))
	}
	if f, ok := e.Forces[q]; ok {
		terms = append(terms, f)
	}
	return expr.Add(terms...)
}

// constrain differentiates the constraints twice along time.
func (e *Equations) constrain() {
	α := expr.Num(e.Stabilise)
	rest := make(map[string]expr.Expr)
	for _, q := range e.Coordinates {
		rest[velocity(velocity(q))] = expr.Int(0)
	}
	for _, f := range e.Constraints {
		var row []expr.Expr
		for _, q := range e.Coordinates {
			row = append(row, shorter(f.Diff(q)))
		}
		rate := f.TimeDiff(e.Coordinates...)
		b := rate.TimeDiff(e.Coordinates...).Subs(rest)
		b = expr.Add(b, expr.Mul(expr.Int(2), α, rate), expr.Mul(α, α, f))
		e.Rows = append(e.Rows, row)
		e.Target = append(e.Target, shorter(expr.Neg(b)))
	}
}

// checkMass refuses mass matrices that depend on velocities or are singular
// wherever one looks.
func (e *Equations) checkMass() error {
	for i, q := range e.Coordinates {
		empty := true
		for j := range e.Coordinates {
			for _, v := range e.Coordinates {
				if e.Mass[i][j].Has(velocity(v)) {
					return wrong("Kinetic", "it is not quadratic in the velocities: its second derivative along %s' and %s' holds %s'", q, e.Coordinates[j], v)
				}
			}
			empty = empty && e.Mass[i][j].IsZero()
		}
		if empty {
			return wrong("Kinetic", "the coordinate %s has no inertia: the kinetic energy does not hold %s'", q, q)
		}
	}
	if e.singularEverywhere() {
		return wrong("Kinetic", "the mass matrix is singular: some combination of the velocities of %v carries no kinetic energy; leave out a coordinate or add its inertia", e.Coordinates)
	}
	return nil
}

// singularEverywhere reports whether the mass matrix is singular at random
// values of all symbols.
func (e *Equations) singularEverywhere() bool {
	n := len(e.Coordinates)
	if n == 1 {
		return false
	}
	names := map[string]bool{}
	for _, row := range e.Mass {
		for _, m := range row {
			for _, name := range m.Symbols() {
				names[name] = true
			}
		}
	}
	r := rand.New(rand.NewPCG(7, 7))
	for range 4 {
		values := make(map[string]float64, len(names))
		for name := range names {
			values[name] = 0.4 + r.Float64()
		}
		m := make([][]float64, n)
		ok := true
		for i := range m {
			m[i] = make([]float64, n)
			for j := range m[i] {
				v, err := e.Mass[i][j].Eval(values)
				ok = ok && err == nil
				m[i][j] = v
			}
		}
		if ok && !singular(m) {
			return false
		}
	}
	return true
}

// singular reports whether elimination with pivoting meets a pivot that is
// rounding only.
func singular(m [][]float64) bool {
	const rounding = 1e-12
	n := len(m)
	scale := 0.0
	for i := range m {
		scale = math.Max(scale, math.Abs(m[i][i]))
	}
	for k := range n {
		p := k
		for i := k; i < n; i++ {
			if math.Abs(m[i][k]) > math.Abs(m[p][k]) {
				p = i
			}
		}
		if math.Abs(m[p][k]) <= rounding*scale {
			return true
		}
		m[k], m[p] = m[p], m[k]
		for i := k + 1; i < n; i++ {
			f := m[i][k] / m[k][k]
			for j := k; j < n; j++ {
				m[i][j] -= f * m[k][j]
			}
		}
	}
	return false
}

// Residuals returns M q” - F for each coordinate, which is zero along the
// motion of a system without constraints: the equations as a book writes them.
func (e *Equations) Residuals() []expr.Expr {
	out := make([]expr.Expr, len(e.Coordinates))
	for i := range out {
		terms := []expr.Expr{expr.Neg(e.Force[i])}
		for j, q := range e.Coordinates {
			terms = append(terms, expr.Mul(e.Mass[i][j], expr.Sym(velocity(velocity(q)))))
		}
		out[i] = tidied(flat(expr.Add(terms...)))
	}
	return out
}

// tidied returns a sum with each term simplified by itself.
func tidied(e expr.Expr) expr.Expr {
	if e.Kind() != expr.KindSum {
		return e
	}
	terms := e.Args()
	for i, t := range terms {
		terms[i] = t.Simplify()
	}
	return expr.Add(terms...)
}

// Accelerations returns q” as formulas, solved symbolically. It is for
// showing: beyond two or three coordinates the formulas are long, and
// [Equations.Compile] solves numerically. With constraints it returns an error.
func (e *Equations) Accelerations() ([]expr.Expr, error) {
	const most = 3 // three coordinates already fill a page, and take seconds
	n := len(e.Coordinates)
	if len(e.Rows) > 0 {
		return nil, wrong("Constraints", "accelerations under constraints are solved numerically: compile, or choose coordinates that meet the constraints")
	}
	if n > most {
		return nil, wrong("Coordinates", "formulas for the accelerations of %d coordinates would fill a book: compile the equations instead", n)
	}
	names := make([]string, n)
	for i, q := range e.Coordinates {
		names[i] = velocity(velocity(q))
	}
	return expr.Solve(e.Residuals(), names)
}
