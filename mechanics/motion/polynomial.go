package motion

// A polynomial is the motion inside one step, in powers of the part θ of the
// step, 0 <= θ <= 1: component i is Σ c[k·n+i] θ^k.
type polynomial struct {
	t, h   float64 // start and (signed) length of the step
	n      int
	degree int
	c      []float64
}

// reset makes p a polynomial of the given degree for n components and returns
// its coefficients, whose values are left over from before.
func (p *polynomial) reset(t, h float64, n, degree int) []float64 {
	p.t, p.h, p.n, p.degree = t, h, n, degree
	if need := n * (degree + 1); cap(p.c) < need {
		p.c = make([]float64, need)
	} else {
		p.c = p.c[:need]
	}
	return p.c
}

// at writes the state at the part theta of the step into dst.
func (p *polynomial) at(dst []float64, theta float64) {
	n := p.n
	dst = dst[:n]
	copy(dst, p.c[p.degree*n:])
	for k := p.degree - 1; k >= 0; k-- {
		c := p.c[k*n : k*n+n]
		for i := range dst {
			dst[i] = dst[i]*theta + c[i]
		}
	}
}

// unnest writes the coefficients of powers of θ of
// r0 + θ(r1 + ϑ(r2 + θ(r3 + ϑ(r4 + … )))), ϑ = 1-θ, into b, which has the
// length of r: the form in which Hairer's programs keep a dense output.
func unnest(b, r []float64) {
	clear(b)
	last := len(r) - 1
	b[0] = r[last]
	for k := last - 1; k >= 0; k-- {
		if k%2 == 0 { // times θ
			copy(b[1:], b[:last])
			b[0] = 0
		} else { // times 1-θ
			for j := last; j > 0; j-- {
				b[j] -= b[j-1]
			}
		}
		b[0] += r[k]
	}
}

// hermite makes p the cubic through two states with their rates.
func (p *polynomial) hermite(t, h float64, y0, f0, y1, f1 []float64) {
	n := len(y0)
	c := p.reset(t, h, n, 3)
	for i := range y0 {
		d := y1[i] - y0[i]
		c[i] = y0[i]
		c[n+i] = h * f0[i]
		c[2*n+i] = 3*d - h*(2*f0[i]+f1[i])
		c[3*n+i] = h*(f0[i]+f1[i]) - 2*d
	}
}
