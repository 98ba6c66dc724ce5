package notebook_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"counterpoise/worksheets/notebook"

	"github.com/google/go-cmp/cmp"
	"github.com/santhosh-tekuri/jsonschema/v6"
	"pgregory.net/rapid"
)

// published is the schema of nbformat 4.5 as published with the Python package
// nbformat 5.11.1; see testdata/published/nbformat/source.yaml.
func published(t testing.TB) *jsonschema.Schema {
	t.Helper()
	schema, err := jsonschema.NewCompiler().Compile("../../testdata/published/nbformat/nbformat.v4.5.schema.json")
	if err != nil {
		t.Fatal(err)
	}
	return schema
}

func agrees(schema *jsonschema.Schema, data []byte) error {
	v, err := jsonschema.UnmarshalJSON(bytes.NewReader(data))
	if err != nil {
		return err
	}
	return schema.Validate(v)
}

const small = `{
 "cells": [
  {"cell_type": "markdown", "id": "a", "metadata": {}, "source": ["# A\n", "b"]},
  {"cell_type": "code", "id": "b-_9", "metadata": {"tags": ["x"], "other.program": {"k": 12345678901234567890}},
   "source": "1+1", "execution_count": 3, "outputs": [
    {"output_type": "stream", "name": "stdout", "text": ["a\n", "b\n"]},
    {"output_type": "execute_result", "execution_count": 3, "metadata": {}, "data": {"text/plain": ["2"], "application/json": {"a": [1]}, "image/png": "aGk=\n"}},
    {"output_type": "error", "ename": "E", "evalue": "v", "traceback": ["t"]}]},
  {"cell_type": "raw", "id": "c", "metadata": {}, "source": []}
 ],
 "metadata": {"kernelspec": {"name": "counterpoise", "display_name": "Go", "language": "go"}, "language_info": {"name": "go"}},
 "nbformat": 4, "nbformat_minor": 5
}`

func TestReadJoinsLinesAndKeepsTheRest(t *testing.T) {
	nb, err := notebook.Read([]byte(small))
	if err != nil {
		t.Fatal(err)
	}
	want := &notebook.Notebook{
		Major: 4, Minor: 5,
		Metadata: map[string]any{
			"kernelspec":    map[string]any{"name": "counterpoise", "display_name": "Go", "language": "go"},
			"language_info": map[string]any{"name": "go"},
		},
		Cells: []notebook.Cell{
			{ID: "a", Type: notebook.Markdown, Source: "# A\nb", Metadata: map[string]any{}},
			{ID: "b-_9", Type: notebook.Code, Source: "1+1", Count: 3,
				Metadata: map[string]any{"tags": []any{"x"}, "other.program": map[string]any{"k": json.Number("12345678901234567890")}},
				Outputs: []notebook.Output{
					{Type: notebook.Stream, Name: "stdout", Text: "a\nb\n"},
					{Type: notebook.Result, Count: 3, Metadata: map[string]any{}, Data: map[string]any{
						"text/plain": "2", "application/json": map[string]any{"a": []any{json.Number("1")}}, "image/png": "aGk=\n"}},
					{Type: notebook.Error, ErrorName: "E", ErrorValue: "v", Traceback: []string{"t"}},
				}},
			{ID: "c", Type: notebook.Raw, Metadata: map[string]any{}},
		},
	}
	if diff := cmp.Diff(want, nb); diff != "" {
		t.Error(diff)
	}
	if nb.Language() != "go" || !nb.Cells[1].HasTag("x") || nb.Cells[0].HasTag("x") {
		t.Error("language or tags are not found")
	}
}

func TestWriteIsStableAndValid(t *testing.T) {
	schema := published(t)
	nb, err := notebook.Read([]byte(small))
	if err != nil {
		t.Fatal(err)
	}
	one, err := notebook.Write(nb)
	if err != nil {
		t.Fatal(err)
	}
	if err := agrees(schema, one); err != nil {
		t.Error(err)
	}
	again, err := notebook.Read(one)
	if err != nil {
		t.Fatal(err)
	}
	two, _ := notebook.Write(again)
	if diff := cmp.Diff(string(one), string(two)); diff != "" {
		t.Error(diff)
	}
	if err := notebook.Validate(nb); err != nil {
		t.Error(err)
	}
}

func TestUnknownFieldsSurvive(t *testing.T) {
	in := `{"cells": [{"cell_type": "code", "id": "a", "later": {"x": 1}, "metadata": {}, "source": "", "outputs": [
		{"output_type": "hologram", "beams": 2}], "execution_count": null}], "metadata": {}, "nbformat": 4, "nbformat_minor": 9, "top": "kept"}`
	nb, err := notebook.Read([]byte(in))
	if err != nil {
		t.Fatal(err)
	}
	out, err := notebook.Write(nb)
	if err != nil {
		t.Fatal(err)
	}
	var a, b any
	if err := json.Unmarshal([]byte(strings.Replace(in, `"source": ""`, `"source": []`, 1)), &a); err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(out, &b); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(a, b); diff != "" {
		t.Error(diff)
	}
	if err := notebook.Validate(nb); err == nil {
		t.Error("unknown fields pass for valid 4.5")
	}
}

func TestUpgradeGivesIds(t *testing.T) {
	old := `{"cells": [{"cell_type": "markdown", "metadata": {}, "source": "same"}, {"cell_type": "markdown", "metadata": {}, "source": "same"},
	 {"cell_type": "markdown", "id": "not ok", "metadata": {}, "source": "same"}], "metadata": {}, "nbformat": 4, "nbformat_minor": 2}`
	var first []byte
	for range 2 {
		nb, err := notebook.Read([]byte(old))
		if err != nil {
			t.Fatal(err)
		}
		nb.Upgrade()
		if err := notebook.Validate(nb); err != nil {
			t.Error(err)
		}
		out, _ := notebook.Write(nb)
		if first != nil && !bytes.Equal(first, out) {
			t.Error("ids differ from run to run")
		}
		first = out
	}
	if err := agrees(published(t), first); err != nil {
		t.Error(err)
	}
}

func TestBadInputIsToldWithItsPlace(t *testing.T) {
	whole := small
	for _, tt := range []struct{ name, in, want string }{
		{"empty", "  \n", "the file is empty: a notebook starts with {"},
		{"truncated", whole[:200], "ends too early"},
		{"broken", "{\n \"cells\": [x]}", "line 2, column 12: not a notebook: invalid character 'x'"},
		{"more", `{"cells": [], "metadata": {}, "nbformat": 4, "nbformat_minor": 5} {}`, "goes on after the end"},
		{"not UTF-8", "{\n\"cells\": \"\xff\"}", "line 2, column 11: byte 0xff is not UTF-8 text: save the notebook as UTF-8"},
		{"UTF-16", "\xff\xfe{\x00", "UTF-16"},
		{"packed", "PK\x03\x04....", "packed file"},
		{"deep", strings.Repeat("[", 101) + strings.Repeat("]", 101), "line 1, column 101: values lie more than 100 deep"},
		{"a list", "[1]", "it is a list, not an object"},
		{"other JSON", `{"a": 1}`, "no nbformat field"},
		{"version 3", `{"nbformat": 3, "worksheets": []}`, "nbformat: version 3 is not read: open it in Jupyter"},
		{"no cells", `{"nbformat": 4, "nbformat_minor": 5, "metadata": {}}`, "no cells field"},
		{"cells a text", `{"nbformat": 4, "nbformat_minor": 5, "metadata": {}, "cells": "x"}`, "cells: must be a list, is text"},
		{"cell a number", `{"nbformat": 4, "nbformat_minor": 5, "metadata": {}, "cells": [1]}`, "cells[0]: must be an object, is a number"},
		{"no source", `{"nbformat": 4, "nbformat_minor": 5, "metadata": {}, "cells": [{"cell_type": "code"}]}`, "cells[0].source: must be text"},
		{"type", `{"nbformat": 4, "nbformat_minor": 5, "metadata": {}, "cells": [{"cell_type": "heading", "source": ""}]}`, `cells[0].cell_type: "heading" is none of`},
		{"stream", `{"nbformat": 4, "nbformat_minor": 5, "metadata": {}, "cells": [{"cell_type": "code", "source": "", "outputs": [{"output_type": "stream", "name": "stdout", "text": [1]}]}]}`,
			"cells[0].outputs[0].text: must be text or a list of texts, is a list"},
		{"data", `{"nbformat": 4, "nbformat_minor": 5, "metadata": {}, "cells": [{"cell_type": "code", "source": "", "outputs": [{"output_type": "display_data", "data": {"text/plain": 3}, "metadata": {}}]}]}`,
			"cells[0].outputs[0].data.text/plain: must be text"},
		{"count", `{"nbformat": 4, "nbformat_minor": 5, "metadata": {}, "cells": [{"cell_type": "code", "source": "", "execution_count": 1.5}]}`, "execution_count: must be a whole number"},
		{"long count", `{"nbformat": 4, "nbformat_minor": 5e999, "metadata": {}, "cells": []}`, "nbformat_minor: must be a whole number"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			_, err := notebook.Read([]byte(tt.in))
			var read *notebook.ReadError
			if !errors.As(err, &read) || !strings.Contains(err.Error(), tt.want) || strings.Contains(err.Error(), "\n") {
				t.Errorf("got %v, want one line with %q", err, tt.want)
			}
		})
	}
}

func TestHugeFileIsRefusedByName(t *testing.T) {
	path := filepath.Join(t.TempDir(), "huge.ipynb")
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	if err := f.Truncate(notebook.MaxBytes + 1); err != nil { // a hole: takes no room on disk
		t.Fatal(err)
	}
	f.Close()
	if _, err := notebook.ReadFile(path); err == nil || !strings.Contains(err.Error(), "huge.ipynb: larger than 64 MiB") {
		t.Error(err)
	}
}

// Whatever notebook there is, Validate says the same as the published schema
// together with the uniqueness of ids, and reading what was written gives it back.
func TestValidateAgreesWithThePublishedSchema(t *testing.T) {
	schema := published(t)
	rapid.Check(t, func(t *rapid.T) {
		nb := anyNotebook(t)
		data, err := notebook.Write(nb)
		if err != nil {
			t.Fatal(err)
		}
		unique := true
		seen := map[string]bool{}
		for _, c := range nb.Cells {
			unique = unique && !seen[c.ID]
			seen[c.ID] = true
		}
		byUs, bySchema := notebook.Validate(nb), agrees(schema, data)
		if (byUs == nil) != (bySchema == nil && unique) {
			t.Fatalf("ours: %v\nschema: %v\n%s", byUs, bySchema, data)
		}
		again, err := notebook.Read(data)
		if err != nil {
			t.Fatal(err)
		}
		out, _ := notebook.Write(again)
		if !bytes.Equal(out, data) {
			t.Fatalf("comes back different:\n%s", cmp.Diff(string(data), string(out)))
		}
	})
}

func anyNotebook(t *rapid.T) *notebook.Notebook {
	text := rapid.SampledFrom([]string{"", "a", "x\ny", "\n", "\n\n", "π ≤ \u2028 <b>&", "a\r\nb"})
	id := rapid.SampledFrom([]string{"a", "b", "c-_1", "d", "e", "f", "", "no blanks", strings.Repeat("x", 64), strings.Repeat("x", 65), "ä"})
	nb := &notebook.Notebook{Major: 4, Minor: rapid.SampledFrom([]int{5, 5, 5, 4, 6}).Draw(t, "minor")}
	if nb.Minor < 5 {
		nb.Minor = 5
	}
	if rapid.IntRange(0, 9).Draw(t, "top") == 0 {
		nb.Extra = map[string]any{"unknown": true}
	}
	nb.Metadata = rapid.SampledFrom([]map[string]any{nil, {"x": 1}, {"kernelspec": map[string]any{"name": "a", "display_name": "b"}},
		{"kernelspec": map[string]any{"name": "a"}}, {"language_info": map[string]any{"name": "go"}}, {"language_info": map[string]any{}},
		{"title": 3}, {"title": "t", "authors": []any{}}, {"authors": "me"}}).Draw(t, "metadata")
	for range rapid.IntRange(0, 4).Draw(t, "cells") {
		c := notebook.Cell{ID: id.Draw(t, "id"), Source: text.Draw(t, "source"),
			Type: rapid.SampledFrom([]notebook.CellType{notebook.Code, notebook.Markdown, notebook.Raw}).Draw(t, "type")}
		c.Metadata = rapid.SampledFrom([]map[string]any{nil, {"tags": []any{"a", "b"}}, {"tags": []any{"a", "a"}}, {"tags": []any{"a,b"}},
			{"tags": "a"}, {"name": ""}, {"name": "n"}, {"name": 1}}).Draw(t, "cell metadata")
		if c.Type == notebook.Code {
			c.Count = rapid.IntRange(0, 3).Draw(t, "count")
			for range rapid.IntRange(0, 3).Draw(t, "outputs") {
				c.Outputs = append(c.Outputs, rapid.SampledFrom([]notebook.Output{
					{Type: notebook.Stream, Name: "stderr", Text: "a\nb"},
					{Type: notebook.Display, Data: map[string]any{"text/plain": "x", "application/x+json": []any{"a"}}},
					{Type: notebook.Result, Data: map[string]any{"image/svg+xml": "<svg>\n</svg>"}, Count: 2},
					{Type: notebook.Error, ErrorName: "a", ErrorValue: "b", Traceback: []string{"c", "d"}},
					{Type: notebook.Error, ErrorName: "a", Extra: map[string]any{"more": 1}},
				}).Draw(t, "output"))
			}
		}
		nb.Cells = append(nb.Cells, c)
	}
	return nb
}

func FuzzRead(f *testing.F) {
	f.Add([]byte(small))
	f.Add([]byte(`{"nbformat": 4, "nbformat_minor": 0, "metadata": {}, "cells": [{"cell_type":"code","source":["\ud800"]}]}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		nb, err := notebook.Read(data)
		if err != nil {
			return
		}
		nb.Upgrade()
		one, err := notebook.Write(nb)
		if err != nil {
			t.Fatal(err)
		}
		again, err := notebook.Read(one)
		if err != nil {
			t.Fatalf("cannot read what was written: %v", err)
		}
		if two, _ := notebook.Write(again); !bytes.Equal(one, two) {
			t.Fatalf("comes back different:\n%s", cmp.Diff(string(one), string(two)))
		}
	})
}

func ExampleRead() {
	_, err := notebook.Read([]byte(`{"nbformat": 4, "nbformat_minor": 5, "metadata": {}, "cells": [{"cell_type": "code"}]}`))
	fmt.Println(err)
	// Output: cells[0].source: must be text or a list of texts, is missing or null
}
