// Package testdata holds what tests share: published values with their sources,
// recorded notebooks and messages, and the rule by which a computed number
// agrees with a printed one.
package testdata

import (
	"math/big"
	"strings"
	"testing"
)

// Agrees fails the test unless got rounds to the number as it is printed: it may
// differ by half a unit of the last printed digit. Printed may have a sign, a
// point, a power of ten (e or E) and spaces between groups of digits.
func Agrees(t testing.TB, got float64, printed string) {
	t.Helper()
	want, half, ok := read(printed)
	if !ok {
		t.Fatalf("%q is not a printed number", printed)
	}
	x := new(big.Rat).SetFloat64(got)
	if x == nil { // NaN or infinite
		t.Errorf("got %v, printed %s", got, printed)
		return
	}
	if gap := new(big.Rat).Sub(x, want); gap.Abs(gap).Cmp(half) > 0 {
		t.Errorf("got %.17g, printed %s", got, printed)
	}
}

// read returns a printed number and half a unit of its last digit.
func read(printed string) (value, half *big.Rat, ok bool) {
	text := strings.NewReplacer(" ", "", "\u2009", "", "−", "-").Replace(printed)
	value, ok = new(big.Rat).SetString(text)
	if !ok || strings.ContainsAny(text, "/xXpP_") {
		return nil, nil, false
	}
	mantissa, exponent, _ := strings.Cut(strings.ToLower(text), "e")
	if exponent == "" {
		exponent = "0"
	}
	_, decimals, _ := strings.Cut(mantissa, ".")
	unit, ok := new(big.Rat).SetString("1e" + exponent)
	if !ok {
		return nil, nil, false
	}
	for range decimals {
		unit.Quo(unit, big.NewRat(10, 1))
	}
	return value, unit.Quo(unit, big.NewRat(2, 1)), true
}
