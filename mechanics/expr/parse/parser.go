package parse

import (
	"math"
	"math/big"
	"slices"
	"strings"

	"counterpoise/mechanics/expr"
)

// A parser turns tokens into expressions. One parse follows one set of
// choices.
type parser struct {
	text    string
	tokens  []token
	i       int
	end     int // bytes: where the formula ends in the text
	lex     *lexicon
	choices *choices
	tex     bool
	depth   int
	bars    int             // open modulus signs
	bits    int             // of all exact numbers so far
	large   bool            // an exponent is so large that several together may be too large
	fresh   map[string]bool // new symbols met in this text
	args    []string        // what symbols on left sides are functions of: V(φ) = …
	signs   int             // 1: upper sign of ±, -1: lower sign; 0 if none came up
	lower   bool            // take the lower sign of ±
	target  bool            // an unknown name may stand on the left side
}

func (p *parser) fail(at int, reason, expected, remedy string) *SyntaxError {
	return &SyntaxError{Text: p.text, At: at, Reason: reason, Expected: expected, Remedy: remedy}
}

func (p *parser) peek() token {
	if p.i < len(p.tokens) {
		return p.tokens[p.i]
	}
	return token{kind: tokEnd, at: p.end, end: p.end}
}

func (p *parser) next() token {
	t := p.peek()
	if p.i < len(p.tokens) {
		p.i++
	}
	return t
}

func (p *parser) enter(at int) *SyntaxError {
	if p.depth++; p.depth > MaxDepth {
		return p.fail(at, "brackets, roots and powers are nested too deep", "", "write it in several parts")
	}
	return nil
}

func (p *parser) leave() { p.depth-- }

// A factor is one of several written side by side.
type factor struct {
	e      expr.Expr
	form   factorForm
	at     int
	spaced bool // white space before it
}

type factorForm uint8

const (
	formOther   factorForm = iota // a function's value, a fraction, a root
	formNumber                    // digits
	formPi                        // π
	formSymbol                    // a symbol, perhaps raised
	formBracket                   // ( … )
	formE                         // e, the base of natural logarithms
)

func product(list []factor) expr.Expr {
	out := make([]expr.Expr, len(list))
	for i, f := range list {
		out[i] = f.e
	}
	if len(out) == 1 {
		return out[0]
	}
	return expr.Mul(out...)
}

// sum reads terms with + and - between them.
func (p *parser) sum() (expr.Expr, *SyntaxError) {
	if err := p.enter(p.peek().at); err != nil {
		return expr.Expr{}, err
	}
	defer p.leave()
	var terms []expr.Expr
	for first := true; ; first = false {
		t := p.peek()
		negative := false
		switch {
		case t.kind == tokOperator && (t.text == "+" || t.text == "-"):
			p.next()
			negative = t.text == "-"
		case t.kind == tokOperator && (t.text == "±" || t.text == "∓"):
			p.next()
			p.signs = 1
			negative = (t.text == "∓") != p.lower
		case !first:
			if len(terms) == 1 {
				return terms[0], nil
			}
			return expr.Add(terms...), nil
		}
		term, err := p.term()
		if err != nil {
			return term, err
		}
		if negative {
			term = expr.Neg(term)
		}
		terms = append(terms, term)
	}
}

// term reads factors with multiplication and division signs or nothing
// between them.
func (p *parser) term() (expr.Expr, *SyntaxError) {
	list, err := p.signed()
	if err != nil {
		return expr.Expr{}, err
	}
	value := product(list)
	digits := len(list) == 1 && list[0].form == formNumber
	for {
		t := p.peek()
		if t.kind != tokOperator || t.text != "*" && t.text != "/" {
			return value, nil
		}
		p.next()
		list, err := p.signed()
		if err != nil {
			return value, err
		}
		if t.text == "*" {
			value, digits = expr.Mul(value, product(list)), false
			continue
		}
		if value, err = p.divide(value, list, digits, t.at); err != nil {
			return value, err
		}
		digits = false
	}
}

// signed reads factors side by side, with a sign allowed before them.
func (p *parser) signed() ([]factor, *SyntaxError) {
	negative := false
	for n := 0; ; n++ {
		t := p.peek()
		if t.kind != tokOperator || t.text != "+" && t.text != "-" {
			break
		}
		if n > 1 {
			return nil, p.fail(t.at, "several signs in a row", "a factor", "put the sign and its factor in brackets")
		}
		p.next()
		negative = negative != (t.text == "-")
	}
	list, err := p.sideBySide()
	if err == nil && negative {
		list[0].e = expr.Neg(list[0].e)
	}
	return list, err
}

// divide divides value by as many of the factors after the stroke as stand
// under it, and multiplies it by the others.
func (p *parser) divide(value expr.Expr, list []factor, digits bool, at int) (expr.Expr, *SyntaxError) {
	k := 1
	if len(list) > 1 {
		options := under(list, digits)
		k = options[p.choices.choose(denominator, at, len(options))]
	}
	d := product(list[:k])
	if d.IsZero() {
		return value, p.fail(list[0].at, "a division by zero", "", "")
	}
	value = expr.Div(value, d)
	if k < len(list) {
		value = expr.Mul(value, product(list[k:]))
	}
	return value, nil
}

// under lists how many of the factors after a stroke may stand under it, the
// usual number first: after a number the stroke of 1/2 m v² ends at the space
// or letter, otherwise factors without a space belong together, 1/2π too.
func under(list []factor, digits bool) []int {
	simple := 1
	for simple < len(list) && !list[simple].spaced && (list[simple].form == formSymbol || list[simple].form == formPi) &&
		(list[0].form == formNumber || list[0].form == formSymbol || list[0].form == formPi) {
		simple++
	}
	joined := 1
	for joined < len(list) && !list[joined].spaced {
		joined++
	}
	usual := simple
	if digits && list[0].form == formNumber {
		usual = 1
		if simple == 2 && list[1].form == formPi {
			usual = 2
		}
	}
	options := []int{usual}
	for _, k := range []int{1, simple, joined, len(list)} {
		seen := false
		for _, o := range options {
			seen = seen || o == k
		}
		if !seen {
			options = append(options, k)
		}
	}
	return options
}

// sideBySide reads one or more factors without a sign between them.
func (p *parser) sideBySide() ([]factor, *SyntaxError) {
	list, err := p.factor(nil)
	if err != nil {
		return nil, err
	}
	for p.startsFactor(p.peek()) {
		t := p.peek()
		if t.kind == tokNumber {
			return nil, p.numberAfter(list[len(list)-1], t)
		}
		if list, err = p.factor(list); err != nil {
			return nil, err
		}
	}
	return list, nil
}

// numberAfter explains why a number cannot stand right after a factor.
func (p *parser) numberAfter(before factor, t token) *SyntaxError {
	n := t.text
	if n == "" {
		n = "the number"
	}
	if before.form == formNumber {
		return p.fail(t.at, "two numbers side by side", "an operator", "write * for a product, + in a mixed number")
	}
	if before.form == formSymbol && !t.spaced {
		return p.fail(t.at, "a number right after a symbol", "an operator", "write _"+n+" for a subscript, ^"+n+" for a power, *"+n+" for a product")
	}
	return p.fail(t.at, "a number right after a factor", "an operator", "write ^"+n+" for a power, *"+n+" for a product")
}

// startsFactor reports whether a token can begin a factor.
func (p *parser) startsFactor(t token) bool {
	switch t.kind {
	case tokNumber, tokName, tokFunction, tokOpen, tokFraction, tokRoot, tokDerivative, tokSum:
		return true
	case tokBar:
		return t.side < 0 || t.side == 0 && p.bars == 0
	}
	return false
}

// factor reads one factor with its powers, and with a function without
// brackets perhaps further ones, and adds them to list.
func (p *parser) factor(list []factor) ([]factor, *SyntaxError) {
	t := p.peek()
	switch t.kind {
	case tokFunction:
		return p.call(list)
	case tokDerivative:
		return p.derivativeOf(list)
	case tokSum:
		return p.sigma(list)
	}
	f, err := p.primary()
	if err != nil {
		return nil, err
	}
	if f, err = p.powers(f); err != nil {
		return nil, err
	}
	return append(list, f), nil
}

// primary reads a number, a symbol, a bracket, a modulus, a fraction or a
// root.
func (p *parser) primary() (factor, *SyntaxError) {
	t := p.next()
	f := factor{at: t.at, spaced: t.spaced}
	var err *SyntaxError
	switch t.kind {
	case tokNumber:
		f.form, f.e = formNumber, expr.BigRat(t.value)
		err = p.count(bitLen(t.value), t.at)
	case tokName:
		return p.symbol(t)
	case tokOpen:
		f.form = formBracket
		f.e, err = p.bracket(t)
	case tokBar:
		if t.side > 0 {
			return f, p.fail(t.at, "this modulus sign closes nothing", "a number, a symbol or a bracket", "")
		}
		f.e, err = p.modulus(t)
	case tokFraction:
		f.e, err = p.fraction()
	case tokRoot:
		f.e, err = p.root(t)
	default:
		return f, p.missing(t)
	}
	return f, err
}

// missing explains what stands where a factor was expected.
func (p *parser) missing(t token) *SyntaxError {
	const expected = "a number, a symbol or a bracket"
	switch t.kind {
	case tokEnd:
		if p.end == 0 || p.i == 0 {
			return p.fail(t.at, "nothing is written", expected, "")
		}
		return p.fail(t.at, "the formula stops here", expected, "")
	case tokClose:
		if p.i > 1 && p.tokens[p.i-2].kind == tokOpen {
			return p.fail(t.at, "nothing stands in the brackets", expected, "")
		}
		return p.fail(t.at, "the bracket "+t.text+" closes too early", expected, "")
	case tokRelation:
		return p.fail(t.at, "nothing stands before "+t.text, expected, "")
	case tokOperator:
		return p.fail(t.at, "two operators in a row", expected, "")
	case tokPower:
		return p.fail(t.at, "an exponent without a base", expected, "")
	case tokComma, tokSemicolon:
		return p.fail(t.at, "a comma is not expected here", expected, "")
	case tokPrime:
		return p.fail(t.at, "a prime that follows no symbol", expected, "")
	case tokDegree:
		return p.fail(t.at, "a degree sign that follows no number", expected, "")
	}
	return p.fail(t.at, "this is not expected here", expected, "")
}

// symbol reads a name.
func (p *parser) symbol(t token) (factor, *SyntaxError) {
	f := factor{at: t.at, spaced: t.spaced, form: formSymbol}
	if t.unknown && !(p.target && p.i == 1 && p.peek().kind == tokRelation) {
		return f, p.unknown(t)
	}
	if c, ok := constants[t.text]; ok && !p.lex.knows(t.text) {
		f.form = formE
		if t.text == "π" {
			f.form = formPi
		}
		f.e = c
		return f, nil
	}
	if p.lex.open {
		if e, ok := p.functionValue(t); ok {
			f.e = e
			return f, nil
		}
		if !p.lex.knows(t.text) {
			p.fresh[t.text] = true
		}
	}
	f.e = expr.Sym(t.text)
	if p.lex.varies(t.text) {
		if p.ofTime() {
			p.i += 3
		} else if p.at(p.i, tokOpen) && p.at(p.i+1, tokNumber) && p.at(p.i+2, tokClose) && !p.peek().spaced && p.peek().text == "(" {
			return f, p.fail(p.peek().at, "a value at one time is not read", "an operator", "write "+t.text+"_0 and say what it is, or * for a product")
		}
	}
	return f, nil
}

func (p *parser) at(i int, kind tokenKind) bool { return i < len(p.tokens) && p.tokens[i].kind == kind }

// ofTime reports whether (t) follows: θ(t) is θ.
func (p *parser) ofTime() bool {
	if p.i+2 >= len(p.tokens) {
		return false
	}
	a, b, c := p.tokens[p.i], p.tokens[p.i+1], p.tokens[p.i+2]
	return a.kind == tokOpen && a.text == "(" && b.kind == tokName && b.text == expr.TimeName && c.kind == tokClose && !a.spaced
}

// unknown explains a name that is not among the known symbols.
func (p *parser) unknown(t token) *SyntaxError {
	name := t.text
	written := p.text[t.at:t.end]
	switch {
	case name != "" && name[len(name)-1] == '\'':
		base := name
		for base[len(base)-1] == '\'' {
			base = base[:len(base)-1]
		}
		if p.lex.known[base] {
			return p.fail(t.at, base+" does not change with time here", "a symbol of this question", "use "+base+" without dots and primes")
		}
	case name == "x" && p.i > 1 && p.startsFactor(p.peek()):
		return p.fail(t.at, "x is not a symbol here", "an operator", "write * for a product")
	case unitLike[name] && (strings.HasPrefix(written, `\text`) || strings.HasPrefix(written, `\mathrm`)):
		return p.fail(t.at, "this looks like a unit", "a formula without units", "leave units out, all symbols carry their own")
	case unitLike[name] && p.i > 1 && (p.tokens[p.i-2].kind == tokNumber || p.tokens[p.i-2].text == "/"):
		return p.fail(t.at, clip(written)+" looks like a unit", "a formula without units", "leave units out, all symbols carry their own")
	}
	at := t.at
	if i := p.lex.unknownLetter(written); i >= 0 {
		at, written, name = at+i, written[i:i+1], written[i:i+1]
	}
	remedy := ""
	if near := p.lex.nearest(name); near != "" {
		remedy = "did you mean " + near + "?"
	} else if unitLike[name] {
		remedy = "if it is a unit, leave it out; the symbols here are " + p.lex.symbols()
	} else if len(p.lex.list) > 0 {
		remedy = "the symbols here are " + p.lex.symbols()
	}
	return p.fail(at, clip(written)+" is not a symbol here", "a symbol of this question", remedy)
}

// symbols lists the known names for an error message.
func (l *lexicon) symbols() string {
	const most = 12
	out := ""
	for i, name := range l.list {
		if i == most {
			return out + ", …"
		}
		if i > 0 {
			out += ", "
		}
		out += name
	}
	return out
}

// bracket reads up to the bracket that closes t.
func (p *parser) bracket(t token) (expr.Expr, *SyntaxError) {
	bars := p.bars
	p.bars = 0
	e, err := p.sum()
	p.bars = bars
	if err != nil {
		return e, err
	}
	return e, p.closing(t)
}

var closers = map[string]string{"(": ")", "[": "]", "{": "}"}

func (p *parser) closing(open token) *SyntaxError {
	c := p.peek()
	if c.kind == tokClose && c.text == closers[open.text] {
		p.next()
		return nil
	}
	if c.kind == tokEnd {
		return p.fail(open.at, "the bracket "+open.text+" is not closed", "", "close it with "+closers[open.text])
	}
	if c.kind == tokClose {
		return p.fail(c.at, "the bracket "+open.text+" is closed by "+c.text, closers[open.text], "")
	}
	return p.unexpected(c, closers[open.text])
}

// unexpected explains a token that can follow no factor.
func (p *parser) unexpected(t token, expected string) *SyntaxError {
	if expected == "" {
		expected = "an operator or the end"
	}
	switch t.kind {
	case tokComma:
		return p.fail(t.at, "a comma is not expected here", expected, "write a decimal number with a point")
	case tokClose:
		return p.fail(t.at, "the bracket "+t.text+" closes nothing", expected, "take it out, or open it before")
	case tokRelation:
		return p.fail(t.at, t.text+" inside a bracket", expected, "")
	case tokBar:
		return p.fail(t.at, "a modulus sign without its partner", expected, "write abs( … )")
	case tokPrime:
		return p.fail(t.at, "a prime that follows no symbol", expected, "")
	case tokDegree:
		return p.fail(t.at, "a degree sign that follows no number", expected, "")
	}
	return p.fail(t.at, "this is not expected here", expected, "")
}

// modulus reads | … |.
func (p *parser) modulus(t token) (expr.Expr, *SyntaxError) {
	if p.peek().kind == tokEnd {
		return expr.Expr{}, p.fail(t.at, "a modulus sign without its partner", "", "write abs( … )")
	}
	p.bars++
	e, err := p.sum()
	if err != nil {
		return e, err
	}
	c := p.peek()
	if c.kind != tokBar {
		if c.kind == tokEnd {
			return e, p.fail(t.at, "this modulus sign is not closed", "", "close it with |")
		}
		return e, p.unexpected(c, "|")
	}
	p.next()
	p.bars--
	return expr.Abs(e), nil
}

// group reads one part of a TeX command, which stands in braces.
func (p *parser) group() (expr.Expr, *SyntaxError) {
	t := p.next()
	if t.kind != tokOpen {
		return expr.Expr{}, p.missing(t)
	}
	return p.bracket(t)
}

func (p *parser) fraction() (expr.Expr, *SyntaxError) {
	a, err := p.group()
	if err != nil {
		return a, err
	}
	at := p.peek().at
	b, err := p.group()
	if err != nil {
		return b, err
	}
	if b.IsZero() {
		return b, p.fail(at, "a division by zero", "", "")
	}
	return expr.Div(a, b), nil
}

func (p *parser) root(t token) (expr.Expr, *SyntaxError) {
	n := expr.Int(2)
	if t.base == 1 {
		var err *SyntaxError
		if n, err = p.group(); err != nil {
			return n, err
		}
		if n.IsZero() {
			return n, p.fail(t.at, "a root of order zero", "", "")
		}
	}
	e, err := p.group()
	if err != nil {
		return e, err
	}
	return p.power(e, expr.Div(expr.Int(1), n), t.at)
}

// powers reads primes, degree signs and exponents after a factor.
func (p *parser) powers(f factor) (factor, *SyntaxError) {
	for {
		t := p.peek()
		switch t.kind {
		case tokPower:
			exponent, err := p.exponent(f.e)
			if err != nil {
				return f, err
			}
			if f.form == formE {
				f.e = expr.Exp(exponent)
			} else if f.e, err = p.power(f.e, exponent, t.at); err != nil {
				return f, err
			}
			if f.form == formNumber || f.form == formPi || f.form == formE {
				f.form = formSymbol
			}
		case tokDegree:
			if f.form != formNumber {
				return f, p.fail(t.at, "a degree sign that follows no number", "an operator", "")
			}
			p.next()
			f.e = expr.Mul(f.e, expr.Pi, expr.Rat(1, 180))
			f.form = formOther
		case tokPrime:
			if f.form != formBracket {
				return f, p.fail(t.at, "a prime that follows no symbol", "an operator", "")
			}
			p.next()
			d := &derivation{}
			for range min(len(t.text), MaxOrder+1) {
				d.variables = append(d.variables, expr.TimeName)
			}
			var err *SyntaxError
			if f.e, err = p.differentiate(token{at: t.at, d: d}, f.e); err != nil {
				return f, err
			}
		default:
			return f, nil
		}
	}
}

// power raises base to exponent if the result can be written out.
func (p *parser) power(base, exponent expr.Expr, at int) (expr.Expr, *SyntaxError) {
	b, _, isNumber := base.Number()
	e, size, isPower := exponent.Number()
	if isPower && math.Abs(size) > MaxPower {
		return base, p.fail(at, "this exponent is too large", "", "")
	}
	p.large = p.large || isPower && (isNumber || math.Abs(size) > MaxPower/MaxTokens)
	if isNumber && isPower && b != nil && e != nil {
		if b.Sign() == 0 && e.Sign() <= 0 {
			return base, p.fail(at, "zero to this power has no value", "", "")
		}
		if b.Sign() < 0 && !e.IsInt() {
			return base, p.fail(at, "this root of a negative number is not real", "", "")
		}
	}
	c, _ := base.Coefficient()
	if b, _, ok := c.Number(); isPower && ok && b != nil && b.Num().CmpAbs(b.Denom()) != 0 {
		bits := bitsOfPower(b, size)
		if bits > MaxPowerBits {
			return base, p.fail(at, "this power is too large a number", "", "")
		}
		if err := p.count(int(bits), at); err != nil {
			return base, err
		}
	}
	return expr.Pow(base, exponent), nil
}

// powersAdded reports whether the exponents of one base add up to more than
// can be read.
func powersAdded(e expr.Expr) bool {
	args := e.Args()
	if e.Kind() == expr.KindPower {
		b, _, _ := args[0].Number()
		if _, size, ok := args[1].Number(); ok && (math.Abs(size) > MaxPower || b != nil && bitsOfPower(b, size) > MaxPowerBits) {
			return true
		}
	}
	return slices.ContainsFunc(args, powersAdded)
}

// bitsOfPower is how many bits a power of a number has.
func bitsOfPower(b *big.Rat, exponent float64) float64 {
	return max(log2(b.Num()), log2(b.Denom())) * math.Abs(exponent)
}

// count adds to the size of all exact numbers.
func (p *parser) count(bits, at int) *SyntaxError {
	if p.bits += bits; p.bits > MaxNumberBits {
		return p.fail(at, "the numbers here have too many digits together", "", "round them")
	}
	return nil
}

// log2 is the binary logarithm of an integer's size.
func log2(n *big.Int) float64 {
	if f, _ := new(big.Float).SetInt(n).Float64(); !math.IsInf(f, 0) {
		return math.Log2(math.Abs(f))
	}
	return float64(n.BitLen())
}

func bitLen(r *big.Rat) int { return max(r.Num().BitLen(), r.Denom().BitLen()) }

// exponent reads what stands after ^.
func (p *parser) exponent(base expr.Expr) (expr.Expr, *SyntaxError) {
	t := p.next() // ^
	if err := p.enter(t.at); err != nil {
		return expr.Expr{}, err
	}
	defer p.leave()
	negative := false
	for p.peek().kind == tokOperator && (p.peek().text == "-" || p.peek().text == "+") {
		negative = negative != (p.next().text == "-")
		if s := p.peek(); s.kind == tokOperator {
			return expr.Expr{}, p.missing(s)
		}
	}
	first := p.peek()
	var list []factor
	var err *SyntaxError
	if first.kind == tokFunction {
		list, err = p.call(nil)
	} else {
		var f factor
		if f, err = p.primary(); err == nil {
			if p.peek().kind == tokPower {
				f, err = p.powers(f)
			}
			list = []factor{f}
		}
	}
	if err != nil {
		return expr.Expr{}, err
	}
	e := product(list)
	if first.kind == tokNumber || first.kind == tokName {
		if e, err = p.longExponent(base, e, t, first); err != nil {
			return e, err
		}
	}
	if negative {
		e = expr.Neg(e)
	}
	return e, nil
}

// longExponent offers to take what follows an exponent without brackets into
// it: e^-ct, x^2y, a^1/2. Only plain text is in doubt there, TeX has braces.
func (p *parser) longExponent(base, e expr.Expr, t, first token) (expr.Expr, *SyntaxError) {
	if p.tex {
		return e, nil
	}
	usual := base.Equal(constants["e"]) // e^-ct means all of it
	n := p.peek()
	more := n.kind == tokName && !n.spaced
	stroke := n.kind == tokOperator && n.text == "/" && !n.spaced && p.i+1 < len(p.tokens) && !p.tokens[p.i+1].spaced &&
		(p.tokens[p.i+1].kind == tokNumber || usual && p.tokens[p.i+1].kind == tokName)
	if p.lex.author && stroke && !usual && !e.Equal(expr.Int(1)) {
		stroke = false
	}
	if !more && !stroke {
		return e, nil
	}
	take := p.choices.choose(exponent, t.at, 2)
	if (take == 1) == usual {
		return e, nil
	}
	for more {
		p.next()
		f, err := p.symbol(n)
		if err != nil {
			return e, err
		}
		if f, err = p.powers(f); err != nil {
			return e, err
		}
		e = expr.Mul(e, f.e)
		n = p.peek()
		more = n.kind == tokName && !n.spaced
	}
	if n.kind == tokOperator && n.text == "/" && !n.spaced {
		p.next()
		d, err := p.primary()
		if err != nil {
			return e, err
		}
		list := []factor{d}
		for n := p.peek(); n.kind == tokName && !n.spaced; n = p.peek() {
			p.next()
			f, err := p.symbol(n)
			if err != nil {
				return e, err
			}
			list = append(list, f)
		}
		return p.divide(e, list, first.kind == tokNumber, t.at+1)
	}
	return e, nil
}
