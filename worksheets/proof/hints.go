package proof

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	"counterpoise/worksheets/question"
)

// hints checks that no hint hands over the answer, nor what a wrong option of a
// choice says.
func (p *prover) hints() {
	asked, err := p.key.Asked(nil)
	if err != nil {
		return
	}
	for i, a := range asked {
		q, c := &p.key.Questions[i].Question, p.cell(i)
		for k, h := range q.Hints {
			if leaks(a, h) {
				p.found(c.LineOf(fmt.Sprintf("hints/%d", k)), q.Name, "hints", Fault, "hint %d holds the key", k+1)
			}
		}
		for k, o := range q.Options {
			if !o.Right && o.Say != "" && leaks(a, o.Say) {
				p.found(c.LineOf(fmt.Sprintf("options/%d/say", k)), q.Name, "feedback", Fault, "what option %d says holds the key", k+1)
			}
		}
	}
}

var (
	formulaIn = regexp.MustCompile(`\$\$?([^$]+)\$\$?`)
	// plainIn is a run of what formulas are written with outside dollar signs:
	// at least one operator between two operands.
	plainIn  = regexp.MustCompile(`[A-Za-zΑ-ω0-9_.(√√'²³][A-Za-zΑ-ω0-9_.'²³√()\s]*[-+*/^=·−≈<>][-+*/^=·−A-Za-zΑ-ω0-9_.'²³√()\s]*[A-Za-zΑ-ω0-9_.)'²³]`)
	numberIn = regexp.MustCompile(`[-−+]?\d[\d.]*(?:\s*(?:[×x·*]\s*10\s*\^?\s*[-−⁻]?[\d⁰¹²³⁴⁵⁶⁷⁸⁹]+|[eE][-+]?\d+))?(?:\s*[A-Za-zµ°%]+(?:[\^]?[-−⁻]?[\d²³⁻¹]+)?(?:\s*[/·]\s*[A-Za-z]+(?:\^?[-−⁻]?[\d²³⁻¹]+)?|\s+[A-Za-z]{1,3}\b)*)?`)
)

// maxPieces bounds the pieces of a text that are tried as answers.
const maxPieces = 200

// leaks reports whether a text holds an answer that is right: a formula, a
// number, an option's letter or words. A key that is a single letter or a bare
// small number is passed over: a hint can hardly do without such.
func leaks(a *question.Asked, text string) bool {
	q := &a.Question
	switch q.Kind {
	case "choice":
		return leaksChoice(q, text)
	case "number":
		return tries(a, pieces(numberIn, text, 0)) || leaksFormula(a, text)
	case "expression", "equation", "vector", "matrix":
		return holdsFormula(a, text)
	}
	return false
}

// leaksFormula looks for the formula behind a number.
func leaksFormula(a *question.Asked, text string) bool {
	q := a.Question
	q.Kind, q.Unit, q.Within, q.Slips, q.Params = "expression", "", "", nil, nil
	formula, err := question.Compile(q, a.Values)
	return err == nil && holdsFormula(formula, text)
}

// holdsFormula looks for a formula that is right.
func holdsFormula(a *question.Asked, text string) bool {
	if trivial(a.Question.Key) {
		return false
	}
	all := pieces(formulaIn, text, 1)
	rest := formulaIn.ReplaceAllString(text, " ")
	all = append(all, pieces(plainIn, rest, 0)...)
	for _, f := range slices.Clone(all) {
		all = append(all, strings.FieldsFunc(f, func(r rune) bool { return strings.ContainsRune("=≈,;:", r) })...)
	}
	return tries(a, all) || strings.Contains(squeeze(rest), squeeze(a.Question.Key))
}

func tries(a *question.Asked, all []string) bool {
	for _, text := range all[:min(len(all), maxPieces)] {
		if a.Check(text).Outcome == question.Right {
			return true
		}
	}
	return false
}

func pieces(re *regexp.Regexp, text string, group int) []string {
	var all []string
	for _, m := range re.FindAllStringSubmatch(text, maxPieces) {
		if s := strings.TrimSpace(m[group]); s != "" {
			all = append(all, s)
		}
	}
	return all
}

// trivial tells keys so short that prose holds them by chance.
func trivial(key string) bool { return len([]rune(squeeze(key))) <= 3 }

func squeeze(s string) string { return strings.Join(strings.Fields(s), "") }

// leaksChoice looks for a right option's letter or its words.
func leaksChoice(q *question.Question, text string) bool {
	low := strings.ToLower(squeeze(text))
	for i, o := range q.Options {
		if !o.Right {
			continue
		}
		letter := string(rune('A' + i))
		if regexp.MustCompile(`(?i)\b(option|answer|letter)\s+` + letter + `\b`).MatchString(text) {
			return true
		}
		if words := strings.ToLower(squeeze(o.Text)); len(words) > 12 && strings.Contains(low, words) {
			return true
		}
	}
	return false
}
