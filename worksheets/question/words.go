package question

import (
	"errors"
	"regexp"
	"strings"

	"counterpoise/mechanics/quantity"
)

var (
	// wordsBefore finds what people write before a value that they are not sure of.
	wordsBefore = regexp.MustCompile(`(?i)^(?:(?:it is|ca\.?|circa|about|around|approximately|approx\.?|roughly|nearly|almost|at least|at most) *)+`)
	// lastWord finds a word at the end of a text, of letters alone.
	lastWord = regexp.MustCompile(`^(.*\S) +(\pL{2,})[.,!]?$`)
	// howOften finds what is counted in a time: "1.4 swings a second".
	howOften = regexp.MustCompile(`^(.*\d) *(\pL{2,}) +(?:a|an|per|each|every) +(\pL+)$`)
	// anyUnit begins the remedy for a word that is like no unit.
	anyUnit = "write one such as"
)

// amongWords reads a value with words around it, "ca. 1.14 s" or "50.6 mm below
// the pin", that could not be read as it stands, as err says. What is left must
// have the dimension asked for; where that is a pure number, one word behind it
// says what is counted, "45.6 swings", if it is like no unit, and so it may in
// "1.4 swings a second".
func (n *number) amongWords(text string, err error) (quantity.Quantity, bool) {
	text = wordsBefore.ReplaceAllString(text, "")
	if m := howOften.FindStringSubmatch(text); m != nil && n.dim == quantity.Frequency && n.unit.AnglePower() == 0 {
		if _, err := quantity.ParseUnit(m[2]); err != nil { // turns are read as such
			if q, err := quantity.Parse(m[1] + " per " + m[3]); err == nil && q.Dimension() == n.dim {
				return q, true
			}
		}
	}
	const most = 8 // words
	for cut := range most {
		q, wrong := quantity.Parse(text)
		if wrong == nil {
			bare := q.Unit == (quantity.Unit{})
			counted := n.dim.IsOne() && !n.unit.IsAngle() && n.unit.Scale() == 1 && cut <= 1
			if cut > 0 && (q.Dimension() != n.dim || bare && !(counted && likeNoUnit(err))) {
				return q, false
			}
			return q, true
		}
		m := lastWord.FindStringSubmatch(text)
		if m == nil || strings.EqualFold(m[2], "per") {
			return q, false
		}
		text = m[1]
	}
	return quantity.Quantity{}, false
}

// likeNoUnit reports whether a word could not be read because it is like no
// unit at all.
func likeNoUnit(err error) bool {
	var syntax *quantity.SyntaxError
	return errors.As(err, &syntax) && (strings.HasPrefix(syntax.Remedy, anyUnit) || strings.HasSuffix(syntax.Text, " times"))
}
