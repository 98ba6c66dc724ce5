package question

import (
	"errors"
	"fmt"
	"strings"
	"unicode"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/expr/parse"
	"counterpoise/mechanics/quantity"
)

// MaxAnswer is the length in bytes of the longest answer that is read: prose
// of several pages, or a long derivation.
const MaxAnswer = 100_000

const tooLong = "The answer is too long to read. Was something pasted by mistake?"

// invisible leaves out what takes no room: marks of byte order and direction,
// joiners and spaces of no width, as they come along from other programs.
var invisible = strings.NewReplacer("\ufeff", "", "\u200b", "", "\u200c", "", "\u200d", "", "\u2060", "", "\u200e", "", "\u200f", "", "\u00ad", "")

// shown replaces characters that have no shape of their own, or that turn the
// direction of the text around them, by their number.
func shown(text string) string {
	var b strings.Builder
	for _, r := range text {
		if unicode.IsGraphic(r) || r == '\n' {
			b.WriteRune(r)
		} else {
			fmt.Fprintf(&b, "U+%04X", r)
		}
	}
	return b.String()
}

// Check judges one answer. It never fails: what cannot be read is a verdict.
func (a *Asked) Check(answer string) Verdict {
	if len(answer) > MaxAnswer {
		return a.unreadable(tooLong)
	}
	answer = invisible.Replace(answer)
	if strings.TrimSpace(answer) == "" {
		return a.unreadable("There is no answer yet.")
	}
	v := a.judge.check(a, answer)
	if v.Outcome == Wrong && v.Say == "" {
		v.Say = "Not yet. Check it again, step by step."
	}
	return v
}

// verdict starts a verdict.
func (a *Asked) verdict(o Outcome) Verdict {
	return Verdict{Outcome: o, Of: a.Question.Worth()}
}

// right turns a verdict into a right one with full marks.
func (a *Asked) right(v Verdict) Verdict {
	v.Outcome, v.Marks, v.Working = Right, a.Question.Worth(), a.Question.Working
	if v.Say == "" {
		v.Say = "Right."
	}
	return v
}

// unreadable asks for something to be mended; it costs no attempt.
func (a *Asked) unreadable(say string) Verdict {
	v := a.verdict(Unreadable)
	v.Say = say
	return v
}

// notRead words what stopped the reading, with a caret under the place.
func (a *Asked) notRead(text string, err error) Verdict {
	v := a.verdict(Unreadable)
	var syntax *parse.SyntaxError
	var number *quantity.SyntaxError
	switch {
	case errors.As(err, &syntax):
		v.Say, v.Caret = sayWhere(syntax.Column(), syntax.Reason, syntax.Expected, syntax.Remedy), syntax.Caret()
	case errors.As(err, &number):
		p := &parse.SyntaxError{Text: number.Text, At: number.At, Reason: number.Reason, Remedy: number.Remedy}
		v.Say, v.Caret = sayWhere(p.Column(), p.Reason, "", p.Remedy), p.Caret()
	default:
		v.Say = "This could not be read: " + err.Error() + "."
	}
	v.Say = shown(v.Say)
	v.Caret = strings.Map(func(r rune) rune { // of one width, so that the mark stays in its place
		if unicode.IsGraphic(r) || r == '\n' {
			return r
		}
		return unicode.ReplacementChar
	}, v.Caret)
	return v
}

func sayWhere(column int, reason, expected, remedy string) string {
	say := fmt.Sprintf("Reading stopped at character %d: %s", column, reason)
	if expected != "" {
		say += "; expected there: " + expected
	}
	if remedy != "" {
		say += ". To mend it: " + remedy
	}
	if strings.HasSuffix(say, "?") {
		return say
	}
	return strings.TrimRight(say, ".") + "."
}

// describe turns a symbol's name into words for feedback.
func (a *Asked) describe(name string) string {
	if means := a.symbols[name].Means; means != "" {
		return name + " (" + means + ")"
	}
	return name
}

// slipName is what a foreseen slip is called.
func slipName(s Slip) string {
	if s.Name != "" {
		return s.Name
	}
	return "foreseen"
}

// unitWords says what a dimension is, in words where it has some.
func unitWords(d quantity.Dimension) string {
	if d.IsOne() {
		return "no unit (a pure number)"
	}
	if noun := d.Noun(); noun != "" {
		return "the unit " + d.String() + " (" + noun + ")"
	}
	return "the unit " + d.String()
}

// dimensionSay says how the dimension of an answer differs from the one asked.
func dimensionSay(got, asked quantity.Dimension) string {
	return fmt.Sprintf("This has %s; %s was asked.", unitWords(got), askedWords(asked))
}

func askedWords(d quantity.Dimension) string {
	if d.IsOne() {
		return "a pure number"
	}
	if noun := d.Noun(); noun != "" {
		return noun + " (" + d.String() + ")"
	}
	return "a quantity in " + d.String()
}

// dimension returns the dimension of an expression if the units of all its
// symbols are known.
func (a *Asked) dimension(e expr.Expr) (d quantity.Dimension, known bool, err error) {
	for _, name := range e.Symbols() {
		if _, ok := a.dims[name]; !ok {
			return d, false, nil
		}
	}
	d, err = expr.Dimension(e, a.dims)
	return d, true, err
}

// unitsSay says which units do not fit together, without quoting the answer:
// a part of it may be the key.
func (a *Asked) unitsSay(err error) string {
	const begin = "The units do not fit together: "
	var de *expr.DimensionError
	if !errors.As(err, &de) {
		return begin + "look at each sum."
	}
	if de.Part.Kind() != expr.KindSum {
		return begin + "a function, or an exponent, is given something that has a unit."
	}
	var first quantity.Dimension
	for i, term := range de.Part.Args() {
		d, err := expr.Dimension(term, a.dims)
		switch {
		case err != nil:
			return begin + "look at each sum."
		case i == 0:
			first = d
		case d != first:
			return begin + fmt.Sprintf("in the sum with %s, one term is %s and another is %s.", inList(de.Part.Symbols()), askedWords(first), askedWords(d))
		}
	}
	return begin + "look at each sum."
}

// inList joins names: "a, b and c".
func inList(names []string) string {
	if len(names) < 2 {
		return strings.Join(names, "")
	}
	return strings.Join(names[:len(names)-1], ", ") + " and " + names[len(names)-1]
}
