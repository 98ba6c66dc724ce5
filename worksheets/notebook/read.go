package notebook

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"unicode/utf8"
)

// A ReadError tells why a text is not a notebook and where.
type ReadError struct {
	Path   string // inside the notebook, such as cells[3].source; empty if it is about the text
	Line   int    // 1-based, 0 if it is about the structure
	Column int    // 1-based, in bytes
	Reason string
	Remedy string
}

// Error returns the place, the reason and the remedy in one line.
func (e *ReadError) Error() string {
	s := e.Reason
	switch {
	case e.Path != "":
		s = e.Path + ": " + s
	case e.Line > 0:
		s = fmt.Sprintf("line %d, column %d: %s", e.Line, e.Column, s)
	}
	if e.Remedy != "" {
		s += ": " + e.Remedy
	}
	return s
}

// ReadFile reads a notebook file. The error names the file.
func ReadFile(path string) (*Notebook, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, MaxBytes+1))
	if err != nil {
		return nil, err
	}
	nb, err := Read(data)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	return nb, nil
}

// Read reads a notebook of version 4.0 or later. The error is a [*ReadError].
func Read(data []byte) (*Notebook, error) {
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	if err := checkText(data); err != nil {
		return nil, err
	}
	dec := json.NewDecoder(bytes.NewReader(data))
	dec.UseNumber()
	var root any
	if err := dec.Decode(&root); err != nil {
		return nil, jsonError(data, err)
	}
	if _, err := dec.Token(); err != io.EOF {
		return nil, at(data, int(dec.InputOffset()), "text goes on after the end of the notebook", "remove it")
	}
	return convert(root)
}

// checkText refuses what is too large, not UTF-8 or too deep before anything
// is built from it.
func checkText(data []byte) error {
	switch {
	case len(data) > MaxBytes:
		return &ReadError{Reason: fmt.Sprintf("larger than %d MiB", MaxBytes>>20), Remedy: "clear the outputs and save again"}
	case len(bytes.TrimSpace(data)) == 0:
		return &ReadError{Reason: "the file is empty", Remedy: "a notebook starts with {"}
	case bytes.HasPrefix(data, []byte{0xff, 0xfe}), bytes.HasPrefix(data, []byte{0xfe, 0xff}):
		return &ReadError{Reason: "this is UTF-16 text", Remedy: "save it as UTF-8"}
	case bytes.HasPrefix(data, []byte("PK\x03\x04")), bytes.HasPrefix(data, []byte{0x1f, 0x8b}):
		return &ReadError{Reason: "this is a packed file, not a notebook", Remedy: "unpack it first"}
	}
	if !utf8.Valid(data) {
		i := 0
		for i < len(data) {
			r, n := utf8.DecodeRune(data[i:])
			if r == utf8.RuneError && n == 1 {
				break
			}
			i += n
		}
		return at(data, i, fmt.Sprintf("byte 0x%02x is not UTF-8 text", data[i]), "save the notebook as UTF-8")
	}
	depth, inString := 0, false
	for i := 0; i < len(data); i++ {
		switch c := data[i]; {
		case inString && c == '\\':
			i++
		case c == '"':
			inString = !inString
		case inString:
		case c == '{' || c == '[':
			if depth++; depth > MaxDepth {
				return at(data, i, fmt.Sprintf("values lie more than %d deep inside each other", MaxDepth), "this is no notebook")
			}
		case c == '}' || c == ']':
			depth--
		}
	}
	return nil
}

// jsonError gives an error of encoding/json its line and column.
func jsonError(data []byte, err error) error {
	var syntax *json.SyntaxError
	switch {
	case errors.As(err, &syntax):
		reason := strings.TrimPrefix(syntax.Error(), "json: ")
		if strings.Contains(reason, "unexpected end") {
			return at(data, len(data), "the file ends too early", "it was cut off: copy or save it again")
		}
		return at(data, int(syntax.Offset)-1, "not a notebook: "+reason, "a notebook is JSON text")
	case errors.Is(err, io.ErrUnexpectedEOF):
		return at(data, len(data), "the file ends too early", "it was cut off: copy or save it again")
	}
	return &ReadError{Reason: err.Error()}
}

// at returns an error at a byte offset of data.
func at(data []byte, offset int, reason, remedy string) *ReadError {
	offset = max(0, min(offset, len(data)))
	before := data[:offset]
	return &ReadError{
		Line:   1 + bytes.Count(before, []byte("\n")),
		Column: offset - bytes.LastIndexByte(before, '\n'),
		Reason: reason, Remedy: remedy,
	}
}
