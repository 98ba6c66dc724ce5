package parse

import (
	"slices"

	"counterpoise/mechanics/expr"
)

// call reads a function with its argument, in brackets or without, and adds
// its value to list, followed by the factors that it left out.
func (p *parser) call(list []factor) ([]factor, *SyntaxError) {
	t := p.next()
	if err := p.enter(t.at); err != nil {
		return nil, err
	}
	defer p.leave()
	fn := functions[t.text]
	raise, t, err := p.afterName(t, fn)
	if err != nil {
		return nil, err
	}
	f := factor{at: t.at, spaced: t.spaced, form: formOther}
	if open := p.peek(); open.kind == tokOpen && !p.goesOn(t, open) {
		f.e, err = p.bracketed(t, open)
		if err != nil {
			return nil, err
		}
		for _, n := range raise {
			if f.e, err = p.power(f.e, n, t.at); err != nil {
				return nil, err
			}
		}
		if f, err = p.powers(f); err != nil {
			return nil, err
		}
		return append(list, f), nil
	}
	if functions[t.text].least > 1 {
		return nil, p.fail(p.peek().at, t.text+" needs brackets", "( after "+t.text, "")
	}
	return p.bare(list, t, f, raise)
}

// goesOn reports whether the bracket after a function is to be read as the
// beginning only of its argument: cos (a-b)t/2, where a space stands before the
// bracket and none after it. That is never the usual reading.
func (p *parser) goesOn(t, open token) bool {
	if !open.spaced || open.text == "{" || functions[t.text].least > 1 {
		return false
	}
	depth := 0
	for i := p.i; i < len(p.tokens); i++ {
		switch p.tokens[i].kind {
		case tokOpen:
			depth++
		case tokClose:
			depth--
		case tokComma:
			if depth == 1 {
				return false
			}
		}
		if depth > 0 {
			continue
		}
		if i+1 == len(p.tokens) {
			return false
		}
		n := p.tokens[i+1]
		if n.spaced || n.kind != tokName && n.kind != tokOpen && !(n.kind == tokOperator && n.text == "/") {
			return false
		}
		return p.choices.choose(bracketed, open.at, 2) == 1
	}
	return false
}

// afterName reads an exponent between a function and its argument: sin²θ, and
// sin⁻¹x, which usually means the inverse function.
func (p *parser) afterName(t token, fn function) (raise []expr.Expr, _ token, err *SyntaxError) {
	for p.peek().kind == tokPower {
		at := p.peek().at
		n, err := p.exponentOfFunction()
		if err != nil {
			return nil, t, err
		}
		if v, ok := n.Integer(); ok && v == -1 && fn.inverse != "" {
			if p.choices.choose(inverse, at, 2) == 0 {
				t.text = fn.inverse
				fn = functions[t.text]
				continue
			}
		}
		if len(raise) > 0 {
			return nil, t, p.fail(at, "a second exponent", "the argument of "+t.text, "use brackets")
		}
		raise = append(raise, n)
	}
	return raise, t, nil
}

// exponentOfFunction reads an exponent that ends before the argument begins.
func (p *parser) exponentOfFunction() (expr.Expr, *SyntaxError) {
	p.next() // ^
	negative := false
	for p.peek().kind == tokOperator && p.peek().text == "-" && !negative {
		negative = true
		p.next()
	}
	f, err := p.primary()
	if err != nil {
		return f.e, err
	}
	if negative {
		f.e = expr.Neg(f.e)
	}
	return f.e, nil
}

// bracketed reads arguments in brackets and applies the function.
func (p *parser) bracketed(t, open token) (expr.Expr, *SyntaxError) {
	p.next()
	bars := p.bars
	p.bars = 0
	var args []expr.Expr
	for {
		a, err := p.sum()
		if err != nil {
			return a, err
		}
		args = append(args, a)
		if p.peek().kind != tokComma {
			break
		}
		p.next()
	}
	p.bars = bars
	if err := p.closing(open); err != nil {
		return expr.Expr{}, err
	}
	fn := functions[t.text]
	if len(args) < fn.least || len(args) > fn.most {
		return expr.Expr{}, p.fail(t.at, t.text+" has the wrong number of arguments", argumentCount(fn), "separate them by commas")
	}
	return p.apply(t, args)
}

func argumentCount(fn function) string {
	switch {
	case fn.most > fn.least:
		return "one or more"
	case fn.least == 1:
		return "one argument"
	case fn.least == 2:
		return "two arguments"
	}
	return "four arguments"
}

// apply computes a function of arguments that were read.
func (p *parser) apply(t token, args []expr.Expr) (expr.Expr, *SyntaxError) {
	fn := functions[t.text]
	if _, _, number := args[0].Number(); fn.angle && number && !args[0].IsZero() {
		if p.choices.choose(degrees, t.at, 2) == 1 {
			args[0] = expr.Mul(args[0], expr.Pi, expr.Rat(1, 180))
		}
	}
	if t.text == "log" {
		switch {
		case t.base > 0:
			return expr.Div(expr.Log(args[0]), expr.Log(expr.Int(t.base))), nil
		case p.choices.choose(logarithm, t.at, 2) == 1:
			return decimalLog(args), nil
		}
	}
	if t.text == "pow" {
		return p.power(args[0], args[1], t.at)
	}
	if order := orderOfRoot[t.text]; order != 0 {
		return p.power(args[0], expr.Rat(1, order), t.at)
	}
	e := fn.build(args)
	if len(e.Symbols()) == 0 && dividesByZero(e) {
		return e, p.fail(t.at, t.text+" has no value here", "", "")
	}
	return e, nil
}

var orderOfRoot = map[string]int64{"sqrt": 2, "cbrt": 3, "∜": 4}

// dividesByZero reports whether a number over zero stands in e: cot 0.
func dividesByZero(e expr.Expr) bool {
	args := e.Args()
	if e.Kind() == expr.KindPower && args[0].IsZero() {
		return true
	}
	return slices.ContainsFunc(args, dividesByZero)
}

// bare reads the argument of a function written without brackets: factors side
// by side as far as is customary.
func (p *parser) bare(list []factor, t token, f factor, raise []expr.Expr) ([]factor, *SyntaxError) {
	negative := false
	for n := p.peek(); n.kind == tokOperator && (n.text == "-" || n.text == "+"); n = p.peek() {
		p.next()
		negative = negative != (n.text == "-")
		if s := p.peek(); s.kind == tokOperator {
			return nil, p.missing(s)
		}
	}
	args, bases, err := p.arguments(t)
	if err != nil {
		return nil, err
	}
	options := within(args, p.tex, functions[t.text].root)
	kind := argument
	if functions[t.text].root {
		kind = radicand
	}
	k := options[p.choices.choose(kind, t.at, len(options))]
	power, outside := bases[k-1], expr.Expr{}
	if power.exponent != nil && p.choices.choose(raised, power.at, 2) == 1 {
		args[k-1].e, outside = power.base, *power.exponent
	}
	arg := product(args[:k])
	rest := args[k:]
	if len(rest) == 0 {
		if arg, rest, err = p.dividedInside(t, arg); err != nil {
			return nil, err
		}
	}
	if negative {
		arg = expr.Neg(arg)
	}
	if f.e, err = p.apply(t, []expr.Expr{arg}); err != nil {
		return nil, err
	}
	if !outside.IsZero() {
		raise = append(raise, outside)
	}
	for _, n := range raise {
		if f.e, err = p.power(f.e, n, t.at); err != nil {
			return nil, err
		}
	}
	return append(append(list, f), rest...), nil
}

// A raisedFactor is a factor's base and exponent, if it has one.
type raisedFactor struct {
	at       int
	base     expr.Expr
	exponent *expr.Expr
}

// arguments reads the factors that may belong to a function without brackets.
func (p *parser) arguments(t token) (args []factor, bases []raisedFactor, err *SyntaxError) {
	for n := p.peek(); len(args) == 0 || p.simple(n); n = p.peek() {
		if len(args) == 0 && (n.kind == tokFunction || n.kind == tokDerivative) {
			if args, err = p.factor(nil); err != nil {
				return nil, nil, err
			}
			for _, a := range args {
				bases = append(bases, raisedFactor{at: a.at, base: a.e})
			}
			return args, bases, nil
		}
		if len(args) == 0 && !p.startsFactor(n) {
			if n.kind == tokEnd || n.kind == tokRelation {
				return nil, nil, p.fail(n.at, t.text+" of nothing", "the argument of "+t.text, "")
			}
			p.next()
			return nil, nil, p.missing(n)
		}
		if n.kind == tokNumber && len(args) > 0 {
			return nil, nil, p.numberAfter(args[len(args)-1], n)
		}
		f, err := p.primary()
		if err != nil {
			return nil, nil, err
		}
		r := raisedFactor{at: n.at, base: f.e}
		if p.peek().kind == tokPower && n.kind == tokName {
			e, err := p.exponent(f.e)
			if err != nil {
				return nil, nil, err
			}
			r.exponent = &e
			if f.form == formE {
				f.e = expr.Exp(e)
			} else if f.e, err = p.power(f.e, e, n.at); err != nil {
				return nil, nil, err
			}
			f.form = formSymbol
		} else if f, err = p.powers(f); err != nil {
			return nil, nil, err
		}
		args, bases = append(args, f), append(bases, r)
	}
	return args, bases, nil
}

// simple reports whether a token may go on a function's argument.
func (p *parser) simple(t token) bool {
	switch t.kind {
	case tokNumber, tokName, tokOpen, tokFraction, tokRoot:
		return true
	}
	return false
}

// within lists how many of the factors after a function without brackets may
// be its argument, the usual number first. A number goes with what it
// multiplies (sin 2θ); symbols without a space, and time, go on (sin ωt).
func within(args []factor, tex, root bool) []int {
	k := 1
	for k < len(args) {
		before, f := args[k-1], args[k]
		coefficient := before.form == formNumber || before.form == formPi
		ofTime := f.form == formSymbol && f.e.Name() == expr.TimeName
		if !(coefficient && !root || !f.spaced && f.form != formBracket || ofTime && !root) {
			break
		}
		if f.form == formBracket && !coefficient {
			break
		}
		k++
	}
	options := []int{k}
	for i := 1; i <= len(args) && len(options) < 4; i++ {
		if i != k {
			options = append(options, i)
		}
	}
	if n := len(args); n > 4 && k != n {
		options[len(options)-1] = n
	}
	return options
}

// dividedInside offers to take a division after a function's argument into it:
// sin θ/2, √g/l. Outside is the usual reading, but not of arctan b/h.
func (p *parser) dividedInside(t token, arg expr.Expr) (expr.Expr, []factor, *SyntaxError) {
	n := p.peek()
	if n.kind != tokOperator || n.text != "/" && n.text != "*" || n.spaced {
		return arg, nil, nil
	}
	if inside := p.choices.choose(halved, n.at, 2) == 1; inside == (functions[t.text].ratio && n.text == "/") {
		return arg, nil, nil
	}
	p.next()
	list, err := p.sideBySide()
	if err != nil {
		return arg, nil, err
	}
	k := 1
	if len(list) > 1 {
		options := under(list, false)
		k = options[p.choices.choose(denominator, n.at, len(options))]
	}
	d := product(list[:k])
	if n.text == "*" {
		return expr.Mul(arg, d), list[k:], nil
	}
	if d.IsZero() {
		return arg, nil, p.fail(n.at, "a division by zero", "", "")
	}
	return expr.Div(arg, d), list[k:], nil
}

// derivativeOf reads d/dt with what is differentiated.
func (p *parser) derivativeOf(list []factor) ([]factor, *SyntaxError) {
	t := p.next()
	if err := p.enter(t.at); err != nil {
		return nil, err
	}
	defer p.leave()
	f := factor{at: t.at, spaced: t.spaced, form: formOther}
	var err *SyntaxError
	if open := p.peek(); open.kind == tokOpen {
		if f, err = p.primary(); err != nil {
			return nil, err
		}
		f.at, f.spaced, f.form = t.at, t.spaced, formOther
		if f.e, err = p.differentiate(t, f.e); err != nil {
			return nil, err
		}
		if f, err = p.powers(f); err != nil {
			return nil, err
		}
		return append(list, f), nil
	}
	args, err := p.sideBySide()
	if err != nil {
		return nil, err
	}
	k := len(args)
	if k > 1 && p.choices.choose(differential, t.at, 2) == 1 {
		k = 1
	}
	if f.e, err = p.differentiate(t, product(args[:k])); err != nil {
		return nil, err
	}
	return append(append(list, f), args[k:]...), nil
}
