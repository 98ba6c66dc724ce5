// Package source reads a worksheet's one text file, worksheet.md: YAML front
// matter, prose with TeX maths, Go cells, and fenced question blocks.
//
// [Read] reports every mistake in one run, each with its line and a remedy, and
// returns the sheet as far as it could be read. Every value of the sheet knows
// its line. Keys are not evaluated here: package build does that.
package source

import (
	"counterpoise/mechanics/quantity"
	"counterpoise/worksheets/question"
)

// A Sheet is a worksheet as its author wrote it.
type Sheet struct {
	File     string // as the errors name it
	Name     string // short name: of the folder, or of the file without its ending
	Title    string
	Level    string
	Language string // of the prose; "en" if not said
	Minutes  int    // 0 if not said
	Aims     []string
	Params   []Param // in the order of the file
	Toys     []Toy
	Cells    []Cell
	Pictures map[string]Picture // that the prose shows, by the name it uses
	// Unread tells that some parameter could not be read, so that formulas may
	// lack a symbol.
	Unread bool
}

// A Param is a number of the sheet, the same for all or drawn for each student.
type Param struct {
	Name  string            // canonical, such as θ_0
	Value quantity.Quantity // the printed value
	// From, To and Step bound a class set: From, From+Step, … up to To. All
	// three are zero if every student gets Value.
	From, To, Step quantity.Quantity
	Means          string
	Line           int
}

// Varies tells whether students get their own values.
func (p Param) Varies() bool { return p.Step.Value > 0 }

// A Toy is a toy's description, not yet computed.
type Toy struct {
	Name string
	YAML []byte // lines before it are blank, so that its lines are those of the file
	Line int
}

// A Picture is a picture file beside the sheet.
type Picture struct {
	Type string // such as image/png
	Data []byte
}

// A Kind is what a cell is.
type Kind int

// The kinds of cells.
const (
	Prose    Kind = iota
	Go            // code
	Question      // Cell.Question
	Safety        // prose that warns
)

// A Cell is one block of the sheet.
type Cell struct {
	Kind     Kind
	Text     string             // prose or code, as written, with {{name}} not yet replaced
	Question *question.Question // of Question cells
	Line     int                // of the first line of Text, or of the question's block
	Fold     bool               // of Go cells: shown folded
	MayFail  bool               // of Go cells: an error in it is meant
	Broken   bool               // of Question cells: a mistake was told, Question is incomplete or nil
	places   places             // of Question cells
}

// LineOf returns the line of a question's field, such as "key" or "slips/0/say";
// of the nearest field around it if that is not in the file.
func (c *Cell) LineOf(field string) int {
	if line := c.places.line("/" + field); line > 0 {
		return line
	}
	return c.Line
}

// Questions returns the sound questions of the sheet in order.
func (s *Sheet) Questions() []*question.Question {
	var all []*question.Question
	for i := range s.Cells {
		if s.Cells[i].Kind == Question && !s.Cells[i].Broken {
			all = append(all, s.Cells[i].Question)
		}
	}
	return all
}

// Param returns the parameter of that canonical name.
func (s *Sheet) Param(name string) (Param, bool) {
	for _, p := range s.Params {
		if p.Name == name {
			return p, true
		}
	}
	return Param{}, false
}
