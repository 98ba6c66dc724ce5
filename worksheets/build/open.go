package build

import (
	"counterpoise/worksheets/notebook"
	"counterpoise/worksheets/question"
	"counterpoise/worksheets/worksheet"
)

// open writes the folded first cell, which carries the sealed keys; a sheet
// without questions needs none.
func (l *layout) open(asked []*question.Asked, o Options) error {
	if len(asked) == 0 {
		return nil
	}
	e := worksheet.Envelope{Name: l.sheet.Name, Title: l.sheet.Title, Student: o.Student}
	for _, a := range asked {
		q := a.Question
		box, err := o.seed.sealed(a)
		if err != nil {
			return err
		}
		e.Questions = append(e.Questions, worksheet.Sealed{Name: q.Name, Kind: q.Kind, Hints: q.Hints, Attempts: q.Attempts, Box: box})
	}
	text, err := e.Pack()
	if err != nil {
		return err
	}
	code := "//worksheet:open\n" + text
	if l.plain {
		code = "import \"counterpoise/worksheets/worksheet\"\n\nworksheet.Open(`\n" + text + "\n`)"
	}
	metadata := tagged("open")
	metadata["jupyter"] = folded()
	metadata["editable"], metadata["deletable"] = false, false
	l.addWithID(notebook.Code, "open", code, metadata)
	return nil
}
