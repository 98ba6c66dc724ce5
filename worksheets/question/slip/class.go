package slip

import "strings"

// A Class is a kind of slip. Its number is part of the sealed format: add new
// ones at the end.
type Class uint8

// The kinds of slip.
const (
	None Class = iota
	Sign
	TermSign
	Factor2
	FactorPi
	Factor2Pi
	FactorRoot2
	FactorG
	FactorOther    // a constant factor nobody has a name for
	FactorSmall    // another small whole number or its inverse
	OmegaForF      // angular frequency for frequency
	FForOmega      // frequency for angular frequency
	FForT          // frequency for period
	TForF          // period for frequency
	OmegaForT      // angular frequency for period
	TForOmega      // period for angular frequency
	SymbolCycles   // a symbol in hertz used where radians a second belong, or the reverse
	Inverse        // the whole upside down
	PartInverted   // a fraction inside upside down
	RootMissing    // or a root too many
	SquareMissing  // or a square too many
	Exponent       // another wrong exponent
	RadiusDiameter // one for the other
	HalfWhole      // a symbol twice or half as large as it belongs
	Degrees        // for radians, or the reverse
	Prefix         // a unit's prefix: a power of ten
	Minutes        // minutes or hours for seconds
	LeftOut        // a symbol left out
	TermMissing
	TermDoubled
	TermHalved
	FactorMissing // one factor of a product left out
	FunctionSwap  // sine for cosine
	FunctionLost  // a sine or cosine left out
	SymbolSwap    // one symbol in another's place
	SymbolsSwapped
	SymbolSum // a sum of two where one belongs
	ParallelAxis
	PointMass
	TableInertia
	TableCentre
	TableBeam
	TableRolling
	SeriesParallel // sums of reciprocals
	TotalForReduced
	SquareOfSum // the square of a sum for a sum of squares, and the like
	RootOfSum
	BracketLost
	MeanForDifference
	OffByOne
	NumeratorOnly
	DenominatorOnly
	Derivative
	WrongSeries
	EqualWeights // a weighted mean with equal weights
	Datum        // measured from another point
	Complement   // the other angle of a right angle
	ConstantChanged
	PiPower
	LogBase
	PartialRoot
	NotAveraged
	Sensitivity // the factor of one uncertainty
	LogLost     // a logarithm or exponential left out
	HeightDatum // a height measured from the wrong end of a swing
	RimForArea  // the derivative of an area or a volume
	SpringsJoin // springs end to end for side by side, or the reverse
	ModulusSwap // one modulus of elasticity for the other
	HalfOfGap   // half of a difference of frequencies

	SumOfProducts // a product of sums for a sum of products
	Relative      // uncertainties for relative uncertainties, and the like
	Remainder     // what has gone for what is left
	SumForProduct // two quantities added that are to be multiplied
	Rounded       // a rounded number for an exact one
	NumberForLetter
	PerCent
	classes
)

// A Found is a slip that explains an answer.
type Found struct {
	Class Class
	A, B  string // symbols that it is about, may be empty
	Also  Class  // a factor on top, or None
}

// A wording is what a class is called and what is said about it. In say, A and
// B stand for the symbols; the text after | is used where there is none.
type wording struct{ name, say string }

var wordings = [classes]wording{
	Sign:        {"sign", "Check the sign: which direction counts as positive, and which way round does the difference go?"},
	TermSign:    {"sign of a term", "Check the sign of the part with {A}: choose one direction as positive and keep to it.|One term has the wrong sign: choose one direction as positive and keep to it."},
	Factor2:     {"factor 2", "Everything fits but a factor of two. Where does a half, a double, or the square of a two come in?"},
	FactorPi:    {"factor π", "Everything fits but a factor of π. Is it a full turn, a half turn or a circle's area that comes in?"},
	Factor2Pi:   {"factor 2π", "Everything fits but a factor of 2π. Cycles or radians: one full turn is 2π radians."},
	FactorRoot2: {"factor √2", "Everything fits but a factor of √2. Look at the number under the root."},
	FactorG:     {"factor g", "Everything fits but the acceleration of free fall. Mass or weight: which of them acts here?"},
	FactorOther: {"constant factor", "The letters are all in the right place; only a number in front is off. Go through the constants once more."},
	FactorSmall: {"constant factor", "Everything fits but a whole number as a factor. Count the pieces, and look at the number that goes with this shape or case."},

	OmegaForF:    {"angular frequency for frequency", "That is in radians per second, and cycles per second were asked: how many radians make one full cycle?"},
	FForOmega:    {"frequency for angular frequency", "That counts cycles per second, and radians per second were asked: how many radians make one full cycle?"},
	FForT:        {"frequency for period", "That is how many swings there are in a second; the question asks how long one of them takes."},
	TForF:        {"period for frequency", "That is how long one swing takes; the question asks how many of them there are in a second."},
	OmegaForT:    {"angular frequency for period", "That is the angular frequency, in radians per second; the question asks how long one full swing takes."},
	TForOmega:    {"period for angular frequency", "That is how long one swing takes; the question asks for the angular frequency, in radians per second."},
	SymbolCycles: {"frequency for angular frequency", "Check {A}: is it in cycles (or turns) per second or in radians per second where you use it? One full turn is 2π radians.|Check which frequency is in cycles per second and which in radians per second."},
	Inverse:      {"inverse", "That is upside down: try what happens when one of the quantities grows."},
	PartInverted: {"inverse", "A fraction is upside down: try whether the result should grow or shrink when one of the quantities grows."},

	RootMissing:   {"square root", "Look at the square root: it is missing, is one too many, or covers the wrong part."},
	SquareMissing: {"square", "Look at the squares: one is missing, or one is too many."},
	Exponent:      {"exponent", "Check the power of {A}: how does the result grow with it?|Check the powers: one of them is wrong."},

	RadiusDiameter: {"radius for diameter", "Radius or diameter? {A} is used as if it were the other one.|Radius or diameter? One is used where the other belongs."},
	HalfWhole:      {"half for whole", "Check {A}: is it the whole or half of it that counts here, and how many pieces are there?|Check whether the whole or the half counts here."},
	Degrees:        {"degrees for radians", "Degrees or radians? Sines and series are written for radians: convert, or switch the mode of the calculator."},
	Prefix:         {"unit prefix", "A power of ten is off: check the prefixes of the units (g and kg, mm, cm and m) before you combine them.|A power of ten is off: check the prefixes of the units (g and kg, mm, cm and m) before you combine them."},
	Minutes:        {"minutes for seconds", "A factor of sixty is off: minutes or seconds?"},

	LeftOut:       {"term missing", "It looks as if {A} had been left out: bring in its share.|Something has been left out."},
	TermMissing:   {"term missing", "One part is missing: go through everything that contributes, and add what {A} brings.|One part is missing: go through everything that contributes."},
	TermDoubled:   {"term doubled", "One part counts for too much: look at the number in front of the part with {A}.|One part counts for too much: look at the number in front of it."},
	TermHalved:    {"term halved", "One part counts for too little: look at the number in front of the part with {A}.|One part counts for too little: look at the number in front of it."},
	FactorMissing: {"factor missing", "A factor is missing: what part does {A} play?|A factor is missing: check the units, and what the result depends on."},
	FunctionSwap:  {"sine for cosine", "The wrong function of the angle: sine, cosine or tangent? Try your result at an angle of zero.|The wrong function of the angle: sine, cosine or tangent? Try your result at an angle of zero."},
	FunctionLost:  {"function missing", "The angle comes in through one of its functions, sine, cosine or tangent, which is missing or one too many: what does the tilt do?"},
	SymbolSwap:    {"symbol in another's place", "Check {A} and {B}: one of them stands in the other's place.|One symbol stands in another's place."},

	SymbolsSwapped: {"symbols exchanged", "Check {A} and {B}: they have changed places."},
	SymbolSum:      {"sum for a part", "Check {A}: is it that alone which counts, or together with {B}?"},
	ParallelAxis:   {"parallel-axis term", "The moment of inertia belongs to the axis about which the body turns, not to the centre of gravity: look at the term for the distance between the two axes."},
	PointMass:      {"point mass for a body", "The body is treated as a point mass at its centre of gravity. A spread-out body resists turning more: bring in {A}.|The body is treated as a point mass. A spread-out body resists turning more."},
	TableInertia:   {"table value of another body", "The number in front belongs to another body or another axis: compare shape and axis with the question."},
	TableCentre:    {"table value of another body", "The number in front belongs to another shape: wire or plate, hollow or solid? Compare with the question."},
	TableBeam:      {"table value of another support", "The number in front belongs to a rod that is held in another way: where is it clamped, where supported, where loaded?"},
	TableRolling:   {"rolling body", "Look at the energy of turning: does the body slide or roll, and which shape rolls?"},

	SeriesParallel:  {"series for parallel", "Do the two themselves add up, or their reciprocals? Ask what they share (the force, the stretch, the time) and what adds up."},
	TotalForReduced: {"total for reduced mass", "You added the two where their reciprocals add: neither end is fixed, so think which of them moves more. The combination must be smaller than either."},
	SquareOfSum:     {"square of a sum", "Square first, then add, or add first, then square? The two differ."},
	RootOfSum:       {"power of a sum", "A root, a square or a reciprocal of a sum cannot be taken term by term."},
	BracketLost:     {"bracket", "Check the brackets: a factor applies to all of a sum, not to one term of it."},

	MeanForDifference: {"mean for difference", "Sum, mean or difference of {A} and {B}? Think which of them sets what is asked.|Sum, mean or difference? Think which of them sets what is asked."},
	OffByOne:          {"off by one", "Count once more: there is one gap fewer than there are marks."},
	NumeratorOnly:     {"not divided", "This is still to be divided: by what? Check the units of your result."},
	DenominatorOnly:   {"numerator missing", "Only the lower half of the fraction is there: what is it that is divided?"},
	Derivative:        {"derivative", "That looks like the derivative with respect to {A} of what was asked."},
	WrongSeries:       {"sine for cosine", "That is the series of another function: a sine's is not a cosine's. Try yours at zero."},
	EqualWeights:      {"equal weights", "A plain average treats all alike: let each count with its own weight."},
	Datum:             {"wrong reference point", "Check the reference point: from where does the question measure, and in which direction?"},
	Complement:        {"complementary angle", "Which angle is {A}: the one with the vertical or the one with the horizontal?"},
	ConstantChanged:   {"constant", "Check the number that goes with {A}: does all of it count, or a share of it, and how often?|One number inside is off: go through the constants once more."},
	PiPower:           {"factor 2π", "Look at the power of 2π: where a formula is squared or inverted, so is its 2π."},
	LogBase:           {"logarithm", "Natural or decimal logarithm? The two differ by a factor."},
	PartialRoot:       {"square root", "The root covers only a part of what belongs under it."},
	Sensitivity:       {"exponent in an uncertainty", "Check how strongly each quantity enters: its exponent multiplies its relative uncertainty. Look at {A}.|Check how strongly each quantity enters: its exponent multiplies its relative uncertainty."},
	LogLost:           {"function missing", "A logarithm or an exponential is missing, or is one too many."},
	HeightDatum:       {"wrong reference point", "Measured from where? Try your result at an angle of zero, where nothing has been raised yet."},
	RimForArea:        {"surface for volume", "A rim stands where an area belongs, or a surface where a volume does: the units help to see it."},
	SpringsJoin:       {"series for parallel", "Do stiffnesses add up here, or their reciprocals? In a row springs carry the same force and their stretches add; side by side they stretch alike and their forces add."},
	ModulusSwap:       {"symbol in another's place", "Check {A} and {B}: is the material stretched and bent here, or sheared and twisted?"},
	HalfOfGap:         {"factor 2", "Everything fits but a factor of two: is it the difference of the frequencies that counts here, or half of it?"},
	SumOfProducts:     {"product of sums", "Multiply first, then add: each piece goes with its own factor, and the sums cannot be multiplied as a whole."},
	SumForProduct:     {"sum for a product", "Are the two added or multiplied here? The units, or a simple case, help to see it."},
	Rounded:           {"rounded number", "A rounded number stands where an exact one is asked. Its first figures are right; write it exactly, as a fraction, a root or with π."},
	NumberForLetter:   {"number for a letter", "Keep the letter {A}: a formula is asked, and a number in its place hides the unit and how the result depends on it."},
	PerCent:           {"per cent", "A factor of a hundred is off: is it a share or per cent that is asked, and what is it a share of?"},
	Relative:          {"relative uncertainty", "Absolute or relative uncertainties? In a product or a quotient each uncertainty is weighed against its own quantity."},
	Remainder:         {"remainder", "Is it what is left that is asked, or what has gone? Try your result at the start."},
	NotAveraged:       {"not averaged", "A sum or an average? Check by how much to divide."},
}

// Name returns what the kind of slip is called.
func (f Found) Name() string {
	if f.Also != None {
		return wordings[f.Class].name + ", " + wordings[f.Also].name
	}
	return wordings[f.Class].name
}

// Say returns what to tell the student; describe turns a symbol's name into
// words, such as "M (mass of the arms)".
func (f Found) Say(describe func(symbol string) string) string {
	say, bare, two := strings.Cut(wordings[f.Class].say, "|")
	if two && f.A == "" || strings.Contains(say, "{B}") && f.B == "" && two {
		say = bare
	}
	if describe == nil {
		describe = func(symbol string) string { return symbol }
	}
	say = strings.ReplaceAll(say, "{A}", describe(f.A))
	say = strings.ReplaceAll(say, "{B}", describe(f.B))
	if f.Also != None {
		also, _, _ := strings.Cut(wordings[f.Also].say, "|")
		say += " Besides: " + strings.ToLower(also[:1]) + also[1:]
	}
	return say
}
