package question

import (
	"fmt"
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

// delimiters stand around a formula in running text.
var delimiters = [...][2]string{{"$$", "$$"}, {"$", "$"}, {`\(`, `\)`}, {`\[`, `\]`}, {"", ""}}

// withoutName returns the right side of ω² = …, cos θ_0 = …, ΔU = … or A(t) = …
// where the left one does no more than name what was asked: no letter of the
// question occurs there, but as what a function is taken at, and no number
// stands before it. An arrow counts as = behind a lone name. The power is that
// of a lone name, or 1, and 0 if there is no such left side.
func (a *Asked) withoutName(answer string) (right string, power int64) {
	text, around := tidied(answer), [2]string{}
	for _, around = range delimiters {
		if len(text) > len(around[0])+len(around[1]) && strings.HasPrefix(text, around[0]) && strings.HasSuffix(text, around[1]) {
			text = text[len(around[0]) : len(text)-len(around[1])]
			break
		}
	}
	at := nameSign.FindStringIndex(text)
	if at == nil || at[0] == 0 || len(text) > parse.MaxBytes || strings.ContainsAny(text[at[0]-1:at[0]], "<>!:") {
		return "", 0
	}
	right = strings.TrimSpace(strings.TrimLeft(text[at[1]:], "="))
	left := ofSomething.ReplaceAllStringFunc(strings.TrimSpace(text[:at[0]]), func(found string) string {
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
	if right == "" || err != nil || !a.onlyNames(e) || text[at[0]] != '=' && e.Kind() != expr.KindSymbol {
		return "", 0
	}
	return around[0] + right + around[1], powerOf(e)
}

// powerOf returns the whole power of a lone name from 2 to 4, or else 1.
func powerOf(e expr.Expr) int64 {
	for n := int64(2); n <= 4; n++ {
		if e.Kind() == expr.KindPower && e.Args()[1].Equal(expr.Int(n)) && e.Args()[0].Kind() == expr.KindSymbol {
			return n
		}
	}
	return 1
}

// named judges the right side of ω² = …. Where that is a power of the key, it
// asks for the name alone on the left.
func (x *expression) named(a *Asked, right string, power int64) Verdict {
	v := x.check(a, right)
	if v.Outcome == Wrong && power > 1 && !strings.Contains(right, "=") {
		if root := x.check(a, fmt.Sprintf("(%s)^(1/%d)", strings.Trim(right, "$"), power)); root.Outcome == Right {
			v = a.unreadable("This gives a power of what is asked. Solve it, so that the name stands alone on the left.")
		}
	}
	return v
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
