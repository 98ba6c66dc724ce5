package question

import (
	"encoding/binary"
	"maps"
	"math"
	"slices"
	"strings"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/quantity"
	"counterpoise/worksheets/question/slip"
)

// A sealed question is judged without its key. The answer is reduced to a
// print: bytes that are the same for every way to write the same answer. The
// print opens a box with the key, or with what to tell about a slip, or
// nothing. Package seal makes and opens the boxes; here is what the kinds of
// question know of it.

// A Lock is a sealed key. A print is tried in several forms, because a value
// near the border of two cells may fall into either.
type Lock interface {
	// Key returns the whole question if one of the prints is the right answer's.
	Key(prints [][]byte) (*Asked, bool)
	// Foreseen returns the teacher's slips that one of the prints opens.
	Foreseen(prints [][]byte) []ForeseenSlip
	// Slips returns the other slips that one of the prints opens.
	Slips(prints [][]byte) []SealedSlip
	// Part returns the lock of a component of a vector or matrix.
	Part(i int) Lock
}

// A ForeseenSlip is a teacher's slip as it lies in its box.
type ForeseenSlip struct {
	Slip  Slip    `json:"slip"`
	Value float64 `json:"value,omitempty"` // of a number, SI
}

// A SealedSlip is another slip as it lies in its box.
type SealedSlip struct {
	slip.Entry
	Value float64 // of a number, SI; of a formula, that at the last point
}

// Public is what a student's file says of a question in clear: how answers are
// read, in which unit, between which values formulas are compared. Neither the
// key nor anything computed from it is in it.
type Public struct {
	Question Question                `json:"question"`
	Symbols  map[string]PublicSymbol `json:"symbols,omitempty"`
	Values   map[string]PublicValue  `json:"values,omitempty"` // those the sheet shows
	Unit     string                  `json:"unit,omitempty"`
	HasUnit  bool                    `json:"hasUnit,omitempty"` // whether the dimension is known
	Relative float64                 `json:"relative,omitempty"`
	Absolute float64                 `json:"absolute,omitempty"` // SI
	Spread   float64                 `json:"spread,omitempty"`   // the key's own uncertainty, SI
	About    string                  `json:"about,omitempty"`
	Abouts   []string                `json:"abouts,omitempty"`
	Offset   int                     `json:"offset,omitempty"` // of the points of comparison
	Rows     int                     `json:"rows,omitempty"`
	Parts    []Public                `json:"parts,omitempty"`
}

// A PublicSymbol is a letter that answers may use.
type PublicSymbol struct {
	Unit  string  `json:"unit,omitempty"`
	Known bool    `json:"known,omitempty"`
	From  float64 `json:"from"` // SI
	To    float64 `json:"to"`
	Means string  `json:"means,omitempty"`
}

// A PublicValue is a value that the sheet shows.
type PublicValue struct {
	Value float64 `json:"value"` // SI
	Unit  string  `json:"unit,omitempty"`
}

// sealable is a kind of question whose key can be sealed.
type sealable interface {
	judge
	// publish adds to p what a shell needs.
	publish(a *Asked, p *Public) error
	// secrets lists the prints of the key and of its slips, as a shell of the
	// same question computes them.
	secrets(a, shell *Asked) Secrets
}

// Secrets are the prints of a key, and what each slip's print opens.
type Secrets struct {
	Key      [][]byte
	Foreseen []ForeseenSecret
	Slips    []SlipSecret
	Parts    []Secrets
	PartKeys []*Asked // the whole questions of the parts
}

// A ForeseenSecret is a teacher's slip with its prints.
type ForeseenSecret struct {
	ForeseenSlip
	Prints [][]byte
}

// A SlipSecret is another slip with its print.
type SlipSecret struct {
	SealedSlip
	Print []byte
}

// stripped returns the question without what a student must not read.
func (q Question) stripped() Question {
	if worth := q.Worth(); worth != 1 { // what follows may not tell it any more
		q.Marks = worth
	}
	q.Key, q.Slips, q.Working, q.Samples, q.Points, q.Params, q.Symbols = "", nil, "", Samples{}, nil, nil, nil
	q.Options = slices.Clone(q.Options)
	for i := range q.Options {
		q.Options[i].Right, q.Options[i].Say = false, ""
	}
	q.Milestones = nil
	return q
}

// Public returns what may stand in a student's file, and false for a kind of
// question that has no key to seal (prose). Values named in hide, and those of
// toys (with a dot in the name), are kept out of it.
func (a *Asked) Public(hide ...string) (Public, bool, error) {
	s, ok := a.judge.(sealable)
	if !ok {
		return Public{Question: a.Question.stripped()}, false, nil
	}
	p := a.publicPart(hide)
	return p, true, s.publish(a, &p)
}

func (a *Asked) publicPart(hide []string) Public {
	p := Public{Question: a.Question.stripped(), Symbols: map[string]PublicSymbol{}, Values: map[string]PublicValue{}}
	hidden := map[string]bool{}
	for name, v := range a.Values {
		if strings.Contains(name, ".") || slices.Contains(hide, name) {
			if _, declared := a.Question.Symbols[name]; !declared {
				hidden[expr.Canonical(name)] = true
			}
			continue
		}
		p.Values[name] = PublicValue{v.Value, v.Unit.String()}
	}
	for name, s := range a.symbols {
		if !hidden[name] {
			p.Symbols[name] = PublicSymbol{s.Unit, s.known, s.from, s.to, s.Means}
		}
	}
	return p
}

// Shell returns a question that is judged by a lock. Without a lock it reads
// answers and checks their dimension, and leaves the rest to a human.
func Shell(p Public, l Lock) (*Asked, error) {
	a := &Asked{Question: p.Question, Values: Values{}, symbols: map[string]symbol{}, offset: p.Offset}
	for name, v := range p.Values {
		u, err := quantity.ParseUnit(v.Unit)
		if err != nil {
			return nil, a.fault("values", err.Error(), "")
		}
		a.Values[name] = quantity.New(v.Value, u)
	}
	if len(p.Symbols) > 4*MaxSymbols {
		return nil, a.fault("symbols", "too many", "")
	}
	for name, s := range p.Symbols {
		u, err := quantity.ParseUnit(s.Unit)
		if err != nil {
			return nil, a.fault("symbols", err.Error(), "")
		}
		a.symbols[name] = symbol{Symbol{Unit: s.Unit, Means: s.Means}, u.Dimension(), s.Known, s.From, s.To}
	}
	for _, name := range p.Question.Time {
		a.time = append(a.time, expr.Canonical(name))
	}
	a.names = slices.Sorted(maps.Keys(a.symbols))
	a.refresh()
	make, ok := shells[p.Question.Kind]
	if !ok {
		make = func(*Asked, Public, Lock) (judge, error) { return prose{}, nil }
	}
	var err error
	a.judge, err = make(a, p, l)
	return a, err
}

// shells joins the kinds of question that can be sealed.
var shells map[string]func(*Asked, Public, Lock) (judge, error)

func init() {
	shells = map[string]func(*Asked, Public, Lock) (judge, error){
		"number":     shellNumber,
		"expression": shellExpression,
		"equation":   shellEquation,
		"vector":     shellArray,
		"matrix":     shellArray,
		"choice":     shellChoice,
		"derivation": shellDerivation,
	}
}

// Secrets lists the prints of the key, computed as the shell of the public
// part computes them.
func (a *Asked) Secrets(shell *Asked) (Secrets, bool) {
	s, ok := a.judge.(sealable)
	if !ok {
		return Secrets{}, false
	}
	return s.secrets(a, shell), true
}

// kept is what is said where an answer is only read.
func (a *Asked) kept(v Verdict) Verdict {
	v.Outcome = ForHuman
	v.Say = "Your answer can be read and is kept; it is marked later."
	return v
}

// foreseenSealed returns the first of the teacher's slips that a print opens.
func foreseenSealed(l Lock, prints [][]byte) (Slip, bool) {
	if found := l.Foreseen(prints); len(found) > 0 {
		return found[0].Slip, true
	}
	return Slip{}, false
}

// printCell is the relative width of the cells into which the values of
// formulas are sorted, and printEdge the part of a cell next to its border in
// which the neighbour is tried too: 1.5e-8 of the value, more than what slips
// may differ by.
const (
	printCell = 1e-6
	printEdge = 0.015
	maxPrints = 8
)

// cell returns the cell of a value on a logarithmic grid, moved by a part of a
// cell, and, near a border, the neighbouring one.
func cell(v, width, edge, moved float64) []int64 {
	if v-v != 0 {
		return []int64{math.MinInt64}
	}
	if v == 0 {
		return []int64{math.MinInt64 + 1}
	}
	x := math.Log(math.Abs(v))/width + moved
	floor := math.Floor(x)
	sign := int64(1)
	if v < 0 {
		sign = -1
	}
	// Cells of negative values lie apart from those of positive ones.
	number := func(c float64) int64 { return sign * (int64(c) + 1<<52) }
	out := []int64{number(floor)}
	switch frac := x - floor; {
	case frac < edge:
		out = append(out, number(floor-1))
	case frac > 1-edge:
		out = append(out, number(floor+1))
	}
	return out
}

// printsOf returns the prints of a list of values, the likeliest first.
func printsOf(kind string, values []float64, edge float64) [][]byte {
	prints := [][]byte{append([]byte(kind), 0)}
	for i, v := range values {
		// The grid is moved at each point by another part, so that neither 1 nor
		// a constant lies near a border everywhere.
		cells := cell(v, printCell, edge, 0.37+0.11*float64(i%5))
		var next [][]byte
		for _, c := range cells {
			for _, p := range prints {
				if len(next) < maxPrints {
					next = append(next, binary.BigEndian.AppendUint64(slices.Clone(p), uint64(c)))
				}
			}
		}
		prints = next
	}
	return prints
}

// slipOptions are what a finder needs to know of the question's letters.
func (a *Asked) slipOptions(asked quantity.Dimension, unit string) slip.Options {
	o := slip.Options{Symbols: make(map[string]slip.Symbol, len(a.symbols)), Offset: a.offset, Asked: asked, Unit: unit}
	for name, s := range a.symbols {
		o.Symbols[name] = slip.Symbol{
			Range: slip.Range{From: s.from, To: s.to}, Dimension: s.dimension, Unit: s.Unit, Means: s.Means,
		}
	}
	return o
}

// Names returns the canonical names of the letters that an answer may use,
// sorted.
func (a *Asked) Names() []string { return slices.Clone(a.names) }
