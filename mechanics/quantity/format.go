package quantity

import (
	"math"
	"math/big"
	"strconv"
	"strings"
)

// computedFigures are printed of a computed number: enough to check it by hand,
// few enough to read.
const computedFigures = 6

// String prints the quantity in its unit with the figures it was written with:
// "0.84 s", "(0.84 ± 0.02) s", "8.40×10² mm", "1/2 m". It reads back as the same
// quantity. A computed number has up to six figures and no zeros at the end.
func (q Quantity) String() string {
	number := q.number(plainStyle)
	if q.Unit.text == "" || strings.HasPrefix(q.Unit.text, "°") && !strings.HasSuffix(number, ")") && !strings.Contains(number, "π") {
		return number + q.Unit.text
	}
	return number + " " + q.Unit.text
}

// LaTeX prints the quantity as TeX mathematics without dollar signs. It reads back
// like [Quantity.String].
func (q Quantity) LaTeX() string {
	number := q.number(texStyle)
	switch unit := q.Unit.LaTeX(); {
	case unit == "":
		return number
	case q.Unit.text == "°" && q.Figures > 0:
		return number + `^{\circ}`
	default:
		return number + `\,` + unit
	}
}

// Concise prints the uncertainty in brackets behind the value, in units of its last
// digit: "0.84(2) s", with the value cut to the same place. Without an uncertainty it
// is String. It reads back with [Parse].
func (q Quantity) Concise() string {
	if !(q.Uncertainty > 0) || !isFinite(q.Uncertainty) || !isFinite(q.Value) {
		return q.String()
	}
	figures := q.UncertaintyFigures
	if figures == 0 {
		figures = 2 // GUM 7.2.6
	}
	scale := q.Unit.exactScale()
	u := digitsOf(q.Uncertainty, scale, figures)
	v := digitsTo(q.Value, scale, u.place)
	if v.isZero() || u.place > 0 || v.first()-u.place >= maxFigures {
		return q.String()
	}
	v.zeros = v.trailing()
	text := v.print(plainStyle)
	mantissa, power, _ := strings.Cut(text, plainStyle.times)
	if power != "" {
		power = plainStyle.times + power
	}
	text = mantissa + "(" + u.digits + ")" + power
	if q.Unit.text == "" {
		return text
	}
	return text + " " + q.Unit.text
}

// Format prints the value, without its uncertainty, in u with so many
// significant figures, rounded to even; with 0 figures as a computed number. If
// u has another dimension, the quantity's own unit is used.
func (q Quantity) Format(figures int, u Unit) string {
	if r, err := q.To(u); err == nil {
		q = r
	}
	q.Figures, q.zeros, q.ratio = max(figures, 0), 0, ratio{}
	if figures > 0 {
		q.Uncertainty, q.UncertaintyFigures = 0, 0
		if math.IsNaN(q.Value) || math.IsInf(q.Value, 0) {
			return q.String()
		}
		if d := digitsOf(q.Value, q.Unit.exactScale(), figures); d.place == 0 {
			q.zeros = int8(min(d.trailing(), 100)) // 10 s, not 1.0×10¹ s
		}
	}
	return q.String()
}

// A style holds what differs between plain text and TeX.
type style struct {
	times, raise, lower, plusMinus, open, close, pi, minus string
	superscript                                            bool
}

var (
	plainStyle = style{"×10", "", "", " ± ", "(", ")", "π", "-", true}
	texStyle   = style{`\times 10`, "^{", "}", ` \pm `, `\left(`, `\right)`, `\pi `, "-", false}
)

func (st style) power(n int) string {
	if st.superscript {
		return st.times + superscript(n)
	}
	return st.times + st.raise + strconv.Itoa(n) + st.lower
}

// number prints value and uncertainty without the unit.
func (q Quantity) number(st style) string {
	if math.IsNaN(q.Value) || math.IsInf(q.Value, 0) {
		return strconv.FormatFloat(q.Value, 'g', -1, 64)
	}
	if text, ok := q.fraction(st); ok && q.Uncertainty == 0 {
		return text
	}
	scale := q.Unit.exactScale()
	if math.IsNaN(q.Uncertainty) || math.IsInf(q.Uncertainty, 0) {
		return st.open + digitsOf(q.Value, scale, q.Figures).print(st) + st.plusMinus + strconv.FormatFloat(q.Uncertainty, 'g', -1, 64) + st.close
	}
	v := digitsOf(q.Value, scale, q.Figures)
	if q.Figures > 0 {
		v.zeros = int(q.zeros)
	}
	if q.Uncertainty == 0 && q.UncertaintyFigures == 0 {
		return v.print(st)
	}
	figures := q.UncertaintyFigures
	if figures == 0 {
		figures = 2 // GUM 7.2.6: one or two figures, and the value to the same place
	}
	u := digitsOf(q.Uncertainty, scale, figures)
	if q.Figures == 0 {
		v = digitsTo(q.Value, scale, u.place)
	}
	u.zeros = u.trailing()
	if e := v.first(); (!v.plain() || !u.plain() && !v.isZero()) && u.place <= e && u.first() >= e-maxFigures {
		v.place, u.place = v.place-e, u.place-e // (6.67430 ± 0.00015)×10⁻¹¹
		v.zeros = v.trailing()
		text := st.open + v.print(st) + st.plusMinus + u.fixed() + st.close
		if e == 0 {
			return text
		}
		return text + st.power(e)
	}
	return st.open + v.print(st) + st.plusMinus + u.print(st) + st.close
}

func (q Quantity) fraction(st style) (string, bool) {
	r := q.ratio
	if r.q == 0 || q.Figures != 0 {
		return "", false
	}
	exact := big.NewRat(r.p, r.q)
	if r.pi {
		exact.Mul(exact, piRat)
	}
	if si, _ := exact.Mul(exact, q.Unit.exactScale()).Float64(); si != q.Value {
		return "", false // the value was changed since
	}
	top := strconv.FormatInt(r.p, 10)
	if r.pi {
		top += st.pi
		if r.p == 1 || r.p == -1 {
			top = strings.TrimSuffix(strconv.FormatInt(r.p, 10), "1") + st.pi
		}
	}
	if r.q == 1 && r.pi {
		return strings.TrimSpace(top), true
	}
	return strings.TrimSpace(top) + "/" + strconv.FormatInt(r.q, 10), true
}

// exactScale returns the unit's scale before rounding.
func (u Unit) exactScale() *big.Rat {
	if u.text == "" {
		return big.NewRat(1, 1)
	}
	if s, err := scan(u.text); err == nil {
		if _, scale, err := s.unit(); err == nil {
			return scale
		}
	}
	return new(big.Rat).SetFloat64(u.Scale())
}

// digital is a number as decimal digits: ± d d d × 10^place, the place of the
// last digit.
type digital struct {
	negative bool
	digits   string
	place    int
	zeros    int
}

// digitsOf rounds si/scale to so many figures, ties to even; 0 means as many as
// a computed number has.
func digitsOf(si float64, scale *big.Rat, figures int) digital {
	figures = min(figures, maxDigits)
	x := new(big.Rat).SetFloat64(si)
	x.Quo(x, scale)
	if x.Sign() == 0 {
		if figures <= 1 {
			return digital{digits: "0"}
		}
		return digital{digits: strings.Repeat("0", figures), place: 1 - figures}
	}
	computed := figures <= 0
	if computed {
		figures = computedFigures
	}
	d := digital{negative: x.Sign() < 0}
	x.Abs(x)
	d.place = magnitude(x) - figures + 1
	n := roundRat(new(big.Rat).Quo(x, powerOfTen(d.place)), HalfEven)
	d.digits = n.String()
	if len(d.digits) > figures { // 9.96 became 10.0
		d.digits, d.place = d.digits[:figures], d.place+1
	}
	if computed {
		short := strings.TrimRight(d.digits, "0")
		d.place += len(d.digits) - len(short)
		d.digits = short
	}
	if computed && d.place > 0 && d.place+len(d.digits) <= computedFigures {
		d.zeros = d.place
		d.digits, d.place = d.digits+strings.Repeat("0", d.place), 0
	}
	return d
}

// digitsTo rounds si/scale to a multiple of 10^place, ties to even.
func digitsTo(si float64, scale *big.Rat, place int) digital {
	x := new(big.Rat).SetFloat64(si)
	x.Quo(x, scale)
	n := roundRat(new(big.Rat).Quo(x, powerOfTen(place)), HalfEven)
	d := digital{negative: n.Sign() < 0, digits: new(big.Int).Abs(n).String(), place: place}
	if n.Sign() == 0 {
		return digital{digits: strings.Repeat("0", 1+max(0, -place)), place: min(0, place)}
	}
	if place == 0 {
		d.zeros = len(d.digits) - len(strings.TrimRight(d.digits, "0"))
	}
	return d
}

// magnitude returns the power of ten of the first digit of x > 0.
func magnitude(x *big.Rat) int {
	f, _ := new(big.Float).SetPrec(64).SetRat(x).Float64()
	var e int
	if f > 0 && !math.IsInf(f, 0) {
		e = int(math.Floor(math.Log10(f)))
	} else {
		e = len(x.Num().String()) - len(x.Denom().String())
	}
	for x.Cmp(powerOfTen(e)) < 0 {
		e--
	}
	for x.Cmp(powerOfTen(e+1)) >= 0 {
		e++
	}
	return e
}

// first returns the power of ten of the first digit.
func (d digital) first() int { return d.place + len(d.digits) - 1 }

// trailing counts the zeros at the end.
func (d digital) trailing() int { return len(d.digits) - len(strings.TrimRight(d.digits, "0")) }

func (d digital) isZero() bool { return strings.Trim(d.digits, "0") == "" }

// plain reports whether the number's figures can be seen without a power of ten.
func (d digital) plain() bool {
	return d.isZero() || d.place < 0 && d.first() >= -4 || d.place == 0 && d.trailing() == d.zeros
}

// print sets the number plainly where that shows its figures, and with a power
// of ten elsewhere.
func (d digital) print(st style) string {
	sign := ""
	if d.negative {
		sign = st.minus
	}
	if d.plain() {
		return sign + d.fixed()
	}
	mantissa := d.digits[:1]
	if len(d.digits) > 1 {
		mantissa += "." + d.digits[1:]
	}
	return sign + mantissa + st.power(d.first())
}

// fixed sets the digits without sign and power of ten; the place is 0 or less.
func (d digital) fixed() string {
	switch {
	case d.isZero() && d.place < 0:
		return "0." + d.digits[1:]
	case d.isZero():
		return "0"
	case d.place == 0:
		return d.digits
	case d.first() >= 0:
		return d.digits[:d.first()+1] + "." + d.digits[d.first()+1:]
	}
	return "0." + strings.Repeat("0", -d.first()-1) + d.digits
}

// LaTeX returns the unit as upright TeX: \mathrm{m}\,\mathrm{s}^{-2}.
func (u Unit) LaTeX() string {
	if u.text == "" {
		return ""
	}
	var b strings.Builder
	b.WriteString(`\mathrm{`)
	raised := false
	for _, r := range u.text {
		plain, isRaised := superscripts[r]
		if isRaised != raised {
			b.WriteString(map[bool]string{true: "^{", false: "}"}[isRaised])
			raised = isRaised
		}
		switch {
		case isRaised:
			b.WriteRune(plain)
		case r == ' ':
			b.WriteString(`\,`)
		case r == '%':
			b.WriteString(`\%`)
		case r == '°':
			b.WriteString(`^{\circ}`)
		case r == 'µ':
			b.WriteString(`\mu `)
		case r == 'Ω':
			b.WriteString(`\Omega `)
		default:
			b.WriteRune(r)
		}
	}
	if raised {
		b.WriteByte('}')
	}
	b.WriteByte('}')
	return b.String()
}
