package proof_test

import (
	"fmt"
	"os"
	"regexp"
	"strings"
	"testing"
)

// A fault is planted into a sound sheet: the text of the sheet, changed in one
// place, so that it is wrong.
type fault struct {
	kind string
	text string
	what string
}

// edit plants a fault at every place that matches a pattern, one at a time; the
// change returns the new text of the match, or the old one where it does not
// apply.
func edit(kind, text string, re *regexp.Regexp, change func(m []string) string) []fault {
	var all []fault
	for _, at := range re.FindAllStringSubmatchIndex(text, -1) {
		m := make([]string, len(at)/2)
		for i := range m {
			if at[2*i] >= 0 {
				m[i] = text[at[2*i]:at[2*i+1]]
			}
		}
		if out := change(m); out != m[0] {
			all = append(all, fault{kind, text[:at[0]] + out + text[at[1]:], fmt.Sprintf("%q became %q", m[0], out)})
		}
	}
	return all
}

var (
	keyLine  = regexp.MustCompile(`(?m)^key: (.*)$`)
	unitLine = regexp.MustCompile(`(?m)^unit: (.*)$`)
	slipGive = regexp.MustCompile(`(?m)^  - \{gives: ("[^"]*"|[^,]*), name: ([^,]*), say: ("[^"]*"|[^}]*)\}$`)
	block    = regexp.MustCompile("(?s)```question\n(.*?)```")
	hintLine = regexp.MustCompile(`(?m)^hints:\n  - (.*)$`)
	rightOne = regexp.MustCompile(`right: \["((?:[^"\\]|\\.)*)"`)
	wrongOne = regexp.MustCompile(`wrong: \["((?:[^"\\]|\\.)*)"`)
	inlineTX = regexp.MustCompile(`\$([a-zA-Z])\$`)
	paramOne = regexp.MustCompile(`(?m)^  ([a-zA-Z]): \{value: ([\d.]+) (\w+), from`)
	letters  = regexp.MustCompile(`^[A-F](, [A-F])*$`)
	figures  = regexp.MustCompile(`(?m)^figures: .*$`)
)

func planted(text string) []fault {
	var all []fault
	all = append(all, edit("key: sign", text, keyLine, func(m []string) string {
		switch {
		case strings.Contains(m[1], " - "):
			return "key: " + strings.Replace(m[1], " - ", " + ", 1)
		case strings.Contains(m[1], " + "):
			return "key: " + strings.Replace(m[1], " + ", " - ", 1)
		case strings.Contains(m[1], "="):
			return m[0]
		}
		return "key: -(" + strings.Trim(m[1], `"`) + ")"
	})...)
	all = append(all, edit("key: factor", text, keyLine, func(m []string) string {
		if strings.Contains(m[1], "=") {
			return m[0]
		}
		return "key: 2*(" + strings.Trim(m[1], `"`) + ")"
	})...)
	all = append(all, edit("key: unknown letter", text, keyLine, func(m []string) string {
		return "key: " + strings.Trim(m[1], `"`) + " + zeta"
	})...)
	all = append(all, edit("key: empty", text, keyLine, func([]string) string { return "key:" })...)
	all = append(all, edit("unit: another", text, unitLine, func([]string) string { return "unit: kg s" })...)
	all = append(all, edit("unit: unknown", text, unitLine, func([]string) string { return "unit: furlong" })...)
	for _, at := range block.FindAllStringSubmatchIndex(text, -1) {
		q := text[at[2]:at[3]]
		key := keyLine.FindStringSubmatch(q)
		if key == nil {
			continue
		}
		plant := func(kind, out string) {
			if out != q {
				all = append(all, fault{kind, text[:at[2]] + out + text[at[3]:], kind})
			}
		}
		name := regexp.MustCompile(`name: (\S+)`).FindStringSubmatch(q)[1]
		if slipGive.MatchString(q) {
			first := slipGive.FindStringSubmatch(q)
			plant("slip equals key of "+name, strings.Replace(q, first[0], strings.Replace(first[0], "gives: "+first[1], "gives: "+key[1], 1), 1))
			plant("slip written differently equals key of "+name, strings.Replace(q, first[0], strings.Replace(first[0], "gives: "+first[1], `gives: "(`+strings.Trim(key[1], `"`)+`)*3/3"`, 1), 1))
			if two := slipGive.FindAllStringSubmatch(q, 2); len(two) == 2 {
				plant("two slips alike in "+name, strings.Replace(q, two[1][0], strings.Replace(two[1][0], "gives: "+two[1][1], "gives: "+two[0][1], 1), 1))
			}
			plant("slip of another dimension in "+name, strings.Replace(q, first[0], strings.Replace(first[0], "gives: "+first[1], `gives: "zeta"`, 1), 1))
		}
		if h := hintLine.FindStringSubmatch(q); h != nil && len(key[1]) > 6 && !strings.Contains(key[1], "=") {
			plant("hint leaks the key of "+name, strings.Replace(q, h[0], "hints:\n  - \"It comes to $"+strings.Trim(key[1], `"`)+"$.\"", 1))
		}
		if strings.Contains(q, "kind: number") {
			plant("tolerance too wide in "+name, strings.Replace(q, "kind: number", "kind: number\nwithin: 400 %", 1))
			plant("figures too coarse in "+name, figures.ReplaceAllString(q, "figures: 1..1\nwithin: 0.01 %"))
		}
	}
	all = append(all, edit("sample: right one is wrong", text, rightOne, func(m []string) string { return `right: ["` + m[1] + ` + 1"` })...)
	all = append(all, edit("sample: unreadable", text, rightOne, func(m []string) string {
		if letters.MatchString(m[1]) { // of a choice: brackets do no harm there
			return `right: ["Z"`
		}
		return `right: ["((` + m[1] + `"`
	})...)
	all = append(all, edit("sample: wrong one is unreadable", text, wrongOne, func([]string) string { return `wrong: ["(("` })...)
	all = append(all, edit("mathematics: unknown command", text, inlineTX, func(m []string) string { return `$\unknowncommand{` + m[1] + `}$` })[:5]...)
	all = append(all, edit("range: backwards", text, paramOne, func(m []string) string {
		return fmt.Sprintf("  %s: {value: %s %s, to: 1 %s, step: 1 %s, from", m[1], m[2], m[3], m[3], m[3])
	})...)
	all = append(all, fault{"link: nowhere", text + "\n\nSee [this](#no-such-heading).\n", "a link to no heading"})
	all = append(all, fault{"link: local", text + "\n\nSee [this](../secret.txt).\n", "a link to a file"})
	return all
}

// Faults planted one at a time into a sound sheet must be found: at least 98 of
// 100, the bar of this project.
func TestPlantedFaultsAreFound(t *testing.T) {
	data, err := os.ReadFile(balancePoint)
	if err != nil {
		t.Fatal(err)
	}
	text := string(data)
	all := planted(text)
	if len(all) < 100 {
		t.Fatalf("%d faults are planted, want at least 100", len(all))
	}
	if r := prove(t, text); r.Faults() > 0 {
		t.Fatalf("the sheet is not sound before a fault is planted:\n%s", faults(r))
	}
	found := 0
	for _, f := range all {
		if r := prove(t, f.text); r.Faults() > 0 {
			found++
		} else {
			t.Logf("not found: %s: %s", f.kind, f.what)
		}
	}
	t.Logf("%d of %d found", found, len(all))
	if float64(found) < 0.98*float64(len(all)) {
		t.Errorf("%d of %d planted faults found, want 98 %%", found, len(all))
	}
}
