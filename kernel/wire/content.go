package wire

import "encoding/json"

// The contents of messages, as far as a kernel reads or writes them. Fields
// that a client may leave out are pointers where zero is not their default.

// An ExecuteRequest asks for one cell to run.
type ExecuteRequest struct {
	Code            *string           `json:"code"`
	Silent          bool              `json:"silent"`
	StoreHistory    *bool             `json:"store_history"` // default: not silent
	UserExpressions map[string]string `json:"user_expressions"`
	AllowStdin      bool              `json:"allow_stdin"`
	StopOnError     *bool             `json:"stop_on_error"` // default true
}

// An ExecuteReply says how a cell ended. Which fields are sent depends on
// Status: "ok", "error" or "aborted".
type ExecuteReply struct {
	Status          string         `json:"status"`
	ExecutionCount  int            `json:"execution_count"`
	Payload         []any          `json:"payload"`
	UserExpressions map[string]any `json:"user_expressions"`
}

// An Error is the content of an error message and of a reply whose status is
// "error".
type Error struct {
	Status    string   `json:"status,omitempty"`
	Name      string   `json:"ename"`
	Value     string   `json:"evalue"`
	Traceback []string `json:"traceback"`
}

// An ErrorReply is the reply to a cell that failed.
type ErrorReply struct {
	Error
	ExecutionCount  int            `json:"execution_count"`
	Payload         []any          `json:"payload"`
	UserExpressions map[string]any `json:"user_expressions"`
}

// A CodeRequest is what complete_request, inspect_request and
// is_complete_request carry.
type CodeRequest struct {
	Code        *string `json:"code"`
	CursorPos   *int    `json:"cursor_pos"` // code points; default: the end
	DetailLevel int     `json:"detail_level"`
}

// A CompleteReply lists what could stand at the cursor. Offsets count code
// points.
type CompleteReply struct {
	Status      string         `json:"status"`
	Matches     []string       `json:"matches"`
	CursorStart int            `json:"cursor_start"`
	CursorEnd   int            `json:"cursor_end"`
	Metadata    map[string]any `json:"metadata"`
}

// A CompletionType describes one match in a CompleteReply's metadata.
type CompletionType struct {
	Start     int    `json:"start"`
	End       int    `json:"end"`
	Text      string `json:"text"`
	Type      string `json:"type"`
	Signature string `json:"signature"`
}

// An InspectReply describes a name.
type InspectReply struct {
	Status   string         `json:"status"`
	Found    bool           `json:"found"`
	Data     map[string]any `json:"data"`
	Metadata map[string]any `json:"metadata"`
}

// An IsCompleteReply tells whether code could run as it stands.
type IsCompleteReply struct {
	Status string  `json:"status"`
	Indent *string `json:"indent,omitempty"` // of "incomplete" only
}

// A HistoryRequest asks for earlier cells.
type HistoryRequest struct {
	Output  bool   `json:"output"`
	Access  string `json:"hist_access_type"` // "tail", "range" or "search"
	Session int    `json:"session"`
	Start   int    `json:"start"`
	Stop    *int   `json:"stop"`
	N       *int   `json:"n"`
	Pattern string `json:"pattern"`
	Unique  bool   `json:"unique"`
}

// A HistoryReply lists earlier cells: [session, line, input] or
// [session, line, [input, output]].
type HistoryReply struct {
	Status  string   `json:"status"`
	History [][3]any `json:"history"`
}

// A KernelInfoReply says what this kernel is.
type KernelInfoReply struct {
	Status                string       `json:"status"`
	ProtocolVersion       string       `json:"protocol_version"`
	Implementation        string       `json:"implementation"`
	ImplementationVersion string       `json:"implementation_version"`
	LanguageInfo          LanguageInfo `json:"language_info"`
	Banner                string       `json:"banner"`
	Debugger              bool         `json:"debugger"`
	HelpLinks             []HelpLink   `json:"help_links"`
	SupportedFeatures     []string     `json:"supported_features"`
}

// LanguageInfo describes the language of cells.
type LanguageInfo struct {
	Name              string `json:"name"`
	Version           string `json:"version"`
	MIMEType          string `json:"mimetype"`
	FileExtension     string `json:"file_extension"`
	PygmentsLexer     string `json:"pygments_lexer"`
	CodeMirrorMode    string `json:"codemirror_mode"`
	NbconvertExporter string `json:"nbconvert_exporter"`
}

// A HelpLink is one entry of a front end's help menu.
type HelpLink struct {
	Text string `json:"text"`
	URL  string `json:"url"`
}

// A Display is the content of display_data, update_display_data and, with a
// count, execute_result.
type Display struct {
	Data           map[string]any `json:"data"`
	Metadata       map[string]any `json:"metadata"`
	Transient      map[string]any `json:"transient"`
	ExecutionCount int            `json:"execution_count,omitempty"`
}

// A Stream is printed text.
type Stream struct {
	Name string `json:"name"`
	Text string `json:"text"`
}

// Comm is the content of comm_open, comm_msg and comm_close.
type Comm struct {
	ID     string         `json:"comm_id"`
	Target string         `json:"target_name,omitempty"`
	Data   map[string]any `json:"data"`
}

// mustJSON encodes a content that has no values which JSON cannot hold.
func mustJSON(v any) json.RawMessage {
	raw, err := json.Marshal(v)
	if err != nil {
		panic(err)
	}
	return raw
}
