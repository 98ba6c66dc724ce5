package question

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/expr/equal"
	"counterpoise/mechanics/expr/parse"
	"counterpoise/mechanics/expr/typeset"
	"counterpoise/mechanics/quantity"
)

// Values are a student's own numbers: parameters, the values of toys
// ("heron.cg.y") and earlier answers, by name.
type Values map[string]quantity.Quantity

// An Asked is a question made ready to judge answers. It may be used by
// several goroutines at once.
type Asked struct {
	Question Question
	Values   Values

	judge   judge
	names   []string                      // canonical names that an answer may use
	symbols map[string]symbol             // by canonical name
	dims    map[string]quantity.Dimension // of those symbols whose unit is known
	time    []string
	compare equal.Options
	doubts  []string
	offset  int // of the points at which sealed formulas are compared
}

// A symbol is a letter that an answer may use, made ready.
type symbol struct {
	Symbol
	dimension quantity.Dimension
	known     bool // whether its unit is known
	from, to  float64
}

// A judge is one kind of question made ready.
type judge interface {
	check(a *Asked, answer string) Verdict
}

// kinds joins the kinds of question.
var kinds = map[string]func(*Asked) (judge, error){
	"number":     compileNumber,
	"expression": compileExpression,
	"equation":   compileEquation,
	"vector":     compileVector,
	"matrix":     compileMatrix,
	"choice":     compileChoice,
	"derivation": compileDerivation,
	"prose":      compileProse,
}

// Kinds returns the names of the kinds of question, sorted.
func Kinds() []string { return slices.Sorted(maps.Keys(kinds)) }

// Compile reads the key of a question in the light of a student's values and
// returns it ready to judge answers. Values written in the question's own
// Params are added to v.
//
// Errors are of type *FieldError: they name the field and what to do.
func Compile(q Question, v Values) (*Asked, error) {
	a := &Asked{Question: q}
	make, ok := kinds[q.Kind]
	if !ok {
		remedy := "one of " + strings.Join(Kinds(), ", ")
		if near := nearest(q.Kind, Kinds()); near != "" {
			remedy = "did you mean " + near + "?"
		}
		return nil, a.fault("kind", fmt.Sprintf("%q is no kind of question", q.Kind), remedy)
	}
	if q.Open != "" && q.Open != "now" && q.Open != "closed" {
		return nil, a.fault("open", fmt.Sprintf("%q is neither now nor closed", q.Open), "write one of them")
	}
	if q.Marks < 0 || math.IsInf(q.Marks, 0) || math.IsNaN(q.Marks) {
		return nil, a.fault("marks", "must be a number from 0 up", "")
	}
	if !(q.Attempts.Cost >= 0) || math.IsInf(q.Attempts.Cost, 0) || q.Attempts.Free < 0 {
		return nil, a.fault("attempts", "must have numbers from 0 up", "write attempts: {free: 2, cost: 0.5}")
	}
	if err := a.readValues(v); err != nil {
		return nil, err
	}
	if err := a.readSymbols(); err != nil {
		return nil, err
	}
	var err error
	if a.judge, err = make(a); err != nil {
		return nil, err
	}
	return a, nil
}

// fault returns an error about a field of the question.
func (a *Asked) fault(field, reason, remedy string) error {
	return &FieldError{Question: a.Question.Name, Field: field, Reason: reason, Remedy: remedy}
}

// readValues gathers the student's values and the question's own parameters.
func (a *Asked) readValues(v Values) error {
	a.Values = make(Values, len(v)+len(a.Question.Params))
	maps.Copy(a.Values, v)
	for _, name := range slices.Sorted(maps.Keys(a.Question.Params)) {
		value, err := quantity.Parse(a.Question.Params[name])
		if err != nil {
			return a.fault("params", fmt.Sprintf("%s = %q: %v", name, a.Question.Params[name], err), "")
		}
		a.Values[name] = value
	}
	return nil
}

// MaxSymbols is the number of letters that a question may have: more than any
// formula, few enough to compare at random points quickly.
const MaxSymbols = 200

// readSymbols makes the letters ready: those declared and the values.
func (a *Asked) readSymbols() error {
	q := a.Question
	if len(q.Symbols)+len(a.Values) > MaxSymbols {
		return a.fault("symbols", fmt.Sprintf("%d symbols and parameters", len(q.Symbols)+len(a.Values)), fmt.Sprintf("keep to %d", MaxSymbols))
	}
	a.symbols = make(map[string]symbol, len(q.Symbols)+len(a.Values))
	for name, value := range a.Values {
		s := symbol{known: true, dimension: value.Dimension()}
		if s.Unit = value.Unit.String(); s.Unit == "" {
			s.Unit = "1"
		}
		s.from, s.to = around(value.Value)
		a.symbols[expr.Canonical(name)] = s
	}
	for _, name := range slices.Sorted(maps.Keys(q.Symbols)) {
		s, err := a.readSymbol(name, q.Symbols[name])
		if err != nil {
			return err
		}
		a.symbols[expr.Canonical(name)] = s
	}
	for _, name := range q.Time {
		name = expr.Canonical(name)
		a.time = append(a.time, name)
		if err := a.addTime(name); err != nil {
			return err
		}
	}
	a.names = slices.Sorted(maps.Keys(a.symbols))
	a.refresh()
	return nil
}

// readSymbol makes one declared letter ready.
func (a *Asked) readSymbol(name string, in Symbol) (symbol, error) {
	s := a.symbols[expr.Canonical(name)] // a parameter of that name, or nothing
	own := s.from != 0 || s.to != 0
	s.Symbol = in
	scale := 1.0
	if in.Unit != "" {
		u, err := quantity.ParseUnit(in.Unit)
		if err != nil {
			return s, a.fault("symbols", fmt.Sprintf("unit of %s: %v", name, err), "")
		}
		if own && s.known && s.dimension != u.Dimension() {
			return s, a.fault("symbols", fmt.Sprintf("%s is declared in %s but the parameter is in %s", name, in.Unit, a.valueUnit(name)), "leave it out of symbols")
		}
		s.dimension, s.known, scale = u.Dimension(), true, u.Scale()
	}
	switch {
	case in.From == 0 && in.To == 0:
		if !own {
			s.from, s.to = 0.1, 10
		}
	case !(in.From < in.To): // also where one is not a number
		return s, a.fault("symbols", fmt.Sprintf("%s runs from %g to %g", name, in.From, in.To), "from must be less than to")
	default:
		s.from, s.to = in.From*scale, in.To*scale
	}
	return s, nil
}

func (a *Asked) valueUnit(name string) string {
	if u := a.Values[name].Unit.String(); u != "" {
		return u
	}
	return "no unit"
}

// addTime adds a function of time and its first two derivatives.
func (a *Asked) addTime(name string) error {
	s, ok := a.symbols[name]
	if !ok {
		s = symbol{from: -1, to: 1}
		a.symbols[name] = s
	}
	for order, primes := 1, "'"; order <= 3; order, primes = order+1, primes+"'" {
		if _, declared := a.symbols[name+primes]; declared {
			continue
		}
		d := symbol{known: s.known, from: -2, to: 2}
		d.dimension = s.dimension.Div(quantity.Time.Pow(order, 1))
		if d.known {
			d.Unit = quantity.SI(d.dimension).String()
		}
		a.symbols[name+primes] = d
	}
	return nil
}

// around returns the values at which formulas are compared for a parameter.
func around(value float64) (from, to float64) {
	switch {
	case value > 0:
		return 0.1 * value, 10 * value
	case value < 0:
		return 10 * value, 0.1 * value
	}
	return -1, 1
}

// refresh brings what is derived from the symbols up to date.
func (a *Asked) refresh() {
	a.dims = make(map[string]quantity.Dimension, len(a.symbols))
	ranges := make(map[string]equal.Range, len(a.symbols))
	for name, s := range a.symbols {
		if s.known {
			a.dims[name] = s.dimension
		}
		ranges[name] = equal.Range{From: s.from, To: s.to}
	}
	a.compare = equal.Options{Ranges: ranges}
}

// options are how an answer to this question is read.
func (a *Asked) options() parse.Options {
	return parse.Options{Symbols: a.names, Time: a.time}
}

// gravity is the value of g in m/s² where a key uses it without saying it.
// Common practice, no source: answers with 9.8 to 9.81 are accepted.
const gravity = 9.81

// readKey reads a formula of the teacher's and checks its letters. Where it
// uses g without declaring it, the acceleration of free fall is added.
func (a *Asked) readKey(field, text string) (parse.Statement, error) {
	if strings.TrimSpace(text) == "" {
		return parse.Statement{}, a.fault(field, "is empty", "write the right answer as a formula")
	}
	o := a.options()
	o.Open, o.Author = true, true
	readings, err := parse.Readings(text, o)
	if err != nil {
		return parse.Statement{}, a.fault(field, err.Error(), "")
	}
	for _, side := range readings[0].Sides {
		for _, name := range side.Symbols() {
			if err := a.declared(field, name); err != nil {
				return parse.Statement{}, err
			}
		}
	}
	for _, other := range readings[1:] {
		if a.Question.Kind == "equation" && len(other.Relations) == 0 {
			continue // "y = …" as a name for the right side alone: an equation is asked for
		}
		if !a.sameStatement(readings[0], other) {
			a.doubts = append(a.doubts, fmt.Sprintf("%s: %q is read as %s, but could also be read as %s: brackets would make it sure", fieldWords(field), text,
				typeset.TextOf(readings[0].Sides, readings[0].Relations), typeset.TextOf(other.Sides, other.Relations)))
			break
		}
	}
	return readings[0], nil
}

// Doubts returns what in the question's formulas can be read in another way
// than it was, in words, for whoever proves the worksheet.
func (a *Asked) Doubts() []string { return slices.Clone(a.doubts) }

// declared checks that a letter of a key is known, and adds g.
func (a *Asked) declared(field, name string) error {
	if _, ok := a.symbols[name]; ok {
		return nil
	}
	if name == "g" {
		a.addGravity()
		return nil
	}
	e := a.fault(field, fmt.Sprintf("uses %s, which is neither a parameter nor a symbol", name), "add it to symbols")
	if letter := strings.TrimRight(name, "'"); letter != name && slices.Contains(a.names, letter) {
		return a.fault(field, fmt.Sprintf("uses %s, but %s does not change with time here", name, letter), "write time: ["+letter+"]")
	}
	if near := nearest(name, a.names); near != "" {
		e = a.fault(field, fmt.Sprintf("uses %s, which is neither a parameter nor a symbol", name), "did you mean "+near+"?")
	}
	return e
}

func (a *Asked) addGravity() {
	s := symbol{dimension: quantity.Acceleration, known: true, from: 9.7, to: 9.9}
	s.Unit, s.Means = "m/s²", "acceleration of free fall"
	a.symbols["g"] = s
	a.names = slices.Sorted(maps.Keys(a.symbols))
	a.refresh()
}

// sameStatement reports whether two readings mean the same.
func (a *Asked) sameStatement(s, t parse.Statement) bool {
	if len(s.Sides) != len(t.Sides) || !slices.Equal(s.Relations, t.Relations) {
		return false
	}
	for i := range s.Sides {
		if s.Sides[i].Equal(t.Sides[i]) {
			continue
		}
		if equal.Compare(s.Sides[i], t.Sides[i], a.compare).Verdict != equal.Same {
			return false
		}
	}
	return true
}

// numbers returns the values that a key of numbers is computed from, in SI.
func (a *Asked) numbers() map[string]float64 {
	of := make(map[string]float64, len(a.Values)+1)
	if _, declared := a.symbols["g"]; declared {
		of["g"] = gravity
	}
	for name, value := range a.Values {
		of[expr.Canonical(name)] = value.Value
	}
	return of
}
