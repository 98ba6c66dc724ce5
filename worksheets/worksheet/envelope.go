package worksheet

import (
	"bytes"
	"compress/flate"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"

	"counterpoise/worksheets/question"
)

// An Envelope is what the folded first cell of a built notebook carries: the
// sealed keys, and what of the questions a student may know.
type Envelope struct {
	Version   int      `json:"version"`
	Name      string   `json:"name"`
	Title     string   `json:"title"`
	Student   string   `json:"student,omitempty"`
	Questions []Sealed `json:"questions"`
}

// Sealed is one question in an envelope.
type Sealed struct {
	Name  string   `json:"name"`
	Kind  string   `json:"kind"`
	Hints []string `json:"hints,omitempty"`
	// Attempts is what wrong answers cost, to be told.
	Attempts question.Attempts `json:"attempts,omitzero"`
	Box      json.RawMessage   `json:"box"`
}

// version is what this package writes, and the newest that it reads.
const version = 1

// Limits on an envelope.
const (
	// maxEnvelope bounds what an envelope unpacks to; a sheet of 30 questions
	// has about 100 KB.
	maxEnvelope = 8 << 20
	// maxSealed is the number of questions.
	maxSealed = 500
)

// Pack returns the envelope as lines of text for a cell.
func (e Envelope) Pack() (string, error) {
	e.Version = version
	data, err := json.Marshal(e)
	if err != nil {
		return "", err
	}
	// Nearly all of it is random bytes written as base64, in which there is
	// nothing to find but the alphabet's short letters.
	var packed bytes.Buffer
	w, err := flate.NewWriter(&packed, flate.HuffmanOnly)
	if err != nil {
		return "", err
	}
	if _, err := w.Write(data); err != nil {
		return "", err
	}
	if err := w.Close(); err != nil {
		return "", err
	}
	text := base64.RawURLEncoding.EncodeToString(packed.Bytes())
	var b strings.Builder
	for len(text) > 0 {
		n := min(100, len(text))
		b.WriteString(text[:n] + "\n")
		text = text[n:]
	}
	return strings.TrimSuffix(b.String(), "\n"), nil
}

// errEnvelope is told for text that is no envelope.
var errEnvelope = errors.New("this cell does not hold what was built into it: take the first cell from a fresh copy of the notebook")

// Unpack reads what Pack wrote. Blanks and lines that start with // are passed
// over.
func Unpack(text string) (Envelope, error) {
	var b strings.Builder
	for line := range strings.Lines(text) {
		if line = strings.TrimSpace(line); !strings.HasPrefix(line, "//") {
			b.WriteString(line)
		}
	}
	packed, err := base64.RawURLEncoding.DecodeString(b.String())
	if err != nil || len(packed) == 0 {
		return Envelope{}, errEnvelope
	}
	data, err := io.ReadAll(io.LimitReader(flate.NewReader(bytes.NewReader(packed)), maxEnvelope+1))
	if err != nil || len(data) > maxEnvelope {
		return Envelope{}, errEnvelope
	}
	var e Envelope
	if err := json.Unmarshal(data, &e); err != nil {
		return Envelope{}, errEnvelope
	}
	switch {
	case e.Version > version:
		return Envelope{}, fmt.Errorf("this notebook was built by a newer version of Counterpoise: update the program")
	case e.Version < 1 || len(e.Questions) > maxSealed:
		return Envelope{}, errEnvelope
	}
	return e, nil
}
