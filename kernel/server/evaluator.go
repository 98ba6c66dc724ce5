package server

import "context"

// An Evaluator runs cells. The server calls Execute, Complete, Inspect and
// IsComplete one at a time, in order of arrival; Interrupt is the cancellation
// of the context that Execute was given.
type Evaluator interface {
	// Execute runs one cell and returns when it has ended. It may go on to
	// write to out afterwards (a goroutine's late output keeps its cell).
	Execute(ctx context.Context, cell Cell, out Output) Result
	// Complete returns what could stand at the byte offset pos of code.
	Complete(ctx context.Context, code string, pos int) Completion
	// Inspect describes the name at the byte offset pos of code; detail is 0
	// for a summary, 1 for everything known.
	Inspect(ctx context.Context, code string, pos, detail int) Inspection
	// IsComplete tells whether code could run as it stands.
	IsComplete(code string) Completeness
	// Close ends the evaluator and releases what it holds.
	Close() error
}

// A Cell is one piece of code to run.
type Cell struct {
	Code       string
	Number     int               // execution count, shown in positions as "cell 3"
	Silent     bool              // no result is displayed
	AllowInput bool              // Output.Input may be used
	Evaluate   map[string]string // user expressions: name to expression, evaluated after the cell if it ends well
}

// A Bundle is one thing to show in several forms: MIME type to content. Text
// types (text/*, image/svg+xml) hold a string, other images []byte, JSON types
// any value that encoding/json takes.
type Bundle struct {
	Data     map[string]any
	Metadata map[string]any
}

// An Output takes what a cell shows, in order. Its methods may be called from
// any goroutine, also after Execute has returned.
type Output interface {
	// Stream writes text to "stdout" or "stderr".
	Stream(name, text string)
	// Display shows a bundle; id may be empty. With update it replaces the
	// bundles shown before under the same id.
	Display(b Bundle, id string, update bool)
	// ClearOutput removes what the cell has shown so far, at once or, with
	// wait, when something new is shown.
	ClearOutput(wait bool)
	// Input asks the person at the front end for a line.
	Input(ctx context.Context, prompt string, password bool) (string, error)
	// OpenComm, SendComm and CloseComm carry custom messages; data and
	// metadata are JSON values.
	Comm(m CommMessage)
}

// A CommMessage is one message of a comm, either way.
type CommMessage struct {
	Kind     string // "open", "msg" or "close"
	ID       string
	Target   string // of "open"
	Data     map[string]any
	Metadata map[string]any
	Buffers  [][]byte
}

// A CommHandler is an Evaluator that takes comm messages from the front end.
type CommHandler interface {
	// HandleComm takes one message. It reports false for an "open" whose
	// target it does not know.
	HandleComm(ctx context.Context, m CommMessage, out Output) bool
}

// A Result is how a cell ended.
type Result struct {
	Value  *Bundle // of the last expression; nil if there is none
	Fault  *Fault  // nil if the cell ended well
	Values map[string]UserValue
	Lost   bool // the state of earlier cells is gone (the evaluator was started anew)
}

// A UserValue is the outcome of one user expression.
type UserValue struct {
	Bundle Bundle
	Fault  *Fault
}

// A Fault is an error of a cell as a person reads it.
type Fault struct {
	Name      string // kind, such as "TypeError" or "Panic"
	Value     string // one line
	Traceback []string
	Line, Col int // 1-based position in the cell, 0 if unknown; columns count bytes
}

// A Completion replaces code[Start:End] (byte offsets) by one of Items.
type Completion struct {
	Start, End int
	Items      []CompletionItem
}

// A CompletionItem is one text that could be inserted.
type CompletionItem struct {
	Text, Kind, Signature string // Kind: function, variable, type, constant, package, method, field, keyword
}

// An Inspection describes a name.
type Inspection struct {
	Found bool
	Bundle
}

// A Completeness tells whether code is whole: Status is "complete",
// "incomplete", "invalid" or "unknown"; Indent is what the next line of an
// incomplete one should start with.
type Completeness struct{ Status, Indent string }
