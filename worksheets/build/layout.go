package build

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"strings"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/expr/typeset"
	"counterpoise/mechanics/quantity"
	"counterpoise/worksheets/notebook"
	"counterpoise/worksheets/question"
	"counterpoise/worksheets/source"
)

// A layout puts a sheet's cells into a notebook.
type layout struct {
	sheet  *source.Sheet
	values question.Values
	plain  bool
	cells  []notebook.Cell
	seen   map[string]int // how often an id was used
	number int            // of the last question
}

// tagged are the metadata of a cell with one tag of the worksheet.
func tagged(tag string) map[string]any {
	return map[string]any{"tags": []any{"worksheet-" + tag}}
}

// add appends a cell whose id follows from its text before any student's values
// are put in, so that it is the same in every copy and stays when other cells
// change.
func (l *layout) add(kind notebook.CellType, idText, source string, metadata map[string]any) {
	sum := sha256.Sum256([]byte(idText))
	l.addWithID(kind, hex.EncodeToString(sum[:5]), source, metadata)
}

func (l *layout) addWithID(kind notebook.CellType, id, source string, metadata map[string]any) {
	l.seen[id]++
	if n := l.seen[id]; n > 1 {
		id = fmt.Sprintf("%s-%d", id, n)
	}
	if metadata == nil {
		metadata = map[string]any{}
	}
	l.cells = append(l.cells, notebook.Cell{ID: id, Type: kind, Source: source, Metadata: metadata})
}

// fill prints values in a text.
func (l *layout) fill(text string) string { return fillText(text, l.values) }

func fillText(text string, values question.Values) string {
	return source.ReplacePlaceholders(text, func(p source.Placeholder) (string, bool) {
		q, ok := values[p.Name]
		if !ok {
			return "", false
		}
		return printed(q, p)
	})
}

// printed is a value as {{…}} prints it.
func printed(q quantity.Quantity, p source.Placeholder) (string, bool) {
	if p.Unit != "" {
		u, err := quantity.ParseUnit(p.Unit)
		if err != nil || u.Dimension() != q.Dimension() {
			return "", false
		}
		if p.Number {
			x, err := q.In(u)
			return numberText(x), err == nil
		}
		figures := q.Figures
		if figures == 0 {
			figures = 3
		}
		return q.Format(figures, u), true
	}
	if p.Number {
		x, err := q.In(q.Unit)
		return numberText(x), err == nil
	}
	if q.Figures == 0 {
		return q.Format(3, q.Unit), true
	}
	return q.String(), true
}

// numberText prints a number for code: as short as twelve figures allow.
func numberText(x float64) string { return fmt.Sprintf("%.12g", x) }

// title is the first cell that a reader sees.
func (l *layout) title() {
	s := l.sheet
	var b strings.Builder
	fmt.Fprintf(&b, "# %s\n", s.Title)
	var facts []string
	if s.Level != "" {
		facts = append(facts, upperFirst(s.Level))
	}
	if s.Minutes > 0 {
		facts = append(facts, fmt.Sprintf("about %d minutes", s.Minutes))
	}
	marks, n := 0.0, 0
	for _, q := range s.Questions() {
		marks += q.Worth()
		n++
	}
	if n > 0 {
		facts = append(facts, plural(n, "question"), pluralMarks(marks))
	}
	if len(facts) > 0 {
		fmt.Fprintf(&b, "\n*%s*\n", strings.Join(facts, " · "))
	}
	if len(s.Aims) > 0 {
		b.WriteString("\nWhen you have finished this sheet you can\n\n")
		for _, a := range s.Aims {
			fmt.Fprintf(&b, "- %s\n", l.fill(a))
		}
	}
	b.WriteString(l.numbers())
	l.addWithID(notebook.Markdown, "title", strings.TrimRight(b.String(), "\n"), tagged("title"))
}

func plural(n int, word string) string {
	if n == 1 {
		return "1 " + word
	}
	return fmt.Sprintf("%d %ss", n, word)
}

func pluralMarks(m float64) string {
	if m == 1 {
		return "1 mark"
	}
	return fmt.Sprintf("%.4g marks", m)
}

func upperFirst(s string) string {
	r := []rune(s)
	return strings.ToUpper(string(r[:1])) + string(r[1:])
}

// question writes the text of a question and its answer cell.
func (l *layout) question(q *question.Question) {
	l.number++
	var b strings.Builder
	fmt.Fprintf(&b, "### Question %d · %s\n\n%s\n", l.number, pluralMarks(q.Worth()), strings.TrimSpace(l.fill(q.Ask)))
	for i, o := range q.Options {
		if i == 0 {
			b.WriteString("\n")
		}
		fmt.Fprintf(&b, "- **%s** %s\n", optionLetter(i), l.fill(o.Text))
	}
	if how := l.howToAnswer(q); how != "" {
		fmt.Fprintf(&b, "\n*%s*\n", how)
	}
	if letters := l.letters(q); letters != "" {
		fmt.Fprintf(&b, "\n%s\n", letters)
	}
	if rule := q.Attempts; rule.Cost > 0 {
		fmt.Fprintf(&b, "\n*%s*\n", attemptsSay(rule))
	}
	if n := len(q.Hints); n > 0 {
		fmt.Fprintf(&b, "\nStuck? There %s: run `%s` in a new cell.\n", map[bool]string{true: "is a hint", false: fmt.Sprintf("are %d hints", n)}[n == 1], l.hintCell(q.Name))
	}
	l.addWithID(notebook.Markdown, "ask-"+q.Name, strings.TrimRight(b.String(), "\n"), tagged("question"))
	metadata := tagged("answer")
	metadata["counterpoise"] = map[string]any{"question": q.Name}
	l.addWithID(notebook.Code, "answer-"+q.Name, l.answerCell(q), metadata)
}

// attemptsSay tells a student what wrong answers cost.
func attemptsSay(rule question.Attempts) string {
	switch rule.Free {
	case 0:
		return fmt.Sprintf("Each wrong answer costs %g of the marks.", rule.Cost)
	case 1:
		return fmt.Sprintf("One wrong answer costs nothing, each further one %g of the marks.", rule.Cost)
	}
	return fmt.Sprintf("%d wrong answers cost nothing, each further one %g of the marks.", rule.Free, rule.Cost)
}

// optionLetter is how the option of that index is lettered.
func optionLetter(i int) string { return string(rune('A' + i)) }

func (l *layout) hintCell(name string) string {
	if l.plain {
		return fmt.Sprintf("worksheet.Hint(%q)", name)
	}
	return "//worksheet:hint " + name
}

// answerCell is what stands in a prepared answer cell.
func (l *layout) answerCell(q *question.Question) string {
	if l.plain {
		verb := "Answer"
		if q.Kind == "derivation" {
			verb = "Derive"
		}
		return fmt.Sprintf("worksheet.%s(%q, `\n`)", verb, q.Name)
	}
	if q.Kind == "derivation" {
		return "//worksheet:derive " + q.Name + "\n"
	}
	return "//worksheet:answer " + q.Name + "\n"
}

// howToAnswer says in a sentence what to type.
func (l *layout) howToAnswer(q *question.Question) string {
	where := "under the first line of the next cell"
	if l.plain {
		where = "between the quotation marks of the next cell"
	}
	switch q.Kind {
	case "number":
		return numberSay(q) + where + "."
	case "expression":
		return "Type a formula " + where + "."
	case "equation":
		return "Type an equation with its = " + where + "."
	case "vector":
		if len(q.Frame) > 0 {
			return "Type the components along " + strings.Join(q.Frame, ", ") + " in brackets, " + where + "."
		}
		return "Type the components in brackets, " + where + "."
	case "matrix":
		return "Type the rows in brackets, such as ((a, b), (c, d)), " + where + "."
	case "choice":
		if q.Many {
			return "Type the letters of all that are right " + where + "."
		}
		return "Type one letter " + where + "."
	case "derivation":
		return "Type one statement a line " + where + ". Every line is checked against those before it."
	case "prose":
		return "Write a few sentences " + where + ". Your tutor reads them."
	}
	return ""
}

// numberSay begins the sentence that says which kind of number to type.
func numberSay(q *question.Question) string {
	s := "Type a number with its unit"
	switch pure := q.Unit == "1"; {
	case q.Uncertainty != "" && pure:
		s = "Type a number with its uncertainty"
	case q.Uncertainty != "":
		s = "Type a number with its uncertainty and its unit"
	case pure:
		s = "Type the number alone"
	}
	if q.Figures.Least == 0 {
		return s + " "
	}
	return s + ", of " + q.Figures.String() + " figures, "
}

// letters lists the symbols that an answer may use, with units and meanings. All
// parameters are listed, so that the list gives nothing away.
func (l *layout) letters(q *question.Question) string {
	switch q.Kind {
	case "expression", "equation", "vector", "matrix", "derivation":
	default:
		return ""
	}
	var list, listed []string
	named := map[string]bool{}
	for _, name := range sortedSymbols(q) {
		sym := q.Symbols[name]
		canonical := expr.Canonical(name)
		named[canonical] = true
		list = append(list, symbolText(canonical, sym.Means, sym.Unit))
	}
	for _, p := range l.sheet.Params {
		if !named[p.Name] {
			listed = append(listed, "$"+typeset.TeX(expr.Sym(p.Name))+"$")
		}
	}
	if len(listed) > 0 {
		list = append(list, strings.Join(listed, ", ")+" as listed at the top")
	}
	if len(list) == 0 {
		return ""
	}
	return "Letters: " + strings.Join(list, "; ") + "."
}

// numbers is the list of the sheet's own numbers.
func (l *layout) numbers() string {
	if len(l.sheet.Params) == 0 {
		return ""
	}
	var b strings.Builder
	b.WriteString("\n| letter | meaning | value in this copy |\n|---|---|---|\n")
	for _, p := range l.sheet.Params {
		fmt.Fprintf(&b, "| $%s$ | %s | %s |\n", typeset.TeX(expr.Sym(p.Name)), strings.ReplaceAll(p.Means, "|", `\|`), l.values[p.Name].String())
	}
	return b.String()
}

func symbolText(name, means, unit string) string {
	s := "$" + typeset.TeX(expr.Sym(name)) + "$"
	switch {
	case means != "":
		s += " " + means
	case unit != "" && unit != "1":
		s += " in " + unit
	}
	return s
}
