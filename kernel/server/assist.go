package server

import (
	"context"
	"errors"
	"unicode/utf8"

	"counterpoise/kernel/wire"
)

// code reads a request about a piece of code and turns its cursor, which
// counts code points, into a byte offset.
func (r *request) code() (text string, pos int, detail int, err error) {
	var c wire.CodeRequest
	if err := decode(r, &c); err != nil {
		return "", 0, 0, err
	}
	if c.Code == nil {
		return "", 0, 0, errors.New(r.Header.Type + " lacks code")
	}
	pos = len(*c.Code)
	if c.CursorPos != nil {
		pos = byteOffset(*c.Code, *c.CursorPos)
	}
	return *c.Code, pos, c.DetailLevel, nil
}

// byteOffset returns where code point n of text begins, within its ends.
func byteOffset(text string, n int) int {
	for at := range text {
		if n <= 0 {
			return at
		}
		n--
	}
	return len(text)
}

// codePoints returns how many code points come before byte offset at.
func codePoints(text string, at int) int {
	return utf8.RuneCountInString(text[:max(0, min(at, len(text)))])
}

// interruptible makes a context that an interrupt cancels.
func (s *Server) interruptible() (context.Context, func()) {
	s.mu.Lock()
	defer s.mu.Unlock()
	ctx, stop := context.WithCancel(s.quit)
	s.stop = stop
	return ctx, s.rest
}

func (s *Server) complete(r *request) error {
	text, pos, _, err := r.code()
	if err != nil {
		return err
	}
	ctx, done := s.interruptible()
	defer done()
	found := s.evaluator.Complete(ctx, text, pos)
	if len(found.Items) == 0 {
		found.Start, found.End = pos, pos
	}
	reply := wire.CompleteReply{
		Status:      "ok",
		Matches:     make([]string, 0, len(found.Items)),
		CursorStart: codePoints(text, found.Start),
		CursorEnd:   codePoints(text, found.End),
	}
	types := make([]wire.CompletionType, 0, len(found.Items))
	for _, item := range found.Items {
		reply.Matches = append(reply.Matches, item.Text)
		types = append(types, wire.CompletionType{
			Start:     reply.CursorStart,
			End:       reply.CursorEnd,
			Text:      item.Text,
			Type:      item.Kind,
			Signature: item.Signature,
		})
	}
	reply.Metadata = map[string]any{"_jupyter_types_experimental": types}
	s.reply(r, "complete_reply", reply)
	return nil
}

func (s *Server) inspect(r *request) error {
	text, pos, detail, err := r.code()
	if err != nil {
		return err
	}
	ctx, done := s.interruptible()
	defer done()
	found := s.evaluator.Inspect(ctx, text, pos, detail)
	reply := wire.InspectReply{Status: "ok", Found: found.Found, Data: map[string]any{}, Metadata: map[string]any{}}
	if found.Found {
		d := displayContent(found.Bundle, "")
		reply.Data, reply.Metadata = d.Data, d.Metadata
	}
	s.reply(r, "inspect_reply", reply)
	return nil
}

func (s *Server) isComplete(r *request) error {
	text, _, _, err := r.code()
	if err != nil {
		return err
	}
	c := s.evaluator.IsComplete(text)
	reply := wire.IsCompleteReply{Status: c.Status}
	switch c.Status {
	case "incomplete":
		reply.Indent = &c.Indent
	case "complete", "invalid":
	default:
		reply.Status = "unknown"
	}
	s.reply(r, "is_complete_reply", reply)
	return nil
}
