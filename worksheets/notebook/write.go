package notebook

import (
	"bytes"
	"encoding/json"
	"maps"
	"strings"

	"github.com/google/renameio/v2"
)

// Write returns the notebook as a file's content: keys sorted, one space of
// indent, long text as a list of lines, as Jupyter itself saves. The same
// notebook gives the same bytes.
func Write(n *Notebook) ([]byte, error) {
	cells := make([]any, len(n.Cells))
	for i := range n.Cells {
		cells[i] = n.Cells[i].object(n.Minor >= 5)
	}
	root := merged(n.Extra, map[string]any{
		"nbformat": n.Major, "nbformat_minor": n.Minor,
		"metadata": orEmpty(n.Metadata), "cells": cells,
	})
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", " ")
	if err := enc.Encode(root); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}

// WriteFile writes a notebook through a temporary file beside path and a
// rename, so that path holds the old notebook or the whole new one.
func WriteFile(path string, n *Notebook) error {
	data, err := Write(n)
	if err != nil {
		return err
	}
	return renameio.WriteFile(path, data, 0o644)
}

func (c *Cell) object(withID bool) map[string]any {
	m := map[string]any{"cell_type": c.Type, "source": lines(c.Source), "metadata": orEmpty(c.Metadata)}
	if withID {
		m["id"] = c.ID
	}
	if c.Attachments != nil {
		m["attachments"] = c.Attachments
	}
	if c.Type == Code {
		outputs := make([]any, len(c.Outputs))
		for i := range c.Outputs {
			outputs[i] = c.Outputs[i].object()
		}
		m["outputs"], m["execution_count"] = outputs, count(c.Count)
	}
	return merged(c.Extra, m)
}

func (o *Output) object() map[string]any {
	m := map[string]any{"output_type": o.Type}
	switch o.Type {
	case Stream:
		m["name"], m["text"] = o.Name, lines(o.Text)
	case Display, Result:
		data := make(map[string]any, len(o.Data))
		for mime, v := range o.Data {
			if s, ok := v.(string); ok && !isJSON(mime) && strings.Contains(s, "\n") {
				v = lines(s)
			}
			data[mime] = v
		}
		m["data"], m["metadata"] = data, orEmpty(o.Metadata)
		if o.Type == Result {
			m["execution_count"] = count(o.Count)
		}
	case Error:
		traceback := o.Traceback
		if traceback == nil {
			traceback = []string{}
		}
		m["ename"], m["evalue"], m["traceback"] = o.ErrorName, o.ErrorValue, traceback
	}
	return merged(o.Extra, m)
}

// lines cuts text after each line feed, as the format has it.
func lines(s string) []string {
	if s == "" {
		return []string{}
	}
	l := strings.SplitAfter(s, "\n")
	if l[len(l)-1] == "" {
		l = l[:len(l)-1]
	}
	return l
}

func count(n int) any {
	if n == 0 {
		return nil
	}
	return n
}

func orEmpty(m map[string]any) map[string]any {
	if m == nil {
		return map[string]any{}
	}
	return m
}

// merged adds the fields known here to those that are only kept.
func merged(extra, known map[string]any) map[string]any {
	if len(extra) == 0 {
		return known
	}
	m := maps.Clone(extra)
	maps.Copy(m, known)
	return m
}
