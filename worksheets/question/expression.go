package question

import (
	"fmt"
	"strings"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/expr/equal"
	"counterpoise/mechanics/expr/parse"
	"counterpoise/mechanics/expr/typeset"
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
	x.finder = a.finder(key, x.dim, x.unit)
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
	o := slip.Options{Symbols: make(map[string]slip.Symbol, len(a.symbols)), Asked: asked, Unit: unit}
	for name, s := range a.symbols {
		o.Symbols[name] = slip.Symbol{
			Range: slip.Range{From: s.from, To: s.to}, Dimension: s.dimension, Unit: s.Unit, Means: s.Means,
		}
	}
	return slip.New(key, o)
}

func (x *expression) check(a *Asked, answer string) Verdict {
	readings, v, ok := a.read(answer)
	if !ok {
		return v
	}
	undecided := false
	for i, r := range readings {
		sides := answerSides(r)
		switch x.compare(a, sides) {
		case equal.Same:
			if i == 0 {
				return a.right(v)
			}
			return a.ambiguous(v, readings[0], r)
		case equal.Undecided:
			undecided = true
		}
	}
	if undecided {
		return a.undecided(v)
	}
	v.Outcome = Wrong
	for _, r := range readings {
		sides := answerSides(r)
		if x.explain(a, &v, sides[len(sides)-1]) {
			return v
		}
	}
	return v
}

// read reads an answer in every customary way and starts the verdict with how
// it was read.
func (a *Asked) read(answer string) ([]parse.Statement, Verdict, bool) {
	readings, err := parse.Readings(strings.TrimSpace(answer), a.options())
	if err != nil {
		return nil, a.notRead(answer, err), false
	}
	v := a.verdict(Wrong)
	v.TeX = typeset.TeXOf(readings[0].Sides, readings[0].Relations)
	v.Text = typeset.TextOf(readings[0].Sides, readings[0].Relations)
	return readings, v, true
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
func (x *expression) compare(a *Asked, sides []expr.Expr) equal.Verdict {
	out := equal.Same
	for _, side := range sides {
		switch v := equal.Compare(side, x.key, a.compare).Verdict; v {
		case equal.Different:
			return v
		case equal.Undecided:
			out = v
		}
	}
	return out
}

// ambiguous asks for brackets: another customary reading would be right.
func (a *Asked) ambiguous(v Verdict, usual, other parse.Statement) Verdict {
	v.Outcome, v.Slip = Unreadable, "ambiguous"
	v.Say = fmt.Sprintf("This can be read in two ways, as %s or as %s. Put brackets (and * signs) so that only one is left.",
		typeset.TextOf(usual.Sides, usual.Relations), typeset.TextOf(other.Sides, other.Relations))
	return v
}

// explain looks for what went wrong and reports whether it found the slip
// itself. It writes the dimension's message in any case.
func (x *expression) explain(a *Asked, v *Verdict, answer expr.Expr) bool {
	for _, s := range x.slips {
		if equal.Compare(answer, s.gives, a.compare).Verdict == equal.Same {
			v.Slip, v.Say, v.Prose = slipName(s.Slip), s.Say, true
			return true
		}
	}
	var about string
	if x.hasDim {
		d, known, err := a.dimension(answer)
		switch {
		case err != nil:
			about = "The units do not fit together: " + err.Error() + "."
		case known && d != x.dim:
			about = dimensionSay(d, x.dim)
		}
		if about != "" && v.Slip == "" {
			v.Slip, v.Say = "dimension", about
		}
	}
	found, ok := x.finder.Find(answer)
	if !ok {
		return false
	}
	v.Slip, v.Say = found.Name(), found.Say(a.describe)
	if about != "" {
		v.Say = about + " " + v.Say
	}
	return true
}

// textOf writes an expression so that it reads back.
func textOf(e expr.Expr) string { return typeset.Text(e) }
