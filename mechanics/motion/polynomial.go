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

// speed writes the derivative along time at the part theta of the step.
func (p *polynomial) speed(dst []float64, theta float64) {
	n := p.n
	dst = dst[:n]
	clear(dst)
	for k := p.degree; k >= 1; k-- {
		c := p.c[k*n : k*n+n]
		for i := range dst {
			dst[i] = dst[i]*theta + float64(k)*c[i]
		}
	}
	for i := range dst {
		dst[i] /= p.h
	}
}
