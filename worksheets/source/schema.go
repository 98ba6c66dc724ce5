package source

import (
	"bytes"
	_ "embed"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/santhosh-tekuri/jsonschema/v6/kind"
)

// FrontMatterSchema and QuestionSchema are the JSON schemas of the two YAML
// blocks of a worksheet, for editors that complete and check.
var (
	//go:embed schema/front-matter.schema.json
	FrontMatterSchema []byte
	//go:embed schema/question.schema.json
	QuestionSchema []byte
)

var (
	frontMatter  = sync.OnceValue(func() *jsonschema.Schema { return compile(FrontMatterSchema) })
	questionForm = sync.OnceValue(func() *jsonschema.Schema { return compile(QuestionSchema) })
)

// compile compiles an embedded schema; a broken one is a fault of the program.
func compile(text []byte) *jsonschema.Schema {
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	if err != nil {
		panic(err)
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource("schema.json", doc); err != nil {
		panic(err)
	}
	return c.MustCompile("schema.json")
}

// conform reports where the tree differs from its schema. what names the block
// in the messages.
func (t *tree) conform(schema *jsonschema.Schema, what string) bool {
	err := schema.Validate(t.root)
	if err == nil {
		return true
	}
	var bad *jsonschema.ValidationError
	if !errors.As(err, &bad) {
		t.fail(t.places[""], err.Error(), "")
		return false
	}
	t.explain(schema, bad, what)
	return false
}

// explain reports the innermost causes of a schema's complaint.
func (t *tree) explain(schema *jsonschema.Schema, e *jsonschema.ValidationError, what string) {
	if len(e.Causes) > 0 {
		for _, c := range e.Causes {
			t.explain(schema, c, what)
		}
		return
	}
	pointer := ""
	for _, s := range e.InstanceLocation {
		pointer += "/" + escapePointer(s)
	}
	line := t.places.line(pointer)
	name := what
	if len(e.InstanceLocation) > 0 {
		name = strings.Join(e.InstanceLocation, " ")
		if n := len(e.InstanceLocation); n > 1 {
			name = place(e.InstanceLocation)
		}
	}
	switch k := e.ErrorKind.(type) {
	case *kind.AdditionalProperties:
		for _, p := range k.Properties {
			remedy := "the fields are " + strings.Join(t.fields(schema, e.InstanceLocation), ", ")
			if near := nearest(p, t.fields(schema, e.InstanceLocation)); near != "" {
				remedy = "did you mean " + near + "?"
			}
			t.fail(t.places.line(pointer+"/"+escapePointer(p)), fmt.Sprintf("%s has no field %s", name, p), remedy)
		}
	case *kind.Required:
		for _, m := range k.Missing {
			t.fail(line, fmt.Sprintf("%s needs %s", name, m), "")
		}
	case *kind.DependentRequired:
		t.fail(line, fmt.Sprintf("%s has %s without %s", name, k.Prop, strings.Join(k.Missing, " and ")), "from, to and step go together")
	case *kind.Type:
		t.fail(line, fmt.Sprintf("%s is %s", name, inWords(k.Got)), "write "+wanted(k.Want))
	case *kind.Enum:
		options := make([]string, len(k.Want))
		for i, w := range k.Want {
			options[i] = fmt.Sprint(w)
		}
		remedy := "one of " + strings.Join(options, ", ")
		if near := nearest(fmt.Sprint(k.Got), options); near != "" {
			remedy = "did you mean " + near + "?"
		}
		t.fail(line, fmt.Sprintf("%s is %q", name, fmt.Sprint(k.Got)), remedy)
	case *kind.Pattern:
		remedy := "small letters, digits and hyphens, starting with a letter"
		if name == "language" {
			remedy = "a language tag such as en or de"
		}
		t.fail(line, fmt.Sprintf("%s is %q", name, k.Got), remedy)
	case *kind.MinLength:
		t.fail(line, name+" is empty", "")
	case *kind.MinItems:
		t.fail(line, fmt.Sprintf("%s has %d entries", name, k.Got), fmt.Sprintf("it needs at least %d", k.Want))
	case *kind.Minimum:
		min, _ := k.Want.Float64()
		t.fail(line, name+" is too small", fmt.Sprintf("at least %g", min))
	case *kind.Maximum:
		most, _ := k.Want.Float64()
		t.fail(line, name+" is too large", fmt.Sprintf("at most %g", most))
	default:
		t.fail(line, fmt.Sprintf("%s: %v", name, e.ErrorKind.LocalizedString(printer)), "")
	}
}

// place says params/M/from as "from of M".
func place(path []string) string {
	last, around := path[len(path)-1], path[len(path)-2]
	if isIndex(last) {
		return "entry " + ordinal(last) + " of " + around
	}
	if isIndex(around) && len(path) > 2 {
		return last + " of entry " + ordinal(around) + " of " + path[len(path)-3]
	}
	if around == "params" || around == "symbols" || around == "toys" {
		return last
	}
	return last + " of " + around
}

func isIndex(s string) bool { return s != "" && strings.Trim(s, "0123456789") == "" }

func ordinal(s string) string {
	n := 0
	fmt.Sscan(s, &n)
	return fmt.Sprint(n + 1)
}

// fields lists the fields that the schema knows at a place.
func (t *tree) fields(schema *jsonschema.Schema, path []string) []string {
	for schema.Ref != nil {
		schema = schema.Ref
	}
	if len(path) == 0 {
		var names []string
		for name := range schema.Properties {
			names = append(names, name)
		}
		slices.Sort(names)
		return names
	}
	if sub, ok := schema.Properties[path[0]]; ok {
		return t.fields(sub, path[1:])
	}
	if sub, ok := schema.AdditionalProperties.(*jsonschema.Schema); ok {
		return t.fields(sub, path[1:])
	}
	if sub, ok := schema.Items2020, schema.Items2020 != nil; ok {
		return t.fields(sub, path[1:])
	}
	if sub, ok := schema.Items.(*jsonschema.Schema); ok {
		return t.fields(sub, path[1:])
	}
	return nil
}

func inWords(jsonType string) string {
	return map[string]string{"null": "empty", "boolean": "true or false", "number": "a number", "string": "text", "array": "a list", "object": "a mapping"}[jsonType]
}

func wanted(types []string) string {
	var words []string
	for _, name := range types {
		switch name {
		case "number":
			if len(words) > 0 && words[len(words)-1] == "text" {
				continue // a number counts as text
			}
			words = append(words, "a number")
		case "integer":
			words = append(words, "a whole number")
		default:
			words = append(words, inWords(name))
		}
	}
	return strings.Join(words, " or ")
}
