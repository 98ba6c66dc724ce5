package tex

import "strings"

// A class is what an atom is for the space round it (The TeXbook, chapter 18).
type class int

const (
	ordinary class = iota
	function       // sin, log: a thin space before an argument without brackets
	binary
	relation
	opening
	closing
	punctuation
	space
)

// An atom is one piece of a row.
type atom struct {
	xml    string
	class  class
	limits bool   // indices go under and over, in display
	always bool   // indices go under and over everywhere
	signs  bool   // plus or minus: prefix where no term stands before it
	text   string // of signs: the character
}

// join writes a row, telling signs from sums and setting functions off.
func join(row []atom) string {
	var b strings.Builder
	before := opening
	for i, a := range row {
		switch {
		case a.signs && (before == opening || before == binary || before == relation || before == punctuation || before == function):
			b.WriteString(`<mo form="prefix" stretchy="false">` + a.text + `</mo>`)
			continue
		default:
			b.WriteString(a.xml)
		}
		if a.class == function {
			b.WriteString("<mo>\u2061</mo>")
			if next := follower(row[i+1:]); next == ordinary || next == function {
				b.WriteString(`<mspace width="0.1667em"/>`)
			}
		}
		if a.class != space {
			before = a.class
		}
	}
	return b.String()
}

// follower is the class of what comes next; relation if nothing does.
func follower(rest []atom) class {
	if len(rest) == 0 {
		return relation
	}
	if rest[0].signs {
		return binary
	}
	return rest[0].class
}

// group is a row as one element.
func group(row []atom) string {
	if len(row) == 1 && !row[0].signs && row[0].class != function {
		return row[0].xml
	}
	return "<mrow>" + join(row) + "</mrow>"
}
