package quantity

import (
	"fmt"
	"strconv"
	"strings"

	"gonum.org/v1/gonum/unit"
)

// base is one of the seven base quantities of the SI.
type base int

const (
	mass base = iota
	length
	time
	current
	temperature
	amount
	intensity
	bases
)

// baseSymbols are the coherent SI units, in the order in which they are printed.
var baseSymbols = [bases]string{"kg", "m", "s", "A", "K", "mol", "cd"}

// An exponent is a fraction in lowest terms; its denominator is kept less one
// so that the zero value is 0/1.
type exponent struct {
	p     int32
	qLess int32
}

func (e exponent) q() int64 { return int64(e.qLess) + 1 }

// maxExponent bounds numerator and denominator of an exponent: no dimension of
// physics comes near it, and products of two stay inside int64.
const maxExponent = 1 << 24

func newExponent(p, q int64) exponent {
	if q < 0 {
		p, q = -p, -q
	}
	if p == 0 || q == 0 {
		return exponent{}
	}
	d := gcd(p, q)
	p, q = p/d, q/d
	return exponent{int32(min(max(p, -maxExponent), maxExponent)), int32(min(q, maxExponent) - 1)}
}

func gcd(a, b int64) int64 {
	if a < 0 {
		a = -a
	}
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

func (e exponent) plus(f exponent) exponent {
	return newExponent(int64(e.p)*f.q()+int64(f.p)*e.q(), e.q()*f.q())
}

func (e exponent) times(p, q int64) exponent {
	return newExponent(int64(e.p)*clamp(p), e.q()*clamp(q))
}

func clamp(n int64) int64 { return min(max(n, -maxExponent), maxExponent) }

// A Dimension is a product of powers of the seven SI base quantities, with
// rational exponents, because half powers occur inside roots. The zero value is
// the dimension of a pure number. Dimensions compare with ==.
//
// Exponents beyond ±2²⁴ are held at that bound.
type Dimension struct {
	of [bases]exponent
}

// The dimensions that mechanics uses most.
var (
	One             = Dimension{}
	Mass            = dimension(mass, 1)
	Length          = dimension(length, 1)
	Time            = dimension(time, 1)
	Area            = Length.Pow(2, 1)
	Volume          = Length.Pow(3, 1)
	Velocity        = Length.Div(Time)
	Acceleration    = Velocity.Div(Time)
	Force           = Mass.Mul(Acceleration)
	Energy          = Force.Mul(Length)
	Torque          = Energy
	Power           = Energy.Div(Time)
	Pressure        = Force.Div(Area)
	Density         = Mass.Div(Volume)
	Frequency       = One.Div(Time)
	Stiffness       = Force.Div(Length)
	MomentOfInertia = Mass.Mul(Area)
)

func dimension(b base, p int64) Dimension {
	var d Dimension
	d.of[b] = newExponent(p, 1)
	return d
}

// Mul returns the dimension of a product.
func (d Dimension) Mul(e Dimension) Dimension {
	for i := range d.of {
		d.of[i] = d.of[i].plus(e.of[i])
	}
	return d
}

// Div returns the dimension of a quotient.
func (d Dimension) Div(e Dimension) Dimension { return d.Mul(e.Pow(-1, 1)) }

// Pow returns the dimension of the (p/q)th power. A q of 0 gives the dimension
// of a pure number.
func (d Dimension) Pow(p, q int) Dimension {
	for i := range d.of {
		d.of[i] = d.of[i].times(int64(p), int64(q))
	}
	return d
}

// IsOne reports whether d is the dimension of a pure number, or of an angle.
func (d Dimension) IsOne() bool { return d == Dimension{} }

// Exponent returns the exponent of the base unit kg, m, s, A, K, mol or cd as a
// fraction in lowest terms with a positive denominator; 0/1 for any other text.
func (d Dimension) Exponent(baseUnit string) (p, q int) {
	for i, s := range baseSymbols {
		if s == baseUnit {
			return int(d.of[i].p), int(d.of[i].q())
		}
	}
	return 0, 1
}

// String returns d as a product of SI base units, "kg m² s⁻²", or "1".
func (d Dimension) String() string {
	var factors []string
	for i, e := range d.of {
		if e.p != 0 {
			factors = append(factors, baseSymbols[i]+e.String())
		}
	}
	if len(factors) == 0 {
		return "1"
	}
	return strings.Join(factors, " ")
}

// String returns the exponent as it is set behind a unit: "", "²", "⁻¹" or "^(1/2)".
func (e exponent) String() string {
	switch {
	case e.qLess != 0:
		return fmt.Sprintf("^(%d/%d)", e.p, e.q())
	case e.p == 1:
		return ""
	}
	return superscript(int(e.p))
}

var superscriptDigits = []rune("⁰¹²³⁴⁵⁶⁷⁸⁹")

func superscript(n int) string {
	var s strings.Builder
	for _, r := range strconv.Itoa(n) {
		if r == '-' {
			s.WriteRune('⁻')
		} else {
			s.WriteRune(superscriptDigits[r-'0'])
		}
	}
	return s.String()
}

// nouns are the usual names of what has a dimension.
var nouns = map[Dimension]string{
	One:                        "pure number",
	Mass:                       "mass",
	Length:                     "length",
	Time:                       "time",
	dimension(current, 1):      "electric current",
	dimension(temperature, 1):  "temperature",
	Area:                       "area",
	Volume:                     "volume",
	Velocity:                   "speed",
	Acceleration:               "acceleration",
	Force:                      "force",
	Energy:                     "energy or torque",
	Power:                      "power",
	Pressure:                   "pressure or modulus",
	Density:                    "density",
	Frequency:                  "frequency or angular speed",
	Frequency.Pow(2, 1):        "angular acceleration or squared frequency",
	Stiffness:                  "stiffness",
	MomentOfInertia:            "moment of inertia",
	Mass.Mul(Velocity):         "momentum",
	Energy.Mul(Time):           "angular momentum",
	Mass.Mul(Length):           "mass moment",
	Mass.Div(Length):           "mass per length",
	Mass.Div(Area):             "mass per area",
	Mass.Div(Time):             "damping coefficient",
	Area.Pow(2, 1):             "second moment of area",
	Time.Pow(2, 1):             "squared time",
	Velocity.Pow(2, 1):         "squared speed",
	Force.Mul(Area):            "bending stiffness",
	One.Div(Length):            "curvature or wave number",
	Pressure.Mul(Time):         "viscosity",
	Area.Div(Time):             "area per time",
	Density.Mul(Frequency):     "density per time",
	Length.Mul(Time.Pow(2, 1)): "length times squared time",
}

// Noun names what usually has this dimension, such as "mass" or "energy or
// torque"; it is "" where there is no common name.
func (d Dimension) Noun() string { return nouns[d] }

// describe names d for an error message: its noun with an article, or its units.
func (d Dimension) describe() string {
	noun := d.Noun()
	switch {
	case noun == "":
		return "a quantity in " + d.String()
	case strings.ContainsRune("aeiou", rune(noun[0])):
		return "an " + noun
	}
	return "a " + noun
}

var gonumBases = [bases]unit.Dimension{
	unit.MassDim, unit.LengthDim, unit.TimeDim, unit.CurrentDim,
	unit.TemperatureDim, unit.MoleDim, unit.LuminousIntensityDim,
}

// Gonum returns d as dimensions of gonum.org/v1/gonum/unit, or an error where an
// exponent is not whole.
func (d Dimension) Gonum() (unit.Dimensions, error) {
	g := unit.Dimensions{}
	for i, e := range d.of {
		if e.qLess != 0 {
			return nil, fmt.Errorf("dimension %v has a fractional exponent: square the quantity first", d)
		}
		if e.p != 0 {
			g[gonumBases[i]] = int(e.p)
		}
	}
	return g, nil
}

// FromGonum returns the dimension of a gonum unit. Angles count as pure numbers,
// and so does nil.
func FromGonum(u unit.Uniter) Dimension {
	var d Dimension
	if u == nil {
		return d
	}
	for i, g := range gonumBases {
		d.of[i] = newExponent(int64(u.Unit().Dimensions()[g]), 1)
	}
	return d
}
