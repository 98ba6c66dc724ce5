package measure

import (
	"fmt"
	"math"
	"strings"
	"text/tabwriter"

	"gonum.org/v1/gonum/mat"

	"counterpoise/mechanics/quantity"
)

// A Source is one line of an uncertainty budget before it is computed.
type Source struct {
	quantity.Input               // in SI units
	Unit           quantity.Unit // in which it is shown
	How            string        // how it is known; "" = scatter (type A) or scale (type B) by its degrees of freedom
}

// A Budget shows where the uncertainty of a result comes from.
type Budget struct {
	Result      string        // name of the result
	Unit        quantity.Unit // in which it is shown
	Propagation quantity.Propagation
	Sources     []Source
	Share       []float64 // of the variance, by source; they add up to 1
}

// NewBudget carries the sources through a formula of SI values, in their order, with
// correlations if they are given (nil = none).
//
// Source: GUM (JCGM 100:2008) H.1, Table H.1, for the columns.
func NewBudget(result string, unit quantity.Unit, f func(x []float64) float64, sources []Source, correlation *mat.SymDense) (Budget, error) {
	inputs := make([]quantity.Input, len(sources))
	for i, s := range sources {
		inputs[i] = s.Input
	}
	p, err := quantity.Propagate(f, inputs, correlation)
	if err != nil {
		return Budget{}, err
	}
	b := Budget{Result: result, Unit: unit, Propagation: p, Sources: append([]Source(nil), sources...), Share: make([]float64, len(sources))}
	variance := p.Uncertainty * p.Uncertainty
	for i := range sources {
		for j := range sources {
			r := 0.0
			if i == j {
				r = 1
			} else if correlation != nil {
				r = correlation.At(i, j)
			}
			b.Share[i] += p.Sensitivity[i] * inputs[i].Uncertainty * r * p.Sensitivity[j] * inputs[j].Uncertainty
		}
		if variance > 0 {
			b.Share[i] /= variance
		}
	}
	return b, nil
}

// Largest returns the index of the source with the largest share.
func (b Budget) Largest() int {
	best := 0
	for i, s := range b.Share {
		if s > b.Share[best] {
			best = i
		}
	}
	return best
}

func (s Source) how() string {
	switch {
	case s.How != "":
		return s.How
	case s.Freedom > 0:
		return fmt.Sprintf("scatter of %.0f readings (A)", s.Freedom+1)
	case s.Spread == quantity.Rectangular:
		return fmt.Sprintf("± %s, rectangle (B)", in(s.Uncertainty*math.Sqrt(3), s.Unit, 2))
	}
	return "stated (B)"
}

func in(si float64, u quantity.Unit, figures int) string {
	return quantity.New(si, u).Format(figures, u)
}

// columns are the headings of the table.
var columns = []string{"quantity", "estimate", "how known", "standard uncertainty", "sensitivity", "contribution", "share"}

// rows returns the table as text, one row a source.
func (b Budget) rows() [][]string {
	var rows [][]string
	for i, s := range b.Sources[:min(len(b.Sources), len(b.Share), len(b.Propagation.Sensitivity), len(b.Propagation.Contribution))] {
		per := quantity.SI(b.Unit.Dimension().Div(s.Unit.Dimension()))
		value := quantity.New(s.Value, s.Unit)
		value.Uncertainty = s.Uncertainty
		estimate, _, _ := strings.Cut(strings.TrimPrefix(value.String(), "("), " ±")
		if s.Unit.String() != "" && s.Uncertainty != 0 {
			estimate += " " + s.Unit.String()
		}
		rows = append(rows, []string{
			s.Name, estimate, s.how(), in(s.Uncertainty, s.Unit, 2), in(b.Propagation.Sensitivity[i], per, 3),
			in(b.Propagation.Contribution[i], b.Unit, 2), fmt.Sprintf("%.1f %%", 100*b.Share[i]),
		})
	}
	return rows
}

// Last returns the last line: the result with its combined standard uncertainty, and
// expanded with k = 2.
func (b Budget) Last() string {
	q := quantity.New(b.Propagation.Value, b.Unit)
	q.Uncertainty = b.Propagation.Uncertainty
	return fmt.Sprintf("%s = %v, combined standard uncertainty; expanded with k = 2: ± %s", b.Result, q, in(2*b.Propagation.Uncertainty, b.Unit, 2))
}

// Markdown returns the budget as a table.
func (b Budget) Markdown() string {
	var s strings.Builder
	fmt.Fprintf(&s, "| %s |\n|%s\n", strings.Join(columns, " | "), strings.Repeat(" --- |", len(columns)))
	for _, r := range b.rows() {
		fmt.Fprintf(&s, "| %s |\n", strings.Join(r, " | "))
	}
	return s.String() + "\n" + b.Last() + "\n"
}

// String returns the budget as text with aligned columns.
func (b Budget) String() string {
	var s strings.Builder
	w := tabwriter.NewWriter(&s, 0, 0, 2, ' ', 0)
	for _, r := range append([][]string{columns}, b.rows()...) {
		fmt.Fprintln(w, strings.Join(r, "\t"))
	}
	w.Flush()
	return s.String() + b.Last()
}
