package practice

import (
	"archive/zip"
	"bytes"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"

	"counterpoise/worksheets/notebook"
)

// An oddity is a way in which a script comes that is not as it was handed out.
// It changes the notebook and what it must get.
type oddity struct {
	name string
	do   func(o *odd) bool // false: this script cannot be made odd so
}

// An odd script while it is being made.
type odd struct {
	class *Class
	rng   *rand.Rand
	nb    *notebook.Notebook
	truth *Truth
	file  string
	data  []byte // of a script that is no longer a notebook, or is written in its own way
}

func (o *odd) flag(code string) { o.truth.Flags = append(o.truth.Flags, code) }

// answered picks an answered question and its cell.
func (o *odd) answered() (name string, at int, ok bool) {
	var names []string
	for _, q := range o.class.Key.Questions {
		if v := o.truth.Verdict[q.Name]; v != "blank" {
			names = append(names, q.Name)
		}
	}
	if len(names) == 0 {
		return "", 0, false
	}
	name = names[o.rng.IntN(len(names))]
	at = answerCell(o.nb, name)
	return name, at, at >= 0
}

// lost makes a question a blank.
func (o *odd) lost(name string) {
	o.truth.Verdict[name], o.truth.Marks[name] = "blank", 0
	delete(o.truth.Slip, name)
}

// alone reports whether losing an answer changes nothing else: no penalty was
// taken there, and nothing carries it.
func (o *odd) alone(name string) bool {
	if s := o.truth.Slip[name]; s == "unit missing" || s == "figures" {
		return false
	}
	for _, q := range o.class.Key.Questions {
		if slices.Contains(q.Carry, name) {
			return false
		}
	}
	return true
}

// unmarked makes a script one that is not marked at all.
func (o *odd) unmarked(student string, flags ...string) {
	*o.truth = Truth{Student: student, Flags: flags}
}

// oddities are the ways in which scripts come.
var oddities = []oddity{
	{"renamed", func(o *odd) bool {
		o.file = fmt.Sprintf("my sheet (%d).ipynb", o.rng.IntN(9))
		o.flag("renamed")
		return true
	}},
	{"an older format", func(o *odd) bool {
		o.nb.Minor = o.rng.IntN(5)
		for i := range o.nb.Cells {
			o.nb.Cells[i].ID = ""
		}
		o.flag("format")
		return true
	}},
	{"another front end", func(o *odd) bool {
		o.nb.Metadata = map[string]any{"counterpoise": o.nb.Metadata["counterpoise"], "widgets": map[string]any{}, "toc": []any{1, nil}}
		for i := range o.nb.Cells {
			c := &o.nb.Cells[i]
			if c.Type == notebook.Code {
				c.Count = i + 1
				c.Outputs = []notebook.Output{{Type: notebook.Stream, Name: "stdout", Text: "some output\n"}}
			}
			c.Source = strings.ReplaceAll(c.Source, "\n", "\r\n") + "\r\n"
			c.Metadata = with(c.Metadata, "scrolled", true)
		}
		o.data = reindented(o.nb, o.rng.IntN(5))
		return o.data != nil
	}},
	{"another kernel", func(o *odd) bool {
		o.nb.Metadata = with(o.nb.Metadata, "language_info", map[string]any{"name": "python"})
		o.flag("kernel")
		return true
	}},
	{"metadata gone", func(o *odd) bool { // who it is stands with the sealed keys as well
		o.nb.Metadata = map[string]any{}
		return true
	}},
	{"opening cell gone", func(o *odd) bool {
		o.nb.Cells = o.nb.Cells[1:]
		o.flag("opening cell")
		o.flag("cells deleted")
		return true
	}},
	{"opening cell changed", func(o *odd) bool {
		o.nb.Cells[0].Source = "//worksheet:open\nAAAA"
		o.flag("opening cell")
		return true
	}},
	{"cells moved", func(o *odd) bool {
		a := answerCell(o.nb, o.class.Key.Questions[0].Name)
		b := answerCell(o.nb, o.class.Key.Questions[2].Name)
		o.nb.Cells[a], o.nb.Cells[b] = o.nb.Cells[b], o.nb.Cells[a]
		o.flag("cells moved")
		return true
	}},
	{"a cell copied", func(o *odd) bool {
		_, at, ok := o.answered()
		if ok {
			o.nb.Cells = slices.Insert(o.nb.Cells, at+1, o.nb.Cells[at])
			o.nb.Cells[at+1].ID = "copied"
			o.flag("cell copied")
		}
		return ok
	}},
	{"a cell split", func(o *odd) bool {
		name, at, ok := o.answered()
		if !ok {
			return false
		}
		first, rest, _ := strings.Cut(o.nb.Cells[at].Source, "\n")
		place := strings.IndexByte(rest, '\n') // where people split, if there is a choice
		if place < 0 {
			place = strings.IndexByte(rest, ' ')
		}
		if place < 0 || o.truth.Verdict[name] == "unreadable" {
			return false
		}
		second := o.nb.Cells[at] // its metadata go to both parts, its id to neither
		second.ID, second.Source = "second", rest[place+1:]
		o.nb.Cells[at].ID, o.nb.Cells[at].Source = "first", first+"\n"+rest[:place]
		o.nb.Cells = slices.Insert(o.nb.Cells, at+1, second)
		o.flag("cell split")
		return true
	}},
	{"an answer's cell deleted", func(o *odd) bool {
		name, at, ok := o.answered()
		if !ok || !o.alone(name) {
			return false
		}
		o.nb.Cells = slices.Delete(o.nb.Cells, at, at+1)
		o.lost(name)
		o.flag("cells deleted")
		return true
	}},
	{"prose deleted", func(o *odd) bool {
		o.nb.Cells = slices.Delete(o.nb.Cells, 2, 3)
		o.flag("cells deleted")
		return true
	}},
	{"an answer's cell retyped", func(o *odd) bool {
		_, at, ok := o.answered()
		if ok {
			o.nb.Cells[at].Type = []notebook.CellType{notebook.Markdown, notebook.Raw}[o.rng.IntN(2)]
			o.flag("cell retyped")
		}
		return ok
	}},
	{"a first line lost", func(o *odd) bool {
		_, at, ok := o.answered()
		if ok {
			_, o.nb.Cells[at].Source, _ = strings.Cut(o.nb.Cells[at].Source, "\n")
			o.flag("first line lost")
		}
		return ok
	}},
	{"answered twice", func(o *odd) bool {
		_, at, ok := o.answered()
		if ok {
			later := o.nb.Cells[at]
			later.ID = "later"
			first, _, _ := strings.Cut(later.Source, "\n")
			o.nb.Cells[at].Source = first + "\nan earlier try"
			o.nb.Cells = append(o.nb.Cells, later)
			o.flag("answered twice")
		}
		return ok
	}},
	{"cells joined", func(o *odd) bool {
		_, at, ok := o.answered()
		other := answerCell(o.nb, o.class.Key.Questions[0].Name)
		if !ok || other == at {
			return false
		}
		o.nb.Cells[at].Source = o.nb.Cells[other].Source + "\n\n" + o.nb.Cells[at].Source
		o.nb.Cells[other].Source = ""
		o.flag("cells joined")
		return true
	}},
	{"a number changed", func(o *odd) bool {
		student, ok := o.class.student(o.truth.Student)
		if !ok {
			return false
		}
		for _, value := range student.Values {
			for i := range o.nb.Cells {
				if c := &o.nb.Cells[i]; o.nb.Cells[i].ID == "title" && strings.Contains(c.Source, "| "+value+" |") {
					c.Source = strings.Replace(c.Source, "| "+value+" |", "| 1"+value+" |", 1)
					o.flag("parameters edited")
					return true
				}
			}
		}
		return false
	}},
	{"work beside the answers", func(o *odd) bool { // hints and cells of one's own are as they should be
		_, at, ok := o.answered()
		if ok {
			o.nb.Cells = slices.Insert(o.nb.Cells, at+1,
				notebook.Cell{ID: "mine", Type: notebook.Code, Source: "x := 3.0\nfmt.Println(x)"},
				notebook.Cell{ID: "hint", Type: notebook.Code, Source: "//worksheet:hint depth"},
				notebook.Cell{ID: "note", Type: notebook.Markdown, Source: "I think it is *that*."})
		}
		return ok
	}},
	{"another sheet's notebook", func(o *odd) bool {
		about := o.nb.Metadata["counterpoise"].(map[string]any)
		o.nb.Metadata = with(o.nb.Metadata, "counterpoise", with(about, "sheet", "another-sheet"))
		o.nb.Cells = o.nb.Cells[1:]
		o.unmarked("", "opening cell", "another sheet")
		return true
	}},
	{"half a file", func(o *odd) bool {
		data, err := notebook.Write(o.nb)
		if err != nil {
			return false
		}
		o.data = data[:len(data)/3+o.rng.IntN(len(data)/3)]
		o.unmarked(o.truth.Student, "unreadable", "by its name")
		return true
	}},
	{"half a file under another name", func(o *odd) bool {
		data, err := notebook.Write(o.nb)
		if err != nil {
			return false
		}
		o.data, o.file = data[:len(data)/2], "untitled.ipynb"
		o.unmarked("", "unreadable")
		return true
	}},
}

// Oddities are the names of the ways in which [Class.Odd] scripts come.
func Oddities() []string {
	names := make([]string, len(oddities))
	for i := range oddities {
		names[i] = oddities[i].name
	}
	return names
}

// Odd returns the script of the i-th student, odd in the k-th way; ok is false
// where this script cannot be made so.
func (c *Class) Odd(i, k int) (s Script, ok bool, err error) {
	nb, t, err := c.answered(i)
	if err != nil {
		return Script{}, false, err
	}
	o := &odd{class: c, rng: c.rng(i), nb: nb, truth: &t, file: c.Key.Students[i].File}
	if !oddities[k].do(o) {
		return Script{}, false, nil
	}
	if o.data == nil {
		if o.data, err = notebook.Write(o.nb); err != nil {
			return Script{}, false, err
		}
	}
	return Script{o.file, o.data, t}, true, nil
}

// with returns metadata with one entry replaced; maps of a copy are shared.
func with(m map[string]any, key string, value any) map[string]any {
	out := map[string]any{key: value}
	for k, v := range m {
		if k != key {
			out[k] = v
		}
	}
	return out
}

// reindented writes a notebook as other front ends do: sources as lists of
// lines or as text, another indent, another order of keys.
func reindented(nb *notebook.Notebook, indent int) []byte {
	data, err := notebook.Write(nb)
	if err != nil {
		return nil
	}
	var root map[string]any
	if err := json.Unmarshal(data, &root); err != nil {
		return nil
	}
	for _, c := range root["cells"].([]any) {
		cell := c.(map[string]any)
		if lines, ok := cell["source"].([]any); ok && indent%2 == 0 {
			text := ""
			for _, l := range lines {
				text += l.(string)
			}
			cell["source"] = text
		}
	}
	out, err := json.MarshalIndent(root, "", strings.Repeat(" ", indent))
	if err != nil {
		return nil
	}
	return out
}

// Zip packs scripts as learning platforms do: a folder for each.
func Zip(scripts []Script) ([]byte, error) {
	var b bytes.Buffer
	w := zip.NewWriter(&b)
	for i, s := range scripts {
		f, err := w.Create(fmt.Sprintf("group %d/%03d/%s", i%3, i, s.File))
		if err != nil {
			return nil, err
		}
		if _, err := f.Write(s.Data); err != nil {
			return nil, err
		}
	}
	if err := w.Close(); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}
