package slip

import (
	"cmp"
	"math"
	"strings"
)

// An Entry is a possible slip and how much it leaves unexplained: of several
// that fit, the one of the lowest rank is told.
type Entry struct {
	Found
	Rank int
	Mute bool // its words would hand over this key; sealed with the entry
}

// With puts a factor on top of the slip, and reports false where that explains
// nothing.
func (e *Entry) With(also Class) bool {
	if e.Class.isFactor() {
		return false
	}
	e.Also = also
	e.Rank += 40
	return true
}

// Decimal is the name under which it is asked whether an answer has a decimal
// number in it; no symbol has it.
const Decimal = "."

// weigh adjusts the rank to the letters that the answer lacks, and reports
// whether the slip can be meant.
func (e *Entry) weigh(has func(symbol string) bool) bool {
	switch e.Class {
	case LeftOut:
		if has(e.A) {
			e.Rank += 18 // the letter is still there: not left out as such
		}
	case Rounded:
		return has(Decimal)
	case EqualWeights:
		return !has(e.A) && !has(e.B)
	}
	return true
}

// order is negative if e is to be told rather than f; it does not depend on
// the order in which slips were found.
func (e Entry) order(f Entry) int {
	return cmp.Or(e.Rank-f.Rank, int(e.Class)-int(f.Class), int(e.Also)-int(f.Also), strings.Compare(e.A, f.A), strings.Compare(e.B, f.B))
}

// Best returns the entry to tell, of those that fit an answer in which has
// says which letters occur.
func Best(entries []Entry, has func(symbol string) bool) (best Entry, found bool) {
	for _, e := range entries {
		if e.weigh(has) && (!found || e.order(best) < 0) {
			best, found = e, true
		}
	}
	return best, found
}

// isFactor reports whether the class is itself a factor on the whole, on top
// of which another explains nothing.
func (c Class) isFactor() bool {
	switch c {
	case Sign, Factor2, HalfOfGap, FactorPi, Factor2Pi, FactorRoot2, FactorG, FactorSmall, Minutes, Prefix, PerCent, Degrees, LogBase, PiPower,
		OmegaForF, FForOmega, FForT, TForF, OmegaForT, TForOmega, TableInertia, TableCentre, TableBeam, ConstantChanged:
		return true
	}
	return false
}

// A Factor is a constant by which people slip on top of another slip.
type Factor struct {
	Class Class
	Value float64
}

// Factors are the constants that may come on top of another slip.
var Factors = makeFactors()

func makeFactors() []Factor {
	out := []Factor{{Sign, -1}}
	for _, f := range []Factor{
		{Factor2, 2}, {FactorPi, math.Pi}, {Factor2Pi, 2 * math.Pi}, {Factor2Pi, 4 * math.Pi * math.Pi},
		{FactorRoot2, math.Sqrt2}, {Prefix, 10}, {Prefix, 100}, {Prefix, 1000}, {Prefix, 1e6},
	} {
		out = append(out, f, Factor{f.Class, 1 / f.Value})
	}
	return out
}

// simpleFactor names a constant.
func simpleFactor(c float64) (Class, bool) {
	for _, f := range Factors {
		if close(c, f.Value) {
			return f.Class, true
		}
	}
	return None, false
}

// The ranks up to which a number's slip is told; tight is the relative
// tolerance from which chance is unlikely to meet one of some hundred values.
const (
	commonRank = 23
	rareRank   = 31
	tight      = 2e-3
)

// Rare reports whether a slip of this rank is told of a number only where the
// tolerance is as tight as this.
func (e Entry) Rare(value, tolerance float64) bool {
	return e.Rank > commonRank && !(tolerance <= tight*math.Abs(value))
}
