package source

import (
	_ "embed"
	"fmt"
	"slices"
	"strings"
	"sync"
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
	frontMatter  = sync.OnceValue(func() *schema { return readSchema(FrontMatterSchema) })
	questionForm = sync.OnceValue(func() *schema { return readSchema(QuestionSchema) })
)

// conform reports where the tree differs from its schema. what names the block
// in the messages.
func (t *tree) conform(s *schema, what string) bool {
	all := s.check(t.root, nil)
	for _, c := range all {
		t.explain(s, c, what)
	}
	return len(all) == 0
}

// explain says one complaint in words, at its line.
func (t *tree) explain(s *schema, c complaint, what string) {
	pointer := ""
	for _, p := range c.path {
		pointer += "/" + escapePointer(p)
	}
	line := t.places.line(pointer)
	name := what
	switch len(c.path) {
	case 0:
	case 1:
		name = c.path[0]
	default:
		name = place(c.path)
	}
	switch c.keyword {
	case "additionalProperties":
		fields := s.fields(c.path)
		remedy := "the fields are " + strings.Join(fields, ", ")
		if near := nearest(c.got, fields); near != "" {
			remedy = "did you mean " + near + "?"
		}
		t.fail(t.places.line(pointer+"/"+escapePointer(c.got)), fmt.Sprintf("%s has no field %s", name, c.got), remedy)
	case "required":
		t.fail(line, fmt.Sprintf("%s needs %s", name, c.want[0]), "")
	case "dependentRequired":
		t.fail(line, fmt.Sprintf("%s has %s without %s", name, c.got, strings.Join(c.want, " and ")), "from, to and step go together")
	case "type":
		t.fail(line, fmt.Sprintf("%s is %s", name, inWords(c.got)), "write "+wanted(c.want))
	case "enum", "const":
		remedy := "one of " + strings.Join(c.want, ", ")
		if near := nearest(c.got, c.want); near != "" {
			remedy = "did you mean " + near + "?"
		}
		t.fail(line, fmt.Sprintf("%s is %q", name, c.got), remedy)
	case "pattern":
		remedy := "small letters, digits and hyphens, starting with a letter"
		if name == "language" {
			remedy = "a language tag such as en or de"
		}
		t.fail(line, fmt.Sprintf("%s is %q", name, c.got), remedy)
	case "minLength":
		t.fail(line, name+" is empty", "")
	case "minItems":
		t.fail(line, fmt.Sprintf("%s has %s entries", name, c.got), "it needs at least "+c.want[0])
	case "minimum":
		t.fail(line, fmt.Sprintf("%s is %s, too small", name, c.got), "at least "+c.want[0])
	case "maximum":
		t.fail(line, fmt.Sprintf("%s is %s, too large", name, c.got), "at most "+c.want[0])
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
	if _, err := fmt.Sscan(s, &n); err != nil {
		return s
	}
	return fmt.Sprint(n + 1)
}

// fields lists the fields that the schema knows at a place.
func (s *schema) fields(path []string) []string {
	switch {
	case s == nil:
		return nil
	case len(path) == 0:
		var names []string
		for name := range s.Properties {
			names = append(names, name)
		}
		slices.Sort(names)
		return names
	case s.Properties[path[0]] != nil:
		return s.Properties[path[0]].fields(path[1:])
	case s.AdditionalProperties != nil && s.AdditionalProperties.schema != nil:
		return s.AdditionalProperties.fields(path[1:])
	}
	return s.Items.fields(path[1:])
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
