package parse

// Limits on typed text. A formula that a person types stays far below each of
// them; what exceeds one was pasted by mistake or sent to do harm.
const (
	// MaxBytes is the longest text that is read. The longest formula in the
	// worksheets, a double pendulum's acceleration in TeX, has about 400 bytes.
	MaxBytes = 20_000
	// MaxTokens bounds names, numbers and signs of one text, and so the size of
	// the tree and the time of every later step.
	MaxTokens = 4_000
	// MaxDepth is how deep brackets, roots, fractions and exponents may nest.
	MaxDepth = 100
	// MaxDigits is the longest number that is read: the largest power that is
	// written out has as many.
	MaxDigits = 2_500
	// MaxNumberBits bounds all exact numbers of one text together, written and
	// from powers, so that no sum or product of them takes long.
	MaxNumberBits = 2 * MaxPowerBits
	// MaxExponent is the largest power of ten in a number such as 1.5e-3; it
	// keeps exact decimals short and lies beyond what a float64 holds.
	MaxExponent = 1_200
	// MaxPowerBits bounds exact powers of numbers, so that 9^9^9^9 is refused
	// and not computed.
	MaxPowerBits = 4_096
	// MaxPower is the largest exponent of a symbol: whole numbers up to it are
	// exact in every later step.
	MaxPower = 1_000_000
	// MaxGroup is how far ahead the end of a group is looked for where the
	// meaning of its beginning hangs on it; it keeps reading time linear.
	MaxGroup = 4_000
	// MaxOrder is the highest derivative that is taken.
	MaxOrder = 6
	// MaxReadings is how many readings of one text are returned.
	MaxReadings = 16
	// MaxTries is how often one text is parsed in search of other readings.
	MaxTries = 96
	// MaxLetters bounds a run of letters that is searched for known symbols.
	MaxLetters = 64
)
