// Package question judges answers: the text of an answer and the key of its
// question go in, a verdict comes out, with the kind of slip where one is
// recognised.
//
// A question is data ([Question]); [Compile] reads its key once, in the light
// of a student's own values, and [Asked.Check] judges one answer. Nothing that
// a student types is ever run: an answer is a line of mathematics, a number
// with a unit, a choice or prose. Each kind of question has a file of its own;
// [kinds] joins them.
//
// A verdict is right, wrong or unreadable, or the answer waits for a human.
// What cannot be read, and what a change of brackets or a unit would make
// right, is unreadable: it says what to mend and costs no attempt. What is
// said about a wrong answer points at the slip and never holds the key.
//
// Values are in SI inside. The package builds on mechanics and knows nothing
// of notebooks, cells or the kernel.
package question

// A Question is one question of a worksheet, as its block in the worksheet's
// source says it. The JSON and YAML names are the lower-case field names.
type Question struct {
	Name string `json:"name,omitempty"`
	Kind string `json:"kind"` // number, expression, equation, vector, matrix, choice, derivation, prose
	Ask  string `json:"ask,omitempty"`

	// Symbols are the letters that an answer may use, beside the parameters.
	Symbols map[string]Symbol `json:"symbols,omitempty"`
	// Time names the symbols that are functions of time; answers write their
	// derivatives θ' or \dot θ.
	Time  []string `json:"time,omitempty"`
	Frame []string `json:"frame,omitempty"` // names of the axes of a vector
	Key   string   `json:"key,omitempty"`   // a formula; with = for an equation; (a, b, c) for a vector
	Solve string   `json:"solve,omitempty"` // the symbol an equation is about, such as θ''

	// Number.
	Unit        string  `json:"unit,omitempty"`        // as text; default: the unit of the key
	Within      string  `json:"within,omitempty"`      // "2 %" or "0.05 s"; default 2 %
	Figures     Figures `json:"figures,omitzero"`      // significant figures expected
	Uncertainty string  `json:"uncertainty,omitempty"` // "asked", or the key's own, such as "0.02 s"
	// Gravity is the range of g in m/s² that is accepted where the sheet does
	// not fix it; zero means 9.8 to 9.81.
	Gravity Span `json:"gravity,omitzero"`

	// Choice.
	Options []Option `json:"options,omitempty"`
	Many    bool     `json:"many,omitempty"` // several options may be right

	// Derivation.
	Given      []string    `json:"given,omitempty"`
	Small      []string    `json:"small,omitempty"`
	Order      int         `json:"order,omitempty"` // of the small symbols that is kept; 0 means 1
	Target     string      `json:"target,omitempty"`
	Milestones []Milestone `json:"milestones,omitempty"`
	Leap       float64     `json:"leap,omitempty"` // marks for reaching the target without support

	// Prose.
	Points []Point `json:"points,omitempty"`

	// All kinds.
	Marks    float64           `json:"marks,omitempty"` // 0 means 1
	Hints    []string          `json:"hints,omitempty"`
	Attempts Attempts          `json:"attempts,omitzero"`
	Working  string            `json:"working,omitempty"`
	Slips    []Slip            `json:"slips,omitempty"`
	Samples  Samples           `json:"samples,omitzero"`
	Open     string            `json:"open,omitempty"`  // now (the default) or closed
	Carry    []string          `json:"carry,omitempty"` // earlier answers that may be carried forward
	Params   map[string]string `json:"params,omitempty"`
}

// A Span is a range of numbers.
type Span struct {
	From float64 `json:"from"`
	To   float64 `json:"to"`
}

// A Symbol is a letter of a question: its unit and the values at which
// formulas are compared.
type Symbol struct {
	Unit string `json:"unit,omitempty"` // as text, 1 for a pure number
	// From and To bound the symbol's values, in Unit. Both 0 means 0.1 to 10
	// times the parameter of that name, or 0.1 to 10 in SI.
	From  float64 `json:"from,omitempty"`
	To    float64 `json:"to,omitempty"`
	Means string  `json:"means,omitempty"` // in words, said in feedback
}

// An Option is one line of a choice.
type Option struct {
	Text  string `json:"text"`
	Right bool   `json:"right,omitempty"`
	Say   string `json:"say,omitempty"` // told to whoever wrongly takes it
}

// A Slip is a wrong answer that the teacher foresaw.
type Slip struct {
	Gives string `json:"gives"` // the wrong answer, as the key is written
	Say   string `json:"say"`   // what to tell
	Name  string `json:"name,omitempty"`
}

// A Milestone is a statement that must appear in a derivation, in any form.
type Milestone struct {
	Line  string  `json:"line"`
	Marks float64 `json:"marks,omitempty"`
}

// A Point is what a marker looks for in prose.
type Point struct {
	Text  string  `json:"text"`
	Marks float64 `json:"marks,omitempty"`
}

// Samples are answers with the verdict that each must get.
type Samples struct {
	Right []string `json:"right,omitempty"`
	Wrong []string `json:"wrong,omitempty"`
}

// Attempts says what wrong attempts cost. The zero value: nothing.
type Attempts struct {
	Free int     `json:"free,omitempty"` // wrong attempts that cost nothing
	Cost float64 `json:"cost,omitempty"` // marks off for each further one
}

// Figures is a range of significant figures; zero means any number of them.
type Figures struct {
	Least int `json:"least,omitempty"`
	Most  int `json:"most,omitempty"`
}

// Worth returns the marks of the question: as it says, or those of its
// milestones or points, or 1.
func (q Question) Worth() float64 {
	if q.Marks != 0 {
		return q.Marks
	}
	sum := 0.0
	for _, m := range q.Milestones {
		sum += m.Marks
	}
	for _, p := range q.Points {
		sum += p.Marks
	}
	if sum > 0 {
		return sum
	}
	return 1
}

// Hint returns the n-th hint, counting from 1, and whether there is one.
func (q Question) Hint(n int) (string, bool) {
	if n < 1 || n > len(q.Hints) {
		return "", false
	}
	return q.Hints[n-1], true
}

// After returns the marks left of the given marks after a number of wrong
// attempts; unreadable ones do not count. It is never below 0.
func (a Attempts) After(wrong int, marks float64) float64 {
	if paid := wrong - a.Free; paid > 0 {
		marks -= float64(paid) * a.Cost
	}
	return max(marks, 0)
}
