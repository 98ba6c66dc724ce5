package question

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strings"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/expr/parse"
	"counterpoise/mechanics/expr/typeset"
	"counterpoise/mechanics/quantity"
)

// MaxComponents is the number of components of a vector or matrix that are
// read: a 6×6 stiffness matrix, and some room.
const MaxComponents = 64

// array is a vector or a matrix to find: its entries are judged one by one.
type array struct {
	rows, columns int // a vector is one row
	entries       []judge
	unit          string
	frame         []string
	parts         []*Asked // the questions of the entries, where the key is known
	offsets       []int    // of the entries' points of comparison, where it is sealed
	locked        bool     // the key is sealed: lock opens it, or nothing if nil
	lock          Lock
}

func compileVector(a *Asked) (judge, error) {
	rows, trailing, err := splitArray(a.Question.Key)
	if err != nil || len(rows) != 1 && len(rows[0]) != 1 {
		return nil, a.fault("key", fmt.Sprintf("%q is no vector", a.Question.Key), "write it as (a, b) or (a, b, c)")
	}
	if len(rows) > 1 { // written as a column
		rows = [][]string{flat(rows)}
	}
	if n := len(a.Question.Frame); n > 0 && n != len(rows[0]) {
		return nil, a.fault("frame", fmt.Sprintf("names %d axes, the key has %d components", n, len(rows[0])), "make them as many")
	}
	return a.compileArray(rows, trailing)
}

func compileMatrix(a *Asked) (judge, error) {
	rows, trailing, err := splitArray(a.Question.Key)
	if err != nil {
		return nil, a.fault("key", fmt.Sprintf("%q is no matrix: %v", a.Question.Key, err), "write its rows as ((a, b), (c, d))")
	}
	return a.compileArray(rows, trailing)
}

func flat(rows [][]string) []string { return slices.Concat(rows...) }

// compileArray makes the entries of a vector or matrix ready: numbers with a
// unit where the question gives a unit or its key has no letters, formulas where
// it declares letters, or the key has letters and no unit is given.
func (a *Asked) compileArray(rows [][]string, trailing string) (judge, error) {
	x := &array{rows: len(rows), columns: len(rows[0]), unit: a.Question.Unit, frame: a.Question.Frame}
	if x.unit == "" {
		x.unit = trailing
	}
	formulas := len(a.Question.Symbols) > 0 || x.unit == "" && slices.ContainsFunc(flat(rows), a.isFormula)
	for i, row := range rows {
		for j, text := range row {
			one := *a
			one.Question.Key, one.Question.Slips, one.Question.Unit = withUnit(text, trailing), nil, x.unit
			one.Question.Name = strings.TrimSpace(a.Question.Name + " " + strings.TrimPrefix(x.place(i*x.columns+j), "the "))
			kind := compileNumber
			if formulas {
				kind, one.Question.Key = compileExpression, text
			}
			entry, err := kind(&one)
			if err != nil {
				return nil, err
			}
			a.names, a.symbols, a.dims, a.compare = one.names, one.symbols, one.dims, one.compare
			one.judge = entry
			x.entries, x.parts = append(x.entries, entry), append(x.parts, &one)
		}
	}
	for i, s := range a.Question.Slips {
		if rows, _, err := splitArray(s.Gives); err != nil || len(flat(rows)) != len(x.entries) {
			return nil, a.fault(fmt.Sprintf("slips/%d/gives", i), "has not as many components as the key", "write it as the key is written")
		}
	}
	return x, nil
}

// withUnit puts a unit that stands behind the whole array behind an entry.
func withUnit(entry, unit string) string {
	if unit == "" {
		return entry
	}
	if _, err := quantity.Parse(entry); err == nil {
		return entry + " " + unit
	}
	return entry
}

// place names an entry for a person.
func (x *array) place(i int) string {
	if x.rows > 1 {
		return fmt.Sprintf("row %d, column %d", i/x.columns+1, i%x.columns+1)
	}
	if len(x.frame) == x.columns {
		return "the " + x.frame[i] + " component"
	}
	return fmt.Sprintf("component %d", i+1)
}

func (x *array) check(a *Asked, answer string) Verdict {
	texts, v, ok := x.read(a, answer)
	if !ok {
		return v
	}
	verdicts := x.judgeEach(a, texts)
	v = a.verdict(Wrong)
	v.TeX, v.Text = x.shown(verdicts)
	var wrong []int
	for i, e := range verdicts {
		switch e.Outcome {
		case Unreadable:
			v.Outcome, v.Slip, v.Caret = Unreadable, e.Slip, e.Caret
			v.Say = "In " + x.place(i) + ": " + e.Say
			return v
		case ForHuman:
			v.Outcome, v.Say = ForHuman, e.Say
			return v
		case Wrong:
			wrong = append(wrong, i)
		}
	}
	if x.locked && x.lock == nil {
		return a.kept(v)
	}
	if len(wrong) == 0 {
		return a.right(v)
	}
	v.Slip, v.Say, v.Prose = x.explain(a, texts, verdicts, wrong)
	return v
}

func (x *array) judgeEach(a *Asked, texts []string) []Verdict {
	out := make([]Verdict, len(texts))
	for i, text := range texts {
		out[i] = x.judgeOne(a, i, text)
	}
	return out
}

// judgeOne judges one entry.
func (x *array) judgeOne(a *Asked, i int, text string) Verdict {
	one := *a
	one.Question.Marks = 1
	if x.locked {
		one.offset = x.offsets[i]
	}
	return x.entries[i].check(&one, text)
}

// explain words a wrong array: a foreseen slip, all turned round, entries in
// the wrong places, or the entries that are wrong.
func (x *array) explain(a *Asked, texts []string, verdicts []Verdict, wrong []int) (slip, say string, prose bool) {
	if s, ok := x.foreseenSlip(a, texts); ok {
		return slipName(s), s.Say, true
	}
	if x.rows > 1 && x.rows == x.columns && x.allRight(a, transposed(texts, x.columns)) {
		return "transposed", "Rows and columns have changed places.", false
	}
	if x.rows == 1 && len(wrong) == 2 {
		i, j := wrong[0], wrong[1]
		if x.judgeOne(a, i, texts[j]).Outcome == Right && x.judgeOne(a, j, texts[i]).Outcome == Right {
			return "components exchanged", "Two components have changed places: which axis comes first?", false
		}
	}
	slip = verdicts[wrong[0]].Slip
	same := true
	for _, i := range wrong {
		same = same && verdicts[i].Slip == slip
	}
	switch {
	case slip == "sign" && same && len(wrong) > 1 && x.rows == 1:
		return "sign", "The direction is turned round: which way does each axis point?", false
	case len(wrong) == len(texts) && !same:
		return "", "None of the components is right yet. Start with " + x.place(0) + ".", false
	}
	places := make([]string, len(wrong))
	for k, i := range wrong {
		places[k] = x.place(i)
	}
	say = "Look at " + inList(places) + "."
	if slip != "" && same {
		return slip, say + " " + verdicts[wrong[0]].Say, verdicts[wrong[0]].Prose
	}
	return "", say, false
}

func (x *array) allRight(a *Asked, texts []string) bool {
	for i, text := range texts {
		if x.judgeOne(a, i, text).Outcome != Right {
			return false
		}
	}
	return true
}

func transposed(texts []string, n int) []string {
	out := make([]string, len(texts))
	for i := range texts {
		out[i%n*n+i/n] = texts[i]
	}
	return out
}

// foreseenSlip returns the teacher's slip that the entries are.
func (x *array) foreseenSlip(a *Asked, texts []string) (Slip, bool) {
	if x.locked {
		prints := [][]byte{[]byte("array")}
		for i, text := range texts {
			var next [][]byte
			for _, e := range x.entryPrints(a, i, text) {
				for _, p := range prints {
					if len(next) < maxPrints {
						next = append(next, slices.Concat(p, e))
					}
				}
			}
			prints = next
		}
		for _, s := range x.lock.Foreseen(prints) {
			return s.Slip, true
		}
		return Slip{}, false
	}
	for _, s := range a.Question.Slips {
		if x.isSlip(a, s, texts) {
			return s, true
		}
	}
	return Slip{}, false
}

// entryPrints are the prints of an entry, for boxes that all entries open
// together.
func (x *array) entryPrints(a *Asked, i int, text string) [][]byte {
	switch e := x.entries[i].(type) {
	case *number:
		if given, _, ok := e.read(a, text); ok {
			return slipPrints(given.Value, given.Value)
		}
	case *expression:
		if readings, _, ok := a.read(text); ok {
			sides := answerSides(readings[0])
			one := *a
			one.offset = x.offsets[i]
			return e.prints(&one, sides[len(sides)-1], printEdge)
		}
	}
	return nil
}

func (x *array) publish(a *Asked, p *Public) error {
	p.Rows, p.Unit = x.rows, x.unit
	for i, one := range x.parts {
		part := Public{Question: Question{Kind: "expression", Marks: 1}}
		if _, isNumber := x.entries[i].(*number); isNumber {
			part.Question.Kind = "number"
			part.Question.Figures, part.Question.Uncertainty = a.Question.Figures, a.Question.Uncertainty
		}
		if err := x.entries[i].(sealable).publish(one, &part); err != nil {
			return err
		}
		p.Parts = append(p.Parts, part)
	}
	return nil
}

func shellArray(a *Asked, p Public, l Lock) (judge, error) {
	if n := len(p.Parts); n == 0 || n > MaxComponents || p.Rows < 1 || n%p.Rows != 0 {
		return nil, a.fault("parts", "their number does not fit the rows", "")
	}
	x := &array{rows: p.Rows, columns: len(p.Parts) / p.Rows, unit: p.Unit, frame: p.Question.Frame, locked: true, lock: l}
	for i, part := range p.Parts {
		var own Lock
		if l != nil {
			own = l.Part(i)
		}
		make := shellNumber
		if part.Question.Kind == "expression" {
			make = shellExpression
		}
		entry, err := make(a, part, own)
		if err != nil {
			return nil, err
		}
		x.entries, x.offsets = append(x.entries, entry), append(x.offsets, part.Offset)
	}
	return x, nil
}

func (x *array) secrets(a, shell *Asked) Secrets {
	var out Secrets
	for i, e := range x.entries {
		part := *x.parts[i]
		part.Question.Kind, part.Question.Marks, part.Question.Frame = "expression", 1, nil
		if _, isNumber := e.(*number); isNumber {
			part.Question.Kind = "number"
		}
		part.Question.Ask, part.Question.Hints, part.Question.Working = "", nil, ""
		out.Parts = append(out.Parts, e.(sealable).secrets(x.parts[i], x.shellOf(shell, i)))
		out.PartKeys = append(out.PartKeys, &part)
	}
	for _, s := range a.Question.Slips {
		if prints := x.slipPrints(a, shell, s); prints != nil {
			out.Foreseen = append(out.Foreseen, ForeseenSecret{ForeseenSlip{Slip: s}, prints})
		}
	}
	return out
}

// shellOf returns the shell as entry i sees it.
func (x *array) shellOf(shell *Asked, i int) *Asked {
	one := *shell
	if e, ok := x.entries[i].(*expression); ok {
		one.offset = e.finder.Offset()
	}
	return &one
}

// slipPrints are the prints of a foreseen slip of all entries together.
func (x *array) slipPrints(a, shell *Asked, s Slip) [][]byte {
	one := *a
	one.Question.Key, one.Question.Slips = s.Gives, nil
	make := compileVector
	if x.rows > 1 {
		make = compileMatrix
	}
	other, err := make(&one)
	if err != nil {
		return nil
	}
	prints := [][]byte{[]byte("array")}
	for i, e := range other.(*array).entries {
		var own [][]byte
		switch e := e.(type) {
		case *number:
			reach := widestSlip * math.Abs(e.key)
			own = slipPrints(e.key-reach, e.key+reach)
		case *expression:
			own = e.prints(x.shellOf(shell, i), e.key, 0)
		}
		var next [][]byte
		for _, p := range prints {
			for _, o := range own {
				if len(next) < maxPrints*maxPrints {
					next = append(next, slices.Concat(p, o))
				}
			}
		}
		prints = next
	}
	return prints
}

// isSlip reports whether an answer is a foreseen wrong one.
func (x *array) isSlip(a *Asked, s Slip, texts []string) bool {
	one := *a
	one.Question.Key, one.Question.Slips = s.Gives, nil
	make := compileVector
	if x.rows > 1 {
		make = compileMatrix
	}
	other, err := make(&one)
	if err != nil {
		return false
	}
	return other.(*array).allRight(&one, texts)
}

func (x *array) shown(verdicts []Verdict) (tex, text string) {
	var rowsTeX, rowsText []string
	for i := range x.rows {
		var cellsTeX, cellsText []string
		for _, v := range verdicts[i*x.columns : (i+1)*x.columns] {
			cellsTeX, cellsText = append(cellsTeX, v.TeX), append(cellsText, v.Text)
		}
		rowsTeX = append(rowsTeX, strings.Join(cellsTeX, " & "))
		rowsText = append(rowsText, "("+strings.Join(cellsText, ", ")+")")
	}
	if x.rows == 1 {
		return `\begin{pmatrix} ` + strings.ReplaceAll(rowsTeX[0], " & ", ` \\ `) + ` \end{pmatrix}`, rowsText[0]
	}
	return `\begin{pmatrix} ` + strings.Join(rowsTeX, ` \\ `) + ` \end{pmatrix}`, "(" + strings.Join(rowsText, ", ") + ")"
}

// read splits an answer into as many entries as the key has.
func (x *array) read(a *Asked, answer string) ([]string, Verdict, bool) {
	answer = strings.NewReplacer(`\,`, " ", `\;`, " ", `\!`, "", `\quad`, " ").Replace(answer)
	if texts, ok := x.alongAxes(a, answer); ok {
		return texts, Verdict{}, true
	}
	if texts, ok := x.named(answer); ok {
		return texts, Verdict{}, true
	}
	if texts, ok := x.numbersAlong(answer); ok {
		return texts, Verdict{}, true
	}
	if x.rows > 1 && !strings.ContainsAny(answer, `([{\;`) {
		answer = strings.ReplaceAll(strings.TrimSpace(answer), "\n", ";") // a row on each line
	}
	factor, text := factorBefore(roundBrackets(lastSideOf(answer)))
	rows, trailing, err := splitArray(text)
	if err != nil {
		return nil, a.unreadable("This could not be read: " + err.Error() + "."), false
	}
	texts := flat(rows)
	if len(texts) != len(x.entries) || x.rows > 1 && len(rows) != x.rows {
		say := fmt.Sprintf("%s asked; this has %s.", x.shape(x.rows, x.columns), x.shape(len(rows), len(rows[0])))
		if len(texts) == 1 {
			say += " Write them in brackets, with commas between: (…, …)."
			if x.rows > 1 {
				say = strings.Replace(say, "(…, …)", "((…, …), (…, …))", 1)
			}
		}
		return nil, a.unreadable(say), false
	}
	for i := range texts {
		if factor != "" {
			texts[i] = strings.TrimSpace("(" + factor + ")*(" + texts[i] + ") " + trailing)
		} else {
			texts[i] = withUnit(texts[i], trailing)
		}
	}
	return texts, Verdict{}, true
}

// roundBrackets puts round brackets for {a, b} and <a, b>.
func roundBrackets(text string) string {
	text = strings.TrimSpace(text)
	if strings.Contains(text, `\`) || text == "" {
		return text
	}
	if text[0] == '{' && strings.Contains(text, "}") {
		return strings.NewReplacer("{", "(", "}", ")").Replace(text)
	}
	if i := strings.LastIndexByte(text, '>'); text[0] == '<' && i > 0 {
		return "(" + text[1:i] + ")" + text[i+1:]
	}
	return text
}

// factorBefore cuts off what stands before an array and multiplies all of it:
// v in v (cos q, sin q).
func factorBefore(text string) (factor, array string) {
	text = strings.TrimSpace(text)
	at := strings.Index(text, `\begin{`)
	if at < 0 {
		at = strings.IndexAny(text, "([")
		if at < 0 || strings.ContainsAny(text[:at], ",;") {
			return "", text
		}
		if end := closing(text[at:]); end < 0 || !strings.ContainsAny(text[at:at+end], ",;") || strings.ContainsAny(text[at+end:], ",;") {
			return "", text
		}
	}
	before := strings.NewReplacer(`\left`, "").Replace(text[:at])
	if at > 0 && strings.HasPrefix(text[at:], `\begin{`) {
		before = strings.TrimRight(before, " ([")
	}
	factor = strings.TrimRight(strings.TrimSpace(before), "*·× ")
	if factor == "" || factor == "(" || factor == "[" {
		return "", text
	}
	if factor == "-" || factor == "+" {
		factor += "1"
	}
	return factor, text[at:]
}

// numbersAlong reads 30 mm e_x - 60 mm e_y, or the same with \hat{x} or i, where
// the entries are numbers.
func (x *array) numbersAlong(answer string) ([]string, bool) {
	if x.rows != 1 || len(answer) > parse.MaxBytes || strings.ContainsAny(answer, ",;") {
		return nil, false
	}
	if _, isNumber := x.entries[0].(*number); !isNumber {
		return nil, false
	}
	frame := x.frame
	if len(frame) != x.columns {
		if x.columns > 3 {
			return nil, false
		}
		frame = []string{"x", "y", "z"}[:x.columns]
	}
	text, trailing := strings.TrimSpace(lastSideOf(answer)), ""
	if end := closing(text); end > 0 {
		text, trailing = text[1:end], text[end+1:]
	}
	texts := make([]string, x.columns)
	found := 0
	for text = strings.TrimSpace(text); text != ""; found++ {
		m := alongUnit.FindStringSubmatch(text)
		if m == nil {
			return nil, false
		}
		axis := m[3] + m[4] + m[5]
		i := slices.Index(frame, axis)
		if i < 0 {
			i = slices.Index([]string{"i", "j", "k"}, axis)
		}
		if i < 0 || i >= len(texts) || texts[i] != "" {
			return nil, false
		}
		texts[i] = withUnit(strings.TrimSpace(m[1]+strings.TrimSpace(m[2])), strings.TrimSpace(trailing))
		text = strings.TrimSpace(text[len(m[0]):])
	}
	for i := range texts {
		if texts[i] == "" {
			texts[i] = strings.TrimSpace("0 " + x.unit)
		}
	}
	return texts, found > 0
}

// alongUnit finds a number with its unit before a unit vector.
var alongUnit = regexp.MustCompile(`^([-+−]?)\s*([0-9.]+(?:[eE][-+]?\d+)?(?:\s+[^-+−\s\\]+?)??)\s*(?:\\hat\s*\{?(\pL)\}?|\\?e_\{?(\pL)\}?|([ijk]))(?:\s|$)`)

func (x *array) shape(rows, columns int) string {
	if x.rows == 1 {
		if rows > 1 {
			columns *= rows
		}
		if columns == 1 {
			return "1 component"
		}
		return fmt.Sprintf("%d components", columns)
	}
	if rows == 1 {
		return fmt.Sprintf("1 row of %d", columns)
	}
	return fmt.Sprintf("%d rows of %d", rows, columns)
}

// lastSideOf leaves out what stands before =, as in r = (a, b).
func lastSideOf(answer string) string {
	if i := strings.LastIndexByte(answer, '='); i >= 0 && strings.TrimSpace(answer[i+1:]) != "" {
		return answer[i+1:]
	}
	return answer
}

// named reads "x = a, y = b" where these are the axes.
func (x *array) named(answer string) ([]string, bool) {
	if len(x.frame) != x.columns || x.rows != 1 {
		return nil, false
	}
	parts := strings.FieldsFunc(answer, func(r rune) bool { return r == ',' || r == ';' || r == '\n' })
	if len(parts) != x.columns {
		return nil, false
	}
	texts := make([]string, x.columns)
	for _, p := range parts {
		name, value, ok := strings.Cut(p, "=")
		if !ok {
			name, value, ok = strings.Cut(p, ":")
		}
		name = strings.TrimSpace(name)
		i := slices.IndexFunc(x.frame, func(axis string) bool {
			return name == axis || strings.HasSuffix(name, "_"+axis) || strings.HasSuffix(name, "_{"+axis+"}")
		})
		if !ok || i < 0 || texts[i] != "" {
			return nil, false
		}
		texts[i] = strings.TrimSpace(value)
	}
	return texts, true
}

// alongAxes reads a e_x + b e_y, a \hat{x} + b \hat{y} or, where those letters
// are free, a i + b j + c k.
func (x *array) alongAxes(a *Asked, answer string) ([]string, bool) {
	if x.rows != 1 || len(answer) > parse.MaxBytes || strings.Contains(answer, ",") {
		return nil, false
	}
	frame := x.frame
	if len(frame) != x.columns {
		frame = []string{"x", "y", "z"}[:min(3, x.columns)]
		if len(frame) != x.columns {
			return nil, false
		}
	}
	text := lastSideOf(answer)
	units := make([]string, len(frame))
	for i, axis := range frame {
		units[i] = "e_" + axis
		for _, form := range []string{`\hat{` + axis + `}`, `\hat ` + axis, `\vec{e}_` + axis, `\vec{e}_{` + axis + `}`, `\mathbf{e}_` + axis, `\mathbf{e}_{` + axis + `}`, axis + "\u0302"} {
			text = strings.ReplaceAll(text, form, " "+units[i]+" ")
		}
		text = multiplied(text, units[i])
	}
	if !strings.Contains(text, "e_") {
		for i, letter := range []string{"i", "j", "k"}[:min(3, len(frame))] {
			if _, taken := a.symbols[letter]; taken {
				return nil, false
			}
			units[i] = letter
		}
	}
	o := a.options()
	o.Symbols = append(slices.Clone(o.Symbols), units...)
	e, err := parse.Parse(text, o)
	if err != nil {
		return nil, false
	}
	texts, zero := make([]string, len(units)), map[string]expr.Expr{}
	any := false
	for i, u := range units {
		u = expr.Canonical(u)
		zero[u] = expr.Expr{}
		part := e.Diff(u)
		any = any || e.Has(u)
		for _, other := range units {
			if part.Has(other) {
				return nil, false
			}
		}
		texts[i] = textOf(part)
	}
	if !any || !e.Subs(zero).Simplify().IsZero() {
		return nil, false
	}
	return texts, true
}

// multiplied puts a * before a unit vector that follows a factor, so that
// cos θ e_x is not read as the cosine of a vector.
func multiplied(text, unit string) string {
	parts := strings.Split(text, unit)
	for i, p := range parts[:len(parts)-1] {
		p = strings.TrimRight(p, " ")
		if p != "" && !strings.ContainsAny(p[len(p)-1:], "+-*/(") {
			p += " * "
		}
		parts[i] = p
	}
	return strings.Join(parts, unit)
}

// splitArray splits (a, b), [a; b], ((a, b), (c, d)) or a TeX matrix into rows
// of entries, and returns what stands behind it, such as a unit.
func splitArray(text string) (rows [][]string, trailing string, err error) {
	text = strings.TrimSpace(text)
	if strings.Count(text, ",")+strings.Count(text, ";")+strings.Count(text, "&") > 4*MaxComponents {
		return nil, "", fmt.Errorf("it has more than %d entries", MaxComponents)
	}
	if body, rest, ok := texMatrix(text); ok {
		for _, row := range strings.Split(body, `\\`) {
			if strings.TrimSpace(row) != "" {
				rows = append(rows, trimmed(strings.Split(row, "&")))
			}
		}
		return checked(rows, rest)
	}
	text = strings.NewReplacer(`\left`, "", `\right`, "", `\langle`, "(", `\rangle`, ")", "⟨", "(", "⟩", ")").Replace(text)
	text = strings.TrimSpace(text)
	body, rest := text, ""
	if end := closing(text); end > 0 {
		body, rest = text[1:end], strings.TrimSpace(text[end+1:])
		if !strings.ContainsAny(body, ",;") && (end != len(text)-1 || strings.ContainsAny(rest, ",;")) {
			body, rest = text, ""
		}
	}
	if strings.HasPrefix(rest, ",") || strings.HasPrefix(rest, ";") { // (a), (b) without outer brackets
		body, rest = text, ""
	}
	outer := split(body, ';')
	if len(outer) == 1 {
		outer = split(body, ',')
		inner := outer
		if allBracketed(inner) {
			for _, row := range inner {
				row = strings.TrimSpace(row)
				rows = append(rows, trimmed(split(row[1:len(row)-1], ',')))
			}
			return checked(rows, rest)
		}
		return checked([][]string{trimmed(outer)}, rest)
	}
	for _, row := range outer {
		row = strings.TrimSpace(row)
		if end := closing(row); end == len(row)-1 && end > 0 {
			row = row[1:end]
		}
		rows = append(rows, trimmed(split(row, ',')))
	}
	return checked(rows, rest)
}

// checked refuses arrays that are ragged, empty or too large.
func checked(rows [][]string, trailing string) ([][]string, string, error) {
	n := 0
	for _, row := range rows {
		if len(row) != len(rows[0]) {
			return nil, "", fmt.Errorf("its rows have %d and %d entries: make them equally long", len(rows[0]), len(row))
		}
		for _, e := range row {
			if e == "" {
				return nil, "", fmt.Errorf("an entry is empty: write 0 where it is zero")
			}
			n++
		}
	}
	switch {
	case n == 0:
		return nil, "", fmt.Errorf("it has no entries: write (a, b)")
	case n > MaxComponents:
		return nil, "", fmt.Errorf("it has %d entries, more than %d", n, MaxComponents)
	}
	return rows, trailing, nil
}

func trimmed(parts []string) []string {
	for i := range parts {
		parts[i] = strings.TrimSpace(parts[i])
	}
	return parts
}

// texMatrix returns what stands inside \begin{pmatrix} … \end{pmatrix}.
func texMatrix(text string) (body, rest string, ok bool) {
	for _, env := range []string{"pmatrix", "bmatrix", "matrix", "vmatrix", "array"} {
		begin, end := `\begin{`+env+`}`, `\end{`+env+`}`
		i, j := strings.Index(text, begin), strings.LastIndex(text, end)
		if i >= 0 && j >= i+len(begin) {
			body := text[i+len(begin) : j]
			if env == "array" {
				body = columnsOf.ReplaceAllString(body, "")
			}
			return body, strings.TrimSpace(strings.Trim(text[j+len(end):], ")]")), true
		}
	}
	return "", "", false
}

// columnsOf finds how the columns of a TeX array stand.
var columnsOf = regexp.MustCompile(`^\s*\{[lcr| ]*\}`)

// closing returns where the bracket that opens text is closed, or -1.
func closing(text string) int {
	if text == "" || text[0] != '(' && text[0] != '[' {
		return -1
	}
	depth := 0
	for i := range len(text) {
		switch text[i] {
		case '(', '[', '{':
			depth++
		case ')', ']', '}':
			if depth--; depth == 0 {
				return i
			}
		}
	}
	return -1
}

// split cuts text at sep outside of brackets.
func split(text string, sep byte) []string {
	var parts []string
	depth, from := 0, 0
	for i := range len(text) {
		switch c := text[i]; {
		case c == '(' || c == '[' || c == '{':
			depth++
		case c == ')' || c == ']' || c == '}':
			depth--
		case c == sep && depth == 0:
			parts = append(parts, text[from:i])
			from = i + 1
		}
	}
	return append(parts, text[from:])
}

// allBracketed reports whether the parts are rows: each in brackets, at least
// one with several entries.
func allBracketed(parts []string) bool {
	several := false
	for _, p := range parts {
		p = strings.TrimSpace(p)
		if end := closing(p); end < 1 || end != len(p)-1 {
			return false
		}
		several = several || strings.Contains(p, ",")
	}
	return several
}

// textOf writes an expression so that it reads back.
func textOf(e expr.Expr) string { return typeset.Text(e) }
