package motion

import (
	"fmt"
	"math"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/expr/tape"
)

// A CompiledSystem is a right-hand side compiled by package tape: fast, with
// an exact Jacobian and Taylor coefficients to any order. It is for one
// goroutine at a time; [CompiledSystem.Copy] gives another one its own.
type CompiledSystem struct {
	program  *tape.Program
	n        int
	timed    bool // the last input is the time
	in, out  []float64
	scratch  *tape.Scratch
	jacobian *tape.Program
	js       *tape.Scratch
	taylor   *tape.Taylor
}

// compiledAccelerator is a CompiledSystem of second order whose accelerations
// do not depend on the velocities.
type compiledAccelerator struct {
	CompiledSystem
	accelerations *tape.Program
	as            *tape.Scratch
	q             []float64
}

// Compiled returns the system of a program whose inputs are the names of the
// state, in order, and perhaps t after them, and whose first outputs are the
// rates of the state, one for each. Further outputs are left alone.
//
// Where the first half of the rates is the second half of the state, and the
// second half of the rates does not depend on it, the system is also an
// [Accelerator].
func Compiled(p *tape.Program) (System, error) {
	names := p.Inputs()
	n := len(names)
	timed := n > 0 && names[n-1] == "t"
	if timed {
		n--
	}
	if n == 0 {
		return nil, fmt.Errorf("motion: the program has no inputs for a state: compile it with the names of the state")
	}
	if p.Outputs() < n {
		return nil, fmt.Errorf("motion: the program has %d outputs for a state of %d: compile one rate for each component", p.Outputs(), n)
	}
	rates := make([]int, n)
	for i := range rates {
		rates[i] = i
	}
	program, err := p.Select(rates...)
	if err != nil {
		return nil, err
	}
	if timed && program.Free("t") { // a state can then be read as it is
		if program, err = program.Without("t"); err != nil {
			return nil, err
		}
		timed = false
	}
	s := CompiledSystem{program: program, n: n, timed: timed}
	s.allot()
	if a, ok := AccelerationsOf(program); ok {
		c := &compiledAccelerator{CompiledSystem: s, accelerations: a}
		c.allot()
		return c, nil
	}
	return &s, nil
}

// FromExpressions compiles the rates of a state: rates[i] is the derivative
// along time of the symbol state[i], an expression over the state, the time t
// and the symbols that values fixes.
func FromExpressions(rates []expr.Expr, state []string, values map[string]float64) (System, error) {
	if len(rates) != len(state) {
		return nil, fmt.Errorf("motion: %d rates for a state of %d: give one for each", len(rates), len(state))
	}
	inputs := append([]string(nil), state...)
	for _, r := range rates {
		for _, name := range r.Symbols() {
			if _, fixed := values[name]; name == "t" && !fixed && len(inputs) == len(state) {
				inputs = append(inputs, "t")
			}
		}
	}
	p, err := tape.Compile(rates, inputs, tape.Options{Values: values})
	if err != nil {
		return nil, err
	}
	return Compiled(p)
}

// AccelerationsOf returns, from the program of the rates of a state (q, q'), the
// program of the accelerations alone, which has the same inputs, if they do
// not depend on the velocities; false if they do or the program is not of that
// form.
func AccelerationsOf(p *tape.Program) (*tape.Program, bool) {
	names := p.Inputs()
	n := len(names)
	if n > 0 && names[n-1] == "t" {
		n--
	}
	if n%2 != 0 || n == 0 || p.Outputs() < n {
		return nil, false
	}
	m := n / 2
	along := make([]int, m)
	for i := range along {
		along[i] = m + i
	}
	a, err := p.Select(along...)
	if err != nil {
		return nil, false
	}
	slope, err := a.Jacobian(names[m:n]...)
	if err != nil {
		return nil, false
	}
	in, out, d := make([]float64, len(names)), make([]float64, p.Outputs()), make([]float64, m*m)
	for point := range 12 {
		for i := range in {
			// points in general position, on both sides of zero and of each other
			in[i] = 3 * math.Sin(float64(1+i)*(1+float64(point)*0.7320508))
		}
		p.Eval(out, in, nil)
		slope.Eval(d, in, nil)
		for i := range m {
			if out[i] != in[m+i] {
				return nil, false
			}
		}
		for _, v := range d {
			if v != 0 && !math.IsNaN(v) {
				return nil, false
			}
		}
	}
	return a, true
}

func (s *CompiledSystem) allot() {
	s.in, s.out = make([]float64, s.n+1), make([]float64, s.n)
	s.scratch = s.program.NewScratch()
	s.jacobian, s.js, s.taylor = nil, nil, nil
}

func (s *compiledAccelerator) allot() {
	s.CompiledSystem.allot()
	s.as = s.accelerations.NewScratch()
	s.q = make([]float64, s.n+1)
}

// Copy returns the same system for another goroutine.
func (s *CompiledSystem) Copy() System {
	c := *s
	c.allot()
	return &c
}

func (s *compiledAccelerator) Copy() System {
	c := *s
	c.allot()
	return &c
}

// Program returns the program of the rates.
func (s *CompiledSystem) Program() *tape.Program { return s.program }

// Dim returns the number of components of the state.
func (s *CompiledSystem) Dim() int { return s.n }

// Rates evaluates the program.
func (s *CompiledSystem) Rates(dst []float64, t float64, y []float64) {
	if !s.timed {
		s.program.Eval(dst, y, s.scratch)
		return
	}
	copy(s.in, y)
	s.in[s.n] = t
	s.program.Eval(dst, s.in, s.scratch)
}

// Accelerations evaluates the second half of the rates.
func (s *compiledAccelerator) Accelerations(dst []float64, t float64, q []float64) {
	copy(s.q, q)
	if s.timed {
		s.q[s.n] = t
	}
	s.accelerations.Eval(dst, s.q, s.as)
}

// Jacobian evaluates the exact derivatives of the rates along the state.
func (s *CompiledSystem) Jacobian(dst []float64, t float64, y []float64) {
	if s.jacobian == nil {
		j, err := s.program.Jacobian(s.program.Inputs()[:s.n]...)
		if err != nil {
			panic("motion: " + err.Error()) // the names are the program's own
		}
		s.jacobian, s.js = j, j.NewScratch()
	}
	copy(s.in, y)
	s.in[s.n] = t
	s.jacobian.Eval(dst, s.in, s.js)
}

// Series computes the Taylor coefficients of the motion.
func (s *CompiledSystem) Series(dst []float64, order int, t float64, y []float64) error {
	if s.taylor == nil || s.taylor.Order() != order {
		taylor, err := s.program.Taylor(s.n, order)
		if err != nil {
			return err
		}
		s.taylor = taylor
	}
	copy(s.in, y)
	s.in[s.n] = t
	s.taylor.Expand(s.in)
	for i := range s.n {
		for k, c := range s.taylor.Coefficients(i) {
			dst[k*s.n+i] = c
		}
	}
	return nil
}
