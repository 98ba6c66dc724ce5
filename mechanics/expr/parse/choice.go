package parse

// A choice is a place in a text at which more than one reading is customary.
type choice struct {
	kind choiceKind
	at   int // byte in the text
}

type choiceKind uint8

const (
	denominator  choiceKind = iota // 1/2m: what stands under the line
	argument                       // sin a b: what the function is taken of
	halved                         // sin θ/2: is the division inside
	raised                         // sin x^2: is the power inside
	exponent                       // x^2y: what the exponent is
	letters                        // mgd: one symbol or a product
	inverse                        // sin^-1 x: arcsine or one over
	logarithm                      // log x: natural or decimal
	degrees                        // sin 30: radians or degrees
	scientific                     // 2e-3 where e is a symbol
	radicand                       // √2gh without a bracket
	differential                   // d/dt m x: what is differentiated
	bracketed                      // cos (a-b)t/2: is the bracket all of the argument
	target                         // T = …, where only … was asked
)

var choiceWords = [...]string{
	denominator: "what stands under the division line", argument: "what the function is taken of",
	halved: "whether the division is inside the function", raised: "whether the power is inside the function",
	exponent: "what the exponent is", letters: "whether letters in a row are one symbol or a product",
	inverse: "whether -1 means the inverse function or one over", logarithm: "the base of the logarithm",
	degrees: "whether the angle is in degrees", scientific: "whether e is a power of ten or a symbol",
	bracketed: "whether a bracket is all that the function is taken of", radicand: "what stands under the root", differential: "what is differentiated", target: "whether the left side is part of the answer",
}

// choices holds, for one parse, which alternative to take at which place (the
// usual one, 0, where nothing is said) and the places that came up.
type choices struct {
	take map[choice]int
	met  []metChoice
}

type metChoice struct {
	choice
	options int
}

// choose returns which of n alternatives to take; 0 is the usual one.
func (c *choices) choose(kind choiceKind, at, n int) int {
	key := choice{kind, at}
	for _, m := range c.met {
		if m.choice == key {
			return min(c.take[key], n-1)
		}
	}
	if n > 1 {
		c.met = append(c.met, metChoice{key, n})
	}
	return min(c.take[key], n-1)
}
