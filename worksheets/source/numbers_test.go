package source_test

import (
	"testing"

	"counterpoise/worksheets/source"
)

// A number with a power of ten and no point is a number (YAML 1.2.2, 10.3.2,
// the core schema's float), also where a schema wants one; in quotation marks
// it is text.
func TestPowersOfTenWithoutAPointAreNumbers(t *testing.T) {
	const sheet = `---
title: Small
minutes: 10
aims: [bend a rod]
---

` + "```question" + `
name: stiffness
kind: expression
ask: How stiff is it?
symbols: {I: {unit: m^4, from: 1e-13, to: 5E-13, means: second moment}, E: Pa, L: m}
key: 3 E I/L^3
hints: ["1e3", Look.]
samples: {right: [3 I E/L^3], wrong: [E I]}
` + "```\n"
	s, err := source.Read([]byte(sheet), "worksheet.md")
	if err != nil {
		t.Fatal(err)
	}
	q := s.Questions()[0]
	if got := q.Symbols["I"]; got.From != 1e-13 || got.To != 5e-13 {
		t.Errorf("I runs from %v to %v", got.From, got.To)
	}
	if q.Hints[0] != "1e3" {
		t.Errorf("hint %q", q.Hints[0])
	}
}
