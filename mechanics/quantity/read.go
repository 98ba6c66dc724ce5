package quantity

import (
	"fmt"
	"math"
	"math/big"
	"strings"
	"unicode"
)

// Limits on a number's text.
const (
	maxDigits    = 60  // nobody measures to more; keeps exact arithmetic small
	maxFigures   = 17  // figures that are counted: a float64 holds no more
	exactFigures = 15  // figures that a float64 gives back as they were
	maxTens      = 320 // float64 ends near 1e308
)

// A decimal is a number as it was written.
type decimal struct {
	value   *big.Rat
	figures int   // digits from the first that is not 0; 0 for a fraction
	zeros   int   // zeros at the end of a whole number, which may only hold the place
	p, q    int64 // the fraction p/q, if it is one
	pi      bool  // times π
}

// Parse reads a number and a unit as people write them:
//
//	840 ms   8.4e-1 s   8.4×10⁻¹ s   8.4 \times 10^{-1}\,\mathrm{s}   1/2 m
//	0.84(2) s   0.84 ± 0.02 s   (8.4 ± 0.2)×10^-1 s   30°   2π rad/s   5 %
//
// Digits may be grouped by spaces. A number without a unit is a pure number:
// whoever wants a unit reads with [ParseAs]. The value is the float64 nearest to
// what is written, after conversion to SI.
//
// Errors are of type *[SyntaxError]: a decimal comma, an unknown unit, a number
// too large, an uncertainty in another unit.
func Parse(text string) (Quantity, error) {
	s, err := scan(text)
	if err != nil {
		return Quantity{}, err
	}
	q, err := s.quantity()
	if err != nil {
		return Quantity{}, err
	}
	return q, nil
}

// MustParse is Parse for quantities that stand in a program; it panics on an
// error.
func MustParse(text string) Quantity {
	q, err := Parse(text)
	if err != nil {
		panic(err)
	}
	return q
}

// ParseAs reads a quantity like [Parse] and insists on a dimension: the error
// says that the unit is missing, or names both dimensions where they clash.
// A pure number needs no unit; an angle may be written without one (in rad).
func ParseAs(text string, want Dimension) (Quantity, error) {
	q, err := Parse(text)
	if err != nil {
		return q, err
	}
	got := q.Unit.Dimension()
	if got == want {
		return q, nil
	}
	at := len(strings.TrimRightFunc(text, unicode.IsSpace))
	if q.Unit == (Unit{}) {
		return q, &SyntaxError{text, at, "unit is missing", "write one, such as " + Example(want)}
	}
	hint := swapped(q.Unit, want)
	if spaced, ok := q.Spaced(want); ok {
		hint = fmt.Sprintf(" (did you mean %v, with a space?)", spaced.Unit)
	}
	return q, &SyntaxError{text, unitStart(text), fmt.Sprintf("%v is the unit of %s, not of %s", q.Unit, got.describe(), want.describe()),
		"write a unit such as " + Example(want) + hint}
}

// unitStart finds the first letter that is not part of the number.
func unitStart(text string) int {
	for at, r := range text {
		if unicode.IsLetter(r) && !(strings.ContainsRune("eExX", r) && at+1 < len(text) && strings.ContainsRune("-+0123456789", rune(text[at+1]))) {
			return at
		}
	}
	return 0
}

// swapped adds a hint where the other case of a unit's letter fits: S for s.
func swapped(u Unit, want Dimension) string {
	for _, other := range []string{strings.ToLower(u.text), strings.ToUpper(u.text)} {
		if k, ok := bySymbol()[other]; ok && other != u.text && k.dim == want {
			return fmt.Sprintf(" (did you mean %s?)", other)
		}
	}
	return ""
}

// Example returns a usual unit of a dimension, for a message that asks for one.
func Example(d Dimension) string {
	for _, u := range []string{"m", "s", "kg", "N", "N m", "N/m", "m/s", "m/s²", "kg m²", "rad/s", "Pa", "kg/m³", "W"} {
		if MustUnit(u).Dimension() == d {
			return u
		}
	}
	return d.String()
}

func (s *scanner) quantity() (Quantity, *SyntaxError) {
	s.spaces()
	closing := s.opening()
	open := closing != 0
	v, err := s.number()
	if err != nil {
		return Quantity{}, err
	}
	from := s.i
	u, err := s.uncertainty(&v, open)
	if err != nil {
		return Quantity{}, err
	}
	tight := from < len(s.signs) && s.signs[from].r == '('
	if open {
		s.spaces()
		if !s.accept(closing) {
			return Quantity{}, s.fail(s.at(), "bracket is not closed", "write "+string(closing)+" after the number")
		}
		tens, found, err := s.tens()
		if err != nil {
			return Quantity{}, err
		}
		if mark := s.i; !found && (s.peek() == 'e' || s.peek() == 'E') { // (1.234 ± 0.005)e-3
			s.i++
			if tens, found = s.exponentDigits(nil); !found || max(tens, -tens) > maxTens {
				s.i, tens = mark, 0
			}
		}
		v.value.Mul(v.value, powerOfTen(tens))
		u.value.Mul(u.value, powerOfTen(tens))
		if tens != 0 {
			v.zeros = 0
		}
	}
	unit, scale, err := s.unitAfterNumber()
	if err != nil {
		return Quantity{}, err
	}
	s.spaces()
	if at := s.at(); u.figures == 0 && v.figures > 0 && s.accept('±') { // 0.84 s ± 0.02 s
		if u, err = s.uncertaintyWithUnit(at, v, unit, scale); err != nil {
			return Quantity{}, err
		}
	} else if u.figures > 0 && !open && !tight && unit.text == "%" {
		return Quantity{}, s.fail(0, "a value ± a percentage can be read in two ways", "write (5 ± 1) % or 0.84 s ± 2 %")
	}
	s.spaces()
	if strings.ContainsRune(".,;", s.peek()) && s.ahead(1) == 0 && unit.text != "" { // a full stop
		s.i++
	}
	if s.peek() != 0 {
		return Quantity{}, s.unexpected()
	}
	return s.assemble(v, u, unit, scale)
}

// assemble converts to SI with one rounding.
func (s *scanner) assemble(v, u decimal, unit Unit, scale *big.Rat) (Quantity, *SyntaxError) {
	si, _ := new(big.Rat).Mul(v.value, scale).Float64()
	du, _ := new(big.Rat).Mul(u.value, scale).Float64()
	for _, x := range [...]struct {
		si   float64
		from *big.Rat
	}{{si, v.value}, {du, u.value}} {
		if math.IsInf(x.si, 0) || x.from.Sign() != 0 && math.Abs(x.si) < 0x1p-1000 {
			return Quantity{}, s.fail(0, "number is beyond all measure", "write one between 1e-300 and 1e300")
		}
	}
	q := Quantity{Value: si, Uncertainty: du, Unit: unit, Figures: v.figures, UncertaintyFigures: u.figures, zeros: int8(v.zeros)}
	if v.figures == 0 {
		q.ratio = ratio{v.p, v.q, v.pi}
	}
	return q, nil
}

// opening takes the bracket before a number and returns what closes it: ( of
// "(0.84 ± 0.02) s", { of \SI{0.84}{s}; 0 if there is none.
func (s *scanner) opening() (closing rune) {
	if s.accept(pair) {
		s.spaces()
	}
	if closing = map[rune]rune{'(': ')', '{': '}'}[s.peek()]; closing != 0 {
		s.i++
		s.spaces()
	}
	return closing
}

// number reads a decimal with its power of ten, a fraction, or a multiple of π.
func (s *scanner) number() (decimal, *SyntaxError) {
	from := s.at()
	minus := s.sign()
	s.spaces()
	d, err := s.unsigned(from)
	if err != nil {
		return d, err
	}
	if minus {
		d.value.Neg(d.value)
		d.p = -d.p
	}
	return d, nil
}

func (s *scanner) sign() (minus bool) {
	if s.accept('-') {
		return true
	}
	s.accept('+')
	return false
}

// vulgar fractions have characters of their own.
var vulgar = map[rune][2]int64{'½': {1, 2}, '⅓': {1, 3}, '⅔': {2, 3}, '¼': {1, 4}, '¾': {3, 4}, '⅕': {1, 5}, '⅛': {1, 8}}

func (s *scanner) unsigned(from int) (decimal, *SyntaxError) {
	if v, ok := vulgar[s.peek()]; ok {
		s.i++
		return s.ratio(from, big.NewRat(v[0], v[1]))
	}
	if s.peek() == fraction {
		return s.texFraction(from)
	}
	if s.piAhead() { // π alone
		return s.ratio(from, big.NewRat(1, 1))
	}
	if !isDigit(s.peek()) && !(s.peek() == '.' && isDigit(s.ahead(1))) {
		if s.peek() == 0 {
			return decimal{}, s.fail(s.at(), "nothing is written", "write a number and a unit, such as 0.84 s")
		}
		return decimal{}, s.fail(s.at(), "number expected", "write a number first, such as 0.84 s")
	}
	d, whole, err := s.digits(from)
	if err != nil {
		return d, err
	}
	if whole && s.fractionAhead() {
		return s.slashed(from, d)
	}
	if s.piAhead() {
		return s.ratio(from, d.value)
	}
	return d, s.exponent(&d, from)
}

// digits reads digits, grouped or not, with a point.
func (s *scanner) digits(from int) (d decimal, whole bool, err *SyntaxError) {
	var text []rune
	point := -1
	for {
		r := s.peek()
		switch {
		case isDigit(r):
			text = append(text, r)
		case r == '.' && point < 0 && !(len(text) > 0 && unicode.IsLetter(s.ahead(1)) && s.ahead(1) != 'e' && s.ahead(1) != 'E'):
			point = len(text)
		case r == '.' && point >= 0 && isDigit(s.ahead(1)):
			return d, false, s.fail(s.at(), "second decimal point", "write one point only")
		case r == ' ' && s.groupAhead(text, point):
		case r == ',' && isDigit(s.ahead(1)), r == '{' && s.ahead(1) == ',' && s.ahead(2) == '}':
			return d, false, s.comma(from)
		default:
			return s.finish(from, text, point)
		}
		s.i++
	}
}

// groupAhead reports whether a space parts groups of digits: three follow, or
// behind three decimals the last one to three.
func (s *scanner) groupAhead(text []rune, point int) bool {
	n := 0
	for isDigit(s.ahead(1 + n)) {
		n++
	}
	if s.i == 0 || !isDigit(s.signs[s.i-1].r) || s.ahead(1+n) == '/' && isDigit(s.ahead(2+n)) {
		return false
	}
	if next := s.ahead(1 + n); next == '^' || superscripts[next] != 0 { // 8.412 10^-1
		return false
	}
	if point >= 0 {
		return len(text) > point && (len(text)-point)%3 == 0 && 1 <= n && n <= 3 && s.ahead(1+n) != '/'
	}
	return n == 3
}

func (s *scanner) finish(from int, text []rune, point int) (d decimal, whole bool, err *SyntaxError) {
	if len(text) > maxDigits {
		return d, false, s.fail(from, "number has too many digits", fmt.Sprintf("write at most %d", maxDigits))
	}
	n, _ := new(big.Int).SetString(string(text), 10)
	decimals := 0
	if point >= 0 {
		decimals = len(text) - point
	}
	d.value = new(big.Rat).SetFrac(n, powerOfTen(decimals).Num())
	significant := strings.TrimLeft(string(text), "0")
	d.figures = len(significant)
	if significant == "" {
		d.figures = 1 + decimals
	} else if point < 0 {
		d.zeros = len(significant) - len(strings.TrimRight(significant, "0"))
	}
	if d.figures > exactFigures {
		d.figures, d.zeros = min(d.figures, maxFigures), 0
	}
	return d, point < 0, nil
}

func (s *scanner) comma(from int) *SyntaxError {
	at := s.at()
	var text []rune
	for ; isDigit(s.peek()) || s.peek() == '.' || s.peek() == ',' && isDigit(s.ahead(1)); s.i++ {
		text = append(text, s.peek())
	}
	written := s.text[from:at]
	rest := strings.TrimPrefix(string(text), ",")
	if len(rest) == 3 && len(strings.TrimLeft(strings.Trim(written, "+-− "), "0")) > 0 && !strings.Contains(written, ".") {
		return s.fail(at, "a comma may part thousands or decimals", fmt.Sprintf("write %s%s for the thousands or %s.%s for the decimals", written, rest, written, rest))
	}
	if strings.ContainsAny(rest, ",.") || strings.Contains(written, ".") {
		return s.fail(at, "comma in a number", "part thousands by spaces and write a decimal point")
	}
	return s.fail(at, "decimal comma", fmt.Sprintf("write a point, %s.%s", written, rest))
}

// exponent reads e-1, ×10^-1 and the like behind a decimal, or the power of a
// bare 10.
func (s *scanner) exponent(d *decimal, from int) *SyntaxError {
	if r := s.peek(); r == 'e' || r == 'E' {
		mark := s.i
		s.i++
		if n, ok := s.exponentDigits(nil); ok {
			return s.scaleBy(d, n, from)
		}
		s.i = mark
	}
	if d.value.Cmp(big.NewRat(10, 1)) == 0 && (s.peek() == '^' || superscripts[s.peek()] != 0) {
		n, ok := s.tenPower()
		if !ok {
			return s.fail(s.at(), "power of ten cannot be read", "write 10^-3 or 10⁻³")
		}
		d.figures = 1
		d.value.SetInt64(1)
		return s.scaleBy(d, n, from)
	}
	n, found, err := s.tens()
	if err != nil || !found {
		return err
	}
	return s.scaleBy(d, n, from)
}

func (s *scanner) scaleBy(d *decimal, n, from int) *SyntaxError {
	if max(n, -n) > maxTens {
		return s.fail(from, "power of ten is beyond all measure", fmt.Sprintf("write one between -%d and %d", maxTens, maxTens))
	}
	d.value.Mul(d.value, powerOfTen(n))
	d.zeros = 0
	return nil
}

// tens reads ×10^n.
func (s *scanner) tens() (n int, found bool, err *SyntaxError) {
	mark := s.i
	s.spaces()
	at := s.at()
	if strings.ContainsRune("×·*xX", s.peek()) && s.peek() != 0 {
		s.i++
		s.spaces()
		if s.ten() {
			n, ok := s.tenPower()
			if !ok || max(n, -n) > maxTens {
				return 0, false, s.fail(at, "power of ten cannot be read", "write ×10^-3 or e-3")
			}
			return n, true, nil
		}
	} else if s.i > mark && s.ten() { // 8.4 10^-1
		if n, ok := s.tenPower(); ok && max(n, -n) <= maxTens {
			return n, true, nil
		}
	}
	s.i = mark
	return 0, false, nil
}

// ten takes 10 or {10}.
func (s *scanner) ten() bool {
	switch {
	case s.peek() == '1' && s.ahead(1) == '0':
		s.i += 2
		return true
	case s.peek() == '{' && s.ahead(1) == '1' && s.ahead(2) == '0' && s.ahead(3) == '}':
		s.i += 4
		return true
	}
	return false
}

// tenPower reads ^-3, ^{-3} or ⁻³ behind a 10.
func (s *scanner) tenPower() (int, bool) {
	if superscripts[s.peek()] != 0 {
		return s.exponentDigits(superscripts)
	}
	if !s.accept('^') {
		return 0, false
	}
	closing := map[rune]rune{'(': ')', '{': '}'}[s.peek()]
	if closing == 0 {
		return s.exponentDigits(nil)
	}
	s.i++
	s.spaces()
	n, ok := s.exponentDigits(nil)
	s.spaces()
	return n, ok && s.accept(closing)
}

func (s *scanner) exponentDigits(raised map[rune]rune) (int, bool) {
	n, ok := s.integer(raised)
	return int(n), ok
}

// piAhead reports whether π or pi follows, perhaps behind a dot.
func (s *scanner) piAhead() bool {
	_, ok := s.findPi()
	return ok
}

func (s *scanner) findPi() (after int, ok bool) {
	mark := s.i
	defer func() { s.i = mark }()
	s.spaces()
	if r := s.peek(); r == '·' || r == '*' {
		s.i++
		s.spaces()
	}
	if s.peek() == 'π' {
		return s.i + 1, true
	}
	if s.peekWord() == "pi" {
		return s.i + 2, true
	}
	return 0, false
}

// fractionAhead reports whether /digits follows.
func (s *scanner) fractionAhead() bool {
	n := 0
	for s.ahead(n) == ' ' {
		n++
	}
	if s.ahead(n) != '/' {
		return false
	}
	n++
	for s.ahead(n) == ' ' {
		n++
	}
	return isDigit(s.ahead(n))
}

// slashed reads the rest of p/q.
func (s *scanner) slashed(from int, above decimal) (decimal, *SyntaxError) {
	below, err := s.divisor(from)
	if err != nil {
		return above, err
	}
	return s.ratio(from, new(big.Rat).Quo(above.value, below))
}

func (s *scanner) divisor(from int) (*big.Rat, *SyntaxError) {
	s.spaces()
	s.accept('/')
	s.spaces()
	below, whole, err := s.digits(from)
	if err != nil {
		return nil, err
	}
	if !whole || below.value.Sign() == 0 {
		return nil, s.fail(from, "fraction cannot be read", "write whole numbers, such as 1/2, or a decimal")
	}
	return below.value, nil
}

// texFraction reads \frac{1}{2} and \frac12.
func (s *scanner) texFraction(from int) (decimal, *SyntaxError) {
	s.i++
	above, ok := s.texPart()
	below, ok2 := s.texPart()
	if !ok || !ok2 || below.Sign() == 0 {
		return decimal{}, s.fail(from, "fraction cannot be read", `write whole numbers, such as \frac{1}{2}, or a decimal`)
	}
	return s.ratio(from, new(big.Rat).Quo(above, below))
}

func (s *scanner) texPart() (*big.Rat, bool) {
	s.spaces()
	if isDigit(s.peek()) {
		n := int64(s.peek() - '0')
		s.i++
		return big.NewRat(n, 1), true
	}
	if !s.accept('{') {
		return nil, false
	}
	s.spaces()
	n, ok := s.integer(nil)
	s.spaces()
	return big.NewRat(n, 1), ok && s.accept('}')
}

// ratio finishes a fraction: × π, / q, and fits it into the quantity.
func (s *scanner) ratio(from int, r *big.Rat) (decimal, *SyntaxError) {
	d := decimal{value: new(big.Rat).Set(r)}
	if after, ok := s.findPi(); ok {
		s.i = after
		d.pi = true
		if s.fractionAhead() {
			below, err := s.divisor(from)
			if err != nil {
				return d, err
			}
			d.value.Quo(d.value, below)
		}
	}
	if num, den := d.value.Num(), d.value.Denom(); num.IsInt64() && den.IsInt64() && num.Int64() < 1e15 && den.Int64() < 1e15 {
		d.p, d.q = num.Int64(), den.Int64()
		if d.pi {
			d.value.Mul(d.value, piRat)
		}
		return d, nil
	}
	return d, s.fail(from, "fraction has too many digits", "write a decimal")
}

// uncertainty reads (2) or ± 0.02 behind a number. Within brackets a power of
// ten may follow them.
func (s *scanner) uncertainty(v *decimal, open bool) (decimal, *SyntaxError) {
	none := decimal{value: new(big.Rat)}
	mark := s.i
	s.spaces()
	if v.figures > 0 && s.peek() == '(' && isDigit(s.ahead(1)) {
		return s.concise(v, s.signs[:mark])
	}
	if !s.accept('±') {
		s.i = mark
		return none, nil
	}
	s.spaces()
	at := s.at()
	if v.figures == 0 {
		return none, s.fail(at, "fraction with an uncertainty", "write the value as a decimal, such as 0.50 ± 0.02")
	}
	u, err := s.number()
	if err != nil {
		return none, err
	}
	return s.checked(at, u)
}

func (s *scanner) checked(at int, u decimal) (decimal, *SyntaxError) {
	if u.value.Sign() < 0 || u.figures == 0 {
		return u, s.fail(at, "uncertainty cannot be read", "write a positive decimal, such as ± 0.02")
	}
	return u, nil
}

// concise reads the (2) of 0.84(2): the uncertainty in the last places.
func (s *scanner) concise(v *decimal, before []sign) (decimal, *SyntaxError) {
	at := s.at()
	s.i++
	u, whole, err := s.digits(at)
	if err != nil {
		return u, err
	}
	if !whole || !s.accept(')') {
		return u, s.fail(at, "uncertainty in brackets cannot be read", "write the uncertainty of the last digits, such as 0.84(2) s")
	}
	u.value.Mul(u.value, powerOfTen(-decimalsBefore(before)))
	unscaled := new(big.Rat).Set(v.value)
	if err := s.exponent(v, at); err != nil {
		return u, err
	}
	if v.value.Sign() != 0 {
		u.value.Mul(u.value, new(big.Rat).Quo(v.value, unscaled))
	}
	return u, nil
}

// decimalsBefore counts the digits after the point of the number that ends here.
func decimalsBefore(signs []sign) int {
	n := 0
	for i := len(signs) - 1; i >= 0; i-- {
		switch r := signs[i].r; {
		case isDigit(r):
			n++
		case r == '.':
			return n
		case r != ' ':
			return 0
		}
	}
	return 0
}

// unitAfterNumber reads the unit, if any.
func (s *scanner) unitAfterNumber() (Unit, *big.Rat, *SyntaxError) {
	mark := s.i
	s.spaces()
	if s.peek() == '·' || s.peek() == '*' || s.peek() == '×' {
		s.i++
		s.spaces()
	}
	switch r := s.peek(); {
	case r == '/', r == '1', r == '(', r == '{', r == '[', r == fraction, isUnitSign(r):
		if r == '1' && !s.oneOverAhead() {
			return Unit{}, nil, s.fail(s.at(), "second number", "write a single number; a mixed number as a decimal")
		}
		if r == '/' || s.peekWord() == "per" {
			return s.perUnit()
		}
		return s.unit()
	}
	s.i = mark
	s.spaces()
	if isDigit(s.peek()) {
		return Unit{}, nil, s.fail(s.at(), "second number", "write a single number; a mixed number as a decimal")
	}
	return Unit{}, big.NewRat(1, 1), nil
}

func (s *scanner) oneOverAhead() bool {
	mark := s.i
	ok := s.oneOver()
	s.i = mark
	return ok
}

// perUnit reads "/s" and "per second".
func (s *scanner) perUnit() (Unit, *big.Rat, *SyntaxError) {
	from := s.at()
	var all []factor
	for s.accept('/') || s.word("per") {
		s.spaces()
		fs, err := s.product(0, true)
		if err != nil {
			return Unit{}, nil, err
		}
		all = append(all, fs...)
		s.spaces()
	}
	if len(all) > maxFactors {
		return Unit{}, nil, s.fail(from, "unit has too many factors", fmt.Sprintf("write at most %d", maxFactors))
	}
	return s.unitOf(all, from)
}

// uncertaintyWithUnit reads the second half of "0.84 s ± 20 ms", in units of the
// first.
func (s *scanner) uncertaintyWithUnit(at int, v decimal, unit Unit, scale *big.Rat) (decimal, *SyntaxError) {
	s.spaces()
	u, err := s.number()
	if err != nil {
		return u, err
	}
	if u, err = s.checked(at, u); err != nil {
		return u, err
	}
	second, scale2, err := s.unitAfterNumber()
	if err != nil {
		return u, err
	}
	if second.text == "%" && unit.text != "%" { // 0.84 s ± 2 %
		u.value.Mul(u.value, new(big.Rat).Abs(v.value))
		u.value.Mul(u.value, scale2)
		return withAllFigures(u), nil
	}
	step := new(big.Rat).Quo(scale2, scale)
	if second.dim != unit.dim || second.angle != unit.angle || !isPowerOfTen(step) {
		return u, s.fail(at, "uncertainty is in another unit than the value", "write both in "+unit.String())
	}
	u.value.Mul(u.value, step)
	return u, nil
}

// isPowerOfTen reports whether r is 1, 10, 100 … or their inverse.
func isPowerOfTen(r *big.Rat) bool {
	one := func(n *big.Int) bool { return n.IsInt64() && n.Int64() == 1 }
	ten := func(n *big.Int) bool { return strings.TrimRight(n.String(), "0") == "1" }
	return one(r.Num()) && ten(r.Denom()) || one(r.Denom()) && ten(r.Num())
}

// withAllFigures counts the figures of an exact decimal.
func withAllFigures(d decimal) decimal {
	d.figures = 1
	if d.value.Sign() == 0 {
		return d
	}
	n := new(big.Rat).Quo(d.value, powerOfTen(magnitude(d.value)))
	for ; !n.IsInt() && d.figures < maxFigures; d.figures++ {
		n.Mul(n, big.NewRat(10, 1))
	}
	return d
}
