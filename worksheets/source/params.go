package source

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/quantity"
)

// params reads the parameters in the order of the file.
func (r *reader) params(t *tree, v any) {
	all, _ := v.(map[string]any)
	seen := map[string]string{}
	for _, name := range t.order["/params"] {
		at := "/params/" + escapePointer(name)
		p := Param{Name: expr.Canonical(name), Line: t.places[at]}
		r.symbolName(name, p.Line)
		if other, twice := seen[p.Name]; twice {
			r.fail(p.Line, fmt.Sprintf("%s is the same symbol as %s", name, other), "rename one of the two")
			continue
		}
		seen[p.Name] = name
		sound := true
		read := func(v any, field string) quantity.Quantity {
			q, ok := r.quantity(v, t.places.line(at+field), name+field)
			sound = sound && ok
			return q
		}
		switch v := all[name].(type) {
		case string, json.Number:
			p.Value = read(v, "")
		case map[string]any:
			p.Means, _ = v["means"].(string)
			if v["value"] == nil {
				continue // told by the schema
			}
			p.Value = read(v["value"], "/value")
			if v["from"] != nil && v["to"] != nil && v["step"] != nil {
				p.From, p.To, p.Step = read(v["from"], "/from"), read(v["to"], "/to"), read(v["step"], "/step")
				sound = sound && r.spread(name, p)
			}
		default:
			continue
		}
		if sound {
			r.sheet.Params = append(r.sheet.Params, p)
		}
	}
	r.sheet.Unread = len(r.sheet.Params) < len(t.order["/params"])
	for _, name := range t.order["/params"] {
		r.declared = append(r.declared, expr.Canonical(name))
	}
}

// symbolName tells a name of a symbol that can never be typed in an answer.
func (r *reader) symbolName(name string, line int) {
	if err := expr.CheckName(name); err != nil {
		r.fail(line, err.Error(), "")
	}
}

// quantity reads a number with a unit.
func (r *reader) quantity(v any, line int, what string) (quantity.Quantity, bool) {
	text := ""
	switch v := v.(type) {
	case string:
		text = v
	case json.Number:
		text = v.String()
	default:
		return quantity.Quantity{}, false // told by the schema
	}
	q, err := quantity.Parse(text)
	if err != nil {
		var syntax *quantity.SyntaxError
		if errors.As(err, &syntax) {
			r.fail(line, fmt.Sprintf("%s is %q: %s", what, text, syntax.Reason), syntax.Remedy)
		} else {
			r.fail(line, fmt.Sprintf("%s is %q: %v", what, text, err), "")
		}
		return q, false
	}
	return q, true
}

// MaxSteps is the number of values that a parameter may have in a class set; a
// thousand students with all different numbers need a thousand.
const MaxSteps = 10_000

// spread checks the range of a parameter.
func (r *reader) spread(name string, p Param) bool {
	before := len(r.problems)
	d := p.Value.Dimension()
	for _, o := range []struct {
		field string
		q     quantity.Quantity
	}{{"from", p.From}, {"to", p.To}, {"step", p.Step}} {
		if o.q.Dimension() != d {
			r.fail(p.Line, fmt.Sprintf("%s of %s is %v, its value %v", o.field, name, o.q, p.Value), "give both the same kind of unit")
		}
	}
	if len(r.problems) > before {
		return false
	}
	from, to, step, value := p.From.Value, p.To.Value, p.Step.Value, p.Value.Value
	const slack = 1e-9 // of a step: the values are decimal, their SI numbers binary
	switch n := (to - from) / step; {
	case !(step > 0):
		r.fail(p.Line, fmt.Sprintf("step of %s is %v", name, p.Step), "give a step above zero")
	case !(to > from):
		r.fail(p.Line, fmt.Sprintf("%s goes from %v to %v", name, p.From, p.To), "from comes before to")
	case value < from-slack*step || value > to+slack*step:
		r.fail(p.Line, fmt.Sprintf("value %v of %s lies outside %v to %v", p.Value, name, p.From, p.To), "widen the range or change the value")
	case n > MaxSteps:
		r.fail(p.Line, fmt.Sprintf("%s has more than %d values", name, MaxSteps), "use a larger step")
	case math.Abs(n-math.Round(n)) > 1e-6:
		r.fail(p.Line, fmt.Sprintf("from %v to %v is no whole number of steps of %v", p.From, p.To, p.Step), "change the step or the range of "+name)
	}
	return len(r.problems) == before
}
