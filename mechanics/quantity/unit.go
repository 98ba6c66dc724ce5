package quantity

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"math/big"
	"slices"
	"strings"
	"sync"
	"unicode"
)

// A Unit is a product of powers of known units, such as "m/s²" or "N m/rad".
// The zero value is the unit of a pure number. Units compare with ==: equal
// units are written the same.
type Unit struct {
	text  string
	scale float64 // in SI base units; 0 in the zero value, which has scale 1
	dim   Dimension
	angle int
}

// Limits on a unit's text.
const (
	maxText     = 400 // bytes of a quantity: a line; nobody writes more
	maxFactors  = 20  // factors of a unit: longer ones are mistakes
	maxPower    = 24  // power of one factor
	maxRoot     = 12  // denominator of a power
	maxBrackets = 8   // depth of brackets
)

// String returns the unit as it was written, in one spelling: "m/s²". It is ""
// for a pure number and reads back as the same unit.
func (u Unit) String() string { return u.text }

// Scale returns how many SI base units one u is: 0.001 for mm.
func (u Unit) Scale() float64 {
	if u.scale == 0 {
		return 1
	}
	return u.scale
}

// Dimension returns the unit's dimension; angles are pure numbers.
func (u Unit) Dimension() Dimension { return u.dim }

// IsAngle reports whether the unit is one of angle, such as rad or °.
func (u Unit) IsAngle() bool { return u.angle == 1 && u.dim.IsOne() }

// AnglePower returns the power of angle in the unit: 1 for rad/s and rpm, 0 for
// Hz, -1 for N m/rad.
func (u Unit) AnglePower() int { return u.angle }

// Equal reports whether u and v are written the same.
func (u Unit) Equal(v Unit) bool { return u == v }

// MarshalText returns the unit's spelling.
func (u Unit) MarshalText() ([]byte, error) { return []byte(u.text), nil }

// UnmarshalText reads a unit; empty text is a pure number.
func (u *Unit) UnmarshalText(text []byte) error {
	v, err := ParseUnit(string(text))
	if err == nil {
		*u = v
	}
	return err
}

// SI returns the coherent SI unit of a dimension, in base units: "kg m² s⁻²".
func SI(d Dimension) Unit {
	if d.IsOne() {
		return Unit{}
	}
	return Unit{text: d.String(), scale: 1, dim: d}
}

// MustUnit is ParseUnit for units that stand in a program; it panics on an error.
func MustUnit(text string) Unit {
	u, err := ParseUnit(text)
	if err != nil {
		panic(err)
	}
	return u
}

// ParseUnit reads a unit: symbols or English names with powers, joined by
// spaces, · or *, with at most one run of / : "kg m² s⁻²", "m/s^2", "N·m/rad",
// "g cm^2", `\mathrm{m\,s^{-2}}`. Empty text and "1" are a pure number.
//
// Errors are of type *[SyntaxError].
func ParseUnit(text string) (Unit, error) {
	s, err := scan(text)
	if err != nil {
		return Unit{}, err
	}
	s.spaces()
	if s.peek() == 0 || s.peek() == '1' && s.ahead(1) == 0 {
		return Unit{}, nil
	}
	u, _, err := s.unit()
	if err != nil {
		return Unit{}, err
	}
	s.spaces()
	if s.peek() != 0 {
		return Unit{}, s.unexpected()
	}
	return u, nil
}

func scan(text string) (*scanner, *SyntaxError) {
	if len(text) > maxText {
		return nil, &SyntaxError{text[:maxText], maxText, "text is too long for a quantity", fmt.Sprintf("write at most %d bytes", maxText)}
	}
	signs, err := signsOf(text)
	if err != nil {
		return nil, err
	}
	return &scanner{text: text, signs: signs}, nil
}

// A factor is one symbol of a unit with its power, above or below the line.
type factor struct {
	of    known
	p, q  int64
	below bool
}

// unit reads a unit and returns it with its exact scale.
func (s *scanner) unit() (Unit, *big.Rat, *SyntaxError) {
	from := s.at()
	factors, err := s.quotient(0)
	if err != nil {
		return Unit{}, nil, err
	}
	if len(factors) > maxFactors {
		return Unit{}, nil, s.fail(from, "unit has too many factors", fmt.Sprintf("write at most %d", maxFactors))
	}
	return s.unitOf(factors, from)
}

func (s *scanner) unitOf(factors []factor, from int) (Unit, *big.Rat, *SyntaxError) {
	u := Unit{text: factorText(factors)}
	if len(factors) == 0 {
		return Unit{}, nil, s.fail(from, "unit is empty", "write one such as m, s or kg")
	}
	scale := big.NewRat(1, 1)
	for _, f := range factors {
		if max(f.p, -f.p) > maxPower || f.q > maxRoot || f.p == 0 {
			return u, nil, s.fail(from, fmt.Sprintf("power of %s is out of range", f.of.symbol), fmt.Sprintf("write a power from 1 to %d", maxPower))
		}
		p := f.p
		if f.below {
			p = -p
		}
		u.dim = u.dim.Mul(f.of.dim.Pow(int(p), int(f.q)))
		if f.q == 1 {
			u.angle += f.of.angle * int(p)
		}
		scale.Mul(scale, f.scale(p))
	}
	size, _ := scale.Float64()
	if math.IsInf(size, 0) || size < 1e-300 {
		return u, nil, s.fail(from, "unit is beyond all measure", "write smaller powers")
	}
	u.scale = size
	return u, scale, nil
}

// scale returns the exact size of the factor's unit to the power p/q; roots are
// rounded to float64.
func (f factor) scale(p int64) *big.Rat {
	size := new(big.Rat).Set(f.of.scale)
	for range f.of.pi {
		size.Mul(size, piRat)
	}
	if f.q != 1 {
		v, _ := size.Float64()
		size.SetFloat64(math.Pow(v, float64(p)/float64(f.q)))
		return size
	}
	n := big.NewInt(max(p, -p))
	num, den := new(big.Int).Exp(size.Num(), n, nil), new(big.Int).Exp(size.Denom(), n, nil)
	if p < 0 {
		num, den = den, num
	}
	return new(big.Rat).SetFrac(num, den)
}

// factorText is the one spelling of a product of units.
func factorText(factors []factor) string {
	var above, below []string
	for _, f := range factors {
		text := f.of.symbol + newExponent(f.p, f.q).String()
		if f.below {
			below = append(below, text)
		} else {
			above = append(above, text)
		}
	}
	top := strings.Join(above, " ")
	if top == "" && len(below) > 0 {
		top = "1"
	}
	switch len(below) {
	case 0:
		return top
	case 1:
		return top + "/" + below[0]
	}
	return top + "/(" + strings.Join(below, " ") + ")"
}

// quotient reads products with / between them: a/b/c is a/(b c), and a product
// below the line needs brackets.
func (s *scanner) quotient(depth int) ([]factor, *SyntaxError) {
	var all []factor
	below := false
	for {
		s.spaces()
		one := !below && s.peek() == '1' && !isDigit(s.ahead(1)) && s.oneOver()
		if !one {
			fs, err := s.product(depth, below)
			if err != nil {
				return nil, err
			}
			all = append(all, fs...)
		}
		s.spaces()
		if !s.accept('/') && !s.word("per") {
			return all, nil
		}
		below = true
	}
}

// oneOver takes the 1 of "1/s", but not of "1 s".
func (s *scanner) oneOver() bool {
	mark := s.i
	s.i++
	s.spaces()
	if s.peek() == '/' && !isDigit(s.ahead(1)) {
		return true
	}
	s.i = mark
	return false
}

// product reads factors side by side. Below the line only one may follow.
func (s *scanner) product(depth int, below bool) ([]factor, *SyntaxError) {
	var all []factor
	for {
		at := s.at()
		fs, err := s.factor(depth)
		if err != nil {
			return nil, err
		}
		if below {
			if len(all) > 0 {
				return nil, s.fail(at, "two units after a /: which is below the line?", "write brackets, as in J/(kg K)")
			}
			for i := range fs {
				fs[i].below = !fs[i].below
			}
		}
		all = append(all, fs...)
		if len(all) > maxFactors {
			return nil, s.fail(at, "unit has too many factors", fmt.Sprintf("write at most %d", maxFactors))
		}
		if !s.another() {
			return all, nil
		}
	}
}

// another reports whether one more factor follows, and takes the sign between.
func (s *scanner) another() bool {
	mark := s.i
	s.spaces()
	switch r := s.peek(); {
	case r == '·' || r == '*' || r == '×':
		s.i++
		s.spaces()
		return true
	case (r == '.' || r == '-') && unicode.IsLetter(s.ahead(1)):
		s.i++
		return true
	case r == '(' || r == '{' || r == '[' || r == fraction || isUnitSign(r):
		if w := s.peekWord(); w != "per" {
			return true
		}
	}
	s.i = mark
	return false
}

func isUnitSign(r rune) bool {
	return unicode.IsLetter(r) && r != 'π' || strings.ContainsRune("°%‰′″", r) && r != 0
}

// factor reads a symbol or a bracketed unit, and its power.
func (s *scanner) factor(depth int) ([]factor, *SyntaxError) {
	if depth > maxBrackets {
		return nil, s.fail(s.at(), "brackets are too deep", "write the unit with fewer brackets")
	}
	var fs []factor
	braces, glued := s.peek() == '{', false
	switch r := s.peek(); {
	case r == '(' || r == '{' || r == '[':
		inner, err := s.bracketed(depth)
		if err != nil {
			return nil, err
		}
		fs = inner
	case r == fraction:
		s.i++
		above, err := s.bracketed(depth)
		if err != nil {
			return nil, err
		}
		below, err := s.bracketed(depth)
		if err != nil {
			return nil, err
		}
		for i := range below {
			below[i].below = !below[i].below
		}
		fs = append(above, below...)
	case isUnitSign(r):
		if fs = s.glued(); fs != nil {
			glued = true
			break
		}
		f, err := s.symbol()
		if err != nil {
			return nil, err
		}
		fs = []factor{f}
	default:
		return nil, s.unexpected()
	}
	at := s.at()
	p, q, err := s.power()
	if err != nil {
		return nil, err
	}
	raised := 0
	if braces || glued { // \text{m s}^{-2} is set, and read, as m s⁻²; kgm^2 as kg m²
		raised = max(0, len(fs)-1)
	}
	for i := range fs {
		if i < raised {
			continue
		}
		fs[i].p, fs[i].q = fs[i].p*p, fs[i].q*q
		if d := gcd(fs[i].p, fs[i].q); d > 1 {
			fs[i].p, fs[i].q = fs[i].p/d, fs[i].q/d
		}
		if max(fs[i].p, -fs[i].p) > maxPower || fs[i].q > maxRoot || p == 0 {
			return nil, s.fail(at, "power of a unit is out of range", fmt.Sprintf("write a power from 1 to %d", maxPower))
		}
	}
	return fs, nil
}

// bracketed reads ( … ), { … } or, after \frac, one sign.
func (s *scanner) bracketed(depth int) ([]factor, *SyntaxError) {
	s.spaces()
	at := s.at()
	closing := map[rune]rune{'(': ')', '{': '}', '[': ']'}[s.peek()]
	if closing == 0 {
		return nil, s.fail(at, "bracket expected", `write \frac{m}{s}`)
	}
	s.i++
	s.spaces()
	if s.peek() == '1' && s.ahead(1) == closing && s.ahead(2) == '{' { // \frac{1}{s}
		s.i += 2
		return nil, nil
	}
	fs, err := s.quotient(depth + 1)
	if err != nil {
		return nil, err
	}
	s.spaces()
	if !s.accept(closing) {
		return nil, s.fail(at, fmt.Sprintf("%q is not closed", s.signs[s.index(at)].r), fmt.Sprintf("write %q after the unit", closing))
	}
	return fs, nil
}

func (s *scanner) index(at int) int {
	return slices.IndexFunc(s.signs, func(g sign) bool { return g.at == at })
}

func (s *scanner) peekWord() string {
	var w []rune
	for i := s.i; i < len(s.signs) && unicode.IsLetter(s.signs[i].r); i++ {
		w = append(w, s.signs[i].r)
	}
	return string(w)
}

func (s *scanner) word(w string) bool {
	if s.peekWord() != w {
		return false
	}
	s.i += len(w)
	return true
}

// symbol reads one unit symbol or name.
func (s *scanner) symbol() (factor, *SyntaxError) {
	at := s.at()
	var name string
	if strings.ContainsRune("°%‰′″", s.peek()) {
		name = string(s.peek())
		s.i++
		if w := s.peekWord(); name == "°" && (w == "C" || w == "F") {
			s.i++
			name += w
		}
	} else {
		name = s.peekWord()
		s.i += len([]rune(name))
		if power := map[string]int64{"square": 2, "cubic": 3}[name]; power != 0 { // "square metres"
			s.spaces()
			f, err := s.symbol()
			f.p *= power
			return f, err
		}
	}
	if k, ok := bySymbol()[name]; ok {
		return factor{of: k, p: 1, q: 1}, nil
	}
	if k, ok := bySymbol()[uncapitalised(name)]; ok {
		return factor{of: k, p: 1, q: 1}, nil
	}
	return factor{}, s.fail(at, fmt.Sprintf("unknown unit %q", name), suggest(name))
}

// uncapitalised returns the name of a unit that begins with a capital, Newton,
// without it; "" for anything else, since a symbol's capitals mean something.
func uncapitalised(name string) string {
	const shortest = 4 // letters of a unit's name
	rest := strings.TrimLeftFunc(name, unicode.IsUpper)
	if len(name) < shortest || len(rest) != len(name)-1 {
		return ""
	}
	return strings.ToLower(name)
}

// glued reads units of mechanics that are written without a space, kgm and Ns,
// and no name of a unit together; nil if there are none. It begins with a unit
// that is no prefix either.
func (s *scanner) glued() (fs []factor) {
	name := s.peekWord()
	if _, ok := bySymbol()[name]; ok || len(name) > longestGlued || remedies[name] != "" {
		return nil
	}
	parts := apart(name)
	if len(parts) < 2 || !slices.Contains([]string{"kg", "N", "kN", "J"}, parts[0]) {
		return nil
	}
	for i, part := range parts {
		if slices.Contains(parts[:i], part) {
			return nil
		}
		fs = append(fs, factor{of: bySymbol()[part], p: 1, q: 1})
	}
	s.i += len(name)
	return fs
}

// longestGlued is how many letters are taken apart, such as Nmrad.
const longestGlued = 6

// power reads ^2, ^{-2}, ^(1/2), ², a digit set behind the symbol, or "squared".
func (s *scanner) power() (p, q int64, err *SyntaxError) {
	before := s.i
	if s.spaces(); s.peek() != '^' {
		s.i = before
	}
	at := s.at()
	switch r := s.peek(); {
	case superscripts[r] != 0:
		p, ok := s.integer(superscripts)
		if !ok {
			return 0, 1, s.fail(at, "power expected", "write m² or m^2")
		}
		return p, 1, nil
	case r == '^':
		s.i++
		s.spaces()
		return s.caretPower(at)
	case isDigit(r), r == '-' && isDigit(s.ahead(1)):
		p, _ := s.integer(nil)
		return p, 1, nil
	}
	mark := s.i
	s.spaces()
	if s.word("squared") {
		return 2, 1, nil
	}
	if s.word("cubed") {
		return 3, 1, nil
	}
	s.i = mark
	return 1, 1, nil
}

func (s *scanner) caretPower(at int) (p, q int64, err *SyntaxError) {
	closing := map[rune]rune{'(': ')', '{': '}'}[s.peek()]
	if closing != 0 {
		s.i++
		s.spaces()
	}
	p, ok := s.integer(nil)
	q = 1
	if ok && s.peek() == '.' && s.ahead(1) == '5' && !isDigit(s.ahead(2)) { // m^0.5
		s.i += 2
		sign := int64(1)
		if p < 0 {
			sign = -1
		}
		p, q = 2*p+sign, 2
	}
	if ok && closing != 0 {
		s.spaces()
		if s.accept('/') {
			s.spaces()
			q, ok = s.integer(nil)
		}
		s.spaces()
		ok = ok && q > 0 && s.accept(closing)
	}
	if !ok {
		return 0, 1, s.fail(at, "power of a unit cannot be read", "write m^2, m^{-2} or m^(1/2)")
	}
	return p, q, nil
}

// integer reads a whole number of at most four digits, in raised signs if a map
// is given.
func (s *scanner) integer(raised map[rune]rune) (int64, bool) {
	sign, n, digits := int64(1), int64(0), 0
	for first := true; ; first = false {
		r := s.peek()
		if raised != nil {
			r = raised[r]
		}
		switch {
		case first && r == '-':
			sign = -1
		case first && r == '+':
		case isDigit(r) && digits < 4:
			n, digits = 10*n+int64(r-'0'), digits+1
		default:
			return sign * n, digits > 0
		}
		s.i++
	}
}

func (s *scanner) unexpected() *SyntaxError {
	if s.peek() == 0 {
		return s.fail(s.at(), "unit expected", "write one such as m, s or kg")
	}
	r := s.peek()
	if r == fraction {
		return s.fail(s.at(), `\frac is out of place`, `write \frac{m}{s}`)
	}
	switch {
	case isDigit(r) && s.i > 0:
		return s.fail(s.at(), "a second number", "write one number with one unit: 1.5 h, not 1 h 30 min; a power as m^2 or m^(1/2)")
	case (r == '\'' || r == '’' || r == '_') && s.i > 0 && isDigit(s.signs[s.i-1].r) && isDigit(s.ahead(1)):
		return s.fail(s.at(), fmt.Sprintf("%q in a number", r), "part thousands by spaces")
	case r == '\'' || r == '′':
		return s.fail(s.at(), fmt.Sprintf("%q is out of place", r), "write arcmin for minutes of arc, min for minutes, ft for feet")
	}
	return s.fail(s.at(), fmt.Sprintf("%q is out of place", r), "write a number and a unit, such as 0.84 s")
}

// suggest says what to write instead of an unknown unit.
func suggest(name string) string {
	if r, ok := remedies[name]; ok {
		return r
	}
	if len(name) <= longestGlued {
		if parts := apart(name); len(parts) > 1 {
			return "write " + strings.Join(parts, " ")
		}
	}
	best, least := "", 3
	for _, s := range spellings() {
		if strings.EqualFold(s, name) {
			return "did you mean " + s + "?"
		}
		if len(name) < 4 || len(s) < 4 {
			continue
		}
		if d := distance([]rune(name), []rune(s)); d < least {
			best, least = s, d
		}
	}
	if best != "" {
		return "did you mean " + best + "?"
	}
	return "write one such as m, s, kg, N or rad, with a prefix if you like"
}

// apart takes units that were written without a space apart, kgm and Ns, the
// usual units of mechanics only; nil if the name is no such product.
func apart(name string) []string {
	if name == "" {
		return []string{}
	}
	for _, u := range []string{"rad", "kg", "mm", "cm", "kN", "N", "J", "m", "g", "s"} {
		if rest, ok := strings.CutPrefix(name, u); ok {
			if parts := apart(rest); parts != nil {
				return append([]string{u}, parts...)
			}
		}
	}
	return nil
}

// spellings are all ways to write a unit, shortest first.
var spellings = sync.OnceValue(func() []string {
	all := slices.Collect(maps.Keys(bySymbol()))
	slices.SortFunc(all, func(a, b string) int { return cmp.Or(len(a)-len(b), strings.Compare(a, b)) })
	return all
})

// distance is the number of letters to change, add or leave out.
func distance(a, b []rune) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i, x := range a {
		last := row[0]
		row[0] = i + 1
		for j, y := range b {
			cost := last
			if x != y {
				cost = min(last, row[j], row[j+1]) + 1
			}
			last, row[j+1] = row[j+1], cost
		}
	}
	return row[len(b)]
}
