package quantity

import (
	"fmt"
	"math/big"
	"strconv"
	"strings"
)

// A Rule says what becomes of a number that lies midway between two rounded ones.
type Rule int

// The two rules of ISO 80000-1:2009, Annex B (from memory, unchecked).
const (
	HalfEven Rule = iota // rule A: the even multiple, 12.25 → 12.2
	HalfUp               // rule B: the one greater in magnitude, 12.25 → 12.3
)

// Round returns x with so many significant figures, ties to even, as it is
// printed: "0.0120", "1.2×10⁴". It rounds the shortest decimal that stands for
// x, so that 12.35 is a tie although the float64 lies a little below.
func Round(x float64, figures int) string {
	r, ok := new(big.Rat).SetString(strconv.FormatFloat(x, 'g', -1, 64))
	if !ok {
		return strconv.FormatFloat(x, 'g', -1, 64)
	}
	d := digitsOfRat(r, min(max(figures, 1), maxDigits))
	d.zeros = d.trailing()
	return d.print(plainStyle)
}

func digitsOfRat(x *big.Rat, figures int) digital {
	if x.Sign() == 0 {
		return digitsOf(0, big.NewRat(1, 1), figures)
	}
	d := digital{negative: x.Sign() < 0}
	x = new(big.Rat).Abs(x)
	d.place = magnitude(x) - figures + 1
	d.digits = roundRat(new(big.Rat).Quo(x, powerOfTen(d.place)), HalfEven).String()
	if len(d.digits) > figures {
		d.digits, d.place = d.digits[:figures], d.place+1
	}
	return d
}

// RoundDecimals returns a decimal text rounded to so many decimals in one step
// by a rule; fewer than 0 decimals round to tens, hundreds and so on. It returns
// an error where text is not a plain decimal number.
func RoundDecimals(text string, decimals int, rule Rule) (string, error) {
	x, ok := new(big.Rat).SetString(strings.ReplaceAll(text, "−", "-"))
	if !ok || strings.ContainsAny(text, "/xXpP_") || len(text) > maxText || max(decimals, -decimals) > maxDigits {
		return "", fmt.Errorf("%q is not a decimal number: write digits with a point", text)
	}
	step := powerOfTen(-decimals)
	n := roundRat(new(big.Rat).Quo(x, step), rule)
	return new(big.Rat).Mul(new(big.Rat).SetInt(n), step).FloatString(max(decimals, 0)), nil
}

// roundRat rounds to a whole number.
func roundRat(x *big.Rat, rule Rule) *big.Int {
	n, rest := new(big.Int).QuoRem(new(big.Int).Abs(x.Num()), x.Denom(), new(big.Int))
	switch c := rest.Lsh(rest, 1).Cmp(x.Denom()); {
	case c > 0, c == 0 && (rule == HalfUp || n.Bit(0) == 1):
		n.Add(n, big.NewInt(1))
	}
	if x.Sign() < 0 {
		n.Neg(n)
	}
	return n
}
