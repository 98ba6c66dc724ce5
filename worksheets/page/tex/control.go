package tex

import (
	"fmt"
	"regexp"
	"strings"
	"sync"
	"unicode/utf8"
)

// control reads a command with its arguments.
func (p *parser) control() (atom, bool) {
	at := p.pos
	name := p.command()
	if name == "" {
		p.pos = len(p.src)
		p.fail(at, `\ at the end of the formula`, "")
		return atom{}, false
	}
	p.pos += 1 + len(name)
	if s, ok := symbols[name]; ok {
		return s.atom(), true
	}
	if r, ok := capitals[name]; ok {
		return letter(r), true
	}
	if limits, ok := functions[name]; ok {
		return named(strings.Replace(strings.Replace(name, "limsup", "lim sup", 1), "liminf", "lim inf", 1), limits), true
	}
	if l, ok := large[name]; ok {
		return atom{xml: `<mo largeop="true" movablelimits="false">` + l.text + "</mo>", class: function, limits: l.limits}.operator(), true
	}
	if width, ok := spaces[name]; ok {
		return blank(width), true
	}
	if ignored[name] {
		return atom{class: space}, true
	}
	if !p.enter() {
		return atom{}, false
	}
	defer p.leave()
	if a, ok := accents[name]; ok {
		return p.accent(name, a.text, a.wide), true
	}
	if size, ok := sizes[name]; ok {
		return p.sized(name, size), true
	}
	if _, ok := alphabets[name]; ok {
		return atom{xml: restyle(name, p.argument(`\`+name+` needs something after it`))}, true
	}
	if read, ok := commands[name]; ok {
		return read(p, at, name), true
	}
	p.fail(at, fmt.Sprintf(`unknown command \%s`, name), suggestion(name))
	return atom{}, false
}

// operator makes a large operator stand like a function but without the
// invisible sign of application.
func (a atom) operator() atom {
	a.class = binary // a sign after it is a prefix
	return a
}

// named is a function's name.
func named(name string, limits bool) atom {
	if utf8.RuneCountInString(name) == 1 {
		return atom{xml: `<mi mathvariant="normal">` + escape(name) + "</mi>", class: function, limits: limits}
	}
	return atom{xml: "<mi>" + escape(name) + "</mi>", class: function, limits: limits}
}

// commands are those that read arguments in their own way. It is filled in
// init, since some of them read formulas again.
var commands map[string]func(p *parser, at int, name string) atom

func init() {
	commands = map[string]func(p *parser, at int, name string) atom{
		"frac": (*parser).fraction, "dfrac": (*parser).fraction, "tfrac": (*parser).fraction, "cfrac": (*parser).fraction,
		"binom": (*parser).binomial, "sqrt": (*parser).root,
		"text": (*parser).text, "textrm": (*parser).text, "textbf": (*parser).text, "textit": (*parser).text, "mbox": (*parser).text,
		"mathrm": (*parser).upright, "operatorname": (*parser).operatorName, "operatorname*": (*parser).operatorName,
		"mathit": (*parser).plain, "mathord": (*parser).plain, "mathop": (*parser).plain, "mathbin": (*parser).classed, "mathrel": (*parser).classed,
		"left": (*parser).fence, "begin": (*parser).environment,
		"displaystyle": (*parser).style, "textstyle": (*parser).style, "scriptstyle": (*parser).style,
		"overbrace": (*parser).brace, "underbrace": (*parser).brace, "underline": (*parser).brace,
		"overset": (*parser).stack, "stackrel": (*parser).stack, "underset": (*parser).stack,
		"substack": (*parser).substack, "phantom": (*parser).phantom, "boxed": (*parser).boxed,
		"not": (*parser).not, "hspace": (*parser).hspace, "bmod": (*parser).mod, "pmod": (*parser).mod, "xrightarrow": (*parser).arrow,
	}
}

func (p *parser) fraction(at int, name string) atom {
	display := p.display
	p.display = false
	top := p.argument(`\` + name + " needs a numerator")
	bottom := p.argument(`\` + name + " needs a denominator")
	p.display = display
	xml := "<mfrac>" + top + bottom + "</mfrac>"
	switch name {
	case "dfrac", "cfrac":
		xml = `<mstyle displaystyle="true" scriptlevel="0">` + xml + "</mstyle>"
	case "tfrac":
		xml = `<mstyle displaystyle="false">` + xml + "</mstyle>"
	}
	return atom{xml: xml}
}

func (p *parser) binomial(at int, name string) atom {
	top, bottom := p.argument(`\binom needs two arguments`), p.argument(`\binom needs two arguments`)
	return atom{xml: `<mrow><mo>(</mo><mfrac linethickness="0">` + top + bottom + "</mfrac><mo>)</mo></mrow>"}
}

func (p *parser) root(at int, name string) atom {
	p.skip()
	index := ""
	if p.peek('[') {
		p.pos++
		index = group(p.row(func() bool { return p.peek(']') }))
		if p.peek(']') {
			p.pos++
		} else {
			p.fail(at, `\sqrt[ without its ]`, "")
		}
	}
	p.skip()
	var inner string
	if p.peek('{') {
		inner = join(p.braces())
	} else {
		inner = p.argument(`\sqrt needs something under the root`)
	}
	if index != "" {
		return atom{xml: "<mroot><mrow>" + inner + "</mrow>" + index + "</mroot>"}
	}
	return atom{xml: "<msqrt>" + inner + "</msqrt>"}
}

// text reads words, with formulas between dollar signs inside them.
func (p *parser) text(at int, name string) atom {
	s, ok := p.bracesText()
	if !ok {
		p.fail(at, `\`+name+" needs words in braces", "")
		return atom{}
	}
	var b strings.Builder
	for i, part := range strings.Split(s, "$") {
		if i%2 == 1 {
			inner := &parser{src: part, depth: p.depth}
			row := inner.row(nil)
			if inner.pos < len(part) {
				inner.stray()
			}
			for _, e := range inner.errs {
				p.fail(at, e.Reason, e.Remedy)
			}
			b.WriteString("<mrow>" + join(row) + "</mrow>")
		} else if part != "" {
			b.WriteString("<mtext" + map[string]string{"textbf": ` class="bold"`, "textit": ` class="italic"`}[name] + ">" + escape(plainText(part)) + "</mtext>")
		}
	}
	return atom{xml: "<mrow>" + b.String() + "</mrow>"}
}

// plainText undoes the escapes of words and keeps blanks at their ends.
func plainText(s string) string {
	s = escapes().ReplaceAllString(s, "$1")
	s = strings.NewReplacer("~", "\u00a0", "{", "", "}", "", "---", "—", "--", "–").Replace(s)
	if strings.HasPrefix(s, " ") {
		s = "\u00a0" + s[1:]
	}
	if strings.HasSuffix(s, " ") {
		s = s[:len(s)-1] + "\u00a0"
	}
	return s
}

var escapes = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`\\([%$#&_{}])`) })

// upright reads letters set upright: units, differentials, labels.
func (p *parser) upright(at int, name string) atom {
	p.skip()
	if p.peek('{') {
		save := *p
		if s, ok := p.bracesText(); ok && letters().MatchString(s) {
			s = strings.NewReplacer("~", "\u00a0", `\,`, "\u2009", `\ `, "\u00a0", " ", "").Replace(s)
			if utf8.RuneCountInString(s) == 1 {
				return atom{xml: `<mi mathvariant="normal">` + escape(s) + "</mi>"}
			}
			return atom{xml: "<mi>" + escape(s) + "</mi>"}
		}
		*p = save
	}
	inner := p.argument(`\mathrm needs something after it`)
	return atom{xml: strings.ReplaceAll(inner, "<mi>", `<mi mathvariant="normal">`)}
}

// letters are what upright sets as one word.
var letters = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`^([\pL~ -]|\\,|\\ )+$`) })

func (p *parser) operatorName(at int, name string) atom {
	s, ok := p.bracesText()
	if !ok {
		p.fail(at, `\operatorname needs a name in braces`, "")
	}
	return named(strings.NewReplacer(`\,`, "\u2009", `\ `, " ", "{", "", "}", "", `\`, "").Replace(s), strings.HasSuffix(name, "*"))
}

func (p *parser) plain(at int, name string) atom {
	return atom{xml: p.argument(`\` + name + " needs something after it")}
}

func (p *parser) classed(at int, name string) atom {
	a := p.plain(at, name)
	a.class = map[string]class{"mathbin": binary, "mathrel": relation}[name]
	return a
}

func (p *parser) accent(name, mark string, wide bool) atom {
	stretchy := "false"
	if wide {
		stretchy = "true"
	}
	base := p.argument(`\` + name + " needs something under it")
	return atom{xml: `<mover accent="true">` + base + `<mo stretchy="` + stretchy + `">` + mark + "</mo></mover>"}
}

func (p *parser) brace(at int, name string) atom {
	base := p.argument(`\` + name + " needs an argument")
	switch name {
	case "overbrace":
		return atom{xml: "<mover>" + base + "<mo>⏞</mo></mover>", always: true}
	case "underbrace":
		return atom{xml: "<munder>" + base + "<mo>⏟</mo></munder>", always: true}
	}
	return atom{xml: "<munder>" + base + `<mo stretchy="true">_</mo></munder>`}
}

func (p *parser) stack(at int, name string) atom {
	small := p.script()
	base := p.argument(`\` + name + " needs two arguments")
	if name == "underset" {
		return atom{xml: "<munder>" + base + small + "</munder>", class: relation}
	}
	return atom{xml: "<mover>" + base + small + "</mover>", class: relation}
}

func (p *parser) arrow(at int, name string) atom {
	return atom{xml: `<mover><mo stretchy="true">→</mo><mpadded width="+0.6em" lspace="0.3em">` + p.script() + "</mpadded></mover>", class: relation}
}

func (p *parser) phantom(at int, name string) atom {
	return atom{xml: "<mphantom>" + p.argument(`\phantom needs an argument`) + "</mphantom>"}
}

func (p *parser) boxed(at int, name string) atom {
	return atom{xml: `<mrow class="boxed">` + p.argument(`\boxed needs an argument`) + "</mrow>"}
}

// style sets the rest of the row in another style.
func (p *parser) style(at int, name string) atom {
	display := p.display
	p.display = name == "displaystyle"
	rest := p.row(nil)
	p.display = display
	attribute := map[string]string{"displaystyle": `displaystyle="true" scriptlevel="0"`, "textstyle": `displaystyle="false" scriptlevel="0"`,
		"scriptstyle": `displaystyle="false" scriptlevel="1"`}[name]
	return atom{xml: "<mstyle " + attribute + ">" + join(rest) + "</mstyle>"}
}

// negated are relations with a stroke.
var negated = map[string]string{"=": "≠", "<": "≮", ">": "≯", "≤": "≰", "≥": "≱", "≈": "≉", "≡": "≢", "∼": "≁", "∈": "∉", "∥": "∦", "⇒": "⇏", "→": "↛", "⊂": "⊄", "∣": "∤"}

func (p *parser) not(at int, name string) atom {
	p.skip()
	if p.ends() {
		p.fail(at, `\not needs a relation after it`, "")
		return atom{}
	}
	a, _ := p.atom()
	text := strings.NewReplacer("<mo>", "", "</mo>", "", "&lt;", "<", "&gt;", ">").Replace(a.xml)
	if n, ok := negated[text]; ok {
		return symbol{n, relation}.atom()
	}
	p.fail(at, `\not does not go with what follows`, "")
	return a
}

var width = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`^-?[0-9]{1,3}(\.[0-9]{1,4})?(em|ex|pt|px|mm|cm)$`) })

func (p *parser) hspace(at int, name string) atom {
	s, _ := p.bracesText()
	if s = strings.TrimSpace(s); !width().MatchString(s) {
		p.fail(at, `\hspace needs a width such as 1em`, "")
		return atom{}
	}
	return blank(s)
}

func (p *parser) mod(at int, name string) atom {
	if name == "pmod" {
		return atom{xml: `<mrow><mspace width="1em"/><mo stretchy="false">(</mo><mi>mod</mi><mspace width="0.3333em"/>` +
			p.argument(`\pmod needs an argument`) + `<mo stretchy="false">)</mo></mrow>`}
	}
	return atom{xml: `<mo lspace="0.2222em" rspace="0.2222em">mod</mo>`, class: binary}
}
