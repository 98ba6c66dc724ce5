// Package worker splits the kernel in two processes. The front holds the
// sockets and outlives everything; the worker beside it holds the interpreter,
// so what no recover can catch (a map race, endless recursion, memory that has
// run out, an exit) ends the worker only. The front then reports the death
// under the cell that was running and starts the next worker.
//
// [Front] is a [server.Evaluator] in the front process; [Serve] runs any other
// Evaluator in the worker process. They speak over the worker's standard input
// and output. Neither knows sockets or Go code.
package worker

import (
	"bufio"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"io"

	"counterpoise/kernel/server"
)

// A kind says what a frame carries.
type kind byte

// Frames to the worker. Their id is that of a call.
const (
	kindExecute kind = iota + 1
	kindComplete
	kindInspect
	kindIsComplete
	kindComm
	kindInterrupt // of the call with this id
	kindAnswer    // to the question with this id
)

// Frames to the front. Their id is that of the call they belong to; output
// also comes after its call has ended.
const (
	kindReady kind = iota + 64
	kindStdout
	kindStderr
	kindDisplay
	kindClear
	kindAsk
	kindSendComm
	kindResult
	kindRelease // nothing more will come with this id
)

const (
	// frameHeader is a kind, an id and a length.
	frameHeader = 1 + 8 + 4
	// maxPayload bounds a frame. What a cell shows is cut long before; more
	// means that the pipe carries something else.
	maxPayload = 256 << 20
)

// A frame is one message of the pipe.
type frame struct {
	kind    kind
	id      uint64
	payload []byte
}

func appendHeader(dst []byte, k kind, id uint64, size int) []byte {
	dst = append(dst, byte(k))
	dst = binary.BigEndian.AppendUint64(dst, id)
	return binary.BigEndian.AppendUint32(dst, uint32(size))
}

// readFrame reads the next frame.
func readFrame(r *bufio.Reader) (frame, error) {
	var head [frameHeader]byte
	if _, err := io.ReadFull(r, head[:]); err != nil {
		return frame{}, err
	}
	size := binary.BigEndian.Uint32(head[9:])
	if size > maxPayload {
		return frame{}, fmt.Errorf("a frame of %d bytes: the pipe is out of step", size)
	}
	f := frame{kind(head[0]), binary.BigEndian.Uint64(head[1:]), make([]byte, size)}
	_, err := io.ReadFull(r, f.payload)
	return f, err
}

// What calls carry, as JSON.
type (
	codeCall struct {
		Code   string
		Pos    int
		Detail int
	}
	commCall struct {
		Message server.CommMessage
	}
	question struct {
		Call     uint64 // of the cell that asks
		Prompt   string
		Password bool
	}
	answer struct {
		Text  string
		Error string
	}
	display struct {
		Bundle bundle
		ID     string
		Update bool
	}
	result struct {
		Value  *bundle
		Fault  *server.Fault
		Values map[string]userValue
		Lost   bool
	}
	userValue struct {
		Bundle bundle
		Fault  *server.Fault
	}
	inspection struct {
		Found  bool
		Bundle bundle
	}
)

// A bundle is a server.Bundle whose values keep their Go types in JSON.
type bundle struct {
	Text     map[string]string          `json:",omitempty"`
	Bytes    map[string][]byte          `json:",omitempty"`
	JSON     map[string]json.RawMessage `json:",omitempty"`
	Metadata map[string]any             `json:",omitempty"`
}

func pack(b server.Bundle) bundle {
	p := bundle{Text: map[string]string{}, Bytes: map[string][]byte{}, JSON: map[string]json.RawMessage{}, Metadata: b.Metadata}
	for name, v := range b.Data {
		switch v := v.(type) {
		case string:
			p.Text[name] = v
		case []byte:
			p.Bytes[name] = v
		default:
			if raw, err := json.Marshal(v); err == nil {
				p.JSON[name] = raw
			}
		}
	}
	if _, err := json.Marshal(p.Metadata); err != nil {
		p.Metadata = nil
	}
	return p
}

func (p bundle) unpack() server.Bundle {
	b := server.Bundle{Data: map[string]any{}, Metadata: p.Metadata}
	for name, v := range p.Text {
		b.Data[name] = v
	}
	for name, v := range p.Bytes {
		b.Data[name] = v
	}
	for name, raw := range p.JSON {
		b.Data[name] = raw
	}
	return b
}

func packResult(r server.Result) result {
	p := result{Fault: r.Fault, Lost: r.Lost, Values: map[string]userValue{}}
	if r.Value != nil {
		b := pack(*r.Value)
		p.Value = &b
	}
	for name, v := range r.Values {
		p.Values[name] = userValue{pack(v.Bundle), v.Fault}
	}
	return p
}

func (p result) unpack() server.Result {
	r := server.Result{Fault: p.Fault, Lost: p.Lost, Values: map[string]server.UserValue{}}
	if p.Value != nil {
		b := p.Value.unpack()
		r.Value = &b
	}
	for name, v := range p.Values {
		r.Values[name] = server.UserValue{Bundle: v.Bundle.unpack(), Fault: v.Fault}
	}
	return r
}
