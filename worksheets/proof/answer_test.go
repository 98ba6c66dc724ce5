package proof_test

import (
	"strings"
	"testing"
)

// A number that must come with its uncertainty is proved like any other: the
// key and the slips are stated with one, and a slip equal to the key is found.
func TestNumbersWithTheirUncertainty(t *testing.T) {
	const sheet = `---
title: Timing
minutes: 10
aims: [time a swing]
---

Time it.

` + "```question" + `
name: period
kind: number
ask: What is the period, with its standard uncertainty?
key: 3.47880 s
uncertainty: asked
within: 0.0003 s
figures: 5..7
hints: [Take the mean.]
slips:
  - {gives: SLIP, say: "That is the time of all swings together."}
working: The mean over the number of swings.
samples:
  right: ["3.47880(17) s", "(3.4788 ± 0.0002) s"]
  wrong: ["347.88(2) s"]
` + "```\n"
	if r := prove(t, strings.Replace(sheet, "SLIP", "347.880 s", 1)); r.Faults() > 0 {
		t.Errorf("blamed:\n%s", faults(r))
	}
	if r := prove(t, strings.Replace(sheet, "SLIP", "3.4789 s", 1)); !strings.Contains(faults(r), "gives the right answer") {
		t.Errorf("a slip within the tolerance of the key was not found:\n%s", faults(r))
	}
}
