package build

import (
	"context"
	"encoding/hex"
	"errors"
	"fmt"
	"math"
	"runtime"
	"slices"
	"strings"

	"golang.org/x/sync/errgroup"

	"counterpoise/mechanics/quantity"
	"counterpoise/worksheets/notebook"
	"counterpoise/worksheets/question"
	"counterpoise/worksheets/source"
)

// A ClassSet is a sheet's notebooks for a class, planned but not yet built.
type ClassSet struct {
	Sheet    *source.Sheet
	Students []Student
	Values   []map[string]string // of the parameters that vary, by student
	Files    []string            // names of the notebooks
	Tokens   []string            // what the copies carry in place of the ids
	Spread   Spread
	key      *KeyFile
	checks   []spreadCheck
	secret   []byte
	PlainGo  bool
	// Guess is the memory in KiB that one guess at a sealed key costs, 0 for
	// the usual. Classes that are only for practice need not be safe.
	Guess int
}

// A Spread tells how far the copies of a class set lie apart.
type Spread struct {
	Neighbours int      // pairs of neighbours in the class list
	Alike      int      // of them with the same values throughout
	Near       []string // "ID and ID: question": neighbours whose answers differ by less than the tolerance, at most 100
	NearCount  int
	Sets       int // different sets of values in the class
}

// MinSecret is the length of a class secret in bytes: shorter ones can be tried
// out.
const MinSecret = 16

// tries is how many draws a student may take to lie apart from the neighbour
// before. With a range of 11 values, 40 draws leave one chance in 10⁴¹ that all
// are alike.
const tries = 40

// Plan draws the values of every student: from the class secret, so that the
// same list and secret give the same set again; different from those of the
// neighbour before in the list where the ranges allow, and so that the answers
// to number questions differ by more than their tolerance where that can be
// had. progress, if not nil, is told how many students are done.
func Plan(s *source.Sheet, students []Student, secret []byte, progress func(done int)) (*ClassSet, error) {
	if len(secret) < MinSecret {
		return nil, fmt.Errorf("the class secret has %d bytes: it needs at least %d", len(secret), MinSecret)
	}
	values, problems := valuesOf(s, nil)
	asked, more := compile(s, values)
	if problems = append(problems, more...); len(problems) > 0 {
		return nil, problems.Err()
	}
	key := keyFile(s, asked)
	c := &ClassSet{secret: secret, Sheet: s, Students: students, Files: fileNames(s.Name, students), key: key, checks: spreadChecks(s)}
	for _, student := range students {
		c.Tokens = append(c.Tokens, tokenOf(s, secret, student.ID))
	}
	sets := map[string]bool{}
	var before *candidate
	for i, student := range students {
		best, err := c.pick(secret, student.ID, before)
		if err != nil {
			return nil, err
		}
		c.Values = append(c.Values, best.values)
		sets[best.text()] = true
		if before != nil {
			c.tell(students[i-1].ID, student.ID, before, best)
		}
		before = best
		if progress != nil {
			progress(i + 1)
		}
	}
	c.Spread.Sets = len(sets)
	c.Spread.Neighbours = max(len(students)-1, 0)
	return c, nil
}

// A candidate is a student's set of values with the answers it leads to.
type candidate struct {
	values  map[string]string
	answers []float64 // SI, by spread check; NaN where there is none
	within  []float64
}

func (c *candidate) text() string {
	var parts []string
	for name, v := range c.values {
		parts = append(parts, name+"="+v)
	}
	slices.Sort(parts)
	return strings.Join(parts, ";")
}

// near counts the questions whose answers lie too near together.
func (c *candidate) near(o *candidate) (n int) {
	for i := range c.answers {
		if tooNear(c.answers[i], o.answers[i], max(c.within[i], o.within[i])) {
			n++
		}
	}
	return n
}

func tooNear(a, b, within float64) bool { return math.Abs(a-b) <= within }

// pick draws until a set lies apart from the one before, and takes the best of
// what it drew.
func (c *ClassSet) pick(secret []byte, student string, before *candidate) (*candidate, error) {
	var best *candidate
	bestScore := math.MaxInt
	for try := range tries {
		next, err := c.candidate(draw(c.Sheet, secret, student, try))
		if err != nil {
			return nil, err
		}
		if before == nil || len(next.values) == 0 {
			return next, nil
		}
		score := next.near(before)
		if next.text() == before.text() {
			score += len(c.checks) + 1
		}
		if score < bestScore {
			best, bestScore = next, score
		}
		if score == 0 {
			break
		}
	}
	return best, nil
}

// tell keeps what of the spread is not as it should be.
func (c *ClassSet) tell(a, b string, before, after *candidate) {
	if before.text() == after.text() {
		c.Spread.Alike++
	}
	for i := range after.answers {
		if tooNear(before.answers[i], after.answers[i], max(before.within[i], after.within[i])) {
			c.Spread.NearCount++
			if len(c.Spread.Near) < 100 {
				c.Spread.Near = append(c.Spread.Near, fmt.Sprintf("%s and %s: %s", a, b, c.checks[i].question.Name))
			}
		}
	}
}

// A spreadCheck is a number question whose answer depends on what varies.
type spreadCheck struct {
	question *question.Question
}

// spreadChecks picks the number questions whose answers change with the ranges.
func spreadChecks(s *source.Sheet) []spreadCheck {
	low, high := map[string]string{}, map[string]string{}
	for _, p := range s.Params {
		if p.Varies() {
			low[p.Name], high[p.Name] = valueAt(p, 0), valueAt(p, steps(p))
		}
	}
	var checks []spreadCheck
	if len(low) == 0 {
		return nil
	}
	all := []spreadCheck{}
	for _, q := range s.Questions() {
		if q.Kind == "number" {
			all = append(all, spreadCheck{q})
		}
	}
	a, errA := answersOf(s, all, low)
	b, errB := answersOf(s, all, high)
	if errA != nil || errB != nil {
		return nil
	}
	for i := range all {
		if a.answers[i] != b.answers[i] {
			checks = append(checks, all[i])
		}
	}
	return checks
}

func (c *ClassSet) candidate(values map[string]string) (*candidate, error) {
	return answersOf(c.Sheet, c.checks, values)
}

// answersOf computes the answers to the checks for one set of values.
func answersOf(s *source.Sheet, checks []spreadCheck, own map[string]string) (*candidate, error) {
	c := &candidate{values: own}
	if len(checks) == 0 {
		return c, nil
	}
	values, problems := valuesOf(s, own)
	if len(problems) > 0 {
		return nil, describeValues(problems.Err(), own)
	}
	keys := question.Values{}
	of := map[string]int{}
	for i, check := range checks {
		of[check.question.Name] = i
		c.answers, c.within = append(c.answers, math.NaN()), append(c.within, 0)
	}
	for _, q := range s.Questions() {
		i, checked := of[q.Name]
		if q.Kind != "number" {
			continue
		}
		light := *q
		light.Slips = nil // they do not change the key
		a, err := question.Compile(light, valuesFor(q, s, values, keys))
		if err != nil {
			return nil, describeValues(fmt.Errorf("%s: %w", q.Name, err), own)
		}
		v, ok := a.Value()
		if !ok {
			continue
		}
		keys[carriedName(q.Name)] = v
		if checked {
			c.answers[i], c.within[i] = v.Value, tolerance(q, v)
		}
	}
	return c, nil
}

// describeValues names the values with which something failed.
func describeValues(err error, own map[string]string) error {
	return fmt.Errorf("with %s: %w", (&candidate{values: own}).text(), err)
}

// defaultWithin is the tolerance of a number question that names none.
const defaultWithin = 0.02

// tolerance is how far from the key an answer may be, in SI.
func tolerance(q *question.Question, key quantity.Quantity) float64 {
	text := strings.TrimSpace(q.Within)
	if text == "" {
		return defaultWithin * math.Abs(key.Value)
	}
	if percent, ok := strings.CutSuffix(text, "%"); ok {
		var x float64
		if _, err := fmt.Sscan(strings.TrimSpace(percent), &x); err == nil {
			return x / 100 * math.Abs(key.Value)
		}
	}
	if within, err := quantity.Parse(text); err == nil {
		return within.Value
	}
	return defaultWithin * math.Abs(key.Value)
}

// Key returns the tutor's key file of the whole class.
func (c *ClassSet) Key() *KeyFile {
	k := *c.key
	k.Students = make([]KeyStudent, len(c.Students))
	for i, s := range c.Students {
		k.Students[i] = KeyStudent{ID: s.ID, Token: c.Tokens[i], Name: s.Name, Email: s.Email, File: c.Files[i], Values: c.Values[i]}
	}
	return &k
}

// Notebooks builds every student's notebook and hands it to write, on all
// cores; write may be called from several goroutines at once. progress, if not
// nil, is told after each.
func (c *ClassSet) Notebooks(ctx context.Context, write func(i int, nb *notebook.Notebook) error, progress func()) error {
	seed, err := seedOf(c.key, c.secret)
	if err != nil {
		return err
	}
	seed.class, seed.guess = true, c.Guess
	g, group := errgroup.WithContext(ctx)
	g.SetLimit(runtime.GOMAXPROCS(0))
	for i := range c.Students {
		if group.Err() != nil {
			break
		}
		g.Go(func() error {
			nb, _, err := Build(c.Sheet, Options{Values: c.Values[i], Student: c.Tokens[i], PlainGo: c.PlainGo, seed: seed})
			if err != nil {
				return fmt.Errorf("notebook of %s: %w", c.Students[i].ID, err)
			}
			if err := write(i, nb); err != nil {
				return err
			}
			if progress != nil {
				progress()
			}
			return group.Err()
		})
	}
	if err := g.Wait(); err != nil {
		return err
	}
	return ctx.Err()
}

// ReadSecret reads a class secret as it stands in a file: hexadecimal digits.
func ReadSecret(text string) ([]byte, error) {
	secret, err := hex.DecodeString(strings.TrimSpace(text))
	if err != nil || len(secret) < MinSecret {
		return nil, errors.New("not a class secret: it is a line of at least 32 hexadecimal digits")
	}
	return secret, nil
}
