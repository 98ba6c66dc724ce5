package marking_test

import (
	"fmt"
	"math/big"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"

	"counterpoise/worksheets/build"
	"counterpoise/worksheets/marking"
	"counterpoise/worksheets/notebook"
	"counterpoise/worksheets/source"
)

// A second implementation of the marking of numbers, straight from the decimals
// of the sheet, in exact arithmetic: nothing of it comes from packages question
// and quantity.
//
// Prefixes: BIPM, The International System of Units, 9th ed., table 7.
var edgeUnits = map[string][]edgeUnit{
	"length": {{"m", "1"}, {"mm", "1/1000"}, {"cm", "1/100"}, {"um", "1/1000000"}, {"km", "1000"}},
	"mass":   {{"kg", "1"}, {"g", "1/1000"}, {"mg", "1/1000000"}},
	"time":   {{"s", "1"}, {"ms", "1/1000"}, {"us", "1/1000000"}, {"min", "60"}},
	"force":  {{"N", "1"}, {"mN", "1/1000"}, {"kN", "1000"}, {"kg m/s^2", "1"}},
	"rate":   {{"N/m", "1"}, {"N/mm", "1000"}, {"mN/cm", "1/10"}},
	"number": {{"", "1"}},
}

type edgeUnit struct{ text, scale string }

func (u edgeUnit) rat() *big.Rat { return rat(u.scale) }

func rat(text string) *big.Rat {
	r, ok := new(big.Rat).SetString(text)
	if !ok {
		panic("no number: " + text)
	}
	return r
}

// An edgeQuestion is a number question, in exact numbers.
type edgeQuestion struct {
	name    string
	kind    string
	unit    edgeUnit // of the key
	key     *big.Rat // in SI
	within  *big.Rat // in SI
	least   int      // figures asked, 0 for any
	most    int
	block   string
	keyText string // decimal of the key, in the unit
	border  [2]*big.Rat
}

// newEdgeQuestion draws a question whose border is a short decimal.
func newEdgeQuestion(rng *rand.Rand, i int) edgeQuestion {
	kinds := []string{"length", "mass", "time", "force", "rate", "number"}
	q := edgeQuestion{name: fmt.Sprintf("q%d", i), kind: kinds[rng.IntN(len(kinds))]}
	q.unit = edgeUnits[q.kind][rng.IntN(len(edgeUnits[q.kind]))]
	q.keyText = fmt.Sprintf("%.*f", rng.IntN(4), 10*rng.Float64()+0.7+90*float64(rng.IntN(2)))
	if rng.IntN(6) == 0 {
		q.keyText = "-" + q.keyText
	}
	key := rat(q.keyText) // in the unit
	var within *big.Rat   // in the unit
	text := ""
	if rng.IntN(2) == 0 {
		percent := []string{"1", "2", "0.5", "3", "10", "0.1"}[rng.IntN(6)]
		within = new(big.Rat).Mul(new(big.Rat).Abs(key), new(big.Rat).Quo(rat(percent), rat("100")))
		text = percent + " %"
	} else {
		absolute := []string{"0.05", "0.1", "0.3", "0.007", "1"}[rng.IntN(5)]
		within = rat(absolute)
		text = strings.TrimSpace(absolute + " " + q.unit.text)
		if q.unit.text == "" {
			text = "2 %"
			within = new(big.Rat).Mul(new(big.Rat).Abs(key), rat("0.02"))
		}
	}
	q.border = [2]*big.Rat{new(big.Rat).Sub(key, within), new(big.Rat).Add(key, within)}
	q.key, q.within = new(big.Rat).Mul(key, q.unit.rat()), new(big.Rat).Mul(within, q.unit.rat())
	figures := ""
	if rng.IntN(3) == 0 {
		q.least = 2 + rng.IntN(2)
		q.most = q.least + rng.IntN(3)
		figures = fmt.Sprintf("figures: %d..%d\n", q.least, q.most)
	}
	unit := q.unit.text
	if unit == "" {
		unit = "1"
	}
	q.block = fmt.Sprintf("```question\nname: %s\nkind: number\nask: How much?\nkey: %s\nunit: %s\nwithin: %s\n%smarks: 2\n```\n", q.name, strings.TrimSpace(q.keyText+" "+q.unit.text), unit, text, figures)
	return q
}

// answer draws an answer at or near the border, and says what it is worth: its
// value in SI as it was typed, and whether its unit is missing.
func (q *edgeQuestion) answer(rng *rand.Rand) (text string, value *big.Rat, bare bool) {
	at := q.border[rng.IntN(2)]
	step := new(big.Rat).SetFrac64(1, []int64{1e1, 1e2, 1e3, 1e4, 1e6, 1e9}[rng.IntN(6)])
	x := new(big.Rat).Set(at)
	switch rng.IntN(6) {
	case 0: // the border itself
	case 1:
		x.Add(x, step)
	case 2:
		x.Sub(x, step)
	case 3: // half a unit of the last digit beyond, or before
		x.Add(x, step.Mul(step, big.NewRat(1-2*rng.Int64N(2), 2)))
	case 4: // rounded to a few figures, as people write
		f, _ := x.Float64()
		x = rat(strconv.FormatFloat(f, 'e', rng.IntN(5), 64))
	case 5: // anywhere
		x = new(big.Rat).SetFloat64(rng.Float64() * 2)
		x = rat(new(big.Rat).Mul(x, rat(q.keyText)).FloatString(3))
	}
	bare = q.unit.text != "" && rng.IntN(12) == 0
	unit := q.unit
	if others := edgeUnits[q.kind]; !bare && rng.IntN(2) == 0 {
		unit = others[rng.IntN(len(others))]
	}
	x.Mul(x, new(big.Rat).Quo(q.unit.rat(), unit.rat()))
	text = decimal(x, rng)
	value = new(big.Rat).Mul(rat(strings.ReplaceAll(text, "×10^", "e")), unit.rat())
	if !bare && unit.text != "" {
		text += " " + unit.text
	}
	return text, value, bare
}

// decimal writes an exact decimal, plainly or with a power of ten.
func decimal(x *big.Rat, rng *rand.Rand) string {
	text := x.FloatString(18)
	if strings.Contains(text, ".") {
		text = strings.TrimRight(strings.TrimRight(text, "0"), ".")
	}
	if rng.IntN(4) == 0 {
		power := rng.IntN(7) - 3
		scaled := new(big.Rat).Mul(x, new(big.Rat).SetFrac(big.NewInt(1), big.NewInt(1)))
		for p := power; p > 0; p-- {
			scaled.Quo(scaled, rat("10"))
		}
		for p := power; p < 0; p++ {
			scaled.Mul(scaled, rat("10"))
		}
		text = strings.TrimRight(strings.TrimRight(scaled.FloatString(22), "0"), ".")
		return fmt.Sprintf("%s%s%d", text, []string{"e", "×10^"}[rng.IntN(2)], power)
	}
	return text
}

// figuresOf counts the significant figures of a decimal: the least and the most
// that it may have, since zeros at the end of a whole number may count or not.
// Source: common practice, as in ISO 80000-1:2009, B.2 on rounding. From memory, unchecked.
func figuresOf(text string) (least, most int) {
	text, _, power := strings.Cut(strings.ReplaceAll(text, "×10^", "e"), "e")
	text = strings.TrimLeft(text, "-")
	digits := strings.TrimLeft(strings.Replace(text, ".", "", 1), "0")
	most = len(digits)
	least = most
	if !strings.Contains(text, ".") && !power { // who writes a power of ten could have left the zeros out
		least = len(strings.TrimRight(digits, "0"))
	}
	return least, most
}

// marks is what the second implementation gives.
func (q *edgeQuestion) marks(text string, value *big.Rat, bare bool, tookUnit, tookFigures *bool) float64 {
	off := new(big.Rat).Sub(value, q.key)
	// The border itself is inside, and so is what lies within a millionth of a
	// millionth of the tolerance from it: 1/3 min cannot be typed.
	reach := new(big.Rat).Mul(q.within, rat("1.000000000001"))
	if off.Abs(off).Cmp(reach) > 0 {
		return 0
	}
	marks := 2.0
	number, _, _ := strings.Cut(text, " ")
	least, most := figuresOf(number)
	switch {
	case bare:
		if !*tookUnit {
			*tookUnit = true
			marks -= 0.5
		}
	case q.most > 0 && (most < q.least || least > q.most):
		if !*tookFigures {
			*tookFigures = true
			marks -= 0.5
		}
	}
	return marks
}

// Marks agree with a second implementation on 10,000 numbers at the edges of
// tolerance and rounding.
func TestNumbersAtTheEdgesAgreeWithASecondImplementation(t *testing.T) {
	const questions, scripts = 100, 100
	rng := rand.New(rand.NewPCG(21, 22))
	all := make([]edgeQuestion, questions)
	text := "---\ntitle: Edges\n---\n\nInvented numbers.\n\n"
	for i := range all {
		all[i] = newEdgeQuestion(rng, i)
		text += all[i].block + "\n"
	}
	sheet, err := source.Read([]byte(text), "edges/worksheet.md")
	if err != nil {
		t.Fatal(err)
	}
	key, err := build.Key(sheet)
	if err != nil {
		t.Fatal(err)
	}
	marker, err := marking.NewMarker(key, marking.DefaultPolicy())
	if err != nil {
		t.Fatal(err)
	}
	inside, border, fewer := 0, 0, 0
	for range scripts {
		nb := &notebook.Notebook{Major: 4, Minor: 5, Metadata: map[string]any{"counterpoise": map[string]any{"sheet": key.Sheet}}}
		want := make([]float64, questions)
		answers := make([]string, questions)
		tookUnit, tookFigures := false, false
		for i := range all {
			q := &all[i]
			answer, value, bare := q.answer(rng)
			answers[i] = answer
			want[i] = q.marks(answer, value, bare, &tookUnit, &tookFigures)
			if want[i] > 0 {
				inside++
			}
			if off := new(big.Rat).Sub(value, q.key); off.Abs(off).Cmp(q.within) == 0 {
				border++
			}
			if want[i] == 1.5 {
				fewer++
			}
			nb.Cells = append(nb.Cells, notebook.Cell{ID: fmt.Sprint("c", i), Type: notebook.Code, Source: "//worksheet:answer " + q.name + "\n" + answer, Metadata: map[string]any{}})
		}
		data, err := notebook.Write(nb)
		if err != nil {
			t.Fatal(err)
		}
		r := marker.Mark("one.ipynb", data)
		for i, m := range r.Marks {
			if m.Marks != want[i] {
				t.Errorf("%q for\n%s%g marks (%s %s), the second implementation gives %g", answers[i], all[i].block, m.Marks, m.Verdict, m.Slip, want[i])
			}
		}
		if t.Failed() {
			return
		}
	}
	t.Logf("%d answers: %d inside, %d of all on the border, %d with marks off", questions*scripts, inside, border, fewer)
	if border < 1000 || inside < 2000 {
		t.Error("the answers are not at the edges")
	}
}
