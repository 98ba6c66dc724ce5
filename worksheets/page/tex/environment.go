package tex

import (
	"fmt"
	"strings"
)

// environments are blocks of rows and columns: the brackets round them and how
// their columns lie (the last letter repeats: r right, l left, c centred).
var environments = map[string]struct {
	open, close, columns string
	display              bool
}{
	"matrix": {"", "", "c", false}, "smallmatrix": {"", "", "c", false}, "pmatrix": {"(", ")", "c", false}, "bmatrix": {"[", "]", "c", false},
	"Bmatrix": {"{", "}", "c", false}, "vmatrix": {"|", "|", "c", false}, "Vmatrix": {"‖", "‖", "c", false},
	"cases": {"{", "", "ll", false}, "aligned": {"", "", "rl", true}, "align": {"", "", "rl", true}, "align*": {"", "", "rl", true}, "split": {"", "", "rl", true},
	"alignedat": {"", "", "rl", true}, "gathered": {"", "", "c", true}, "gather": {"", "", "c", true}, "gather*": {"", "", "c", true},
	"equation": {"", "", "c", true}, "equation*": {"", "", "c", true}, "array": {"", "", "c", false},
}

// environment reads \begin{…} … \end{…}.
func (p *parser) environment(at int, name string) atom {
	env, ok := p.bracesText()
	e, known := environments[env]
	switch {
	case !ok:
		p.fail(at, `\begin needs a name in braces`, "")
		return atom{}
	case !known:
		p.fail(at, fmt.Sprintf(`unknown block \begin{%s}`, env), "known are aligned, cases, array, matrix, pmatrix, bmatrix, vmatrix, gathered")
	}
	columns := e.columns + "c"[min(len(e.columns), 1):] // an unknown block is read on, for its other mistakes
	if env == "array" || env == "alignedat" {
		spec, ok := p.bracesText()
		if !ok {
			p.fail(at, `\begin{`+env+`} needs its columns in braces`, `such as \begin{array}{lcr}`)
		}
		if env == "array" {
			columns = columnsOf(spec)
		}
	}
	display := p.display
	p.display = e.display
	rows := p.rows(at, env)
	p.display = display
	return atom{xml: "<mrow>" + stretched(e.open, "prefix") + table(rows, columns, e.display, env == "aligned" || env == "split" || strings.HasPrefix(env, "align")) +
		stretched(e.close, "postfix") + "</mrow>"}
}

// columnsOf keeps l, c and r of a column description.
func columnsOf(spec string) string {
	var b strings.Builder
	for _, r := range spec {
		if r == 'l' || r == 'c' || r == 'r' {
			b.WriteRune(r)
		}
	}
	if b.Len() == 0 {
		return "c"
	}
	return b.String()
}

// rows reads rows up to \end{env}.
func (p *parser) rows(at int, env string) [][][]atom {
	rows := [][][]atom{nil}
	for {
		row := p.row(nil)
		last := len(rows) - 1
		rows[last] = append(rows[last], row)
		switch {
		case p.peek('&'):
			p.pos++
			continue
		case p.peek('}'):
			p.fail(p.pos, "} without its {", `write \} for a brace`)
			p.pos++
			continue
		}
		switch here := p.pos; p.commandHere() {
		case "\\", "cr":
			p.pos += 1 + len(p.command())
			p.skipGap()
			rows = append(rows, nil)
		case "end":
			p.pos += len(`\end`)
			if closed, _ := p.bracesText(); closed != env {
				p.fail(here, fmt.Sprintf(`\end{%s} closes \begin{%s}`, closed, env), "")
			}
			if n := len(rows) - 1; n > 0 && len(rows[n]) == 1 && len(rows[n][0]) == 0 {
				rows = rows[:n] // nothing after the last line break
			}
			return rows
		case "right", "middle":
			p.fail(here, `\`+p.command()+` without its \left`, "")
			p.pos += 1 + len(p.command())
		default:
			p.fail(at, `\begin{`+env+`} without its \end{`+env+`}`, "")
			return rows
		}
	}
}

// skipGap passes the gap that may follow a line break, as in \\[4pt].
func (p *parser) skipGap() {
	rest := p.src[p.pos:]
	if strings.HasPrefix(rest, "[") {
		if end := strings.IndexByte(rest, ']'); end > 0 && width().MatchString(strings.TrimSpace(rest[1:end])) {
			p.pos += end + 1
		}
	}
}

// table writes rows; aligned ones close up between the two halves of an equation.
func table(rows [][][]atom, columns string, display, aligned bool) string {
	var b strings.Builder
	b.WriteString("<mtable")
	if display {
		b.WriteString(` displaystyle="true"`)
	}
	if aligned {
		b.WriteString(` class="aligned" columnspacing="0em 2em"`)
	}
	b.WriteString(">")
	names := map[byte]string{'l': "left", 'c': "center", 'r': "right"}
	for _, row := range rows {
		b.WriteString("<mtr>")
		for i, cell := range row {
			c := columns[min(i, len(columns)-1)]
			if aligned {
				c = columns[i%2]
			}
			b.WriteString("<mtd")
			if c != 'c' {
				b.WriteString(` class="` + names[c] + `" columnalign="` + names[c] + `"`)
			}
			b.WriteString(">")
			if aligned && i%2 == 1 {
				b.WriteString("<mrow></mrow>") // so that a relation at the start keeps its space
			}
			b.WriteString(join(cell) + "</mtd>")
		}
		b.WriteString("</mtr>")
	}
	b.WriteString("</mtable>")
	return b.String()
}

func (p *parser) substack(at int, name string) atom {
	p.skip()
	if !p.peek('{') {
		p.fail(at, `\substack needs lines in braces`, "")
		return atom{}
	}
	open := p.pos
	p.pos++
	var rows [][][]atom
	for {
		rows = append(rows, [][]atom{p.row(nil)})
		switch {
		case p.peek('}'):
			p.pos++
			return atom{xml: table(rows, "c", false, false)}
		case p.commandHere() == "\\":
			p.pos += 2
		default:
			p.fail(open, "{ without its }", "")
			return atom{}
		}
	}
}
