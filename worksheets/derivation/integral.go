package derivation

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/expr/parse"
	"counterpoise/mechanics/expr/typeset"
)

// Integrals over one variable are worked out where a line is read: ∫_0^L x² dx is
// L³/3 from there on. An integrand is a sum of powers of the variable, of sines
// and cosines and exponentials of what is linear in it. Without limits it is the
// primitive that has no constant.

// maxIntegrals bounds those on one line.
const maxIntegrals = 6

// withoutIntegrals puts the values of integrals in the place of them. What it
// cannot work out stays for the reader, who refuses it.
func (b *board) withoutIntegrals(text string) string {
	text = spelledLimits.Replace(text)
	for range maxIntegrals {
		at := lastIntegral(text)
		if at < 0 {
			return text
		}
		value, end, ok := b.integral(text, at)
		if !ok {
			return text
		}
		text = text[:at] + " (" + typeset.Text(value) + ") " + text[end:]
	}
	return text
}

// spelledLimits writes limits that are typed as small letters.
var spelledLimits = strings.NewReplacer("∫₀ᴸ", "∫_0^L ", "∫₀ᴿ", "∫_0^R ", "∫₀ᵃ", "∫_0^a ",
	"∫₀ᵇ", "∫_0^b ", "∫₀ʰ", "∫_0^h ", "∫₀ˡ", "∫_0^l ", "∫₀ᵗ", "∫_0^t ", "∫₀ˣ", "∫_0^x ", "∫₀¹", "∫_0^1 ", "∫₀²", "∫_0^2", "∫ₐᵇ", "∫_a^b ", "∫₀", "∫_0", "∫₁", "∫_1", "∫ₐ", "∫_a", "∯", "∫", "∮", "∫", "∬", "∫", "∭", "∫")

// lastIntegral is the place of the last sign, so that inner ones come first.
func lastIntegral(text string) int {
	return max(strings.LastIndex(text, "∫"), strings.LastIndex(text, `\int`))
}

// integral works out the integral that begins at at.
func (b *board) integral(text string, at int) (value expr.Expr, end int, ok bool) {
	rest := strings.TrimPrefix(strings.TrimPrefix(text[at:], "∫"), `\int`)
	rest = strings.TrimPrefix(rest, `\limits`)
	var limits [2]expr.Expr
	var has [2]bool
	for range 2 {
		rest = strings.TrimLeft(rest, " ")
		if rest == "" || rest[0] != '_' && rest[0] != '^' {
			break
		}
		k := strings.IndexByte("_^", rest[0])
		limit, after := scripted(rest[1:])
		rest = after
		if e, err := parse.Parse(limit, b.parsing()); err == nil {
			limits[k], has[k] = e, true
		}
	}
	body, variable, after, found := splitDifferential(rest)
	if !found {
		return value, 0, false
	}
	name := expr.Canonical(variable)
	end = len(text) - len(after)
	if name == "m" { // over a body, whatever stands below the sign
		value, ok = b.overElements(body)
		return value, end, ok
	}
	o := b.parsing()
	o.Symbols = append(o.Symbols, name)
	integrand := expr.Int(1)
	if strings.Trim(body, " ") != "" {
		e, err := parse.Parse(body, o)
		if err != nil {
			return value, 0, false
		}
		integrand = e
	}
	for range 4 { // letters that stand for functions of the variable
		values := map[string]expr.Expr{}
		for _, n := range integrand.Symbols() {
			if d, known := b.definitions[n]; known && n != name && d.Has(name) {
				values[n] = d
			}
		}
		if len(values) == 0 {
			break
		}
		integrand = integrand.Subs(values)
	}
	primitive, ok := primitiveOf(integrand, name)
	if !ok || has[0] != has[1] {
		return value, 0, false
	}
	if !has[0] {
		return primitive, end, true
	}
	upper := primitive.Subs(map[string]expr.Expr{name: limits[1]})
	lower := primitive.Subs(map[string]expr.Expr{name: limits[0]})
	return expr.Sub(upper, lower), end, true
}

// coordinates are the letters that say where a piece of a body is.
var coordinates = []string{"x", "y", "z", "r", "ρ", "s"}

// overElements is an integral over the mass of a body: a sum over its pieces, as
// Σ m_i x_i is. What holds for three of any masses holds for all.
func (b *board) overElements(body string) (expr.Expr, bool) {
	e := expr.Int(1)
	if strings.TrimSpace(body) != "" {
		var err error
		if e, err = parse.Parse(body, b.parsing()); err != nil {
			return e, false
		}
	}
	var terms []expr.Expr
	for k := 1; k <= parse.SumTerms; k++ {
		values := map[string]expr.Expr{}
		for _, name := range e.Symbols() {
			if slices.Contains(coordinates, base(name)) {
				values[name] = expr.Sym(pieceOf(name, k))
			}
		}
		terms = append(terms, expr.Mul(expr.Sym(pieceOf("m", k)), e.Subs(values)))
	}
	return expr.Add(terms...), true
}

// pieceOf names a symbol's value at one piece of a body.
func pieceOf(name string, k int) string {
	return fmt.Sprintf("%s_d%d%s", base(name), k, strings.Repeat("'", primes(name)))
}

// scripted splits what is raised or lowered from the rest: one letter or digit,
// a sign and what follows it, a number, or what stands in braces or brackets.
func scripted(text string) (script, rest string) {
	text = strings.TrimLeft(text, " ")
	pairs := map[byte]byte{'{': '}', '(': ')'}
	if text == "" {
		return "", ""
	}
	if shut, ok := pairs[text[0]]; ok {
		depth := 0
		for i := range len(text) {
			switch text[i] {
			case text[0]:
				depth++
			case shut:
				if depth--; depth == 0 {
					return text[1:i], text[i+1:]
				}
			}
		}
		return "", ""
	}
	m := scriptWord.FindString(text)
	return m, text[len(m):]
}

var scriptWord = regexp.MustCompile(`^[-+−]?(?:\d+|\\[a-z]+|\pL(?:_(?:\w|\{\w+\}))?)(?:/(?:\d+|\pL))?`)

// splitDifferential finds the d x that ends an integrand, outside brackets.
func splitDifferential(text string) (body, variable, rest string, ok bool) {
	depth := 0
	for i, r := range text {
		switch r {
		case '(', '[', '{':
			depth++
		case ')', ']', '}':
			if depth--; depth < 0 {
				return
			}
		case '=', '≈':
			if depth == 0 {
				return
			}
		}
		if depth != 0 {
			continue
		}
		m := differentialAt.FindStringSubmatch(text[i:])
		if m == nil || i > 0 && text[i-1] == '\\' {
			continue
		}
		before := strings.TrimRight(text[:i], " ")
		if strings.HasSuffix(before, "/") && strings.HasPrefix(text[i:], "d") { // dM/dx is no end
			continue
		}
		after := text[i+len(m[0]):]
		if strings.HasPrefix(strings.TrimLeft(after, " "), "/") {
			continue
		}
		for _, space := range []string{`\,`, `\;`, `\ `, `\!`, `\quad`} {
			before = strings.TrimRight(strings.TrimSuffix(strings.TrimRight(before, " "), space), " ")
		}
		return before, m[1], after, true
	}
	return
}

var differentialAt = regexp.MustCompile(`^(?:\\mathrm\{\s*d\s*\}|\\mathrm d|\\text\{d\}|d)\s?(\\[a-z]+|\pL(?:_(?:\w|\{\w+\}))?)(?:$|[^\pL_0-9])`)

// primitiveOf is a primitive of e along a symbol.
func primitiveOf(e expr.Expr, name string) (expr.Expr, bool) {
	x := expr.Sym(name)
	if !e.Has(name) {
		return expr.Mul(e, x), true
	}
	var terms []expr.Expr
	e = expand(e)
	list := []expr.Expr{e}
	if e.Kind() == expr.KindSum {
		list = e.Args()
	}
	for _, t := range list {
		p, ok := primitiveOfTerm(t, name)
		if !ok {
			return e, false
		}
		terms = append(terms, p)
	}
	return expr.Add(terms...), true
}

func primitiveOfTerm(t expr.Expr, name string) (expr.Expr, bool) {
	factors := []expr.Expr{t}
	if t.Kind() == expr.KindProduct {
		factors = t.Args()
	}
	if !t.Has(name) {
		return expr.Mul(t, expr.Sym(name)), true
	}
	outside, inside := expr.Int(1), expr.Int(1)
	for _, f := range factors {
		if f.Has(name) {
			inside = expr.Mul(inside, f)
		} else {
			outside = expr.Mul(outside, f)
		}
	}
	p, ok := primitiveOfFactor(inside, name)
	return expr.Mul(outside, p), ok
}

// primitiveOfFactor integrates a power of something linear, or a function of it.
func primitiveOfFactor(e expr.Expr, name string) (expr.Expr, bool) {
	base, exponent := e, expr.Int(1)
	if e.Kind() == expr.KindPower {
		base, exponent = e.Args()[0], e.Args()[1]
	}
	if e.Kind() == expr.KindCall || base.Kind() == expr.KindCall {
		return primitiveOfCall(base, exponent, name)
	}
	slope := base.Diff(name)
	if slope.Has(name) || exponent.Has(name) {
		return e, false
	}
	if n, ok := exponent.Integer(); ok && n == -1 {
		return expr.Div(expr.Log(base), slope), true
	}
	next := expr.Add(exponent, expr.Int(1))
	return expr.Div(expr.Pow(base, next), expr.Mul(next, slope)), true
}

func primitiveOfCall(f, exponent expr.Expr, name string) (expr.Expr, bool) {
	u := f.Args()[0]
	slope := u.Diff(name)
	if slope.Has(name) {
		return f, false
	}
	n, ok := exponent.Integer()
	if !ok {
		return f, false
	}
	two := expr.Int(2)
	switch {
	case n == 1 && f.Function() == expr.FnSin:
		return expr.Div(expr.Neg(expr.Cos(u)), slope), true
	case n == 1 && f.Function() == expr.FnCos:
		return expr.Div(expr.Sin(u), slope), true
	case n == 1 && f.Function() == expr.FnExp:
		return expr.Div(f, slope), true
	case n == 2 && (f.Function() == expr.FnSin || f.Function() == expr.FnCos): // half of 1 ∓ cos 2u
		wave := expr.Div(expr.Sin(expr.Mul(two, u)), expr.Mul(expr.Int(4), slope))
		if f.Function() == expr.FnSin {
			wave = expr.Neg(wave)
		}
		return expr.Add(expr.Div(expr.Sym(name), two), wave), true
	case n == 3 && (f.Function() == expr.FnSin || f.Function() == expr.FnCos):
		s, c := expr.Sin(u), expr.Cos(u)
		third := expr.Rat(1, 3)
		if f.Function() == expr.FnSin {
			return expr.Div(expr.Sub(expr.Mul(third, expr.Pow(c, expr.Int(3))), c), slope), true
		}
		return expr.Div(expr.Sub(s, expr.Mul(third, expr.Pow(s, expr.Int(3)))), slope), true
	}
	return f, false
}

// brackets that are evaluated between limits: [x³/3]_0^L.
var evaluated = regexp.MustCompile(`(?:\\left)?\[((?:[^\[\]])*?)(?:\\right)?\]\s*(_)`)

// withoutLimits puts the difference of the values at the limits in the place of
// a bracket with limits: [x³/3]_0^L. Its variable is the one symbol that the
// limits, and what else stands on the board as a constant, leave.
func (b *board) withoutLimits(text string) string {
	m := evaluated.FindStringSubmatchIndex(text)
	if m == nil {
		return text
	}
	inner, rest := text[m[2]:m[3]], text[m[4]:]
	var limits [2]expr.Expr
	for range 2 {
		rest = strings.TrimLeft(rest, " ")
		if rest == "" || rest[0] != '_' && rest[0] != '^' {
			return text
		}
		k := strings.IndexByte("_^", rest[0])
		limit, after := scripted(rest[1:])
		e, err := parse.Parse(limit, b.parsing())
		if err != nil {
			return text
		}
		limits[k], rest = e, after
	}
	e, err := parse.Parse(inner, b.parsing())
	if err != nil {
		return text
	}
	name := b.variableOf(e, limits)
	if name == "" {
		return text
	}
	at := func(v expr.Expr) expr.Expr { return e.Subs(map[string]expr.Expr{name: v}) }
	return text[:m[0]] + " (" + typeset.Text(expr.Sub(at(limits[1]), at(limits[0]))) + ") " + rest
}

// variableOf is the symbol of e that runs between limits: one of those customary
// for it that the limits do not hold.
func (b *board) variableOf(e expr.Expr, limits [2]expr.Expr) string {
	for _, name := range []string{"x", "r", "s", "y", "z", "u", "θ", "φ", "t", "v", "ρ", "ξ", "α"} {
		if e.Has(name) && !limits[0].Has(name) && !limits[1].Has(name) {
			return name
		}
	}
	return ""
}
