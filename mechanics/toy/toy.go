package toy

import (
	"errors"
	"fmt"
	"maps"
	"math"
	"strings"
	"sync"

	"gonum.org/v1/gonum/spatial/r3"

	"counterpoise/mechanics/balance"
	"counterpoise/mechanics/body"
	"counterpoise/mechanics/quantity"
)

// A Toy is an assembly on its stand.
type Toy struct {
	Assembly body.Assembly
	Stand    balance.Stand
	Gravity  float64 // m/s²; 0 = standard gravity
}

// Balance puts the toy on its stand, to tilt in the plane of the picture.
func (t Toy) Balance() (*balance.Balance, error) {
	return balance.New(t.Assembly, t.Stand, balance.Options{Gravity: t.Gravity})
}

// BalanceAbout is Balance for a tilt about another horizontal axis.
func (t Toy) BalanceAbout(axis body.Vec) (*balance.Balance, error) {
	return balance.New(t.Assembly, t.Stand, balance.Options{Gravity: t.Gravity, Axis: axis})
}

// Values returns what questions may ask of the toy, by name:
//
//	mass                  in g
//	cg.x cg.y cg.z        centre of gravity as drawn, in mm
//	depth                 of the centre of gravity below the stand's pivot, in mm
//	inertia               about the stand's pivot, across the picture, in g cm²
//	inertia.x inertia.y   about the pivot, sideways and upwards
//	inertia.cg            about the centre of gravity, across the picture
//	gyration              radius of gyration about the pivot, across the picture
//	stable                1 if it comes back after a small push, else 0
//	lean                  tilt at rest, in °, positive counter-clockwise
//	stiffness             of the restoring torque, in N m/rad
//	tip                   how far it may lean from rest, in °
//	period                of small swings in the picture, in s
//	period.z              of small swings fore and aft (pin only), in s
//	NAME.mass NAME.cg.x … the same of a part with a name
//
// Values that do not exist (the period of a toy that falls) are left out.
func (t Toy) Values() map[string]quantity.Quantity {
	out := map[string]quantity.Quantity{}
	put := func(name string, si float64, u quantity.Unit) {
		if !math.IsNaN(si) && !math.IsInf(si, 0) {
			out[name] = quantity.New(si, u)
		}
	}
	r := t.Assembly.Rigid()
	pivot := t.Stand.Pivot()
	put("mass", r.Mass, gram())
	putPlace(put, "cg", r.CentreOfGravity)
	put("depth", pivot.Y-r.CentreOfGravity.Y, millimetre())
	about := r.InertiaAbout(pivot)
	put("inertia", about.ZZ, gramSquareCentimetre())
	put("inertia.x", about.XX, gramSquareCentimetre())
	put("inertia.y", about.YY, gramSquareCentimetre())
	put("inertia.cg", r.Inertia.ZZ, gramSquareCentimetre())
	put("gyration", math.Sqrt(about.ZZ/r.Mass), millimetre())
	for _, p := range t.Assembly {
		if p.Name != "" && p.Check() == nil {
			put(p.Name+".mass", p.Mass(), gram())
			putPlace(put, p.Name+".cg", p.CentreOfGravity())
		}
	}
	t.putBalance(put)
	return out
}

// The units of values, read on first use.
var (
	gram                 = unit("g")
	millimetre           = unit("mm")
	gramSquareCentimetre = unit("g cm²")
	second               = unit("s")
	degree               = unit("°")
	newtonMetrePerRadian = unit("N m/rad")
)

func unit(text string) func() quantity.Unit {
	return sync.OnceValue(func() quantity.Unit { return quantity.MustUnit(text) })
}

func putPlace(put func(string, float64, quantity.Unit), name string, v body.Vec) {
	put(name+".x", v.X, millimetre())
	put(name+".y", v.Y, millimetre())
	put(name+".z", v.Z, millimetre())
}

func (t Toy) putBalance(put func(string, float64, quantity.Unit)) {
	b, err := t.Balance()
	if err != nil {
		return
	}
	stable := 0.0
	if b.Stability() == balance.Stable {
		stable = 1
	}
	put("stable", stable, quantity.Unit{})
	if rest, err := b.Rest(); err == nil {
		put("lean", rest.Tilt, degree())
		put("stiffness", rest.Stiffness, newtonMetrePerRadian())
	}
	if lean, err := b.TippingAngle(); err == nil {
		put("tip", lean, degree())
	}
	if T, err := b.Period(); err == nil {
		put("period", T, second())
	}
	if t.Stand.Kind == balance.Pin {
		if fore, err := t.BalanceAbout(body.V(1, 0, 0)); err == nil {
			if T, err := fore.Period(); err == nil {
				put("period.z", T, second())
			}
		}
	}
}

// Read reads a toy: a map of parts and a stand, as under a toy's name in the
// block `toys:` of a worksheet. Values are formulas over params. On mistakes it
// returns all that it found as [Problems], each with its line in the text.
func Read(text []byte, params Params) (Toy, error) {
	d, err := Describe(text)
	if err != nil {
		return Toy{}, err
	}
	return d.Build(params)
}

// A Description is a toy's text, read once and built with many values: for a class
// set, or a study of tolerances. It may be used by one goroutine at a time.
type Description struct {
	root   *node
	params map[string]quantity.Dimension // with which the formulas were understood
	memory map[*node]reading
}

// Describe reads a toy's text without its values.
func Describe(text []byte) (*Description, error) {
	root, p := parseTree(text)
	if p != nil {
		return nil, Problems{p}
	}
	return &Description{root: root}, nil
}

// Build makes the toy with the values of its parameters. On mistakes it returns
// all that it found as [Problems].
func (d *Description) Build(params Params) (Toy, error) {
	if d == nil || d.root == nil {
		return Toy{}, Problems{{Line: 1, Reason: "there is no description: make it with Describe"}}
	}
	p := knownOf(params)
	if d.memory == nil || !maps.Equal(d.params, p.dims) {
		d.memory, d.params = map[*node]reading{}, p.dims
	}
	r := &reader{params: p, memory: d.memory}
	t := r.toy(d.root)
	return t, r.problems.orNil()
}

// A reader turns a tree into a toy and collects problems.
type reader struct {
	params   *known
	memory   map[*node]reading // of values that were understood before
	problems Problems
	where    string
}

func (r *reader) fail(line int, format string, args ...any) {
	r.problems = append(r.problems, &Problem{Line: line, Where: r.where, Reason: fmt.Sprintf(format, args...)})
}

func (r *reader) toy(n *node) Toy {
	var t Toy
	if !n.isMap {
		r.fail(n.line, "a toy is a map: write parts: and stand:")
		return t
	}
	r.known(n, "parts", "stand", "gravity", "note")
	before := len(r.problems)
	switch parts := n.fields["parts"]; {
	case parts == nil || !parts.isList || len(parts.list) == 0:
		r.fail(n.line, "the toy has no parts: write parts: and a list")
	case len(parts.list) > maxParts:
		r.fail(parts.line, "the toy has %d parts: at most %d are read", len(parts.list), maxParts)
	default:
		for i, p := range parts.list {
			t.Assembly = append(t.Assembly, r.part(i, p)...)
		}
	}
	r.where = ""
	if g := n.fields["gravity"]; g != nil {
		t.Gravity = r.number(n, "gravity", quantity.Acceleration, positive)
	}
	if s := n.fields["stand"]; s == nil {
		r.fail(n.line, "the toy has no stand: write stand: {kind: point, at: [0 mm, 0 mm, 0 mm]}")
	} else {
		t.Stand = r.stand(s)
	}
	r.where = ""
	if len(r.problems) == before {
		if err := t.Assembly.Check(); err != nil {
			r.fail(n.fields["parts"].line, "%v", err)
		}
	}
	return t
}

// known reports fields that are none.
func (r *reader) known(n *node, names ...string) {
	for _, k := range n.keys {
		found := false
		for _, name := range names {
			found = found || k == name
		}
		if !found {
			r.fail(n.fields[k].line, "unknown field %q: use %s", k, strings.Join(names, ", "))
		}
	}
}

// A bound says which numbers may be.
type bound int

const (
	anything bound = iota
	notNegative
	positive
)

// number reads the field of a map as SI base units; 0 where it is missing or wrong.
func (r *reader) number(n *node, field string, want quantity.Dimension, b bound) float64 {
	f := n.fields[field]
	if f == nil {
		return 0
	}
	return r.value(f, field, want, b)
}

func (r *reader) value(f *node, name string, want quantity.Dimension, b bound) float64 {
	if f.isList || f.isMap {
		r.fail(f.line, "%s: a single value is wanted, such as %s", name, example(want))
		return 0
	}
	v, err := r.understood(f, want)
	switch {
	case err != nil:
		r.fail(f.line, "%s: %v", name, err)
		return 0
	case b == positive && v <= 0:
		r.fail(f.line, "%s is %s, which is not more than zero: write a positive value", name, f.scalar)
	case b == notNegative && v < 0:
		r.fail(f.line, "%s is negative (%s): write it as a positive value", name, f.scalar)
	}
	return v
}

// understood returns the value of a scalar; its text is read only the first time.
func (r *reader) understood(f *node, want quantity.Dimension) (float64, error) {
	meaning, again := r.memory[f]
	if !again {
		var err error
		if meaning, err = understand(f.scalar, want, r.params); err != nil {
			return 0, err
		}
		r.memory[f] = meaning
	}
	return meaning.value(r.params.values)
}

// vector reads [x, y, z] or [x, y].
func (r *reader) vector(n *node, field string) body.Vec {
	f := n.fields[field]
	if f == nil {
		return body.Vec{}
	}
	return r.place(f, field)
}

func (r *reader) place(f *node, name string) body.Vec {
	if !f.isList || len(f.list) < 2 || len(f.list) > 3 {
		r.fail(f.line, "%s: a place is wanted: write [x, y, z] with units, such as [90 mm, -62 mm, 0 mm]", name)
		return body.Vec{}
	}
	var c [3]float64
	for i, v := range f.list {
		c[i] = r.value(v, name+"."+string("xyz"[i]), quantity.Length, anything)
	}
	return body.V(c[0], c[1], c[2])
}

// spots reads a list of [x, y].
func (r *reader) spots(f *node, name string) []body.Spot {
	if f == nil {
		return nil
	}
	if !f.isList || len(f.list) > maxSpots {
		r.fail(f.line, "%s: a list of places is wanted (at most %d): write [[0 mm, 0 mm], [40 mm, 0 mm], [20 mm, 30 mm]]", name, maxSpots)
		return nil
	}
	var out []body.Spot
	for _, s := range f.list {
		v := r.place(s, name)
		out = append(out, body.Spot{X: v.X, Y: v.Y})
	}
	return out
}

func (r *reader) stand(n *node) balance.Stand {
	r.where = "stand"
	var s balance.Stand
	if !n.isMap {
		r.fail(n.line, "a stand is a map: write {kind: point, at: [0 mm, 0 mm, 0 mm]}")
		return s
	}
	r.known(n, "kind", "at", "to", "radius", "half", "dome", "length")
	if k := n.fields["kind"]; k == nil {
		r.fail(n.line, "the stand has no kind: write kind: point, edge, foot, base, string or board")
		return s
	} else if kind, err := balance.KindNamed(k.scalar); err != nil {
		r.fail(k.line, "%v", err)
		return s
	} else {
		s.Kind = kind
	}
	before := len(r.problems)
	s.At, s.To = r.vector(n, "at"), r.vector(n, "to")
	s.Radius = r.number(n, "radius", quantity.Length, positive)
	s.Half = r.number(n, "half", quantity.One, positive)
	s.Dome = r.number(n, "dome", quantity.Length, anything)
	s.Length = r.number(n, "length", quantity.Length, positive)
	if len(r.problems) == before {
		if err := s.Check(); err != nil {
			r.fail(n.line, "%v", err)
		}
	}
	return s
}

func (r *reader) part(i int, n *node) []body.Part {
	r.where = fmt.Sprintf("part %d", i+1)
	if !n.isMap {
		r.fail(n.line, "a part is a map: write {shape: rod, …}")
		return nil
	}
	shape := n.fields["shape"]
	if shape == nil {
		r.fail(n.line, "the part has no shape: write shape: and one of %s", strings.Join(shapeNames(), ", "))
		return nil
	}
	kind := kindNamed(shape.scalar)
	if kind == nil {
		r.fail(shape.line, "unknown shape %q: use one of %s", shape.scalar, strings.Join(shapeNames(), ", "))
		return nil
	}
	r.where += " (" + kind.name + ")"
	r.known(n, append(append([]string{}, kind.fields...), "shape", "name", "material", "density", "mass", "hole", "at", "turn", "mirror")...)
	before := len(r.problems)
	p := kind.read(r, n)
	if name := n.fields["name"]; name != nil {
		p.Name = name.scalar
	}
	r.material(n, &p)
	p.Hole = r.flag(n, "hole")
	if turns := n.fields["turn"]; turns != nil {
		p = r.turned(turns, p)
	}
	p = p.Moved(r.vector(n, "at"))
	if len(r.problems) == before {
		if err := (body.Part{Shape: p.Shape, Material: p.Material, Given: p.Given, Turn: p.Turn, At: p.At, Hole: p.Hole}).Check(); err != nil {
			r.fail(n.line, "%v", err)
		}
	}
	if r.flag(n, "mirror") {
		return []body.Part{p, p.Mirrored()}
	}
	return []body.Part{p}
}

func (r *reader) flag(n *node, field string) bool {
	f := n.fields[field]
	if f == nil {
		return false
	}
	switch f.scalar {
	case "true", "yes":
		return true
	case "false", "no":
		return false
	}
	r.fail(f.line, "%s is %q: write true or false", field, f.scalar)
	return false
}

func (r *reader) material(n *node, p *body.Part) {
	if m := n.fields["material"]; m != nil && m.isMap {
		p.Material = r.ownMaterial(m)
	} else if m != nil {
		material, err := body.MaterialNamed(m.scalar)
		if err != nil {
			r.fail(m.line, "%v", err)
		}
		p.Material = material
	}
	if n.fields["density"] != nil {
		p.Material.Density = r.number(n, "density", quantity.Density, positive)
	}
	if n.fields["mass"] != nil {
		p.Given = r.number(n, "mass", quantity.Mass, positive)
	}
	if n.fields["material"] == nil && n.fields["density"] == nil && n.fields["mass"] == nil {
		r.fail(n.line, "the part has neither mass nor material: write mass: 18 g or material: brass")
	}
}

// ownMaterial reads a material that is described.
func (r *reader) ownMaterial(n *node) body.Material {
	r.known(n, "name", "density", "young", "shear", "yield")
	m := body.Material{
		Density: r.number(n, "density", quantity.Density, positive),
		Young:   r.number(n, "young", quantity.Pressure, positive),
		Shear:   r.number(n, "shear", quantity.Pressure, positive),
		Yield:   r.number(n, "yield", quantity.Pressure, positive),
	}
	if name := n.fields["name"]; name != nil {
		m.Name = name.scalar
	}
	return m
}

// turned reads {axis: z, angle: 30 deg} or a list of such turns about the shape's
// own origin, done in order.
func (r *reader) turned(n *node, p body.Part) body.Part {
	if n.isList {
		for _, t := range n.list {
			p = r.turned(t, p)
		}
		return p
	}
	if !n.isMap {
		r.fail(n.line, "a turn is a map: write {axis: z, angle: 30 deg}")
		return p
	}
	r.known(n, "axis", "angle")
	axis, err := r.axis(n.fields["axis"])
	if err != nil {
		r.fail(n.line, "%v", err)
		return p
	}
	return p.Turned(r.number(n, "angle", quantity.One, anything), body.Vec{}, axis)
}

func (r *reader) axis(f *node) (body.Vec, error) {
	wrong := errors.New("axis of the turn cannot be read: write x, y, z or three numbers, such as [1, 0, 1]")
	switch {
	case f == nil:
		return body.V(0, 0, 1), nil
	case f.scalar == "x":
		return body.V(1, 0, 0), nil
	case f.scalar == "y":
		return body.V(0, 1, 0), nil
	case f.scalar == "z":
		return body.V(0, 0, 1), nil
	case !f.isList || len(f.list) != 3:
		return body.Vec{}, wrong
	}
	var c [3]float64
	for i, v := range f.list {
		c[i] = r.value(v, "axis", quantity.One, anything)
	}
	a := body.V(c[0], c[1], c[2])
	if n := r3.Norm(a); !(n > 0) || math.IsInf(n, 0) {
		return a, wrong
	}
	return a, nil
}
