package tex

// delimiters are what may follow \left, \right and \big.
var delimiters = map[string]string{
	"(": "(", ")": ")", "[": "[", "]": "]", "|": "|", "/": "/", "<": "⟨", ">": "⟩", ".": "",
	`\{`: "{", `\}`: "}", `\|`: "‖", `\langle`: "⟨", `\rangle`: "⟩", `\lvert`: "|", `\rvert`: "|", `\lVert`: "‖", `\rVert`: "‖",
	`\vert`: "|", `\Vert`: "‖", `\lfloor`: "⌊", `\rfloor`: "⌋", `\lceil`: "⌈", `\rceil`: "⌉", `\lbrace`: "{", `\rbrace`: "}",
	`\lbrack`: "[", `\rbrack`: "]", `\uparrow`: "↑", `\downarrow`: "↓", `\backslash`: `\`,
}

// delimiter reads one bracket.
func (p *parser) delimiter(after string) string {
	p.skip()
	at := p.pos
	if p.pos < len(p.src) {
		d := p.src[p.pos : p.pos+1]
		if d == `\` {
			d = `\` + p.command()
		}
		if text, ok := delimiters[d]; ok {
			p.pos += len(d)
			return text
		}
	}
	p.fail(at, `\`+after+` needs a bracket after it`, `write \`+after+`. for none`)
	return ""
}

// fence reads \left … \middle … \right.
func (p *parser) fence(at int, name string) atom {
	xml := "<mrow>" + stretched(p.delimiter("left"), "prefix")
	for {
		xml += "<mrow>" + join(p.row(nil)) + "</mrow>"
		switch cmd := p.commandHere(); cmd {
		case "middle":
			p.pos += len(`\middle`)
			xml += stretched(p.delimiter("middle"), "infix")
		case "right":
			p.pos += len(`\right`)
			return atom{xml: xml + stretched(p.delimiter("right"), "postfix") + "</mrow>"}
		default:
			p.fail(at, `\left without its \right`, `write \right. where no bracket should stand`)
			return atom{xml: xml + "</mrow>"}
		}
	}
}

func (p *parser) commandHere() string {
	if p.pos >= len(p.src) {
		return ""
	}
	return p.command()
}

func stretched(bracket, form string) string {
	if bracket == "" {
		return ""
	}
	return `<mo stretchy="true" fence="true" form="` + form + `">` + bracket + "</mo>"
}

// sized reads a bracket of a fixed size.
func (p *parser) sized(name, size string) atom {
	d := p.delimiter(name)
	class, form := ordinary, "infix"
	switch last := name[len(name)-1]; {
	case last == 'l':
		class, form = opening, "prefix"
	case last == 'r':
		class, form = closing, "postfix"
	case last == 'm':
		class = relation
	}
	return atom{xml: `<mo stretchy="true" symmetric="true" form="` + form + `" minsize="` + size + `" maxsize="` + size + `">` + d + "</mo>", class: class}
}
