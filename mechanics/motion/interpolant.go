package motion

import "math"

// An interpolant is a Chebyshev interpolant of a function on an interval, of
// degree 8, 16 or 32 as the function needs. With Chebyshev coefficients a_k the
// polynomial differs from a_0 by at most Σ_{k>0} |a_k|: that bound proves that
// there is no zero, or no extremum, and halving makes it sharp.
//
// Source: Trefethen, Approximation Theory and Approximation Practice (2013),
// chapters 3 and 18, for the interpolation and its stability; the search by
// bounds on halves is common practice, no source.
type interpolant struct {
	size   float64 // largest |g| seen
	degree int
	values [33]float64
	a      [33]float64 // Chebyshev coefficients on the interval last fitted
}

const (
	leastDegree    = 8
	greatestDegree = 32
	// resolved is the part of the size below which trailing coefficients count
	// as rounding or as far too small to hide a zero.
	resolution = 1e-11
)

// cosines[k] is cos(πk/32): the points of all three degrees.
var cosines = func() (c [65]float64) {
	for k := range c {
		c[k] = math.Cos(math.Pi * float64(k) / greatestDegree)
	}
	c[16], c[48] = 0, 0
	return c
}()

// fit interpolates g on [a, b] and reports whether the trailing coefficients
// have died out.
func (f *interpolant) fit(g func(float64) float64, a, b float64) bool {
	f.size = 0
	for f.degree = leastDegree; ; f.degree *= 2 {
		stride := greatestDegree / f.degree
		for k := 0; k <= greatestDegree; k += stride {
			if f.degree > leastDegree && k%(2*stride) == 0 {
				continue // known from the lower degree
			}
			x := a + (b-a)*(1-cosines[k])/2
			switch k {
			case 0:
				x = a
			case greatestDegree:
				x = b
			}
			v := g(x)
			f.values[k] = v
			if math.IsNaN(v) || math.IsInf(v, 0) {
				f.size = math.NaN()
				return false
			}
			f.size = math.Max(f.size, math.Abs(v))
		}
		f.transform(stride)
		tail := math.Abs(f.a[f.degree]) + math.Abs(f.a[f.degree-1])
		if tail <= resolution*f.size || f.clear(8*tail) {
			return true
		}
		if f.degree == greatestDegree {
			return tail <= 1e3*resolution*f.size
		}
	}
}

// transform computes the coefficients from the values at every stride-th
// point; points run from the left end to the right.
func (f *interpolant) transform(stride int) {
	m := f.degree
	for k := 0; k <= m; k++ {
		sum := (f.values[0]*evenOdd(k) + f.values[greatestDegree]) / 2
		for j := 1; j < m; j++ {
			// the j-th point from the left is -cos(πj/m)
			sum += f.values[j*stride] * cosines[((m-j)*k*stride)%(2*greatestDegree)]
		}
		sum *= 2 / float64(m)
		if k == 0 || k == m {
			sum /= 2
		}
		f.a[k] = sum
	}
}

func evenOdd(k int) float64 { return 1 - 2*float64(k&1) }

// clear reports whether the polynomial stays farther than margin from zero.
func (f *interpolant) clear(margin float64) bool { return dominated(f.a[:f.degree+1], margin) }

// dominated reports whether |a_0| > margin + Σ|a_k|: no zero nearby.
func dominated(a []float64, margin float64) bool {
	rest := margin
	for _, v := range a[1:] {
		rest += math.Abs(v)
	}
	return math.Abs(a[0]) > rest
}

// extrema calls found, in order, for points that cut (a, b) into pieces on
// which the polynomial last fitted is monotone or farther than margin from
// zero; inside, true extrema are told from mere cuts.
func (f *interpolant) extrema(a, b, margin float64, found func(theta float64, isExtremum bool)) {
	var p piece
	p.n = f.degree + 1
	copy(p.a[:], f.a[:p.n])
	s := search{margin: margin, flat: flat * f.size, left: maxPieces, found: found}
	s.look(&p, a, b, 0)
}

// A search is for the extrema of one interpolant.
type search struct {
	margin, flat float64
	left         int // pieces that may still be looked at
	found        func(theta float64, isExtremum bool)
}

const (
	// flat is the part of the size below which a slope is rounding.
	flat = 1e-15
	// maxDepth is the depth at which a piece counts as monotone: 2^-24 of a step.
	maxDepth = 24
	// maxPieces bounds the search where rounding makes a function wriggle.
	maxPieces = 2000
)

// A piece is a polynomial by its Chebyshev coefficients on some interval.
type piece struct {
	n int
	a [33]float64
}

func (s *search) look(p *piece, a, b float64, depth int) {
	if s.left--; s.left < 0 || dominated(p.a[:p.n], s.margin) {
		return
	}
	var slope, bend piece
	p.derivative(&slope)
	if slope.n == 0 || depth == maxDepth || dominated(slope.a[:slope.n], 0) || slope.total() <= s.flat {
		return
	}
	slope.derivative(&bend)
	if bend.n > 0 && dominated(bend.a[:bend.n], 0) {
		// one extremum at most
		if left, right := slope.at(-1), slope.at(1); left*right < 0 {
			x := slope.root(left, right)
			s.found(a+(b-a)*(1+x)/2, true)
		}
		return
	}
	m := (a + b) / 2
	half := p.half(-1)
	s.look(&half, a, m, depth+1)
	s.found(m, false)
	half = p.half(0)
	s.look(&half, m, b, depth+1)
}

// total is the sum of the sizes of the coefficients, a bound of the piece.
func (p *piece) total() float64 {
	sum := 0.0
	for _, v := range p.a[:p.n] {
		sum += math.Abs(v)
	}
	return sum
}

// derivative writes the derivative along the piece's own x in [-1, 1].
func (p *piece) derivative(d *piece) {
	d.n = p.n - 1
	if d.n < 1 {
		d.n = 0
		return
	}
	var next, after float64 // d_{k+1}, d_{k+2}
	for k := d.n; k >= 1; k-- {
		v := after + 2*float64(k)*p.a[k]
		if k-1 < 33 {
			d.a[k-1] = v
		}
		after, next = next, v
	}
	d.a[0] /= 2
}

// at evaluates the piece at x in [-1, 1] by Clenshaw's rule.
func (p *piece) at(x float64) float64 {
	b1, b2 := 0.0, 0.0
	for k := p.n - 1; k >= 1; k-- {
		b1, b2 = 2*x*b1-b2+p.a[k], b1
	}
	return x*b1 - b2 + p.a[0]
}

// half returns the piece on [from, from+1] of [-1, 1].
func (p *piece) half(from float64) piece {
	h := piece{n: p.n}
	m := p.n - 1
	var v [33]float64
	stride := greatestDegree / m
	if m == 0 || greatestDegree%m != 0 {
		panic("motion: a piece has a degree that is not 8, 16 or 32")
	}
	for j := 0; j <= m; j++ {
		v[j] = p.at(from + (1-cosines[j*stride])/2)
	}
	for k := 0; k <= m; k++ {
		sum := (v[0]*evenOdd(k) + v[m]) / 2
		for j := 1; j < m; j++ {
			sum += v[j] * cosines[((m-j)*k*stride)%(2*greatestDegree)]
		}
		sum *= 2 / float64(m)
		if k == 0 || k == m {
			sum /= 2
		}
		h.a[k] = sum
	}
	return h
}

// root returns the zero of a piece that changes sign once, by bisection with
// secants.
func (p *piece) root(left, right float64) float64 {
	return locate(p.at, mark{theta: -1, g: left}, mark{theta: 1, g: right})
}
