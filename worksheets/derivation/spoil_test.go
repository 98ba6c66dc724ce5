package derivation

import (
	"flag"
	"slices"
	"testing"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/expr/typeset"
)

var spoilAll = flag.Bool("spoil-all", false, "spoil every line of every sample in every way, which takes half a minute")

// spoils are ways to make a right side wrong. The statement they make must not
// be true by accident: where the right side vanishes, twice it does too.
var spoils = []struct {
	name  string
	apply func(e expr.Expr) (expr.Expr, bool)
}{
	{"doubled", func(e expr.Expr) (expr.Expr, bool) { return expr.Mul(expr.Int(2), e), true }},
	{"sign", func(e expr.Expr) (expr.Expr, bool) { return expr.Neg(e), true }},
	{"last term's sign", func(e expr.Expr) (expr.Expr, bool) {
		args := e.Args()
		if e.Kind() != expr.KindSum {
			return e, false
		}
		args[len(args)-1] = expr.Neg(args[len(args)-1])
		return expr.Add(args...), true
	}},
	{"upside down", func(e expr.Expr) (expr.Expr, bool) {
		return expr.Div(expr.Int(1), e), e.Kind() != expr.KindSum && !e.IsZero()
	}},
}

// stillTrue are spoilt statements that hold all the same.
var stillTrue = map[string]string{
	"θ = -acos(g/(R Ω²))":                                "the hoop has a place of rest on either side",
	"I = I_c + M a² + 2 a (m_1 x_1 + m_2 x_2 + m_3 x_3)": "the sum is zero about the centre of gravity",
}

// Every line of a right derivation that is spoilt in one of the usual ways is
// found to be the first bad one, and no other line is called bad.
func TestSpoiltLines(t *testing.T) {
	k, tried := 0, 0
	for _, s := range samples(t) {
		c, err := New(s.problem())
		if err != nil {
			t.Fatal(err)
		}
		for _, text := range s.Right {
			lines := slices.DeleteFunc(linesOf(text), isBlank)
			before := c.JudgeLines(lines)
			j := newJudge(c)
			for i, line := range lines {
				for _, spoil := range spoils {
					if k++; !*spoilAll && k%11 != 0 || before.Lines[i].Status == Defines {
						continue
					}
					spoilt, ok := j.spoilt(line, spoil.apply)
					if !ok || stillTrue[spoilt] != "" {
						continue
					}
					tried++
					other := append(append(append([]string{}, lines[:i]...), spoilt), lines[i+1:]...)
					r := c.JudgeLines(other)
					if r.FirstBad != i {
						t.Errorf("%s, line %d, %s: %s: first bad line is %d, this one %q", s.Name, i+1, spoil.name, spoilt, r.FirstBad+1, r.Lines[i].Status)
					}
					for n, l := range r.Lines {
						if n != i && (l.Status == Not || l.Status == Unreadable) {
							t.Errorf("%s, line %d, %s: %s: then line %d, %s, is called bad: %s", s.Name, i+1, spoil.name, spoilt, n+1, l.Text, l.Say)
						}
					}
				}
				j.line(line)
			}
		}
	}
	t.Logf("%d spoilt lines", tried)
}

// spoilt writes a line with its last side spoilt. It reports false for a line
// that this leaves true.
func (j *judge) spoilt(line string, apply func(expr.Expr) (expr.Expr, bool)) (string, bool) {
	w := wording{func(word string) bool { return j.board.known[expr.Canonical(word)] }}
	statements := w.statements(steadyText(clean(line, w.isName), w.isName))
	if w.isRemark(line) || len(statements) != 1 {
		return "", false // words, or several statements
	}
	readings, err := j.board.read(clean(statements[0], w.isName))
	if err != nil || readings[0].Lower != nil {
		return "", false
	}
	st := readings[0]
	last := len(st.Sides) - 1
	if last < 1 || st.Relations[last-1] != "=" && st.Relations[last-1] != "≈" {
		return "", false
	}
	side := st.Sides[last]
	now, ok := apply(side)
	if !ok || side.IsZero() {
		return "", false
	}
	if slices.ContainsFunc(st.Sides[:last], expr.Expr.IsZero) && expr.Div(now, side).Simplify().Kind() == expr.KindNumber {
		return "", false // a multiple of what is zero is zero
	}
	s := j.system(j.board, j.board.standing, "board", append(side.Symbols(), now.Symbols()...))
	if change := s.resolve(expr.Sub(side, now)); j.board.vanishes(change) {
		return "", false // true by accident: what was changed is zero
	}
	sides := append(append([]expr.Expr{}, st.Sides[:last]...), now)
	return typeset.TextOf(sides, st.Relations), true
}

func BenchmarkJudge(b *testing.B) {
	list := samples(b)
	for _, s := range list {
		c, err := New(s.problem())
		if err != nil {
			b.Fatal(err)
		}
		b.Run(s.Name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				c.Judge(s.Right[0])
			}
		})
	}
}
