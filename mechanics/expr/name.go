package expr

import (
	"strings"

	"counterpoise/mechanics/expr/internal/spelling"
)

// Canonical returns the one spelling of a symbol's name under which it is kept:
//
//   - Greek letters in Unicode: theta, \theta and ϑ become θ;
//   - a subscript after an underscore: m1, m₁ and m_{1} become m_1;
//   - time derivatives as primes at the end: \dot{\theta}, θ̇ and θ′ become θ';
//   - the letter ℓ becomes l, the micro sign μ.
//
// Names of a toy's values, such as heron.cg.y, stay as they are. Canonical of
// a canonical name is that name. A text that is no name stays as it is, without
// white space around it; [CheckName] says what is wrong with it.
func Canonical(text string) string {
	if spelling.Plain(text) {
		return text
	}
	n, err := spelling.Read(text)
	if err != nil {
		return strings.TrimSpace(text)
	}
	return n.String()
}

// CheckName returns an error that says why a text cannot be the name of a
// symbol and what to write instead, nil if it can. A name, in any spelling that
// [Canonical] understands, is one or more Latin letters or one Greek letter,
// perhaps with Δ or δ before, a subscript of letters and digits after, and
// primes; or words with dots between, such as heron.cg.y. A symbol with such a
// name can be typed in a formula and is printed so that it reads back.
func CheckName(text string) error {
	if text != "" && spelling.Plain(text) {
		return nil
	}
	_, err := spelling.Read(text)
	return err
}
