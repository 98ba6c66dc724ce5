package question

import (
	"fmt"
	"math"
	"strings"
	"unicode/utf8"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/expr/parse"
	"counterpoise/mechanics/quantity"
	"counterpoise/worksheets/question/slip"
)

// defaultWithin is the relative tolerance where a question names none.
const defaultWithin = 0.02

// coverage is how many combined standard uncertainties a value and the key may
// differ by and still agree.
// Source: JCGM 100:2008 (GUM), 6.2.1 and G.1.3: k = 2 for about 95 %. From memory, unchecked.
const coverage = 2

// number is a number with a unit to find.
type number struct {
	key    float64 // SI
	near   []float64
	unit   quantity.Unit
	dim    quantity.Dimension
	within float64 // SI
	u      float64 // the key's own standard uncertainty, SI
	asked  bool    // the answer must state an uncertainty
	finder *slip.Finder
	slips  []foreseenNumber
}

type foreseenNumber struct {
	Slip
	value float64
}

func compileNumber(a *Asked) (judge, error) {
	q := a.Question
	n := &number{}
	var formula expr.Expr
	var err error
	if n.key, formula, n.dim, n.unit, err = a.numberKey("key", q.Key); err != nil {
		return nil, err
	}
	if q.Unit != "" {
		u, err := quantity.ParseUnit(q.Unit)
		if err != nil {
			return nil, a.fault("unit", err.Error(), "")
		}
		if u.Dimension() != n.dim {
			return nil, a.fault("unit", fmt.Sprintf("%s is that of %s, the key is %s", q.Unit, askedWords(u.Dimension()), askedWords(n.dim)), "mend one of them")
		}
		n.unit = u
	}
	n.near = a.withOtherGravity(formula, n.key)
	if n.within, err = a.tolerance(n); err != nil {
		return nil, err
	}
	switch text := strings.TrimSpace(q.Uncertainty); text {
	case "":
	case "asked":
		n.asked = true
	default:
		u, err := quantity.ParseAs(text, n.dim)
		if err != nil {
			return nil, a.fault("uncertainty", err.Error(), "write asked, or the key's uncertainty such as 0.02 s")
		}
		n.u = u.Value
	}
	for i, s := range q.Slips {
		field := fmt.Sprintf("slips/%d/gives", i)
		value, _, dim, _, err := a.numberKey(field, s.Gives)
		if err != nil {
			return nil, err
		}
		if dim != n.dim && s.Say == "" {
			return nil, a.fault(field, fmt.Sprintf("gives %s, the key %s", askedWords(dim), askedWords(n.dim)), "check the slip's formula")
		}
		n.slips = append(n.slips, foreseenNumber{s, value})
	}
	n.finder = a.finder(formula, n.dim, n.unit.String())
	return n, nil
}

// Value returns the key of a number question as computed, in its unit; ok is
// false for other kinds.
func (a *Asked) Value() (key quantity.Quantity, ok bool) {
	n, ok := a.judge.(*number)
	if !ok {
		return key, false
	}
	return quantity.New(n.key, n.unit), true
}

// numberKey computes a key: a formula over the values, or a number with a unit.
func (a *Asked) numberKey(field, text string) (value float64, formula expr.Expr, d quantity.Dimension, u quantity.Unit, err error) {
	if q, errQ := quantity.Parse(text); errQ == nil {
		return q.Value, expr.Num(q.Value), q.Dimension(), q.Unit, nil
	}
	if formula, err = a.formula(field, text); err != nil {
		return 0, formula, d, u, err
	}
	of := a.numbers()
	for _, name := range formula.Symbols() {
		if _, ok := of[name]; !ok {
			return 0, formula, d, u, a.fault(field, name+" has no value", "give it under params, or make the question an expression")
		}
	}
	if value, err = formula.Eval(of); err != nil {
		return 0, formula, d, u, a.fault(field, err.Error(), "")
	}
	if d, _, err = a.dimension(formula); err != nil {
		return 0, formula, d, u, a.fault(field, err.Error(), "")
	}
	return value, formula, d, quantity.SI(d), nil
}

// withOtherGravity returns the key's values with the other customary values of
// g, where the question left it to the student.
func (a *Asked) withOtherGravity(formula expr.Expr, key float64) []float64 {
	out := []float64{key}
	if _, fixed := a.Values["g"]; fixed || !formula.Has("g") {
		return out
	}
	of := a.numbers()
	for _, g := range []float64{9.8, 9.80665} {
		of["g"] = g
		if v, err := formula.Eval(of); err == nil {
			out = append(out, v)
		}
	}
	return out
}

// tolerance reads within, in SI.
func (a *Asked) tolerance(n *number) (float64, error) {
	text := strings.TrimSpace(a.Question.Within)
	if text == "" {
		if n.key == 0 {
			return 0, a.fault("within", "a key of 0 has no percentage", "give the tolerance in the unit, such as within: 0.05 s")
		}
		return defaultWithin * math.Abs(n.key), nil
	}
	w, err := quantity.Parse(text)
	if err != nil {
		return 0, a.fault("within", err.Error(), "write 2 % or 0.05 s")
	}
	switch {
	case w.Value < 0:
		return 0, a.fault("within", "is negative", "")
	case strings.Contains(text, "%"):
		if n.key == 0 {
			return 0, a.fault("within", "a key of 0 has no percentage", "give the tolerance in the unit, such as within: 0.05 s")
		}
		return w.Value * math.Abs(n.key), nil
	case w.Dimension() == n.dim:
		return w.Value, nil
	case w.Dimension().IsOne():
		return 0, a.fault("within", fmt.Sprintf("%q is a bare number", text), "write 2 % or 0.05 s, say")
	}
	return 0, a.fault("within", fmt.Sprintf("%s is in another unit than the key (%s)", text, askedWords(n.dim)), "write it in the key's unit or in %")
}

// agrees reports whether a value is right.
func (n *number) agrees(value, uncertainty float64) bool {
	for _, key := range n.near {
		allowed := n.within
		if combined := math.Hypot(uncertainty, n.u); combined > 0 {
			allowed = max(allowed, coverage*combined)
		}
		// The last factor keeps a value on the very border inside, whatever
		// the rounding of the unit's conversion.
		if math.Abs(value-key) <= allowed*(1+1e-12)+1e-15*math.Abs(key) {
			return true
		}
	}
	return false
}

// maxUncertainty is how large a stated uncertainty may be, as a multiple of
// the tolerance: a guess of anything plus or minus everything is no answer.
const maxUncertainty = 5

func (n *number) check(a *Asked, answer string) Verdict {
	given, v, ok := n.read(a, answer)
	if !ok {
		return v
	}
	if given.Dimension() != n.dim {
		return n.otherDimension(a, v, given)
	}
	if n.asked && given.Uncertainty == 0 {
		v.Outcome, v.Slip = Unreadable, "uncertainty missing"
		v.Say = "Give the uncertainty too, as in 0.50 ± 0.02 with the unit."
		return v
	}
	if found, say := n.turns(&given); found != "" {
		v.Outcome, v.Slip, v.Say = Wrong, found, say
		return v
	}
	if given.Uncertainty > maxUncertainty*max(n.within, n.u) {
		v.Outcome, v.Slip = Wrong, "uncertainty too large"
		v.Say = "The uncertainty that you state is so large that the value says little. Where does most of it come from?"
		return v
	}
	if n.agrees(given.Value, given.Uncertainty) {
		return n.figures(a, a.right(v), given)
	}
	if n.unit.IsAngle() && given.Unit == (quantity.Unit{}) && n.agrees(given.Value*math.Pi/180, 0) {
		v.Outcome, v.Slip = Unreadable, "unit missing"
		v.Say = "Give the unit: is this in degrees or in radians?"
		return v
	}
	v.Outcome = Wrong
	n.explain(a, &v, given)
	return v
}

// read reads a number with its unit, or an arithmetic expression.
func (n *number) read(a *Asked, answer string) (quantity.Quantity, Verdict, bool) {
	text := lastSide(answer)
	given, err := quantity.Parse(text)
	if err != nil {
		value, errA := a.arithmetic(text)
		if errA != nil {
			return given, a.notRead(answer, err), false
		}
		given = quantity.New(value, quantity.Unit{})
	}
	v := a.verdict(Wrong)
	v.TeX, v.Text = given.LaTeX(), given.String()
	return given, v, true
}

// arithmetic computes an answer such as 2π√(0.3/9.81) or 2*pi*sqrt(l/g).
func (a *Asked) arithmetic(text string) (float64, error) {
	e, err := parse.Parse(text, a.options())
	if err != nil {
		return 0, err
	}
	return e.Eval(a.numbers())
}

// lastSide leaves out what stands before the last = or ≈: T = 0.5 s.
func lastSide(answer string) string {
	text := strings.TrimSpace(answer)
	if i := strings.LastIndexAny(text, "=≈"); i >= 0 {
		_, size := utf8.DecodeRuneInString(text[i:])
		if rest := strings.TrimSpace(text[i+size:]); rest != "" {
			text = rest
		}
	}
	return strings.TrimPrefix(text, "~")
}

// otherDimension judges an answer in the wrong unit, or without one.
func (n *number) otherDimension(a *Asked, v Verdict, given quantity.Quantity) Verdict {
	if given.Unit == (quantity.Unit{}) {
		v.Outcome, v.Slip = Unreadable, "unit missing"
		v.Say = fmt.Sprintf("Give the unit too: %s was asked.", askedWords(n.dim))
		return v
	}
	v.Outcome, v.Slip = Wrong, "dimension"
	v.Say = dimensionSay(given.Dimension(), n.dim)
	return v
}

// turns tells hertz from radians per second by the unit that the answer has.
func (n *number) turns(given *quantity.Quantity) (slipName, say string) {
	if n.dim != quantity.Frequency || given.Unit.String() == "" {
		return "", ""
	}
	asked, got := n.unit.AnglePower(), given.Unit.AnglePower()
	hertz := func(u quantity.Unit) bool { return strings.Contains(u.String(), "Hz") }
	switch {
	case asked == 0 && hertz(n.unit) && got == 1:
		if strings.Contains(given.Unit.String(), "rpm") {
			given.Value /= 2 * math.Pi // turns a minute are cycles all right
			return "", ""
		}
		f := slip.Found{Class: slip.OmegaForF}
		return f.Name(), f.Say(nil)
	case asked == 1 && hertz(given.Unit):
		f := slip.Found{Class: slip.FForOmega}
		return f.Name(), f.Say(nil)
	}
	return "", ""
}

// figures names a right value with too few or too many figures.
func (n *number) figures(a *Asked, v Verdict, given quantity.Quantity) Verdict {
	want := a.Question.Figures
	least, most := given.FiguresRange()
	if want == (Figures{}) || most == 0 {
		return v
	}
	switch {
	case most < want.Least:
		v.Slip, v.Say = "figures", "Right, but with too few figures: "+want.String()+" are asked."
	case least > want.Most:
		v.Slip, v.Say = "figures", "Right, but with too many figures: "+want.String()+" are asked."
	}
	return v
}

// String says the range in words: "3", "2 to 4".
func (f Figures) String() string {
	if f.Least == f.Most {
		return fmt.Sprint(f.Least)
	}
	return fmt.Sprintf("%d to %d", f.Least, f.Most)
}

// explain looks for the slip behind a wrong number.
func (n *number) explain(a *Asked, v *Verdict, given quantity.Quantity) {
	near := n.slipTolerance(given)
	for _, s := range n.slips {
		if math.Abs(given.Value-s.value) <= max(near, 1e-9*math.Abs(s.value)) {
			v.Slip, v.Say, v.Prose = slipName(s.Slip), s.Say, true
			return
		}
	}
	if n.asked && math.Abs(given.Value-n.key) <= maxUncertainty*n.within {
		v.Slip, v.Say = "uncertainty too small", "The value and what is expected differ by more than the uncertainty that you state allows. Which other sources of uncertainty are there?"
		return
	}
	if found, ok := n.finder.FindValue(a.numbers(), given.Value, near); ok {
		v.Slip, v.Say = found.Name(), found.Say(a.describe)
	}
}

// slipTolerance is how near a wrong number must come to a slip's value to be
// told as that slip: half of its own last figure, at least a thousandth for
// rounding on the way, at most the tolerance.
func (n *number) slipTolerance(given quantity.Quantity) float64 {
	size := math.Abs(given.Value)
	half := 1e-3 * size
	if given.Figures > 0 && size > 0 {
		x := math.Abs(given.Value / given.Unit.Scale())
		last := math.Pow(10, math.Floor(math.Log10(x))-float64(given.Figures-1))
		half = max(half, 0.5*last*given.Unit.Scale())
	}
	return min(half, max(n.within/math.Max(math.Abs(n.key), 1e-300)*size, 1e-3*size))
}
