package question

import (
	"encoding/binary"
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
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
	key    float64   // SI
	near   []float64 // the key with every accepted g, in ascending order
	unit   quantity.Unit
	dim    quantity.Dimension
	within float64 // SI; of a sealed key 0 where the tolerance is relative
	share  float64 // the tolerance as a share of the key, 0 where it is absolute
	u      float64 // the key's own standard uncertainty, SI
	asked  bool    // the answer must state an uncertainty
	finder *slip.Finder
	slips  []foreseenNumber
	secret secret
	locked bool // the key is sealed: lock opens it, or nothing if nil
	lock   Lock
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
	n.finder, n.secret = a.finder(formula, n.dim, n.unit.String()), secretOf(q.Key, formula)
	n.secret.numbers = []float64{n.key, n.key / n.unit.Scale()}
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
	if !a.isFormula(text) { // 2 m is a formula where m is a letter of the sheet
		if q, err := quantity.Parse(text); err == nil {
			return q.Value, expr.Num(q.Value), q.Dimension(), q.Unit, nil
		}
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

// isFormula reports whether a text is a formula of the question's letters.
func (a *Asked) isFormula(text string) bool {
	e, err := parse.Parse(text, a.options())
	return err == nil && len(e.Symbols()) > 0 && len(a.names) > 0
}

// withOtherGravity returns the key's values with the other customary values of
// g, where the question left it to the student.
func (a *Asked) withOtherGravity(formula expr.Expr, key float64) []float64 {
	out := []float64{key}
	if _, fixed := a.Values["g"]; fixed || !formula.Has("g") {
		return out
	}
	span := a.Question.Gravity
	if span == (Span{}) {
		span = Span{9.8, gravity}
	}
	of := a.numbers()
	for _, g := range []float64{span.From, span.To, (span.From + span.To) / 2} {
		of["g"] = g
		if v, err := formula.Eval(of); err == nil {
			out = append(out, v)
		}
	}
	slices.Sort(out)
	return out
}

// tolerance reads within, in SI.
func (a *Asked) tolerance(n *number) (float64, error) {
	text := strings.TrimSpace(a.Question.Within)
	if text == "" {
		if n.key == 0 {
			return 0, a.fault("within", "a key of 0 has no percentage", "give the tolerance in the unit, such as within: 0.05 s")
		}
		n.share = defaultWithin
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
		n.share = w.Value
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
	allowed := n.within
	if combined := math.Hypot(uncertainty, n.u); combined > 0 {
		allowed = max(allowed, coverage*combined)
	}
	least, most := n.near[0], n.near[len(n.near)-1]
	// The last factor keeps a value on the very border inside, whatever the
	// rounding of the unit's conversion.
	allowed = allowed*(1+1e-12) + 1e-15*math.Abs(n.key)
	return least-allowed <= value && value <= most+allowed
}

// allowed is the tolerance for a value, whether the key is known or not.
func (n *number) allowed(value float64) float64 {
	if n.share > 0 {
		return n.share * math.Abs(value)
	}
	return n.within
}

// maxUncertainty is how large a stated uncertainty may be, as a multiple of
// the tolerance: a guess of anything plus or minus everything is no answer.
const maxUncertainty = 5

func (n *number) check(a *Asked, answer string) Verdict {
	given, v, ok := n.read(a, answer)
	if !ok {
		return v
	}
	spaced := false
	if given.Value == 0 && given.Unit == (quantity.Unit{}) && !n.unit.IsAngle() {
		given = quantity.Of(0, n.unit) // 0 fits every unit
	}
	if given.Dimension() != n.dim {
		if given, spaced = given.Spaced(n.dim); !spaced {
			return n.otherDimension(a, v, given)
		}
		v.TeX, v.Text = given.LaTeX(), given.String()
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
	if given.Uncertainty > maxUncertainty*max(n.allowed(given.Value), n.u) {
		v.Outcome, v.Slip = Wrong, "uncertainty too large"
		v.Say = "The uncertainty that you state is so large that the value says little. Where does most of it come from?"
		return v
	}
	if n.locked {
		if full, ok := n.opened(given); ok {
			return full.Check(answer)
		}
		if n.lock == nil {
			return a.kept(v)
		}
	} else if n.agrees(given.Value, given.Uncertainty) {
		v = n.figures(a, a.right(v), given)
		if spaced && v.Slip == "" {
			v.Slip, v.Say = "spacing", "Right. Leave a space between the units: ms is a millisecond, m s are metres times seconds, and Nm^-1 is one over N m."
		}
		return v
	}
	if given.Unit == (quantity.Unit{}) {
		if say := n.bare(given.Value); say != "" {
			v.Outcome, v.Slip, v.Say = Unreadable, "unit missing", say
			return v
		}
	}
	v.Outcome = Wrong
	n.explain(a, &v, given)
	return v
}

// bare asks for the unit of a bare number that would be right in degrees, or in
// per cent where that is the unit asked for; or else it returns nothing.
func (n *number) bare(value float64) string {
	scale := n.unit.Scale()
	switch {
	case n.unit.IsAngle() && n.rightAs(value*math.Pi/180):
		return "Give the unit: is this in degrees or in radians?"
	case n.dim.IsOne() && !n.unit.IsAngle() && scale != 1 && n.rightAs(value*scale):
		return "Give the unit: a number without one is a pure number, not " + n.unit.String() + "."
	}
	return ""
}

// rightAs reports whether a value would be right.
func (n *number) rightAs(value float64) bool {
	if n.locked {
		_, ok := n.lock.Key(n.prints(value, value))
		return ok
	}
	return n.agrees(value, 0)
}

// read reads a number with its unit, or a calculation such as 2π√(0.3/9.81) s
// or 2*pi*sqrt(l/g).
func (n *number) read(a *Asked, answer string) (quantity.Quantity, Verdict, bool) {
	text := perCent.ReplaceAllString(lastSide(answer), "%")
	if isRange(text) {
		v := a.unreadable("Give one value, not a range. How sure it is can stand behind it, as in 0.50 ± 0.02 with the unit.")
		v.Slip = "range"
		return quantity.Quantity{}, v, false
	}
	given, err := quantity.Parse(text)
	if err != nil {
		var ok bool
		if given, ok = a.calculation(text); !ok {
			given, ok = n.amongWords(text, err)
		}
		if !ok {
			v := a.notRead(answer, err)
			if calculated.MatchString(text) {
				v.Say = "This calculation could not be read. Write it with bare numbers in SI units, brackets, and the unit of the result at its end, as in 2π sqrt(0.5/9.81) s; or give its value."
			}
			return given, v, false
		}
	}
	v := a.verdict(Wrong)
	v.TeX, v.Text = given.LaTeX(), given.String()
	return given, v, true
}

var (
	// perCent finds the unit in words.
	perCent = regexp.MustCompile(`(?i)\bper cent\b`)
	// calculated finds what only a calculation has in it.
	calculated = regexp.MustCompile(`√|π|\b(?:sqrt|pi|sin|cos|tan|asin|acos|atan)\b|\\(?:sqrt|frac|pi)`)
	// between finds two numbers with a sign or word for a range between them.
	between = regexp.MustCompile(`^\(?\s*(\d+(?:\.\d+)?)(?:\s*(-)|[^-–—.…\d]{0,12}(?:\s(-)\s|–|—|\.{2,3}|…|\b(?:to|or)\b))\s*(\d+(?:\.\d+)?)\b`)
)

// isRange reports whether a text gives two values: 1.1 to 1.2 s. With a hyphen
// the second must be the greater one, or else it may be a difference.
func isRange(text string) bool {
	m := between.FindStringSubmatch(text)
	if m == nil {
		return false
	}
	from, _ := strconv.ParseFloat(m[1], 64)
	to, _ := strconv.ParseFloat(m[4], 64)
	return m[2]+m[3] == "" || from < to
}

// calculation computes an answer that is written as arithmetic: of numbers,
// with a unit behind them, or of the letters of the sheet, which bring theirs.
func (a *Asked) calculation(text string) (quantity.Quantity, bool) {
	if len(text) > parse.MaxBytes {
		return quantity.Quantity{}, false
	}
	if e, err := parse.Parse(text, a.options()); err == nil {
		value, err := e.Eval(a.numbers())
		d, known, errD := a.dimension(e)
		if err == nil && errD == nil && known {
			return quantity.New(value, quantity.SI(d)), true
		}
	}
	for i, r := range text {
		if r != ' ' || i < len(text)-maxUnitText {
			continue
		}
		u, err := quantity.ParseUnit(strings.TrimSpace(text[i:]))
		if err != nil {
			continue
		}
		e, err := parse.Parse(text[:i], parse.Options{Symbols: []string{"none"}})
		if err != nil || len(e.Symbols()) > 0 {
			continue
		}
		if value, err := e.Eval(nil); err == nil {
			return quantity.Of(value, u), true
		}
	}
	return quantity.Quantity{}, false
}

// maxUnitText is how many bytes at the end of a calculation may be its unit.
const maxUnitText = 40

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

// inTurns finds the units that count whole turns.
var inTurns = regexp.MustCompile(`\b(?:rpm|rev|revolution|turn)\b`)

// turns tells hertz from radians per second by the unit that the answer has.
func (n *number) turns(given *quantity.Quantity) (slipName, say string) {
	if n.dim != quantity.Frequency || given.Unit.String() == "" {
		return "", ""
	}
	asked, got := n.unit.AnglePower(), given.Unit.AnglePower()
	hertz := func(u quantity.Unit) bool { return strings.Contains(u.String(), "Hz") }
	switch {
	case asked == 0 && hertz(n.unit) && got == 1:
		if inTurns.MatchString(given.Unit.String()) {
			given.Value /= 2 * math.Pi // turns a minute or a second are cycles all right
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
	near := slipTolerance(given)
	if s, ok := n.foreseenSlip(given.Value, near); ok {
		v.Slip, v.Say, v.Prose = slipName(s), s.Say, true
		return
	}
	if n.asked && !n.locked && math.Abs(given.Value-n.key) <= maxUncertainty*n.within {
		v.Slip, v.Say = "uncertainty too small", "The value and what is expected differ by more than the uncertainty that you state allows. Which other sources of uncertainty are there?"
		return
	}
	const fine = 0.06 // of the value: what is nearer to the key is rounding rather than a slip
	half := halfLast(given)
	coarse := !n.locked && half > 0 && n.agrees(given.Value, half/coverage)
	name, say, ok := n.find(a, given.Value, near)
	switch {
	case coarse && (!ok || half <= fine*math.Abs(given.Value)):
		v.Slip, v.Say = "figures", "That may be rounded too far: give it with more figures."
	case ok:
		v.Slip, v.Say = name, say
	}
}

// halfLast is half a unit of the last figure of a value, SI; 0 where its
// figures are not known, or so few that nearly any value would do.
func halfLast(given quantity.Quantity) float64 {
	const most = 0.26 // of the value: one figure from 2 up
	if given.Figures <= 0 || given.Value == 0 {
		return 0
	}
	x := math.Abs(given.Value / given.Unit.Scale())
	half := 0.5 * math.Pow(10, math.Floor(math.Log10(x))-float64(given.Figures-1)) * given.Unit.Scale()
	if half > most*math.Abs(given.Value) {
		return 0
	}
	return half
}

// foreseenSlip returns the teacher's slip that a value is.
func (n *number) foreseenSlip(value, near float64) (Slip, bool) {
	is := func(slip float64) bool { return math.Abs(value-slip) <= max(near, 1e-9*math.Abs(slip)) }
	if n.locked {
		for _, s := range n.lock.Foreseen(slipPrints(value, value)) {
			if is(s.Value) {
				return s.Slip, true
			}
		}
		return Slip{}, false
	}
	for _, s := range n.slips {
		if is(s.value) {
			return s.Slip, true
		}
	}
	return Slip{}, false
}

// find looks for a slip that nobody foresaw.
func (n *number) find(a *Asked, value, near float64) (name, say string, ok bool) {
	if !n.locked {
		found, ok := n.finder.FindValue(a.numbers(), value, near)
		return n.secret.told(a, found, ok)
	}
	if value == 0 {
		return "", "", false
	}
	var fit []slip.Entry
	for _, s := range n.lock.Slips(slipPrints(value, value)) {
		if math.Abs(value-s.Value) <= near && !s.Rare(value, near) {
			fit = append(fit, s.Entry)
		}
	}
	best, ok := slip.Best(fit, func(string) bool { return false })
	if !ok {
		return "", "", false
	}
	return best.Name(), a.sayEntry(best), true
}

// slipTolerance is how near a wrong number must come to a slip's value to be
// told as that slip: half of its own last figure, at least a thousandth for
// rounding on the way, at most two hundredths.
func slipTolerance(given quantity.Quantity) float64 {
	size := math.Abs(given.Value)
	half := 1e-3 * size
	if given.Figures > 0 && size > 0 {
		x := math.Abs(given.Value / given.Unit.Scale())
		last := math.Pow(10, math.Floor(math.Log10(x))-float64(given.Figures-1))
		half = max(half, 0.5*last*given.Unit.Scale())
	}
	return min(half, widestSlip*size)
}

// widestSlip bounds the tolerance for slips, as a share of the value.
const widestSlip = 0.02

// opened tries a value on the lock: in its own cell, and in the cells that its
// uncertainty reaches. Where an uncertainty is asked, a value somewhat farther
// off opens the key as well, so that it can be told apart from a wrong one.
func (n *number) opened(given quantity.Quantity) (*Asked, bool) {
	if n.lock == nil {
		return nil, false
	}
	reach := max(coverage*math.Hypot(given.Uncertainty, n.u), halfLast(given)*(1+n.share))
	if n.asked {
		reach = max(reach, maxUncertainty*n.allowed(given.Value)*(1+n.share*maxUncertainty))
	}
	return n.lock.Key(n.prints(given.Value-reach, given.Value+reach))
}

// prints are the prints of the cells of the tolerance between two values.
func (n *number) prints(from, to float64) [][]byte {
	if n.share > 0 {
		return cellPrints("number", from, to, 2*n.share)
	}
	var out [][]byte
	width := 2 * n.within
	if width == 0 {
		width = 1e-12 // an exact number is asked
	}
	for c := math.Floor(from / width); c <= math.Floor(to/width) && len(out) < maxCells; c++ {
		out = append(out, cellPrint("number", int64(c)))
	}
	return out
}

// slipPrints are the prints of the cells of slips between two values.
func slipPrints(from, to float64) [][]byte {
	return cellPrints("slip", from, to, 2*widestSlip)
}

// maxCells bounds the cells that one answer is tried in.
const maxCells = 48

// cellPrints are the prints of the cells of a logarithmic grid between two
// values; between values of both signs it is those of the greater one.
func cellPrints(kind string, from, to, width float64) [][]byte {
	if from*to <= 0 {
		if math.Abs(from) > math.Abs(to) {
			to = from
		}
		from = to
	}
	a, b := cell(from, width, 0, 0)[0], cell(to, width, 0, 0)[0]
	if a > b {
		a, b = b, a
	}
	var out [][]byte
	for c := a; c <= b && len(out) < maxCells; c++ {
		out = append(out, cellPrint(kind, c))
	}
	return out
}

func cellPrint(kind string, c int64) []byte {
	return binary.BigEndian.AppendUint64(append([]byte(kind), 0), uint64(c))
}

func (n *number) publish(_ *Asked, p *Public) error {
	p.Unit, p.HasUnit, p.Spread, p.Relative = n.unit.String(), true, n.u, n.share
	if n.share == 0 {
		p.Absolute = n.within
	}
	return nil
}

func shellNumber(a *Asked, p Public, l Lock) (judge, error) {
	u, err := quantity.ParseUnit(p.Unit)
	if err != nil {
		return nil, a.fault("unit", err.Error(), "")
	}
	return &number{
		unit: u, dim: u.Dimension(), within: p.Absolute, share: p.Relative, u: p.Spread,
		asked: strings.TrimSpace(p.Question.Uncertainty) == "asked", locked: true, lock: l,
	}, nil
}

func (n *number) secrets(a, _ *Asked) Secrets {
	var out Secrets
	// A little more than the tolerance, so that no rounding matters: what opens
	// is judged again by the key itself.
	reach := n.within*(1+1e-9) + 1e-12*math.Abs(n.key)
	out.Key = n.prints(n.near[0]-reach, n.near[len(n.near)-1]+reach)
	around := func(v float64) [][]byte {
		reach := widestSlip * 1.03 * math.Abs(v) // the share is of the answer, not of v
		return slipPrints(v-reach, v+reach)
	}
	for _, s := range n.slips {
		out.Foreseen = append(out.Foreseen, ForeseenSecret{ForeseenSlip{Slip: s.Slip, Value: s.value}, around(s.value)})
	}
	for _, k := range n.finder.AllValues(a.numbers()) {
		k.Mute = n.secret.isIn(k.Found, k.Say(a.describe))
		for _, p := range around(k.Values()[0]) {
			out.Slips = append(out.Slips, SlipSecret{SealedSlip{Entry: k.Entry, Value: k.Values()[0]}, p})
		}
	}
	return out
}
