package build

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base32"
	"encoding/binary"
	"fmt"
	"math"
	"math/bits"
	"strings"

	"counterpoise/mechanics/quantity"
	"counterpoise/worksheets/source"
)

// draw returns a student's own values of the parameters that vary: from the
// range by a keyed hash, so that the same class secret gives the same values
// again and nobody without it can work them out. Different tries give different
// values.
func draw(s *source.Sheet, secret []byte, student string, try int) map[string]string {
	values := map[string]string{}
	for _, p := range s.Params {
		if p.Varies() {
			n := uint64(steps(p)) + 1
			h := hmac.New(sha256.New, secret)
			fmt.Fprintf(h, "%d:%s%d:%s%d:%s%d", len(s.Name), s.Name, len(student), student, len(p.Name), p.Name, try)
			k, _ := bits.Mul64(binary.BigEndian.Uint64(h.Sum(nil)), n) // even to within n/2⁶⁴
			values[p.Name] = valueAt(p, int(k))
		}
	}
	return values
}

// tokenOf is what a copy carries in place of the student's id: a keyed hash, so
// that nobody can hand in as somebody else by writing another id.
func tokenOf(s *source.Sheet, secret []byte, student string) string {
	h := hmac.New(sha256.New, secret)
	fmt.Fprintf(h, "token %d:%s%d:%s", len(s.Name), s.Name, len(student), student)
	return strings.ToLower(base32.StdEncoding.EncodeToString(h.Sum(nil)[:10]))
}

// steps is the number of steps from the least to the greatest value.
func steps(p source.Param) int {
	return int(math.Round((p.To.Value - p.From.Value) / p.Step.Value))
}

// valueAt prints the value k steps above the least, in the unit of the printed
// value, to the place of the step or of the printed value, whichever is finer.
func valueAt(p source.Param, k int) string {
	unit := p.Value.Unit
	si := p.From.Value + float64(k)*p.Step.Value
	x, err := quantity.New(si, unit).In(unit)
	if err != nil {
		return p.Value.String()
	}
	text := fmt.Sprintf("%.*f", decimals(p), x)
	if u := unit.String(); u != "" {
		text += " " + u
	}
	return text
}

// decimals is the number of places after the point that the values of a
// parameter need in its unit.
func decimals(p source.Param) int {
	places := 0
	for _, q := range []quantity.Quantity{p.Value, p.From, p.Step} {
		x, err := q.In(p.Value.Unit)
		if err != nil {
			continue
		}
		n := 0
		for n < 12 && math.Abs(x-math.Round(x*math.Pow10(n))/math.Pow10(n)) > 1e-9*math.Abs(x) {
			n++
		}
		places = max(places, n)
	}
	if x, err := p.Value.In(p.Value.Unit); err == nil && p.Value.Figures > 0 && x != 0 {
		places = max(places, p.Value.Figures-1-int(math.Floor(math.Log10(math.Abs(x)))))
	}
	return min(max(places, 0), 12)
}
