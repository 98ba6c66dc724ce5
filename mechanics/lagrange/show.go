package lagrange

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/expr/typeset"
)

// multiplier returns the letter of the k-th multiplier of m.
func multiplier(k, m int) expr.Expr {
	if m == 1 {
		return expr.Sym("λ")
	}
	return expr.Sym(fmt.Sprintf("λ_%d", k+1))
}

// written returns the equations as expressions that are zero along the motion,
// forces of constraint included, then the constraints.
func (e *Equations) written() []expr.Expr {
	out := e.Residuals()
	for i := range out {
		for k, row := range e.Rows {
			out[i] = out[i].Minus(expr.Mul(row[i], multiplier(k, len(e.Rows))))
		}
	}
	return append(out, e.Constraints...)
}

// String returns the equations of motion as text, one a line.
func (e *Equations) String() string {
	var lines []string
	for _, r := range e.written() {
		lines = append(lines, typeset.Text(r)+" = 0")
	}
	return strings.Join(lines, "\n")
}

// LaTeX returns the equations of motion, aligned at their signs of equality.
func (e *Equations) LaTeX() string {
	var lines []string
	for _, r := range e.written() {
		lines = append(lines, typeset.TeX(r)+" &= 0")
	}
	return "\\begin{aligned} " + strings.Join(lines, ` \\ `) + " \\end{aligned}"
}

// String returns the conserved quantity with its name.
func (c Conserved) String() string { return c.Name + ": " + typeset.Text(c.Quantity) }

// LaTeX returns the conserved quantity.
func (c Conserved) LaTeX() string {
	return `\text{` + c.Name + `:}\quad ` + typeset.TeX(c.Quantity) + ` = \text{const.}`
}

// String returns the three matrices as text.
func (l *Linear) String() string {
	var lines []string
	for _, m := range l.matrices() {
		var rows []string
		for _, row := range m.rows {
			var cells []string
			for _, x := range row {
				cells = append(cells, typeset.Text(x))
			}
			rows = append(rows, "["+strings.Join(cells, ", ")+"]")
		}
		lines = append(lines, m.name+" = ["+strings.Join(rows, ", ")+"]")
	}
	return strings.Join(lines, "\n")
}

// LaTeX returns the three matrices.
func (l *Linear) LaTeX() string {
	var parts []string
	for _, m := range l.matrices() {
		var rows []string
		for _, row := range m.rows {
			var cells []string
			for _, x := range row {
				cells = append(cells, typeset.TeX(x))
			}
			rows = append(rows, strings.Join(cells, " & "))
		}
		parts = append(parts, m.name+` = \begin{pmatrix} `+strings.Join(rows, ` \\ `)+` \end{pmatrix}`)
	}
	return strings.Join(parts, `,\quad `)
}

// A namedMatrix is a matrix and its letter.
type namedMatrix struct {
	name string
	rows [][]expr.Expr
}

// matrices returns M, C where it is not zero, and K.
func (l *Linear) matrices() []namedMatrix {
	all := []namedMatrix{{"M", l.Mass}, {"C", l.Damping}, {"K", l.Stiffness}}
	if !slices.ContainsFunc(l.Damping, func(row []expr.Expr) bool {
		return slices.ContainsFunc(row, func(x expr.Expr) bool { return !x.IsZero() })
	}) {
		all = slices.Delete(all, 1, 2)
	}
	return all
}

// String returns the place, to six figures, and the stability.
func (e Equilibrium) String() string {
	var parts []string
	for _, q := range slices.Sorted(maps.Keys(e.At)) {
		parts = append(parts, fmt.Sprintf("%s = %.6g", q, e.At[q]))
	}
	text := strings.Join(parts, ", ") + ": " + e.Stability.String()
	if e.Doubt != "" {
		text += " (" + e.Doubt + ")"
	}
	return text
}
