package source

import (
	"bytes"
	"encoding/json"
	"regexp"
	"slices"
	"strconv"
	"unicode/utf8"
)

// A schema is a JSON schema of draft 2020-12, as far as the two schemas of this
// package go: type, enum, const, pattern, lengths, bounds, required and
// dependent fields, sub-schemas of fields and items, references inside the
// document, and if-then. A test compares it with a general library. It is read
// here and not by that library because the library's start costs every run of
// the program 3 ms.
type schema struct {
	Ref                  string              `json:"$ref"`
	Defs                 map[string]*schema  `json:"$defs"`
	Type                 oneOrMore           `json:"type"`
	Enum                 []string            `json:"enum"`
	Const                *string             `json:"const"`
	Pattern              string              `json:"pattern"`
	MinLength            int                 `json:"minLength"`
	MinItems             int                 `json:"minItems"`
	Minimum              *float64            `json:"minimum"`
	Maximum              *float64            `json:"maximum"`
	Required             []string            `json:"required"`
	DependentRequired    map[string][]string `json:"dependentRequired"`
	Properties           map[string]*schema  `json:"properties"`
	AdditionalProperties *additional         `json:"additionalProperties"`
	Items                *schema             `json:"items"`
	AllOf                []*schema           `json:"allOf"`
	If                   *schema             `json:"if"`
	Then                 *schema             `json:"then"`

	// Only for editors.
	Schema      string `json:"$schema"`
	ID          string `json:"$id"`
	Title       string `json:"title"`
	Description string `json:"description"`

	pattern *regexp.Regexp
}

// oneOrMore is one text or a list of texts.
type oneOrMore []string

func (o *oneOrMore) UnmarshalJSON(data []byte) error {
	var one string
	if json.Unmarshal(data, &one) == nil {
		*o = oneOrMore{one}
		return nil
	}
	return json.Unmarshal(data, (*[]string)(o))
}

// additional is false, or the schema of fields that are not named.
type additional struct {
	allowed bool
	*schema
}

func (a *additional) UnmarshalJSON(data []byte) error {
	if json.Unmarshal(data, &a.allowed) == nil {
		return nil
	}
	a.allowed, a.schema = true, new(schema)
	return strictly(data, a.schema)
}

// strictly decodes a schema and refuses keywords that are not read here.
func strictly(data []byte, s *schema) error {
	d := json.NewDecoder(bytes.NewReader(data))
	d.DisallowUnknownFields()
	return d.Decode(s)
}

// readSchema reads an embedded schema; a broken one is a fault of the program.
func readSchema(text []byte) *schema {
	s := new(schema)
	if err := strictly(text, s); err != nil {
		panic(err)
	}
	s.resolve(s.Defs)
	return s
}

// resolve puts what a reference names in its place and compiles patterns.
func (s *schema) resolve(defs map[string]*schema) {
	if s == nil {
		return
	}
	const local = "#/$defs/"
	if s.Ref != "" {
		if target, ok := defs[s.Ref[min(len(local), len(s.Ref)):]]; ok {
			description := s.Description
			*s = *target
			s.Description = description
		}
	}
	if s.Pattern != "" {
		s.pattern = regexp.MustCompile(s.Pattern)
	}
	for _, sub := range s.Properties {
		sub.resolve(defs)
	}
	for _, sub := range s.AllOf {
		sub.resolve(defs)
	}
	if s.AdditionalProperties != nil {
		s.AdditionalProperties.schema.resolve(defs)
	}
	s.Items.resolve(defs)
	s.If.resolve(defs)
	s.Then.resolve(defs)
}

// A complaint is one way in which a value differs from its schema.
type complaint struct {
	path    []string
	keyword string // of the schema
	got     string
	want    []string
}

// check lists where a value differs from the schema.
func (s *schema) check(v any, path []string) []complaint {
	var all []complaint
	complain := func(keyword, got string, want ...string) {
		all = append(all, complaint{slices.Clone(path), keyword, got, want})
	}
	if len(s.Type) > 0 && !slices.ContainsFunc(s.Type, func(t string) bool { return isOfType(v, t) }) {
		complain("type", typeOf(v), s.Type...)
		return all
	}
	text, isText := v.(string)
	if s.Enum != nil && !(isText && slices.Contains(s.Enum, text)) {
		complain("enum", plain(v), s.Enum...)
	}
	if s.Const != nil && !(isText && text == *s.Const) {
		complain("const", plain(v), *s.Const)
	}
	switch v := v.(type) {
	case string:
		if s.pattern != nil && !s.pattern.MatchString(v) {
			complain("pattern", v)
		}
		if utf8.RuneCountInString(v) < s.MinLength {
			complain("minLength", v)
		}
	case json.Number:
		x, err := v.Float64()
		if s.Minimum != nil && (err != nil || x < *s.Minimum) {
			complain("minimum", v.String(), number(*s.Minimum))
		}
		if s.Maximum != nil && (err != nil || x > *s.Maximum) {
			complain("maximum", v.String(), number(*s.Maximum))
		}
	case []any:
		if len(v) < s.MinItems {
			complain("minItems", strconv.Itoa(len(v)), strconv.Itoa(s.MinItems))
		}
		if s.Items != nil {
			for i, e := range v {
				all = append(all, s.Items.check(e, append(path, strconv.Itoa(i)))...)
			}
		}
	case map[string]any:
		all = append(all, s.checkObject(v, path)...)
	}
	for _, sub := range s.AllOf {
		all = append(all, sub.check(v, path)...)
	}
	if s.If != nil && s.Then != nil && len(s.If.check(v, path)) == 0 {
		all = append(all, s.Then.check(v, path)...)
	}
	return all
}

// checkObject checks the fields of an object.
func (s *schema) checkObject(v map[string]any, path []string) []complaint {
	var all []complaint
	for _, name := range s.Required {
		if _, ok := v[name]; !ok {
			all = append(all, complaint{slices.Clone(path), "required", "", []string{name}})
		}
	}
	for name, needs := range s.DependentRequired {
		if _, ok := v[name]; !ok {
			continue
		}
		var missing []string
		for _, need := range needs {
			if _, ok := v[need]; !ok {
				missing = append(missing, need)
			}
		}
		if missing != nil {
			all = append(all, complaint{slices.Clone(path), "dependentRequired", name, missing})
		}
	}
	for name, e := range v {
		sub, known := s.Properties[name]
		switch {
		case known:
			all = append(all, sub.check(e, append(path, name))...)
		case s.AdditionalProperties == nil:
		case s.AdditionalProperties.schema != nil:
			all = append(all, s.AdditionalProperties.check(e, append(path, name))...)
		case !s.AdditionalProperties.allowed:
			all = append(all, complaint{slices.Clone(path), "additionalProperties", name, nil})
		}
	}
	return all
}

// typeOf names the JSON type of a value.
func typeOf(v any) string {
	switch v.(type) {
	case nil:
		return "null"
	case bool:
		return "boolean"
	case string:
		return "string"
	case json.Number:
		return "number"
	case []any:
		return "array"
	}
	return "object"
}

func isOfType(v any, name string) bool {
	if n, ok := v.(json.Number); ok && name == "integer" {
		x, err := n.Float64()
		return err == nil && x == float64(int64(x))
	}
	return typeOf(v) == name
}

func plain(v any) string {
	switch v := v.(type) {
	case string:
		return v
	case json.Number:
		return v.String()
	}
	return inWords(typeOf(v))
}

func number(x float64) string { return strconv.FormatFloat(x, 'g', -1, 64) }
