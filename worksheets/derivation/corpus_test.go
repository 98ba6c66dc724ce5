package derivation

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/goccy/go-yaml"

	"counterpoise/mechanics/expr/equal"
)

// A sample is one derivation of testdata: constructed for this project.
type sample struct {
	Name       string
	Symbols    []string
	Time       []string
	Small      []string
	Order      int
	Ranges     map[string][2]float64
	Given      []string
	Target     string
	Milestones []string
	Right      []string
	Wrong      []string
}

func samples(t testing.TB) (out []sample) {
	files, err := filepath.Glob("testdata/*.yaml")
	if err != nil || len(files) == 0 {
		t.Fatalf("no samples: %v", err)
	}
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		var list []sample
		if err := yaml.UnmarshalWithOptions(text, &list, yaml.Strict()); err != nil {
			t.Fatalf("%s: %v", file, err)
		}
		out = append(out, list...)
	}
	return out
}

func (s sample) problem() Problem {
	p := Problem{Symbols: s.Symbols, Time: s.Time, Small: s.Small, Order: s.Order, Given: s.Given, Target: s.Target, Ranges: map[string]equal.Range{}}
	for name, r := range s.Ranges {
		p.Ranges[name] = equal.Range{From: r[0], To: r[1]}
	}
	for _, m := range s.Milestones {
		p.Milestones = append(p.Milestones, Milestone{m, 1})
	}
	return p
}

func linesOf(text string) []string {
	return strings.Split(strings.TrimSpace(text), "\n")
}

// spoilt applies an entry of wrong: V.L >> line >> … .
func (s sample) spoilt(entry string) (lines []string, bad int, err error) {
	pieces := strings.Split(entry, " >> ")
	version, line, ok := strings.Cut(strings.TrimSpace(pieces[0]), ".")
	v, err1 := strconv.Atoi(version)
	l, err2 := strconv.Atoi(line)
	if !ok || err1 != nil || err2 != nil || v < 1 || v > len(s.Right) || len(pieces) < 2 {
		return nil, 0, fmt.Errorf("%q is not V.L >> line", entry)
	}
	lines = append(lines, linesOf(s.Right[v-1])...)
	if l < 1 || l > len(lines) {
		return nil, 0, fmt.Errorf("%q: version %d has %d lines", entry, v, len(lines))
	}
	for i, text := range pieces[1:] {
		if l-1+i < len(lines) {
			lines[l-1+i] = text
		} else {
			lines = append(lines, text)
		}
	}
	return lines, l - 1, nil
}

// declaring is the problem with every letter that it uses declared, and with the
// range that questions give by default, which is positive.
func (s sample) declaring(t *testing.T) Problem {
	t.Helper()
	p := s.problem()
	c, err := New(p)
	if err != nil {
		t.Fatal(err)
	}
	for name := range c.used {
		p.Symbols = append(p.Symbols, name)
	}
	slices.Sort(p.Symbols)
	for _, name := range append(slices.Clone(p.Symbols), p.Time...) {
		if _, ok := p.Ranges[name]; !ok {
			p.Ranges[name] = equal.Default
		}
	}
	return p
}

// In every right version all lines are good, the target is reached and every
// milestone is found; in every wrong version the first bad line is the one that
// was spoilt, and no good line before or after it is called bad.
func TestSamples(t *testing.T) {
	checkSamples(t, func(_ *testing.T, s sample) Problem { return s.problem() })
}

// The same with every letter declared, as some teachers do.
func TestSamplesDeclared(t *testing.T) {
	checkSamples(t, func(t *testing.T, s sample) Problem { return s.declaring(t) })
}

func checkSamples(t *testing.T, problem func(*testing.T, sample) Problem) {
	list := samples(t)
	versions := 0
	for _, s := range list {
		t.Run(s.Name, func(t *testing.T) {
			c, err := New(problem(t, s))
			if err != nil {
				t.Fatal(err)
			}
			if len(s.Right) < 2 || len(s.Wrong) < 3 {
				t.Errorf("%d right and %d wrong versions, want 2 and 3", len(s.Right), len(s.Wrong))
			}
			for v, text := range s.Right {
				versions++
				lines := linesOf(text)
				if len(lines) < 6 {
					t.Errorf("version %d has %d lines, want 6", v+1, len(lines))
				}
				r := c.JudgeLines(lines)
				for i, l := range r.Lines {
					if l.Status == Not || l.Status == Unreadable || l.FromSlip {
						t.Errorf("right version %d, line %d: %s is called %q: %s", v+1, i+1, l.Text, l.Status, l.Say)
					}
				}
			}
			found := map[int]bool{}
			for v := range s.Right {
				r := c.Judge(s.Right[v])
				for i, ok := range r.Milestones {
					found[i] = found[i] || ok
				}
				found[-1] = found[-1] || r.Reached
				if !r.Reached {
					t.Errorf("right version %d does not reach the target", v+1)
				}
			}
			for i, m := range s.Milestones {
				if !found[i] {
					t.Errorf("milestone %s is never found", m)
				}
			}
			for _, entry := range s.Wrong {
				versions++
				lines, bad, err := s.spoilt(entry)
				if err != nil {
					t.Error(err)
					continue
				}
				r := c.JudgeLines(lines)
				if r.FirstBad != bad {
					t.Errorf("%s: first bad line is %d, want %d", entry, r.FirstBad+1, bad+1)
				}
				for i, l := range r.Lines {
					if l.Status == Unreadable || i != bad && l.Status == Not {
						t.Errorf("%s: line %d, %s, is called %q: %s", entry, i+1, l.Text, l.Status, l.Say)
					}
				}
			}
		})
	}
	t.Logf("%d derivations in %d versions", len(list), versions)
}
