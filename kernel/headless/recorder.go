package headless

import (
	"context"
	"encoding/base64"
	"fmt"
	"maps"
	"strings"
	"sync"

	"counterpoise/kernel/server"
	"counterpoise/worksheets/notebook"
)

// Limits on what one cell's outputs may hold: a page with more cannot be read,
// and a runaway loop must not fill the memory.
const (
	maxStream  = 4 << 20 // bytes of text of one cell
	maxOutputs = 2_000   // outputs of one cell
)

// displays finds the outputs shown under an id, in whichever cell.
type displays struct {
	sync.Mutex
	under map[string][]*entry
}

func newDisplays() *displays { return &displays{under: map[string][]*entry{}} }

// An entry is one output as it grows.
type entry struct {
	notebook.Output
	text strings.Builder // of a stream: its text, which Output.Text gets at the end
}

// A recorder keeps what one cell shows. Its methods may be called from any
// goroutine, also after the cell has ended.
type recorder struct {
	displays *displays // its lock guards everything here
	input    func(ctx context.Context, prompt string, password bool) (string, error)
	outputs  []*entry
	text     int  // bytes of streams so far
	clear    bool // at the next output
	cut      bool
}

var _ server.Output = (*recorder)(nil)

// add appends an output. The lock is held.
func (r *recorder) add(o notebook.Output) *entry {
	if r.clear {
		r.outputs, r.clear = nil, false
	}
	if len(r.outputs) >= maxOutputs {
		r.note(fmt.Sprintf("\n… more than %d outputs: the rest is left out\n", maxOutputs))
		return new(entry)
	}
	e := &entry{Output: o}
	r.outputs = append(r.outputs, e)
	return e
}

// note says once that something was left out.
func (r *recorder) note(s string) {
	if !r.cut {
		r.cut = true
		e := &entry{Output: notebook.Output{Type: notebook.Stream, Name: "stderr"}}
		e.text.WriteString(s)
		r.outputs = append(r.outputs, e)
	}
}

func (r *recorder) Stream(name, text string) {
	r.displays.Lock()
	defer r.displays.Unlock()
	if text == "" || r.cut {
		return
	}
	if r.clear {
		r.outputs, r.clear = nil, false
	}
	if r.text += len(text); r.text > maxStream {
		r.note(fmt.Sprintf("\n… more than %d MiB of text: the rest is left out\n", maxStream>>20))
		return
	}
	if n := len(r.outputs); n > 0 && r.outputs[n-1].Type == notebook.Stream && r.outputs[n-1].Name == name {
		r.outputs[n-1].text.WriteString(text)
		return
	}
	r.add(notebook.Output{Type: notebook.Stream, Name: name}).text.WriteString(text)
}

func (r *recorder) Display(b server.Bundle, id string, update bool) {
	data, metadata := contents(b)
	r.displays.Lock()
	defer r.displays.Unlock()
	if update {
		for _, o := range r.displays.under[id] {
			o.Data, o.Metadata = data, metadata
		}
		return
	}
	e := r.add(notebook.Output{Type: notebook.Display, Data: data, Metadata: metadata})
	if id != "" {
		r.displays.under[id] = append(r.displays.under[id], e)
	}
}

func (r *recorder) result(b server.Bundle, number int) {
	data, metadata := contents(b)
	r.displays.Lock()
	defer r.displays.Unlock()
	r.add(notebook.Output{Type: notebook.Result, Data: data, Metadata: metadata, Count: number})
}

func (r *recorder) fault(f server.Fault) {
	r.displays.Lock()
	defer r.displays.Unlock()
	r.add(notebook.Output{Type: notebook.Error, ErrorName: f.Name, ErrorValue: f.Value, Traceback: append([]string{}, f.Traceback...)})
}

func (r *recorder) ClearOutput(wait bool) {
	r.displays.Lock()
	defer r.displays.Unlock()
	if wait {
		r.clear = true
	} else {
		r.outputs = nil
	}
	r.text, r.cut = 0, false
}

func (r *recorder) Input(ctx context.Context, prompt string, password bool) (string, error) {
	if r.input == nil {
		return "", ErrNoInput
	}
	return r.input(ctx, prompt, password)
}

// Comm drops the message: there is no front end that could take it.
func (r *recorder) Comm(server.CommMessage) {}

// take returns the outputs as they are now.
func (r *recorder) take() []notebook.Output {
	r.displays.Lock()
	defer r.displays.Unlock()
	out := make([]notebook.Output, len(r.outputs))
	for i, e := range r.outputs {
		out[i] = e.Output
		if e.Type == notebook.Stream {
			out[i].Text = e.text.String()
		}
	}
	return out
}

// contents turns a bundle into what a notebook file holds: pictures as base64
// text. What a file cannot hold (transient state) is left out.
func contents(b server.Bundle) (data, metadata map[string]any) {
	data = make(map[string]any, len(b.Data))
	for mime, v := range b.Data {
		switch v := v.(type) {
		case []byte:
			if strings.HasPrefix(mime, "text/") || mime == "image/svg+xml" {
				data[mime] = string(v)
			} else {
				data[mime] = base64.StdEncoding.EncodeToString(v)
			}
		default:
			data[mime] = v
		}
	}
	if _, ok := data["text/plain"]; !ok {
		data["text/plain"] = ""
	}
	metadata = maps.Clone(b.Metadata)
	if metadata == nil {
		metadata = map[string]any{}
	}
	return data, metadata
}
