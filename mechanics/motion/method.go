package motion

import "fmt"

// A Method names a way to integrate. The zero value chooses by the problem.
type Method int

const (
	// Auto takes [DormandPrince8] where events are looked for, else [Nystrom12]
	// where the system is an [Accelerator] and [Verner9] where it is not, and
	// goes over from the first and the last to [Radau] as soon as the problem
	// proves stiff.
	Auto Method = iota
	// DormandPrince8 is the explicit pair of orders 8(5,3) with a dense output
	// of order 7: the choice for smooth problems with events.
	DormandPrince8
	// Verner9 is the explicit pair of orders 9(8), without dense output: the
	// choice for smooth problems without events. It reaches an error of 1e-9
	// with a quarter fewer evaluations than [DormandPrince8].
	Verner9
	// DormandPrince5 is the explicit pair of orders 5(4) with a dense output of
	// order 4: for coarse tolerances and right-hand sides that are not smooth.
	DormandPrince5
	// Taylor sums the motion's Taylor series; the system must be a [Series]. It
	// alone reaches the rounding limit over long times.
	Taylor
	// Nystrom12 is the explicit Nyström pair of orders 12(10); the system must
	// be an [Accelerator].
	Nystrom12
	// Radau is the implicit Radau IIA method of order 5, 9 or 13 as the
	// tolerance asks, for stiff problems.
	Radau
	// BlanesMoan4 is a symplectic splitting of order 4 with six stages, for
	// long runs of an [Accelerator] or [Separable] system with a fixed step.
	BlanesMoan4
	// KahanLi6 and KahanLi8 are symplectic compositions of order 6 (nine
	// stages) and 8 (seventeen stages), used like [BlanesMoan4].
	KahanLi6
	KahanLi8
	// Gauss4 and Gauss6 are the implicit symplectic methods of Gauss with two
	// and three stages and a fixed step, for any Hamiltonian system.
	Gauss4
	Gauss6
	// Verlet, RungeKutta4, SymplecticEuler and Euler show with a fixed step
	// what goes wrong, and when it does not.
	Verlet
	RungeKutta4
	SymplecticEuler
	Euler
)

var methodNames = [...]string{
	Auto:            "automatic choice",
	DormandPrince8:  "Dormand-Prince 8(5,3)",
	Verner9:         "Verner 9(8)",
	DormandPrince5:  "Dormand-Prince 5(4)",
	Taylor:          "Taylor series",
	Nystrom12:       "Nyström 12(10)",
	Radau:           "Radau IIA",
	BlanesMoan4:     "Blanes-Moan splitting of order 4",
	KahanLi6:        "Kahan-Li composition of order 6",
	KahanLi8:        "Kahan-Li composition of order 8",
	Gauss4:          "Gauss method of order 4",
	Gauss6:          "Gauss method of order 6",
	Verlet:          "Verlet",
	RungeKutta4:     "Runge-Kutta of order 4",
	SymplecticEuler: "symplectic Euler",
	Euler:           "Euler",
}

// String returns the method's name as it is written in books.
func (m Method) String() string {
	if m < 0 || int(m) >= len(methodNames) {
		return fmt.Sprintf("Method(%d)", int(m))
	}
	return methodNames[m]
}

// fixed reports whether the method runs with a fixed step, so that
// Options.Step must be given.
func (m Method) fixed() bool { return m >= BlanesMoan4 }
