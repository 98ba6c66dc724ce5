package proof_test

import (
	"html"
	"strings"
	"testing"

	"counterpoise/worksheets/library"
	"counterpoise/worksheets/proof"
)

// A colleague reads on the proof sheet what students do not see: every key with
// its values, every slip and sample with what it is told, hints and workings.
func TestProofSheetShowsEveryQuestion(t *testing.T) {
	s, err := library.Read("hard-to-turn")
	if err != nil {
		t.Fatal(err)
	}
	r, err := proof.Prove(t.Context(), s, nil, proof.Options{Variants: 1})
	if err != nil {
		t.Fatal(err)
	}
	page, err := r.HTML()
	if err != nil {
		t.Fatal(err)
	}
	shown := html.UnescapeString(string(page))
	for _, q := range s.Questions() {
		want := []string{q.Name, q.Key, q.Target}
		want = append(append(want, q.Given...), q.Samples.Right...)
		for _, slip := range q.Slips {
			want = append(want, slip.Gives, slip.Say)
		}
		for _, text := range want {
			for line := range strings.Lines(text) {
				if line = strings.TrimSpace(line); !strings.Contains(line, "$") && !strings.Contains(shown, line) {
					t.Errorf("%s: %q is not shown", q.Name, line)
				}
			}
		}
	}
	// The whole piece: value as printed, and at the ends of a class.
	for _, text := range []string{"0.0003118 kg m²", "from 0.0001686 kg m² to 0.0004841 kg m²", "within 2 %, 3 to 4 figures"} {
		if !strings.Contains(shown, text) {
			t.Errorf("%q is not shown", text)
		}
	}
}
