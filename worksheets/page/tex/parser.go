package tex

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"
)

// A parser reads one formula from left to right.
type parser struct {
	src     string
	pos     int
	depth   int
	display bool
	errs    Errors
}

func (p *parser) fail(at int, reason, remedy string) {
	if len(p.errs) < 20 {
		p.errs = append(p.errs, &SyntaxError{p.src, at, reason, remedy})
	}
}

// enter goes one level deeper; the caller calls leave when it reports true.
func (p *parser) enter() bool {
	if p.depth >= MaxDepth {
		p.fail(p.pos, fmt.Sprintf("groups lie more than %d deep inside each other", MaxDepth), "split the formula")
		p.pos = len(p.src)
		return false
	}
	p.depth++
	return true
}

func (p *parser) leave() { p.depth-- }

// skip passes blanks and comments.
func (p *parser) skip() {
	for p.pos < len(p.src) {
		switch c := p.src[p.pos]; {
		case c == ' ' || c == '\t' || c == '\n' || c == '\r':
			p.pos++
		case c == '%':
			for p.pos < len(p.src) && p.src[p.pos] != '\n' {
				p.pos++
			}
		default:
			return
		}
	}
}

// command returns the control sequence at the cursor without its backslash, or
// "" if there is none. It does not move.
func (p *parser) command() string {
	rest := p.src[p.pos:]
	if len(rest) < 2 || rest[0] != '\\' {
		return ""
	}
	n := 1
	for n < len(rest) && (rest[n]|0x20 >= 'a' && rest[n]|0x20 <= 'z') {
		n++
	}
	if n == 1 {
		_, size := utf8.DecodeRuneInString(rest[1:])
		return rest[1 : 1+size]
	}
	if n < len(rest) && rest[n] == '*' && starred[rest[1:n]] {
		n++
	}
	return rest[1:n]
}

var starred = map[string]bool{"operatorname": true}

// ends tells whether the cursor is at something that ends any row.
func (p *parser) ends() bool {
	if p.pos >= len(p.src) {
		return true
	}
	switch p.src[p.pos] {
	case '}', '&':
		return true
	case '\\':
		switch p.command() {
		case "\\", "end", "right", "middle", "cr":
			return true
		}
	}
	return false
}

// stray reports what ended the outermost row and passes it.
func (p *parser) stray() {
	at := p.pos
	switch {
	case p.src[p.pos] == '}':
		p.pos++
		p.fail(at, "} without its {", `write \} for a brace`)
	case p.src[p.pos] == '&':
		p.pos++
		p.fail(at, "& outside a matrix or aligned lines", `write \& for the sign, or put the lines into \begin{aligned} … \end{aligned}`)
	default:
		cmd := p.command()
		p.pos += 1 + len(cmd)
		switch cmd {
		case "\\", "cr":
			p.fail(at, "line break outside aligned lines", `put the lines into \begin{aligned} … \end{aligned}`)
		case "end":
			p.bracesText()
			p.fail(at, `\end without its \begin`, "")
		default:
			p.fail(at, `\`+cmd+` without its \left`, "")
		}
	}
}

// row reads atoms up to something that ends a row, or up to where stop reports
// true.
func (p *parser) row(stop func() bool) []atom {
	var row []atom
	for {
		p.skip()
		if p.ends() || stop != nil && stop() {
			return row
		}
		at := p.pos
		row = append(row, p.scripted()...)
		if p.pos == at { // never stand still
			p.pos++
		}
	}
}

// scripted reads an atom with its primes, indices and powers.
func (p *parser) scripted() []atom {
	base, ok := p.atom()
	if !ok {
		return nil
	}
	var sub, sup, primes string
	start := p.pos
	for {
		p.skip()
		at := p.pos
		switch {
		case p.peek('\''):
			for p.peek('\'') {
				p.pos++
				primes += "′"
			}
		case p.peek('′') || p.peek('″'):
			_, n := utf8.DecodeRuneInString(p.src[p.pos:])
			primes += p.src[p.pos : p.pos+n]
			p.pos += n
		case p.peek('^'):
			p.pos++
			if s := p.script(); sup == "" {
				sup = s
			} else {
				p.fail(at, "two powers on one symbol", "put braces round the base: {x^a}^b")
			}
		case p.peek('_'):
			p.pos++
			if s := p.script(); sub == "" {
				sub = s
			} else {
				p.fail(at, "two indices on one symbol", "put braces round the base: {x_a}_b")
			}
		case p.peek('\\') && p.command() == "limits":
			p.pos += len(`\limits`)
			base.always = true
		case p.peek('\\') && p.command() == "nolimits":
			p.pos += len(`\nolimits`)
			base.limits = false
		default:
			if sub == "" && sup == "" && primes == "" {
				p.pos = max(start, p.pos)
				return []atom{base}
			}
			return []atom{p.attach(base, sub, sup, primes)}
		}
	}
}

// attach puts indices, powers and primes on a base.
func (p *parser) attach(base atom, sub, sup, primes string) atom {
	if primes != "" {
		mark := "<mo>" + primes + "</mo>"
		if sup == "" {
			sup = mark
		} else {
			sup = "<mrow>" + mark + sup + "</mrow>"
		}
	}
	kinds := [3]string{"msub", "msup", "msubsup"}
	if base.always || base.limits && p.display {
		kinds = [3]string{"munder", "mover", "munderover"}
	}
	xml := base.xml
	if base.xml == "" {
		xml = "<mrow></mrow>"
	}
	if base.signs {
		base.signs = false
	}
	switch {
	case sup == "":
		base.xml = "<" + kinds[0] + ">" + xml + sub + "</" + kinds[0] + ">"
	case sub == "":
		base.xml = "<" + kinds[1] + ">" + xml + sup + "</" + kinds[1] + ">"
	default:
		base.xml = "<" + kinds[2] + ">" + xml + sub + sup + "</" + kinds[2] + ">"
	}
	return base
}

// script reads the argument of ^ or _.
func (p *parser) script() string {
	display := p.display
	p.display = false
	s := p.argument("^ and _ need something after them")
	p.display = display
	return s
}

func (p *parser) peek(c rune) bool {
	r, _ := utf8.DecodeRuneInString(p.src[p.pos:])
	return p.pos < len(p.src) && r == c
}

// argument reads a group in braces, or one symbol, as one element.
func (p *parser) argument(missing string) string {
	p.skip()
	if p.ends() {
		p.fail(p.pos, missing, "")
		return ""
	}
	if p.peek('{') {
		return group(p.braces())
	}
	if c := p.src[p.pos]; c >= '0' && c <= '9' { // one digit, as in x^12
		p.pos++
		return "<mn>" + string(c) + "</mn>"
	}
	a, ok := p.atom()
	if !ok {
		return ""
	}
	return a.xml
}

// braces reads a group in braces.
func (p *parser) braces() []atom {
	at := p.pos
	p.pos++
	if !p.enter() {
		return nil
	}
	defer p.leave()
	row := p.row(nil)
	if p.peek('}') {
		p.pos++
	} else {
		p.fail(at, "{ without its }", "")
	}
	return row
}

// bracesText reads a group in braces as it stands.
func (p *parser) bracesText() (string, bool) {
	p.skip()
	if !p.peek('{') {
		return "", false
	}
	open := p.pos
	depth := 0
	for i := p.pos; i < len(p.src); i++ {
		switch p.src[i] {
		case '\\':
			i++
		case '{':
			depth++
		case '}':
			if depth--; depth == 0 {
				p.pos = i + 1
				return p.src[open+1 : i], true
			}
		}
	}
	p.fail(open, "{ without its }", "")
	p.pos = len(p.src)
	return "", false
}

// atom reads one symbol, number, group or command.
func (p *parser) atom() (atom, bool) {
	r, size := utf8.DecodeRuneInString(p.src[p.pos:])
	switch {
	case r == '{':
		return atom{xml: group(p.braces())}, true
	case r == '\\':
		return p.control()
	case r >= '0' && r <= '9' || r == '.' && p.digitAt(p.pos+1):
		return atom{xml: "<mn>" + p.number() + "</mn>"}, true
	case r == '^' || r == '_' || r == '\'':
		return atom{}, true // an empty base
	case r == '~':
		p.pos += size
		return blank("0.25em"), true
	case r == '$' || r == '#':
		p.fail(p.pos, fmt.Sprintf("%c inside a formula", r), fmt.Sprintf(`write \%c for the sign`, r))
		p.pos += size
		return atom{}, false
	}
	p.pos += size
	if s, ok := characters[r]; ok {
		return s.atom(), true
	}
	if d := strings.IndexRune("⁰¹²³⁴⁵⁶⁷⁸⁹", r); d >= 0 {
		n := strings.Count("⁰¹²³⁴⁵⁶⁷⁸⁹"[:d], "") - 1
		return atom{xml: fmt.Sprintf("<msup><mrow></mrow><mn>%d</mn></msup>", n)}, true
	}
	if unicode.IsLetter(r) {
		return letter(r), true
	}
	if unicode.IsControl(r) {
		p.fail(p.pos-size, fmt.Sprintf("the character U+%04X cannot stand in a formula", r), "remove it")
		return atom{}, false
	}
	return atom{xml: "<mo>" + escape(string(r)) + "</mo>"}, true
}

func (p *parser) digitAt(i int) bool {
	return i < len(p.src) && p.src[i] >= '0' && p.src[i] <= '9'
}

// number reads digits with at most one decimal point.
func (p *parser) number() string {
	start := p.pos
	for p.digitAt(p.pos) {
		p.pos++
	}
	if p.peek('.') && p.digitAt(p.pos+1) {
		p.pos++
		for p.digitAt(p.pos) {
			p.pos++
		}
	}
	return p.src[start:p.pos]
}

// letter is a variable; capital Greek is upright, as TeX has it.
func letter(r rune) atom {
	if r >= 'Α' && r <= 'Ω' {
		return atom{xml: `<mi mathvariant="normal">` + string(r) + "</mi>"}
	}
	return atom{xml: "<mi>" + escape(string(r)) + "</mi>"}
}

func blank(width string) atom {
	return atom{xml: `<mspace width="` + width + `"/>`, class: space}
}
