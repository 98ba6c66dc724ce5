package question

import (
	"os"
	"strconv"
	"strings"
	"testing"
)

// usual are the values that letters take in testdata/slips.txt, by their unit.
var usual = map[string][2]float64{
	"kg": {0.01, 0.3}, "m": {0.02, 0.3}, "s": {0.5, 2}, "m/s^2": {9.7, 9.9}, "Pa": {7e10, 2e11}, "kg m^2": {1e-5, 1e-3}, "N/m": {5, 200},
	"N m": {0.1, 2}, "N": {0.5, 5}, "m^4": {1e-12, 1e-10}, "rad/s": {2, 12}, "1/s": {0.1, 1}, "Hz": {0.5, 4}, "m/s": {0.2, 3}, "1": {0.1, 1.4},
	"J": {0.01, 1}, "kg/m": {0.01, 0.1}, "kg/m^3": {2000, 8000}, "kg/s": {0.01, 0.1}, "kg m^2/s": {0.001, 0.01},
}

// A slipLine is one line of testdata/slips.txt.
type slipLine struct{ unit, letters, key, answer, slip string }

func slipTable(t testing.TB) []slipLine {
	text, err := os.ReadFile("testdata/slips.txt")
	if err != nil {
		t.Fatal(err)
	}
	var out []slipLine
	for line := range strings.Lines(string(text)) {
		if line = strings.TrimSpace(line); line == "" || line[0] == '#' {
			continue
		}
		f := strings.Split(line, " | ")
		if len(f) != 5 {
			t.Fatalf("%q has %d fields", line, len(f))
		}
		out = append(out, slipLine{f[0], f[1], f[2], f[3], f[4]})
	}
	return out
}

func (l slipLine) question(t testing.TB) Question {
	q := Question{Name: l.key, Kind: "expression", Unit: l.unit, Key: l.key, Symbols: map[string]Symbol{}}
	for letter := range strings.SplitSeq(l.letters, ",") {
		f := strings.Split(strings.TrimSpace(letter), ":")
		s := Symbol{Unit: f[1], From: usual[f[1]][0], To: usual[f[1]][1]}
		for _, more := range f[2:] {
			from, to, ok := strings.Cut(more, "..")
			if !ok {
				s.Means = more
				continue
			}
			var err1, err2 error
			s.From, err1 = strconv.ParseFloat(from, 64)
			s.To, err2 = strconv.ParseFloat(to, 64)
			if err1 != nil || err2 != nil {
				t.Fatalf("%q: %v %v", letter, err1, err2)
			}
		}
		q.Symbols[f[0]] = s
	}
	return q
}

// Slips over all of mechanics are wrong, and called what the table calls them;
// at most one in fifty is not recognised.
func TestTableOfSlips(t *testing.T) {
	lines, unknown := slipTable(t), 0
	for _, l := range lines {
		a := mustCompile(t, l.question(t), nil)
		if v := a.Check(l.key); v.Outcome != Right {
			t.Errorf("%s gets %v: %s", l.key, v.Outcome, v.Say)
		}
		v := a.Check(l.answer)
		name := v.Slip
		if name == "" || name == "dimension" {
			name = "-"
			unknown++
		}
		if v.Outcome != Wrong || name != l.slip {
			t.Errorf("%s for %s gets %v, %q, want %q: %s", l.answer, l.key, v.Outcome, name, l.slip, v.Say)
		}
	}
	if unknown*50 > len(lines) {
		t.Errorf("%d of %d slips are not recognised", unknown, len(lines))
	}
}
