package display

import (
	"fmt"
	"reflect"
	"strconv"
	"strings"

	"gonum.org/v1/gonum/mat"
)

// Limits of a table: what a page shows without becoming slow.
const (
	maxRows    = 60
	maxColumns = 20
)

// table adds a table for matrices and for slices of numbers.
func table(put func(string, any), v any) {
	if m, ok := v.(mat.Matrix); ok {
		if isNilPointer(v) {
			return
		}
		rows, cols := m.Dims()
		put("text/html", grid(rows, cols, func(i, j int) string { return number(m.At(i, j)) }))
		put("text/plain", matrixText(m))
		return
	}
	rv := reflect.ValueOf(v)
	if !rv.IsValid() || rv.Kind() != reflect.Slice && rv.Kind() != reflect.Array || rv.Len() == 0 {
		return
	}
	switch e := rv.Type().Elem(); {
	case isReal(e) && e.PkgPath() == "" && e.Kind() != reflect.Uint8:
		put("text/html", grid(rv.Len(), 1, func(i, _ int) string { return real(rv.Index(i)) }))
	case (e.Kind() == reflect.Slice || e.Kind() == reflect.Array) && isReal(e.Elem()) && e.Elem().Kind() != reflect.Uint8:
		cols := 0
		for i := range rv.Len() {
			cols = max(cols, rv.Index(i).Len())
		}
		put("text/html", grid(rv.Len(), cols, func(i, j int) string {
			if row := rv.Index(i); j < row.Len() {
				return real(row.Index(j))
			}
			return ""
		}))
	}
}

func isReal(t reflect.Type) bool {
	return t.Kind() >= reflect.Int && t.Kind() <= reflect.Float64
}

func real(v reflect.Value) string {
	switch {
	case v.CanInt():
		return strconv.FormatInt(v.Int(), 10)
	case v.CanUint():
		return strconv.FormatUint(v.Uint(), 10)
	}
	return number(v.Float())
}

// number writes x with at most six figures, which is what one reads in a table;
// the text beside it has them all.
func number(x float64) string { return strconv.FormatFloat(x, 'g', 6, 64) }

// grid writes an HTML table whose rows and columns are numbered from 0, as in
// Go. Rows and columns in the middle of a large one are left out.
func grid(rows, cols int, cell func(i, j int) string) string {
	var b strings.Builder
	b.WriteString("<table>\n")
	if cols > 1 {
		b.WriteString("<tr><th></th>")
		for j := range min(cols, maxColumns) {
			fmt.Fprintf(&b, "<th>%d</th>", j)
		}
		if cols > maxColumns {
			fmt.Fprintf(&b, "<th>… %d more</th>", cols-maxColumns)
		}
		b.WriteString("</tr>\n")
	}
	for i := range rows {
		if rows > maxRows && i == maxRows-10 {
			fmt.Fprintf(&b, "<tr><th>…</th><td>%d rows left out</td></tr>\n", rows-maxRows)
		}
		if rows > maxRows && i >= maxRows-10 && i < rows-10 {
			continue
		}
		fmt.Fprintf(&b, "<tr><th>%d</th>", i)
		for j := range min(cols, maxColumns) {
			fmt.Fprintf(&b, "<td>%s</td>", escape(cell(i, j)))
		}
		b.WriteString("</tr>\n")
	}
	b.WriteString("</table>")
	return b.String()
}

func matrixText(m mat.Matrix) string {
	rows, cols := m.Dims()
	if rows > maxRows || cols > maxColumns {
		return fmt.Sprintf("%.6g", mat.Formatted(m, mat.Excerpt(5), mat.Squeeze()))
	}
	return fmt.Sprintf("%.6g", mat.Formatted(m, mat.Squeeze()))
}
