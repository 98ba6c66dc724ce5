package source

import (
	"bytes"
	"encoding/json"
	"fmt"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"pgregory.net/rapid"
)

// The schemas are read here; a general library (santhosh-tekuri/jsonschema)
// must come to the same conclusion about every value.
func TestSchemasAreReadAsAGeneralLibraryReadsThem(t *testing.T) {
	for _, text := range [][]byte{FrontMatterSchema, QuestionSchema} {
		doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
		if err != nil {
			t.Fatal(err)
		}
		c := jsonschema.NewCompiler()
		if err := c.AddResource("schema.json", doc); err != nil {
			t.Fatal(err)
		}
		general, err := c.Compile("schema.json")
		if err != nil {
			t.Fatal(err)
		}
		own := readSchema(text)
		names := append(own.fields(nil), "unknown", "from", "to", "step", "value", "m", "text", "right", "unit")
		rapid.Check(t, func(t *rapid.T) {
			v := anyValue(t, names, 3)
			if m, ok := v.(map[string]any); ok && rapid.Bool().Draw(t, "nearly right") {
				m["title"], m["name"], m["ask"] = "t", "n", "a"
				m["kind"] = rapid.SampledFrom([]any{"number", "choice", "derivation", "prose", "numbr", json.Number("1")}).Draw(t, "kind")
				if general == nil || bytes.Equal(text, FrontMatterSchema) {
					delete(m, "name")
					delete(m, "ask")
					delete(m, "kind")
				} else {
					delete(m, "title")
				}
			}
			ours := own.check(v, nil)
			theirs := general.Validate(v)
			if (len(ours) == 0) != (theirs == nil) {
				t.Fatalf("%v\nhere: %v\nthere: %v", v, ours, theirs)
			}
		})
	}
}

func anyValue(t *rapid.T, names []string, depth int) any {
	kinds := 5
	if depth > 0 {
		kinds = 7
	}
	switch rapid.IntRange(0, kinds-1).Draw(t, "kind of value") {
	case 0:
		return nil
	case 1:
		return rapid.Bool().Draw(t, "bool")
	case 2:
		return json.Number(fmt.Sprint(rapid.SampledFrom([]string{"0", "1", "-3", "2.5", "1.0", "700", "1e400"}).Draw(t, "number")))
	case 3, 4:
		return rapid.SampledFrom([]string{"", "a", "a-b", "A b", "now", "closed", "en", "en-GB", "number", "2 %"}).Draw(t, "text")
	case 5:
		list := []any{}
		for range rapid.IntRange(0, 3).Draw(t, "entries") {
			list = append(list, anyValue(t, names, depth-1))
		}
		return list
	}
	m := map[string]any{}
	for range rapid.IntRange(0, 4).Draw(t, "fields") {
		m[rapid.SampledFrom(names).Draw(t, "field")] = anyValue(t, names, depth-1)
	}
	return m
}
