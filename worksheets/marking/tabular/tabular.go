// Package tabular writes and reads tables that go into a spreadsheet: CSV after
// RFC 4180, in which no cell can be taken for a formula.
//
// Text from strangers can start a formula in a spreadsheet with =, +, -, @ or a
// control character. Such a cell gets an apostrophe in front, which
// spreadsheets take as "this is text" and [Read] takes away again. Numbers are
// written by [Number] and stay numbers.
package tabular

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Limits on a table that is read back: what a spreadsheet holds.
const (
	MaxRows  = 1_048_576
	MaxBytes = 256 << 20
)

// Safe returns text as a cell that no spreadsheet takes for a formula. Control
// characters other than line feeds and tabs are replaced.
func Safe(text string) string {
	text = strings.Map(func(r rune) rune {
		switch {
		case r == '\n' || r == '\t':
			return r
		case unicode.IsControl(r) || r == utf8.RuneError:
			return '\uFFFD'
		}
		return r
	}, strings.ReplaceAll(text, "\r\n", "\n"))
	if startsFormula(text) || strings.HasPrefix(text, "'") {
		return "'" + text
	}
	return text
}

// startsFormula reports whether a spreadsheet could read the text as a formula:
// it skips blanks before looking, as some do, and knows the wide forms that
// some fold to plain ones.
func startsFormula(text string) bool {
	trimmed := strings.TrimLeftFunc(text, func(r rune) bool { return unicode.IsSpace(r) || r == '"' || r == '\uFEFF' })
	first, _ := utf8.DecodeRuneInString(trimmed)
	return strings.ContainsRune("=+-@\t\n|%＝＋－＠−", first) && trimmed != "" || strings.HasPrefix(text, "\t") || strings.HasPrefix(text, "\n")
}

// Number returns a number as a cell: at most four decimals, none that say
// nothing. One that is not finite becomes an empty cell.
func Number(x float64) string {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return ""
	}
	s := strconv.FormatFloat(math.Round(x*1e4)/1e4, 'f', -1, 64)
	if s == "-0" {
		return "0"
	}
	return s
}

// A Writer writes rows of cells. Cells come from [Safe] or [Number]; Row makes
// text cells safe by itself.
type Writer struct{ csv *csv.Writer }

// NewWriter returns a Writer that writes CSV to w, with a byte order mark so
// that spreadsheets read it as UTF-8.
func NewWriter(w io.Writer) (*Writer, error) {
	if _, err := io.WriteString(w, "\uFEFF"); err != nil {
		return nil, err
	}
	c := csv.NewWriter(w)
	c.UseCRLF = true
	return &Writer{c}, nil
}

// Row writes one row; a cell is a string, which is made safe, or a number.
func (w *Writer) Row(cells ...any) error {
	row := make([]string, len(cells))
	for i, c := range cells {
		switch c := c.(type) {
		case string:
			row[i] = Safe(c)
		case float64:
			row[i] = Number(c)
		case int:
			row[i] = strconv.Itoa(c)
		default:
			return fmt.Errorf("a cell of type %T: give a string or a number", c)
		}
	}
	return w.csv.Write(row)
}

// Flush writes what is still buffered and reports the first error.
func (w *Writer) Flush() error {
	w.csv.Flush()
	return w.csv.Error()
}

// Read reads a table that a Writer wrote, also after a spreadsheet saved it
// again with semicolons or tabs, with or without a byte order mark. Apostrophes
// that [Safe] put in front are taken away. Rows keep their line for errors.
func Read(r io.Reader) ([]Row, error) {
	data, err := io.ReadAll(io.LimitReader(r, MaxBytes+1))
	if err != nil {
		return nil, err
	}
	if len(data) > MaxBytes {
		return nil, fmt.Errorf("the table has more than %d bytes", MaxBytes)
	}
	data = bytes.TrimPrefix(data, []byte("\uFEFF"))
	if !utf8.Valid(data) {
		return nil, errors.New("the table is not UTF-8: save it from the spreadsheet as CSV UTF-8")
	}
	c := csv.NewReader(bytes.NewReader(data))
	c.Comma = separator(data)
	c.FieldsPerRecord = -1
	var rows []Row
	for {
		cells, err := c.Read()
		if errors.Is(err, io.EOF) {
			return rows, nil
		}
		if err != nil {
			return nil, err
		}
		if len(rows) == MaxRows {
			return nil, fmt.Errorf("the table has more than %d rows", MaxRows)
		}
		line, _ := c.FieldPos(0)
		for i := range cells {
			cells[i] = strings.TrimPrefix(cells[i], "'")
		}
		rows = append(rows, Row{Line: line, Cells: cells})
	}
}

// A Row is one row of a table and the line on which it starts.
type Row struct {
	Line  int
	Cells []string
}

// separator tells which of comma, semicolon and tab separates the cells of the
// first line.
func separator(data []byte) rune {
	first, _, _ := bytes.Cut(data, []byte("\n"))
	best, most := ',', bytes.Count(first, []byte(","))
	for _, r := range []rune{';', '\t'} {
		if n := bytes.Count(first, []byte(string(r))); n > most {
			best, most = r, n
		}
	}
	return best
}
