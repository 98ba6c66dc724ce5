package problems

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/expr/tape"
	"counterpoise/mechanics/lagrange"
)

// A Problem is an initial value problem y' = f(t, y) from t = 0 with what is
// known of its solution.
type Problem struct {
	Name   string // lower case with underscores: "double_pendulum"
	Title  string // a few words: "double pendulum, t = 10"
	Source string // where the problem and what is known of it are from

	// Lagrangian gives the system by its energies; the state is then the
	// coordinates and their velocities. Nil where State and Rates give it.
	Lagrangian *lagrange.System
	State      []string    // names of the components of y
	Rates      []expr.Expr // f, over State, t and the names in Values
	Values     map[string]float64

	Start []float64
	Until float64 // the time of End
	Stiff bool

	// End is the state at Until as printed by the source, nil if unknown.
	End []string
	// Solution returns the state at any time from 0 on, nil if there is no
	// closed form.
	Solution func(t float64) []float64
	// Energy is a function of the state that the motion conserves; zero if
	// none is known.
	Energy expr.Expr
	// Exponent is the largest Lyapunov exponent in 1/s (natural logarithm) and
	// ExponentError its standard error; both 0 if unknown.
	Exponent, ExponentError float64
}

// Equations derives the equations of motion of a problem that is given by its
// Lagrangian; for another it returns an error.
func (p Problem) Equations() (*lagrange.Equations, error) {
	if p.Lagrangian == nil {
		return nil, fmt.Errorf("problem %s is given by its rates: there is no Lagrangian to derive them from", p.Name)
	}
	return p.Lagrangian.Derive()
}

// Program compiles the rates. Its inputs are the components of the state and
// the time t; its outputs are the rates.
func (p Problem) Program() (*tape.Program, error) {
	if p.Lagrangian != nil {
		e, err := p.Equations()
		if err != nil {
			return nil, err
		}
		return e.Compile(p.Values)
	}
	return tape.Compile(p.Rates, append(slices.Clone(p.State), expr.TimeName), tape.Options{Values: p.Values})
}

// EnergyProgram compiles the conserved energy, with the same inputs. It returns
// an error if none is known.
func (p Problem) EnergyProgram() (*tape.Program, error) {
	if p.Energy.IsZero() {
		return nil, fmt.Errorf("problem %s conserves no known energy", p.Name)
	}
	return tape.Compile([]expr.Expr{p.Energy}, append(slices.Clone(p.State), expr.TimeName), tape.Options{Values: p.Values})
}

// EndState returns End as float64 values, nil if it is unknown.
func (p Problem) EndState() []float64 {
	if p.End == nil {
		return nil
	}
	y := make([]float64, len(p.End))
	for i, text := range p.End {
		v, err := strconv.ParseFloat(text, 64)
		if err != nil {
			panic("problems: " + p.Name + " has an end state that is no number: " + text)
		}
		y[i] = v
	}
	return y
}

// Distance returns the error of a state against End, the largest of
// |y_i - end_i|/(1 + |end_i|), and NaN if End is unknown.
func (p Problem) Distance(y []float64) float64 {
	end := p.EndState()
	if end == nil || len(y) < len(end) {
		return math.NaN()
	}
	worst := 0.0
	for i, e := range end {
		worst = math.Max(worst, math.Abs(y[i]-e)/(1+math.Abs(e)))
		if y[i] != y[i] {
			return math.NaN()
		}
	}
	return worst
}

// All returns every problem, those with end states of 30 digits first.
func All() []Problem {
	return []Problem{
		Pendulum(), DoublePendulum(), SpringPendulum(), HenonHeiles(), Arenstorf(), Pleiades(), VanDerPol(),
		DampedOscillator(), BeatingPendulums(), Kepler(), FreeRigidBody(), DrivenPendulum(), ChaoticHenonHeiles(),
	}
}

// Named returns the problem of that name, and an error that lists the names if
// there is none.
func Named(name string) (Problem, error) {
	var names []string
	for _, p := range All() {
		if p.Name == name {
			return p, nil
		}
		names = append(names, p.Name)
	}
	return Problem{}, fmt.Errorf("there is no problem %q: the problems are %s", name, strings.Join(names, ", "))
}

// ofLagrangian fills in what follows from a problem's Lagrangian.
func ofLagrangian(p Problem, s lagrange.System) Problem {
	p.Lagrangian = &s
	p.State = slices.Clone(s.Coordinates)
	for _, q := range s.Coordinates {
		p.State = append(p.State, q+"'")
	}
	p.Values = s.Values
	return p
}

func sym(name string) expr.Expr { return expr.Sym(name) }

func square(e expr.Expr) expr.Expr { return expr.Pow(e, expr.Int(2)) }

var half = expr.Rat(1, 2)
