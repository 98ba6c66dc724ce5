package source

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"sync"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/quantity"
)

// placeholder is {{name}}, {{name in unit}} or {{name number in unit}}.
var placeholder = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`\{\{([^{}\n]*)\}\}`) })

// A Placeholder is a value to be printed in prose or code.
type Placeholder struct {
	Name   string // canonical: a parameter, or a toy's value such as heron.mass
	Unit   string // to print it in; empty: as written
	Number bool   // print the number alone
}

// ParsePlaceholder reads what stands between {{ and }}.
func ParsePlaceholder(s string) (Placeholder, bool) {
	words := strings.Fields(s)
	if len(words) == 0 {
		return Placeholder{}, false
	}
	p := Placeholder{Name: expr.Canonical(words[0])}
	words = words[1:]
	if len(words) > 0 && words[0] == "number" {
		p.Number = true
		words = words[1:]
	}
	if len(words) > 1 && words[0] == "in" {
		p.Unit = strings.Join(words[1:], " ")
		words = nil
	}
	return p, len(words) == 0
}

// ReplacePlaceholders puts values into text; print returns false to leave one
// as it stands.
func ReplacePlaceholders(text string, print func(Placeholder) (string, bool)) string {
	return placeholder().ReplaceAllStringFunc(text, func(m string) string {
		p, ok := ParsePlaceholder(m[2 : len(m)-2])
		if !ok {
			return m
		}
		if s, ok := print(p); ok {
			return s
		}
		return m
	})
}

// toyPlaceholder is {{toy NAME}}, in code.
var toyPlaceholder = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`\{\{\s*toy\s+([^{}\s]+)\s*\}\}`) })

// ReplaceToys puts toys into code where {{toy NAME}} stands; write returns false
// to leave one as it stands.
func ReplaceToys(code string, write func(name string) (string, bool)) string {
	return toyPlaceholder().ReplaceAllStringFunc(code, func(m string) string {
		if s, ok := write(toyPlaceholder().FindStringSubmatch(m)[1]); ok {
			return s
		}
		return m
	})
}

// toysInCode checks that the toys named in a Go cell are there.
func (r *reader) toysInCode(text string, first int) {
	for _, m := range toyPlaceholder().FindAllStringSubmatchIndex(text, -1) {
		name := text[m[2]:m[3]]
		var names []string
		for _, t := range r.sheet.Toys {
			names = append(names, t.Name)
		}
		if slices.Contains(names, name) || r.frontLost {
			continue
		}
		remedy := "describe it under toys"
		if near := nearest(name, names); near != "" {
			remedy = "did you mean {{toy " + near + "}}?"
		}
		r.fail(first+strings.Count(text[:m[0]], "\n"), fmt.Sprintf("{{toy %s}} names no toy", name), remedy)
	}
}

// names checks that names are different where they must be and known where they
// are used.
func (r *reader) names() {
	asked := map[string]int{}
	kinds := map[string]string{} // of the questions so far
	for i := range r.sheet.Cells {
		c := &r.sheet.Cells[i]
		if c.Kind != Go { // in code, {{ }} may also be a literal of slices
			r.placeholders(c.Text, c.Line)
		} else {
			r.toysInCode(c.Text, c.Line)
		}
		q := c.Question
		if q == nil {
			continue
		}
		for j, name := range q.Carry {
			if kind, ok := kinds[name]; ok && slices.Contains([]string{"expression", "equation", "vector", "matrix", "choice", "derivation", "prose"}, kind) {
				r.fail(c.LineOf(fmt.Sprintf("carry/%d", j)), fmt.Sprintf("%s carries %s, which is a question of kind %s", q.Name, name, kind), "carry the answers of number questions only; write a formula's key out again")
			}
			if _, ok := asked[name]; !ok {
				remedy := "carry names a question that comes before"
				var before []string
				for n := range asked {
					before = append(before, n)
				}
				if near := nearest(name, before); near != "" {
					remedy = "did you mean " + near + "?"
				}
				r.fail(c.LineOf(fmt.Sprintf("carry/%d", j)), fmt.Sprintf("%s carries %s, which no question before it is called", q.Name, name), remedy)
			}
		}
		if line, twice := asked[q.Name]; twice {
			r.fail(c.LineOf("name"), fmt.Sprintf("a second question is called %s", q.Name), fmt.Sprintf("the first is on line %d: rename one", line))
		} else {
			asked[q.Name], kinds[q.Name] = c.LineOf("name"), q.Kind
		}
		for field, text := range questionTexts(c) {
			r.placeholders(text, c.LineOf(field))
		}
	}
	for _, a := range r.sheet.Aims {
		r.placeholders(a, 1)
	}
}

// placeholders checks the {{…}} of a text whose first line is line first.
func (r *reader) placeholders(text string, first int) {
	for _, m := range placeholder().FindAllStringSubmatchIndex(text, -1) {
		inside := text[m[2]:m[3]]
		line := first + strings.Count(text[:m[0]], "\n")
		p, ok := ParsePlaceholder(inside)
		if !ok {
			r.fail(line, fmt.Sprintf("{{%s}} cannot be read", inside), "write {{name}}, {{name in unit}} or {{name number in unit}}")
			continue
		}
		if p.Unit != "" {
			if _, err := quantity.ParseUnit(p.Unit); err != nil {
				r.fail(line, fmt.Sprintf("{{%s}}: %v", inside, err), "")
			}
		}
		if _, ok := r.sheet.Param(p.Name); ok {
			continue
		}
		toy, _, dotted := strings.Cut(p.Name, ".")
		known := false
		for _, t := range r.sheet.Toys {
			known = known || dotted && t.Name == toy
		}
		if !known && !r.frontLost && !slices.Contains(r.declared, p.Name) {
			remedy := "declare it under params"
			var names []string
			for _, q := range r.sheet.Params {
				names = append(names, q.Name)
			}
			if near := nearest(p.Name, names); near != "" {
				remedy = "did you mean {{" + near + "}}?"
			}
			r.fail(line, fmt.Sprintf("{{%s}} names no parameter and no toy's value", inside), remedy)
		}
	}
}
