package library_test

import (
	"strings"
	"testing"

	"counterpoise/worksheets/build"
	"counterpoise/worksheets/library"
	"counterpoise/worksheets/question"
	"counterpoise/worksheets/source"
)

// What a sheet of the library must have, after the plan of the set: enough
// questions of enough kinds, prediction before derivation, a safety note, and
// samples that prove the keys.
func TestEverySheetIsWhole(t *testing.T) {
	for _, name := range library.Names() {
		t.Run(name, func(t *testing.T) {
			s, err := library.Read(name)
			if err != nil {
				t.Fatal(err)
			}
			kinds := map[string]bool{}
			for _, q := range s.Questions() {
				kinds[q.Kind] = true
				if len(q.Hints) == 0 && q.Kind != "prose" {
					t.Errorf("%s has no hints", q.Name)
				}
			}
			if n := len(s.Questions()); n < 8 || len(kinds) < 3 {
				t.Errorf("%d questions of %d kinds", n, len(kinds))
			}
			if s.Minutes < 45 || s.Minutes > 90 || len(s.Aims) == 0 {
				t.Errorf("%d minutes, %d aims", s.Minutes, len(s.Aims))
			}
			safety := false
			for _, c := range s.Cells {
				safety = safety || c.Kind == source.Safety
			}
			if !safety {
				t.Error("no safety note")
			}
		})
	}
}

// Every sample gets the verdict that its author says, also through the sealed
// file, and no right sample is taken for a slip.
func TestSamplesGetTheirVerdicts(t *testing.T) {
	for _, name := range library.Names() {
		t.Run(name, func(t *testing.T) {
			s, err := library.Read(name)
			if err != nil {
				t.Fatal(err)
			}
			key, err := build.Key(s)
			if err != nil {
				t.Fatal(err)
			}
			asked, err := key.Asked(nil)
			if err != nil {
				t.Fatal(err)
			}
			for i, a := range asked {
				q := key.Questions[i].Question
				for _, sample := range q.Samples.Right {
					if v := a.Check(sample); v.Outcome != question.Right || v.Slip != "" {
						t.Errorf("%s: %q is %v, slip %q: %s", q.Name, sample, v.Outcome, v.Slip, v.Say)
					}
				}
				for _, sample := range q.Samples.Wrong {
					if v := a.Check(sample); v.Outcome != question.Wrong {
						t.Errorf("%s: %q is %v: %s", q.Name, sample, v.Outcome, v.Say)
					}
				}
				for _, d := range a.Doubts() {
					t.Errorf("%s: %s", q.Name, d)
				}
				if strings.Contains(q.Kind, "prose") {
					continue
				}
				if len(q.Samples.Right) == 0 || len(q.Samples.Wrong) == 0 {
					t.Errorf("%s has no samples", q.Name)
				}
			}
		})
	}
}
