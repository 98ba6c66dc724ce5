package question

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/expr/equal"
	"counterpoise/mechanics/expr/parse"
	"counterpoise/mechanics/quantity"
	"counterpoise/worksheets/question/slip"
)

// expression is a formula to find.
type expression struct {
	key    expr.Expr
	dim    quantity.Dimension
	hasDim bool
	unit   string
	finder *slip.Finder
	slips  []foreseen
	secret secret
	locked bool // the key is sealed: lock opens it, or nothing if nil
	lock   Lock
}

// A foreseen slip made ready.
type foreseen struct {
	Slip
	gives expr.Expr
}

func compileExpression(a *Asked) (judge, error) {
	key, err := a.formula("key", a.Question.Key)
	if err != nil {
		return nil, err
	}
	x := &expression{key: key, unit: a.Question.Unit}
	if x.dim, x.hasDim, err = a.dimension(key); err != nil {
		return nil, a.fault("key", err.Error(), "")
	}
	if x.unit != "" {
		u, err := quantity.ParseUnit(x.unit)
		if err != nil {
			return nil, a.fault("unit", err.Error(), "")
		}
		if x.hasDim && u.Dimension() != x.dim {
			return nil, a.fault("unit", fmt.Sprintf("is that of %s, the key is %s", askedWords(u.Dimension()), askedWords(x.dim)), "mend one of them")
		}
		x.dim, x.hasDim = u.Dimension(), true
	}
	if x.slips, err = a.foreseen(key); err != nil {
		return nil, err
	}
	x.finder, x.secret = a.finder(key, x.dim, x.unit), secretOf(a.Question.Key, key)
	return x, nil
}

// formula reads a formula of the teacher's; a letter and = before it are left
// out.
func (a *Asked) formula(field, text string) (expr.Expr, error) {
	s, err := a.readKey(field, text)
	if err != nil {
		return expr.Expr{}, err
	}
	if len(s.Sides) != 1 {
		return expr.Expr{}, a.fault(field, "is a statement with "+s.Relations[0], "write the right side alone, or use kind: equation")
	}
	return s.Sides[0], nil
}

// foreseen reads the teacher's slips.
func (a *Asked) foreseen(key expr.Expr) ([]foreseen, error) {
	var out []foreseen
	for i, s := range a.Question.Slips {
		field := fmt.Sprintf("slips/%d/gives", i)
		gives, err := a.formula(field, s.Gives)
		if err != nil {
			return nil, err
		}
		if equal.Compare(gives, key, a.compare).Verdict == equal.Same {
			return nil, a.fault(field, fmt.Sprintf("%q is the right answer", s.Gives), "change the slip or the key")
		}
		if s.Say == "" {
			return nil, a.fault(field, "says nothing", "write in say what to tell the student")
		}
		out = append(out, foreseen{s, gives})
	}
	return out, nil
}

// finder makes a slip finder for a key.
func (a *Asked) finder(key expr.Expr, asked quantity.Dimension, unit string) *slip.Finder {
	return slip.New(key, a.slipOptions(asked, unit))
}

func (x *expression) check(a *Asked, answer string) Verdict {
	readings, v, ok := a.read(answer)
	if !ok {
		if right, power := a.withoutName(answer); power != 0 {
			return x.named(a, right, power)
		}
		return v
	}
	if x.locked {
		if full, ok := x.opened(a, answer, readings); ok {
			return full.Check(answer)
		}
		if x.lock == nil {
			return x.readable(a, v, readings[0])
		}
	} else if v, done := x.decided(a, v, answer, readings); done {
		return v
	}
	v.Outcome = Wrong
	for i, r := range readings[:min(len(readings), explained)] {
		sides := answerSides(r)
		if x.explain(a, &v, sides[len(sides)-1], hasIn(answer, sides[len(sides)-1]), i == 0) {
			return v
		}
	}
	return v
}

// explained is the number of readings of a wrong answer that are searched for
// slips.
const explained = 2

// decided judges the readings by the key.
func (x *expression) decided(a *Asked, v Verdict, answer string, readings []parse.Statement) (Verdict, bool) {
	undecided := false
	for i, r := range readings {
		switch x.compare(a, r) {
		case equal.Same:
			if i == 0 {
				return a.right(v), true
			}
			return a.ambiguous(v, readings[0], r), true
		case equal.Undecided:
			undecided = true
		}
	}
	for _, o := range a.otherwise(answer, x.dim) {
		if x.compare(a, o.Statement) == equal.Same {
			return a.mend(v, readings[0], o), true
		}
	}
	if undecided {
		return a.undecided(v), true
	}
	return v, false
}

// answerSides are the formulas that an answer offers: all sides, or those
// after the first where that is only the name of what was asked, as in T = ….
func answerSides(s parse.Statement) []expr.Expr {
	if len(s.Sides) > 1 && s.Sides[0].Kind() == expr.KindSymbol {
		return s.Sides[1:]
	}
	return s.Sides
}

// compare reports Same only if every side is the key.
func (x *expression) compare(a *Asked, s parse.Statement) equal.Verdict {
	if s.Lower != nil {
		return equal.Different // ± gives two values
	}
	out := equal.Same
	for _, side := range answerSides(s) {
		switch v := equal.Compare(side, x.key, a.compare).Verdict; v {
		case equal.Different:
			return v
		case equal.Undecided:
			out = v
		}
	}
	return out
}

// explain looks for what went wrong and reports whether it found the slip
// itself. Of the usual reading it tells the dimension in any case.
func (x *expression) explain(a *Asked, v *Verdict, answer expr.Expr, has func(string) bool, usual bool) bool {
	if s, ok := x.foreseenSlip(a, answer); ok {
		v.Slip, v.Say, v.Prose = slipName(s), s.Say, true
		return true
	}
	var about string
	if x.hasDim && usual {
		d, known, err := a.dimension(answer)
		switch {
		case err != nil:
			about = a.unitsSay(err)
		case known && d != x.dim && !answer.IsZero(): // 0 fits every unit
			about = dimensionSay(d, x.dim)
		}
		if about != "" && v.Slip == "" {
			v.Slip, v.Say = "dimension", about
		}
	}
	name, say, ok := x.find(a, answer, has)
	if !ok {
		if v.Slip == "" && x.valueless(a, answer) {
			v.Slip, v.Say = "no value", "For values that the letters can have here this has none, as the root of a negative number has none: check the signs, and which way round each difference goes."
		}
		return false
	}
	v.tell(name, say, about, has)
	return true
}

// valueless reports whether an answer has no value at most of the points at
// which the key has one.
func (x *expression) valueless(a *Asked, answer expr.Expr) bool {
	o := a.slipOptions(quantity.One, "")
	if !x.locked {
		o.Offset = x.finder.Offset()
	}
	values, none := slip.Values(answer, o), 0
	for _, v := range values {
		if v-v != 0 {
			none++
		}
	}
	return 2*none > len(values)
}

// tell says which slip was found, after what is to be said about the units.
func (v *Verdict) tell(name, say, about string, has func(string) bool) {
	v.Slip, v.Say = name, say
	switch {
	case name == slip.Found{Class: slip.NumberForLetter}.Name():
		return // of course the units do not fit
	case name == slip.Found{Class: slip.FactorOther}.Name() && has(slip.Decimal):
		v.Say += " Write it as a fraction, a root or with π, not rounded: then it is easier to see where it comes from."
	}
	if about != "" {
		v.Say = about + " " + v.Say
	}
}

// hasIn returns what tells whether a letter, or a decimal number, occurs in an
// answer.
func hasIn(text string, answer expr.Expr) func(name string) bool {
	decimals := decimal.MatchString(text)
	return func(name string) bool { return name == slip.Decimal && decimals || answer.Has(name) }
}

// decimal finds a decimal number.
var decimal = regexp.MustCompile(`\d?\.\d`)

// foreseenSlip returns the teacher's slip that an answer is.
func (x *expression) foreseenSlip(a *Asked, answer expr.Expr) (Slip, bool) {
	if x.locked {
		return foreseenSealed(x.lock, x.prints(a, answer, printEdge))
	}
	for _, s := range x.slips {
		if equal.Compare(answer, s.gives, a.compare).Verdict == equal.Same {
			return s.Slip, true
		}
	}
	return Slip{}, false
}

// find looks for a slip that nobody foresaw, and words it.
func (x *expression) find(a *Asked, answer expr.Expr, has func(string) bool) (name, say string, ok bool) {
	if x.locked {
		return findSealed(a, x.lock, a.pointValues(answer), has, true)
	}
	found, ok := x.finder.Find(answer, has)
	return x.secret.told(a, found, ok)
}

// findSealed looks for a slip in a sealed list: as it is, and with a factor
// taken off the answer; with shapes, but for any constant factor at last.
func findSealed(a *Asked, l Lock, values []float64, has func(string) bool, shapes bool) (name, say string, ok bool) {
	open := func(print string, values []float64) (out []slip.Entry) {
		for _, s := range l.Slips(printsOf(print, values, printEdge)) {
			if slip.Close(s.Value, lastValue(values)) { // cells are wider than slips may differ by
				out = append(out, s.Entry)
			}
		}
		return out
	}
	entries := open(formulaPrint, values)
	if best, ok := slip.Best(entries, has); ok {
		return best.Name(), a.sayEntry(best), true
	}
	entries = nil
	off := make([]float64, len(values))
	for _, f := range slip.Factors {
		for i, v := range values {
			off[i] = v / f.Value
		}
		for _, e := range open(formulaPrint, off) {
			if e.With(f.Class) {
				entries = append(entries, e)
			}
		}
	}
	if best, ok := slip.Best(entries, has); ok {
		return best.Name(), a.sayEntry(best), true
	}
	if shapes {
		for _, e := range open(shapePrint, shape(values)) {
			return e.Name(), a.sayEntry(e), true
		}
	}
	return "", "", false
}

// lastValue is the last value that there is, or 0.
func lastValue(values []float64) float64 {
	for _, v := range slices.Backward(values) {
		if v-v == 0 {
			return v
		}
	}
	return 0
}

// shapePrint begins the print of a formula but for a constant factor.
const shapePrint = formulaPrint + " shape"

// shape returns the ratios of the values to the first of them that is there.
func shape(values []float64) []float64 {
	out := slices.Clone(values)
	for _, first := range values {
		if first-first == 0 && first != 0 {
			for i := range out {
				out[i] /= first
			}
			break
		}
	}
	return out
}

// sayEntry words a sealed slip.
func (a *Asked) sayEntry(e slip.Entry) string {
	if e.Mute {
		return muted
	}
	return e.Say(a.describe)
}

// formulaPrint begins the prints of formulas.
const formulaPrint = "formula"

// FormulaPrint reports whether a print is a formula's, of which there are too
// many to list.
func FormulaPrint(print []byte) bool { return strings.HasPrefix(string(print), formulaPrint) }

// pointValues are the values of a formula at the points at which it is
// compared with sealed ones.
func (a *Asked) pointValues(e expr.Expr) []float64 {
	return slip.Values(e, a.slipOptions(quantity.One, ""))
}

func (x *expression) prints(a *Asked, e expr.Expr, edge float64) [][]byte {
	return printsOf(formulaPrint, a.pointValues(e), edge)
}

// opened tries the readings on the lock.
func (x *expression) opened(a *Asked, answer string, readings []parse.Statement) (*Asked, bool) {
	if x.lock == nil {
		return nil, false
	}
	for _, o := range a.otherwise(answer, x.dim) {
		readings = append(readings, o.Statement)
	}
	for _, r := range readings {
		sides := answerSides(r)
		if full, ok := x.lock.Key(x.prints(a, sides[len(sides)-1], printEdge)); ok {
			return full, true
		}
	}
	return nil, false
}

// readable judges no more than the dimension.
func (x *expression) readable(a *Asked, v Verdict, r parse.Statement) Verdict {
	sides := answerSides(r)
	d, known, err := a.dimension(sides[len(sides)-1])
	v.Outcome = Wrong
	switch {
	case !x.hasDim:
	case err != nil:
		v.Slip, v.Say = "dimension", a.unitsSay(err)
		return v
	case known && d != x.dim && !sides[len(sides)-1].IsZero():
		v.Slip, v.Say = "dimension", dimensionSay(d, x.dim)
		return v
	}
	return a.kept(v)
}

func (x *expression) publish(_ *Asked, p *Public) error {
	p.HasUnit, p.Unit, p.Offset = x.hasDim, x.unit, x.finder.Offset()
	if x.hasDim && x.unit == "" {
		p.Unit = quantity.SI(x.dim).String()
	}
	return nil
}

func shellExpression(a *Asked, p Public, l Lock) (judge, error) {
	u, err := quantity.ParseUnit(p.Unit)
	if err != nil {
		return nil, a.fault("unit", err.Error(), "")
	}
	return &expression{dim: u.Dimension(), hasDim: p.HasUnit, unit: p.Unit, locked: true, lock: l}, nil
}

func (x *expression) secrets(_, shell *Asked) Secrets {
	out := Secrets{Key: x.prints(shell, x.key, 0)}
	for _, s := range x.slips {
		out.Foreseen = append(out.Foreseen, ForeseenSecret{ForeseenSlip{Slip: s.Slip}, x.prints(shell, s.gives, 0)})
	}
	out.Slips = slipSecrets(shell, x.secret, slip.New(x.key, shell.slipOptions(x.dim, x.unit)))
	return out
}

// slipSecrets lists the prints of every slip that a finder knows.
func slipSecrets(a *Asked, s secret, f *slip.Finder) []SlipSecret {
	var out []SlipSecret
	for _, e := range f.All() {
		e.Mute = s.isIn(e.Found, e.Say(a.describe))
		out = append(out, SlipSecret{SealedSlip{e.Entry, lastValue(e.Values())}, printsOf(formulaPrint, e.Values(), 0)[0]})
	}
	if e, ok := f.Shape(); ok {
		e.Mute = s.isIn(e.Found, e.Say(a.describe))
		values := shape(e.Values())
		out = append(out, SlipSecret{SealedSlip{e.Entry, lastValue(values)}, printsOf(shapePrint, values, 0)[0]})
	}
	return out
}
