package marking

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"

	"counterpoise/worksheets/build"
	"counterpoise/worksheets/marking/tabular"
	"counterpoise/worksheets/question"
)

// An Item is how a class did on one question.
type Item struct {
	Question string
	Kind     string
	Of       float64
	Answered int
	Blank    int
	Right    int // full marks
	Waiting  int // for a human
	// Facility is the mean share of the marks over all scripts that count; not
	// a number while answers wait here.
	Facility float64
	// Discrimination is the correlation of the question's marks with those of
	// the rest of the script; not a number where either never varies.
	Discrimination float64
	Slips          []Count // most frequent first
	Unnamed        int     // wrong answers in which no slip was recognised
	Unread         int     // answers that could not be read, for no named slip
	Tried          Tried
}

// A Count is how often something was seen.
type Count struct {
	What  string
	Times int
}

// class gathers what the item figures need.
type class struct {
	key    *build.KeyFile
	slips  []map[string]int
	wrong  []int // without a named slip
	unread []int // that could not be read, without a named slip
	tried  []tries
	curve  curve
}

func newClass(key *build.KeyFile) *class {
	n := len(key.Questions)
	c := &class{key: key, slips: make([]map[string]int, n), wrong: make([]int, n), unread: make([]int, n), tried: make([]tries, n)}
	for i := range c.slips {
		c.slips[i] = map[string]int{}
	}
	return c
}

// itemFigures returns the figures of every question over the scripts that
// count. Facility and discrimination are as assessment uses the words; common
// practice, no source.
func (f *finisher) itemFigures() ([]Item, error) {
	if f.figured != nil {
		return f.figured, nil
	}
	err := f.each(func(r *Result) error {
		if !f.counts(r.Number) {
			return nil
		}
		f.class.add(r)
		return nil
	})
	if err != nil {
		return nil, err
	}
	items := make([]Item, len(f.class.key.Questions))
	for i := range items {
		q := &f.class.key.Questions[i].Question
		items[i] = Item{Question: q.Name, Kind: q.Kind, Of: q.Worth(), Slips: sorted(f.class.slips[i]), Unnamed: f.class.wrong[i], Unread: f.class.unread[i], Tried: f.class.tried[i].told()}
		f.figures(&items[i], i)
	}
	f.figured = items
	return items, nil
}

// add counts the slips and attempts of one script that counts.
func (c *class) add(r *Result) {
	for i := range r.Marks[:min(len(r.Marks), len(c.slips))] {
		m := &r.Marks[i]
		switch {
		case m.Slip != "":
			c.slips[i][m.Slip]++
		case m.Verdict == question.Wrong.String() && m.Marks < m.Of:
			c.wrong[i]++
		case m.Verdict == question.Unreadable.String() && m.Answer != "":
			c.unread[i]++
		}
		c.tried[i].add(m.Attempts)
	}
	c.curve.add(r)
}

// counts tells whether the script of that number counts. Rows are in the order
// of numbers, though a shard leaves some out.
func (f *finisher) counts(number int) bool {
	at, ok := f.row(number)
	return ok && f.rows[at].counts
}

// row finds the row of the script of that number.
func (f *finisher) row(number int) (int, bool) {
	return slices.BinarySearchFunc(f.rows, number, func(r row, n int) int { return cmp.Compare(r.number, n) })
}

func (f *finisher) figures(item *Item, i int) {
	var own, rest []float64
	for k := range f.rows {
		r := &f.rows[k]
		if !r.counts || i >= len(r.marks) {
			continue
		}
		if r.marks[i] == waits {
			item.Waiting++
			continue
		}
		mark := math.Max(0, float64(r.marks[i]))
		if r.marks[i] == unanswered {
			item.Blank++
		} else {
			item.Answered++
			if mark >= item.Of {
				item.Right++
			}
		}
		sum := 0.0
		for _, x := range r.marks {
			sum += math.Max(0, float64(x))
		}
		own, rest = append(own, mark), append(rest, sum-mark)
	}
	item.Facility, item.Discrimination = math.NaN(), math.NaN()
	if item.Waiting > 0 {
		return // the rest would not speak for the class
	}
	if len(own) > 0 && item.Of > 0 {
		item.Facility = stat.Mean(own, nil) / item.Of
	}
	if len(own) > 1 {
		item.Discrimination = stat.Correlation(own, rest, nil)
	}
}

func sorted(counts map[string]int) []Count {
	all := make([]Count, 0, len(counts))
	for what, n := range counts {
		all = append(all, Count{what, n})
	}
	slices.SortFunc(all, func(a, b Count) int { return cmp.Or(cmp.Compare(b.Times, a.Times), cmp.Compare(a.What, b.What)) })
	return all
}

// Doubt says what the figures of an item suggest, or nothing.
// Common practice, no source.
func (it Item) Doubt() string {
	switch {
	case it.Waiting > 0:
		return ""
	case it.Facility < 0.2:
		return "hardly anybody got this: look at the question and its key"
	case it.Discrimination*math.Sqrt(float64(it.Answered+it.Blank)) < -beyondChance:
		return "those who did well otherwise did worse here: look at the question and its key"
	case it.Facility > 0.95 && it.Answered > 20:
		return "almost everybody got this"
	}
	return ""
}

// beyondChance is how many times 1/√n a discrimination must lie below 0 to be
// told, among n scripts: about one in twenty does by chance.
// Common practice, no source.
const beyondChance = 1.65

const slipsTold = 5 // commonest slips of a question that are listed

func (f *finisher) items() error {
	items, err := f.itemFigures()
	if err != nil {
		return err
	}
	return f.table(ItemsFile, func(w *tabular.Writer) error {
		if err := w.Row("question", "kind", "of", "answered", "blank", "waiting", "full marks", "facility", "discrimination", "commonest slips", "wrong without a known slip", "could not be read", "attempts", "right at first", "minutes to right", "remark"); err != nil {
			return err
		}
		for _, it := range items {
			slips := ""
			for k, s := range it.Slips[:min(slipsTold, len(it.Slips))] {
				if k > 0 {
					slips += "; "
				}
				slips += fmt.Sprintf("%s (%d)", s.What, s.Times)
			}
			if err := w.Row(it.Question, it.Kind, it.Of, it.Answered, it.Blank, it.Waiting, it.Right, it.Facility, it.Discrimination, slips, it.Unnamed, it.Unread, it.Tried.Attempts, it.Tried.AtFirst, it.Tried.Minutes, it.Doubt()); err != nil {
				return err
			}
		}
		return nil
	})
}
