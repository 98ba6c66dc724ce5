package question

import (
	"regexp"
	"slices"
	"strings"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/expr/parse"
)

var (
	// nameSign finds what stands between the name of what was asked and its
	// formula: the first = or an arrow.
	nameSign = regexp.MustCompile(`=|→|->|⟶|\\(?:to|rightarrow)\b`)
	// ofSomething finds U(θ) and A(t), with the value that a function is taken at.
	ofSomething = regexp.MustCompile(`(\pL[\pL\pN_{}]*'*)\(([\pL\pN_ ]*)\)`)
	// wholeNumber is one of digits alone.
	wholeNumber = regexp.MustCompile(`^\d+$`)
)

// withoutName leaves out the left side of ω² = …, cos θ_0 = …, ΔU = … or A(t) = …
// where it does no more than name what was asked: no letter of the question
// occurs there, but as what a function is taken at, and no number stands before
// it. An arrow counts as = behind a lone name.
func (a *Asked) withoutName(answer string) string {
	text := tidied(answer)
	at := nameSign.FindStringIndex(text)
	if at == nil || at[0] == 0 || len(text) > parse.MaxBytes || strings.ContainsAny(text[at[0]-1:at[0]], "<>!:") {
		return answer
	}
	left, right := strings.TrimSpace(text[:at[0]]), strings.TrimSpace(strings.TrimLeft(text[at[1]:], "="))
	if right == "" {
		return answer
	}
	left = strings.Trim(left, "$")
	left = ofSomething.ReplaceAllStringFunc(left, func(found string) string {
		m := ofSomething.FindStringSubmatch(found)
		if _, err := parse.Parse(m[1]+"(1)", parse.Options{Symbols: []string{"none"}}); err == nil {
			return found // a function as sin is
		}
		if at := strings.TrimSpace(m[2]); wholeNumber.MatchString(at) && !strings.Contains(m[1], "_") {
			return m[1] + "_" + at + " " // U(0) is another value than U(θ)
		}
		return m[1] + " "
	})
	o := a.options()
	o.Open = true
	e, err := parse.Parse(left, o)
	if err != nil || !a.onlyNames(e) || text[at[0]] != '=' && e.Kind() != expr.KindSymbol {
		return answer
	}
	if strings.HasPrefix(strings.TrimSpace(answer), "$") {
		right = "$" + right
	}
	return right
}

// onlyNames reports whether an expression does no more than name something: its
// letters are none of the question's, no number but 1 stands before it, and it is
// not one over a name.
func (a *Asked) onlyNames(e expr.Expr) bool {
	names := e.Symbols()
	if len(names) == 0 || slices.ContainsFunc(names, func(n string) bool { _, ok := a.symbols[n]; return ok }) {
		return false
	}
	switch e.Kind() {
	case expr.KindProduct:
		return e.Args()[0].Kind() != expr.KindNumber
	case expr.KindPower: // 1/T = … is not about T
		return !e.Args()[1].Equal(expr.Int(-1))
	}
	return true
}
