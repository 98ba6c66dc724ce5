package question

import (
	"encoding/json"
	"os"
	"strings"
	"testing"
)

// A slipEntry is one entry of testdata/published/student-slips.
type slipEntry struct {
	ID, Asks, Unit, Correct, Slipped, Slip, Dimension string
	Symbols                                           []struct {
		Name, Meaning, Unit string
		Range               [2]float64
	}
}

func slipEntries(t testing.TB) []slipEntry {
	b, err := os.ReadFile("../../testdata/published/student-slips/slips.json")
	if err != nil {
		t.Fatal(err)
	}
	var es []slipEntry
	if err := json.Unmarshal(b, &es); err != nil {
		t.Fatal(err)
	}
	return es
}

func (e slipEntry) question() Question {
	q := Question{Name: e.ID, Kind: "expression", Ask: e.Asks, Unit: e.Unit, Key: e.Correct, Symbols: map[string]Symbol{}}
	for _, s := range e.Symbols {
		q.Symbols[s.Name] = Symbol{Unit: s.Unit, From: s.Range[0], To: s.Range[1], Means: s.Meaning}
	}
	return q
}

func mustCompile(t testing.TB, q Question, v Values) *Asked {
	t.Helper()
	a, err := Compile(q, v)
	if err != nil {
		t.Fatalf("%s: %v", q.Name, err)
	}
	return a
}

// Every published key is right against itself, every slip is wrong, is
// recognised, and is told without the key.
func TestPublishedSlipsAreToldApart(t *testing.T) {
	for _, e := range slipEntries(t) {
		a := mustCompile(t, e.question(), nil)
		if v := a.Check(e.Correct); v.Outcome != Right || v.Marks != 1 || v.Slip != "" {
			t.Errorf("%s: the key gets %+v", e.ID, v)
		}
		v := a.Check(e.Slipped)
		if v.Outcome != Wrong || v.Marks != 0 {
			t.Errorf("%s: %s gets %+v", e.ID, e.Slipped, v)
		}
		if v.Slip == "" {
			t.Errorf("%s: the slip in %s is not recognised: %s", e.ID, e.Slipped, v.Say)
		}
		about := strings.Contains(v.Say, "was asked.") || strings.Contains(v.Say, "do not fit together")
		if e.Dimension == "differs" != about {
			t.Errorf("%s: dimension %s, told: %s", e.ID, e.Dimension, v.Say)
		}
		if v := a.Check("(" + e.Correct + ")*17/11"); v.Outcome != Wrong || v.Slip != "constant factor" {
			t.Errorf("%s: 17/11 of the key gets %v, %q", e.ID, v.Outcome, v.Slip)
		}
	}
}
