package question

import (
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/expr/typeset"
	"counterpoise/worksheets/question/slip"
)

// A secret is a key, for making sure that no feedback hands it over.
type secret struct {
	symbol  string    // the key where it is one letter
	texts   []string  // ways to write it, without spaces
	numbers []float64 // its value, in SI and in its unit
}

// secretOf returns what feedback on answers to a formula must not say.
func secretOf(written string, key expr.Expr) secret {
	var s secret
	if key.Kind() == expr.KindSymbol {
		s.symbol = key.Name()
		return s
	}
	if _, v, ok := key.Number(); ok {
		s.numbers = []float64{v}
		return s
	}
	for _, text := range []string{written, typeset.Text(key), typeset.TeX(key)} {
		if text = withoutSpaces(text); len([]rune(text)) > 1 && !slices.Contains(s.texts, text) {
			s.texts = append(s.texts, text)
		}
	}
	return s
}

// muted is said in the place of words that would hand over the key.
const muted = "Not yet. Check it again, step by step: each factor, each term, each sign."

// told names and words a slip, if one was found.
func (s secret) told(a *Asked, f slip.Found, ok bool) (name, say string, found bool) {
	if !ok {
		return "", "", false
	}
	return f.Name(), s.said(a, f), true
}

// said words a slip, unless the words would hand over the key.
func (s secret) said(a *Asked, f slip.Found) string {
	say := f.Say(a.describe)
	if s.isIn(f, say) {
		return muted
	}
	return say
}

func (s secret) isIn(f slip.Found, say string) bool {
	if s.symbol != "" && (f.A == s.symbol || f.B == s.symbol) {
		return true
	}
	return s.inText(say)
}

var plainNumber = regexp.MustCompile(`\d+(?:\.\d+)?(?:[eE][-+]?\d+)?`)

// inText reports whether a text holds the key, in any spacing, or its value.
func (s secret) inText(say string) bool {
	if len(s.texts) > 0 {
		bare := withoutSpaces(say)
		for _, text := range s.texts {
			if containsWhole(bare, text) {
				return true
			}
		}
	}
	if len(s.numbers) == 0 {
		return false
	}
	for _, digits := range plainNumber.FindAllString(say, -1) {
		v, err := strconv.ParseFloat(digits, 64)
		for _, key := range s.numbers {
			if err == nil && math.Abs(v-math.Abs(key)) <= 5e-3*math.Abs(key) {
				return true
			}
		}
	}
	return false
}

// containsWhole reports whether text occurs in say and does not go on there as
// a longer name or number.
func containsWhole(say, text string) bool {
	for from := 0; ; {
		i := strings.Index(say[from:], text)
		if i < 0 {
			return false
		}
		i += from
		before, after := say[:i], say[i+len(text):]
		if !(before != "" && goesOn(lastRune(before)) && goesOn(firstRune(text))) && !(after != "" && goesOn(firstRune(after)) && goesOn(lastRune(text))) {
			return true
		}
		from = i + 1
	}
}

func goesOn(r rune) bool {
	return r == '_' || r == '.' || '0' <= r && r <= '9' || 'a' <= r && r <= 'z' || 'A' <= r && r <= 'Z' || r >= 0x370
}

func firstRune(s string) rune { return []rune(s[:min(len(s), 4)])[0] }

func lastRune(s string) rune {
	r := []rune(s[max(0, len(s)-4):])
	return r[len(r)-1]
}

func withoutSpaces(s string) string {
	return strings.NewReplacer(" ", "", "*", "", "·", "", `\,`, "", `\cdot`, "").Replace(s)
}
