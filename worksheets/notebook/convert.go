package notebook

import (
	"encoding/json"
	"fmt"
	"strings"
)

// fields takes the known fields out of a JSON object, with the first mistake
// kept; what is left is Extra.
type fields struct {
	path string
	m    map[string]any
	err  *error
}

func (f fields) fail(name, format string, a ...any) {
	if *f.err == nil {
		path := f.path
		if name != "" {
			path = strings.TrimPrefix(path+"."+name, ".")
		}
		*f.err = &ReadError{Path: path, Reason: fmt.Sprintf(format, a...)}
	}
}

// object takes a field that is an object; a missing one is an empty object.
func (f fields) object(name string) map[string]any {
	v, ok := f.m[name]
	delete(f.m, name)
	if !ok || v == nil {
		return map[string]any{}
	}
	m, ok := v.(map[string]any)
	if !ok {
		f.fail(name, "must be an object, is %s", kindOf(v))
	}
	return m
}

// text takes a field that is text or a list of texts.
func (f fields) text(name string, must bool) string {
	v, ok := f.m[name]
	delete(f.m, name)
	if !ok && !must {
		return ""
	}
	s, ok := joined(v)
	if !ok {
		f.fail(name, "must be text or a list of texts, is %s", kindOf(v))
	}
	return s
}

// count takes a field that is a whole number or null.
func (f fields) count(name string) int {
	v := f.m[name]
	delete(f.m, name)
	if v == nil {
		return 0
	}
	if n, ok := v.(json.Number); ok {
		if i, err := n.Int64(); err == nil && i >= 0 && i < 1<<31 {
			return int(i)
		}
	}
	f.fail(name, "must be a whole number or null")
	return 0
}

// list takes a field that is a list.
func (f fields) list(name string, must bool) []any {
	v, ok := f.m[name]
	delete(f.m, name)
	if !ok && !must {
		return nil
	}
	l, ok := v.([]any)
	if !ok {
		f.fail(name, "must be a list, is %s", kindOf(v))
	}
	return l
}

func (f fields) extra() map[string]any {
	if len(f.m) == 0 {
		return nil
	}
	return f.m
}

// convert turns decoded JSON into a notebook.
func convert(root any) (*Notebook, error) {
	m, ok := root.(map[string]any)
	if !ok {
		return nil, &ReadError{Reason: "not a notebook: it is " + kindOf(root) + ", not an object"}
	}
	_, hasCells := m["cells"]
	_, hasVersion := m["nbformat"]
	if !hasVersion {
		return nil, &ReadError{Reason: "not a notebook: it has no nbformat field"}
	}
	var err error
	f := fields{"", m, &err}
	nb := &Notebook{Major: f.count("nbformat"), Minor: f.count("nbformat_minor")}
	if err == nil && nb.Major != Major {
		return nil, &ReadError{Path: "nbformat", Reason: fmt.Sprintf("version %d is not read", nb.Major),
			Remedy: "open it in Jupyter and save it as version 4"}
	}
	if err == nil && !hasCells {
		return nil, &ReadError{Reason: "not a notebook: it has no cells field"}
	}
	nb.Metadata = f.object("metadata")
	cells := f.list("cells", true)
	nb.Extra = f.extra()
	if len(cells) > MaxCells {
		f.fail("cells", "more than %d cells", MaxCells)
	}
	if err != nil {
		return nil, err
	}
	nb.Cells = make([]Cell, 0, len(cells))
	for i, v := range cells {
		nb.Cells = append(nb.Cells, cell(fmt.Sprintf("cells[%d]", i), v, &err))
		if err != nil {
			return nil, err
		}
	}
	return nb, nil
}

func cell(path string, v any, err *error) Cell {
	m, ok := v.(map[string]any)
	f := fields{path, m, err}
	if !ok {
		f.fail("", "must be an object, is %s", kindOf(v))
		return Cell{}
	}
	c := Cell{
		Type:     CellType(f.text("cell_type", true)),
		ID:       f.text("id", false),
		Source:   f.text("source", true),
		Metadata: f.object("metadata"),
	}
	switch c.Type {
	case Code:
		c.Count = f.count("execution_count")
		for i, v := range f.list("outputs", false) {
			c.Outputs = append(c.Outputs, output(fmt.Sprintf("%s.outputs[%d]", path, i), v, err))
		}
	case Markdown, Raw:
		if _, ok := m["attachments"]; ok {
			c.Attachments = f.object("attachments")
		}
	default:
		f.fail("cell_type", "%q is none of code, markdown, raw", c.Type)
	}
	c.Extra = f.extra()
	return c
}

func output(path string, v any, err *error) Output {
	m, ok := v.(map[string]any)
	f := fields{path, m, err}
	if !ok {
		f.fail("", "must be an object, is %s", kindOf(v))
		return Output{}
	}
	o := Output{Type: OutputType(f.text("output_type", true))}
	switch o.Type {
	case Stream:
		o.Name, o.Text = f.text("name", true), f.text("text", true)
	case Display, Result:
		o.Data = bundle(path+".data", f.object("data"), err)
		o.Metadata = f.object("metadata")
		if o.Type == Result {
			o.Count = f.count("execution_count")
		}
	case Error:
		o.ErrorName, o.ErrorValue = f.text("ename", true), f.text("evalue", true)
		for i, v := range f.list("traceback", true) {
			s, ok := v.(string)
			if !ok {
				f.fail(fmt.Sprintf("traceback[%d]", i), "must be text, is %s", kindOf(v))
			}
			o.Traceback = append(o.Traceback, s)
		}
	}
	// The fields of an output type of a later version are all kept in Extra.
	o.Extra = f.extra()
	return o
}

// bundle joins the lists of lines of text contents; JSON contents stay.
func bundle(path string, m map[string]any, err *error) map[string]any {
	for mime, v := range m {
		if isJSON(mime) {
			continue
		}
		s, ok := joined(v)
		if !ok {
			fields{path, nil, err}.fail(mime, "must be text or a list of texts, is %s", kindOf(v))
		}
		m[mime] = s
	}
	return m
}

// isJSON tells whether contents of a MIME type are JSON values.
func isJSON(mime string) bool {
	return mime == "application/json" || strings.HasPrefix(mime, "application/") && strings.HasSuffix(mime, "+json")
}

// joined returns text, or the texts of a list put together.
func joined(v any) (string, bool) {
	switch v := v.(type) {
	case string:
		return v, true
	case []any:
		var b strings.Builder
		for _, e := range v {
			s, ok := e.(string)
			if !ok {
				return "", false
			}
			b.WriteString(s)
		}
		return b.String(), true
	}
	return "", false
}

// kindOf names the kind of a JSON value for a person.
func kindOf(v any) string {
	switch v.(type) {
	case nil:
		return "missing or null"
	case bool:
		return "true or false"
	case string:
		return "text"
	case json.Number, float64:
		return "a number"
	case []any:
		return "a list"
	}
	return "an object"
}
