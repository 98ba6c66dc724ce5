package toy

import (
	"fmt"
	"maps"
	"math"
	"regexp"
	"sort"
	"strings"
	"sync"
	"unicode"
	"unicode/utf8"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/expr/parse"
	"counterpoise/mechanics/quantity"
)

// Params are the values that formulas in a toy's text may use, by name.
type Params = map[string]quantity.Quantity

// A reading is a value's text, understood: a number, or a formula.
type reading struct {
	isNumber bool
	number   float64 // SI
	formula  expr.Expr
	numbers  map[string]float64 // values of the numbers with units inside the formula
}

// value returns the reading's value in SI units.
func (r reading) value(params map[string]float64) (float64, error) {
	if r.isNumber {
		return r.number, nil
	}
	if len(r.numbers) > 0 {
		all := maps.Clone(params)
		maps.Copy(all, r.numbers)
		params = all
	}
	si, err := r.formula.Eval(params)
	if err == nil && (math.IsNaN(si) || math.IsInf(si, 0)) {
		err = fmt.Errorf("the formula comes to %v: check its parameters", si)
	}
	return si, err
}

// understand reads a value: a number with a unit, or a formula over the parameters
// in which numbers may have units too.
func understand(text string, want quantity.Dimension, p *known) (reading, error) {
	text = strings.TrimSpace(text)
	if text == "" {
		return reading{}, fmt.Errorf("nothing is written: write a value, such as %s", example(want))
	}
	q, quantityErr := quantity.Parse(text)
	isQuantity := quantityErr == nil && fits(q, want)
	f, usesParams, formulaErr := formula(text, want, p)
	switch {
	case isQuantity && formulaErr == nil && usesParams:
		if si, err := f.value(p.values); err != nil || si != q.Value {
			return f, fmt.Errorf("%q can be read as %v and as a formula with a parameter: write a * between number and parameter, or another name", text, q)
		}
		return f, nil
	case isQuantity:
		return reading{isNumber: true, number: q.Value}, nil
	case formulaErr == nil:
		return f, nil
	case quantityErr == nil && !usesParams:
		_, err := quantity.ParseAs(text, want)
		return f, err
	case usesParams || !startsWithNumber().MatchString(text):
		return f, formulaErr
	}
	return f, quantityErr
}

// known are the parameters as formulas need them.
type known struct {
	names  []string
	values map[string]float64
	dims   map[string]quantity.Dimension
}

func knownOf(params Params) *known {
	k := &known{values: map[string]float64{}, dims: map[string]quantity.Dimension{}}
	for name, q := range params {
		name = expr.Canonical(name)
		k.names = append(k.names, name)
		k.values[name], k.dims[name] = q.Value, q.Dimension()
	}
	sort.Strings(k.names)
	return k
}

var startsWithNumber = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`^[-+−]?[0-9.]`) })

// fits reports whether a quantity may stand for a dimension. Zero needs no unit.
func fits(q quantity.Quantity, want quantity.Dimension) bool {
	return q.Dimension() == want || q.Value == 0 && q.Unit == (quantity.Unit{})
}

func example(d quantity.Dimension) string {
	switch d {
	case quantity.Length:
		return "12 mm"
	case quantity.Mass:
		return "18 g"
	case quantity.One:
		return "30 deg"
	}
	return "1 " + quantity.Example(d)
}

// number is one inside a formula, with the space behind it.
var number = sync.OnceValue(func() *regexp.Regexp {
	return regexp.MustCompile(`(?:^|[^\pL\pN_.])((?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][-+]?[0-9]+)?)[ \x{2009}\x{202F}\x{A0}]*`)
})

// unitSymbol is one at the start of a text, with its power.
var unitSymbol = sync.OnceValue(func() *regexp.Regexp {
	return regexp.MustCompile(`^([µμ]?\pL+|°|%)(\^[-−]?[0-9]|\^\{[-−]?[0-9]\}|[²³]|[0-9])?`)
})

// formula reads text as a formula over the parameters and says whether it uses any.
func formula(text string, want quantity.Dimension, p *known) (f reading, usesParams bool, err error) {
	values, dims := maps.Clone(p.values), maps.Clone(p.dims)
	f.numbers = map[string]float64{}
	text = withoutUnits(text, f.numbers, dims)
	maps.Copy(values, f.numbers)
	names := append([]string(nil), p.names...)
	for name := range f.numbers {
		names = append(names, name)
	}
	sort.Strings(names)
	if len(names) == 0 { // without known names every name would be one
		names = []string{"none_0"}
	}
	f.formula, err = parse.Parse(text, parse.Options{Symbols: names})
	if err != nil && len(p.names) == 0 {
		return f, false, fmt.Errorf("%q is no value, and there are no params that a formula could use: write a value, such as %s", text, example(want))
	}
	if err != nil {
		return f, false, err
	}
	for _, s := range f.formula.Symbols() {
		if !strings.HasPrefix(s, literalName) {
			usesParams = true
		}
	}
	if _, err = f.value(values); err != nil {
		return f, usesParams, err
	}
	return f, usesParams, hasDimension(f.formula, want, values, dims)
}

// literalName begins the names that stand for numbers with units.
const literalName = "ξ_"

// withoutUnits replaces "5 mm" or "7.8 g/cm³" by a symbol of that value, unless the
// letters are a parameter.
func withoutUnits(text string, numbers map[string]float64, dims map[string]quantity.Dimension) string {
	var out strings.Builder
	last := 0
	for n, m := range number().FindAllStringSubmatchIndex(text, -1) {
		if m[2] < last {
			continue
		}
		end := m[1] + unitLength(text[m[1]:], dims)
		q, err := quantity.Parse(text[m[2]:m[3]] + " " + text[m[1]:end])
		if end == m[1] || err != nil {
			continue
		}
		name := fmt.Sprintf("%s%d", literalName, n)
		numbers[name], dims[name] = q.Value, q.Dimension()
		out.WriteString(text[last:m[2]] + "(" + name + ")")
		last = end
	}
	out.WriteString(text[last:])
	return out.String()
}

// unitLength returns how many bytes at the start of a text are a unit: symbols with
// powers, joined by / or ·, none of them a parameter.
func unitLength(text string, dims map[string]quantity.Dimension) int {
	length := 0
	for at := 0; ; {
		m := unitSymbol().FindStringSubmatchIndex(text[at:])
		if m == nil {
			return length
		}
		end := at + m[1]
		next, _ := utf8.DecodeRuneInString(text[end:])
		if next == '_' || next == '\'' || unicode.IsLetter(next) || unicode.IsDigit(next) || isParam(text[at:end], dims) || isParam(text[at:at+m[3]], dims) {
			return length
		}
		if _, err := quantity.ParseUnit(text[:end]); err != nil {
			return length
		}
		length = end
		switch r, size := utf8.DecodeRuneInString(text[end:]); r {
		case '/', '·':
			at = end + size
		default:
			return length
		}
	}
}

func isParam(name string, dims map[string]quantity.Dimension) bool {
	_, ok := dims[expr.Canonical(name)]
	return ok
}

// hasDimension checks a formula by measuring it in other units: in units a, b and
// c times as small, a mass, length and time come out a, b and c times as large,
// and a formula of the right dimension by the product that goes with it.
func hasDimension(e expr.Expr, want quantity.Dimension, values map[string]float64, dims map[string]quantity.Dimension) error {
	first, err := e.Eval(values)
	if err != nil {
		return err
	}
	for _, smaller := range [2]map[string]float64{{"kg": 1.9, "m": 2.3, "s": 3.1}, {"kg": 0.7, "m": 1.3, "s": 0.6}} {
		other := map[string]float64{}
		for name, v := range values {
			other[name] = v * factorOf(dims[name], smaller)
		}
		got, err := e.Eval(other)
		if err != nil || math.Abs(got-first*factorOf(want, smaller)) > 1e-9*(math.Abs(got)+math.Abs(first)) {
			return fmt.Errorf("the formula does not give %s: check its units, a value such as %s is wanted", nounOf(want), example(want))
		}
	}
	return nil
}

func nounOf(d quantity.Dimension) string {
	switch noun := d.Noun(); {
	case d.IsOne():
		return "an angle or pure number"
	case strings.ContainsRune("aeiou", rune((noun + " ")[0])):
		return "an " + noun
	default:
		return "a " + noun
	}
}

func factorOf(d quantity.Dimension, smaller map[string]float64) float64 {
	f := 1.0
	for unit, s := range smaller {
		p, q := d.Exponent(unit)
		f *= math.Pow(s, float64(p)/float64(q))
	}
	return f
}
