package elastic

import "math"

// A Section is what a rod looks like where it is cut.
type Section struct {
	Area  float64 // m²
	Weak  float64 // second moment of area for bending in the easy direction, m⁴
	Stiff float64 // for bending across that, m⁴; equal to Weak for a round rod
	Twist float64 // torsion constant, m⁴: the polar moment of a round rod
	Edge  float64 // distance of the outermost fibre from the middle when it bends the easy way, m
}

// Round returns the section of a round rod of a diameter in m.
// Source: check-values E5, I = πd⁴/64.
func Round(diameter float64) Section { return Tubular(diameter, 0) }

// Tubular returns the section of a tube, outer and inner diameter in m.
func Tubular(outer, inner float64) Section {
	i := math.Pi / 64 * (outer*outer - inner*inner) * (outer*outer + inner*inner)
	return Section{math.Pi / 4 * (outer - inner) * (outer + inner), i, i, 2 * i, outer / 2}
}

// Strip returns the section of a flat strip, width and thickness in m, that
// bends easily across its thickness. The torsion constant is good to half a per
// cent. Source: Roark, Formulas for Stress and Strain, torsion of a rectangle
// (from memory, unchecked).
func Strip(width, thickness float64) Section {
	a, b := max(width, thickness), min(width, thickness)
	twist := a * b * b * b * (1.0/3 - 0.21*b/a*(1-math.Pow(b/a, 4)/12))
	return Section{a * b, a * b * b * b / 12, b * a * a * a / 12, twist, b / 2}
}

// Check returns an error if the section is none.
func (s Section) Check() error {
	return positive("area of the section", s.Area, "second moment of area", s.Weak, "second moment of area across", s.Stiff,
		"torsion constant", s.Twist, "distance of the outermost fibre", s.Edge)
}
