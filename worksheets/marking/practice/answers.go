package practice

import (
	"fmt"
	"math"
	"math/rand/v2"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"counterpoise/mechanics/quantity"
	"counterpoise/worksheets/build"
	"counterpoise/worksheets/question"
)

// A writer draws the answers of one student, question by question, and keeps
// what each must get.
type writer struct {
	class    *Class
	rng      *rand.Rand
	student  build.KeyStudent
	asked    []*question.Asked // for the keys' values only
	truth    *Truth
	own      question.Values // the student's wrong values, that later questions may carry
	lostUnit bool            // a unit was left out already: one penalty a script
	figures  bool
}

func (c *Class) writer(i int, t *Truth) (*writer, error) {
	student := c.Key.Students[i]
	asked, err := c.Key.Asked(student.Values)
	return &writer{class: c, rng: c.rng(i), student: student, asked: asked, truth: t, own: question.Values{}}, err
}

// put keeps the truth of an answer and returns it.
func (w *writer) put(q *question.Question, text, verdict, slip string, marks float64) string {
	w.truth.Verdict[q.Name], w.truth.Marks[q.Name] = verdict, marks
	if slip != "" {
		w.truth.Slip[q.Name] = slip
	}
	return text
}

// Shares of the answers that are no plain right ones, in a hundred.
const (
	blanks     = 8
	unreadable = 6
	wrongs     = 26
)

// answer draws the answer to the k-th question.
func (w *writer) answer(k int) (string, error) {
	q := &w.class.Key.Questions[k].Question
	dice := w.rng.IntN(100)
	switch {
	case dice < blanks:
		return w.put(q, "", "blank", "", 0), nil
	case q.Kind == "prose":
		return w.put(q, w.one([]string{"They agree within the uncertainty.", "The model leaves out  the glue: lower.", "I do not know.", "<b>=cmd()</b> & more"}), "human", "", 0), nil
	case dice < blanks+unreadable:
		return w.put(q, w.one([]string{"((", "2 * * h (", "\\frac{1}{"}), "unreadable", "", 0), nil
	}
	wrong := dice < blanks+unreadable+wrongs
	switch q.Kind {
	case "number":
		return w.number(k, q, wrong)
	case "choice":
		return w.choice(q, wrong), nil
	case "derivation":
		return w.derivation(q, wrong), nil
	}
	return w.formula(q, wrong), nil
}

func (w *writer) one(list []string) string { return list[w.rng.IntN(len(list))] }

// formula takes a sample of the author's, the key itself where there is none, or
// a foreseen slip.
func (w *writer) formula(q *question.Question, wrong bool) string {
	if !wrong || len(q.Slips)+len(q.Samples.Wrong) == 0 {
		return w.put(q, w.one(append([]string{q.Key}, q.Samples.Right...)), "right", "", q.Worth())
	}
	if i := w.rng.IntN(len(q.Slips) + len(q.Samples.Wrong)); i < len(q.Slips) {
		return w.put(q, q.Slips[i].Gives, "wrong", slipOf(q.Slips[i]), 0)
	}
	return w.put(q, w.one(q.Samples.Wrong), "wrong", "", 0)
}

// slipOf is what marking calls a slip that was foreseen.
func slipOf(s question.Slip) string {
	if s.Name != "" {
		return s.Name
	}
	return "foreseen: " + s.Gives
}

// derivation takes a right sample, or one that stops at its first milestone.
func (w *writer) derivation(q *question.Question, wrong bool) string {
	if !wrong || len(q.Milestones) < 2 {
		return w.put(q, w.one(q.Samples.Right), "right", "", q.Worth())
	}
	for _, sample := range q.Samples.Right {
		lines := strings.Split(strings.TrimSpace(sample), "\n")
		at := slices.IndexFunc(lines, func(l string) bool { return strings.TrimSpace(l) == q.Milestones[0].Line })
		if at >= 0 && ahead(q, strings.Join(lines[:at+1], "\n")) {
			return w.put(q, strings.Join(lines[:at+1], "\n"), "wrong", "", q.Milestones[0].Marks)
		}
	}
	return w.put(q, "", "blank", "", 0)
}

// letter is a name in a formula as the samples write it.
var letter = regexp.MustCompile(`\p{L}+(_\d+)?`)

// ahead tells whether everything that is still to be shown speaks of something
// that these lines do not mention: then they cannot have shown it.
func ahead(q *question.Question, lines string) bool {
	mentioned := map[string]bool{}
	for _, name := range letter.FindAllString(lines, -1) {
		mentioned[name] = true
	}
	later := append([]question.Milestone{{Line: q.Target}}, q.Milestones[1:]...)
	return !slices.ContainsFunc(later, func(m question.Milestone) bool {
		return !slices.ContainsFunc(letter.FindAllString(m.Line, -1), func(name string) bool { return !mentioned[name] })
	})
}

// choice writes the letters of the right options, or of others.
func (w *writer) choice(q *question.Question, wrong bool) string {
	var right, other []string
	for i, o := range q.Options {
		letter := string(rune('A' + i))
		if o.Right {
			right = append(right, letter)
		} else {
			other = append(other, letter)
		}
	}
	if wrong {
		return w.put(q, w.one(other), "wrong", "", 0)
	}
	text := strings.Join(right, w.one([]string{", ", " ", "", " and "}))
	if w.rng.IntN(2) == 0 {
		slices.Reverse(right)
		text = strings.ToLower(strings.Join(right, ", "))
	}
	return w.put(q, text, "right", "", q.Worth())
}

// number writes a number with its unit: inside the tolerance, a foreseen slip,
// or simply something else.
func (w *writer) number(k int, q *question.Question, wrong bool) (string, error) {
	a := w.asked[k]
	value, ok := a.Value()
	if !ok {
		return "", fmt.Errorf("no value")
	}
	n := numberKey{q: q, key: value.Value, unit: value.Unit}
	carried := false
	if slices.ContainsFunc(q.Carry, func(name string) bool { _, ok := w.own[name]; return ok }) {
		own, err := keyOf(a, "", w.own)
		if err != nil {
			return "", err
		}
		if carried = !n.near(own, 1.5); carried && !wrong {
			n.key = own
		}
	}
	if wrong {
		return w.wrongNumber(k, n)
	}
	marks := q.Worth()
	text, ok := n.text(n.key*(1+0.3*n.share()*(2*w.rng.Float64()-1)), w.rng)
	if !ok { // no number of figures that is asked comes near enough
		return w.put(q, "", "blank", "", 0), nil
	}
	bare := n.unit.Dimension().IsOne()
	switch dice := w.rng.IntN(10); {
	case carried || q.Uncertainty != "":
	case dice == 0 && !bare:
		text, slip := n.bare(n.key), "unit missing"
		if !w.lostUnit {
			w.lostUnit = true
			marks -= min(0.5, marks)
		}
		return w.put(q, text, "right", slip, marks), nil
	case dice == 1 && q.Figures.Most > 0:
		if !w.figures {
			w.figures = true
			marks -= min(0.5, marks)
		}
		return w.put(q, n.format(n.key, q.Figures.Most+2), "right", "figures", marks), nil
	}
	return w.put(q, text, "right", "", marks), nil
}

// wrongNumber writes a foreseen slip that lies well outside the tolerance, or a
// number far from everything.
func (w *writer) wrongNumber(k int, n numberKey) (string, error) {
	q := n.q
	text, slip := "", ""
	if len(q.Slips) > 0 && w.rng.IntN(3) > 0 {
		s := q.Slips[w.rng.IntN(len(q.Slips))]
		if x, err := keyOf(w.asked[k], s.Gives, nil); err == nil && !n.near(x, 1.5) && n.clear(x, w, k, s) {
			text, slip = n.format(x, 6), slipOf(s)
		}
	}
	if text == "" {
		text = n.format(n.key*(1.9+w.rng.Float64()+40*n.share()), 4)
	}
	own, err := quantity.Parse(text)
	if err == nil && own.Dimension() == n.unit.Dimension() {
		w.own[q.Name] = own
	}
	return w.put(q, text, "wrong", slip, 0), nil
}

// clear tells whether a slip's value is no other foreseen slip's.
func (n numberKey) clear(x float64, w *writer, k int, s question.Slip) bool {
	for _, other := range n.q.Slips {
		if y, err := keyOf(w.asked[k], other.Gives, nil); other != s && (err != nil || math.Abs(x-y) < 0.05*math.Abs(x)) {
			return false
		}
	}
	return true
}

// A numberKey is the key of a number question as a number.
type numberKey struct {
	q    *question.Question
	key  float64 // SI
	unit quantity.Unit
}

// unitText is the unit as people write it behind a number.
func (n numberKey) unitText() string {
	if text := n.unit.String(); text != "1" {
		return text
	}
	return ""
}

// tolerance is read from the question's own text, in SI.
func (n numberKey) tolerance() float64 {
	text := strings.TrimSpace(n.q.Within)
	if text == "" {
		text = "2 %"
	}
	if percent, ok := strings.CutSuffix(text, "%"); ok {
		x, err := strconv.ParseFloat(strings.TrimSpace(percent), 64)
		if err != nil {
			panic(err)
		}
		return x / 100 * math.Abs(n.key)
	}
	q, err := quantity.Parse(text)
	if err != nil {
		panic(err)
	}
	return q.Value
}

func (n numberKey) share() float64 { return n.tolerance() / math.Abs(n.key) }

// near tells whether a value lies within so many tolerances of the key.
func (n numberKey) near(x, times float64) bool { return math.Abs(x-n.key) <= times*n.tolerance() }

// text writes a value with as many figures as the question asks, in one of
// several units; ok is false where no such number lies well inside the
// tolerance.
func (n numberKey) text(x float64, rng *rand.Rand) (text string, ok bool) {
	least, most := n.q.Figures.Least, n.q.Figures.Most
	if most == 0 {
		least, most = 3, 5
	}
	for figures := least + rng.IntN(most-least+1); figures <= most; figures++ {
		rounded, err := strconv.ParseFloat(strconv.FormatFloat(x/n.unit.Scale(), 'e', figures-1, 64), 64)
		if err == nil && math.Abs(rounded*n.unit.Scale()-n.key) <= 0.9*n.tolerance() {
			return n.written(rounded, figures, rng), true
		}
	}
	return "", false
}

// alike are units of the same kind, with the factor from the first to the other.
var alike = map[string][]struct {
	unit   string
	factor float64
}{
	"mm": {{"cm", 0.1}, {"m", 0.001}}, "g": {{"kg", 0.001}}, "s": {{"ms", 1000}}, "ms": {{"s", 0.001}},
	"N/m": {{"mN/mm", 1}}, "m/s^2": {{"cm/s^2", 100}}, "m/s": {{"mm/s", 1000}}, "Hz": {{"1/s", 1}}, "kg m^2": {{"g m^2", 1000}},
}

// written writes a number in the question's unit, or in one alike.
func (n numberKey) written(x float64, figures int, rng *rand.Rand) string {
	unit := n.unitText()
	if others := alike[unit]; len(others) > 0 && rng.IntN(3) == 0 {
		other := others[rng.IntN(len(others))]
		unit, x = other.unit, x*other.factor
	}
	number := plain(x, figures)
	if n.q.Uncertainty == "asked" {
		number = fmt.Sprintf("(%s ± %s)", number, plain(x*n.share()/2, 1))
	}
	if unit == "" {
		return number
	}
	return number + " " + unit
}

// format writes a value in the question's unit.
func (n numberKey) format(x float64, figures int) string {
	number := plain(x/n.unit.Scale(), figures)
	if n.q.Uncertainty == "asked" {
		number = fmt.Sprintf("(%s ± %s)", number, plain(n.tolerance()/n.unit.Scale()/2, 1))
	}
	if unit := n.unitText(); unit != "" {
		return number + " " + unit
	}
	return number
}

// bare writes a value without its unit, with figures that are asked.
func (n numberKey) bare(x float64) string { return plain(x/n.unit.Scale(), max(n.q.Figures.Most, 4)) }

// plain writes a number with so many significant figures, as people do: without
// a power of ten where few zeros do.
func plain(x float64, figures int) string {
	text := strconv.FormatFloat(x, 'e', figures-1, 64)
	digits, power, _ := strings.Cut(text, "e")
	p, err := strconv.Atoi(power)
	if err != nil {
		panic(err)
	}
	if p >= figures || p < -4 {
		return fmt.Sprintf("%s×10^%d", digits, p)
	}
	return strconv.FormatFloat(x, 'f', max(0, figures-1-p), 64)
}
