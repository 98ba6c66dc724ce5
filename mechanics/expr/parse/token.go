package parse

import (
	"math/big"

	"counterpoise/mechanics/expr"
)

type tokenKind uint8

const (
	tokEnd tokenKind = iota
	tokNumber
	tokName
	tokFunction
	tokOperator // + - * / ±
	tokPower
	tokOpen  // ( [ {
	tokClose // ) ] }
	tokBar   // |, with side where it is known
	tokComma
	tokSemicolon
	tokRelation
	tokPrime  // after a bracket
	tokDegree // 30°
	tokFraction
	tokRoot       // of the index in braces that follows if n = 1, otherwise square
	tokSum        // Σ, and what is added up follows
	tokDerivative // d/dt, and what is differentiated follows
)

// A token is one name, number or sign of a text.
type token struct {
	kind    tokenKind
	at, end int    // bytes in the text
	text    string // a name in canonical form, an operator, a bracket
	spaced  bool   // white space that counts stands before it
	value   *big.Rat
	vulgar  bool        // a number such as ½
	unknown bool        // a name that is not among the known symbols
	base    int64       // logarithm: its base, 0 if not written
	d       *derivation // tokDerivative
	side    int8        // tokBar: -1 opens, 1 closes, 0 not said
}

// A derivation is what is written in front of what is differentiated.
type derivation struct {
	variables []string // along which, one for each order
	partial   bool
	inner     bool // what is differentiated stands above the line, in brackets that follow
}

// A constant is a name with a value.
var constants = map[string]expr.Expr{"π": expr.Pi, "e": expr.Exp(expr.Int(1))}

// unitLike are names of units that people write into formulas by mistake.
var unitLike = map[string]bool{
	"kg": true, "g": true, "mg": true, "m": true, "cm": true, "mm": true, "km": true, "s": true, "ms": true, "min": true,
	"h": true, "N": true, "J": true, "W": true, "Pa": true, "kPa": true, "MPa": true, "GPa": true, "Hz": true, "kHz": true,
	"rad": true, "rpm": true, "K": true, "C": true, "V": true, "Nm": true, "mN": true, "kN": true, "mJ": true, "kJ": true,
	"μm": true, "μs": true, "degC": true, "sec": true, "metre": true, "metres": true, "seconds": true,
}
