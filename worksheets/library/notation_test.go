package library_test

import (
	"os"
	"regexp"
	"strings"
	"testing"

	"counterpoise/worksheets/question"
)

// Every form that the page of notation says a student may type is read, and
// means what stands beside it.
func TestNotationPageIsTrue(t *testing.T) {
	data, err := os.ReadFile("NOTATION.md")
	if err != nil {
		t.Fatal(err)
	}
	symbols := map[string]question.Symbol{}
	for _, name := range []string{"m", "h", "a", "b", "c", "x", "l", "g", "t", "tau", "I_c", "omega_0", "m_1"} {
		symbols[name] = question.Symbol{Unit: "1", From: 0.5, To: 2}
	}
	formula, typed := regexp.MustCompile(`\$([^$]+)\$`), regexp.MustCompile("`([^`]+)`")
	rows := 0
	for line := range strings.Lines(string(data)) {
		cells := strings.Split(line, "|")
		if len(cells) != 4 || !strings.Contains(cells[1], "$") {
			continue
		}
		rows++
		var asked []*question.Asked
		for _, m := range formula.FindAllStringSubmatch(cells[1], -1) {
			a, err := question.Compile(question.Question{Name: "q", Kind: "expression", Key: m[1], Symbols: symbols, Time: []string{"theta"}}, nil)
			if err != nil {
				t.Errorf("%s: %v", m[1], err)
				continue
			}
			asked = append(asked, a)
		}
		met := map[int]bool{}
		for _, m := range typed.FindAllStringSubmatch(cells[2], -1) {
			right := false
			for i, a := range asked {
				if a.Check(m[1]).Outcome == question.Right {
					right = true
					met[i] = true
				}
			}
			if !right {
				t.Errorf("%q is none of %s", m[1], strings.TrimSpace(cells[1]))
			}
		}
		if len(met) != len(asked) {
			t.Errorf("no form is given for part of %s", strings.TrimSpace(cells[1]))
		}
	}
	if rows < 10 {
		t.Errorf("only %d rows were found", rows)
	}
}

func TestNumbersOfTheNotationPage(t *testing.T) {
	for _, tt := range []struct {
		key, unit string
		typed     []string
	}{
		{"50.6 mm", "mm", []string{"50.6 mm", "5.06 cm", "0.0506 m"}},
		{"0.84 s", "s", []string{"8.4e-1 s", "8.4×10⁻¹ s", "8.4*10^-1 s", "0.84(2) s", "(0.84 ± 0.02) s"}},
		{"9.81 m/s^2", "", []string{"9.81 m/s^2", "9.81 m/s²"}},
		{"3 N m", "", []string{"3 N m"}},
		{"3 g cm^2", "", []string{"3 g cm²"}},
		{"30 deg", "deg", []string{"30 deg", "30°", "0.5236 rad"}},
		{"5 Hz", "", []string{"5 Hz"}},
	} {
		a, err := question.Compile(question.Question{Name: "q", Kind: "number", Key: tt.key, Unit: tt.unit}, nil)
		if err != nil {
			t.Errorf("%s: %v", tt.key, err)
			continue
		}
		for _, typed := range tt.typed {
			if v := a.Check(typed); v.Outcome != question.Right {
				t.Errorf("%q for %s is %v: %s", typed, tt.key, v.Outcome, v.Say)
			}
		}
		if v := a.Check(strings.Fields(tt.key)[0]); v.Outcome == question.Right {
			t.Errorf("%s passes without its unit", tt.key)
		}
	}
}
