package slip

import (
	"math"
	"slices"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/quantity"
)

// A table lists the numbers of common cases, the commonest first: those beyond
// common are told of a number only where it is given precisely.
type table struct {
	common int
	values []float64
}

// The numbers that stand in front of m r² or m l² for common bodies.
// Source: any table of moments of inertia; each is an elementary integral.
var inertias = table{7, []float64{
	1,         // thin hoop about its axis, point mass
	1. / 2,    // disc about its axis, hoop about a diameter
	2. / 5,    // solid ball
	2. / 3,    // thin hollow ball
	1. / 3,    // rod about its end
	1. / 12,   // rod about its middle
	1. / 4,    // disc about a diameter
	3. / 2,    // disc about its rim
	7. / 5,    // solid ball about a point of its surface
	5. / 3,    // thin hollow ball about a point of its surface
	3. / 10,   // solid cone about its axis
	1. / 6,    // square plate about its axis
	5. / 4,    // disc about a tangent in its plane
	3. / 20,   // cone, across
	13. / 20,  // half ball, across
	83. / 320, // half ball about its centre of gravity
}}

// The numbers that stand in front of a length for centres of gravity.
// Source: elementary integrals, as in any table of centroids.
var centres = table{5, []float64{
	2 / math.Pi,       // wire bent to a half circle
	4 / (3 * math.Pi), // half disc, quarter disc
	3. / 8,            // solid half ball
	1. / 2,            // hollow half ball; rod
	1. / 3,            // triangle, hollow cone
	2. / 3,            // the same from the other end
	1. / 4,            // solid cone
	3. / 4,            // the same from the other end
	3. / 5,            // under a parabola
	2. / 5,
}}

// The numbers in front of E I/L³ for rods as springs.
// Source: elementary beam theory, as in any table of deflections.
var beams = table{3, []float64{
	3,        // clamped at one end, loaded at the other
	48,       // on two supports, loaded in the middle
	192,      // clamped at both ends, loaded in the middle
	12,       // clamped at one end, guided at the other
	8,        // clamped at one end, load spread evenly
	384. / 5, // on two supports, load spread evenly
	384,      // clamped at both ends, load spread evenly
	768. / 7, // clamped and supported, loaded in the middle
	1,        // the number lost
}}

// What a rolling body adds: 1 + I/(m r²).
var rolling = []float64{1, 7. / 5, 3. / 2, 5. / 3, 2}

// tables looks for the table value of another body.
func (s *search) tables() {
	c, rest := s.f.key.Coefficient()
	if _, v, ok := c.Number(); ok {
		coefficient := v * piIn(rest)
		switch s.f.o.Asked {
		case quantity.MomentOfInertia:
			switch {
			case s.f.made(rest, quantity.Mass, quantity.Length):
				s.other(TableInertia, coefficient, inertias, 1, 4, 0.25)
			case s.f.made(rest, quantity.Mass, quantity.Length, quantity.Density, quantity.Mass.Div(quantity.Length), quantity.Mass.Div(quantity.Area)):
				s.other(TableInertia, coefficient, inertias, 1)
			case rest.Kind() == expr.KindSum: // all terms are those of bodies of one kind
				s.other(TableInertia, s.common(), inertias, 1)
			}
		case quantity.Length:
			if s.f.made(rest, quantity.Length) && !hasSum(rest) {
				s.other(TableCentre, coefficient, centres, 1, 2, 0.5)
			}
		case quantity.Stiffness:
			if !s.f.hasModulus() {
				break
			}
			scale := 64 / math.Pi // π d⁴/64
			if s.f.hasRadius() {
				scale = 4 / math.Pi // π r⁴/4
			}
			s.other(TableBeam, coefficient, beams, 1, scale, 12)
		case quantity.Energy:
			if s.f.made(rest, quantity.Mass, quantity.Velocity) && in(rolling[1:4], 2*coefficient) {
				for _, to := range rolling {
					s.noteWhole(8, Found{Class: TableRolling}, func(j int) float64 { return s.key[j] * to / (2 * coefficient) })
				}
			}
		}
	}
	for i := range s.p.parts {
		n := &s.p.parts[i]
		s.bodyInside(i, n)
		s.beamInside(i, n)
		s.centreInside(i, n)
		s.shareInside(i, n)
		if n.kind != expr.KindNumber || n.parent < 0 || s.p.parts[n.parent].kind == expr.KindPower {
			continue
		}
		for _, flip := range []bool{false, true} {
			own := n.num
			if flip {
				own = 1 / own
			}
			double := 1.0 // 10/7 in √(10 g h/7) is twice 5/7
			if close(own, 7./10) {
				double, own = 2, 7./5
			}
			if s.f.o.Asked == quantity.MomentOfInertia || !close(own, rolling[1]) && !(s.f.o.Asked == quantity.Acceleration && in(rolling[1:4], own)) {
				continue
			}
			for _, to := range rolling {
				if close(to, own) {
					continue
				}
				to /= double
				if flip {
					to = 1 / to
				}
				s.change(8, Found{Class: TableRolling}, i, func(float64) float64 { return to })
			}
		}
	}
}

// bodyInside tries another body's number where a moment of inertia, or the
// square of a radius of gyration, is one term of several.
func (s *search) bodyInside(i int, n *part) {
	if n.kind != expr.KindProduct || n.parent < 0 {
		return
	}
	gyration := s.p.parts[n.parent].kind == expr.KindSum && s.f.o.Asked != quantity.Area && s.f.o.Asked != quantity.Mass && s.f.o.Asked != quantity.Volume
	d, ok := s.f.dimension(n.e)
	if gyration = gyration && d == quantity.Area; !ok || d != quantity.MomentOfInertia && !gyration {
		return
	}
	own := 1.0
	if c, _ := n.e.Coefficient(); !c.IsOne() {
		_, own, _ = c.Number()
	}
	if own == 1 || !in(inertias.values, own) {
		return
	}
	for k, to := range inertias.values {
		if !close(to, own) {
			rank := 7
			if close(to/own, 2) || close(to/own, 0.5) {
				rank = 14
			}
			if gyration {
				rank = 30 - inertias.rare(k) // after what says which letter
			}
			s.change(rank+inertias.rare(k), Found{Class: TableInertia}, i, func(x float64) float64 { return x * to / own })
		}
	}
}

// centreInside tries another body's number where the moment of a bent wire or
// a round plate is one term of several.
func (s *search) centreInside(i int, n *part) {
	own := n.coefficient * piIn(n.e)
	if n.kind != expr.KindProduct || n.parent < 0 || s.p.parts[n.parent].kind != expr.KindSum || own == n.coefficient || !in(centres.values, own) {
		return
	}
	d, ok := s.f.dimension(n.e)
	if !ok || d != quantity.Length && d != quantity.Length.Mul(quantity.Mass) {
		return
	}
	for k, to := range centres.values {
		if !close(to, own) {
			s.change(8+centres.rare(k), Found{Class: TableCentre}, i, func(x float64) float64 { return x * to / own })
		}
	}
}

// beamInside tries the number of another support where a stiffness E I/L³ is
// part of something else, such as a frequency or a deflection.
func (s *search) beamInside(i int, n *part) {
	if n.kind != expr.KindProduct || n.parent < 0 && s.f.o.Asked == quantity.Stiffness {
		return
	}
	var modulus, cube float64
	for _, a := range n.args {
		f := &s.p.parts[a]
		e := 1.0
		if base, q, ok := s.exponentOf(f); ok {
			f, e = base, q
		}
		switch {
		case f.kind != expr.KindSymbol:
		case s.f.dim(f.e.Name()) == quantity.Pressure:
			modulus = e
		case s.f.isLength(f.e.Name()) && math.Abs(e) == 3:
			cube = e
		}
	}
	if cube == 0 || modulus*cube != -3 {
		return
	}
	number := &s.p.parts[n.args[0]]
	own := n.coefficient
	if modulus < 0 {
		own = 1 / own
	}
	if !in(beams.values, own) {
		return
	}
	for k, to := range beams.values {
		if !close(to, own) && number.kind == expr.KindNumber {
			s.change(8+beams.rare(k), Found{Class: TableBeam}, i, func(x float64) float64 { return x * math.Pow(to/own, modulus) })
		}
	}
}

// The shares of the mass of a spring, rod or beam that move with its end or
// middle.
// Source: Rayleigh's method with the shape under a static load; each is an
// elementary integral.
var shares = []float64{33. / 140, 1. / 3, 17. / 35, 13. / 35, 1. / 4, 1. / 2, 1}

// shareInside tries another share of a mass that is added to another.
func (s *search) shareInside(i int, n *part) {
	if n.kind != expr.KindProduct || len(n.args) != 2 || n.parent < 0 || s.p.parts[n.parent].kind != expr.KindSum {
		return
	}
	name := s.p.parts[n.args[1]].e.Name()
	if s.p.parts[n.args[1]].kind != expr.KindSymbol || s.f.dim(name) != quantity.Mass || !in(shares, n.coefficient) {
		return
	}
	for _, to := range shares {
		rank := 26
		if to == 1 {
			rank = 23 // all of it
		}
		s.change(rank, Found{Class: ConstantChanged, A: name}, i, func(x float64) float64 { return x * to / n.coefficient })
	}
}

// common returns the number, not 1, that all terms of the key begin with, or 0.
func (s *search) common() float64 {
	root := &s.p.parts[s.p.root()]
	c := 0.0
	for k, a := range root.args {
		if one := s.p.parts[a].coefficient; k == 0 {
			c = one
		} else if one != c {
			return 0
		}
	}
	if c == 1 {
		return 0
	}
	return c
}

// hasSum reports whether a sum is among the factors of e or inside them.
func hasSum(e expr.Expr) bool {
	return e.Kind() == expr.KindSum || slices.ContainsFunc(e.Args(), hasSum)
}

// other tries the other entries of a table, of which the key's coefficient
// times one of the scales is one.
func (s *search) other(class Class, coefficient float64, t table, scales ...float64) {
	for _, scale := range scales {
		own := coefficient * scale
		if !in(t.values, own) {
			continue
		}
		for k, to := range t.values {
			if close(to, own) {
				continue
			}
			rank := 3
			if close(to/own, 2) || close(to/own, 0.5) {
				rank = 4
			}
			class := class
			if class == TableCentre && close(own+to, 1) {
				class = Datum // measured from the other end
			}
			s.noteWhole(rank+t.rare(k), Found{Class: class}, func(j int) float64 { return s.key[j] * to / own })
		}
		if class == TableCentre && scale == 1 && own < 1 { // measured from the other end, where no table lists it
			s.noteWhole(5, Found{Class: Datum}, func(j int) float64 { return s.key[j] * (1 - own) / own })
		}
	}
}

// rare is added to the rank of entry k: such an entry comes after every common
// slip of a number, but before those that say less.
func (t table) rare(k int) int {
	if k < t.common {
		return 0
	}
	return commonRank - 3
}

func in(table []float64, v float64) bool {
	for _, t := range table {
		if close(t, v) {
			return true
		}
	}
	return false
}

// piIn returns the power of π among the factors of e.
func piIn(e expr.Expr) float64 {
	v := 1.0
	factors := []expr.Expr{e}
	if e.Kind() == expr.KindProduct {
		factors = e.Args()
	}
	if c, rest := e.Coefficient(); e.Kind() == expr.KindProduct && !c.IsOne() {
		return piIn(rest)
	}
	for _, f := range factors {
		switch f.Kind() {
		case expr.KindConstant:
			v *= math.Pi
		case expr.KindPower:
			a := f.Args()
			if _, n, ok := a[1].Number(); ok && a[0].Kind() == expr.KindConstant {
				v *= math.Pow(math.Pi, n)
			}
		}
	}
	return v
}

// A development is a power series at 0.
type development struct{ coefficients []float64 }

// developments of the functions that are taken for one another: sine, cosine,
// tangent, their hyperbolic kin, exponential, and 1/(1 ± x).
var developments = []development{
	{[]float64{0, 1, 0, -1. / 6, 0, 1. / 120, 0, -1. / 5040}},
	{[]float64{1, 0, -1. / 2, 0, 1. / 24, 0, -1. / 720}},
	{[]float64{0, 1, 0, 1. / 3, 0, 2. / 15}},
	{[]float64{0, 1, 0, 1. / 6, 0, 1. / 120}},
	{[]float64{1, 0, 1. / 2, 0, 1. / 24}},
	{[]float64{1, 1, 1. / 2, 1. / 6, 1. / 24}},
	{[]float64{1, 1, 1, 1, 1}},
	{[]float64{1, -1, 1, -1, 1}},
	{[]float64{1, 1. / 2, -1. / 8, 1. / 16}},
	{[]float64{1, -1. / 2, 3. / 8, -5. / 16}},
	{[]float64{0, 1, -1. / 2, 1. / 3, -1. / 4}},
}

// commonDevelopments is how many of the developments, sine, cosine and tangent,
// are more often meant than a wrong sign.
const commonDevelopments = 3

func (d development) at(x float64, order int) float64 {
	var v float64
	for n := min(order, len(d.coefficients)-1); n >= 0; n-- {
		v = v*x + d.coefficients[n]
	}
	return v
}

// series looks for the series of another function, or of another length.
func (s *search) series() {
	names := s.f.key.Symbols()
	if len(names) != 1 {
		return
	}
	i, _ := s.symbol(names[0])
	x := s.p.at[i]
	const orders = 7
	for k, own := range developments {
		for order := 2; order < len(own.coefficients); order++ {
			if !s.matches(func(j int) float64 { return own.at(x[j], order) }) {
				continue
			}
			for l, other := range developments {
				if l == k {
					continue
				}
				rank := 4
				if l >= commonDevelopments {
					rank = 12
				}
				for n := 1; n <= orders; n++ {
					s.noteWhole(rank, Found{Class: WrongSeries}, func(j int) float64 { return other.at(x[j], n) })
				}
			}
		}
	}
}

func (s *search) matches(value func(j int) float64) bool {
	for j := range points {
		if !close(s.key[j], value(j)) {
			return false
		}
	}
	return true
}

// derivatives tries the key's derivative by each symbol.
func (s *search) derivatives() {
	const most = 80 // parts: a derivative may be several times as large
	if len(s.p.parts) > most {
		return
	}
	if s.f.derived == nil {
		for _, name := range s.f.names {
			s.f.derived = append(s.f.derived, s.f.key.Diff(name))
		}
	}
	for i, d := range s.f.derived {
		if d.IsZero() || d.Size() > maxParts {
			continue
		}
		p := layOut(d, s.f.names)
		p.at = s.p.at
		p.fill()
		class := Derivative
		if asked := s.f.o.Asked; s.f.isLength(s.f.names[i]) && (asked == quantity.Mass || asked == quantity.Volume || asked == quantity.Area) {
			class = RimForArea
		}
		s.note(38, Found{Class: class, A: s.f.names[i]}, s.p.root(), &p.parts[p.root()].v)
	}
}
