package proof

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"

	"counterpoise/worksheets/question"
	"counterpoise/worksheets/source"
)

// Bounds on the sets of values that are tried.
const (
	maxCorners = 64 // all of up to six parameters
	maxAlong   = 60 // values along one range
	atRandom   = 40 // the default of Options.Variants
)

// A variant is a set of values as a student may get it.
type variant map[string]string

func (v variant) String() string {
	var parts []string
	for name, value := range v {
		parts = append(parts, name+" = "+value)
	}
	slices.Sort(parts)
	return strings.Join(parts, ", ")
}

// variants computes every key over the parameters' ranges.
func (p *prover) variants(ctx context.Context) error {
	var vary []source.Param
	for _, q := range p.sheet.Params {
		if q.Varies() {
			vary = append(vary, q)
		}
	}
	if len(vary) == 0 {
		return nil
	}
	sets := corners(vary)
	n := p.options.Variants
	if n == 0 {
		n = atRandom
	}
	rng := rand.New(rand.NewPCG(1, 2)) // the same sets at every proof
	for range n {
		v := variant{}
		for _, q := range vary {
			v[q.Name] = step(q, rng.IntN(steps(q)+1))
		}
		sets = append(sets, v)
	}
	for _, v := range sets {
		if err := ctx.Err(); err != nil {
			return err
		}
		p.variant(v)
	}
	for _, q := range vary {
		if err := p.along(ctx, q); err != nil {
			return err
		}
	}
	return nil
}

// corners are the ends of all ranges, combined.
func corners(vary []source.Param) []variant {
	var sets []variant
	for k := 0; k < min(1<<min(len(vary), 20), maxCorners); k++ {
		v := variant{}
		for i, q := range vary {
			at := 0
			if k>>i&1 == 1 {
				at = steps(q)
			}
			v[q.Name] = step(q, at)
		}
		sets = append(sets, v)
	}
	return sets
}

// steps is the number of steps from one end of a range to the other.
func steps(q source.Param) int {
	return int(math.Floor((q.To.Value-q.From.Value)/q.Step.Value + 1e-9))
}

// step is the k-th value of a range, as text.
func step(q source.Param, k int) string {
	u := q.Value.Unit
	return strings.TrimSpace(fmt.Sprintf("%.10g %s", (q.From.Value+float64(k)*q.Step.Value)/u.Scale(), u))
}

// variant checks all questions for one set of values.
func (p *prover) variant(v variant) {
	p.report.Variants++
	r := p.with(v)
	if r.err != nil {
		p.found(p.paramLine(), "", "ranges", Fault, "with %s the keys cannot be computed: %s", v, oneLine(r.err))
		return
	}
	for i := range p.key.Questions {
		a, q, c := r.question(i), &p.key.Questions[i].Question, p.cell(i)
		key, ok := a.Value()
		if !ok {
			continue
		}
		if math.IsNaN(key.Value) || math.IsInf(key.Value, 0) {
			p.found(c.LineOf("key"), q.Name, "ranges", Fault, "the key has no value with %s", v)
			continue
		}
		p.seen(i, key)
		if got := a.Check(typed(q, key, 8, key.Unit)); got.Outcome != question.Right {
			p.found(c.LineOf("key"), q.Name, "ranges", Fault, "the key, given as an answer with %s, is %s", v, got.Outcome)
		}
		p.figures(a, i)
		p.apart(r, i, v)
	}
}

// apart checks that slips of a number question stay away from the key with
// these values.
func (p *prover) apart(r reading, i int, v variant) {
	q, c, a := &p.key.Questions[i].Question, p.cell(i), r.question(i)
	key, _ := a.Value()
	for k, s := range q.Slips {
		slip, ok := r.slip(i, k)
		if !ok || slip.Dimension() != key.Dimension() {
			continue
		}
		if a.Check(typed(q, slip, 8, key.Unit)).Outcome == question.Right {
			p.found(c.LineOf(fmt.Sprintf("slips/%d/gives", k)), q.Name, "slips", Fault, "slip %q cannot be told from the key with %s: narrow the ranges or the tolerance", s.Gives, v)
		}
	}
}

// along follows each number key along one range with the other parameters as
// printed, and looks for jumps through infinity between the values that
// students get.
func (p *prover) along(ctx context.Context, q source.Param) error {
	n := steps(q)
	stride := max(1, n/maxAlong)
	values := make([][]float64, len(p.key.Questions))
	for k := 0; k <= n; k += stride {
		if err := ctx.Err(); err != nil {
			return err
		}
		v := variant{q.Name: step(q, k)}
		p.report.Variants++
		asked, err := p.key.Asked(v)
		if err != nil {
			p.found(q.Line, "", "ranges", Fault, "with %s the keys cannot be computed: %s", v, oneLine(err))
			continue
		}
		for i, a := range asked {
			if key, ok := a.Value(); ok {
				values[i] = append(values[i], key.Value)
			}
		}
	}
	for i, list := range values {
		if pole(list) {
			c := p.cell(i)
			p.found(c.LineOf("key"), p.key.Questions[i].Name, "ranges", Fault, "the key jumps through infinity inside the range of %s: keep the range to one side", q.Name)
		}
	}
	return nil
}

// pole reports whether values along a range change sign by way of infinity:
// large on both sides of the change, where a key that passes through nought is
// small.
func pole(values []float64) bool {
	if len(values) < 3 {
		return false
	}
	size := make([]float64, len(values))
	for i, v := range values {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return true
		}
		size[i] = math.Abs(v)
	}
	slices.Sort(size)
	typical := size[len(size)/2]
	for i := 1; i < len(values); i++ {
		if values[i]*values[i-1] < 0 && min(math.Abs(values[i]), math.Abs(values[i-1])) > typical {
			return true
		}
	}
	return false
}

func (p *prover) paramLine() int {
	if len(p.sheet.Params) > 0 {
		return p.sheet.Params[0].Line
	}
	return 1
}

func oneLine(err error) string { return strings.Join(strings.Fields(err.Error()), " ") }
