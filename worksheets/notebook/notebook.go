// Package notebook reads, checks and writes notebooks in the open format
// nbformat 4: a list of cells, each prose, code with what it printed, or raw
// text.
//
// It keeps what it does not know (fields of a later minor version, metadata of
// other programs) and writes keys in one order, so that the same notebook is
// always the same bytes. It runs nothing and knows nothing of questions.
//
// Source: The Jupyter Notebook Format, version 4.5, and its JSON schema, a copy
// of which stands in testdata/published/nbformat.
package notebook

// The version of the format that this package writes after [Notebook.Upgrade].
const (
	Major = 4
	Minor = 5
)

// A Notebook is a list of cells with metadata.
type Notebook struct {
	Major, Minor int
	Metadata     map[string]any // kernelspec, language_info, …
	Cells        []Cell
	Extra        map[string]any // fields this package does not know
}

// A CellType tells what a cell holds.
type CellType string

// The cell types of nbformat 4.
const (
	Markdown CellType = "markdown"
	Code     CellType = "code"
	Raw      CellType = "raw"
)

// A Cell is one block of a notebook.
type Cell struct {
	ID          string // 1 to 64 of A–Z a–z 0–9 - _, unique; empty before version 4.5
	Type        CellType
	Source      string
	Metadata    map[string]any
	Attachments map[string]any // of Markdown and Raw cells: file name to MIME bundle
	Outputs     []Output       // of Code cells
	Count       int            // of Code cells: execution count, 0 if not run
	Extra       map[string]any
}

// An OutputType tells which fields of an [Output] hold something.
type OutputType string

// The output types of nbformat 4.
const (
	Stream  OutputType = "stream"         // Name, Text
	Display OutputType = "display_data"   // Data, Metadata
	Result  OutputType = "execute_result" // Data, Metadata, Count
	Error   OutputType = "error"          // ErrorName, ErrorValue, Traceback
)

// An Output is one thing that a code cell showed.
type Output struct {
	Type       OutputType
	Name       string         // "stdout" or "stderr"
	Text       string         // of a stream
	Data       map[string]any // MIME type to content: text for text types, base64 text for pictures, any JSON value for JSON types
	Metadata   map[string]any
	Count      int // 0: not known
	ErrorName  string
	ErrorValue string
	Traceback  []string
	Extra      map[string]any
}

// HasTag tells whether the cell's metadata carries the tag.
func (c *Cell) HasTag(tag string) bool {
	tags, _ := c.Metadata["tags"].([]any)
	for _, t := range tags {
		if t == tag {
			return true
		}
	}
	return false
}

// TextOf returns the content of the output under a MIME type as text.
func (o *Output) TextOf(mime string) (string, bool) {
	s, ok := o.Data[mime].(string)
	return s, ok
}

// Language returns the notebook's language in lower case: that of language_info,
// else that of kernelspec, else empty.
func (n *Notebook) Language() string {
	for _, from := range [][2]string{{"language_info", "name"}, {"kernelspec", "language"}} {
		if m, ok := n.Metadata[from[0]].(map[string]any); ok {
			if s, ok := m[from[1]].(string); ok && s != "" {
				return s
			}
		}
	}
	return ""
}

// Copy returns a notebook whose cells and outputs may be changed without
// changing n. Metadata and MIME contents are shared: replace, do not write into.
func (n *Notebook) Copy() *Notebook {
	c := *n
	c.Cells = append([]Cell(nil), n.Cells...)
	for i := range c.Cells {
		c.Cells[i].Outputs = append([]Output(nil), c.Cells[i].Outputs...)
	}
	return &c
}
