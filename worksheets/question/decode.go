package question

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"reflect"
	"strconv"
	"strings"
)

// A FieldError says which field of a question is wrong, and what to do.
type FieldError struct {
	Question string // its name, may be empty
	Field    string // its path, such as "key" or "slips/0/gives"; may be empty
	Reason   string
	Remedy   string
}

func (e *FieldError) Error() string {
	var b strings.Builder
	if e.Field != "" {
		b.WriteString(fieldWords(e.Field))
		if e.Question != "" {
			b.WriteString(" of " + e.Question)
		}
		b.WriteString(": ")
	} else if e.Question != "" {
		b.WriteString(e.Question + ": ")
	}
	b.WriteString(e.Reason)
	if e.Remedy != "" {
		b.WriteString(": " + e.Remedy)
	}
	return b.String()
}

// fieldWords turns a path into words: slips/0/gives into "slip 1".
func fieldWords(path string) string {
	parts := strings.Split(path, "/")
	if len(parts) < 2 {
		return path
	}
	n, err := strconv.Atoi(parts[1])
	if err != nil {
		return strings.Join(parts, " ")
	}
	return fmt.Sprintf("%s %d", strings.TrimSuffix(parts[0], "s"), n+1)
}

// Text that people write as a word, a number or, for rows of a matrix, a list.
type text string

func (t *text) UnmarshalJSON(b []byte) error {
	b = bytes.TrimSpace(b)
	switch {
	case len(b) == 0 || bytes.Equal(b, []byte("null")):
		*t = ""
	case b[0] == '"':
		var s string
		if err := json.Unmarshal(b, &s); err != nil {
			return err
		}
		*t = text(s)
	case b[0] == '[':
		var rows []text
		if err := json.Unmarshal(b, &rows); err != nil {
			return err
		}
		parts := make([]string, len(rows))
		for i, r := range rows {
			parts[i] = string(r)
		}
		*t = text("(" + strings.Join(parts, ", ") + ")")
	case b[0] == '{':
		// A parameter written in full: {value: 18 g, from: …}.
		var full struct {
			Value *text `json:"value"`
		}
		if err := json.Unmarshal(b, &full); err != nil {
			return err
		}
		if full.Value == nil {
			return errors.New("expected text or a number, found a mapping without a value")
		}
		*t = *full.Value
	default:
		*t = text(b) // a number or true/false, as written
	}
	return nil
}

// UnmarshalJSON reads a symbol from {unit, from, to, means} or from its unit
// alone.
func (s *Symbol) UnmarshalJSON(b []byte) error {
	b = bytes.TrimSpace(b)
	if len(b) > 0 && b[0] != '{' {
		var unit text
		if err := unit.UnmarshalJSON(b); err != nil {
			return err
		}
		*s = Symbol{Unit: string(unit)}
		return nil
	}
	var full struct {
		Unit  text    `json:"unit"`
		From  float64 `json:"from"`
		To    float64 `json:"to"`
		Means string  `json:"means"`
	}
	if err := strict(b, &full); err != nil {
		return err
	}
	*s = Symbol{Unit: string(full.Unit), From: full.From, To: full.To, Means: full.Means}
	return nil
}

// UnmarshalJSON reads figures from 3, "3", "2..4" or {least, most}.
func (f *Figures) UnmarshalJSON(b []byte) error {
	b = bytes.TrimSpace(b)
	if len(b) > 0 && b[0] == '{' {
		type plain Figures
		return strict(b, (*plain)(f))
	}
	var t text
	if err := t.UnmarshalJSON(b); err != nil {
		return err
	}
	if t == "" {
		*f = Figures{}
		return nil
	}
	from, to, isRange := strings.Cut(string(t), "..")
	if !isRange {
		to = from
	}
	least, err1 := strconv.Atoi(strings.TrimSpace(from))
	most, err2 := strconv.Atoi(strings.TrimSpace(to))
	if err1 != nil || err2 != nil || least < 1 || most < least || most > 15 {
		return fmt.Errorf("figures %q: write a number of figures such as 3, or a range such as 2..4", string(t))
	}
	*f = Figures{least, most}
	return nil
}

// UnmarshalJSON reads a point from {text, marks} or from its text alone.
func (p *Point) UnmarshalJSON(b []byte) error {
	type plain Point
	return textOr(b, &p.Text, (*plain)(p))
}

// UnmarshalJSON reads a milestone from {line, marks} or from its line alone.
func (m *Milestone) UnmarshalJSON(b []byte) error {
	type plain Milestone
	return textOr(b, &m.Line, (*plain)(m))
}

// UnmarshalJSON reads an option from {text, right, say} or from its text alone.
func (o *Option) UnmarshalJSON(b []byte) error {
	b = bytes.TrimSpace(b)
	if len(b) > 0 && b[0] == '{' {
		var full struct {
			Text  text   `json:"text"`
			Right bool   `json:"right"`
			Say   string `json:"say"`
		}
		if err := strict(b, &full); err != nil {
			return err
		}
		*o = Option{string(full.Text), full.Right, full.Say}
		return nil
	}
	var t text
	err := t.UnmarshalJSON(b)
	*o = Option{Text: string(t)}
	return err
}

// UnmarshalJSON reads a foreseen slip.
func (s *Slip) UnmarshalJSON(b []byte) error {
	var full struct {
		Gives text   `json:"gives"`
		Say   string `json:"say"`
		Name  string `json:"name"`
	}
	if err := strict(b, &full); err != nil {
		return err
	}
	*s = Slip{string(full.Gives), full.Say, full.Name}
	return nil
}

func textOr(b []byte, alone *string, full any) error {
	b = bytes.TrimSpace(b)
	if len(b) > 0 && b[0] == '{' {
		return strict(b, full)
	}
	var t text
	err := t.UnmarshalJSON(b)
	*alone = string(t)
	return err
}

// UnmarshalJSON reads a question. A field that no question has is an error
// that names the nearest one; texts may be written as numbers.
func (q *Question) UnmarshalJSON(b []byte) error {
	type plain Question
	var full struct {
		plain
		Key         text            `json:"key"`
		Unit        text            `json:"unit"`
		Within      text            `json:"within"`
		Uncertainty text            `json:"uncertainty"`
		Target      text            `json:"target"`
		Given       []text          `json:"given"`
		Small       list            `json:"small"`
		Time        list            `json:"time"`
		Frame       list            `json:"frame"`
		Carry       list            `json:"carry"`
		Hints       list            `json:"hints"`
		Params      map[string]text `json:"params"`
		Samples     struct {
			Right []text `json:"right"`
			Wrong []text `json:"wrong"`
		} `json:"samples"`
	}
	if err := strict(b, &full); err != nil {
		return err
	}
	*q = Question(full.plain)
	q.Key, q.Unit, q.Within = string(full.Key), string(full.Unit), string(full.Within)
	q.Uncertainty, q.Target = string(full.Uncertainty), string(full.Target)
	q.Given = plainTexts(full.Given)
	q.Small, q.Time, q.Frame = full.Small, full.Time, full.Frame
	q.Carry, q.Hints = full.Carry, full.Hints
	q.Samples = Samples{plainTexts(full.Samples.Right), plainTexts(full.Samples.Wrong)}
	if full.Params != nil {
		q.Params = make(map[string]string, len(full.Params))
		for name, value := range full.Params {
			q.Params[name] = string(value)
		}
	}
	return nil
}

// UnmarshalYAML reads a question from YAML by way of the same rules as JSON.
func (q *Question) UnmarshalYAML(unmarshal func(any) error) error {
	var tree any
	if err := unmarshal(&tree); err != nil {
		return err
	}
	b, err := json.Marshal(tree)
	if err != nil {
		return fmt.Errorf("a question is a mapping of fields: %w", err)
	}
	return q.UnmarshalJSON(b)
}

// A list of texts; one text alone is a list of one.
type list []string

func (l *list) UnmarshalJSON(b []byte) error {
	b = bytes.TrimSpace(b)
	if len(b) > 0 && b[0] == '[' {
		var items []text
		if err := json.Unmarshal(b, &items); err != nil {
			return err
		}
		*l = plainTexts(items)
		return nil
	}
	var t text
	if err := t.UnmarshalJSON(b); err != nil {
		return err
	}
	*l = nil
	if t != "" {
		*l = list{string(t)}
	}
	return nil
}

func plainTexts(items []text) []string {
	if items == nil {
		return nil
	}
	out := make([]string, len(items))
	for i, t := range items {
		out[i] = string(t)
	}
	return out
}

// strict decodes JSON and refuses fields that dst does not have.
func strict(b []byte, dst any) error {
	dec := json.NewDecoder(bytes.NewReader(b))
	dec.DisallowUnknownFields()
	err := dec.Decode(dst)
	if err == nil {
		return nil
	}
	const unknown = `json: unknown field "`
	if s := err.Error(); strings.HasPrefix(s, unknown) {
		name := strings.TrimSuffix(strings.TrimPrefix(s, unknown), `"`)
		e := &FieldError{Field: name, Reason: "no such field"}
		if near := nearest(name, fieldNames(reflect.TypeOf(dst).Elem())); near != "" {
			e.Remedy = "did you mean " + near + "?"
		}
		return e
	}
	var wrongType *json.UnmarshalTypeError
	if errors.As(err, &wrongType) && wrongType.Field != "" {
		return &FieldError{Field: wrongType.Field, Reason: "expected " + inWords(wrongType.Type) + ", found " + wrongType.Value}
	}
	return err
}

func inWords(t reflect.Type) string {
	switch t.Kind() {
	case reflect.Bool:
		return "true or false"
	case reflect.Int, reflect.Float64:
		return "a number"
	case reflect.Slice:
		return "a list"
	case reflect.Map, reflect.Struct:
		return "a mapping"
	}
	return "text"
}

// fieldNames returns the JSON names of a struct's fields, embedded ones too.
func fieldNames(t reflect.Type) []string {
	var names []string
	for f := range t.Fields() {
		if f.Anonymous {
			names = append(names, fieldNames(f.Type)...)
			continue
		}
		name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
		names = append(names, name)
	}
	return names
}

// nearest returns the candidate closest to a misspelt name, or "" if none is
// close: at most a third of its letters may differ.
func nearest(name string, candidates []string) string {
	best, least := "", len(name)/3+1
	for _, c := range candidates {
		if d := editDistance(strings.ToLower(name), strings.ToLower(c)); d < least || d == least && best == "" {
			best, least = c, d
		}
	}
	return best
}

// editDistance is the number of letters to insert, delete, replace or swap
// (Levenshtein's distance without swaps).
func editDistance(a, b string) int {
	ra, rb := []rune(a), []rune(b)
	row := make([]int, len(rb)+1)
	for j := range row {
		row[j] = j
	}
	for i, x := range ra {
		diagonal := row[0]
		row[0] = i + 1
		for j, y := range rb {
			cost := diagonal
			if x != y {
				cost = 1 + min(diagonal, row[j], row[j+1])
			}
			diagonal, row[j+1] = row[j+1], cost
		}
	}
	return row[len(rb)]
}

// An Answer is the text of an answer in JSON, where a number may stand without
// quotes and the lines of a derivation as a list.
type Answer string

// UnmarshalJSON reads text, a number or a list of lines.
func (a *Answer) UnmarshalJSON(b []byte) error {
	var l list
	if err := l.UnmarshalJSON(b); err != nil {
		return err
	}
	*a = Answer(strings.Join(l, "\n"))
	return nil
}
