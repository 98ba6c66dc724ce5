package toy

import (
	"fmt"

	"counterpoise/mechanics/quantity"
)

// A Named toy is one of a file.
type Named struct {
	Name string
	Toy
}

// ReadFile reads a file that describes toys: either one toy (parts and a stand),
// or a map with `toys:`, as at the top of a worksheet. Either has `params:` beside
// it if its formulas need them; a parameter is a value, or a map with `value:`. One
// toy alone has the name "toy". Mistakes come back as [Problems].
func ReadFile(text []byte) ([]Named, error) {
	root, p := parseTree(text)
	if p != nil {
		return nil, Problems{p}
	}
	if !root.isMap {
		return nil, Problems{{Line: root.line, Reason: "a file of toys is a map: write toys:, or parts: and stand:"}}
	}
	r := &reader{params: knownOf(nil), memory: map[*node]reading{}}
	if r.readParams(root.fields["params"]); len(r.problems) > 0 {
		return nil, r.problems // formulas with these letters could not be judged
	}
	toys := root.fields["toys"]
	if toys == nil {
		t := r.toy(root.without("params"))
		return []Named{{"toy", t}}, r.problems.orNil()
	}
	if !toys.isMap {
		r.fail(toys.line, "toys is a map of names: write toys: {heron: {parts: […], stand: {…}}}")
		return nil, r.problems.orNil()
	}
	var all []Named
	for _, name := range toys.keys {
		from := len(r.problems)
		all = append(all, Named{name, r.toy(toys.fields[name])})
		for _, p := range r.problems[from:] {
			p.Where = joined(name, p.Where)
		}
	}
	return all, r.problems.orNil()
}

func joined(name, where string) string {
	if where == "" {
		return name
	}
	return name + ", " + where
}

func (r *reader) readParams(n *node) {
	if n == nil {
		return
	}
	params := Params{}
	if !n.isMap {
		r.fail(n.line, "params is a map of names: write params: {m: 18 g}")
		return
	}
	for _, name := range n.keys {
		v := n.fields[name]
		if v.isMap {
			if v = v.fields["value"]; v == nil {
				r.fail(n.fields[name].line, "parameter %s has no value: write {value: 18 g}", name)
				continue
			}
		}
		q, err := quantity.Parse(v.scalar)
		if err != nil {
			r.fail(v.line, "parameter %s: %v", name, err)
			continue
		}
		params[name] = q
	}
	r.params = knownOf(params)
}

// One returns the toy of that name, or an error that lists the names there are.
func One(all []Named, name string) (Toy, error) {
	names := ""
	for _, t := range all {
		if t.Name == name {
			return t.Toy, nil
		}
		names += " " + t.Name
	}
	return Toy{}, fmt.Errorf("no toy is called %q: there are%s", name, names)
}
