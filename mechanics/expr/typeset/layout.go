package typeset

import (
	"math/big"
	"slices"
	"strconv"
	"strings"

	"counterpoise/mechanics/expr"
)

// A shape is one way in which parts stand together on paper.
type shape uint8

const (
	number   shape = iota // text
	name                  // text, canonical
	sum                   // parts, some of them negative
	negative              // one part with a minus sign
	product               // parts side by side
	fraction              // two parts, one above the other
	power                 // base and exponent
	root                  // radicand; text is the index, "" for a square root
	call                  // text is the function; parts are its arguments
	raised                // a call's function to a whole power, as in sin²θ: text and power, then the arguments
	modulus               // one part
	cases                 // two sides of a comparison, then both values; text is < or ≤
	brackets              // one part
	words                 // text, in place of what is too long to write
)

// A box is an expression laid out, before it is written in some notation.
type box struct {
	shape shape
	text  string
	up    string // raised: the whole power
	parts []box
}

func enclosed(b box) box { return box{shape: brackets, parts: []box{b}} }

// tight returns b in brackets unless it can stand beside other factors.
func tight(b box) box {
	switch b.shape {
	case sum, negative, cases:
		return enclosed(b)
	}
	return b
}

// base returns b in brackets unless an exponent after it belongs to all of it.
func base(b box) box {
	switch b.shape {
	case name, modulus, brackets:
		return b
	case number:
		if !strings.ContainsAny(b.text, "e×") {
			return b
		}
	}
	return enclosed(b)
}

// layout arranges an expression, if it is not too large to be written.
func layout(e expr.Expr) box {
	if e.Size() > expr.MaxFormSize {
		return box{shape: words, text: e.String()}
	}
	switch e.Kind() {
	case expr.KindNumber:
		return layoutNumber(e)
	case expr.KindConstant, expr.KindSymbol:
		return box{shape: name, text: e.Name()}
	case expr.KindSum:
		return layoutSum(e)
	case expr.KindProduct, expr.KindPower:
		return layoutProduct(e)
	}
	return layoutCall(e)
}

// layoutNumber writes whole numbers and short decimals as such, and other
// fractions with a line.
func layoutNumber(e expr.Expr) box {
	r, f, _ := e.Number()
	if r == nil {
		b := box{shape: number, text: strconv.FormatFloat(f, 'g', -1, 64)}
		if f < 0 {
			return box{shape: negative, parts: []box{{shape: number, text: b.text[1:]}}}
		}
		return b
	}
	if r.Sign() < 0 {
		return box{shape: negative, parts: []box{layoutFraction(new(big.Rat).Neg(r))}}
	}
	return layoutFraction(r)
}

func layoutFraction(r *big.Rat) box {
	if text, ok := decimal(r); ok {
		return box{shape: number, text: text}
	}
	return box{shape: fraction, parts: []box{{shape: number, text: r.Num().String()}, {shape: number, text: r.Denom().String()}}}
}

// decimal writes a positive fraction as a decimal number where people do: 9.81
// and 12, but 1/4.
func decimal(r *big.Rat) (string, bool) {
	if r.IsInt() {
		text := r.Num().String()
		const long = 21 // digits beyond which zeros at the end become a power of ten
		if zeros := len(text) - len(strings.TrimRight(text, "0")); len(text) > long && zeros > 6 && zeros < largestPower {
			return text[:len(text)-zeros] + "e" + strconv.Itoa(zeros), true
		}
		return text, true
	}
	q := new(big.Int).Set(r.Denom())
	five := big.NewInt(5)
	twos, fives := int(q.TrailingZeroBits()), 0
	q.Rsh(q, uint(twos))
	for m := new(big.Int); ; fives++ {
		d, m := new(big.Int).QuoRem(q, five, m)
		if m.Sign() != 0 {
			break
		}
		q = d
	}
	if q.Cmp(big.NewInt(1)) != 0 || fives == 0 || r.Denom().Cmp(five) == 0 {
		return "", false
	}
	places := max(twos, fives)
	text := r.FloatString(places)
	if digits := strings.TrimLeft(text, "0."); places > 8 && places < largestPower && places-len(digits) > 3 {
		return digits + "e-" + strconv.Itoa(places), true
	}
	return text, places <= 40
}

// largestPower bounds powers of ten in print: the largest of a float64. Longer
// numbers are written out, or as a fraction.
const largestPower = 308

// layoutSum puts a positive term first where there is one.
func layoutSum(e expr.Expr) box {
	terms := e.Args()
	boxes := make([]box, len(terms))
	for i, t := range terms {
		boxes[i] = layout(t)
		if boxes[i].shape == sum || boxes[i].shape == cases {
			boxes[i] = enclosed(boxes[i])
		}
	}
	if boxes[0].shape == negative {
		for i, b := range boxes {
			if b.shape != negative {
				boxes = slices.Insert(slices.Delete(boxes, i, i+1), 0, b)
				break
			}
		}
	}
	return box{shape: sum, parts: boxes}
}

// layoutProduct writes a product or power, what has a negative exponent under
// a line.
func layoutProduct(e expr.Expr) box {
	c, rest := e.Coefficient()
	var above, below []factor
	factors := []expr.Expr{rest}
	if rest.Kind() == expr.KindProduct {
		factors = rest.Args()
	}
	for _, f := range factors {
		if f.Kind() == expr.KindPower {
			b, x := f.Args()[0], f.Args()[1]
			if exact, _, ok := x.Number(); ok && exact != nil && exact.Sign() < 0 {
				below = append(below, newFactor(b, new(big.Rat).Neg(exact)))
				continue
			}
		}
		if !f.IsOne() {
			above = append(above, factorOf(f))
		}
	}
	slices.SortStableFunc(above, usualOrder)
	slices.SortStableFunc(below, usualOrder)
	return assemble(c, boxesOf(above), boxesOf(below))
}

func boxesOf(list []factor) []box {
	out := make([]box, len(list))
	for i, f := range list {
		out[i] = f.box
	}
	return out
}

// assemble puts a number and factors above and below a line together.
func assemble(c expr.Expr, above, below []box) box {
	minus := false
	exact, f, _ := c.Number()
	if f < 0 {
		minus = true
		c = expr.Neg(c)
		exact, _, _ = c.Number()
	}
	switch text, ok := "", false; {
	case exact == nil:
		above = slices.Insert(above, 0, layoutNumber(c))
	case c.IsOne():
	default:
		if text, ok = decimal(exact); ok {
			above = slices.Insert(above, 0, box{shape: number, text: text})
			break
		}
		if exact.Num().Cmp(big.NewInt(1)) != 0 {
			above = slices.Insert(above, 0, box{shape: number, text: exact.Num().String()})
		}
		below = slices.Insert(below, 0, box{shape: number, text: exact.Denom().String()})
	}
	out := beside(above)
	if len(below) > 0 {
		out = box{shape: fraction, parts: []box{out, beside(below)}}
	}
	if minus {
		if out.shape == sum || out.shape == negative || out.shape == cases {
			out = enclosed(out)
		}
		return box{shape: negative, parts: []box{out}}
	}
	return out
}

// beside puts factors side by side.
func beside(list []box) box {
	switch len(list) {
	case 0:
		return box{shape: number, text: "1"}
	case 1:
		return list[0]
	}
	for i, b := range list {
		list[i] = tight(b)
	}
	return box{shape: product, parts: list}
}

// A factor is a box with its place in the usual order of factors.
type factor struct {
	box  box
	rank int
	name string
}

func factorOf(e expr.Expr) factor {
	if e.Kind() == expr.KindPower {
		b, x := e.Args()[0], e.Args()[1]
		if exact, _, ok := x.Number(); ok && exact != nil {
			return newFactor(b, exact)
		}
		f := ranked(b)
		f.box = box{shape: power, parts: []box{base(layout(b)), layout(x)}}
		return f
	}
	return ranked(e)
}

// newFactor is b to the positive power x.
func newFactor(b expr.Expr, x *big.Rat) factor {
	f := ranked(b)
	switch {
	case x.IsInt() && x.Num().Cmp(big.NewInt(1)) == 0:
	case x.Num().Cmp(big.NewInt(1)) == 0 && x.Denom().Cmp(big.NewInt(2)) == 0:
		f.box, f.rank = box{shape: root, parts: []box{f.box}}, rankRoot
	case x.Num().Cmp(big.NewInt(1)) == 0 && x.Denom().Cmp(big.NewInt(3)) == 0:
		f.box, f.rank = box{shape: root, text: "3", parts: []box{f.box}}, rankRoot
	case x.IsInt() && f.box.shape == call && raisable[f.box.text]:
		f.box = box{shape: raised, text: f.box.text, up: x.Num().String(), parts: f.box.parts}
	default:
		f.box = box{shape: power, parts: []box{base(f.box), layout(expr.BigRat(x))}}
	}
	return f
}

// raisable functions take a whole power between name and argument.
var raisable = map[string]bool{"sin": true, "cos": true, "tan": true, "sinh": true, "cosh": true, "tanh": true}

// The order in which factors are usually written.
const (
	rankNumber = iota
	rankPi
	rankCoefficient // k, c, G, E, I, ρ …
	rankMass
	rankGravity
	rankLatin
	rankGreek
	rankTime // t, and time derivatives
	rankRoot
	rankSum
	rankCall
)

func ranked(e expr.Expr) factor {
	f := factor{box: layout(e), rank: rankCall}
	switch e.Kind() {
	case expr.KindNumber:
		f.rank = rankNumber
	case expr.KindConstant:
		f.rank = rankPi
	case expr.KindSum:
		f.rank = rankSum
	case expr.KindSymbol:
		f.name = e.Name()
		f.rank = rankOfSymbol(f.name)
	}
	return f
}

func rankOfSymbol(name string) int {
	if strings.HasSuffix(name, "'") {
		return rankTime
	}
	stem, _, _ := strings.Cut(name, "_")
	switch stem {
	case "t":
		return rankTime
	case "k", "c", "κ", "G", "E", "I", "J", "ρ", "μ", "η", "A", "N", "n":
		return rankCoefficient
	case "m", "M":
		return rankMass
	case "g":
		return rankGravity
	}
	if stem != "" && stem[0] >= 0x80 {
		return rankGreek
	}
	return rankLatin
}

func usualOrder(a, b factor) int {
	if a.rank != b.rank {
		return a.rank - b.rank
	}
	return strings.Compare(a.name, b.name)
}

// layoutCall writes a function with its arguments.
func layoutCall(e expr.Expr) box {
	var args []box
	for _, a := range e.Args() {
		args = append(args, layout(a))
	}
	switch e.Function() {
	case expr.FnAbs:
		return box{shape: modulus, parts: args}
	case expr.FnIfLess:
		return box{shape: cases, text: "<", parts: args}
	case expr.FnIfLessEqual:
		return box{shape: cases, text: "≤", parts: args}
	}
	return box{shape: call, text: e.Name(), parts: args}
}

// eachTerm goes through a sum: the sign before each term but the first, then the
// term without its sign.
func eachTerm(parts []box, sign func(text string), write func(box)) {
	for i, p := range parts {
		switch {
		case i == 0:
		case p.shape == negative:
			sign("-")
			p = p.parts[0]
		default:
			sign("+")
		}
		write(p)
	}
}

// statement puts sides together with a relation between each two.
func statement(sides []expr.Expr, relations []string, side func(expr.Expr), relation func(string)) {
	for i, e := range sides {
		if i > 0 && i <= len(relations) {
			relation(relations[i-1])
		}
		side(e)
	}
}

// has reports whether a shape occurs in b.
func (b box) has(s shape) bool {
	if b.shape == s {
		return true
	}
	for _, p := range b.parts {
		if p.has(s) {
			return true
		}
	}
	return false
}
