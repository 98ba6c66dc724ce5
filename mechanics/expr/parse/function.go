package parse

import (
	"strings"

	"counterpoise/mechanics/expr"
)

// functionValue reads a defined symbol written as a function, V(φ), V”(φ) or
// V(0), and V” where nothing depends on time. It reports ok = false for an
// ordinary symbol.
func (p *parser) functionValue(t token) (expr.Expr, bool) {
	stem := strings.TrimRight(t.text, "'")
	order := len(t.text) - len(stem)
	arg, hasArg := p.argumentAhead()
	definition, defined := p.lex.definitions[stem]
	switch {
	case hasArg && arg.kind == tokName && order == 0 && p.i == 1 && p.afterArgument().kind == tokRelation:
		p.args = append(p.args, arg.text)
		p.i += 3
		if !p.lex.knows(stem) {
			p.fresh[stem] = true
		}
		return expr.Sym(stem), true
	case !defined:
		return expr.Expr{}, false
	case hasArg && arg.kind == tokName:
		e := p.defined(definition, arg.text)
		if !e.Has(arg.text) {
			return e, false
		}
		p.i += 3
		if order == 0 {
			return expr.Sym(stem), true
		}
		return along(e, arg.text, order), true
	case hasArg: // a number
		q, e := p.coordinateOf(definition)
		if q == "" {
			return e, false
		}
		p.i += 3
		return along(e, q, order).Subs(map[string]expr.Expr{q: expr.BigRat(arg.value)}), true
	case order > 0 && len(p.lex.time) == 0:
		if q, e := p.coordinateOf(definition); q != "" {
			return along(e, q, order), true
		}
	}
	return expr.Expr{}, false
}

// argumentAhead returns the name or number in brackets that follows at once.
func (p *parser) argumentAhead() (token, bool) {
	if !p.at(p.i, tokOpen) || p.tokens[p.i].spaced || p.tokens[p.i].text != "(" || !p.at(p.i+2, tokClose) {
		return token{}, false
	}
	arg := p.tokens[p.i+1]
	return arg, arg.kind == tokName && arg.text != expr.TimeName || arg.kind == tokNumber
}

func (p *parser) afterArgument() token {
	if p.i+3 < len(p.tokens) {
		return p.tokens[p.i+3]
	}
	return token{}
}

// coordinateOf returns the one coordinate on which a definition depends, ""
// if there is none or more, and the definition spelt out.
func (p *parser) coordinateOf(definition expr.Expr) (string, expr.Expr) {
	e := p.defined(definition, "")
	found := ""
	for _, name := range e.Symbols() {
		if !p.lex.coordinates[name] {
			continue
		}
		if found != "" {
			return "", e
		}
		found = name
	}
	return found, e
}

func along(e expr.Expr, name string, order int) expr.Expr {
	for range min(order, MaxOrder) {
		e = e.Diff(name)
	}
	return e
}
